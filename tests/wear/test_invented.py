"""Rows that a demo lent are told until their owner has put their own there."""

from datetime import date
from typing import Any

import pytest

from tests.small import HERE, crossing, leg, rig, row, stop, trip, workshop
from tripplan.records.facts_in import Origin, WorkshopDay
from tripplan.wear.invented import MARK, check_invented

LENT = f"{MARK}: from a demo"


def at(number: int | None) -> Origin:
    """A row of a file."""
    return Origin(file="some.csv", row=number)


def told(
    *history: Any, rig_name: str = "Rig", trip_name: str = "Trip", **parts: Any
) -> list[tuple[str, str, int | None, str]]:
    """Column, file, row and what is found, of each problem."""
    one_trip = trip(*parts.pop("legs", (leg(1, 100),)), name=trip_name, **parts)
    one_rig = rig().model_copy(update={"name": rig_name})
    found = list(check_invented(one_rig, history, one_trip))
    assert {one.code for one in found} <= {"F18"}
    return [(one.column or "", one.file, one.row, one.found) for one in found]


def test_what_is_the_owners_own_is_left_alone() -> None:
    """If it were not, nobody could ever be done; a note that only names the mark further on is the owner's."""
    mine = row(date(2026, 5, 1), 1000, note=f"was once {MARK}")
    assert told(mine, row(date(2026, 5, 1), 1000, note=None)) == []


@pytest.mark.parametrize(
    "parts",
    [
        {"legs": (leg(1, 100, note=LENT),)},
        {"crossings": (crossing(1, 50, 0.3, note=LENT),)},
        {"stops": (stop("Gums", 1, date(2026, 7, 2), note=LENT),)},
        {
            "workshop_days": (
                WorkshopDay(date=date(2026, 6, 24), minutes=60, note=LENT, origin=HERE),
                workshop(date(2026, 6, 25)),
            )
        },
    ],
)
def test_a_lent_row_of_any_file_is_told(parts: dict[str, Any]) -> None:
    """If one were not, an owner would drive on the demo's fords."""
    assert told(**parts) == [("note", "here", 2, "a row of an invented demo")]


def test_rows_of_a_file_are_told_together_by_the_first() -> None:
    """If not, forty lines would say the same."""
    rows = [row(date(2026, 5, n), 1000, note=LENT).model_copy(update={"origin": at(n)}) for n in (9, 4, 7)]
    assert told(*rows) == [("note", "some.csv", 4, "3 rows of an invented demo")]
    assert told(rows[0].model_copy(update={"origin": at(None)})) == [
        ("note", "some.csv", 0, "a row of an invented demo")
    ]


def test_a_lent_name_is_told() -> None:
    """If not, every sheet would be headed by the demo's rig."""
    assert [one[:1] for one in told(rig_name=f"{MARK} Wagon")] == [("name",)]
    assert [one[:1] for one in told(rig_name=f"{MARK} Wagon", trip_name=f"{MARK} North")] == [("name",), ("name",)]
