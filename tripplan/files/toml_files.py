"""TOML files: read with every key judged, and single values written as a person would."""

import json
import math
import re
import tomllib
from collections.abc import Collection, Iterable, Iterator, Mapping
from datetime import date
from pathlib import Path
from typing import Any, TypeVar, get_args

from pydantic import ValidationError

from tripplan.files.refusals import NUMBER_ALONE, SLIP_ENOUGH, columns_of, known_names, near_word, wording
from tripplan.files.tables import SomeRecord, decoded, read_text
from tripplan.files.way_in import NotRead, toml_of
from tripplan.records import cell_values
from tripplan.records.facts_in import Origin, Record
from tripplan.records.problem_codes import problem
from tripplan.records.problems import Problem

KEYS_ACCEPTED = 'lines such as name = "Wagon" and usual_km_per_week = 250'
TEXT_KEYS = ("name", "home_zone", "id", "kind", "drive", "front_axle", "fuel", "gearbox", "hubs",
             "country", "region")  # fmt: skip
ISO_DAY = re.compile(r"\d{4}-\d\d-\d\d", re.ASCII)
Found = TypeVar("Found")
Read = tuple[Found | None, tuple[Problem, ...]]


def read_toml(path: Path, accepted: str = KEYS_ACCEPTED) -> Read[dict[str, Any]]:
    """What a TOML file says, or the Problem why it says nothing."""
    text, problems = read_text(path, path.name)
    if text is None:
        return None, problems
    try:
        return toml_of(text), ()
    except tomllib.TOMLDecodeError as error:
        line = re.search(r"at line (\d+)", str(error))
        row = int(line.group(1)) if line else None
        found = text.split("\n")[row - 1].strip()[:80] if row else "a file that ends too early"
        hint = str(error).partition(" (at ")[0].replace("Invalid", "Unreadable")
    except NotRead as why:
        row, found, hint = None, why.found, ""
    return None, (problem("F14", Origin(file=path.name, row=row), None, found or "a blank", accepted, hint),)


def toml_or_nothing(raw: bytes | None) -> dict[str, Any]:
    """What the bytes of a TOML file say; nothing where they are none, or there is no file."""
    text, _ = decoded(raw or b"", "")
    try:
        return toml_of(text or "")
    except (tomllib.TOMLDecodeError, NotRead):
        return {}


def keys_as_record(
    data: Mapping[str, Any], record: type[SomeRecord], letter: str, origin: Origin,
    prefix: str = "", given: Mapping[str, Any] | None = None,
) -> Read[SomeRecord]:  # fmt: skip
    """A record from the keys of a section; `given` are fields that do not come from it."""
    given = given or {}
    known = {key: field for key, field in columns_of(record).items() if key not in given}
    problems = [
        problem(f"{letter}07", origin, prefix + key, key, known_names(key, known), _meant(key, known))
        for key in data
        if key not in known
    ]
    wrong = dict(_wrong_types({key: data[key] for key in known if key in data}, record))
    for key, (kind, value) in wrong.items():
        described = known[key.partition(".")[0]].description
        is_told = described and (kind != "03" or "number" in described)
        accepted = str(described) if is_told else "; ".join(filter(None, (NUMBER_ALONE, described)))
        found = str(value).lower() if isinstance(value, bool) else str(value)
        problems.append(problem(f"{letter}{kind}", origin, prefix + key, found, accepted, _bare(value)))
    values = {key: data[key] for key in known if key in data}
    skipped = {key.partition(".")[0] for key in refused_keys(data, record, known)}  # a slip in a key is told once
    try:
        built = record.model_validate({**values, **given, "origin": origin})
    except ValidationError as error:
        names = {key: prefix + key for key in known}
        for said in wording(error, record, letter, origin, values, names):
            if (said.column or "").removeprefix(prefix).partition(".")[0] not in skipped:
                problems.append(said)
        return None, tuple(problems)
    return (None if wrong else built), tuple(problems)


def refused_keys(data: Mapping[str, Any], record: type[Record], known: Collection[str]) -> set[str]:
    """The known keys whose value has the wrong TOML type, and those that a misspelt key seems to mean."""
    meant = {near_word(key, known, SLIP_ENOUGH) for key in data if key not in known}
    return {key for key, _ in _wrong_types({key: data[key] for key in known if key in data}, record)} | (
        meant - {"", *data}
    )


def _wrong_types(values: Mapping[str, Any], record: type[Record]) -> Iterator[tuple[str, tuple[str, Any]]]:
    """Keys that hold a number or date of the wrong TOML type, which a record would convert."""
    fields = columns_of(record)
    for key, value in values.items():
        types = _types_of(fields[key].annotation)
        if float in types:
            entries = value.items() if isinstance(value, dict) else [(None, value)]
            for inner, number in entries:
                if isinstance(number, bool) or not isinstance(number, (int, float)) or not _is_finite(number):
                    yield (f"{key}.{inner}" if inner else key), ("03", number)
        elif date in types and not isinstance(value, (date, str)):
            yield key, ("04", value)


def _types_of(annotation: Any) -> set[Any]:
    return {annotation}.union(*(_types_of(part) for part in get_args(annotation)))


def _is_finite(value: int | float) -> bool:
    try:
        return math.isfinite(value)
    except OverflowError:
        return False


def _bare(value: Any) -> str:
    is_quoted_number = isinstance(value, str) and cell_values.PLAIN_NUMBER.fullmatch(value)
    return "write the figure without quotation marks" if is_quoted_number else ""


def _meant(key: str, known: Iterable[str]) -> str:
    near = near_word(key, known, SLIP_ENOUGH)
    return f"perhaps {near} is meant" if near else "take the line out"


def value(key: str, text: str) -> str:
    """A value as TOML writes it: a figure or a day bare, all else between quotation marks."""
    if key not in TEXT_KEYS:
        if cell_values.PLAIN_NUMBER.fullmatch(text):
            return figure(text)
        if ISO_DAY.fullmatch(text):
            return text
    return quoted(text)


def quoted(text: str) -> str:
    """A text between quotation marks."""
    return json.dumps(text, ensure_ascii=False).replace("\x7f", "\\u007f")


def figure(text: str) -> str:
    """A number as TOML accepts it: no leading noughts, digits on both sides of the point."""
    sign = "-" if text.startswith("-") else ""
    whole, point, part = text.lstrip("+-").partition(".")
    return f"{sign}{whole.lstrip('0') or '0'}" + (f".{part or '0'}" if point else "")
