"""How hard a crossing was on one unit: five grades above wheels only, by named points.

| grade | word | when |
|---|---|---|
| 0 | wheel | no greased or oiled point was under |
| 1 | nipple | a nipple, a pin or the bottom of a knuckle, not the hubs |
| 2 | hub, easy | a hub or axle centre; fresh, cool, short, shallow, no seal on record that leaks |
| 3 | hub, hard | the same with hot hubs, silt, more time or depth, a breather under, or a leaking seal |
| 4 | floor | door sill, a gearbox, transfer or tank breather, anything electrical or a reservoir |
| 5 | stood | the engine stopped in it, or long in it, or salt at the hubs |

The limits of easy are those of TM 9-2320-273-10: 20 in for five minutes. The rest is common
practice and judgement (data/README.md). No grade says that water can be driven.
"""

from collections.abc import Iterable

from msgspec import Struct

from tripplan.records.catalogue import Catalogue
from tripplan.records.facts_in import Crossing, Unit
from tripplan.water.lines import BowWave, is_under

WHEEL, NIPPLE, EASY, HARD, FLOOR, STOOD = range(6)
GRADE_WORDS = ("wheels only", "nipples", "hubs, easy", "hubs, hard", "floor", "stood")
NIPPLE_POINTS = ("knuckle_lower", "shackle", "shaft")
HUB_POINTS = ("hub_centre", "axle_centre")
BESIDE_HUBS = ("bell_housing_drain", "trailer_coupling")
BREATHERS = ("diff_breather", "breather_end")
FLOOR_POINTS = (
    "airbox_seam", "alternator", "battery_tray", "brake_reservoir_cap", "door_sill", "fan_centre", "gearbox_breather",
    "intake_mouth", "lamp", "starter", "sump_breather", "tank_breather", "trailer_floor", "trailer_plug",
    "transfer_breather", "winch_motor",
)  # fmt: skip


class Easy(Struct, frozen=True):
    """The limits of an easy crossing, and the minutes beyond which the rig stood in the water."""

    depth_m: float
    minutes: float
    stood_minutes: float


def easy_limits(catalogue: Catalogue) -> Easy:
    """The limits of the tables."""
    value = {name: catalogue.assumed(name).value for name in ("easy_depth", "easy_minutes", "stood_minutes")}
    return Easy(depth_m=value["easy_depth"], minutes=value["easy_minutes"], stood_minutes=value["stood_minutes"])


class Grade(Struct, frozen=True):
    """The grade of one crossing for one unit, and what made it so, in words."""

    number: int
    because: tuple[str, ...]


def grade(
    crossing: Crossing, unit: Unit, wave: BowWave, limits: Easy, seal_leaks: bool = False, high: bool = False
) -> Grade:
    """The grade by the typical line, or by the high one.

    A crossing still ahead counts as fresh, cool and short unless its row says otherwise; one that
    was made and whose minutes nobody wrote down does not count as short.
    """

    def under(points: Iterable[str]) -> list[str]:
        return [point.replace("_", " ") for point in points if is_under(unit, point, crossing.depth_m, wave, high)]

    hubs = under(HUB_POINTS)
    stood = _stood(crossing, limits, bool(hubs))
    if stood:
        return Grade(STOOD, stood)
    if floor := under(FLOOR_POINTS):
        return Grade(FLOOR, tuple(f"{point} under" for point in floor))
    if hubs or under(BREATHERS):
        hard = _hard(crossing, limits, seal_leaks) + tuple(f"{point} under" for point in under(BREATHERS))
        return Grade(HARD, hard) if hard else Grade(EASY, tuple(f"{point} under" for point in hubs))
    if beside := under(BESIDE_HUBS):
        return Grade(EASY, tuple(f"{point} under" for point in beside))
    nipples = under(NIPPLE_POINTS)
    return Grade(NIPPLE if nipples else WHEEL, tuple(f"{point} under" for point in nipples))


def _stood(crossing: Crossing, limits: Easy, hubs_under: bool) -> tuple[str, ...]:
    found = []
    if crossing.stalled:
        found.append("the engine stopped in the water")
    if (crossing.minutes or 0.0) > limits.stood_minutes:
        found.append(f"more than {limits.stood_minutes:g} minutes in it")
    if crossing.water == "salt" and hubs_under:
        found.append("salt at the hubs")
    return tuple(found)


def _hard(crossing: Crossing, limits: Easy, seal_leaks: bool) -> tuple[str, ...]:
    found = []
    if crossing.hubs_hot:
        found.append("hubs went in hot")
    if crossing.minutes is None and crossing.crossed is not None:
        found.append("minutes in the water not written down")
    if (crossing.minutes or 0.0) > limits.minutes:
        found.append(f"more than {limits.minutes:g} minutes")
    if crossing.depth_m > limits.depth_m:
        found.append(f"deeper than {limits.depth_m:g} m")
    if crossing.water == "muddy":
        found.append("silt in the water")
    if seal_leaks:
        found.append("a seal on record leaks")
    return tuple(found)


def one_side_tells(crossing: Crossing) -> bool:
    """True when one opened hub may stand for the others: fresh water, cool hubs, engine running.

    Common practice; a wheel-end maker's page of 2005 wants all of them looked at after a flood.
    """
    return crossing.water == "fresh" and not crossing.stalled and not crossing.hubs_hot
