"""A placement problem to be reckoned by hand: a day at home, a camp where each minute is two, and home again."""

from msgspec.structs import replace

from tests.placing.small_placements import problem
from tests.small import thing, wagon
from tripplan.placing.problem import PlacementProblem, Placing, Task

DAY, CAMP, HOME = range(3)
WHEEL = (("wagon", "front wheel end", "left"), "wheel off")  # 10 to open, 8 to close
SHAFT = (("wagon", "front wheel end", "left"), "shaft out")  # 12 and 15
PLAY = (("wagon", "at once", "left"), "play")


def task(number: int, minutes: float, *opens: tuple[tuple[str, str, str], str], **changes: object) -> Task:
    """A task that costs 1000 a step to wait for, and 5000 at the end."""
    item = thing(f"item_{number}", act="grease", place="front wheel end")
    late = tuple(tuple(1000 * max(0, q - p) for q in range(3)) for p in range(-1, 3))
    values = {"item": item, "unit": wagon(), "position": "left", "act": "grease", "minutes": minutes, "facility": "camp",
              "state": "closed", "opens": opens, "earliest": 0, "reach": (2, 2, 2, 2), "sound": (2,) * 4,
              "shares": ((0.5,) * 3,) * 4, "late": late, "worth": (5000, 4000, 3000, 0)}  # fmt: skip
    return Task(**{**values, **changes})  # type: ignore[arg-type]


def given(*tasks: Task, **changes: object) -> PlacementProblem:
    """Those tasks; setting out takes 10 minutes, an hour is 60 at home and 120 at the camp."""
    made = problem(4, 1, 1, 1)
    values = {"tasks": tasks, "covered_by": ((),) * len(tasks), "place_factor": (1.0, 2.0, 1.0), "set_out_minutes": 10.0,
              "hour_price": (60.0, 120.0, 60.0), "at_home": (True, False, True), "halt_factor": 3.0,
              "halt_hour_price": 240.0, "shakedown_km": 0.0, "takes_looks": frozenset(),
              "open_minutes": {**made.open_minutes, ("at once", "play"): 3.0},
              "close_minutes": {**made.close_minutes, ("at once", "play"): 0.0}}  # fmt: skip
    return replace(made, **{**values, **changes})


def placing(*visits: tuple[int, ...], **more: object) -> Placing:
    """Those visits, task by task."""
    return Placing(visits, (), "by hand", **more)  # type: ignore[arg-type]
