"""The yarn as one value: what follows from count, fibre, spinning, ends and twist."""

import math
import pickle

import pytest
from hypothesis import given
from hypothesis import strategies as st

from loopwright.figure import Basis
from loopwright.problems import Problem
from loopwright.yarn.count import count_of, tex_of
from loopwright.yarn.fibre import Blend
from loopwright.yarn.notation import parse_count
from loopwright.yarn.sheet import yarn_figures
from loopwright.yarn.spinning import default_spinning
from loopwright.yarn.twist import Twist
from loopwright.yarn.yarn import Yarn, yarn_from_words

metric_numbers = st.floats(min_value=1, max_value=120)


def wool(text: str = "2/30 Nm", ends: int = 1, **twist: object) -> Yarn:
    return Yarn("main", parse_count(text), Blend({"wool_combed": 1}), "worsted_two_fold", ends, **twist)  # type: ignore[arg-type]


def test_ends_fed_together_multiply_those_of_the_count() -> None:
    assert wool("2 ends of 2/30 Nm", ends=3).tex.value == pytest.approx(6 * wool().tex.value)


@given(metric_numbers, st.integers(1, 12))
def test_two_ends_of_a_yarn_are_twice_the_tex_and_root_two_as_thick(number: float, ends: int) -> None:
    one = Yarn("one", count_of(number, "Nm", folds=2), Blend({"cashmere": 1}), "woollen", ends)
    two = Yarn("two", one.count, one.blend, one.spinning, 2 * ends)
    assert two.tex.value == pytest.approx(2 * one.tex.value, rel=1e-12)
    assert two.diameter_mm.value == pytest.approx(math.sqrt(2) * one.diameter_mm.value, rel=1e-12)


def test_the_count_of_a_yarn_is_exact_and_its_diameter_carries_the_spread_of_packing() -> None:
    yarn = wool()
    assert yarn.tex.low == yarn.tex.value == yarn.tex.high
    assert yarn.tex.basis is Basis.IDENTITY
    thick = yarn.diameter_mm
    # packing 0.42 to 0.58 about 0.50, power −½
    assert thick.low == pytest.approx(thick.value * math.sqrt(0.50 / 0.58), rel=1e-9)
    assert thick.high == pytest.approx(thick.value * math.sqrt(0.50 / 0.42), rel=1e-9)
    assert thick.why.weakest is not None
    assert thick.why.weakest.symbol == "φ"


def test_without_twist_there_is_no_twist_factor_helix_or_ratio() -> None:
    yarn = wool()
    assert yarn.twist_factor is None
    assert yarn.surface_helix_deg is None
    assert yarn.fold_to_single_ratio is None
    assert wool(singles_twist_tpm=600).fold_to_single_ratio is None


def test_a_fold_against_the_singles_counts_plus_and_with_them_minus() -> None:
    twists = {"singles_twist_tpm": 600, "fold_twist_tpm": 396}
    against = wool(**twists, singles_direction="Z", fold_direction="S").fold_to_single_ratio
    along = wool(**twists, singles_direction="Z", fold_direction="Z").fold_to_single_ratio
    unsaid = wool(**twists).fold_to_single_ratio
    assert against is not None
    assert along is not None
    assert unsaid is not None
    assert (against.value, along.value, unsaid.value) == pytest.approx((0.66, -0.66, 0.66))


def test_the_twist_factor_and_the_helix_belong_to_the_singles_not_to_the_folded_yarn() -> None:
    folded, single = wool("2/30 Nm", singles_twist_tpm=500), wool("30 Nm", singles_twist_tpm=500)
    assert folded.twist_factor is not None
    assert folded.surface_helix_deg is not None
    assert single.twist_factor is not None
    assert single.surface_helix_deg is not None
    assert folded.twist_factor.value == pytest.approx(single.twist_factor.value)
    assert folded.surface_helix_deg.value == pytest.approx(single.surface_helix_deg.value)


def test_the_spread_of_the_helix_is_what_a_thinner_and_a_thicker_single_give() -> None:
    yarn = wool("30 Nm", singles_twist_tpm=500)
    helix, thick = yarn.surface_helix_deg, yarn.diameter_mm
    assert helix is not None
    for angle, side in ((helix.low, thick.low), (helix.high, thick.high)):
        assert angle == pytest.approx(math.degrees(math.atan(math.pi * side * 0.5)), rel=0.01)


def test_a_spinning_that_was_said_is_not_marked_as_assumed() -> None:
    said = yarn_from_words("2/30 Nm wool", spinning="worsted")
    taken = yarn_from_words("2/30 Nm wool")
    assert said.spinning == taken.spinning == "worsted_two_fold"
    assert said.packing.basis is not Basis.ASSUMED
    assert taken.packing.basis is Basis.ASSUMED
    assert taken.diameter_mm.basis is Basis.ASSUMED
    assert "not given" in taken.packing.why.words


@pytest.mark.parametrize(
    ("words", "spinning"),
    [
        ("2/30 Nm wool", "worsted_two_fold"),
        ("2/28 Nm cashmere", "woollen"),
        ("16 YSW wool", "woollen"),
        ("16 YSW alpaca", "woollen"),
        ("Ne 30 cotton", "ring_cotton"),
        ("2/28 Nm acrylic", "bulk_acrylic"),
        ("70 den nylon", "textured_filament"),
        ("dtex 78 f 34 x 2 polyamide", "textured_filament"),
        ("150 den viscose", "flat_filament"),
        ("Ne 30 viscose", "ring_cotton"),
        ("21 den silk", "flat_filament"),
        ("10 Nm 70 mohair 30 silk", "brushed"),
        ("2/30 Nm 70 wool 30 nylon", "worsted_two_fold"),
    ],
)
def test_the_spinning_taken_is_that_of_the_main_fibre(words: str, spinning: str) -> None:
    yarn = yarn_from_words(words)
    assert yarn.spinning == spinning
    assert default_spinning(yarn.blend, yarn.count).spinning == spinning


def test_a_count_with_its_fibre_apart_is_the_same_yarn() -> None:
    together = yarn_from_words("2/30 Nm 70 wool 30 polyamide", name="main")
    assert yarn_from_words("2/30 Nm", fibre="70 wool 30 polyamide", name="main") == together
    assert yarn_from_words("2/30 Nm 70 wool 30 polyamide", fibre="70 wool 30 nylon", name="main") == together


def test_twist_is_taken_from_the_notation_or_from_beside_it() -> None:
    inside = yarn_from_words("20 tex Z 700 x 2 S 450 cotton", name="main")
    beside = yarn_from_words("20 tex x 2 cotton", name="main", twist=Twist(700, "Z", 450, "S"))
    assert inside == beside
    assert (inside.singles_twist_tpm, inside.fold_direction) == (700, "S")


REFUSED = [
    (lambda: yarn_from_words("2/30 Nm"), "made of"),
    (lambda: yarn_from_words("2/30 Nm wool", fibre="cotton"), "says"),
    (lambda: yarn_from_words("30 Nm Z 600 wool", twist=Twist(700, "Z")), "twist"),
    (lambda: yarn_from_words("2/30 Nm wool", spinning="hand cranked"), "no spinning"),
    (lambda: yarn_from_words("2/30 Nm wool", ends=0), "ends cannot"),
    (lambda: yarn_from_words("2/30 Nm wool", ends=25), "ends cannot"),
    (lambda: wool(singles_twist_tpm=0), "turns per metre"),
    (lambda: wool(singles_twist_tpm=-600), "turns per metre"),
    (lambda: wool(fold_twist_tpm=float("nan")), "turns per metre"),
    (lambda: wool(fold_twist_tpm=float("inf")), "turns per metre"),
    (lambda: wool(singles_direction="X"), "direction"),
]


@pytest.mark.parametrize(("made", "words"), REFUSED)
def test_what_no_yarn_can_be_is_refused_in_words(made: object, words: str) -> None:
    with pytest.raises(Problem, match=words) as refused:
        made()  # type: ignore[operator]
    assert refused.value.tries


def test_a_yarn_can_be_kept_compared_and_sent_to_another_process() -> None:
    yarn = yarn_from_words("3 ends of 2/28 Nm cashmere")
    assert pickle.loads(pickle.dumps(yarn)) == yarn
    assert len({yarn, yarn_from_words("3 x 2/28 Nm cashmere")}) == 1


# the sheet


def test_the_sheet_shows_the_yarn_in_every_system_with_what_it_costs_in_moisture() -> None:
    sheet = yarn_figures(yarn_from_words("3 ends of 2/28 Nm wool"))
    assert sheet["count_tex"].value == pytest.approx(3 * 2 * 1000 / 28)
    assert sheet["count_Nm"].value == pytest.approx(28 / 6)
    assert sheet["resultant_tex"].value == pytest.approx(2 * 1000 / 28)
    assert sheet["resultant_number"].value == pytest.approx(14)
    assert sheet["invoice_mass_of_100_kg_dry_kg"].value == pytest.approx(118.25)
    assert sheet["invoice_mass_of_100_kg_dry_kg"].basis is Basis.PUBLISHED


def test_the_sheet_says_the_usual_twist_only_where_the_own_is_not_known() -> None:
    unknown = yarn_figures(yarn_from_words("2/30 Nm wool"))
    known = yarn_figures(yarn_from_words("2/30 Nm Z 500 S 330 wool"))
    assert "usual_singles_twist_tpm" in unknown
    assert "twist_factor" not in unknown
    assert "usual_singles_twist_tpm" not in known
    assert known["fold_to_singles_ratio"].value == pytest.approx(0.66)
    # metric alpha 75 to 95 on Nm 30
    assert unknown["usual_singles_twist_tpm"].low == pytest.approx(75 * math.sqrt(30), rel=1e-9)
    assert unknown["usual_singles_twist_tpm"].high == pytest.approx(95 * math.sqrt(30), rel=1e-9)


def test_the_three_scales_of_twist_on_the_sheet_are_one_twist() -> None:
    sheet = yarn_figures(yarn_from_words("Ne 30 cotton", twist=Twist(690, "Z")))
    turns_per_inch = 690 * 0.0254
    assert sheet["twist_factor_tpm_sqrt_tex"].value == pytest.approx(690 * math.sqrt(tex_of(30, "Ne")))
    assert sheet["twist_multiplier_tpi_per_sqrt_ne"].value == pytest.approx(turns_per_inch / math.sqrt(30))
    assert sheet["twist_factor_tpm_per_sqrt_nm"].value == pytest.approx(690 / math.sqrt(1000 / tex_of(30, "Ne")))


@pytest.mark.parametrize("words", ["70 den nylon", "Ne 20 cotton", "16 YSW wool", "2/28 Nm acrylic", "20 den elastane"])
def test_every_figure_of_a_sheet_has_a_reason_and_a_band_that_holds_it(words: str) -> None:
    for figure in yarn_figures(yarn_from_words(words)).values():
        assert figure.why.words
        assert figure.why.source
        assert figure.low <= figure.value <= figure.high
        assert math.isfinite(figure.value)


def test_a_sheet_for_a_market_without_a_figure_for_the_fibre_is_refused() -> None:
    with pytest.raises(Problem, match="US market"):
        yarn_figures(yarn_from_words("Ne 30 polylactide"), market="US")
