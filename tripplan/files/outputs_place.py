"""Where the outputs of a trip folder were last written: one line in the folder itself."""

from pathlib import Path

from tripplan.files.way_in import content
from tripplan.files.whole_files import write_whole

PLACE_FILE = "outputs_place.txt"
INSIDE = "outputs"
MOST_BYTES = 4096


def remembered_place(folder: Path) -> Path | None:
    """The folder the outputs went to last, if it is still there."""
    raw = content(folder / PLACE_FILE, MOST_BYTES) or b""
    text = raw.decode("utf-8", "replace").strip()
    try:
        return folder / text if text and (folder / text).is_dir() else None
    except (OSError, ValueError):
        return None


def remember_place(folder: Path, out: Path) -> None:
    """Keep the place, relative where it lies inside; a folder that cannot be written forgets it."""
    inside = out.resolve().is_relative_to(folder.resolve())
    place = out.resolve().relative_to(folder.resolve()) if inside else out.resolve()
    try:
        if (folder / PLACE_FILE).exists() or place != Path(INSIDE):
            write_whole(folder / PLACE_FILE, f"{place.as_posix()}\n".encode())
    except OSError:
        return


def place_of(folder: Path) -> Path | None:
    """Where outputs are kept up to date: the place last written to, else `outputs` in the folder if it is there."""
    usual = folder / INSIDE
    return remembered_place(folder) or (usual if (usual / "plan.json").is_file() else None)


def kept_place(folder: Path, out: Path | None) -> Path | None:
    """The place asked for, which is remembered, else the one remembered; a logbook remembers none."""
    if not folder.is_dir():
        return out
    if out is None:
        return place_of(folder)
    remember_place(folder, out)
    return out
