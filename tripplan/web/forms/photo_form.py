"""A photo to a finding: drawn anew without anything but its picture, kept in `photos/`, named in the note of its row.

A phone writes into each photo where and when it was taken and with what. None of that is kept:
the picture is decoded, turned upright, made no larger than a screen shows, and written as a new
file that holds pixels only.
"""

import io
import re
from collections.abc import Mapping
from pathlib import Path

from tripplan.files.folder import PHOTOS as PHOTOS
from tripplan.web.forms.fields import slipped

MOST_PIXELS = 80_000_000
LONGEST_SIDE_PX = 1600
QUALITY = 82
KINDS = ("JPEG", "PNG", "WEBP")
NAME = re.compile(r"[a-z0-9][a-z0-9_.-]{0,90}\.jpg")
NAMED = re.compile(r"\bphotos/([a-z0-9][a-z0-9_.-]{0,90}?\.jpg)")
ACCEPTED = "a photo as JPEG, PNG or WebP, up to 30 MB"


def pixels_only(raw: bytes) -> bytes:
    """The picture as a new JPEG file: upright, of bearable size, with no word about place, time or camera.

    Raises BadInput for what is no picture or far too large a one.
    """
    if not raw:
        raise slipped("photo", "", ACCEPTED)
    try:
        from PIL import Image, ImageOps
    except ImportError as error:
        raise slipped("photo", "no package Pillow", "pip install 'tripplan[web]'") from error
    try:
        with Image.open(io.BytesIO(raw), formats=KINDS) as found:
            if found.width * found.height > MOST_PIXELS:
                raise slipped("photo", f"{found.width} x {found.height} points", ACCEPTED)
            upright = ImageOps.exif_transpose(found).convert("RGB")
    except (OSError, SyntaxError, ValueError, Image.DecompressionBombError) as why:
        raise slipped("photo", "a file that cannot be read as a picture", ACCEPTED) from why
    upright.thumbnail((LONGEST_SIDE_PX, LONGEST_SIDE_PX))
    bare = Image.new("RGB", upright.size)
    bare.paste(upright)
    out = io.BytesIO()
    bare.save(out, "JPEG", quality=QUALITY)
    return out.getvalue()


def name_for(folder: Path, day: str, what: str) -> str:
    """A name not used yet, of the day and of what is seen."""
    words = re.sub(r"[^a-z0-9]+", "_", what.lower()).strip("_")[:60] or "photo"
    start = re.sub(r"[^0-9-]", "", day)[:10] or "undated"
    number = 1
    while (folder / PHOTOS / (name := f"{start}_{words}_{number}.jpg")).exists():
        number += 1
    return name


def with_photo(note: str, name: str) -> str:
    """The note with the photo named in it."""
    return "; ".join(filter(None, (note, f"{PHOTOS}/{name}")))


def photos_in(cells: Mapping[str, str]) -> tuple[str, ...]:
    """The photos that the note of a row names."""
    return tuple(NAMED.findall(cells.get("note", "")))


def kept_photos(folder: Path) -> tuple[str, ...]:
    """All photos of the folder, the newest day first."""
    found = (path.name for path in (folder / PHOTOS).glob("*.jpg"))
    return tuple(sorted((name for name in found if NAME.fullmatch(name)), reverse=True))
