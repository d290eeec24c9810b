"""Planning again over what was issued before, and saying what moved."""

import json
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from tripplan.compare import Change, compare_plans
from tripplan.compare_jobs import compare_jobs
from tripplan.plan import Plan

PLAN_FILE = "plan.json"
MOST_LINES = 25
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
    from tripplan.edges.plan_json import plan_dict

    if old is None:
        return Moved(against="")
    new = plan_dict(plan)
    try:
        return Moved(against=against, jobs=compare_jobs(old, new), others=compare_plans(old, new))
    except (KeyError, TypeError, AttributeError, ValueError, IndexError):
        return Moved(against="")  # written by another version: nothing to compare with


def moved_text(change: Moved) -> str:
    """The differences as lines, shortened; the whole list is in the JSON form."""
    if not change.against:
        return "No earlier plan to compare with."
    if not (change.jobs or change.others):
        return f"Nothing changed against {change.against}."
    lines = [f"What changed against {change.against}"]
    return "\n".join([*lines, *_short("Jobs", change.jobs), *_short("Items, places and crossings", change.others)])


def moved_rows(change: Moved) -> dict[str, Any]:
    """The differences as JSON shows them."""
    return {"against": change.against, "jobs": _rows(change.jobs), "others": _rows(change.others)}


def _rows(changes: Iterable[Change]) -> list[dict[str, str]]:
    return [{"what": c.what, "before": c.before, "after": c.after, "why": c.why} for c in changes]


def _short(title: str, changes: Sequence[Change]) -> list[str]:
    shown = [f"    {change.as_text()}" for change in changes[:MOST_LINES]]
    more = len(changes) - len(shown)
    return [f"  {title}", *shown, *([f"    and {more} more; see --json"] if more else [])] if changes else []
