"""Where a command finds its trip: a folder, or a logbook laid out as one for the while."""

from collections.abc import Callable, Iterator
from contextlib import contextmanager, nullcontext
from datetime import date
from pathlib import Path

from tripplan.commands.terminal import held_back, say
from tripplan.files.held import folder_held, logbook_held
from tripplan.files.passing import passing_folder
from tripplan.records.problems import Problem


@contextmanager
def read_trip(path: Path) -> Iterator[tuple[Path, tuple[Problem, ...]]]:
    """The trip folder of a path, and what is damaged in the logbook it comes from.

    A bad logbook raises BadInput. A folder is given as it is, whether or not it is there.
    """
    if not path.is_file():
        yield path, ()
        return
    from tripplan.files.logbook.book import lay_out

    with passing_folder() as folder:
        yield folder, lay_out(path, folder)


@contextmanager
def held_trip(path: Path) -> Iterator[Path]:
    """The trip folder of a path to be changed, held against all others until the end.

    What is changed in the folder of a logbook is lost unless it is `kept`.
    """
    if not path.is_file():
        with folder_held(path):
            yield path
        return
    from tripplan.files.logbook.book import lay_out, refuse_damage

    with logbook_held(path), passing_folder() as folder:
        refuse_damage(path)
        lay_out(path, folder)
        yield folder


def kept(path: Path, folder: Path) -> None:
    """Take what was changed in that folder into its logbook; when it returns it is on the disk there."""
    if folder != path:
        from tripplan.files.logbook.book import take_in

        take_in(path, folder, date.today())


def in_folder(path: Path, as_json: bool, run: Callable[[Path], int], keep: bool = False, alone: bool = False) -> int:
    """Run a command on the trip that a path names; refusals are told as problems.

    With `keep` what it changes is kept, and only then is anything told as done. With `alone`
    a logbook that is only read is held all the same, so that outputs made from it never
    follow those of a newer state.
    """
    from tripplan.commands.status import MADE, MADE_WITH_WARNINGS, STOPPED, guarded

    def changing() -> int:
        with held_back(), held_trip(path) as folder:
            status = run(folder)
            if status != STOPPED:
                kept(path, folder)
            return status

    def reading() -> int:
        hold = logbook_held(path, is_needed=False) if alone and path.is_file() else nullcontext()
        with hold, read_trip(path) as (folder, damage):
            for found in damage:
                say(f"{found.as_text()}\n", error=True)
            status = run(folder)
            return MADE_WITH_WARNINGS if damage and status == MADE else status

    return guarded(changing if keep else reading, as_json)


def kept_place(folder: Path, out: Path | None) -> Path | None:
    """Where the outputs go; a place that came along with a copy of another folder is forgotten, and that is said."""
    from tripplan.files import plan_file

    if out is None and (told := plan_file.forget_copied_place(folder)):
        say(told, error=True)
    return plan_file.kept_place(folder, out)
