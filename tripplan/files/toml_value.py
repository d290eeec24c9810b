"""One value as TOML writes it, from the text that a person typed."""

import json
import re

from tripplan.records import cell_values

TEXT_KEYS = ("name", "home_zone", "id", "kind", "drive", "front_axle", "fuel", "gearbox", "hubs",
             "country", "region")  # fmt: skip
ISO_DAY = re.compile(r"\d{4}-\d\d-\d\d", re.ASCII)


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
