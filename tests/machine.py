"""What the machine at hand has for tests of what people see: browser and fonts."""

import re
import sys
from pathlib import Path

import pytest

CHROMIUM = ("/usr/bin/chromium", "chromium", "chromium-browser")
FONTS = Path("/usr/share/fonts")
# Debian's fonts-dejavu-core, as wide as sans serifs come, and fonts-liberation (from Debian 13 on
# fonts-liberation-sans-narrow), as narrow as they come; each stands for all letters of a machine.
FONT_SETS = {
    "wide": ("DejaVuSans.ttf", "DejaVuSans-Bold.ttf", "DejaVuSerif*.ttf"),
    "narrow": ("LiberationSansNarrow-*.ttf",),
}
FONT_SETTINGS = """<?xml version="1.0"?><!DOCTYPE fontconfig SYSTEM "fonts.dtd">
<fontconfig><dir>{letters}</dir><cachedir>{cache}</cachedir></fontconfig>"""


def font_settings(name: str, place: Path) -> Path:
    """A settings file, made below `place`, that shows programs no other fonts than those of the set."""
    files = [path for glob in FONT_SETS[name] for path in FONTS.rglob(glob)]
    if not sys.platform.startswith("linux") or not files:
        pytest.skip(f"no {name} fonts on this machine ({FONT_SETS[name][0]})")
    letters = place / "letters"
    letters.mkdir()
    for path in files:
        (letters / path.name).symlink_to(path)
    settings = place / "fonts.conf"
    settings.write_text(FONT_SETTINGS.format(letters=letters, cache=place / "cache"), encoding="utf-8")
    return settings


def sheets_of(pdf: bytes) -> int:
    """How many sheets a PDF has."""
    return len(re.findall(rb"/Type\s*/Page\b", pdf))
