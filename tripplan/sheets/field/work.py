"""The work of a place as the phone shows it: what is open together, and each act with a box for every side."""

from collections.abc import Iterable
from dataclasses import dataclass

from tripplan.records.plan import Plan, PlanItem
from tripplan.records.plan_work import Job, Opened, Slot
from tripplan.records.words import JobKind
from tripplan.sheets import words
from tripplan.sheets.materials import full

CLOSED = ("", "none", "closed")
LOOKS_ROUND = "looks of the walk-round, nothing opened"


@dataclass(frozen=True, slots=True, kw_only=True)
class Act:
    """One act at one item, on one or more sides."""

    job: Job
    sides: tuple[str, ...]

    @property
    def title(self) -> str:
        """Act and item: Repack: Front wheel bearings."""
        return f"{words.upper_first(self.job.act)}: {self.job.name}"

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
            ("How", job.act_note),
            ("Use" + each, "; ".join(map(full, job.materials))),
            ("In it", "; ".join(filling.needs for filling in job.fillings if filling.needs)),
            ("Look for", job.early_signs),
            ("Why", job.why),
        )
        return tuple((name, words.sentence(words.upper_first(text))) for name, text in pairs if text)


@dataclass(frozen=True, slots=True, kw_only=True)
class Part:
    """A place of a unit: what is opened there, the cautions of all its acts once, and the acts."""

    title: str
    opened: tuple[str, ...]
    cautions: tuple[str, ...]
    acts: tuple[Act, ...]
    minutes: float


def parts(slot: Slot) -> tuple[Part, ...]:
    """The work of a slot in working order, left and right together; looks of the walk-round come last."""
    jobs: dict[tuple[str, str], list[Job]] = {}
    for job in sorted(slot.jobs, key=_is_round):
        jobs.setdefault(("", LOOKS_ROUND) if _is_round(job) else (job.unit, job.place), []).append(job)
    steps: dict[tuple[str, str], list[Opened]] = {}
    for step in slot.opened:
        steps.setdefault((step.unit, step.place), []).append(step)
    return tuple(_part(key, jobs.get(key, []), steps.get(key, [])) for key in dict.fromkeys((*jobs, *steps)))


def _is_round(job: Job) -> bool:
    return job.kind == JobKind.WALK_ROUND and job.state in CLOSED


def _part(key: tuple[str, str], jobs: list[Job], steps: list[Opened]) -> Part:
    unit, place = key
    return Part(
        title=f"{unit}, {place}" if unit else words.upper_first(place), opened=_steps(steps),
        cautions=tuple(dict.fromkeys(caution for job in jobs for caution in job.cautions)), acts=_acts(jobs),
        minutes=sum(job.minutes for job in jobs) + sum(step.minutes for step in steps),
    )  # fmt: skip


def _steps(steps: Iterable[Opened]) -> tuple[str, ...]:
    """What is opened, the sides of the same step together."""
    found: dict[tuple[str, bool, bool], list[str]] = {}
    for step in steps:
        found.setdefault((step.words, step.kept_open, step.was_open), []).append(step.position or "")
    return tuple(
        text
        + (f", {words.listed(dict.fromkeys(side for side in sides if side))}" if any(sides) else "")
        + (" (open already)" if was_open else "") + (" (stays open overnight)" if kept_open else "")
        for (text, kept_open, was_open), sides in found.items()
    )  # fmt: skip


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
