"""The demo trip folders: invented, and each says so in its own note."""

import shutil
from datetime import date
from pathlib import Path

from tripplan.files.held import FOLDER_LOCK
from tripplan.files.outputs_place import PLACE_FILE
from tripplan.records.problems import STOPS, BadInput, Problem

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


def refuse_to_overwrite(target: Path) -> None:
    """Raise BadInput A04 unless there is nothing at this path, or an empty folder."""
    if target.exists() and (not target.is_dir() or any(path.name != FOLDER_LOCK for path in target.iterdir())):
        found = Problem(
            code="A04", weight=STOPS, file=str(target), found="something that is there already",
            accepted="a folder that does not exist yet, or an empty one", hint="name another one",
        )  # fmt: skip
        raise BadInput([found])


def copy_demo(name: str, target: Path) -> None:
    """Copy a demo's input files to a new folder; an existing one with files is left alone."""
    refuse_to_overwrite(target)
    shutil.copytree(demo_folder(name), target, ignore=LEFT_BEHIND, dirs_exist_ok=True)
