"""Records as the cells of a table and back: the one text form that files and logbook share."""

import json
import re
from collections.abc import Iterable, Mapping
from datetime import date, datetime
from decimal import Decimal
from functools import cache
from typing import Any

from tripplan.files.tables import SomeRecord
from tripplan.files.way_in import json_of
from tripplan.records import cell_values
from tripplan.records.cell_values import FORMULA_MARKS
from tripplan.records.facts_in import Origin, Record

MOST_MARKS_OF_NUMBER = 39
GUARD = "'"
TO_QUOTE = re.compile(r'[,"\r\n]')


def texts_of(record: Record) -> dict[str, str]:
    """The filled cells of a record by column name, as its owner would type them."""
    values = ((column, getattr(record, name)) for column, name in _names(type(record)))
    return {column: _text(value) for column, value in values if value is not None}


def record_of(texts: dict[str, str], record: type[SomeRecord], origin: Origin) -> SomeRecord:
    """The record those cells stand for."""
    return record.model_validate({**texts, "origin": origin})


def body_of(record: Record) -> str:
    """A record as one line of JSON, without where it came from."""
    return json.dumps(texts_of(record), ensure_ascii=False, sort_keys=True)


def texts_of_body(body: str) -> dict[str, str]:
    """The cells of such a line."""
    return {str(column): str(text) for column, text in json_of(body).items()}


def table_text(columns: Iterable[str], rows: Iterable[Mapping[str, str]]) -> str:
    """A comma-separated table; no cell of it is run as a formula by a spreadsheet."""
    names = list(columns)
    lines = [names, *([guarded(row.get(name, "")) for name in names] for row in rows)]
    return "".join(",".join(_quoted(cell) for cell in line) + "\n" for line in lines)


def _quoted(cell: str) -> str:
    return '"' + cell.replace('"', '""') + '"' if TO_QUOTE.search(cell) else cell


def guarded(text: str) -> str:
    """A cell that a spreadsheet shows and does not run: a quote stands before a formula mark.

    A plain number keeps its sign. A text that starts with such a quote gets another, so
    that `unguarded` gives back what was there.
    """
    if cell_values.PLAIN_NUMBER.fullmatch(text):
        return text
    return GUARD + text if text.lstrip(f" {GUARD}").startswith(FORMULA_MARKS) else text


def unguarded(text: str) -> str:
    """The text without the quote that `guarded` put there."""
    is_guarded = text.startswith(GUARD) and text.lstrip(f" {GUARD}").startswith(FORMULA_MARKS)
    return text[1:] if is_guarded else text


@cache
def _names(record: type[Record]) -> tuple[tuple[str, str], ...]:
    """Column and field name of everything a record holds but its origin."""
    fields = record.model_fields
    return tuple((field.alias or name, name) for name, field in fields.items() if name != "origin")


def _text(value: Any) -> str:
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, float):
        return plain_number(value)
    if isinstance(value, datetime):
        return value.isoformat(sep=" ", timespec="seconds" if value.second else "minutes")
    if isinstance(value, date):
        return value.isoformat()
    return str(value)


def plain_number(value: float) -> str:
    """The number written out without exponent, short enough to be read again."""
    text = format(Decimal(repr(value)), "f")
    text = text.rstrip("0").rstrip(".") if "." in text else text
    return text.removeprefix("0") if len(text) > MOST_MARKS_OF_NUMBER and "." in text else text
