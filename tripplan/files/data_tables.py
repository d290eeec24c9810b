"""Reading the catalogue: the shipped tables, changed by the rows of the owner's overrides."""

import csv
import hashlib
import io
from collections.abc import Iterable, Iterator, Mapping
from functools import lru_cache
from itertools import islice
from pathlib import Path
from typing import Any

from pydantic import ValidationError

from tripplan.files.left_out import LEFT_OUT_FILE, read_left_out, without_left_out
from tripplan.files.refusals import required_of
from tripplan.files.tables import Table, records_of
from tripplan.records import catalogue as tables
from tripplan.records.catalogue import Catalogue, Sourced
from tripplan.records.facts_in import Origin, Record
from tripplan.records.lubricants import Cavity, LubricantRow, PairRating
from tripplan.records.mending import Remedy, Spare
from tripplan.records.problem_codes import figure, nearest, problem
from tripplan.records.problems import Problem

DATA = Path(__file__).parent.parent / "data"
TABLES: dict[str, tuple[str, type[Record], tuple[str, ...]]] = {
    "items.csv": ("items", tables.Item, ("id",)),
    "multipliers.csv": ("multipliers", tables.Multiplier, ("condition", "grade", "sensitivity")),
    "grades.csv": ("grades", tables.ConditionGrade, ("condition", "grade")),
    "teardown.csv": ("teardown", tables.Teardown, ("place", "state")),
    "acts.csv": ("acts", tables.ActRule, ("act",)),
    "remedies.csv": ("remedies", Remedy, ("at", "found")),
    "spares.csv": ("spares", Spare, ("item", "part")),
    "consumables.csv": ("consumables", tables.Consumable, ("id",)),
    "water_rules.csv": ("water_rules", tables.WaterRule, ("item", "when", "water")),
    "assumptions.csv": ("assumptions", tables.Assumption, ("name",)),
    "lubricants.csv": ("lubricants", LubricantRow, ("id",)),
    "thickener_pairs.csv": ("thickener_pairs", PairRating, ("family_a", "family_b", "chart")),
    "cavities.csv": ("cavities", Cavity, ("item", "lubricant")),
    "services.csv": ("services", tables.ServiceSheet, ("id",)),
    "sources.csv": ("sources", tables.Source, ("id",)),
}
ADDED = ("short", "verb", "mended", "pack", "container_size")
# column of an earlier version of a table: what stands for it now; empty = nothing reads it any more
RETIRED: dict[str, dict[str, str]] = {
    "items.csv": {
        "consequence": "harms, harms_by, strands and if_it_fails", "safety": "harms", "severity": "",
        "hidden": "", "preventive_type": "", "after_water": "",
    },
    "remedies.csv": {"family": "at and found", "consumable": "consumables, each with its amount"},
}  # fmt: skip


def read_catalogue(
    override_tables: Mapping[str, Table] | None = None,
) -> tuple[Catalogue, tuple[Problem, ...]]:
    """The catalogue with the overrides merged in; an override with a problem is left out.

    A fault in a shipped table is ours and raises ValueError with the row.
    """
    parts: dict[str, tuple[Record, ...]] = {}
    problems: list[Problem] = []
    for file, (part, record, key) in TABLES.items():
        shipped = _shipped(file, (DATA / file).read_bytes(), record)
        changed: tuple[Record, ...] = ()
        if override_tables and file in override_tables:
            table = override_tables[file]
            earlier = tuple(_of_an_earlier_form(table, file))
            changed, found = ((), earlier) if earlier else records_of(table, record, "O")
            problems.extend((*found, *_unreasoned(shipped, changed), *_repeated(changed, key)))
            if part == "assumptions":
                beyond = tuple(_beyond_range(shipped, changed))
                problems.extend((*_read_by_nothing(shipped, changed), *beyond))
                refused = {found.row for found in beyond}
                changed = tuple(row for row in changed if _origin(row).row not in refused)
        parts[part] = tuple({_key(row, key): row for row in (*shipped, *_curing(shipped, changed))}.values())
    items = [row for row in parts["items"] if isinstance(row, tables.Item)]
    left_out, found = read_left_out((override_tables or {}).get(LEFT_OUT_FILE), items)
    parts["items"] = without_left_out(items, left_out)
    problems.extend(found)
    return Catalogue.model_validate({"edition": edition(), **parts}), tuple(problems)


def edition() -> str:
    """The date of the shipped tables and the first eight digits of the hash of their bytes."""
    day = (DATA / "EDITION").read_text(encoding="utf-8").strip()
    content = b"".join((DATA / file).read_bytes() for file in sorted(TABLES))
    return f"{day} {hashlib.sha256(content).hexdigest()[:8]}"


@lru_cache(maxsize=len(TABLES))
def _shipped(file: str, content: bytes, record: type[Record]) -> tuple[Record, ...]:
    """The records of a shipped table; the same bytes are read once in a process."""
    return tuple(_rows(file, content.decode(), record))


def _rows(file: str, text: str, record: type[Record]) -> Iterator[Record]:
    required = required_of(record)
    for row, texts in enumerate(csv.DictReader(io.StringIO(text, newline="")), 2):
        values: dict[str, Any] = {column: text or None for column, text in texts.items() if text or column in required}
        try:
            yield record.model_validate({**values, "origin": Origin(file=f"data/{file}", row=row)})
        except ValidationError as error:
            raise ValueError(f"shipped table {file}, row {row}: {error}") from error


def _key(row: Record, key: Iterable[str]) -> tuple[Any, ...]:
    return tuple(getattr(row, column) for column in key)


def _curing(shipped: Iterable[Record], changed: Iterable[Record]) -> Iterator[Record]:
    """Changed rows; what a row copied before a column was added does not say is as the shipped one has it."""
    known = {row.act: row for row in shipped if isinstance(row, tables.ActRule)}
    named = {row.id: row for row in shipped if isinstance(row, tables.Item | tables.Consumable)}
    ranges = _ranges(shipped)
    for row in changed:
        if isinstance(row, tables.ActRule) and row.puts_right is None:
            own = known.get(row.act)
            yield row.model_copy(update={"puts_right": own.puts_right if own else ()})
        elif isinstance(row, tables.Item | tables.Consumable) and row.id in named:
            ours = named[row.id]
            added = [name for name in ADDED if name in type(row).model_fields and name not in row.model_fields_set]
            older = {name: getattr(ours, name) for name in added}
            if isinstance(row, tables.Item) and isinstance(ours, tables.Item) and row.act != ours.act:
                older.pop("verb", None)  # the word for another act
            yield row.model_copy(update=older)
        elif isinstance(row, tables.Assumption) and row.name in ranges:
            yield row.model_copy(update={"least": ranges[row.name].least, "most": ranges[row.name].most})
        else:
            yield row


def _of_an_earlier_form(table: Table, file: str) -> Iterator[Problem]:
    """One Problem for a table copied before its columns changed, with the way to mend it."""
    gone = {column: now for column, now in RETIRED.get(file, {}).items() if column in table.header}
    if gone:
        became = "; ".join(f"{column} is now {now}" for column, now in gone.items() if now)
        accepted = f"the header line and the row of tripplan/data/{file} as they are now, copied anew"
        hint = f"copy them, make your change again, keep your reason under locator. {became}".rstrip(". ")
        yield problem("O13", Origin(file=table.file), None, f"the columns {', '.join(gone)}", accepted, hint)


def _unreasoned(shipped: Iterable[Record], changed: Iterable[Record]) -> Iterator[Problem]:
    copied = {row.locator for row in shipped if isinstance(row, Sourced)}
    for row in changed:
        if isinstance(row, Sourced) and (not row.locator or row.locator in copied):
            found = f"the words of the shipped table, {row.locator}" if row.locator else "nothing"
            accepted = "the reason for the change, in your own words"
            yield problem("O10", row.origin, "locator", found, accepted)


def _read_by_nothing(shipped: Iterable[Record], changed: Iterable[Record]) -> Iterator[Problem]:
    """A number of a name that no calculation asks for would be accepted and do nothing."""
    known = [row.name for row in shipped if isinstance(row, tables.Assumption)]
    for row in changed:
        if isinstance(row, tables.Assumption) and row.name not in known:
            yield problem("O12", row.origin, "name", row.name, nearest(row.name, known, 6))


def _beyond_range(shipped: Iterable[Record], changed: Iterable[Record]) -> Iterator[Problem]:
    """A number that nobody can have meant, by the shipped row whatever range the owner's row states."""
    ranges = _ranges(shipped)
    for row in (row for row in changed if isinstance(row, tables.Assumption) and row.name in ranges):
        ours = ranges[row.name]
        if ours.least is None or ours.most is None:
            continue
        cells = (("value", row.value), ("low", row.low), ("high", row.high))
        beyond = ((column, n) for column, n in cells if n is not None and not ours.least <= n <= ours.most)
        for column, value in islice(beyond, 1):  # a unit mistaken is mistaken in all three
            yield problem(
                "O06", row.origin, column, figure(value), f"{figure(ours.least)} to {figure(ours.most)} {ours.unit}"
            )


def _ranges(shipped: Iterable[Record]) -> dict[str, tables.Assumption]:
    return {row.name: row for row in shipped if isinstance(row, tables.Assumption)}


def _origin(row: Record) -> Origin:
    origin: Origin = getattr(row, "origin")  # noqa: B009 - every record of a table has one
    return origin


def _repeated(changed: Iterable[Record], key: tuple[str, ...]) -> Iterator[Problem]:
    first: dict[tuple[Any, ...], Origin] = {}
    for row in changed:
        origin = _origin(row)
        earlier = first.setdefault(_key(row, key), origin)
        if earlier is not origin:
            found = ", ".join(str(value) for value in _key(row, key))
            accepted = f"a row other than row {earlier.row}"
            yield problem("O11", origin, ", ".join(key), found, accepted)
