"""One item position on one unit: what is used, where it runs out, and the verdict.

The verdict leans on the reserve value: an item that only bad luck uses up on the way is
still `runs out on the way`. Nothing known is `no record`, which is treated as due.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from tripplan.due.passed import Reached, without_passed
from tripplan.due.remedies import remedied
from tripplan.due.runs_out import Course, MonthTrack, Track, month_track, pile_up, runs_out, use_on_stretches
from tripplan.records import plan as words
from tripplan.records.catalogue import Catalogue, Item
from tripplan.records.facts_in import EarlierLeg, HistoryRow, Leg, Meter, Rig, Trip, Unit
from tripplan.records.plan import Limit, RunsOut
from tripplan.records.units import DAYS_PER_WEEK
from tripplan.records.words import BAD_FINDINGS, ENTERED_FINDINGS
from tripplan.trip.timeline import Timeline, add_months, months_between
from tripplan.water.crossing import water_grades
from tripplan.wear.earlier_trips import EarlierWear, counted_legs
from tripplan.wear.last_done import Done, History
from tripplan.wear.multipliers import Severity, StretchWear
from tripplan.wear.odometer_line import Ledger, build_ledger, per_km
from tripplan.wear.rates_from_readings import Rate

ItemAt = tuple[Unit, Item, str | None]


@dataclass(frozen=True, slots=True)
class Standing:
    """Everything known about one item position before anything is placed.

    `item` is what is next to be done at it; where a finding calls for another act than its own,
    `usual` is the item as the table has it, which comes round again after that.

    `driven` are the legs of earlier trips since it was last done, with their wear.
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
    wet: tuple[int, ...]
    driven: tuple[tuple[EarlierLeg, float], ...] = ()
    usual: Item | None = None

    @property
    def overdue(self) -> bool:
        """True when the work belongs before departure whatever the trip does."""
        return self.verdict in (words.NO_RECORD, words.DUE)


@dataclass(frozen=True, slots=True)
class Situation:
    """What every item is judged against: the trip, the day, the units' lines, the tables."""

    rig: Rig
    trip: Trip
    today: date
    timeline: Timeline
    severity: Severity
    history: History
    ledgers: dict[str, Ledger]
    catalogue: Catalogue
    allowance_m: float
    driven_km: float
    uses: dict[tuple[str, Meter], tuple[float, ...]]
    standing_hours: tuple[float, ...]
    rates: tuple[Rate, ...] = ()
    earlier: EarlierWear | None = None
    reached: Reached | None = None

    def driven_wear(self, item: Item, unit: Unit, leg: Leg, wet: tuple[int, ...]) -> StretchWear:
        """Wear multiplier of a leg already driven, on this trip or an earlier one."""
        if isinstance(leg, EarlierLeg) and self.earlier:
            return self.earlier.of(item, unit, leg)
        spot = next(index for index, own in enumerate(self.timeline.legs) if own.leg == leg.leg)
        return self.severity.leg_wear(item, unit, spot, wet)

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


def unit_ledger(unit: Unit, rows: Sequence[HistoryRow], trip: Trip, timeline: Timeline, today: date) -> Ledger:
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


def assess(at: ItemAt, s: Situation) -> Standing:
    """The standing of one item position."""
    unit, item, position = at
    done = s.history.last_done(item, unit.id, position)
    wet = water_grades(item, unit, s.timeline, s.allowance_m)
    course = _course(at, done, wet, s)
    end, end_reserve = (
        runs_out(course, s.timeline, s.start, reserve) if course.known else None for reserve in (False, True)
    )
    bad = _bad_finding(at, s)
    verdict = _verdict(course, end_reserve, bad, s)
    limits = tuple(_limits(at, done, course, s))
    driven = _earlier_legs(at, done, s) if course.known and course.tracks else ()
    next_act = remedied(item, bad, s.catalogue)
    usual = None if next_act is item else item
    return Standing(unit, next_act, position, done, bad, course, limits, verdict, end, end_reserve, wet, driven, usual)


def _earlier_legs(at: ItemAt, done: Done | None, s: Situation) -> tuple[tuple[EarlierLeg, float], ...]:
    unit, item, _ = at
    ledger = s.ledgers[unit.id]
    start_km = ledger.true_km_of(done.row) if done and s.earlier else None
    if start_km is None or s.earlier is None:
        return ()
    legs = [part.leg for part in ledger.segments if part.end_km > start_km and isinstance(part.leg, EarlierLeg)]
    return tuple((leg, s.earlier.of(item, unit, leg).typical) for leg in legs)


def _course(at: ItemAt, done: Done | None, wet: tuple[int, ...], s: Situation) -> Course:
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
    at: ItemAt, meter: Meter, interval: float, start_km: float | None, wet: tuple[int, ...], s: Situation
) -> Track:
    unit, item, _ = at
    ledger = s.ledgers[unit.id]
    used, used_reserve = (interval, interval) if start_km is None else _used(at, meter, start_km, wet, s)
    rate = per_km(unit, meter, None, ledger.speed_kmh)
    idle_per_day = (unit.usual_km_per_week or 0.0) / DAYS_PER_WEEK * rate
    before = idle_per_day * s.idle_days + (s.trip.shakedown_km * rate if s.idle_days else 0.0)
    uses = s.uses[(unit.id, meter)]
    typical, reserve = pile_up(uses, s.severity.stretch_wear(item, unit, wet))
    return Track(meter, interval, used, used + before, used_reserve + before, idle_per_day, typical, reserve, uses)


def _used(at: ItemAt, meter: Meter, start_km: float, wet: tuple[int, ...], s: Situation) -> tuple[float, float]:
    """Use since that point at today, typical and with reserve; driven legs with their own wear."""
    unit, item, _ = at
    ledger = s.ledgers[unit.id]
    return (
        ledger.used_since(start_km, meter, lambda leg: s.driven_wear(item, unit, leg, wet).typical),
        ledger.used_since(start_km, meter, lambda leg: s.driven_wear(item, unit, leg, wet).high),
    )


def _bad_finding(at: ItemAt, s: Situation) -> HistoryRow | None:
    """The last thing found here, if it was bad and nothing has put it right since.

    Water or dirt found on one side counts for the other side too, until that one is opened.
    """
    unit, item, position = at
    own = s.history.last_finding(item, unit.id, position)
    others = [s.history.last_finding(item, unit.id, side) for side in item.positions if side != position]
    entered = [
        row for row in others if row and row.finding in ENTERED_FINDINGS and (own is None or row.date > own.date)
    ]
    for row in (own, *entered):
        if row is not None and row.finding in BAD_FINDINGS and not _cured(row, at, s):
            return row
    return None


def _cured(bad: HistoryRow, at: ItemAt, s: Situation) -> bool:
    """True when an act that puts such a finding right was done in the same row or later."""
    unit, item, position = at
    rows = [row for row in s.history.of_item(item, unit.id, position) if _follows(row, bad)]
    if s.history.at(bad, position):
        rows.append(bad)
    return any(s.history.cures(row, item, bad.finding or "") for row in rows)


def _follows(row: HistoryRow, earlier: HistoryRow) -> bool:
    """True when a row is of a later day, or of the same day and further down."""
    return (row.date, row.origin.row or 0) > (earlier.date, earlier.origin.row or 0)


def _verdict(course: Course, end_reserve: RunsOut | None, bad: HistoryRow | None, s: Situation) -> str:
    if bad is not None:
        return words.DUE
    if not course.known:
        return words.NO_RECORD
    spent = any(track.used_reserve >= track.interval for track in course.tracks)
    if spent or (course.months and course.months.due <= s.start):
        return words.DUE
    return words.LASTS if end_reserve is None else words.ON_THE_WAY


def _limits(at: ItemAt, done: Done | None, course: Course, s: Situation) -> list[Limit]:
    origins = (done.row.origin, at[1].origin) if done else (at[1].origin,)
    by_meter = {track.meter: track for track in course.tracks} if course.known else {}
    found = []
    for meter, interval in at[1].intervals:
        if meter == "months":
            used = months_between(done.day, s.today) if done else None
            later = months_between(done.day, s.start) if done else None
        else:
            track = by_meter.get(meter)
            used, later = (track.used_today, track.used) if track else (None, None)
        found.append(
            Limit(
                meter=meter,
                interval=interval,
                used=used,
                left=None if used is None else interval - used,
                at_departure=later,
                unit_of_measure=UNIT_OF[meter],
                origins=origins,
            )  # fmt: skip
        )
    return found


UNIT_OF: dict[Meter, str] = {
    "km": "km", "engaged_km": "km", "towing_km": "km", "low_range_km": "km",
    "engine_hours": "h", "months": "months",
}  # fmt: skip
