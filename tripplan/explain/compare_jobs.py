"""Which jobs a new plan adds at each place, and which it drops, with the reason the job gives.

Plans are taken in the form of `plan.json`, as in `compare.py`.
"""

from collections.abc import Iterator, Mapping
from typing import Any

from tripplan.explain.compare import Change, PlanJson, plan_day
from tripplan.records.words import ChangeKind, JobKind

JobKey = tuple[str, str, str, str, str]


def compare_jobs(old: PlanJson, new: PlanJson) -> tuple[Change, ...]:
    """Jobs that are new in a slot, then jobs dropped from it, slot by slot in time order.

    Both sides of an item with the same fate are one line. A slot is known by its id; the
    days at home before departure count as one place, since a job moved between them is the same work.
    """
    before, after = _jobs(old), _jobs(new)
    added = _merged(after[key] for key in after if key not in before)
    dropped = _merged(before[key] for key in before if key not in after)
    return (
        *(Change(kind=_kind(job), what=what, before="not there", after="added", why=job["why"]) for what, job in added),
        *(Change(kind=ChangeKind.DROPPED, what=what, before="planned", after="no longer") for what, _ in dropped),
    )


def _kind(job: Mapping[str, Any]) -> ChangeKind:
    return ChangeKind.WATER_JOB if job["kind"] == JobKind.AFTER_WATER else ChangeKind.JOB


def _jobs(plan: PlanJson) -> dict[JobKey, tuple[str, Mapping[str, Any]]]:
    return {
        (_where(slot), job["unit"], job["item"], job["position"] or "", job["act"]): (_place(slot), job)
        for slot in plan["slots"]
        for job in slot["jobs"]
    }


def _where(slot: Mapping[str, Any]) -> str:
    return "before departure" if slot["kind"] == "workshop" else str(slot["id"])


def _place(slot: Mapping[str, Any]) -> str:
    words = {"workshop": "before departure", "after": "after return"}
    return words.get(slot["kind"], f"{slot['place']} {plan_day(slot['date'])}")


def _merged(jobs: Any) -> Iterator[tuple[str, Mapping[str, Any]]]:
    sides: dict[tuple[str, str, str, str], list[Mapping[str, Any]]] = {}
    for place, job in jobs:
        sides.setdefault((place, job["act"], job["name"], job["unit"]), []).append(job)
    for (place, act, name, unit), found in sides.items():
        named = " and ".join(job["position"] for job in found if job["position"])
        side = f", {named}" if named else ""
        yield f"{place}: {act} {name} ({unit}{side})", found[0]
