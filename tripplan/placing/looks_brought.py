"""The looks that work brings some km later: its item's own, and those of whatever it opens."""

from tripplan.placing.problem import LookAgain, Task
from tripplan.placing.trade_rules import opened_looks
from tripplan.records.catalogue import Catalogue, Item
from tripplan.records.item_cells import FollowUp


def sides_of(item: Item, position: str | None) -> tuple[str | None, ...]:
    """Where a look that follows is done: on the side of the work, or on every side where the work has none."""
    return (position,) if position is not None and item.positions else item.positions or (None,)


def follow_ups_of(task: Task) -> tuple[FollowUp, ...]:
    """Every look that a task brings: its item's own where it renews it, and those of whatever it opens."""
    own = task.item.follow_ups if task.window is None or task.resets else ()
    return tuple(dict.fromkeys((*own, *opened_looks(task))))


def looks_after(task: Task, catalogue: Catalogue) -> tuple[LookAgain, ...]:
    """The looks that follow a task some km later."""
    found = []
    for follow in follow_ups_of(task):
        item = catalogue.find(follow.item)
        if not follow.at_once and item is not None and item.fits(task.unit):
            sides = sides_of(item, task.position)
            found += [
                LookAgain(
                    item.id, task.unit.id, side, follow.low_km, follow.high_km, catalogue.look_minutes(item),
                    catalogue.halt_minutes(item),
                )
                for side in sides
            ]  # fmt: skip
    return tuple(found)
