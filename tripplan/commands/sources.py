"""Where a command finds its trip: a folder, or a logbook laid out as one for the while."""

import tempfile
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import date
from pathlib import Path


@contextmanager
def as_folder(path: Path, keep: bool = False) -> Iterator[Path]:
    """The trip folder of a path; what a command writes into a logbook's folder is kept if asked.

    A bad logbook raises BadInput. A folder is given as it is, whether or not it is there.
    """
    if not path.is_file():
        yield path
        return
    from tripplan.files.logbook.book import take_in, write_out

    with tempfile.TemporaryDirectory() as place:
        folder = Path(place)
        write_out(path, folder)
        yield folder
        if keep:
            take_in(path, folder, date.today())


def in_folder(path: Path, as_json: bool, run: Callable[[Path], int], keep: bool = False) -> int:
    """Run a command on the trip that a path names; refusals are told as problems."""
    from tripplan.commands.status import guarded

    def inside() -> int:
        with as_folder(path, keep) as folder:
            return run(folder)

    return guarded(inside, as_json)
