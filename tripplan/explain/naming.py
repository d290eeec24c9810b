"""A thing's name in a sentence: with its unit where the rig has more than one, and its side where it has one."""

from tripplan.due.standing import Standing
from tripplan.placing.problem import Task
from tripplan.records.facts_in import HistoryRow, Rig
from tripplan.records.plain_words import lower_first
from tripplan.wear.last_done import History


def is_one_unit(rig: Rig) -> bool:
    """True where the rig is one unit, so that naming it would tell nothing."""
    return len(rig.units) < 2


def named(said: str, unit: str, is_alone: bool, side: str | None = None) -> str:
    """Rear axle oil; rear axle oil (wagon); front brakes (wagon, left); front brakes (left) where the rig is one unit."""
    inside = ", ".join(text for text in ("" if is_alone else unit, side) if text)
    return f"{said} ({inside})" if inside else said


def task_name(task: Task, is_alone: bool) -> str:
    """Item, unit and side of a task in words."""
    return named(task.item.said, task.unit.id, is_alone, task.position)


def seen_words(bad: HistoryRow, position: str | None) -> str:
    """What was found, with the side it was found on where that is not `position`: worn; worn on the left."""
    return f"{bad.finding}" if History.at(bad, position) else f"{bad.finding} on the {bad.position}"


def found_words(standing: Standing, position: str | None) -> str:
    """The same of what is to be put right, with the look that told it where that is another: water (oil level)."""
    bad, seen_at = standing.bad, standing.seen_at
    assert bad is not None
    is_elsewhere = seen_at is not None and seen_at.id != standing.item.id
    told = f" ({lower_first(seen_at.said)})" if seen_at is not None and is_elsewhere else ""
    return seen_words(bad, position) + told
