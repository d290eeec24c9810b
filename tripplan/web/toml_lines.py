"""`trip.toml` and `rig.toml` as text: a value changed in its line, or a whole file from a form."""

import json
import re
from collections.abc import Mapping, Sequence

from tripplan import cells

TRIP_KEYS = ("name", "depart", "return", "shakedown_km", "remote_beyond_km", "rate_per_hour", "cost_per_stranded_hour")
TEXT_KEYS = ("name", "home_zone", "id", "kind", "drive", "front_axle", "fuel", "gearbox", "hubs")


def value(key: str, text: str) -> str:
    """A value as TOML writes it: a figure or a day bare, all else between quotation marks."""
    if key not in TEXT_KEYS:
        if cells.PLAIN_NUMBER.fullmatch(text):
            return figure(text)
        if re.fullmatch(r"\d{4}-\d\d-\d\d", text, re.ASCII):
            return text
    return json.dumps(text, ensure_ascii=False).replace("\x7f", "\\u007f")


def figure(text: str) -> str:
    """A number as TOML accepts it: no leading noughts, digits on both sides of the point."""
    sign = "-" if text.startswith("-") else ""
    whole, point, part = text.lstrip("+-").partition(".")
    return f"{sign}{whole.lstrip('0') or '0'}" + (f".{part or '0'}" if point else "")


def with_values(text: str, values: Mapping[str, str]) -> str:
    """The file with these keys set; lines that are not touched keep every letter."""
    for key, new in values.items():
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
