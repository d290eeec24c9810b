"""Rules of the trade that one job lays on others. Common practice, no source.

Hub off: look, clean, repack, new seal, play. Wheel off, whoever asked for it: nuts again
after 50 to 100 km. What belongs to an open hub is one job on both sides of the axle.
"""

from tripplan.placing.problem import Task
from tripplan.records.item_cells import FollowUp

HUB_OFF, WHEEL_OFF = "hub off", "wheel off"
WITH_THE_HUB = ("repack", "renew")
NUTS = {"vehicle": "wheel_nuts", "trailer": "trailer_wheel_nuts"}
NUTS_LOW_KM, NUTS_HIGH_KM = 50.0, 100.0


def wheel_off_looks(task: Task) -> tuple[FollowUp, ...]:
    """The nuts again, of whatever has a wheel off."""
    if any(state == WHEEL_OFF for _, state in task.opens):
        return (FollowUp(NUTS[task.unit.kind], NUTS_LOW_KM, NUTS_HIGH_KM),)
    return ()


def is_with_the_hub(task: Task) -> bool:
    """True for what is done whenever the hub is off: bearings packed, seals new."""
    return task.position is not None and task.window is None and task.state == HUB_OFF and task.act in WITH_THE_HUB
