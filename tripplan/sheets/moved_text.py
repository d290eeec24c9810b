"""What a new plan changes against another, as a short list and as JSON."""

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from typing import Any, TypeAlias

from msgspec import Struct

from tripplan.explain.compare import Change, Moved, differences
from tripplan.records.plan import Plan
from tripplan.records.words import ChangeKind
from tripplan.sheets.plan_json import outline
from tripplan.sheets.words import count

Row: TypeAlias = Mapping[str, str]
MOST_LINES = 15
FIRST_TOLD: tuple[str, ...] = tuple(ChangeKind)
TOLD_BY_JOBS = (ChangeKind.PLACED, ChangeKind.WORK, ChangeKind.WALK_ROUND)
COUNTED = (ChangeKind.WALK_ROUND, ChangeKind.DONE)
"""Jobs of which only the number is said: each is done every morning, or was just recorded."""


class Brief(Struct, frozen=True):
    """The rows told one by one, jobs and others, and what is said of the number of the rest of each."""

    jobs: list[Row]
    others: list[Row]
    of_jobs: list[str]
    of_items: list[str]


def moved(old: dict[str, Any] | None, plan: Plan, against: str) -> Moved:
    """The differences from the old plan, in jobs and in all else."""
    return Moved(against="") if old is None else differences(old, outline(plan), against)


def moved_text(change: Moved) -> str:
    """The differences as a short list: jobs that water calls for first, then what runs out elsewhere."""
    if not change.against:
        return "No earlier plan to compare with."
    told = brief(moved_rows(change))
    jobs = [f"{job['what']}: {job['after']}{_why(job)}" for job in told.jobs]
    others = [f"{other['what']}: {other['before']} -> {other['after']}{_why(other)}" for other in told.others]
    lines = [*_short("Jobs", jobs, told.of_jobs), *_short("Items and crossings", others, told.of_items)]
    if not lines:
        return f"Nothing changed against {change.against}."
    return "\n".join([f"What changed against {change.against}", *lines])


def brief(rows: Mapping[str, Any]) -> Brief:
    """What is told one by one of the differences as JSON has them, and what by its number."""
    jobs = sorted(rows.get("jobs", ()), key=lambda job: FIRST_TOLD.index(job["kind"]))
    others = [other for other in rows.get("others", ()) if other["kind"] not in TOLD_BY_JOBS]
    recorded = [other for other in others if other["kind"] == ChangeKind.ITEM and other["why"]]
    return Brief(
        jobs=[job for job in jobs if job["kind"] not in COUNTED],
        others=[other for other in others if other not in recorded],
        of_jobs=_counted(jobs),
        of_items=[f"recorded since then: {count(len(recorded), 'item', 'items')}"] if recorded else [],
    )


def _counted(jobs: Sequence[Row]) -> list[str]:
    """How many jobs were done since, or checks of the walk-round came and went."""
    done = sum(job["kind"] == ChangeKind.DONE for job in jobs)
    checks = Counter(job["after"] for job in jobs if job["kind"] == ChangeKind.WALK_ROUND)
    told = [f"walk-round: {count(many, 'check', 'checks')} {how}" for how, many in checks.items()]
    return [*([f"done since then: {count(done, 'job', 'jobs')}"] if done else []), *told]


def _why(row: Row) -> str:
    return f" ({row['why']})" if row["why"] else ""


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
