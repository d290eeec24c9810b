"""Where every item runs out in many futures of one trip, worked out in arrays: a row a future.

The same rules as for one trip (`due/standing.py`, `wear/total.py`), applied to all draws at once. The
multipliers of each leg are worked out once for every grade it may have; a future then takes its own
out of them. A test holds verdicts and places against plans made of single futures.
"""

from collections.abc import Iterator
from datetime import date

import numpy as np
from msgspec import Struct, field

from tripplan.due.runs_out import MeterCourse, MonthTrack
from tripplan.due.standing import WET_KM, Situation, Standing, item_positions
from tripplan.records.catalogue import Item
from tripplan.records.facts_in import Meter, Unit
from tripplan.records.plan import DUE, LASTS, NO_RECORD, ON_THE_WAY, VERDICTS
from tripplan.trip.draws import DEPTH_STEPS, VARIANTS, Draws, Real, Whole, depth_m, shifted, variant_of
from tripplan.trip.timeline import EDGE_KM, Timeline, build_timeline
from tripplan.water.crossing import calls, crossing_date, water_grades
from tripplan.wear.mechanisms.uncertain import MEDIAN, Z95, percentile
from tripplan.wear.multipliers import KindWear, Severity, water_excess
from tripplan.wear.odometer_line import per_km
from tripplan.wear.total import piled

NEVER = np.inf
HARDER = ((1, 0), (2, 0), (2, 1))
"""How wet a crossing makes an item, and how wet one before it had made it: 0 dry, 1 splashed, 2 under water."""


class Futures(Struct, frozen=True, eq=False):
    """What all items share: the draws, the legs in every variant, the crossings at every depth."""

    s: Situation
    draws: Draws
    severity: Severity
    depths: Timeline
    at_depth: Whole
    leg_km: Real
    crossing_km: Real
    kinds: dict[tuple[KindWear, str, str], tuple[Real, Real, Real]] = field(default_factory=dict)
    wettings: dict[object, Whole] = field(default_factory=dict)

    @property
    def rows(self) -> int:
        """How many futures, the planned one among them."""
        return self.draws.rows


class Track(Struct, frozen=True, eq=False):
    """One meter of one item in all futures, in shares of its interval: today, by departure, then by each leg's end.

    `idle_per_day` is what a day at home adds; `log_sd` the doubt about the wear of each future's trip;
    `ends` the trip km at which it runs out, `NEVER` where it does not.
    """

    today: Real
    idle_per_day: float
    leaving: Real
    ahead: Real
    log_sd: Real
    ends: Real


def futures_of(s: Situation, draws: Draws) -> Futures:
    """The legs with every grade they may have, and the crossings at every depth, laid out once."""
    legs = tuple(
        variant_of(leg, variant).model_copy(update={"leg": 1 + spot * VARIANTS + variant})
        for spot, leg in enumerate(s.timeline.legs)
        for variant in range(VARIANTS)
    )
    bare = s.trip.model_copy(update={"legs": legs, "crossings": ()})
    hours = s.timeline.driving_hours_per_day
    deep = [
        [
            one.model_copy(update={"depth_m": depth_m(one.depth_m, step, draws.ranges)})
            for step in range(-1, DEPTH_STEPS)
        ]
        for one in s.timeline.crossings
    ]
    depths = build_timeline(
        s.trip.model_copy(update={"crossings": tuple(one for steps in deep for one in steps)}), hours
    )
    spot_of = {id(one): spot for spot, one in enumerate(depths.crossings)}
    at_depth = np.array([[spot_of[id(one)] for one in steps] for steps in deep], dtype=np.intp)
    leg_km = np.array([leg.distance_km for leg in s.timeline.legs]) * draws.distance_factor
    return Futures(
        s, draws, Severity(s.catalogue, build_timeline(bare, hours)), depths,
        at_depth.reshape(len(deep), DEPTH_STEPS + 1), leg_km, _crossing_km(s, draws, leg_km),
    )  # fmt: skip


def _crossing_km(s: Situation, draws: Draws, leg_km: Real) -> Real:
    starts = np.cumsum(leg_km, axis=1) - leg_km
    at = [(_leg_of(s, index), one.at_km) for index, one in enumerate(s.timeline.crossings)]
    columns = [starts[:, leg] + km * draws.distance_factor[:, leg] for leg, km in at]
    return np.stack(columns, axis=1) if columns else np.zeros((draws.rows, 0))


def _leg_of(s: Situation, crossing: int) -> int:
    return next(n for n, leg in enumerate(s.timeline.legs) if leg.leg == s.timeline.crossings[crossing].leg)


class Fate(Struct, frozen=True, eq=False):
    """One item in all futures: its verdict as a number into `VERDICTS`, and the trip km where it runs out."""

    verdict: Whole
    ends: Real
    tracks: tuple[Track, ...]


def fate_of(standing: Standing, f: Futures) -> Fate:
    """How one item fares in every future, by the rules of `standing.assess`."""
    tracks, months = tracks_of(standing, f), standing.course.months
    ends = np.full(f.rows, NEVER)
    spent = np.zeros(f.rows, dtype=bool)
    for track in tracks:
        ends, spent = np.minimum(ends, track.ends), spent | (track.leaving >= 1.0)
    if months:
        ends = np.minimum(ends, month_ends(months, f))
        start = np.array([shifted(f.s.trip.depart, int(n)).toordinal() for n in f.draws.shift_days])
        spent = spent | (months.due.toordinal() <= np.maximum(start, f.s.today.toordinal()))
    if not standing.course.known or standing.bad is not None:
        verdict = np.full(f.rows, VERDICTS.index(DUE if standing.bad is not None else NO_RECORD), dtype=np.intp)
        return Fate(verdict, np.where(standing.course.known, ends, NEVER), tuple(tracks))
    on_the_way = np.where(ends < NEVER, VERDICTS.index(ON_THE_WAY), VERDICTS.index(LASTS))
    return Fate(np.where(spent, VERDICTS.index(DUE), on_the_way), ends, tuple(tracks))


def leg_of_end(fate: Fate, f: Futures) -> Whole:
    """The place in the timeline of the leg on which it runs out on the way; -1 where it does not."""
    ends = np.where(fate.verdict == VERDICTS.index(ON_THE_WAY), fate.ends, NEVER)
    starts = np.cumsum(f.leg_km, axis=1) - f.leg_km
    leg = np.maximum((starts <= ends[:, None] + EDGE_KM).sum(axis=1) - 1, 0)
    return np.where(ends < NEVER, leg, -1)


def tracks_of(standing: Standing, f: Futures) -> list[Track]:
    """Every km and hours meter of an item in all futures."""
    item = standing.usual or standing.item
    wet, grade = wet_in(item, standing, f) if item.water != "none" else (None, None)
    return [
        _track(track, item, standing.unit, standing.course.known, wet, grade, f) for track in standing.course.tracks
    ]


def _track(
    track: MeterCourse, item: Item, unit: Unit, is_known: bool, wet: Real | None, grade: Whole | None, f: Futures
) -> Track:
    s, meter = f.s, track.meter
    kind = f.severity.of(item, unit)
    key = (kind, unit.id, meter)
    if key not in f.kinds:
        f.kinds[key] = _by_leg(kind, unit, meter, f)
    by_leg, use, all_excess = f.kinds[key]
    steps = by_leg
    events: list[tuple[int, Real]] = []
    behind = np.zeros(f.rows)
    if wet is not None and grade is not None:
        rates = np.array([per_km(unit, meter, leg, 0.0) for leg in s.timeline.legs])
        for crossing in range(wet.shape[1]):
            leg = _leg_of(s, crossing)
            for number, before in HARDER:
                factor = s.severity.water(item, number, before)
                if factor is None:
                    continue
                extra = np.where(grade[:, crossing] == number, wet[:, crossing, before] @ rates, 0.0)
                if s.is_driven(leg):
                    # its wet reaches legs still to come, whose lengths are drawn; row 0 is as `used` has it
                    behind = behind + (extra - extra[0]) * (factor.multiplier - 1.0)
                elif extra.any():
                    events.append((crossing, extra * (factor.multiplier - 1.0)))
                    all_excess = all_excess + extra[:, None, None] * water_excess(factor)
    for crossing, extra in events:
        steps = steps.copy() if steps is by_leg else steps
        steps[:, _leg_of(s, crossing)] += extra
    behind = behind if is_known else np.zeros(f.rows)
    leaving: Real = (track.used + behind + track.idle_per_day * f.draws.shift_days.astype(float)) / track.interval
    ends = _ends(track.interval * (1.0 - leaving), by_leg, events, f)
    return Track(
        today=(track.used_today + behind) / track.interval, idle_per_day=track.idle_per_day / track.interval, leaving=leaving,
        ahead=np.cumsum(steps, axis=1) / track.interval, log_sd=_log_sd(use, all_excess), ends=ends,
    )  # fmt: skip


def _by_leg(kind: KindWear, unit: Unit, meter: Meter, f: Futures) -> tuple[Real, Real, Real]:
    """Typical wear of each leg in each future; use of the whole trip, and what each mechanism adds to that in every doubt."""
    s = f.s
    rates = np.array([
        0.0 if s.is_driven(spot) else per_km(unit, meter, leg, 0.0) for spot, leg in enumerate(s.timeline.legs)
    ])  # fmt: skip
    use, added = f.leg_km * rates, kind.excess[..., MEDIAN].sum(axis=-1)
    rows = np.arange(len(rates)) * VARIANTS + f.draws.variant
    whole = np.zeros((f.rows, *kind.excess.shape[1:]))
    for leg in np.nonzero(rates)[0]:
        whole += use[:, leg, None, None] * kind.excess[rows[:, leg]]
    return use * (1.0 + added[rows]), use.sum(axis=1), whole


def _log_sd(use: Real, excess: Real) -> Real:
    total = piled(use, excess)
    middle = use + excess[..., MEDIAN].sum(axis=-1)
    upper = percentile(use + total.mean, total.variance, total.third)
    ratio = np.where(middle > 0, upper / np.where(middle > 0, middle, 1.0), 1.0)
    return np.asarray(np.log(ratio) / Z95)


def _ends(left: Real, by_leg: Real, events: list[tuple[int, Real]], f: Futures) -> Real:
    """The trip km at which what is left is used up: along the legs evenly, at a crossing all at once."""
    pieces = _pieces(by_leg, events, f)
    found = np.where(left <= 0, f.s.driven_km, NEVER)
    piled_up, km = np.zeros(len(left)), np.zeros(len(left))
    for length, use in pieces:
        inside = (found == NEVER) & (piled_up + use >= left) & (use > 0)
        share = (left - piled_up) / np.where(use > 0, use, 1.0)
        found = np.where(inside, km + np.clip(share, 0.0, 1.0) * length, found)
        piled_up, km = piled_up + use, km + length
    # what comes to its interval with the last km of the trip is used up there only if it goes past it
    return np.where((left > 0) & (left >= piled_up), NEVER, found)


def _pieces(by_leg: Real, events: list[tuple[int, Real]], f: Futures) -> Iterator[tuple[Real, Real]]:
    """Length and wear of each stretch, in order; a crossing is one without length."""
    nothing = np.zeros(f.rows)
    for leg in range(by_leg.shape[1]):
        start = f.leg_km[:, :leg].sum(axis=1)
        done = nothing
        for crossing in range(f.crossing_km.shape[1]):
            if _leg_of(f.s, crossing) == leg:
                at = f.crossing_km[:, crossing] - start
                yield at - done, by_leg[:, leg] * (at - done) / f.leg_km[:, leg]
                yield nothing, sum((extra for other, extra in events if other == crossing), nothing)
                done = at
        yield f.leg_km[:, leg] - done, by_leg[:, leg] * (f.leg_km[:, leg] - done) / f.leg_km[:, leg]


def wet_in(item: Item, standing: Standing, f: Futures) -> tuple[Real, Whole]:
    """The km that each crossing keeps wet in each future, by how wet they were and by leg; and how it was reached (1, 2)."""
    s, unit = f.s, standing.unit
    done = standing.done.day if standing.done else None
    key = (unit.id, item.points, item.water)
    if key not in f.wettings:
        splash_m = s.catalogue.assumed("splash_height").value
        f.wettings[key] = np.array(water_grades(item, unit, f.depths, s.allowance_m, splash_m), dtype=np.intp)
    grade = f.wettings[key][f.at_depth[np.arange(len(f.at_depth)), f.draws.depth_step + 1]]
    for crossing in range(grade.shape[1]):
        if done is not None and crossing_date(crossing, s.timeline) <= done:
            grade[:, crossing] = 0
    return _wet_km(grade, f), grade


def _wet_km(grade: Whole, f: Futures) -> Real:
    """As `water.crossing.wet_spans`: km that one before kept as wet are that one's."""
    reach = np.array([0.0, *(f.s.catalogue.assumed(name).value for name in WET_KM.values())])
    at, ends = f.crossing_km, np.cumsum(f.leg_km, axis=1)
    end = np.minimum(at + reach[grade], ends[:, -1:])
    found = np.zeros((*grade.shape, len(WET_KM), ends.shape[1]))
    if not grade.any():
        return found
    edges = np.sort(np.concatenate([at, end], axis=1), axis=1)
    for low, high in zip(edges.T[:-1, :, None], edges.T[1:, :, None], strict=True):
        on_leg = np.maximum(np.minimum(high, ends) - np.maximum(low, ends - f.leg_km), 0.0)
        wet = np.zeros(len(grade), dtype=np.intp)
        for crossing in range(grade.shape[1]):
            own = grade[:, crossing]
            rows = np.nonzero((own > wet) & (at[:, crossing] <= low[:, 0]) & (high[:, 0] <= end[:, crossing]))[0]
            found[rows, crossing, wet[rows]] += on_leg[rows]
            wet[rows] = own[rows]
    return found


def month_ends(months: MonthTrack, f: Futures) -> Real:
    """The trip km at which the calendar runs out, in every future."""
    s, found = f.s, np.full(f.rows, NEVER)
    for days in np.unique(f.draws.shift_days):
        rows = f.draws.shift_days == days
        if months.due <= shifted(s.trip.return_, int(days)) and s.timeline.legs:
            found[rows] = np.minimum(_km_at(months.due, int(days), f)[rows], f.leg_km[rows].sum(axis=1))
    return found


def _km_at(day: date, days: int, f: Futures) -> Real:
    """Trip km driven before this day begins, the trip moved by so many days."""
    legs, hours = f.s.timeline.legs, f.s.timeline.driving_hours_per_day
    dates = [shifted(leg.date, days) if leg.date >= f.s.today else leg.date for leg in legs]
    started = sum(one < day for one in dates)
    if not started:
        return np.zeros(f.rows)
    last = started - 1
    same_day = [n for n in range(last) if dates[n] == dates[last]]
    before = sum((f.leg_km[:, n] / legs[n].speed_kmh for n in same_day), np.zeros(f.rows))
    driven = np.maximum(hours * (day - dates[last]).days - before, 0.0) * legs[last].speed_kmh
    return np.asarray(f.leg_km[:, :last].sum(axis=1) + np.minimum(f.leg_km[:, last], driven))


class WaterCall(Struct, frozen=True):
    """What one crossing may call for at one item: in how many drawn futures it is asked for outright, and only told."""

    crossing: int
    item: str
    name: str
    unit: str
    position: str | None
    act: str
    asked: int
    told: int


def water_calls(f: Futures) -> list[WaterCall]:
    """The acts of every crossing to come, by the depths drawn; calls of one wet day are joined as if all were as deep."""
    s, found = f.s, dict[tuple[int, str, str, str | None, str], list[int]]()
    names = {item.id: item.name for item in s.catalogue.items}
    pairs = item_positions(s.rig, s.catalogue)
    for step in np.unique(f.draws.depth_step[1:]) if s.timeline.crossings else ():
        rows = (f.draws.depth_step[1:] == step).sum(axis=0)
        line, hubs = _all_at(int(step), f), s.trip.trailer_hubs_after_water
        for call in calls(pairs, line, s.catalogue, s.history, s.allowance_m, hubs, s.today):
            if s.timeline.crossings[call.crossing].crossed is None:
                key = (call.crossing, call.item.id, call.unit.id, call.position, call.rule.act)
                found.setdefault(key, [0, 0])[int(call.contingent)] += int(rows[call.crossing])
    return [
        WaterCall(key[0], key[1], names[key[1]], *key[2:], *counts)
        for key, counts in sorted(found.items(), key=_in_order)
    ]


def _in_order(entry: tuple[tuple[int, str, str, str | None, str], list[int]]) -> tuple[int, int, str, str, str, str]:
    (crossing, item, unit, position, act), (asked, _) = entry
    return crossing, -asked, item, unit, position or "", act


def _all_at(step: int, f: Futures) -> Timeline:
    s = f.s
    deep = tuple(
        one if one.crossed else one.model_copy(update={"depth_m": depth_m(one.depth_m, step, f.draws.ranges)})
        for one in s.timeline.crossings
    )
    return build_timeline(s.trip.model_copy(update={"crossings": deep}), s.timeline.driving_hours_per_day)
