"""The work of a place as the phone shows it: what is open together, and each act with a box for every side."""

from collections.abc import Iterable

from msgspec import Struct
from msgspec.structs import replace

from tripplan.records.grouped import grouped
from tripplan.records.plan import Plan, PlanItem
from tripplan.records.plan_work import Job, Opened, Slot
from tripplan.records.words import JobKind
from tripplan.sheets import words
from tripplan.sheets.materials import full
from tripplan.sheets.worksheet import work_order

LOOKS_ROUND = "Looks of the walk-round, nothing opened"


class Act(Struct, frozen=True, kw_only=True):
    """One act at one item, on one or more sides."""

    job: Job
    sides: tuple[str, ...]

    @property
    def title(self) -> str:
        """Act and item: Repack front wheel bearings."""
        return words.doing(self.job.said_act, self.job.name)

    @property
    def time(self) -> str:
        """The minutes of one side; empty where they are part of a walk-round."""
        if not self.job.minutes:
            return ""
        return words.duration(self.job.minutes) + (" each" if len(self.sides) > 1 else "")

    @property
    def told(self) -> tuple[tuple[str, str], ...]:
        """How it is done, with what, and what to look for, as name and sentence."""
        job = self.job
        each = ", each side" if len(self.sides) > 1 and job.materials else ""
        pairs = (
            ("Use" + each, "; ".join(map(full, job.materials))),
            ("In it", "; ".join(filling.needs for filling in job.fillings if filling.needs)),
            ("How", job.act_note),
            ("Look for", job.early_signs),
            ("Why", job.why),
        )
        return tuple((name, words.sentence(words.upper_first(text))) for name, text in pairs if text)


class Part(Struct, frozen=True, kw_only=True):
    """A place of a unit: what is opened there, the cautions of all its acts once, and the acts."""

    title: str
    opened: tuple[str, ...]
    cautions: tuple[str, ...]
    acts: tuple[Act, ...]
    minutes: float


def parts(slot: Slot, is_unit_told: bool = True) -> tuple[Part, ...]:
    """The work of a slot in working order, left and right together; looks of the walk-round come last."""
    places = grouped(((group.unit, group.place, group.is_beside), group) for group in work_order.groups(slot))
    return tuple(
        _part(
            LOOKS_ROUND if held[0].is_walk_round else replace(held[0], position=None).title(is_unit_told),
            [job for group in held for job in group.jobs], [step for group in held for step in group.opened],
        )
        for held in places.values()
    )  # fmt: skip


def _part(title: str, jobs: list[Job], steps: list[Opened]) -> Part:
    return Part(
        title=title, opened=_steps(steps), acts=_acts(jobs),
        cautions=tuple(dict.fromkeys(caution for job in jobs for caution in job.cautions)),
        minutes=sum(job.minutes for job in jobs) + sum(step.minutes for step in steps),
    )  # fmt: skip


def _steps(steps: Iterable[Opened]) -> tuple[str, ...]:
    """What is opened, the sides of the same step together."""
    found = grouped(((step.words, work_order.open_words(step)), step.position) for step in steps)
    return tuple(words.item(text, words.sides(held)) + more for (text, more), held in found.items())


def _acts(jobs: Iterable[Job]) -> tuple[Act, ...]:
    found: dict[tuple[object, ...], list[Job]] = {}
    for job in jobs:
        key = (job.item, job.unit, job.act, job.kind, job.minutes, job.materials, job.act_note)
        same = found.setdefault(key, [])
        if any(other.position == job.position for other in same):
            found[(*key, len(found))] = [job]
        else:
            same.append(job)
    return tuple(Act(job=same[0], sides=tuple(job.position or "" for job in same)) for same in found.values())


def walk_round(plan: Plan) -> tuple[PlanItem, ...]:
    """The items looked at every morning, each once."""
    found: dict[tuple[str, str], PlanItem] = {}
    for item in plan.items:
        if item.rhythm == JobKind.WALK_ROUND:
            found.setdefault((item.unit, item.item), item)
    return tuple(found.values())
