"""What a new plan changes against another, as a short list and as JSON."""

from collections import Counter
from collections.abc import Iterable, Sequence
from typing import Any

from tripplan.explain.compare import Change, Moved, differences
from tripplan.records.plan import Plan
from tripplan.records.words import ChangeKind
from tripplan.sheets.plan_json import outline
from tripplan.sheets.words import count

MOST_LINES = 15
FIRST_TOLD = tuple(ChangeKind)
TOLD_BY_JOBS = (ChangeKind.PLACED, ChangeKind.WORK, ChangeKind.WALK_ROUND)
COUNTED = (ChangeKind.WALK_ROUND, ChangeKind.DONE)
"""Jobs of which only the number is said: each is done every morning, or was just recorded."""


def moved(old: dict[str, Any] | None, plan: Plan, against: str) -> Moved:
    """The differences from the old plan, in jobs and in all else."""
    return Moved(against="") if old is None else differences(old, outline(plan), against)


def moved_text(change: Moved) -> str:
    """The differences as a short list: jobs that water calls for first, then what runs out elsewhere."""
    if not change.against:
        return "No earlier plan to compare with."
    if not (change.jobs or change.others):
        return f"Nothing changed against {change.against}."
    jobs = sorted(change.jobs, key=lambda job: FIRST_TOLD.index(job.kind))
    others = [other for other in change.others if other.kind not in TOLD_BY_JOBS]
    recorded = [other for other in others if other.kind == ChangeKind.ITEM and other.why]
    anew = [f"recorded since then: {count(len(recorded), 'item', 'items')}"] if recorded else []
    told = [_job_text(job) for job in jobs if job.kind not in COUNTED]
    lines = [f"What changed against {change.against}", *_short("Jobs", told, _counted(jobs))]
    rest = [other.as_text() for other in others if other not in recorded]
    return "\n".join([*lines, *_short("Items and crossings", rest, anew)])


def _counted(jobs: Sequence[Change]) -> list[str]:
    """How many jobs were done since, or checks of the walk-round came and went."""
    done = sum(job.kind == ChangeKind.DONE for job in jobs)
    checks = Counter(job.after for job in jobs if job.kind == ChangeKind.WALK_ROUND)
    told = [f"walk-round: {count(many, 'check', 'checks')} {how}" for how, many in checks.items()]
    return [*([f"done since then: {count(done, 'job', 'jobs')}"] if done else []), *told]


def _job_text(job: Change) -> str:
    return f"{job.what}: {job.after}" + (f" ({job.why})" if job.why else "")


def moved_rows(change: Moved) -> dict[str, Any]:
    """The differences as JSON shows them."""
    return {"against": change.against, "jobs": _rows(change.jobs), "others": _rows(change.others)}


def _rows(changes: Iterable[Change]) -> list[dict[str, str]]:
    return [{"kind": c.kind, "what": c.what, "before": c.before, "after": c.after, "why": c.why} for c in changes]


def _short(title: str, texts: Sequence[str], counted: Sequence[str] = ()) -> list[str]:
    more = len(texts) - MOST_LINES
    last = [f"and {more} more; --json lists all"] if more > 0 else []
    shown = [*texts[:MOST_LINES], *last, *counted]
    return [f"  {title}", *(f"    {text}" for text in shown)] if shown else []
