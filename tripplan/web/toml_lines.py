"""`trip.toml` and `rig.toml` as text: a value changed in its line, or a whole file from a form.

Lines that are not touched keep every letter. What comes out is read again and held against
what was asked for, so that a file written in a way not foreseen here is refused, not spoilt.
"""

import copy
import json
import re
import tomllib
from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from tripplan.files.toml_value import value

TRIP_KEYS = ("name", "depart", "return", "shakedown_km", "remote_beyond_km", "rate_per_hour", "cost_per_stranded_hour")
OPTIONAL_TRIP_KEYS = (
    "trailer_hubs_after_water", "holiday_rate_per_hour", "road_daily_minutes", "road_day_limit_minutes",
    "road_long_spell_minutes",
)  # fmt: skip
LIST_KEYS = ("fitted",)
Place = tuple[int, str, str]
MOST_LINES = 40
UNIT_HEADER = re.compile(r"\s*\[\[\s*unit\s*\]\]")
INNER_HEADER = re.compile(r"\s*\[\s*unit\s*\.\s*(\w+)\s*\]")
ANY_HEADER = re.compile(r"\s*\[")
KEY = re.compile(r"(\s*)([A-Za-z0-9_-]+)(\s*=\s*)")
REST = re.compile(r'("(?:[^"\\]|\\.)*"|\[[^\]\n]*\]|[^#\n]*?)(\s*(?:#[^\n]*)?\r?\n?)', re.S)


class Unchangeable(ValueError):
    """A file so written that a value in it cannot be changed line by line."""


def with_values(text: str, values: Mapping[str, str]) -> str:
    """The file with these keys set; lines that are not touched keep every letter.

    An optional key that was emptied goes out with its line, and is as if never given.
    """
    for key, new in values.items():
        if not new and key in OPTIONAL_TRIP_KEYS:
            text = re.sub(rf"^[ \t]*{re.escape(key)}[ \t]*=.*\n?", "", text, count=1, flags=re.M)
            continue
        line = f"{key} = {value(key, new)}"
        found = re.compile(rf"^[ \t]*{re.escape(key)}[ \t]*=.*$", re.M)
        match = found.search(text)
        text = f"{text[: match.start()]}{line}{text[match.end() :]}" if match else f"{line}\n{text}"
    return text


def section(values: Mapping[str, str], heights_mm: Mapping[str, str], fitted: Sequence[str]) -> str:
    """One [[unit]] of rig.toml; what was left empty stays unknown."""
    lines = ["", "[[unit]]"]
    lines += [f"{key} = {value(key, text)}" for key, text in values.items() if text]
    if fitted:
        lines.append(f"fitted = {json.dumps(list(fitted), ensure_ascii=False)}")
    known = {point: text for point, text in heights_mm.items() if text}
    if known:
        lines += ["", "[unit.heights_mm]", *(f"{point} = {value(point, text)}" for point, text in known.items())]
    return "\n".join(lines) + "\n"


def edited(text: str, changes: Mapping[Place, str]) -> str:
    """The file with values changed: by number of the unit (0 = above them), section inside it, and key.

    An empty text takes the value out. Raises Unchangeable where the lines do not allow it.
    """
    try:
        wanted = _with_changes(tomllib.loads(text), changes)
        lines = text.splitlines(keepends=True)
        for place, new in changes.items():
            lines = _set(lines, place, new)
        made = "".join(lines)
        if tomllib.loads(made) == wanted:
            return made
    except (tomllib.TOMLDecodeError, RecursionError, LookupError, TypeError, AttributeError):
        pass
    raise Unchangeable("values that do not stand in lines of their own")


def _literal(key: str, text: str) -> str:
    if key in LIST_KEYS:
        return json.dumps([word.strip() for word in text.split(",") if word.strip()], ensure_ascii=False)
    return value(key, text)


def _with_changes(data: dict[str, Any], changes: Mapping[Place, str]) -> dict[str, Any]:
    data = copy.deepcopy(data)
    for (unit, inner, key), text in changes.items():
        own = data["unit"][unit - 1] if unit else data
        if inner:
            own = own.setdefault(inner, {})
        own.pop(key, None)
        if text:
            own[key] = tomllib.loads(f"x = {_literal(key, text)}")["x"]
    return data


def _set(lines: Sequence[str], place: Place, text: str) -> list[str]:
    key, own = place[2], list(_statements(lines, place[:2]))
    for start, end, name in own:
        if name == key:
            return [*lines[:start], *([_changed_line(lines[start:end], key, text)] if text else []), *lines[end:]]
    if not text:
        return list(lines)
    line = f"{key} = {_literal(key, text)}\n"
    if own:
        end = own[-1][1]
        return [*_ended(lines[:end]), line, *lines[end:]]
    if place[1]:
        end = _end_of_unit(lines, place[0])
        return [
            *_ended(lines[:end]),
            f"\n[unit.{place[1]}]\n",
            line,
            *(["\n"] if end < len(lines) else []),
            *lines[end:],
        ]
    if place[0] == 0:
        return [line, *lines]
    raise Unchangeable("a unit without a value in it")


def _ended(lines: Sequence[str]) -> list[str]:
    """The lines, the last of them with its line ending."""
    return [*lines[:-1], lines[-1] if lines[-1].endswith("\n") else lines[-1] + "\n"] if lines else []


def _changed_line(statement: Sequence[str], key: str, text: str) -> str:
    """The line with its value changed; its margin and its remark stay."""
    start = KEY.match(statement[0])
    rest = REST.fullmatch(statement[0], start.end()) if start and len(statement) == 1 else None
    if start is None or rest is None:
        return f"{key} = {_literal(key, text)}\n"
    return statement[0][: start.end()] + _literal(key, text) + rest.group(2)


def _statements(lines: Sequence[str], section_of: tuple[int, str]) -> Iterator[tuple[int, int, str]]:
    """Each value of one section: its first line, the line after it, and its key."""
    for spot, here in _sections(lines):
        found = KEY.match(lines[spot]) if here == section_of else None
        if found:
            yield spot, _end_of_value(lines, spot), found.group(2)


def _sections(lines: Sequence[str]) -> Iterator[tuple[int, tuple[int, str]]]:
    """Each line that starts a value, with the unit and section it stands in; -1 is any other section."""
    unit, inner, spot = 0, "", 0
    while spot < len(lines):
        line = lines[spot]
        if UNIT_HEADER.match(line):
            unit, inner = unit + 1, ""
        elif header := INNER_HEADER.match(line):
            inner = header.group(1)
        elif ANY_HEADER.match(line):
            inner = "another section"
        elif KEY.match(line):
            yield spot, (unit, inner)
            spot = _end_of_value(lines, spot) - 1
        spot += 1


def _end_of_value(lines: Sequence[str], start: int) -> int:
    for end in range(start + 1, min(len(lines), start + MOST_LINES) + 1):
        try:
            tomllib.loads("".join(lines[start:end]))
        except tomllib.TOMLDecodeError:
            continue
        return end
    raise Unchangeable("a value over many lines")


def _end_of_unit(lines: Sequence[str], unit: int) -> int:
    """The line after the last one that belongs to a unit, blank lines at its end left out."""
    headers = [spot for spot, line in enumerate(lines) if UNIT_HEADER.match(line)]
    end = headers[unit] if unit < len(headers) else len(lines)
    while end > headers[unit - 1] + 1 and not lines[end - 1].strip():
        end -= 1
    return end
