"""How far gone an item is at every slot, worked out again from the plan's own figures."""

from collections.abc import Sequence
from datetime import date

from msgspec import Struct

from tripplan.records.facts_in import Leg, Unit
from tripplan.records.words import Act
from tripplan.trip.timeline import add_months
from tripplan.verify.facts import AFTER, WORKSHOP, Facts, Json, day

RENEWING = frozenset(Act) - {Act.LOOK, Act.MEASURE, Act.EXERCISE}
OVERHAUL_ACTS, OVERHAUL_MONTHS, DEEP_MINUTES = ("repack", "renew"), 24.0, 30.0
SEEN_BY_LOOKING = ("fluid", "filter")
LEAST_KM_A_DAY = 10.0


def per_km(unit: Unit, meter: str, leg: Leg | None) -> float:
    """What a km of this unit takes of a meter, on a leg or (None) in ordinary use; hours only on legs."""
    is_vehicle = unit.kind == "vehicle"
    if meter == "km":
        return 1.0 if leg is None or is_vehicle or leg.towing else 0.0
    if meter == "towing_km":
        usual = unit.usual_towing_share if is_vehicle else 1.0
        return (1.0 if usual is None else usual) if leg is None else float(leg.towing)
    if not is_vehicle:
        return 0.0
    if meter == "engine_hours":
        return 1.0 / leg.speed_kmh if leg else 0.0
    if meter == "low_range_km":
        usual = unit.usual_low_range_share
        return leg.low_range_km / leg.distance_km if leg else 1.0 if usual is None else usual
    if unit.drive != "part-time" or unit.hubs != "free-wheeling":
        return 0.0 if unit.drive == "rear" else 1.0
    locked = leg.hubs if leg else unit.usual_engaged_share
    return 1.0 if locked is None else locked


class Shares(Struct, frozen=True):
    """Typical share of each meter's interval used at every slot if nothing is done, and today.

    `doubt` is what the checker cannot tell of it, since it reads no rates off the readings.
    """

    today: tuple[float, ...]
    at: tuple[tuple[float, ...], ...]
    doubt: float

    def between(self, start: int | None, end: int) -> float:
        """The largest share used from one slot (None: as it stands today) to another."""
        if start is None:
            return max(self.at[end], default=0.0)
        return max((b - a for a, b in zip(self.at[start], self.at[end], strict=True)), default=0.0)


def shares_of(facts: Facts, entry: Json) -> Shares:
    """The shares of one item of the plan, with what a finding or a missing record makes of its state."""
    limits = entry["limits"]
    told = all(limit["used"] is not None for limit in limits)
    today = [_today(facts, entry, limit, told) for limit in limits]
    added = _added(facts, entry, max(today, default=0.0))
    at = tuple(
        tuple(now + added + _spent(facts, entry, limit, slot, told) for now, limit in zip(today, limits, strict=True))
        for slot in facts.slots
    )
    return Shares(tuple(now + added for now in today), at, _doubt(facts, facts.units[entry["unit"]], limits))


def is_overhaul(facts: Facts, entry: Json) -> bool:
    """True for an act that is no service and has no record: a look that it names comes first, it waits for home."""
    item = facts.catalogued[entry["item"]]
    ends = 2 if entry["position"] is None and item.place.endswith("wheel end") else 1
    minutes = ends * facts.opening_minutes(item.place, item.state)
    years = item.months is not None and item.months >= OVERHAUL_MONTHS
    big = item.act in OVERHAUL_ACTS or minutes >= DEEP_MINUTES
    is_unknown = entry["last_done"] is None and not has_finding(entry)
    return is_unknown and years and big and item.family not in SEEN_BY_LOOKING and _names_a_look(facts, entry)


def _names_a_look(facts: Facts, entry: Json) -> bool:
    """True where a look that the item names, at the same place, tells about it."""
    item, unit = facts.catalogued[entry["item"]], facts.units[entry["unit"]]
    looks = [facts.catalogued[follow.item] for follow in item.follow_ups if follow.item in facts.catalogued]
    return any(look.act not in RENEWING and look.place == item.place and look.fits(unit) for look in looks)


def has_finding(entry: Json) -> bool:
    """True where something bad was found and not put right since."""
    return entry["found"] is not None


def _added(facts: Facts, entry: Json, today: float) -> float:
    if has_finding(entry):
        name = "wet_left_share" if entry["found"] == "water" else "bad_finding_share"
        return max(0.0, facts.catalogue.assumed(name).value - today)
    return facts.catalogue.assumed("unknown_overhaul_share").value - 1.0 if is_overhaul(facts, entry) else 0.0


def _today(facts: Facts, entry: Json, limit: Json, told: bool) -> float:
    """What nobody has a record of counts as used up."""
    if limit["meter"] == "months":
        return _of_months(facts, entry, limit, facts.today)
    return limit["used"] / limit["interval"] if told and limit["used"] is not None else 1.0


def _of_months(facts: Facts, entry: Json, limit: Json, on: date) -> float:
    done = day(entry["last_done"]) if entry["last_done"] else add_months(facts.today, -limit["interval"])
    return (on - done).days / (add_months(done, limit["interval"]) - done).days


def _spent(facts: Facts, entry: Json, limit: Json, slot: Json, told: bool) -> float:
    """Share used from today to a slot if nothing is done."""
    if limit["meter"] == "months":
        on = facts.trip.return_ if slot["kind"] == AFTER else day(slot["date"])
        if slot["kind"] != WORKSHOP:
            on = max(on, facts.start)
        return _of_months(facts, entry, limit, on) - _of_months(facts, entry, limit, facts.today)
    unit, days = facts.units[entry["unit"]], max(0, (facts.trip.depart - facts.today).days)
    rate = per_km(unit, limit["meter"], None)
    shaken = facts.trip.shakedown_km * rate if days else 0.0
    before = _at_home(unit, rate, days) + shaken
    if told and limit["at_departure"] is not None:
        before = limit["at_departure"] - limit["used"]
    if slot["kind"] == WORKSHOP:
        idle = max(0.0, before - shaken) / max(1, days)
        return float(idle * (day(slot["date"]) - facts.today).days / limit["interval"])
    driven = sum(
        wear["use"] * wear["multiplier"] + wear["water_use"] for wear in entry["wear"]
        if wear["meter"] == limit["meter"] and (slot["kind"] == AFTER or wear["leg"] <= slot["after_leg"])
    )  # fmt: skip
    return float((before + driven) / limit["interval"])


def _at_home(unit: Unit, rate: float, days: int) -> float:
    return (unit.usual_km_per_week or 0.0) / 7 * days * rate


def _doubt(facts: Facts, unit: Unit, limits: Sequence[Json]) -> float:
    """A day either way of a date; hours that no leg tells; km at home where readings may tell others."""
    doubt, days = 1e-6, max(0, (facts.trip.depart - facts.today).days)
    for limit in limits:
        if limit["meter"] == "months":
            doubt = max(doubt, 1.5 / (limit["interval"] * 30))
        elif limit["meter"] == "engine_hours":
            doubt = max(doubt, (facts.trip.shakedown_km + _at_home(unit, 1.0, days)) / 20 / limit["interval"])
        elif limit["used"] is None:
            doubt = max(doubt, (_at_home(unit, 1.0, days) + days * LEAST_KM_A_DAY) / limit["interval"])
    return doubt
