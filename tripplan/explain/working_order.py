"""The order of the work at one place, as a mechanic goes about it."""

from tripplan.placing.problem import Task
from tripplan.placing.tasks import WALK_ROUND
from tripplan.placing.trade_rules import PLAY
from tripplan.records.catalogue import PLACES, Rank
from tripplan.records.words import Act


def working_order(task: Task) -> tuple[bool, bool, str, int, str, tuple[bool, int, bool], Rank, str]:
    """Walk-round checks last; else by unit, place and side, in the order of the work there, then as a person lists them."""
    item = task.item
    return (
        item.rhythm == WALK_ROUND, task.unit.kind != "vehicle", task.unit.id, PLACES.index(item.place),
        task.position or "", _order_there(task), item.rank, task.act,
    )  # fmt: skip


def _order_there(task: Task) -> tuple[bool, int, bool]:
    """Washed before it is opened; at a wheel from the inside out, as it goes together again, so that oil runs over no new lining.

    Elsewhere the outermost opening first. Brakes are bled when all else of the circuit is shut (common practice, no source).
    """
    item, depth = task.item, len(task.opens)
    is_bled = item.family == "fluid" and item.system == "brakes"
    return task.act != Act.CLEAN, -depth if item.place in PLAY else depth, is_bled
