"""The mapping file of an import: which column holds what, and its owner's answers.

It is written beside what was imported and read back by the next import of the same kind of
table, which then asks nothing.
"""

import tomllib
from collections.abc import Mapping, Sequence
from datetime import date
from pathlib import Path
from typing import Any

from msgspec import Struct, field

from tripplan.files.importing.cells import DAY_FIRST, MONTH_FIRST
from tripplan.files.tables import read_text
from tripplan.files.toml_files import quoted
from tripplan.files.way_in import NotRead, is_encoding, toml_of
from tripplan.records import cell_values
from tripplan.records.facts_in import Origin
from tripplan.records.problem_codes import figure, problem
from tripplan.records.problems import BadInput

FIELDS = (
    "date", "odometer_km", "odometer_mi", "odometer", "old_odometer_km", "unit", "item", "act", "position", "finding",
    "lubricant", "work", "ticks", "status", "note", "leave out",
)  # fmt: skip
ASK, AS_ABOVE, USUAL, TRUST = "ask", "as above", "usual act", "trust"
FIRST_YEAR = 1960
LEAVE_OUT = "leave out"
ANSWERS = {"blank_date": (ASK, AS_ABOVE), "no_act": (USUAL, ASK), "true_dates": (ASK, TRUST)}


class Replaced(Struct, frozen=True, kw_only=True):
    """The owner's word that an odometer was replaced: day, last figure of the old, first of the new."""

    unit: str | None
    day: date
    old_km: float
    new_km: float


class ColumnMap(Struct, frozen=True, kw_only=True):
    """How a table is to be read: columns by header, order of dates, and the owner's answers."""

    columns: Mapping[str, str] = field(default_factory=dict)
    date_order: Mapping[str, str] = field(default_factory=dict)
    blank_date: str = ASK
    no_act: str = USUAL
    true_dates: str = ASK
    unit: str | None = None
    encoding: str | None = None
    units: Mapping[str, str] = field(default_factory=dict)
    words: Mapping[str, str] = field(default_factory=dict)
    first_year: int = FIRST_YEAR
    replaced: tuple[Replaced, ...] = ()


def read_mapping(path: Path) -> ColumnMap:
    """A mapping file; BadInput I01 when it cannot be used."""
    text, problems = read_text(path, path.name)
    if text is None:
        raise BadInput(problems)
    try:
        data = toml_of(text)
    except (tomllib.TOMLDecodeError, NotRead) as error:
        found = str(error).partition(" (at ")[0]
        raise _unfit(path, "the file", found, "a file that an import wrote") from None
    return _mapping_of(data, path)


def _mapping_of(data: Mapping[str, Any], path: Path) -> ColumnMap:
    columns = _texts(data.get("columns", {}), path, "columns", FIELDS)
    orders = _texts(data.get("date_order", {}), path, "date_order", (DAY_FIRST, MONTH_FIRST))
    answers = _texts({key: data.get(key, options[0]) for key, options in ANSWERS.items()}, path, "", ())
    for key, options in ANSWERS.items():
        if answers[key] not in options:
            raise _unfit(path, key, answers[key], " or ".join(options))
    entries = data.get("odometer_replaced", [])
    if not isinstance(entries, list):
        raise _unfit(path, "odometer_replaced", str(entries), "sections [[odometer_replaced]]")
    unit, encoding = data.get("unit"), data.get("encoding")
    said = {key: _texts(data.get(key, {}), path, key, ()) for key in ("units", "words")}
    year = data.get("first_year", FIRST_YEAR)
    if (
        not isinstance(year, int)
        or isinstance(year, bool)
        or not cell_values.FIRST_YEAR <= year <= cell_values.LAST_YEAR
    ):
        raise _unfit(path, "first_year", str(year)[:20], f"a year from {cell_values.FIRST_YEAR}")
    if encoding is not None and not is_encoding(encoding):
        raise _unfit(path, "encoding", str(encoding), "the name of a character set, such as cp1252 or utf-8")
    return ColumnMap(
        columns=columns, date_order=orders, blank_date=answers["blank_date"], no_act=answers["no_act"],
        true_dates=answers["true_dates"],
        unit=None if unit is None else str(unit), encoding=None if encoding is None else str(encoding),
        units={name.casefold(): unit for name, unit in said["units"].items()},
        words={name.casefold(): means for name, means in said["words"].items()}, first_year=year,
        replaced=tuple(_replaced(entry, path) for entry in entries),
    )  # fmt: skip


def _texts(values: Any, path: Path, key: str, accepted: Sequence[str]) -> dict[str, str]:
    if not isinstance(values, dict):
        raise _unfit(path, key, str(values), f"a section [{key}]")
    for name, value in values.items():
        if not isinstance(value, str) or (accepted and value not in accepted):
            raise _unfit(path, f"{key}.{name}", str(value), ", ".join(accepted) or "a word")
    return {str(name): value for name, value in values.items()}


def _replaced(entry: Any, path: Path) -> Replaced:
    try:
        day, old_km, new_km = entry["date"], float(entry["old_km"]), float(entry["new_km"])
        if not isinstance(day, date) or not (0 <= old_km < 5e6 and 0 <= new_km < 5e6):
            raise ValueError
    except (KeyError, TypeError, ValueError):
        accepted = "date = 2021-07-24, old_km = 328060 and new_km = 12"
        raise _unfit(path, "odometer_replaced", str(entry)[:200], accepted) from None
    unit = entry.get("unit")
    return Replaced(unit=None if unit is None else str(unit), day=day, old_km=old_km, new_km=new_km)


def mapping_text(mapping: ColumnMap, columns: Mapping[str, str], orders: Mapping[str, str]) -> str:
    """The mapping file for what was found, with the owner's answers kept."""
    lines = [
        "# How the columns of this table are read. A column holds one of:",
        f"# {', '.join(FIELDS)}",
        f'# blank_date: "{ASK}" or "{AS_ABOVE}" (a row without date is of the day of the row above)',
        f'# no_act: "{USUAL}" (an item without act word had its usual act done) or "{ASK}"',
        '# odometer is a reading in km or miles, which is asked until it is odometer_km or odometer_mi',
        f'# true_dates: "{ASK}" where a spreadsheet may have swapped day and month, or "{TRUST}"',
        f"blank_date = {quoted(mapping.blank_date)}",
        f"no_act = {quoted(mapping.no_act)}",
        f"true_dates = {quoted(mapping.true_dates)}",
        *([f"unit = {quoted(mapping.unit)}"] if mapping.unit else []),
        *([f"encoding = {quoted(mapping.encoding)}"] if mapping.encoding else []),
        *([f"first_year = {mapping.first_year}"] if mapping.first_year != FIRST_YEAR else []),
        "", f'# Which unit of the rig a name in the table is, or "{LEAVE_OUT}" for one that is not in the rig',
        "[units]", *(f"{quoted(name)} = {quoted(unit)}" for name, unit in mapping.units.items()),
        "", "# What a cell, a part of one or the heading of a tick means, in words of the trade", "[words]",
        *(f"{quoted(name)} = {quoted(means)}" for name, means in mapping.words.items()),
        "", "[columns]", *(f"{quoted(header)} = {quoted(holds)}" for header, holds in columns.items()),
        "", "[date_order]", *(f"{quoted(header)} = {quoted(order)}" for header, order in orders.items()),
    ]  # fmt: skip
    for one in mapping.replaced:
        unit = [f"unit = {quoted(one.unit)}"] if one.unit else []
        figures = [f"old_km = {figure(one.old_km)}", f"new_km = {figure(one.new_km)}"]
        lines += ["", "[[odometer_replaced]]", *unit, f"date = {one.day}", *figures]
    return "\n".join(lines) + "\n"


def _unfit(path: Path, key: str, found: str, accepted: str) -> BadInput:
    return BadInput([problem("I01", Origin(file=path.name), key, found, accepted)])
