"""Published yarn values: check values F-01 to F-13, conflicts C-01 and C-14, and factors printed in tables.

Each row: id, what is computed, the value expected, the tolerance with its reason, the source. Nothing here is our own
output: the values are definitions worked out beforehand or figures printed in the source named.
"""

import math
from collections.abc import Callable

import pytest

from loopwright.yarn.count import in_all_systems, number_in, tex_of
from loopwright.yarn.diameter import diameter_mm
from loopwright.yarn.fibre import Blend, density_of
from loopwright.yarn.folding import resultant_number, resultant_tex
from loopwright.yarn.notation import parse_count
from loopwright.yarn.regain import invoice_mass_from_delivery_kg, invoice_mass_from_dry_kg
from loopwright.yarn.twist import (
    Twist,
    alpha_metric_from_tex,
    alpha_tex_from_english,
    alpha_tex_from_metric,
    tpm_from_tpi,
    usual_twist_factor,
)
from loopwright.yarn.yarn import Yarn, yarn_from_words

DEFINITION = "definition of the system, yard and pound of 1959"

COUNTS = [
    # id, as written, system, number or tex fed together, relative tolerance, source
    ("F-01", "2/30 Nm", "Nm", 15.0, 1e-3, DEFINITION),
    ("F-01", "2/30 Nm", "tex", 66.67, 1e-3, DEFINITION),
    ("F-01", "2/30 Nm", "Ne", 8.858, 1e-3, DEFINITION),
    ("F-01", "2/30 Nm", "NeW", 13.287, 1e-3, DEFINITION),
    ("F-01", "2/30 Nm", "denier", 600.0, 1e-3, DEFINITION),
    ("F-02", "2/24 worsted", "NeW", 12.0, 1e-3, DEFINITION),
    ("F-02", "2/24 worsted", "tex", 73.82, 1e-3, DEFINITION),
    ("F-02", "2/24 worsted", "Nm", 13.55, 1e-3, DEFINITION),
    ("F-03", "Ne 30/1", "tex", 19.68, 1e-3, DEFINITION),
    ("F-03", "Ne 30/2", "tex", 39.37, 1e-3, DEFINITION),
    ("F-04", "16 YSW", "tex", 121.1, 1e-3, DEFINITION),
    ("F-04", "YSW 16", "Nm", 8.26, 1e-3, DEFINITION),
    ("F-05", "70 den", "dtex", 77.78, 1e-3, DEFINITION),
    ("F-05", "two ends of 70 den", "tex", 15.56, 1e-3, DEFINITION),
    ("F-06", "three ends of 2/28 Nm", "tex", 214.3, 1e-3, DEFINITION),
    ("F-06", "3 x 2/28 Nm", "Nm", 4.667, 1e-3, DEFINITION),
    # counts printed beside the gauges of flat machines; whole tex are printed
    ("E2 coarse", "8 ends of 7 NeW", "tex", 1012.0, 5e-4, "spencer_2001, flat gauges"),
    ("E2 fine", "8 ends of 9 NeW", "tex", 787.0, 7e-4, "spencer_2001, flat gauges"),
    ("E5 coarse", "6/14 NeW", "tex", 380.0, 1.5e-3, "spencer_2001, flat gauges"),
    ("E5 fine", "6/18 NeW", "tex", 295.0, 1.5e-3, "spencer_2001, flat gauges"),
    ("E12 coarse", "2/26 NeW", "tex", 68.0, 8e-3, "spencer_2001, flat gauges"),
    ("E12 fine", "2/42 NeW", "tex", 42.0, 8e-3, "spencer_2001, flat gauges"),
]


@pytest.mark.parametrize(("check", "written", "system", "expected", "tolerance", "source"), COUNTS)
def test_a_written_count_has_the_published_number(
    check: str, written: str, system: str, expected: float, tolerance: float, source: str
) -> None:
    assert in_all_systems(parse_count(written).tex)[system] == pytest.approx(expected, rel=tolerance)


CONSTANTS = [
    # system, exact constant of the reference's table 1.1, half a unit of its last digit
    ("tex", 1.0, 0.0),
    ("dtex", 0.1, 0.0),
    ("denier", 0.1111, 5e-5),
    ("Nm", 1000.0, 0.0),
    ("Ne", 590.541, 5e-4),
    ("NeW", 885.812, 5e-4),
    ("YSW", 1937.713, 5e-4),
    ("NeL", 1653.515, 5e-4),
    ("run", 310.034, 5e-4),
]


@pytest.mark.parametrize(("system", "constant", "tolerance"), CONSTANTS)
def test_number_one_of_a_system_weighs_its_printed_constant(system: str, constant: float, tolerance: float) -> None:
    assert tex_of(1, system) == pytest.approx(constant, abs=tolerance + 1e-12)


def test_cross_rates_of_the_indirect_systems_are_those_printed() -> None:
    # table 1.1: Nm = 1.6934 Ne = 1.1289 NeW = 0.5161 YSW; NeW = 1.5 Ne exactly. Half a unit of the last digit.
    assert number_in("Nm", tex_of(1, "Ne")) == pytest.approx(1.6934, abs=5e-5)
    assert number_in("Nm", tex_of(1, "NeW")) == pytest.approx(1.1289, abs=5e-5)
    assert number_in("Nm", tex_of(1, "YSW")) == pytest.approx(0.5161, abs=5e-5)
    assert number_in("NeW", tex_of(20, "Ne")) == pytest.approx(30, rel=1e-12)


def _f11() -> Yarn:
    return Yarn(
        name="F-11",
        count=parse_count("Ne 30"),
        blend=Blend({"cotton": 1}),
        spinning="ring_cotton",
        singles_twist_tpm=tpm_from_tpi(3.2 * math.sqrt(30)),
    )


def _value(figure: object) -> float:
    assert figure is not None
    return float(figure.value)  # type: ignore[attr-defined]


FORMULAS: list[tuple[str, Callable[[], float], float, float, str]] = [
    # id, computed, expected, absolute tolerance (the check's per cent of the value, or printed digits), source
    ("F-07", lambda: resultant_tex([20, 30, 12], take_up=0.03), 63.92, 0.0639, "eq 1.4"),
    ("F-08", lambda: diameter_mm(20, 1.52, 0.60), 0.1671, 0.00084, "eq 1.5"),
    ("F-09", lambda: diameter_mm(20, 1 / 1.1, 1.0), 0.1674, 0.00084, "Peirce 1947 in fletcher_1952: 1.1 cm³/g"),
    ("F-09", lambda: 1 / (1.1 * density_of("cotton").value), 0.598, 0.0005, "Peirce 1947 in fletcher_1952"),
    ("F-10", lambda: yarn_from_words("2/30 Nm wool", spinning="worsted").diameter_mm.value, 0.360, 0.0018, "eq 1.5"),
    ("F-11 tpi", lambda: 3.2 * math.sqrt(30), 17.53, 0.088, "eq 1.8"),
    ("F-11 tpm", lambda: tpm_from_tpi(17.53), 690, 3.5, "definition of the inch"),
    ("F-11 alpha", lambda: _value(_f11().twist_factor), 3062, 15.3, "eqs 1.7, 1.8"),
    ("F-11 alpha", lambda: alpha_tex_from_english(3.2), 3062, 15.3, "eq 1.8"),
    ("F-11 angle", lambda: _value(_f11().surface_helix_deg), 19.8, 0.099, "eq 1.9"),
    (
        "F-12 regain",
        lambda: Blend({"wool_combed": 0.7, "polyamide_staple": 0.3}).regain_percent("EU").value,
        14.65,
        0.01,
        "eq 1.6",
    ),
    ("F-12 mass", lambda: invoice_mass_from_dry_kg(100.0, 14.65), 114.65, 0.01, "eq 1.6, eu_1007_2011"),
    (
        "F-13",
        lambda: invoice_mass_from_delivery_kg(1000, regain_percent=8.5, actual_regain_percent=9.5),
        990.9,
        0.1,
        "eq 1.6",
    ),
    # C-14: a published single for 16s two-fold at 10 % contraction is 35.2; eq 1.4, followed here, gives 35.6
    ("C-14", lambda: number_in("Ne", resultant_tex([tex_of(35.6, "Ne")] * 2, take_up=0.1)), 16.0, 0.03, "eq 1.4"),
    # eq 1.3 on F-01's yarn
    ("eq 1.3", lambda: resultant_number([30, 30]), 15.0, 0.0, "definition"),
    # scale factors printed with eqs 1.5, 1.7 and 1.8: half a unit of the last digit
    ("eq 1.5", lambda: diameter_mm(1, 1, 1), 0.035682, 5e-7, "eq 1.5"),
    ("eq 1.7", lambda: alpha_tex_from_metric(1), 31.623, 5e-4, "eq 1.7"),
    ("eq 1.8", lambda: alpha_tex_from_english(1), 956.73, 5e-3, "eq 1.8"),
    ("eq 1.8", lambda: alpha_metric_from_tex(alpha_tex_from_english(1)), 30.255, 5e-4, "eq 1.8"),
    # C-01: shortcuts of the trade for the diameter, as packing of their fibre; three printed digits
    ("C-01", lambda: 0.035682**2 / 0.0444**2, 0.646, 5e-4, "textile_handbook_2023, p. 147: d(cm) = 4.44e-3·√(T/ρ)"),
    (
        "C-01",
        lambda: diameter_mm(tex_of(1, "Ne"), density_of("cotton").value, 0.601),
        25.4 / 28,
        5e-4,
        "count_conversion_note: d(in) = 1/(28·√Ne)",
    ),
]


@pytest.mark.parametrize(("check", "computed", "expected", "tolerance", "source"), FORMULAS)
def test_a_formula_gives_the_published_value(
    check: str, computed: Callable[[], float], expected: float, tolerance: float, source: str
) -> None:
    assert computed() == pytest.approx(expected, abs=tolerance + 1e-12)


REGAINS = [
    # fibre, EU agreed allowance, US commercial regain as printed in section 1.5 (none: no figure), source
    ("wool_combed", 18.25, 13.6, "eu_1007_2011; canola_2020"),
    ("wool_carded", 17.0, 13.6, "eu_1007_2011; canola_2020"),
    ("silk", 11.0, 11.0, "eu_1007_2011; canola_2020"),
    ("linen", 12.0, 12.0, "eu_1007_2011; canola_2020"),
    ("hemp", 12.0, 12.0, "eu_1007_2011; canola_2020"),
    ("viscose", 13.0, 11.0, "eu_1007_2011; astm_d1909 from memory"),
    ("polyamide_staple", 6.25, 4.5, "eu_1007_2011; astm_d1909 from memory"),
    ("polyamide_filament", 5.75, 4.5, "eu_1007_2011; astm_d1909 from memory"),
    ("polyester", 1.5, 0.4, "eu_1007_2011; astm_d1909 from memory"),
    ("acrylic", 2.0, 1.5, "eu_1007_2011; astm_d1909 from memory"),
]


@pytest.mark.parametrize(("fibre", "eu_percent", "us_percent", "source"), REGAINS)
def test_a_fibre_has_the_agreed_regain_of_each_market(
    fibre: str, eu_percent: float, us_percent: float, source: str
) -> None:
    assert Blend({fibre: 1}).regain_percent("EU").value == pytest.approx(eu_percent, abs=1e-12)
    assert Blend({fibre: 1}).regain_percent("US").value == pytest.approx(us_percent, abs=1e-12)


def test_iso_1139_example_reads_alike_from_single_to_fold_and_from_fold_to_single() -> None:
    # iso_1139 (memory): 20 tex Z 700 x 2 S 450; R 41 tex = R 41 tex S 450/2 Z 700; 20 tex
    one = yarn_from_words("20 tex Z 700 x 2 S 450; R 41 tex cotton")
    other = yarn_from_words("R 41 tex S 450/2 Z 700; 20 tex cotton")
    assert one == other
    assert Twist(one.singles_twist_tpm, one.singles_direction, one.fold_twist_tpm, one.fold_direction) == Twist(
        700, "Z", 450, "S"
    )


def test_usual_twist_of_knitting_cotton_spans_the_soft_and_the_mill_multipliers() -> None:
    # klein_short_staple: knitting, long staple 2.1-2.6; mill practice 3.3-3.7 (C-17)
    alpha = usual_twist_factor("ring_cotton")
    assert alpha is not None
    assert alpha.low == pytest.approx(2.1 * 956.73, rel=1e-4)
    assert alpha.high == pytest.approx(3.7 * 956.73, rel=1e-4)
