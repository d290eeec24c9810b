"""Planning again over what was issued before, and saying what moved."""

import json
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from tripplan.compare import Change, compare_plans
from tripplan.compare_jobs import ADDED, compare_jobs
from tripplan.plan import Plan

PLAN_FILE = "plan.json"
MOST_LINES = 15
BY_WATER, TOLD_BY_JOBS, WORK_AT = "crossing at", ", placed", "work at "
NEEDED = ("depart", "return", "legs", "crossings", "items", "slots", "totals", "warnings")


@dataclass(frozen=True, slots=True, kw_only=True)
class Moved:
    """What a new plan changes against another; `against` says which, empty = there was none."""

    against: str
    jobs: tuple[Change, ...] = ()
    others: tuple[Change, ...] = ()


def issued_plan(out: Path) -> dict[str, Any] | None:
    """The plan.json left in a folder by an earlier run; None when there is none that can be read."""
    try:
        document = json.loads((out / PLAN_FILE).read_text(encoding="utf-8"))
    except (OSError, ValueError, RecursionError):
        return None
    is_plan = isinstance(document, dict) and all(name in document for name in NEEDED)
    return document if is_plan else None


def moved(old: dict[str, Any] | None, plan: Plan, against: str) -> Moved:
    """The differences from the old plan, in jobs and in all else."""
    from tripplan.edges.plan_json import outline

    return Moved(against="") if old is None else differences(old, outline(plan), against)


def differences(old: dict[str, Any], new: dict[str, Any], against: str) -> Moved:
    """The same between two plans in the form of `plan.json`."""
    try:
        return Moved(against=against, jobs=compare_jobs(old, new), others=compare_plans(old, new))
    except (KeyError, TypeError, AttributeError, ValueError, IndexError):
        return Moved(against="")  # written by another version: nothing to compare with


def moved_text(change: Moved) -> str:
    """The differences as a short list: jobs that water calls for first, then what runs out elsewhere."""
    if not change.against:
        return "No earlier plan to compare with."
    if not (change.jobs or change.others):
        return f"Nothing changed against {change.against}."
    jobs = sorted(change.jobs, key=lambda job: (BY_WATER not in job.why, job.after != ADDED))
    others = [other for other in change.others if not other.what.endswith(TOLD_BY_JOBS)]
    others = [other for other in others if not other.what.startswith(WORK_AT)]
    lines = [f"What changed against {change.against}", *_short("Jobs", [_job_text(job) for job in jobs])]
    return "\n".join([*lines, *_short("Items and crossings", [other.as_text() for other in others])])


def _job_text(job: Change) -> str:
    return f"{job.what}: {job.after}" + (f" ({job.why})" if job.why else "")


def moved_rows(change: Moved) -> dict[str, Any]:
    """The differences as JSON shows them."""
    return {"against": change.against, "jobs": _rows(change.jobs), "others": _rows(change.others)}


def _rows(changes: Iterable[Change]) -> list[dict[str, str]]:
    return [{"what": c.what, "before": c.before, "after": c.after, "why": c.why} for c in changes]


def _short(title: str, texts: Sequence[str]) -> list[str]:
    shown = [f"    {text}" for text in texts[:MOST_LINES]]
    more = len(texts) - len(shown)
    return [f"  {title}", *shown, *([f"    and {more} more; --json lists all"] if more else [])] if texts else []
