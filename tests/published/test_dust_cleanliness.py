"""Dust rows of `multipliers.csv` against the life of a rolling bearing in dirt, after ISO 281:2007.

Read in secondary sources (two help pages, an article, published programs; the standard was not
read): the cleanliness classes of Table 13 and the life factor of a radial roller bearing. That
its exponents are those of the ball bearing is from memory. The hub is an example, C_u/P 0.91.
"""

import pytest

from tests.published.printed import agrees
from tripplan.files.data_tables import read_catalogue

ROWS = {(row.grade, row.sensitivity): row for row in read_catalogue()[0].multipliers if row.condition == "dust"}
LIMIT_OVER_LOAD = 0.9146
# Table 13, mean diameter below 100 mm: sealed 0.8 to 0.6, normal 0.6 to 0.5, slight 0.5 to 0.3,
# typical contamination 0.3 to 0.1, severe 0.1 to 0
SEALED, LEAKING, NORMAL, EDGE, SLIGHT, TYPICAL, SEVERE = 0.7, 0.65, 0.55, 0.5, 0.4, 0.2, 0.1


def life_factor(kappa: float, cleanliness: float) -> float:
    """a_ISO of a radial roller bearing: 0.1 (1 - (1.5859 - c / kappa^m) (e_C C_u/P)^0.4)^-9.185."""
    c, m = (1.2348, 0.19087) if kappa < 1 else (1.2348, 0.071739)
    bracket = 1 - (1.5859 - c / kappa**m) * (cleanliness * LIMIT_OVER_LOAD) ** 0.4
    return 0.1 * float(bracket) ** -9.185


def shortened(base: float, dirty: float, kappa: float = 0.5) -> float:
    """How many times shorter the life is in dirt than at the base."""
    return life_factor(kappa, base) / life_factor(kappa, dirty)


@pytest.mark.parametrize(
    ("grade", "sensitivity", "base", "dirty"),
    [
        ("light", "low", SEALED, LEAKING), ("heavy", "low", SEALED, EDGE), ("bulldust", "low", SEALED, SLIGHT),
        ("light", "medium", NORMAL, SLIGHT), ("heavy", "medium", NORMAL, TYPICAL), ("bulldust", "medium", NORMAL, SEVERE),
    ],
)  # fmt: skip
def test_typical_value_is_a_step_of_cleanliness(grade: str, sensitivity: str, base: float, dirty: float) -> None:
    """A dust row would say it is derived from bearing life and hold another number."""
    row = ROWS[grade, sensitivity]
    assert row.source == "iso_281" and agrees(f"{row.typical:.2f}", shortened(base, dirty))


def test_light_dust_where_it_reaches_fully() -> None:
    """The row would claim a band that the theory does not give."""
    thin, thick = (shortened(NORMAL, SLIGHT, kappa) for kappa in (0.5, 1.0))
    row = ROWS["light", "high"]
    assert agrees(f"{row.low:.2f}", thin) and agrees(f"{row.high:.2f}", thick)
    assert agrees(f"{row.typical:.2f}", (thin * thick) ** 0.5)


def test_theory_and_the_published_rule_agree_on_heavy_dust() -> None:
    """Two routes that should meet would not. Half in dust: PM Monthly 560, TM 9-2330-294-14; theory 2.1."""
    theory = (shortened(NORMAL, TYPICAL, 0.5) * shortened(NORMAL, TYPICAL, 1.0)) ** 0.5
    assert theory == pytest.approx(ROWS["heavy", "high"].typical, rel=0.1)


def test_bulldust_lies_between_the_published_bounds() -> None:
    """War Department bulletin: life cut by one half to four fifths, 2 to 5; typical is the geometric mean."""
    row = ROWS["bulldust", "high"]
    assert (row.low, row.high) == (1 / (1 - 0.5), pytest.approx(1 / (1 - 0.8)))
    assert agrees(f"{row.typical:.2f}", (row.low * row.high) ** 0.5)
