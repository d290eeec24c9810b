"""Rules of the trade that one job lays on others. Common practice, no source.

Hub off: look, clean, repack, new seal, play again after 50 to 100 km. Wheel off, whoever asked for it: nuts
again after as many, and play too where it was off because of water, which had reached the hub. What belongs to an
open hub is one job on both sides of the axle. At a wheel work goes from the inside out, on days on end too: brakes
that are put on or set before the hub comes off have that to be done again.
"""

from collections.abc import Iterable

from tripplan.placing.problem import PlaceKey, Task
from tripplan.records.catalogue import Item
from tripplan.records.facts_in import Unit
from tripplan.records.item_cells import FollowUp

HUB_OFF, WHEEL_OFF, WHEEL_RAISED = "hub off", "wheel off", "wheel raised"
WITH_THE_HUB, SET = ("repack", "renew"), ("renew", "adjust")
NUTS = {"vehicle": "wheel_nuts", "trailer": "trailer_wheel_nuts"}
PLAY = {
    "front wheel end": "front_bearing_play", "rear wheel end": "rear_bearing_play",
    "trailer wheel end": "trailer_bearing_play",
}  # fmt: skip
AGAIN_LOW_KM, AGAIN_HIGH_KM = 50.0, 100.0


def opened_looks(task: Task) -> tuple[FollowUp, ...]:
    """The looks after whatever was open: the nuts of a wheel that was off; play where the hub was off or the water had been."""
    states = {state for _, state in task.opens}
    found = [NUTS[task.unit.kind]] if WHEEL_OFF in states else []
    if task.item.place in PLAY and (HUB_OFF in states or (WHEEL_OFF in states and task.window is not None)):
        found.append(PLAY[task.item.place])
    return tuple(FollowUp(name, AGAIN_LOW_KM, AGAIN_HIGH_KM) for name in found)


def ends_before_the_hub(task: Task) -> tuple[PlaceKey, ...]:
    """The wheel ends at which what this task did to the brakes is spoilt when their hub comes off after it."""
    is_set = task.item.family == "brake" and task.act in SET and task.window is None
    return tuple(dict.fromkeys(key for key, _ in task.opens if is_set and key[1] in PLAY))


def has_hub_off(task: Task) -> bool:
    """True for what takes a hub off."""
    return any(state == HUB_OFF for _, state in task.opens)


def is_with_the_hub(task: Task) -> bool:
    """True for what is done whenever the hub is off: bearings packed with new seals."""
    belongs = task.state == HUB_OFF and task.act in WITH_THE_HUB and not task.covered_at_hub
    return belongs and task.position is not None and task.window is None


def is_covered_at_hub(item: Item, unit: Unit, items: Iterable[Item]) -> bool:
    """True for what other work does on the way that every open hub of the unit gets."""
    return item.state == HUB_OFF and any(
        item.id in other.covers and (other.place, other.state) == (item.place, HUB_OFF)
        and other.act in WITH_THE_HUB and other.fits(unit)
        for other in items
    )  # fmt: skip
