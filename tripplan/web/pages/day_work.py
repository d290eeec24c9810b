"""One day's work as it is used: the sheet's blocks with their ticks, minutes left, and rows for the history."""

from collections.abc import Iterable, Iterator, Mapping
from datetime import date

from msgspec import Struct
from msgspec.structs import replace

from tripplan.records.facts_in import HistoryRow
from tripplan.records.plan import Plan
from tripplan.records.plan_work import Job, Slot
from tripplan.records.problem_codes import figure
from tripplan.sheets.grease_notes import Notes, grease_notes
from tripplan.sheets.worksheet import work_order
from tripplan.sheets.worksheet.work_blocks import Block, Section, SlotSheet, by_side, details, slot_sheet
from tripplan.web.forms.fields import Form, last
from tripplan.web.saves.memory import Tick

MARK, KEY_MARK = "|", ";;"


class Line(Struct, frozen=True, kw_only=True):
    """One job at one side, with its key, its tick, its mark on the page, and what it is called."""

    key: str
    job: Job
    tick: Tick
    mark: str
    title: str


class WorkBlock(Struct, frozen=True, kw_only=True):
    """The same work on one or more sides, with what is told about it."""

    block: Block
    told: tuple[tuple[str, str], ...]
    lines: tuple[Line, ...]
    grease: str = ""

    @property
    def entered(self) -> tuple[str, ...]:
        """What was found and noted, side by side, as it is told while the job is folded."""
        return tuple(
            text for line in self.lines if (text := ", ".join(filter(None, (line.tick.finding, line.tick.note))))
        )


class WorkSection(Struct, frozen=True, kw_only=True):
    """One place of the rig, and its work."""

    section: Section
    blocks: tuple[WorkBlock, ...]

    @property
    def open_keys(self) -> tuple[str, ...]:
        """The jobs not ticked yet."""
        return tuple(line.key for block in self.blocks for line in block.lines if not line.tick.done)

    @property
    def count(self) -> int:
        """How many jobs there are."""
        return sum(len(block.lines) for block in self.blocks)


class DayPage(Struct, frozen=True, kw_only=True):
    """A slot with its ticks; `gone` are ticks of jobs that the plan no longer has here."""

    slot: Slot
    sheet: SlotSheet
    sections: tuple[WorkSection, ...]
    gone: tuple[tuple[str, Tick], ...]

    @property
    def lines(self) -> tuple[Line, ...]:
        """Every job of the day."""
        return tuple(line for section in self.sections for block in section.blocks for line in block.lines)

    @property
    def open_keys(self) -> tuple[str, ...]:
        """The jobs not ticked yet."""
        return tuple(key for section in self.sections for key in section.open_keys)

    @property
    def done_here(self) -> int:
        """How many of the day's jobs are ticked."""
        return sum(line.tick.done for line in self.lines)

    @property
    def done(self) -> int:
        """How many jobs are ticked, with those that the plan no longer has here."""
        return self.done_here + sum(tick.done for _, tick in self.gone)

    @property
    def next_job(self) -> Line | None:
        """The first job not ticked; None when all are."""
        return next((line for line in self.lines if not line.tick.done), None)

    def mark_of(self, key: str) -> str:
        """The mark on the page of the job with that key; empty when it is not of this day."""
        return next((line.mark for line in self.lines if line.key == key), "")

    @property
    def open_section(self) -> int:
        """The place, counted from 1, that is shown unfolded: the first with work left."""
        return next((place for place, part in enumerate(self.sections, 1) if part.open_keys), 1)

    @property
    def set_out_minutes(self) -> float:
        """What setting out and clearing up takes, which stands at no job; nothing when all is done."""
        return self.slot.set_out_minutes if self.open_keys else 0.0

    @property
    def minutes_left(self) -> float:
        """Planned minutes of what is not ticked; a place counts as open, the tools as out, until all of it is done."""
        open_jobs = sum(line.job.minutes for line in self.lines if not line.tick.done)
        return self.set_out_minutes + open_jobs + sum(self._opening(part) for part in self.sections)

    def _opening(self, part: WorkSection) -> float:
        left = any(not line.tick.done for block in part.blocks for line in block.lines)
        opened = sum(step.minutes * len(o.sides) for o in part.section.openings for step in o.steps)
        return opened if left else 0.0


def job_key(job: Job) -> str:
    """A job's name in forms and in `page.json`: unit, item, position, act."""
    return MARK.join((job.unit, job.item, job.position or "", job.act))


def day_of(plan: Plan, slot: Slot, ticks: Mapping[str, Tick]) -> DayPage:
    """The day as the page shows it."""
    sheet, notes = slot_sheet(slot, plan.walkround_minutes, work_order.has_units(plan)), grease_notes(plan)
    sections = tuple(
        WorkSection(section=part, blocks=tuple(
            _block(plan, sheet, part, block, ticks, notes, f"job{place}-{spot}") for spot, block in enumerate(part.blocks, 1)
        ))
        for place, part in enumerate(sheet.sections, 1)
    )  # fmt: skip
    known = {line.key for part in sections for block in part.blocks for line in block.lines}
    gone = tuple((key, tick) for key, tick in ticks.items() if key not in known)
    return DayPage(slot=slot, sheet=sheet, sections=sections, gone=gone)


def _block(
    plan: Plan, sheet: SlotSheet, part: Section, block: Block, ticks: Mapping[str, Tick], notes: Notes, mark: str
) -> WorkBlock:
    told = details(plan, sheet.slot, part, block, sheet.common_why, notes)
    told = tuple((name, text) for name, text in told if name != "Grease")
    sides = [f", {job.position}" if len(block.jobs) > 1 else "" for job in block.jobs]
    lines = tuple(
        Line(key=job_key(job), job=job, tick=ticks.get(job_key(job), Tick()), mark=f"{mark}-{number}", title=f"{block.title}{side}")
        for number, (job, side) in enumerate(zip(block.jobs, sides, strict=True), 1)
    )  # fmt: skip
    return WorkBlock(block=block, told=told, lines=lines, grease=by_side(block, lambda job: job.lubrication))


def with_form(ticks: Mapping[str, Tick], form: Form) -> tuple[dict[str, Tick], tuple[tuple[str, str, str], ...]]:
    """The ticks that a day's form changes, and where another tab was there first.

    Only what was changed in this form counts. A cell that another tab changed too is left
    as that one has it, and both are told: job, theirs, ours.
    """
    changed: dict[str, Tick] = {}
    clashes: list[tuple[str, str, str]] = []
    for name in ("finding", "note"):
        for key, new in _own(form, f"{name}."):
            tick = changed.get(key, ticks.get(key, Tick()))
            was, now = last(form, f"was_{name}.{key}"), getattr(tick, name)
            if new in (was, now):
                continue
            if now != was:
                clashes.append((key, now or "nothing", new or "nothing"))
                continue
            changed[key] = replace(tick, finding=new) if name == "finding" else replace(tick, note=new)
    toggle, _, state = last(form, "toggle").rpartition("=")
    if toggle:
        changed[toggle] = replace(changed.get(toggle, ticks.get(toggle, Tick())), done=state == "done")
    for key in last(form, "tick_all").split(KEY_MARK):
        if key:
            changed[key] = replace(changed.get(key, ticks.get(key, Tick())), done=True)
    return changed, tuple(clashes)


def _own(form: Form, start: str) -> Iterator[tuple[str, str]]:
    return ((name[len(start) :], values[-1].strip()) for name, values in form.items() if name.startswith(start))


def all_done(day: DayPage, ticks: Mapping[str, Tick]) -> dict[str, Tick]:
    """The ticks with every job of the day ticked; what was found and noted stays."""
    return {**ticks, **{key: replace(ticks.get(key, Tick()), done=True) for key in day.open_keys}}


def jobs_for_log(ticks: Mapping[str, Tick]) -> list[str]:
    """What is ticked, as the words that `tripplan log --job` takes: unit item position act finding."""
    rows = []
    for key, tick in ticks.items():
        if tick.done:
            unit, item, position, act = (*key.split(MARK), "", "", "")[:4]
            rows.append(" ".join((unit, item, position or "-", act, tick.finding or "-")).strip())
    return rows


def notes_for_log(ticks: Mapping[str, Tick]) -> str:
    """The notes of what is ticked, in one cell, each with its job."""
    told = (f"{key.split(MARK)[1].replace('_', ' ')}: {tick.note}" for key, tick in ticks.items() if tick.note)
    return "; ".join(told)


def odometer_read(history: Iterable[HistoryRow], unit: str, on: date) -> str:
    """What the unit's odometer showed that day, empty where the history has it not: it is asked for once a day."""
    read = [row.odometer_km for row in history if row.unit == unit and row.date == on and row.odometer_km is not None]
    return figure(max(read)) if read else ""


def slot_named(plan: Plan, name: str) -> Slot | None:
    """The slot of that id."""
    return next((slot for slot in plan.slots if slot.id == name), None)


def has_work(plan: Plan) -> Iterable[Slot]:
    """Slots with something to do, in the order of time."""
    return [slot for slot in plan.slots if work_order.has_work(plan, slot)]
