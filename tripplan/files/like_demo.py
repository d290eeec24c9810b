"""A new folder in the shape of a demo: its files with every row marked as invented, and its days moved to come."""

import re
from collections.abc import Iterable
from datetime import date, timedelta
from pathlib import Path

from tripplan.files.demos import DEMOS, demo_folder
from tripplan.files.folder import EARLIER_CROSSINGS, EARLIER_LEGS, HISTORY_FILES, TRIP_FILES
from tripplan.files.leg_tracks import TRACKS
from tripplan.files.new_folder import table
from tripplan.files.read_me_first import READ_ME, read_me_first
from tripplan.files.tables import Table, read_cells
from tripplan.files.way_in import content
from tripplan.records.problems import BadInput
from tripplan.wear.invented import MARK

TABLES = (*HISTORY_FILES, *TRIP_FILES, EARLIER_LEGS, EARLIER_CROSSINGS)
SETTINGS = ("rig.toml", "trip.toml")
DAYS = frozenset(("date", "depart", "crossed", "arrive", "leave"))
DAY = re.compile(r"\d{4}-\d{2}-\d{2}", re.ASCII)
NAME = re.compile(r'^name = "', re.M)
WEEK_DAYS = 7
HEAD = f"""\
# Copied from an invented demo. Replace every value by your own, and take the words {MARK} out.
"""


def like_demo_files(name: str, today: date) -> dict[str, bytes]:
    """The files of a demo for a new folder of somebody's own.

    Its days move by whole weeks, so that the trip lies as far ahead of `today` as in the demo. An owner's changes
    of numbers (`overrides/`) stay behind: they belong to that owner.
    """
    source = demo_folder(name)
    shift = timedelta(days=(today - DEMOS[name]).days // WEEK_DAYS * WEEK_DAYS)
    files = {READ_ME: read_me_first().encode()}
    for setting in SETTINGS:
        text = (content(source / setting) or b"").decode("utf-8")
        moved = DAY.sub(lambda found: str(date.fromisoformat(found.group()) + shift), text)
        files[setting] = (HEAD + NAME.sub(f'name = "{MARK}: ', moved, count=1)).encode()
    for path in (source / each for each in TABLES):
        if path.is_file():
            files[path.with_suffix(".csv").name] = _marked(_cells(path), shift).encode()
    return files | _tracks(source)


def _cells(path: Path) -> Table:
    found, problems = read_cells(path)
    if found is None:
        raise BadInput(problems)
    return found


def _marked(read: Table, shift: timedelta) -> str:
    rows = [{column: _moved(column, text, shift) for column, text in row.items()} for _, row in read.rows]
    for row in rows:
        row["note"] = f"{MARK}: {row['note']}" if row.get("note") else MARK
    return table(read.header, rows)


def _moved(column: str, text: str, shift: timedelta) -> str:
    if column not in DAYS or not (found := DAY.match(text)):
        return text
    return f"{date.fromisoformat(found.group()) + shift}{text[found.end() :]}"


def _tracks(source: Path) -> dict[str, bytes]:
    paths: Iterable[Path] = sorted((source / TRACKS).iterdir()) if (source / TRACKS).is_dir() else ()
    return {f"{TRACKS}/{path.name}": content(path) or b"" for path in paths}
