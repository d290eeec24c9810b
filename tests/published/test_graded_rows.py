"""Rows of `multipliers.csv` marked derived, worked out again from the models.

Read, secondary or from memory: as said at each model. The cases a grade stands for (height of
washboard, ratio of loads, middle of a heat grade) are judgements in `mechanisms/derive.py`.
"""

import csv
from pathlib import Path

import pytest

import tripplan
from tests.published.printed import agrees
from tripplan.wear.mechanisms.derive import derived_rows

TABLE = Path(tripplan.__path__[0]) / "data" / "multipliers.csv"


def rows() -> dict[tuple[str, str, str], dict[str, str]]:
    """The shipped table by condition, grade and sensitivity."""
    with TABLE.open(encoding="utf-8", newline="") as file:
        return {(r["condition"], r["grade"], r["sensitivity"]): r for r in csv.DictReader(file)}


@pytest.mark.parametrize("key", derived_rows(), ids=" ".join)
def test_row_equals_its_derivation(key: tuple[str, str, str]) -> None:
    """A shipped multiplier would claim a derivation that does not give it."""
    row, derived = rows()[key], derived_rows()[key]
    for column, value in zip(("low", "typical", "high"), derived, strict=True):
        assert agrees(f"{float(row[column]):.2f}", value), column


def test_no_row_claims_derivation_without_one() -> None:
    """A row marked derived would have nothing behind it."""
    claimed = {key for key, row in rows().items() if row["basis"] == "derived"}
    assert claimed <= set(derived_rows())
