"""The secrets of the page, in a file that only its owner may read: pairing, calendar address, form tokens.

They outlive the page being stopped, so that a paired phone and a subscribed calendar go on.
A file that others could read is not believed: its secrets are made anew.
"""

import json
import os
import secrets
import stat
import sys
import tempfile
from pathlib import Path
from typing import Annotated

from msgspec import Meta, Struct, ValidationError, convert, field
from msgspec.structs import asdict, replace

from tripplan.files.way_in import NotRead, json_of, read_file
from tripplan.web.saves.journal import PLACE

KEYS_FILE = "keys.json"
LETTERS, CODE_LENGTH = "ABCDEFGHJKMNPQRSTUVWXYZ23456789", 8
OWNER_ONLY, OWNER_ONLY_FOLDER = 0o600, 0o700
MADE_ANEW = "The file of secrets could be read by others, so they were made anew: pair again."


def _code() -> str:
    """A word short enough to be typed with a thumb, of letters and digits that are not taken for one another."""
    return "".join(secrets.choice(LETTERS) for _ in range(CODE_LENGTH))


class Keys(Struct, frozen=True, kw_only=True):
    """What opens the page: `pair` a device on the network, `calendar` its file or None while that is off."""

    pair: Annotated[str, Meta(min_length=CODE_LENGTH)] = field(default_factory=_code)
    calendar: str | None = None
    secret: Annotated[str, Meta(pattern=r"^(?:[0-9a-f]{2}){32,}$")] = field(
        default_factory=lambda: secrets.token_hex(32)
    )

    def with_new_pair(self) -> "Keys":
        """Another pairing code and other form tokens: every device has to pair again."""
        return replace(self, pair=_code(), secret=secrets.token_hex(32))

    def with_calendar(self, is_on: bool) -> "Keys":
        """A new password for the calendar, or none."""
        return replace(self, calendar=secrets.token_urlsafe(18) if is_on else None)


def read_keys(folder: Path) -> tuple[Keys, str]:
    """The keys kept for a folder, else new ones; and what the owner has to be told about them."""
    path = folder / PLACE / KEYS_FILE
    try:
        state = path.lstat()
    except OSError:
        return Keys(), ""
    if not is_private(state):
        return Keys(), MADE_ANEW
    try:
        return convert(json_of(read_file(path)), Keys), ""
    except (NotRead, ValidationError):
        return Keys(), ""


def is_private(state: os.stat_result) -> bool:
    """True for a plain file of this user that nobody else may read; other systems keep rights elsewhere."""
    if sys.platform == "win32":
        return stat.S_ISREG(state.st_mode)
    return stat.S_ISREG(state.st_mode) and state.st_uid == os.geteuid() and not state.st_mode & 0o077


def write_keys(folder: Path, keys: Keys) -> None:
    """Keep the keys, whole, in a file that was never open to others."""
    place = folder / PLACE
    place.mkdir(parents=True, exist_ok=True)
    place.chmod(OWNER_ONLY_FOLDER)
    handle, name = tempfile.mkstemp(dir=place, prefix=".keys.")
    with os.fdopen(handle, "w", encoding="utf-8") as file:
        json.dump(asdict(keys), file)
        file.flush()
        os.fsync(file.fileno())
    os.chmod(name, OWNER_ONLY)
    os.replace(name, place / KEYS_FILE)
