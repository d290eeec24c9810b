"""What the owner leaves out of the plan: not on the rig, never done, or done elsewhere; with the reason.

The rows stand in `overrides/left_out.csv`. An item left out fits its unit no more, so nothing
plans it, looks at it after water or carries parts for it; the plan says so, with the reason.
"""

from collections.abc import Iterable, Sequence
from pathlib import Path
from typing import Annotated

from pydantic import Field

from tripplan.files.append import changed_table
from tripplan.files.tables import Table, records_of, sound_records
from tripplan.records.catalogue import Item
from tripplan.records.facts_in import Lower, Origin, Record
from tripplan.records.problem_codes import nearest, problem
from tripplan.records.problems import BadInput, Problem
from tripplan.records.words import LeftOutAs

LEFT_OUT_FILE = "left_out.csv"
COLUMNS = ("item", "unit", "as", "reason")


class LeftOut(Record):
    """One item that the owner leaves out, on one unit or on all, and why."""

    item: str = Field(description="an item id, e.g. winch", min_length=1)
    unit: str | None = Field(None, description="a unit id of rig.toml; empty for all")
    as_: Annotated[LeftOutAs, Lower] = Field(alias="as")
    reason: str = Field(min_length=1, description="the reason, in your own words")
    origin: Origin


def read_left_out(table: Table | None, items: Iterable[Item]) -> tuple[tuple[LeftOut, ...], tuple[Problem, ...]]:
    """The rows of the table, those of unknown items left out and told."""
    if table is None:
        return (), ()
    rows, problems = records_of(table, LeftOut, "O")
    known = {item.id for item in items}
    wrong = tuple(
        problem("O12", row.origin, "item", row.item, f"an item such as {nearest(row.item, known, 4)}")
        for row in rows if row.item not in known
    )  # fmt: skip
    return tuple(row for row in rows if row.item in known), (*problems, *wrong)


def without_left_out(items: Sequence[Item], rows: Sequence[LeftOut]) -> tuple[Item, ...]:
    """The items, each knowing the units it is left out on, and the words for it."""
    said: dict[str, list[LeftOut]] = {}
    for row in rows:
        said.setdefault(row.item, []).append(row)
    return tuple(
        item.model_copy(update={
            "left_out": tuple((row.unit or "", f"{row.as_}: {row.reason}") for row in said[item.id]),
            "left_out_rows": tuple(row.origin for row in said[item.id]),
        })
        if item.id in said else item
        for item in items
    )  # fmt: skip


def left_out_file(folder: Path) -> Path:
    """Where a folder keeps them."""
    return folder / "overrides" / LEFT_OUT_FILE


def left_out_content(folder: Path, item: str, unit: str, word: str | None, reason: str) -> bytes:
    """The file with an item left out in that word, or taken in again without one; what was said of it before goes.

    Raises BadInput for a word not known, for no reason, and for an item taken in that was not left out.
    """
    row = {"item": item, "unit": unit, "as": (word or "").strip().lower(), "reason": reason.strip()}
    gone = _rows_of(folder, item, unit)
    if word is None and not gone:
        raise _refused("O12", "item", f"{item}{f' on {unit}' if unit else ''}", "an item that is left out")
    if word is not None and row["as"] not in tuple(LeftOutAs):
        raise _refused("O05", "as", word, nearest(word, LeftOutAs))
    if word is not None and not row["reason"]:
        raise _refused("O10", "reason", "nothing", "the reason, in your own words")
    added = [] if word is None else [row]
    return changed_table(left_out_file(folder), added, columns=COLUMNS, gone=gone).content


def _refused(code: str, column: str, found: str, accepted: str) -> BadInput:
    return BadInput([problem(code, Origin(file=LEFT_OUT_FILE), column, found, accepted)])


def _rows_of(folder: Path, item: str, unit: str) -> list[int]:
    rows = sound_records(left_out_file(folder), LeftOut, "O")
    return [row.origin.row for row in rows if row.item == item and (row.unit or "") == unit and row.origin.row]
