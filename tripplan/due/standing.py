"""One item position on one unit: what is used, where it runs out, and the verdict.

The verdict goes by typical wear: due is what is used up when the rig leaves. Where bad luck
would use an item up is told beside it. Nothing known is `no record`, which is treated as due.
"""

from collections.abc import Iterator, Sequence
from datetime import date

import numpy as np
from msgspec import Struct, field
from msgspec.structs import replace

from tripplan.due.faults import ItemAt, found_bad
from tripplan.due.passed import Reached, without_passed
from tripplan.due.remedies import remedied
from tripplan.due.runs_out import Course, MeterCourse, MonthTrack, along_trip, month_track, runs_out, use_on_stretches
from tripplan.records import plan as words
from tripplan.records.catalogue import Catalogue, Item
from tripplan.records.facts_in import EarlierLeg, HistoryRow, Leg, Meter, Origin, Rig, Trip, Unit
from tripplan.records.plan import Factor, Limit, RunsOut
from tripplan.records.shelf import ShelfRow
from tripplan.records.units import DAYS_PER_WEEK
from tripplan.trip.timeline import Timeline, add_months, months_between
from tripplan.water.crossing import Spans, crossing_date, water_grades, wet_spans
from tripplan.water.lines import BowWave
from tripplan.wear.earlier_trips import EarlierWear, counted_legs
from tripplan.wear.last_done import Done, History
from tripplan.wear.mechanisms.uncertain import MEDIAN, Array, interval_sigma
from tripplan.wear.multipliers import KindWear, Severity, water_excess
from tripplan.wear.odometer_line import OdometerLine, build_ledger, per_km
from tripplan.wear.rates_from_readings import Rate
from tripplan.wear.total import Total, piled

INTERVAL_SHARE = "interval_spread_share"
# grade of wetting: how far behind the crossing it wears
WET_KM = {1: "splash_affected_km", 2: "water_affected_km"}


class Wet(Struct, frozen=True):
    """What one crossing wears an item by: the factor's excess over 1 on some km behind it, added once where it is made.

    Km that an earlier crossing had splashed already are a record of their own, with what is harder than splash.
    """

    crossing: int
    leg_index: int
    grade: int
    spans: Spans
    factor: Factor

    @property
    def km(self) -> float:
        """The km of the trip that the crossing keeps wet."""
        return sum(end_km - start_km for start_km, end_km in self.spans)


class Standing(Struct, frozen=True):
    """Everything known about one item position before anything is placed.

    `item` is what is next to be done at it; where a finding calls for another job than its own,
    `usual` is the item as the table has it, which comes round again after that. The finding was made `seen_at` it, or at
    another item whose findings it puts right.

    `driven` are the legs of earlier trips since it was last done, with their wear. `assumed`
    are the rows of the assumptions that its reserve and its wear by water lean on. `done_behind_readings`
    says that no reading is of the day it was last done or later.
    `lead_days` are those until the parts of that act can be there, and `is_held` says that the shelf holds them or has them on order.
    """

    unit: Unit
    item: Item
    position: str | None
    done: Done | None
    bad: HistoryRow | None
    course: Course
    limits: tuple[Limit, ...]
    verdict: str
    runs_out: RunsOut | None
    runs_out_reserve: RunsOut | None
    wet: tuple[Wet, ...]
    driven: tuple[tuple[EarlierLeg, float], ...] = ()
    assumed: tuple[Origin, ...] = ()
    usual: Item | None = None
    seen_at: Item | None = None
    done_behind_readings: bool = False
    lead_days: float = 0.0
    is_held: bool = False

    @property
    def thing(self) -> tuple[str, str, str]:
        """The item, unit and position it is about, as tasks name them."""
        return self.item.id, self.unit.id, self.position or ""

    @property
    def overdue(self) -> bool:
        """True when the work belongs before departure whatever the trip does."""
        return self.verdict in (words.NO_RECORD, words.DUE)


class Situation(Struct, frozen=True):
    """What every item is judged against: the trip, the day, the units' lines, the tables."""

    rig: Rig
    trip: Trip
    today: date
    timeline: Timeline
    severity: Severity
    history: History
    ledgers: dict[str, OdometerLine]
    catalogue: Catalogue
    allowance_m: BowWave
    driven_km: float
    uses: dict[tuple[str, Meter], tuple[float, ...]]
    standing_hours: tuple[float, ...]
    rates: tuple[Rate, ...] = ()
    earlier: EarlierWear | None = None
    totals: dict[tuple[KindWear, tuple[float, ...], tuple[Wet, ...]], Total] = field(default_factory=dict)
    wets: dict[tuple[str, tuple[int, ...]], tuple[Wet, ...]] = field(default_factory=dict)
    judged: list[Standing] = field(default_factory=list)
    reached: Reached | None = None
    shelf: tuple[ShelfRow, ...] = ()

    def driven_wear(self, item: Item, unit: Unit, leg: Leg) -> tuple[KindWear, int]:
        """Wear multipliers of this item, and which entry is that of a leg already driven, earlier trips included."""
        if isinstance(leg, EarlierLeg) and self.earlier:
            return self.earlier.of(item, unit, leg)
        spot = next(index for index, own in enumerate(self.timeline.legs) if own.leg == leg.leg)
        return self.severity.of(item, unit), spot

    def is_driven(self, leg_index: int) -> bool:
        """True when the leg's day lies before today."""
        return self.timeline.legs[leg_index].date < self.today

    @property
    def ahead(self) -> Trip:
        """The trip with only the places that still lie ahead of the rig, or where it stands."""
        return without_passed(self.trip, self.timeline, self.reached)[0]

    @property
    def start(self) -> date:
        """Departure, or today once the trip has begun."""
        return max(self.trip.depart, self.today)

    @property
    def idle_days(self) -> int:
        """Days at home between today and departure."""
        return max(0, (self.trip.depart - self.today).days)


def item_positions(rig: Rig, catalogue: Catalogue) -> tuple[ItemAt, ...]:
    """Every item of the catalogue that exists on the rig, at each of its positions."""
    return tuple(
        (unit, item, position)
        for unit in rig.units
        for item in catalogue.items
        if item.fits(unit)
        for position in (item.positions or (None,))
    )


def driven_legs(timeline: Timeline, today: date) -> tuple[Leg, ...]:
    """Legs whose day lies before today."""
    return tuple(leg for leg in timeline.legs if leg.date < today)


def mean_speed_kmh(legs: Sequence[Leg]) -> float:
    """Distance over time of all legs together."""
    return sum(leg.distance_km for leg in legs) / sum(leg.distance_km / leg.speed_kmh for leg in legs)


def unit_ledger(unit: Unit, rows: Sequence[HistoryRow], trip: Trip, timeline: Timeline, today: date) -> OdometerLine:
    """The unit's line of km, hours taken at the owner's usual speed or the trip's mean."""
    own = [row for row in rows if row.unit == unit.id]
    speed_kmh = unit.usual_speed_kmh or mean_speed_kmh(timeline.legs)
    driven = (*counted_legs(trip, today), *driven_legs(timeline, today))
    return build_ledger(unit, own, driven, today, speed_kmh, trip.return_)


def remaining_uses(
    rig: Rig, meters: Sequence[Meter], timeline: Timeline, driven: int
) -> dict[tuple[str, Meter], tuple[float, ...]]:
    """Use of each meter on each stretch still to be driven; driven stretches count 0."""
    return {
        (unit.id, meter): tuple(
            0.0 if stretch.leg_index < driven else use
            for use, stretch in zip(use_on_stretches(unit, meter, timeline), timeline.stretches, strict=True)
        )
        for unit in rig.units
        for meter in meters
    }


def standings_of(s: Situation) -> tuple[Standing, ...]:
    """The standing of every item position, worked out once however many ask."""
    if not s.judged:
        s.judged[:] = [assess(at, s) for at in item_positions(s.rig, s.catalogue)]
    return tuple(s.judged)


def assess(at: ItemAt, s: Situation) -> Standing:
    """The standing of one item position."""
    unit, item, position = at
    done = s.history.last_done(item, unit.id, position)
    wet = wets(item, unit, s, done.day if done else None)
    course = _course(at, done, wet, s)
    end, end_reserve = (
        runs_out(course, s.timeline, s.start, reserve) if course.known else None for reserve in (False, True)
    )
    bad, seen_at = found_bad(at, s.history, s.catalogue) or (None, item)
    verdict = _verdict(course, end, bad, s)
    limits = tuple(_limits(at, done, course, s))
    driven = _earlier_legs(at, done, s) if course.known and course.tracks else ()
    assumed = _assumed(course, wet, s)
    next_act = remedied(item, bad, seen_at, s.catalogue)
    usual = None if next_act is item else item
    is_behind = done is not None and s.ledgers[unit.id].is_behind_readings(done.day)
    return Standing(
        unit, next_act, position, done, bad, course, limits, verdict, end, end_reserve, wet, driven, assumed, usual,
        None if bad is None else seen_at,
        is_behind,
        s.catalogue.lead_days(next_act),
    )  # fmt: skip


def _assumed(course: Course, wet: tuple[Wet, ...], s: Situation) -> tuple[Origin, ...]:
    names = [INTERVAL_SHARE] if course.tracks else []
    names += [name for grade, name in WET_KM.items() if any(one.grade == grade for one in wet)]
    return tuple(s.catalogue.assumed(name).origin for name in names)


def _earlier_legs(at: ItemAt, done: Done | None, s: Situation) -> tuple[tuple[EarlierLeg, float], ...]:
    unit, item, _ = at
    ledger = s.ledgers[unit.id]
    start_km = ledger.true_km_of(done.row) if done and s.earlier else None
    if start_km is None or s.earlier is None:
        return ()
    legs = [part.leg for part in ledger.segments if part.end_km > start_km and isinstance(part.leg, EarlierLeg)]
    worn = [s.earlier.of(item, unit, leg) for leg in legs]
    return tuple((leg, float(wear.typical[spot])) for leg, (wear, spot) in zip(legs, worn, strict=True))


def wets(item: Item, unit: Unit, s: Situation, done: date | None) -> tuple[Wet, ...]:
    """The crossings that wear an item; what was wet before the act was last done wears no more."""
    if item.water == "none" or not s.timeline.crossings:
        return ()
    splash_m = s.catalogue.assumed("splash_height").value
    grades = tuple(
        0 if done is not None and crossing_date(index, s.timeline) <= done else grade
        for index, grade in enumerate(water_grades(item, unit, s.timeline, s.allowance_m, splash_m))
    )
    if (item.water, grades) not in s.wets:
        s.wets[(item.water, grades)] = tuple(_wets(item, grades, s))
    return s.wets[(item.water, grades)]


def _wets(item: Item, grades: Sequence[int], s: Situation) -> Iterator[Wet]:
    """What crossings of these grades do to every item that is as open to water."""
    reach_km = (0.0, *(s.catalogue.assumed(name).value for name in WET_KM.values()))
    for index, by_wetness in enumerate(wet_spans(grades, s.timeline, reach_km)):
        for before, spans in enumerate(by_wetness):
            factor = s.severity.water(item, grades[index], before) if spans else None
            if factor:
                spot = next(i for i, leg in enumerate(s.timeline.legs) if leg.leg == s.timeline.crossings[index].leg)
                one = Wet(index, spot, grades[index], spans, factor)
                yield replace(one, factor=replace(factor, grade=f"{factor.grade} for {one.km:.0f} km"))


def _course(at: ItemAt, done: Done | None, wet: tuple[Wet, ...], s: Situation) -> Course:
    """The item's meters; one whose use nobody knows counts as used up, and as fresh once renewed."""
    unit, item, _ = at
    metered = [(meter, interval) for meter, interval in item.intervals if meter != "months"]
    start_km = s.ledgers[unit.id].true_km_of(done.row) if done and metered else None
    known = done is not None and (start_km is not None or not metered)
    tracks = tuple(_track(at, meter, interval, start_km, wet, s) for meter, interval in metered)
    return Course(tracks, _months(item, done, s), known, s.driven_km)


def _months(item: Item, done: Done | None, s: Situation) -> MonthTrack | None:
    if item.months is None:
        return None
    return month_track(done.day if done else add_months(s.today, -item.months), item.months)


def _track(
    at: ItemAt, meter: Meter, interval: float, start_km: float | None, wet: tuple[Wet, ...], s: Situation
) -> MeterCourse:
    unit, item, _ = at
    ledger = s.ledgers[unit.id]
    use, excess = (interval, None) if start_km is None else _used(at, meter, start_km, wet, s)
    used = use if excess is None else use + float(excess[..., MEDIAN].sum())
    rate = per_km(unit, meter, None, ledger.speed_kmh)
    idle_per_day = (unit.usual_km_per_week or 0.0) / DAYS_PER_WEEK * rate
    before = idle_per_day * s.idle_days + (s.trip.shakedown_km * rate if s.idle_days else 0.0)
    ahead = _ahead(item, unit, meter, wet, s)
    share = s.catalogue.assumed(INTERVAL_SHARE).value
    sigma = interval_sigma(item.spread_low, item.spread_high, share)
    return along_trip(meter, interval, used, idle_per_day, ahead, ahead.after(use + before, excess), sigma)


def _ahead(item: Item, unit: Unit, meter: Meter, wet: tuple[Wet, ...], s: Situation) -> Total:
    """What is still to be driven, piled up; items of one kind, of equal use and reached by the same water share it."""
    wear, driven = s.severity.of(item, unit), s.uses[(unit.id, meter)]
    ahead = tuple(one for one in wet if not s.is_driven(one.leg_index))
    key = (wear, driven, ahead)
    if key not in s.totals:
        uses = np.array(driven)
        steps = uses[:, None, None] * wear.excess[[stretch.leg_index for stretch in s.timeline.stretches]]
        at = {stretch.crossing: spot for spot, stretch in enumerate(s.timeline.stretches)}
        for one in ahead:
            steps[at[one.crossing]] += wet_use(one, unit, meter, s) * water_excess(one.factor)
        first = np.zeros_like(steps[:1])
        s.totals[key] = piled(np.append(0.0, uses.cumsum()), np.concatenate([first, steps.cumsum(axis=0)]))
    return s.totals[key]


def wet_use(wet: Wet, unit: Unit, meter: Meter, s: Situation) -> float:
    """The use of a meter on the km that one crossing keeps the item wet for, as each leg there takes it."""
    line = s.timeline
    return sum(
        max(0.0, min(end_km, leg_km + leg.distance_km) - max(start_km, leg_km)) * per_km(unit, meter, leg, 0.0)
        for leg, leg_km in zip(line.legs, line.starts_km, strict=True)
        for start_km, end_km in wet.spans
        if start_km < leg_km + leg.distance_km and leg_km < end_km
    )


def _used(at: ItemAt, meter: Meter, start_km: float, wet: tuple[Wet, ...], s: Situation) -> tuple[float, Array | None]:
    """Use since that point at today, and what driven legs and crossings made wore beyond it."""
    unit, item, _ = at
    use, excess = 0.0, np.zeros(())
    for leg, part in s.ledgers[unit.id].uses_since(start_km, meter):
        use += part
        if leg:
            wear, spot = s.driven_wear(item, unit, leg)
            excess = excess + part * wear.excess[spot]
    for one in wet:
        if s.is_driven(one.leg_index):
            excess = excess + wet_use(one, unit, meter, s) * water_excess(one.factor)
    return use, excess if excess.any() else None


def _verdict(course: Course, end: RunsOut | None, bad: HistoryRow | None, s: Situation) -> str:
    if bad is not None:
        return words.DUE
    if not course.known:
        return words.NO_RECORD
    spent = any(track.used >= track.interval for track in course.tracks)
    if spent or (course.months and course.months.due <= s.start):
        return words.DUE
    return words.LASTS if end is None else words.ON_THE_WAY


def _limits(at: ItemAt, done: Done | None, course: Course, s: Situation) -> list[Limit]:
    origins = (done.row.origin, at[1].origin) if done else (at[1].origin,)
    by_meter = {track.meter: track for track in course.tracks} if course.known else {}
    found = []
    for meter, interval in at[1].intervals:
        if meter == "months":
            used = months_between(done.day, s.today) if done else None
            later = reserve = months_between(done.day, s.start) if done else None
        else:
            track = by_meter.get(meter)
            used, later, reserve = (track.used_today, track.used, track.used_reserve) if track else (None, None, None)
        left = None if used is None else interval - used
        found.append(Limit(
            meter=meter, interval=interval, used=used, left=left, at_departure=later, at_departure_reserve=reserve,
            unit_of_measure=UNIT_OF[meter], origins=origins,
        ))  # fmt: skip
    return found


UNIT_OF: dict[Meter, str] = {
    "km": "km", "engaged_km": "km", "towing_km": "km", "low_range_km": "km",
    "engine_hours": "h", "months": "months",
}  # fmt: skip
