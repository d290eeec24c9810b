"""Rows of `multipliers.csv` whose locator gives the arithmetic, worked out again from what the locator says.

Read, read secondary or from memory, as `sources.csv` says of each rule; the cases that a grade stands for are
judgements. The rows that need a model are derived in `notebooks/graded_rows.ipynb`, those of dust and a bearing
in `test_dust_cleanliness.py`.
"""

import re
from collections.abc import Callable
from fractions import Fraction

import pytest

from tests.published.printed import agrees
from tripplan.files.data_tables import read_catalogue
from tripplan.records.catalogue import Multiplier

ROWS = {(row.condition, row.grade, row.sensitivity): row for row in read_catalogue()[0].multipliers}
NUMBER = r"([0-9]+(?:\.[0-9]+)?)"
DERIVED_ELSEWHERE = "notebooks/graded_rows.ipynb: "
MIRRORED = "; high at least x1.2 of typical, low at most typical / 1.2"
SHARES = {"one fifth": 0.2, "one half": 0.5}
Three = tuple[float, float, float]


def load(found: re.Match[str]) -> Three:
    """Life falls with a power of the mean load: 3 for balls as low, 10/3 for rollers as typical and high."""
    low, ball, typical, high, roller = found.groups()
    power = float(Fraction(roller))
    return float(low) ** float(ball), float(typical) ** power, float(high) ** power


def heat(found: re.Match[str]) -> Three:
    """Life halves each so many K."""
    hotter, typical, high, low = map(float, found.groups())
    return 2 ** (hotter / low), 2 ** (hotter / typical), 2 ** (hotter / high)


def shaking(found: re.Match[str]) -> Three:
    """A ratio of two roughness indices to three powers."""
    rough, sealed, low, typical, high = map(float, found.groups())
    return (rough / sealed) ** low, (rough / sealed) ** typical, (rough / sealed) ** high


def cut(found: re.Match[str]) -> Three:
    """Life cut by one half to four fifths lasts 1 / (1 - 1/2) to 1 / (1 - 4/5) times less: 2 to 5."""
    low, high = 1 / (1 - 1 / 2), 1 / (1 - 4 / 5)
    assert tuple(map(float, found.groups())) == pytest.approx((low, high))
    return low, (low * high) ** 0.5, high


SAID: tuple[tuple[str, Callable[[re.Match[str]], Three]], ...] = (
    (rf"mean load assumed x{NUMBER} to the power {NUMBER}, x{NUMBER} and x{NUMBER} to the power (10/3) as low, typical, high", load),
    (rf"part assumed {NUMBER} K hotter .*; life halves per {NUMBER} K \(.*\) as typical, per {NUMBER} K \(.*\) as high, per {NUMBER} K as low", heat),
    (rf"index assumed {NUMBER} m/km against {NUMBER} m/km for sealed; ratio to the power {NUMBER}, {NUMBER}, {NUMBER} as low, typical, high", shaking),
    (rf"life cut by one half to four fifths in dust and sand = {NUMBER} to {NUMBER}, .* as low and high; typical is their geometric mean", cut),
)  # fmt: skip
SUMS = [key for key, row in ROWS.items() if row.basis == "derived" and DERIVED_ELSEWHERE not in (row.locator or "")]
PARTS = [key for key, row in ROWS.items() if "whose excess over 1 is taken at" in (row.locator or "")]


def derived(row: Multiplier) -> Three:
    """Low, typical and high by the row's own words."""
    said = row.locator or ""
    low, typical, high = next(work(found) for words, work in SAID if (found := re.search(words, said)))
    return (min(low, typical / 1.2), typical, max(high, typical * 1.2)) if MIRRORED in said else (low, typical, high)


@pytest.mark.parametrize("key", SUMS, ids=" ".join)
def test_a_row_is_what_its_locator_works_out_to(key: tuple[str, str, str]) -> None:
    """Otherwise a multiplier would claim a sum that does not give it, as a low of 1.14 beside 1.05 to the power 3."""
    row = ROWS[key]
    for printed, value in zip((row.low, row.typical, row.high), derived(row), strict=True):
        assert agrees(f"{printed:.2f}", value)


@pytest.mark.parametrize("key", PARTS, ids=" ".join)
def test_a_part_of_the_excess_is_a_part_of_the_row_for_high_sensitivity(key: tuple[str, str, str]) -> None:
    """Otherwise a change of the row for high sensitivity would leave those that say they are a share of it behind."""
    row, full = ROWS[key], ROWS[(*key[:2], "high")]
    share = next(share for words, share in SHARES.items() if words in (row.locator or ""))
    for printed, whole in ((row.low, full.low), (row.typical, full.typical), (row.high, full.high)):
        assert abs(printed - (1 + share * (whole - 1))) <= 0.005 * (1 + share) + 1e-9  # both are rounded to 0.01


def test_every_sum_is_worked_out() -> None:
    """Otherwise rows could drop out of the two lists above without a word.

    Three of heat, load, towing, four surfaces and the worst dust are ten; three of heat, load, towing, low range, two of
    mud and two of water are ten, each for low and for medium sensitivity.
    """
    assert len(SUMS) == 10 and len(PARTS) == 20
