"""The yarn as one value: count, fibre, spinning, ends and twist, and the figures that follow from them.

In: a `Count`, a `Blend`, a spinning, how many of the counted yarns are fed together, twists in turns per metre where
known. Out: figures: tex at the needle, fibre density in g/cm³, packing, diameter in mm, surface helix in degrees, twist
factor, fold-to-single ratio, counts in every system. Assumption: several ends lie together like one round yarn of
their tex; a spinning that was not said is taken from the fibre and marked as assumed.
Not covered: the gauge that suits the yarn and the lean that its twist causes (`fabric`), price (`cost`).
Sources: section 1 of the fabric reference; those of `count`, `fibre`, `diameter` and `twist`.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

from loopwright.figure import Basis, Figure, Term, entered, exact, power_law
from loopwright.problems import Problem
from loopwright.yarn import diameter
from loopwright.yarn.count import MOST_TOGETHER, Count, in_all_systems, system_of
from loopwright.yarn.diameter import spinning_named
from loopwright.yarn.fibre import Blend
from loopwright.yarn.naming import blend_from_words
from loopwright.yarn.notation import Reading, read
from loopwright.yarn.spinning import default_spinning, made_of
from loopwright.yarn.twist import Direction, Twist, surface_helix_deg, twist_factor_tex

MOST_TWIST_TPM = 10_000.0  # above any yarn: a slip between turns per metre and another unit


@dataclass(frozen=True, slots=True)
class Yarn:
    """A yarn ready to be knitted.

    `ends` multiplies `count.ends`: how many of the yarns as counted are fed together. `spinning_assumed` says why the
    spinning was taken, and is empty when the person said it.
    """

    name: str
    count: Count
    blend: Blend
    spinning: str
    ends: int = 1
    singles_twist_tpm: float | None = None
    singles_direction: Direction | None = None
    fold_twist_tpm: float | None = None
    fold_direction: Direction | None = None
    spinning_assumed: str = ""

    def __post_init__(self) -> None:
        """Check what a person typed.

        Raises:
            Problem: no such spinning, ends that are no whole number from 1, or a twist that no yarn has.
        """
        object.__setattr__(self, "spinning", spinning_named(self.spinning))
        if not 1 <= self.ends <= MOST_TOGETHER:
            raise Problem(
                self.name,
                f"{self.ends} ends cannot be fed together.",
                limit=f"1 to {MOST_TOGETHER}",
                tries=["ends = 1"],
            )
        for words, tpm in (("singles", self.singles_twist_tpm), ("fold", self.fold_twist_tpm)):
            _require_twist(self.name, words, tpm)
        for direction in (self.singles_direction, self.fold_direction):
            if direction not in (None, "S", "Z"):
                raise Problem(self.name, f"“{direction}” is no direction of twist.", tries=["“S”", "“Z”"])

    @property
    def tex(self) -> Figure:
        """What is fed to the needle: all ends and folds together."""
        return exact(
            "count at the needle",
            self.count.tex * self.ends,
            "tex",
            words=f"{self.ends * self.count.ends} × {self.count.resultant_tex:.4g} tex, from {self.count.label}",
            formula="T = ends · T_resultant",
            source="the count as given; systems by definition",
        )

    @property
    def density(self) -> Figure:
        """Density of the fibre at 65 % relative humidity."""
        return self.blend.density_g_per_cm3()

    @property
    def packing(self) -> Figure:
        """The share of the yarn's cross-section that is fibre."""
        known = diameter.packing(self.spinning)
        if not self.spinning_assumed:
            return known
        why = replace(known.why, words=f"{known.why.words}; {self.spinning_assumed}")
        return replace(known, basis=Basis.ASSUMED, why=why)

    @property
    def diameter_mm(self) -> Figure:
        """Diameter of everything fed to the needle, as one round yarn lying free."""
        return self._diameter("yarn diameter", self.tex)

    @property
    def single_diameter_mm(self) -> Figure:
        """Diameter of one single of the yarn."""
        return self._diameter("diameter of a single", self._single_tex)

    @property
    def surface_helix_deg(self) -> Figure | None:
        """Slope of the surface fibres of the singles to their axis; none when their twist is not known."""
        if self.singles_twist_tpm is None:
            return None
        thick, twist = self.single_diameter_mm, _twist_figure("singles twist", self.singles_twist_tpm)
        angle_deg = surface_helix_deg(diameter_mm=thick.value, twist_tpm=twist.value)
        angle = math.radians(angle_deg)
        elasticity = math.sin(2 * angle) / (2 * angle)
        return power_law(
            "surface helix of the singles",
            angle_deg,
            "°",
            [Term("d", thick, elasticity), Term("tpm", twist, elasticity)],
            words="slope of the surface fibres to the axis of a single",
            formula="tan β = π·d·tpm/1000",
            source="eq 1.9, geometry of a helix",
        )

    @property
    def twist_factor(self) -> Figure | None:
        """Twist factor of the singles in the tex scale; none when their twist is not known."""
        if self.singles_twist_tpm is None:
            return None
        twist = _twist_figure("singles twist", self.singles_twist_tpm)
        return power_law(
            "twist factor of the singles",
            twist_factor_tex(twist.value, self.count.single_tex),
            "tpm·√tex",
            [Term("tpm", twist), Term("T", self._single_tex, 0.5)],
            words="turns per metre times the root of the tex of a single",
            formula="α = tpm·√T",
            source="eq 1.7, definition",
        )

    @property
    def fold_to_single_ratio(self) -> Figure | None:
        """Fold twist over singles twist; about 0.66 is balanced, negative when both turn the same way; none if unknown.

        Opposite directions are taken where they were not said.
        """
        if self.singles_twist_tpm is None or self.fold_twist_tpm is None:
            return None
        single = _twist_figure("singles twist", self.singles_twist_tpm)
        fold = _twist_figure("fold twist", self.fold_twist_tpm)
        same_way = self.singles_direction is not None and self.singles_direction == self.fold_direction
        return power_law(
            "fold to singles twist",
            (-1 if same_way else 1) * fold.value / single.value,
            "",
            [Term("fold tpm", fold), Term("singles tpm", single, -1)],
            words="fold twist over singles twist" + (", both turning the same way" if same_way else ""),
            formula="R = tpm_fold/tpm_singles",
            source="definition",
        )

    def counts(self) -> dict[str, Figure]:
        """What is fed to the needle in every count system, by system key."""
        return in_every_system("count at the needle", self.tex.value)

    @property
    def _single_tex(self) -> Figure:
        return exact("count of a single", self.count.single_tex, "tex", words=f"from {self.count.label}")

    def _diameter(self, name: str, tex: Figure) -> Figure:
        density, packing = self.density, self.packing
        return power_law(
            name,
            diameter.diameter_mm(tex.value, density.value, packing.value),
            "mm",
            [Term("T", tex, 0.5), Term("ρ", density, -0.5), Term("φ", packing, -0.5)],
            words="round yarn of this mass, fibre density and packing, lying free",
            formula="d = √(4·T/(1000·π·ρ·φ))",
            source="eq 1.5, geometry of a cylinder",
        )


def yarn_from_words(
    words: str,
    *,
    name: str = "",
    fibre: str = "",
    spinning: str = "",
    ends: int = 1,
    twist: Twist | None = None,
) -> Yarn:
    """The yarn that words describe: "2/30 Nm wool", "dtex 78 f 34 x 2 polyamide", or a count and its fibre apart.

    `fibre` is for a count without a fibre; `twist` for twists that the count does not say.

    >>> yarn = yarn_from_words("2/30 Nm merino")
    >>> yarn.spinning, round(yarn.diameter_mm.value, 2)    # F-10
    ('worsted_two_fold', 0.36)

    Raises:
        Problem: the count, the fibre or the spinning cannot be read, or something is said twice in different ways.
    """
    reading = read(words)
    blend = _blend(reading, words, fibre, spinning)
    default = default_spinning(blend, reading.count)
    said = _twist(reading, words, twist)
    return Yarn(
        name=name or f"{reading.count.label} {blend.label}",
        count=reading.count,
        blend=blend,
        spinning=spinning or default.spinning,
        ends=ends,
        singles_twist_tpm=said.singles_tpm,
        singles_direction=said.singles_direction,
        fold_twist_tpm=said.fold_tpm,
        fold_direction=said.fold_direction,
        spinning_assumed="" if spinning else default.words,
    )


def _blend(reading: Reading, words: str, fibre: str, spinning: str) -> Blend:
    if fibre and reading.blend is None:
        made = "woollen" if spinning and spinning_named(spinning) == "woollen" else made_of(reading.count)
        return blend_from_words(fibre, made)
    if reading.blend is None:
        raise Problem(
            "yarn fibre",
            f"“{words.strip()}” does not say what the yarn is made of.",
            tries=[f"“{words.strip()} wool”", f"“{words.strip()} 70 wool 30 polyamide”"],
        )
    if fibre and blend_from_words(fibre, made_of(reading.count)) != reading.blend:
        raise Problem(
            "yarn fibre",
            f"“{words.strip()}” says {reading.blend.label}, and the fibre is given as {fibre}.",
            tries=["give the fibre once"],
        )
    return reading.blend


def _twist(reading: Reading, words: str, twist: Twist | None) -> Twist:
    if twist is None or twist == reading.twist:
        return reading.twist
    if reading.twist != Twist():
        raise Problem(
            "yarn twist", f"“{words.strip()}” says a twist, and another is given beside it.", tries=["give it once"]
        )
    return twist


def _require_twist(name: str, words: str, tpm: float | None) -> None:
    if tpm is not None and not 0 < tpm <= MOST_TWIST_TPM:
        raise Problem(
            name,
            f"{words} twist of {tpm:g} turns per metre.",
            limit=f"more than 0, up to {MOST_TWIST_TPM:.0f}",
            tries=["turns per inch times 39.37 are turns per metre", "leave the twist out when it is not known"],
        )


def _twist_figure(name: str, tpm: float) -> Figure:
    return entered(name, tpm, "turns/m")


def in_every_system(name: str, count_tex: float) -> dict[str, Figure]:
    """A linear density in every count system, by system key."""
    figures: dict[str, Figure] = {}
    for key, number in in_all_systems(count_tex).items():
        system = system_of(key)
        figures[key] = exact(
            f"{name}, {system.label}",
            number,
            system.symbol,
            words=f"{count_tex:.5g} tex in {system.label}",
            formula=f"{system.symbol} = tex/{system.tex_at_one:.6g}"
            if system.is_direct
            else f"{system.symbol} = {system.tex_at_one:.6g}/tex",
            source="definition of the count system",
        )
    return figures
