"""Rules about the figures of the items: all there, placed where a job is, worked out right."""

from collections.abc import Iterator, Sequence
from datetime import date
from math import inf, prod

from msgspec import Struct

from tripplan.records.grouped import grouped
from tripplan.records.plan import DUE, LASTS, NO_RECORD, ON_THE_WAY
from tripplan.trip.timeline import Timeline, add_months, build_timeline
from tripplan.verify.facts import (
    RECHECK,
    SMALL,
    TO_GIVE_KM,
    Broken,
    Facts,
    Json,
    day,
    key_of,
    named,
)
from tripplan.verify.shares import has_finding, per_km

KM_TO_GIVE = 1.0
ROUGHLY = 0.05


def figure_rules(facts: Facts) -> Iterator[Broken]:
    """Every rule that an item of the plan can break."""
    yield from _all_there(facts)
    yield from _placed(facts)
    line = build_timeline(facts.trip, facts.catalogue.assumed("driving_hours_per_day").value)
    for entry in facts.plan["items"]:
        if key_of(entry) in _expected(facts):
            yield from _figures(facts, entry)
            yield from _ends(facts, entry, line)


def _expected(facts: Facts) -> set[tuple[str, str, str | None]]:
    return {
        (item.id, unit.id, position)
        for unit in facts.rig.units
        for item in facts.catalogue.items
        if item.fits(unit)
        for position in (item.positions or (None,))
    }


def _all_there(facts: Facts) -> Iterator[Broken]:
    listed = [key_of(entry) for entry in facts.plan["items"]]
    for key in sorted(_expected(facts), key=str):
        if listed.count(key) != 1:
            yield Broken("all items", " ".join(k for k in key if k), f"listed {listed.count(key)} times, not once")
    for key in sorted(set(listed) - _expected(facts), key=str):
        yield Broken("all items", " ".join(k for k in key if k), "the rig has no such item")


def _placed(facts: Facts) -> Iterator[Broken]:
    """What is said to be placed is a job there, or on the way of one; and every job is said."""
    done = grouped(
        ((job["unit"], job["item"]), (facts.slots[index]["id"], job["position"])) for index, job in facts.jobs()
        if facts.renews(job) or job["kind"] == RECHECK
    )  # fmt: skip
    for index, job in facts.jobs():
        slot, entry = facts.slots[index]["id"], facts.items.get(key_of(job))
        if entry is not None and facts.puts_right(job, entry) and slot not in entry["placed"]:
            yield Broken("placed is a job", named(job), f"done at {slot}, which is not said")
    for entry in facts.plan["items"]:
        by = [pair for name in facts.doing.get(entry["item"], ()) for pair in done.get((entry["unit"], name), ())]
        there = {slot for slot, position in by if position in (None, entry["position"])}
        for slot in entry["placed"]:
            if slot not in there:
                yield Broken("placed is a job", named(entry), f"nothing at {slot} does it")


def _figures(facts: Facts, entry: Json) -> Iterator[Broken]:
    """Intervals are the table's; what is left, at departure and used on each leg is worked out again."""
    item, unit = facts.catalogued[entry["item"]], facts.units[entry["unit"]]
    told = {limit["meter"]: limit["interval"] for limit in entry["limits"]}
    table = {str(meter): float(value) for meter, value in item.intervals}
    if told.keys() != table.keys() or any(abs(told[meter] - table[meter]) > SMALL for meter in table):
        yield Broken("intervals", named(entry), "meters or intervals are not the table's")
    for limit in entry["limits"]:
        if limit["used"] is not None and abs(limit["interval"] - limit["used"] - limit["left"]) > SMALL:
            yield Broken("intervals", named(entry), f"{limit['meter']} left is not interval less used")
    legs = {leg.leg: leg for leg in facts.trip.legs}
    for wear in entry["wear"]:
        leg = legs[wear["leg"]]
        use = leg.distance_km * per_km(unit, wear["meter"], leg)
        if leg.date < facts.today or abs(use - wear["use"]) > SMALL * max(1.0, use):
            says = f"leg {wear['leg']} takes {use:g} of {wear['meter']}, said {wear['use']:g}"
            yield Broken("wear", named(entry), says)
        if not wear["low"] - SMALL <= wear["multiplier"] <= wear["high"] + SMALL:
            yield Broken("wear", named(entry), f"leg {wear['leg']}: multiplier not between low and high")
        if abs(_total(wear["parts"]) - wear["multiplier"]) > SMALL * wear["multiplier"]:
            yield Broken("wear", named(entry), f"leg {wear['leg']}: its parts come to {_total(wear['parts']):.3f}")
    yield from _reserve(facts, entry)


def _total(parts: Sequence[Json]) -> float:
    """One and what each mechanism is above it; parts of one mechanism multiply."""
    total = 1.0
    for mechanism in {part["mechanism"] for part in parts}:
        total += prod(part["multiplier"] for part in parts if part["mechanism"] == mechanism) - 1
    return total


def _reserve(facts: Facts, entry: Json) -> Iterator[Broken]:
    """The 95 % value is never under the typical one, nor over what all doubts at once would give."""
    item = facts.catalogued[entry["item"]]
    share = facts.catalogue.assumed("interval_spread_share").value
    doubt = (item.spread_high / item.spread_low) ** (share / 2)
    for limit in entry["limits"]:
        typical, reserve = limit["at_departure"] or 0.0, limit["at_departure_reserve"] or 0.0
        for wear in (wear for wear in entry["wear"] if wear["meter"] == limit["meter"]):
            added = wear["use"] * wear["multiplier"] + wear["water_use"]
            worst = wear["use"] * wear["high"] + sum(
                wear["water_use"] * (part["high"] - 1) / (part["multiplier"] - 1) if part["multiplier"] > 1 else inf
                for part in wear["water"]
            )
            typical, reserve = typical + added, reserve + wear["reserve"]
            if reserve < typical * (1 - SMALL) or wear["reserve"] > worst * doubt * (1 + ROUGHLY) + SMALL:
                says = f"leg {wear['leg']} adds {wear['reserve']:.1f} to the 95% value, {added:.1f} to the typical"
                yield Broken("reserve", named(entry), says)


class _End(Struct, frozen=True):
    """Between which trip km a limit is used up; both infinite when it is not."""

    low_km: float = inf
    high_km: float = inf


def _ends(facts: Facts, entry: Json, line: Timeline) -> Iterator[Broken]:
    typical, reserve = entry["runs_out"], entry["runs_out_reserve"]
    if typical and (reserve is None or reserve["trip_km"] > typical["trip_km"] + SMALL):
        yield Broken("reserve is sooner", named(entry), "with reserve it lasts longer than without")
    known = all(limit["used"] is not None for limit in entry["limits"])
    for told, which in ((typical, "typical"), (reserve, "reserve")):
        end = _end(facts, entry, line, which) if known else _End()
        too_late = (inf if told is None else told["trip_km"]) > end.high_km + KM_TO_GIVE
        too_soon = told is not None and told["trip_km"] < end.low_km - KM_TO_GIVE
        if too_late or too_soon:
            said = "lasts" if told is None else f"trip km {told['trip_km']:.0f}"
            worked_out = f"{end.low_km:.0f} to {end.high_km:.0f}"
            yield Broken("runs out there", named(entry), f"{which}: said {said}, worked out {worked_out}")
    yield from _verdict(facts, entry, known)


def _end(facts: Facts, entry: Json, line: Timeline, which: str) -> _End:
    ends = [_limit_end(facts, entry, limit, line, which) for limit in entry["limits"]]
    return _End(min((end.low_km for end in ends), default=inf), min((end.high_km for end in ends), default=inf))


def _limit_end(facts: Facts, entry: Json, limit: Json, line: Timeline, which: str) -> _End:
    if limit["meter"] == "months":
        due = add_months(day(entry["last_done"]), limit["interval"])
        if due > facts.trip.return_:
            return _End()
        at_km = min(line.km_at_start_of(due), line.total_km)
        return _End(at_km, at_km)
    typical = which == "typical"
    left = limit["interval"] - limit["at_departure" if typical else "at_departure_reserve"]
    driven = [leg["trip_km_start"] + leg["distance_km"] for leg in facts.plan["legs"] if leg["driven"]]
    if left <= 0:
        at_km = max(driven, default=0.0)
        return _End(at_km, at_km)
    for wear in (wear for wear in entry["wear"] if wear["meter"] == limit["meter"]):
        spent = wear["use"] * wear["multiplier"] + wear["water_use"] if typical else wear["reserve"]
        leg = facts.legs[wear["leg"]]
        start_km, end_km = leg["trip_km_start"], leg["trip_km_start"] + leg["distance_km"]
        if spent > left + SMALL:
            is_even = typical and sum(s.leg_index == _index(line, wear["leg"]) for s in line.stretches) == 1
            at_km = start_km + leg["distance_km"] * left / spent
            return _End(at_km, at_km) if is_even else _End(start_km, end_km)
        left -= spent
    return _End(inf if left > TO_GIVE_KM else line.total_km, inf)


def _index(line: Timeline, number: int) -> int:
    return next(index for index, leg in enumerate(line.legs) if leg.leg == number)


def _verdict(facts: Facts, entry: Json, known: bool) -> Iterator[Broken]:
    told = entry["verdict"]
    if has_finding(entry):
        wanted: tuple[str, ...] = (DUE,)
    elif not known:
        wanted = (NO_RECORD,)
    elif any(_is_spent(entry, limit, facts.start) for limit in entry["limits"]):
        wanted = (DUE,)
    else:
        wanted = (LASTS,) if entry["runs_out"] is None else (ON_THE_WAY,)
    if told not in wanted:
        yield Broken("verdict", named(entry), f"said {told}, the limits say {wanted[0]}")


def _is_spent(entry: Json, limit: Json, start: date) -> bool:
    if limit["meter"] == "months":
        return add_months(day(entry["last_done"]), limit["interval"]) <= start
    return bool(limit["at_departure"] >= limit["interval"])
