"""The demo trip folders, invented, and each says so in its own note; and a new folder of one's own in the shape of one."""

import re
import shutil
from collections.abc import Iterable
from datetime import date, timedelta
from pathlib import Path

from tripplan.files.folder import EARLIER_CROSSINGS, EARLIER_LEGS, HISTORY_FILES, TRIP_FILES
from tripplan.files.leg_tracks import TRACKS
from tripplan.files.new_folder import refuse_to_overwrite, table
from tripplan.files.plan_file import PLACE_FILE
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
DEMOS: dict[str, date] = {
    "outback": date(2026, 5, 25),
    "long-tour": date(2026, 3, 2),
    "after-crossing": date(2026, 8, 17),
}
LEFT_BEHIND = shutil.ignore_patterns("outputs", "pictures", PLACE_FILE)


def demo_folder(name: str) -> Path:
    """Where a demo's files are: inside the installed package, or beside it in a checkout."""
    installed = Path(__file__).parents[1] / "demos" / name
    return installed if installed.is_dir() else Path(__file__).parents[2] / "demo" / name


def copy_demo(name: str, target: Path) -> None:
    """Copy a demo's input files to a new folder; an existing one with files is left alone."""
    refuse_to_overwrite(target)
    shutil.copytree(demo_folder(name), target, ignore=LEFT_BEHIND, dirs_exist_ok=True)


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
