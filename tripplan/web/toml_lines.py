"""`trip.toml` and `rig.toml` as text: a value changed where it stands, or a whole file from a form.

Lines that are not touched keep every letter. `trip.toml` is changed line by line, so that a value that makes it no
TOML at all, a day that does not exist, can be put right in the form.
"""

import json
import re
import tomllib
from collections.abc import Mapping, MutableMapping, Sequence
from typing import Any

import tomlkit
from tomlkit.exceptions import TOMLKitError

from tripplan.files.toml_files import value

TRIP_KEYS = ("name", "depart", "return", "shakedown_km", "remote_beyond_km", "rate_per_hour", "cost_per_stranded_hour")
OPTIONAL_TRIP_KEYS = (
    "trailer_hubs_after_water", "holiday_rate_per_hour", "road_daily_minutes", "road_day_limit_minutes",
    "road_long_spell_minutes",
)  # fmt: skip
LIST_KEYS = ("fitted",)
Place = tuple[int, str, str]


class Unchangeable(ValueError):
    """A file in which a value cannot be changed where it stands."""


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

    An empty text takes the value out; what is not changed keeps every letter. Raises Unchangeable where the file is
    no TOML, or has no such unit.
    """
    try:
        made = tomlkit.parse(text)
        for (unit, inner, key), new in changes.items():
            _set(made["unit"][unit - 1] if unit else made, inner, key, new)
        changed = tomlkit.dumps(made)
        if tomllib.loads(changed) == made.unwrap():
            return changed
    except (TOMLKitError, tomllib.TOMLDecodeError, LookupError, TypeError, AttributeError, RecursionError):
        pass
    raise Unchangeable("no TOML, or a unit that is not there")


def _set(own: MutableMapping[str, Any], inner: str, key: str, text: str) -> None:
    if inner and inner not in own:
        if not text:
            return
        own[inner] = tomlkit.table()
    section_of = own[inner] if inner else own
    if text:
        section_of[key] = tomlkit.parse(f"x = {_literal(key, text)}\n")["x"]
    else:
        section_of.pop(key, None)


def _literal(key: str, text: str) -> str:
    if key in LIST_KEYS:
        return json.dumps([word.strip() for word in text.split(",") if word.strip()], ensure_ascii=False)
    return value(key, text)
