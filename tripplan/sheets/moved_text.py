"""What a new plan changes against another, as a short list and as JSON."""

from collections.abc import Iterable, Sequence
from typing import Any

from tripplan.explain.compare import Change, Moved, differences
from tripplan.records.plan import Plan
from tripplan.records.words import ChangeKind
from tripplan.sheets.plan_json import outline

MOST_LINES = 15
FIRST_TOLD = tuple(ChangeKind)
TOLD_BY_JOBS = (ChangeKind.PLACED, ChangeKind.WORK)


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
    lines = [f"What changed against {change.against}", *_short("Jobs", [_job_text(job) for job in jobs])]
    return "\n".join([*lines, *_short("Items and crossings", [other.as_text() for other in others])])


def _job_text(job: Change) -> str:
    return f"{job.what}: {job.after}" + (f" ({job.why})" if job.why else "")


def moved_rows(change: Moved) -> dict[str, Any]:
    """The differences as JSON shows them."""
    return {"against": change.against, "jobs": _rows(change.jobs), "others": _rows(change.others)}


def _rows(changes: Iterable[Change]) -> list[dict[str, str]]:
    return [{"kind": c.kind, "what": c.what, "before": c.before, "after": c.after, "why": c.why} for c in changes]


def _short(title: str, texts: Sequence[str]) -> list[str]:
    shown = [f"    {text}" for text in texts[:MOST_LINES]]
    more = len(texts) - len(shown)
    return [f"  {title}", *shown, *([f"    and {more} more; --json lists all"] if more else [])] if texts else []
