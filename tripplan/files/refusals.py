"""What a record refused, said as Problems: one for each cell or key, none repeated."""

import re
from collections.abc import Iterable, Iterator, Mapping
from difflib import get_close_matches
from enum import StrEnum
from typing import Any, Literal, get_args, get_origin

from pydantic import ValidationError
from pydantic.fields import FieldInfo

from tripplan.records import cell_values
from tripplan.records.facts_in import Origin, Record
from tripplan.records.problem_codes import nearest, problem
from tripplan.records.problems import Problem

NEAR_ENOUGH, SLIP_ENOUGH = 0.85, 0.8
MOST_LISTED = 8
KIND_OF = {
    "number": "03", "float_type": "03", "int_type": "03", "int_from_float": "03",
    "day": "04", "moment": "04", "date_type": "04",
    "word": "05", "literal_error": "05", "enum": "05", "bool_type": "05",
    "greater_than": "06", "greater_than_equal": "06", "less_than": "06", "less_than_equal": "06",
    "finite_number": "06", "int_parsing_size": "06", "string_too_short": "02", "string_pattern_mismatch": "09", "form": "09",
}  # fmt: skip
BOUND_WORDS = {"gt": "above", "ge": "at least", "lt": "below", "le": "at most"}
ANY_ACCEPTED = {
    "02": "something: this must be filled", "03": "a number", "05": "another word",
    "08": "text between quotation marks", "09": "a word of small letters, digits and underscores",
}  # fmt: skip
NUMBER_ALONE = "a whole or decimal number"
SECTIONS = {"tuple_type": 'a list such as ["winch"]', "dict_type": "a section of figures such as shaft = 600"}


def columns_of(record: type[Record]) -> dict[str, FieldInfo]:
    """The fields of a record as a file names them, without where it came from."""
    fields = record.model_fields.items()
    return {field.alias or name: field for name, field in fields if name != "origin" and not field.exclude}


def required_of(record: type[Record]) -> frozenset[str]:
    """The columns that a file must have."""
    return frozenset(name for name, field in columns_of(record).items() if field.is_required())


def near_word(found: str, words: Iterable[str], cutoff: float = NEAR_ENOUGH) -> str:
    """The one word so like `found` that a slip of the keys is likely; empty when none is."""
    close = get_close_matches(found.lower(), list(words), n=1, cutoff=cutoff)
    return close[0] if close else ""


def known_names(found: str, words: Iterable[str]) -> str:
    """The known columns or keys for a message: all when they are few, else those nearest."""
    listed = list(words)
    few = len(listed) <= MOST_LISTED
    return nearest(found, listed) if few else f"names such as {nearest(found, listed, MOST_LISTED)}"


def words_of(annotation: Any) -> tuple[str, ...]:
    """The words a field accepts, however deep its annotation holds them."""
    if get_origin(annotation) is Literal:
        return get_args(annotation)
    if isinstance(annotation, type) and issubclass(annotation, StrEnum):
        return tuple(annotation)
    return tuple(word for part in get_args(annotation) for word in words_of(part))


def wording(
    error: ValidationError, record: type[Record], letter: str, origin: Origin,
    typed: Mapping[str, Any], column_of: Mapping[str, str], only: str = "",
) -> Iterator[Problem]:  # fmt: skip
    """Problems for all that a record refused, or of one field, named and quoted as the file has them."""
    told: set[str] = set()
    fields = columns_of(record)
    for entry in error.errors(include_url=False):
        name, *inner = (str(part) for part in entry["loc"])
        value = typed.get(name, entry["input"])
        column = column_of.get(name, name)
        if inner and isinstance(value, (dict, list)):
            column, value = ".".join((column, *inner)), entry["input"]
        if column in told or (only and name != only):
            continue
        told.add(column)
        kind, context = _kind(entry), entry.get("ctx", {})
        found = "nothing" if kind in ("01", "02") else str(value)
        accepted = SECTIONS.get(entry["type"]) or _accepted(kind, fields.get(name), context, found)
        yield problem(f"{letter}{kind}", origin, column, found, accepted, context.get("hint", ""))


def _kind(entry: Any) -> str:
    if entry["type"] == "missing":
        return "01"
    return "02" if entry["input"] is None else KIND_OF.get(entry["type"], "08")


def _accepted(kind: str, field: FieldInfo | None, context: Mapping[str, Any], found: str) -> str:
    description = field.description if field else None
    words = words_of(field.annotation) if field else ()
    if words:
        return nearest(found, words)
    said = context.get("accepted") or (ANY_ACCEPTED["08"] if kind == "08" else None)
    if said == cell_values.NUMBER_ACCEPTED and description and description != said:
        said = NUMBER_ALONE
    if said and description and description not in said:
        return f"{said}; {description}"
    bounds = [f"{BOUND_WORDS[key]} {value:g}" for key, value in context.items() if key in BOUND_WORDS]
    says_bounds = description and description != cell_values.NUMBER_ACCEPTED and re.search(r"\d", description)
    if bounds and not says_bounds:
        return "; ".join((*bounds, description) if description else bounds)
    return said or description or ANY_ACCEPTED[kind]
