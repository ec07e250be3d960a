"""Statistics of readings against printed tables and examples.

Grubbs' critical values: two-sided 5 % and 1 %, as the tables of ISO 5725-2 have them, read in the appendix of an open
textbook of analytical chemistry (LibreTexts, "Critical values for Grubb's test"; its row for n = 7 at 5 % and that for
n = 15 at 1 % are misprints and left out here: 2.202 stands for 2.020). One-sided values of ASTM E178 are those of
Grubbs and Beck (1972), from memory; the two-sided test at twice the significance gives the same number.
Repeatability: the sulfur in coal of ISO 5725-2, annex B, level 1 (from memory; the printed results come out, which a
wrong reading of the data would not give). One-way variances: "SiRstv" of the statistical reference datasets of NIST
(from memory), whose certified sums of squares come out to all printed digits.
"""

import math

import pytest

from loopwright.swatch.operators import precision
from loopwright.swatch.statistics import grubbs_critical, t_quantile

PRINTED = 0.0008  # three decimals, and the row of three readings is printed rounded up (1.1543 as 1.155)
TWO_SIDED = {
    3: (1.155, 1.155),
    4: (1.481, 1.496),
    5: (1.715, 1.764),
    6: (1.887, 1.973),
    8: (2.126, 2.274),
    9: (2.215, 2.387),
    10: (2.290, 2.482),
    11: (2.355, 2.564),
    12: (2.412, 2.636),
    13: (2.462, 2.699),
    14: (2.507, 2.755),
}
ONE_SIDED_5 = {3: 1.153, 4: 1.463, 5: 1.672, 6: 1.822, 7: 1.938, 8: 2.032, 9: 2.110, 10: 2.176, 20: 2.557}


@pytest.mark.parametrize(("n", "printed"), TWO_SIDED.items())
def test_a_reading_stands_apart_from_where_the_printed_table_says(n, printed):
    five, one = printed
    assert grubbs_critical(n, 0.05) == pytest.approx(five, abs=PRINTED)
    assert grubbs_critical(n, 0.01) == pytest.approx(one, abs=PRINTED)


@pytest.mark.parametrize(("n", "printed"), ONE_SIDED_5.items())
def test_looked_at_from_one_side_the_older_table_comes_out(n, printed):
    assert grubbs_critical(n, 0.10) == pytest.approx(printed, abs=PRINTED)


def test_student_t_is_that_of_every_table():
    printed = {1: 12.706, 2: 4.303, 3: 3.182, 4: 2.776, 9: 2.262, 30: 2.042, 120: 1.980}
    for degrees, value in printed.items():
        assert t_quantile(0.975, degrees) == pytest.approx(value, abs=0.0005)


COAL = {
    "1": [0.71, 0.71, 0.70, 0.71],
    "2": [0.69, 0.67, 0.68],
    "3": [0.66, 0.65, 0.69],
    "4": [0.67, 0.65, 0.66],
    "5": [0.70, 0.69, 0.66, 0.71, 0.69],
    "6": [0.73, 0.74, 0.73],
    "7": [0.71, 0.71, 0.69],
    "8": [0.70, 0.65, 0.68],
}


def test_eight_laboratories_scatter_as_the_standard_prints():
    found = precision(COAL)
    assert found is not None
    assert round(found.mean, 3) == pytest.approx(0.690, abs=0.0015)
    assert found.repeatability_sd == pytest.approx(0.015, abs=PRINTED)
    assert found.reproducibility_sd == pytest.approx(0.026, abs=PRINTED)


WAFERS = {
    "1": [196.3052, 196.1240, 196.1890, 196.2569, 196.3403],
    "2": [196.3042, 196.3825, 196.1669, 196.3257, 196.0422],
    "3": [196.1303, 196.2005, 196.2889, 196.0343, 196.1811],
    "4": [196.2795, 196.1748, 196.1494, 196.1485, 195.9885],
    "5": [196.2119, 196.1051, 196.1850, 196.0052, 196.2090],
}
BETWEEN_SQUARES, WITHIN_SQUARES = 5.11462616000000e-02, 2.16636560000000e-01  # certified; 4 and 20 degrees of freedom


def test_five_instruments_scatter_as_certified():
    found = precision(WAFERS)
    assert found is not None
    within, across = WITHIN_SQUARES / 20, BETWEEN_SQUARES / 4
    assert found.repeatability_sd == pytest.approx(math.sqrt(within), rel=1e-8)
    assert found.between_sd == pytest.approx(math.sqrt((across - within) / 5), rel=1e-6)
