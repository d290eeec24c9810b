"""The differences between two plans, in jobs and in all else: for a re-plan, a save, a what-if."""

from dataclasses import dataclass
from typing import Any

from tripplan.explain.compare import Change, compare_plans
from tripplan.explain.compare_jobs import compare_jobs


@dataclass(frozen=True, slots=True, kw_only=True)
class Moved:
    """What a new plan changes against another; `against` says which, empty = there was none."""

    against: str
    jobs: tuple[Change, ...] = ()
    others: tuple[Change, ...] = ()


def differences(old: dict[str, Any], new: dict[str, Any], against: str) -> Moved:
    """The same between two plans in the form of `plan.json`."""
    try:
        return Moved(against=against, jobs=compare_jobs(old, new), others=compare_plans(old, new))
    except (KeyError, TypeError, AttributeError, ValueError, IndexError):
        return Moved(against="")  # written by another version: nothing to compare with
