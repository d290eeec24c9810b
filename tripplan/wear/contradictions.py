"""What contradicts what: passes over the records, each giving the problems it finds.

A reader has already refused what one cell alone shows to be wrong. Here rows are held
against each other, against the rig and against the catalogue. `problem_codes.CODES`
lists every code with its meaning.
"""

from collections.abc import Collection, Iterable, Iterator, Mapping
from datetime import date, datetime, timedelta
from itertools import chain, groupby
from typing import TypeVar

from tripplan.records.catalogue import FAMILIES, SHARED_PLACE, Catalogue, Item, Sourced, Teardown, opened_where
from tripplan.records.facts_in import Crossing, HistoryRow, Leg, Origin, Rig, Stop, Trip, Unit, WorkshopDay, as_day
from tripplan.records.grouped import grouped
from tripplan.records.lookups import (
    EVERY_POSITION,
    HALF_TYRE_POINTS,
    MOST_KM_A_DAY,
    ODOMETER_REPLACED,
    READING,
    ROOF,
    SERVICE,
    WITHOUT_ITEM,
    facts_of,
    item_index,
    items_like,
)
from tripplan.records.mending import Remedy
from tripplan.records.problem_codes import figure, nearest, problem
from tripplan.records.problems import Problem, in_order, stops
from tripplan.wear.earlier_trips import check_earlier_legs, low_range_beyond
from tripplan.wear.from_mechanisms import NEEDS
from tripplan.wear.invented import check_invented
from tripplan.wear.leg_order import (
    DoubtedLegs,
    check_leg_order,
    check_leg_times,
    doubted_legs,
    earliest,
    latest,
    repeated,
)
from tripplan.wear.legs_and_readings import check_trip_readings
from tripplan.wear.rates_from_readings import read_rates, with_rates
from tripplan.wear.unit_facts import check_leg_hubs, check_odd_heights, check_unit_facts, check_units

THOUSAND_KM = 1000.0
LATEST_HOME_DAYS = 31
"""A trip that water or a breakdown holds up longer than this gets a later return (ours, no source)."""
LONGEST_PREPARATION_DAYS = 183
"""A past workshop day further before the departure than half a year is taken for a slip of the year (ours, no source)."""
Row = TypeVar("Row", HistoryRow, Leg, Crossing, Stop, WorkshopDay)


def check(
    rig: Rig, history: tuple[HistoryRow, ...], trip: Trip, catalogue: Catalogue, today: date
) -> tuple[Problem, ...]:
    """Every contradiction between the records, by file and row.

    While it is not clear which unit is which, nothing is said about the items they have.
    """
    unit_problems = tuple(check_units(rig))
    is_rate_missing = any(unit.usual_km_per_week is None for unit in rig.units)
    known = with_rates(rig, read_rates(rig, history, trip, today)) if is_rate_missing else rig
    words, doubted = tuple(check_history_words(rig, history, catalogue)), doubted_legs(trip)
    facts = (
        ()
        if unit_problems
        else (*check_unit_facts(known, catalogue), *check_heights(known, trip, catalogue), *check_odd_heights(known))
    )
    about_items = (*facts, *(word for word in words if word.code != "H13" or not stops((*unit_problems, *facts))))
    return in_order(chain(
        unit_problems, about_items, check_leg_hubs(rig, trip), check_history_dates(history, today),
        check_odometer(history), check_trip_readings(rig, history, trip), check_thousands(rig, history), check_duplicate_rows(history),
        check_trip(rig, trip), check_leg_order(trip), check_leg_times(trip, doubted), check_leg_causes(trip),
        check_earlier_legs(trip, today),
        check_crossings(trip, today, doubted), check_stops(trip, doubted), check_workshop(trip, today),
        check_overrides(catalogue), check_invented(rig, history, trip),
    ))  # fmt: skip


def check_heights(rig: Rig, trip: Trip, catalogue: Catalogue) -> Iterator[Problem]:
    """Heights belong to points that items have, and a trip with crossings needs them."""
    for number, unit in enumerate(rig.units, 1):
        known = {point for i in catalogue.items if i.unit_kind == unit.kind for point in i.points}
        for point in unit.heights_mm:
            if point not in known and point != ROOF:
                accepted = nearest(point, known, 6) or "no heights: no item has a point"
                yield problem("R14", rig.origin, f"unit[{number}].heights_mm.{point}", point, accepted)
        needed = {point for item in catalogue.items if item.fits(unit) for point in item.points}
        given = set(unit.heights_mm) | (set(HALF_TYRE_POINTS) if unit.tyre_diameter_mm else set())
        missing = sorted(needed - given)
        if trip.crossings and missing:
            accepted = f"a height above ground in mm for: {', '.join(missing)}"
            hint = "whether the water reaches these is not known without it"
            found = f"{len(missing)} of {len(needed)} heights not given"
            yield problem("R16", rig.origin, f"unit[{number}].heights_mm", found, accepted, hint)


def check_history_words(rig: Rig, history: tuple[HistoryRow, ...], catalogue: Catalogue) -> Iterator[Problem]:
    """Each row names a unit of the rig, an act, and an item and position that it has."""
    units = {unit.id: unit for unit in rig.units}
    sheets = {sheet.id for sheet in catalogue.services}
    acts = {rule.act for rule in catalogue.acts} | set(WITHOUT_ITEM) | ({SERVICE} if sheets else set())
    items = item_index(catalogue)
    ids = [*(item.id for item in catalogue.items), *sheets]
    for row in history:
        if row.unit not in units:
            yield problem("H10", row.origin, "unit", row.unit, nearest(row.unit, units))
        if row.act not in acts:
            yield problem("H15", row.origin, "act", row.act, nearest(row.act, acts))
        if row.item is None:
            if row.act not in WITHOUT_ITEM:
                accepted = f"an item, or the act {READING} where nothing was done"
                yield problem("H16", row.origin, "item", "nothing", accepted)
            continue
        name = row.item.strip().casefold()
        item = items.get(name)
        if (name in sheets) != (row.act == SERVICE) and (item or name in sheets):
            accepted = f"act {SERVICE} with a service sheet ({', '.join(sorted(sheets))}), another act with an item"
            yield problem("H22", row.origin, "act", f"{row.act} of {row.item}", accepted)
        elif name in sheets:
            continue
        elif item is None:
            unit = units.get(row.unit)
            own = [item for item in catalogue.items if unit is None or item.belongs_to(unit)]
            likely = items_like(own, row.item, row.act, catalogue.acts_doing)
            accepted = (
                f"an item of the catalogue by id or name, such as {', '.join(likely) or nearest(row.item, ids, 4)}"
            )
            yield problem("H12", row.origin, "item", row.item, accepted)
        else:
            yield from _item_misfits(row, item, units.get(row.unit))


def _item_misfits(row: HistoryRow, item: Item, unit: Unit | None) -> Iterator[Problem]:
    if unit and not item.belongs_to(unit):
        needs = "; ".join((f"kind={item.unit_kind}", *map(str, item.needs)))
        yield problem("H13", row.origin, "item", f"{item.id} on {unit.id}", f"a unit with {needs}")
    accepted_words = (*item.positions, EVERY_POSITION) if item.positions else ()
    if row.position is not None and row.position not in accepted_words:
        words = nearest(row.position, accepted_words)
        accepted = f"{words}, or empty for all" if words else "empty: this item has one position only"
        yield problem("H14", row.origin, "position", row.position, accepted)


def check_history_dates(history: tuple[HistoryRow, ...], today: date) -> Iterator[Problem]:
    """No record of the future, and no reading that reads nothing."""
    for row in history:
        if row.date > today:
            hint = f"days after today: {(row.date - today).days}"
            yield problem("H17", row.origin, "date", f"{row.date}", f"a date up to today, {today}", hint)
        if row.act == READING and row.odometer_km is None:
            yield problem("H21", row.origin, "odometer_km", "nothing", "the odometer reading in km")
        if row.act == ODOMETER_REPLACED and None in (row.odometer_km, row.old_odometer_km):
            accepted = "odometer_km of the new instrument and old_odometer_km of the old one"
            yield problem("H20", row.origin, "old_odometer_km", "not both figures", accepted)


def check_odometer(history: tuple[HistoryRow, ...]) -> Iterator[Problem]:
    """Within a unit the odometer never goes back, save where the instrument was replaced."""
    read = [row for row in history if row.odometer_km is not None]
    for _, rows in groupby(sorted(read, key=lambda r: (r.unit, r.date)), key=lambda r: r.unit):
        last: HistoryRow | None = None
        for _, same_day in groupby(rows, key=lambda r: r.date):
            day_rows = list(same_day)
            swaps = [row for row in day_rows if row.act == ODOMETER_REPLACED]
            if last:
                yield from _went_back(last, day_rows, swaps)
            highest = max(day_rows, key=_km)
            if not swaps:
                yield from _leapt(last or min(day_rows, key=_km), highest)
                highest = highest if last is None or _km(highest) > _km(last) else last
            last = swaps[-1] if swaps else highest


def check_thousands(rig: Rig, history: tuple[HistoryRow, ...]) -> Iterator[Problem]:
    """A vehicle whose odometer never came to 1000 km most likely has a point for thousands in it, or none of its thousands."""
    for unit in (unit for unit in rig.units if unit.kind == "vehicle"):
        rows = [row for row in history if row.unit == unit.id]
        read = [row for row in rows if row.odometer_km]
        if not read or any(row.act == ODOMETER_REPLACED for row in rows) or _km(max(read, key=_km)) >= THOUSAND_KM:
            continue
        last = max(read, key=_km)
        hint = f"if {figure(_km(last) * THOUSAND_KM)} is meant, write it without a point, in every row"
        yield problem(
            "H23", last.origin, "odometer_km", figure(_km(last)), "1000 or more, unless the vehicle is new", hint
        )


def _went_back(last: HistoryRow, rows: list[HistoryRow], swaps: list[HistoryRow]) -> Iterator[Problem]:
    for row in rows:
        column = "old_odometer_km" if row in swaps else "odometer_km"
        found_km = row.old_odometer_km if row in swaps else row.odometer_km
        least_km = min([_km(last)] + ([] if row in swaps else [_km(swap) for swap in swaps]))
        if found_km is None or found_km >= least_km:
            continue
        accepted = f"at least {figure(least_km)}, the reading on {last.date} (row {last.origin.row})"
        hint = (f"{figure(least_km - found_km)} km too low; "
                f"a swapped instrument is entered as a row with act {ODOMETER_REPLACED}")  # fmt: skip
        yield problem("H11", row.origin, column, f"{figure(found_km)} on {row.date}", accepted, hint)


def _leapt(before: HistoryRow, row: HistoryRow) -> Iterator[Problem]:
    days = max((row.date - before.date).days, 1)
    gained_km = _km(row) - _km(before)
    if gained_km > MOST_KM_A_DAY * days:
        accepted = f"up to {figure(_km(before) + MOST_KM_A_DAY * days)}, {figure(MOST_KM_A_DAY)} km a day"
        hint = f"{figure(gained_km)} km, days: {days}, since {before.date} (row {before.origin.row})"
        yield problem("H18", row.origin, "odometer_km", f"{figure(_km(row))} on {row.date}", accepted, hint)


def _km(row: HistoryRow) -> float:
    return row.odometer_km or 0.0


def check_duplicate_rows(history: tuple[HistoryRow, ...]) -> Iterator[Problem]:
    """A row that repeats another in every fact was perhaps entered twice."""
    for row, first in repeated(history, facts_of):
        hint = "it is counted once; delete one, or say in the note what differs"
        yield problem("H19", row.origin, None, f"the same facts as row {first}", "each piece of work once", hint)


def check_trip(rig: Rig, trip: Trip) -> Iterator[Problem]:
    """The trip has legs within its dates, which this rig can drive."""
    if trip.return_ < trip.depart:
        accepted = f"{trip.depart}, the departure, or later"
        yield problem("T10", trip.origin, "return", f"{trip.return_}", accepted)
    if not trip.legs:
        yield problem("L10", Origin(file="legs.csv"), None, "no legs", "one row for each leg of the trip")
    has_trailer = any(unit.kind == "trailer" for unit in rig.units)
    for leg in trip.legs:
        yield from low_range_beyond(leg)
        yield from _odd_range(leg)
        if leg.towing and not has_trailer:
            hint = "or add the trailer to rig.toml as a unit of kind trailer"
            yield problem("L17", leg.origin, "towing", "yes", "no, as the rig has no trailer", hint)


def _odd_range(leg: Leg) -> Iterator[Problem]:
    """The range of an estimated distance holds the distance, and has both its ends."""
    low_km, high_km = leg.distance_low_km, leg.distance_high_km
    if low_km is None and high_km is None:
        return
    if low_km is None or high_km is None:
        column = "distance_low_km" if low_km is None else "distance_high_km"
        yield problem("L19", leg.origin, column, "nothing", "both ends of the range of the distance, or neither")
    elif not low_km <= leg.distance_km <= high_km:
        accepted = f"a range that holds the distance, {figure(leg.distance_km)} km"
        hint = "a distance that is known has no range: empty both columns"
        yield problem("L19", leg.origin, "distance_low_km", f"{figure(low_km)} to {figure(high_km)}", accepted, hint)


def check_leg_causes(trip: Trip) -> Iterator[Problem]:
    """A wear model is used only where a leg fills all the columns it needs."""
    for leg in trip.legs:
        for condition, columns in NEEDS.items():
            given = [column for column in columns if getattr(leg, column) is not None]
            missing = [column for column in columns if column not in given]
            if given and missing:
                accepted = f"{' and '.join(missing)} as well, or neither"
                hint = f"the graded {condition} row is used for this leg"
                yield problem("L18", leg.origin, given[0], f"{given[0]} alone", accepted, hint)


def check_crossings(trip: Trip, today: date, doubted: DoubtedLegs) -> Iterator[Problem]:
    """Each crossing lies on a leg, once, and is done neither too early nor in the future."""
    legs = {leg.leg: leg for leg in trip.legs}
    for row in trip.crossings:
        leg = legs.get(row.leg)
        if leg is None and legs and not doubted.numbers:
            yield problem("C10", row.origin, "leg", f"{row.leg}", _leg_numbers(legs))
        elif leg and row.leg not in doubted.numbers and row.at_km > leg.distance_km:
            accepted = f"0 to {figure(leg.distance_km)}, the distance of leg {leg.leg}"
            yield problem("C11", row.origin, "at_km", figure(row.at_km), accepted)
        if row.crossed and as_day(row.crossed) > today:
            accepted = f"a date up to today, {today}, or empty while it is planned"
            yield problem("C12", row.origin, "crossed", f"{row.crossed}", accepted)
        if leg and row.crossed and row.leg not in doubted.either and latest(row.crossed) < earliest(leg.depart):
            accepted = f"{leg.depart} or later, when leg {leg.leg} departs (row {leg.origin.row})"
            yield problem("C13", row.origin, "crossed", f"{row.crossed}", accepted)
        if row.crossed and (late_days := (as_day(row.crossed) - _home_again(trip)).days) > LATEST_HOME_DAYS:
            accepted = f"a date up to {_home_again(trip) + timedelta(days=LATEST_HOME_DAYS)}, {LATEST_HOME_DAYS} days after the return"
            hint = f"days after the return: {late_days}; look at year and month, or put a later return into trip.toml"
            yield problem("C18", row.origin, "crossed", f"{row.crossed}", accepted, hint)
    for row, first in repeated(trip.crossings, lambda row: (row.leg, row.at_km)):
        found = f"leg {row.leg} at {figure(row.at_km)} km again"
        yield problem("C14", row.origin, "at_km", found, f"a place other than that of row {first}")
    yield from _made_at_once(trip.crossings)


def _made_at_once(crossings: Iterable[Crossing]) -> Iterator[Problem]:
    """Two places of one leg crossed at the same minute. A day alone may hold several; two records of a phone are two."""
    places = {(row.leg, row.at_km): row for row in crossings if isinstance(row.crossed, datetime)}
    for first, *more in grouped(((row.leg, row.crossed), row) for row in places.values()).values():
        for row in (row for row in more if row.record is None or first.record is None):
            accepted = f"a time other than that of row {first.origin.row}"
            hint = "if one of the two is the other with its place put right, take out the wrong one"
            yield problem("C19", row.origin, "crossed", f"{row.crossed}", accepted, hint)


def _home_again(trip: Trip) -> date:
    """The day of the return, or of the last leg where that is later."""
    return max([trip.return_, *(leg.date for leg in trip.legs)])


def check_stops(trip: Trip, doubted: DoubtedLegs) -> Iterator[Problem]:
    """Each stop follows a leg, ends before the next leg departs, and is told from every other by leg and name."""
    legs = {leg.leg: leg for leg in trip.legs}
    for row, first in repeated(trip.stops, lambda row: (row.after_leg, _plain_name(row.stop))):
        accepted = f"a stop other than that of row {first}, or another name for it"
        yield problem("S15", row.origin, "stop", f"{row.stop} after leg {row.after_leg} again", accepted)
    for row in trip.stops:
        leg = legs.get(row.after_leg)
        if leg is None and legs and not doubted.numbers:
            yield problem("S10", row.origin, "after_leg", f"{row.after_leg}", _leg_numbers(legs))
        if latest(row.leave) < earliest(row.arrive):
            yield problem("S11", row.origin, "leave", f"{row.leave}", f"{row.arrive}, the arrival, or later")
        if leg and row.after_leg not in doubted.either and latest(row.arrive) < earliest(leg.depart):
            accepted = f"{leg.depart} or later, when leg {leg.leg} departs (row {leg.origin.row})"
            yield problem("S12", row.origin, "arrive", f"{row.arrive}", accepted)
        later = [number for number in legs if number > row.after_leg]
        after = legs[min(later)] if later and row.after_leg not in doubted.numbers else None
        if leg and after and after.leg not in doubted.either and earliest(row.leave) > latest(after.depart):
            accepted = f"{after.depart} or earlier, when leg {after.leg} departs (row {after.origin.row})"
            yield problem("S13", row.origin, "leave", f"{row.leave}", accepted)


def _plain_name(name: str) -> str:
    """The letters and figures of a name, by which its place in the plan is called."""
    return "-".join("".join(mark if mark.isalnum() else " " for mark in name.lower()).split())


def check_workshop(trip: Trip, today: date) -> Iterator[Problem]:
    """Workshop days lie before departure, each given once; one that is past and far from the trip is asked about.

    Those of this trip pass one by one, and whether they were worked on is asked elsewhere.
    """
    for row in trip.workshop_days:
        if row.date > trip.depart:
            yield problem("W10", row.origin, "date", f"{row.date}", f"up to {trip.depart}, the departure")
        if row.date < today <= trip.depart and (trip.depart - row.date).days > LONGEST_PREPARATION_DAYS:
            hint = f"days before the departure: {(trip.depart - row.date).days}; look at the year"
            yield problem("W11", row.origin, "date", f"{row.date}", f"today, {today}, or later", hint)
    for row, first in repeated(trip.workshop_days, lambda row: row.date):
        hint = "put the minutes of the day together in one row"
        yield problem("W12", row.origin, "date", f"{row.date}", f"a day other than that of row {first}", hint)


def check_overrides(catalogue: Catalogue) -> Iterator[Problem]:
    """An override names only sources, acts and states that the tables have, and nothing is open before itself."""
    sources = {source.id for source in catalogue.sources} | {"none"}
    acts = {rule.act for rule in catalogue.acts}
    states = {(row.place, row.state) for row in catalogue.teardown}
    states |= {(item.place, item.state) for item in catalogue.items if not is_override(item.origin)}
    items, stock = [item.id for item in catalogue.items], list(catalogue.stock)
    opened: dict[tuple[str, str], Teardown] = {(row.place, row.state): row for row in catalogue.teardown}
    rows: tuple[Sourced, ...] = (
        *catalogue.items, *catalogue.multipliers, *catalogue.grades, *catalogue.teardown, *catalogue.acts,
        *catalogue.consumables, *catalogue.water_rules, *catalogue.assumptions, *catalogue.remedies,
    )  # fmt: skip
    for row in (row for row in rows if is_override(row.origin)):
        yield from _unknown(row, "source", (row.source,), sources, 6)
        if isinstance(row, Item):
            yield from _unknown(row, "act", (row.act,), acts)
            yield from _unknown(row, "state", (row.state,), [state for place, state in states if place == row.place])
            yield from _unknown(row, "covers", row.covers, items, 6)
            yield from _unknown(row, "follow_ups", [look.item for look in row.follow_ups], items, 6)
            yield from _unknown(row, "consumables", [amount.what for amount in row.consumables], stock, 6)
        if isinstance(row, Remedy):
            yield from _unknown(row, "at", (row.at,), [*items, *FAMILIES], 6)
            yield from _unknown(row, "by", row.by, items, 6)
            yield from _unknown(row, "act", () if row.by and not row.act else (row.act or "nothing",), acts)
            yield from _unknown(row, "follow_ups", [look.item for look in row.follow_ups], items, 6)
            yield from _unknown(row, "consumables", [amount.what for amount in row.consumables], stock, 6)
        if isinstance(row, Teardown) and row.parent is not None:
            there = {state for place, state in opened if place in (row.place, SHARED_PLACE)}
            yield from _unknown(row, "parent", (row.parent,), there)
            if _leads_back(row, opened):
                accepted = "a state that is open without this one, or nothing"
                yield problem("O14", row.origin, "parent", row.parent, accepted)


def _leads_back(row: Teardown, opened: Mapping[tuple[str, str], Teardown]) -> bool:
    """True when what has to be open before it leads back to itself, or round in a ring."""
    met, at = set[tuple[str, str]](), opened.get((row.place, row.state))
    while at is not None and at.parent is not None:
        if (at.place, at.state) in met:
            return True
        met.add((at.place, at.state))
        at = opened.get(opened_where(opened, row.place, at.parent))
    return False


def _unknown(
    row: Sourced, column: str, named: Iterable[str], known: Collection[str], most: int = 1000
) -> Iterator[Problem]:
    """What a cell of an override names and no table has, with at most so many that it may mean."""
    for name in named:
        if name not in known:
            yield problem("O12", row.origin, column, name, nearest(name, known, most))


def is_override(origin: Origin) -> bool:
    """True for a row of the owner's own tables rather than of the shipped ones."""
    return origin.file.startswith("overrides/")


def _leg_numbers(legs: dict[int, Leg]) -> str:
    return f"a leg number of legs.csv: {', '.join(str(number) for number in sorted(legs)) or 'none'}"
