"""One rig of a fleet, from the bytes of its folder to the bytes of its outputs, in whatever process it runs.

The same read, `make_plan` and outputs as `tripplan plan`. Nothing of another rig is touched, and
whatever goes wrong with this one is told in its own row.
"""

from collections.abc import Mapping, Sequence
from contextlib import ExitStack
from datetime import UTC, date, datetime, time
from pathlib import Path
from typing import TYPE_CHECKING, Any

from msgspec import Struct, field
from msgspec.structs import replace

from tripplan.files.fleet_folders import FolderBytes, lay_out_bytes
from tripplan.records.problems import STOPS, BadInput, Problem, stops

if TYPE_CHECKING:
    from tripplan.files.folder import Inputs
    from tripplan.records.catalogue import Catalogue
    from tripplan.records.plan import Plan

OUR_FAULT = "Y11"


class Asked(Struct, frozen=True):
    """What is asked for every rig alike, and the versions it is asked of."""

    today: date
    is_plain: bool = False
    is_summary_only: bool = False
    versions: Mapping[str, str] = field(default_factory=dict)

    @property
    def hangs_on(self) -> dict[str, Any]:
        """What of it an answer hangs on."""
        return {
            "today": self.today.isoformat(), "is_plain": self.is_plain, "is_summary_only": self.is_summary_only,
        }  # fmt: skip


class Job(Struct, frozen=True):
    """One rig to be planned: its number and name in the fleet, its folder, and the calendar issued before."""

    number: int
    name: str
    shown: str
    given: FolderBytes
    mark: str
    earlier: tuple[tuple[str, bytes], ...] = ()


class Done(Struct, frozen=True):
    """One rig planned: its row, and its output files by name."""

    number: int
    row: dict[str, Any]
    outputs: dict[str, bytes]


def work(jobs: Sequence[Job], asked: Asked) -> list[Done]:
    """A chunk of rigs, one after the other."""
    return [one(job, asked) for job in jobs]


def one(job: Job, asked: Asked) -> Done:
    """One rig; a refusal of its input or a fault of ours ends in its row, and nowhere else."""
    from tripplan.commands.own_process import all_loaded
    from tripplan.sheets.fleet_row import stopped_row

    try:
        done = _planned(job, asked)
        all_loaded()
        return done
    except BadInput as why:
        problems = why.problems
    except Exception as why:
        problems = (our_fault(job.shown, f"{type(why).__name__}: {why}"),)
    return Done(job.number, stopped_row(job.name, job.shown, problems), {})


def our_fault(folder: str, told: str) -> Problem:
    """A rig that failed for a reason that is not in its folder."""
    return Problem(
        code=OUR_FAULT, weight=STOPS, file=folder, found=told, accepted="a plan, or the folder's own problems",
        hint="this is our fault, not yours; the other rigs are not touched",
    )  # fmt: skip


def _planned(job: Job, asked: Asked) -> Done:
    from tripplan.files.passing import passing_folder
    from tripplan.files.plan_folder import plan_of, read
    from tripplan.placing.greedy import place_greedily
    from tripplan.placing.optimise import place_optimally
    from tripplan.sheets.fleet_row import made_row, stopped_row

    with ExitStack() as stack:
        place = stack.enter_context(passing_folder())
        folder, damage = _laid_out(job.given, place, stack)
        inputs, catalogue, found = read(folder, asked.today)
        problems = (*damage, *found)
        if inputs is None or stops(found):
            return Done(job.number, stopped_row(job.name, job.shown, problems), {})
        by = place_greedily if asked.is_plain else place_optimally
        plan = plan_of(inputs, catalogue, asked.today, problems, by)
        outputs = _outputs(job, asked, plan, inputs, catalogue, place)
        row = made_row(job.name, job.shown, plan, outputs["calendar.ics"])
        return Done(job.number, row, outputs)


def _laid_out(given: FolderBytes, place: Path, stack: ExitStack) -> tuple[Path, tuple[Problem, ...]]:
    (place / "in").mkdir()
    path = lay_out_bytes(given, place / "in")
    if not given.is_logbook:
        return path, ()
    from tripplan.commands.sources import read_trip

    return stack.enter_context(read_trip(path))


def _outputs(
    job: Job, asked: Asked, plan: "Plan", inputs: "Inputs", catalogue: "Catalogue", place: Path
) -> dict[str, bytes]:
    """Every output as `tripplan plan` writes it, the earlier calendar carried on; or the few a summary needs."""
    from tripplan.commands.beside_plan import beside_plan
    from tripplan.sheets.outputs import OUTPUT_FILES, output_contents

    before = lay_out_bytes(FolderBytes("before", False, job.earlier), place)
    if asked.is_summary_only:
        return _few(plan, before)
    contents = output_contents(plan, before, **beside_plan(plan, inputs, catalogue))
    return dict(zip(OUTPUT_FILES, contents, strict=True))


def _few(plan: "Plan", before: Path) -> dict[str, bytes]:
    from tripplan.sheets import lists
    from tripplan.sheets.calendar import file as calendar_file
    from tripplan.sheets.calendar.entries import EVENT
    from tripplan.sheets.calendar.register import register_text
    from tripplan.sheets.outputs import REGISTER_FILE, earlier_register, hash_of

    register = calendar_file.issue(plan, datetime.combine(plan.today, time(), UTC), earlier_register(before))
    name, calendar = calendar_file.FILES[EVENT], calendar_file.render(plan, EVENT, register)
    return {
        "tasks.csv": lists.tasks_csv(plan).encode("utf-8", "replace"),
        "shopping.csv": lists.shopping_csv(plan).encode("utf-8", "replace"),
        name: calendar,
        REGISTER_FILE: register_text(replace(register, files={name: hash_of(calendar)})).encode("utf-8", "replace"),
    }
