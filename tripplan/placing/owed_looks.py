"""Looks that work on record brings and nobody recorded: hubs packed last week have their play looked at on this trip.

A row of the history brings what the same job brings in a plan. It is counted from where the rig was: the reading of
the row, or what the line of its unit says of its day; work at a stop stands at that stop, and work of this trip's
days at home counts from departure, as in the plan that asked for it, until a reading says more. Once its km are open
the look is owed at once. What was driven on much further without it evidently came to no harm: from
`look_again_late_factor` times its high km on, the interval of the item looked at counts alone.
"""

from collections.abc import Iterable, Iterator, Sequence

from msgspec import Struct
from msgspec.structs import replace

from tripplan.due.standing import Situation
from tripplan.placing.followed_up import most_minutes
from tripplan.placing.looks_brought import looks_after
from tripplan.placing.problem import STOP, LookAgain, OwedLook, PlacementProblem, Task, opens
from tripplan.records.catalogue import Item
from tripplan.records.facts_in import HistoryRow, Stop, Unit, as_day
from tripplan.wear.last_done import History
from tripplan.wear.odometer_line import ordinary_km

LATE = "look_again_late_factor"
Key = tuple[str, str, str | None, float, float]


class Work(Struct, frozen=True):
    """Work on record as a task that was done, its row, and the trip km it was done at."""

    task: Task
    row: HistoryRow
    km: float


def owed_looks(problem: PlacementProblem, s: Situation) -> tuple[OwedLook, ...]:
    """Every look that is owed, with the place where it falls: of several that are one look, that of the latest work."""
    here_km, late = _here_km(problem, s), s.catalogue.assumed(LATE).value
    asked: dict[Key, tuple[Work, LookAgain]] = {}
    for work in sorted(_works(problem, s, here_km), key=lambda work: (work.row.date, work.row.origin.row or 0)):
        for look in looks_after(work.task, s.catalogue):
            asked[(look.item, look.unit, look.side, look.low_km, look.high_km)] = work, look
    owed = [
        _owed(work, look, here_km) for work, look in asked.values()
        if here_km - work.km <= late * look.high_km and not _is_recorded(work, look, s)
    ]  # fmt: skip
    return _where_they_fit(problem, s, owed)


def _here_km(problem: PlacementProblem, s: Situation) -> float:
    """The trip km that the rig has reached for certain, or of the stop where it stands today."""
    reached_km = s.reached.trip_km if s.reached else 0.0
    first = problem.sites[0]
    stands_km = first.trip_km if first.kind == STOP and first.date <= s.today else 0.0
    return max(s.driven_km, reached_km, stands_km)


def _works(problem: PlacementProblem, s: Situation, here_km: float) -> Iterator[Work]:
    """All work on record that may bring looks, as far back as any of them is owed."""
    units = {unit.id: unit for unit in s.rig.units}
    follow_ups = [one.high_km for item in s.catalogue.items for one in item.follow_ups]
    back_km = here_km - s.catalogue.assumed(LATE).value * max(follow_ups, default=0.0)
    at_km: dict[int, float | None] = {}
    for (unit_id, item_id), rows in s.history.rows.items():
        unit, item = units.get(unit_id), s.catalogue.find(item_id)
        if unit is None or item is None or not item.fits(unit) or item.rhythm != "service":
            continue
        for row in rows:
            if id(row) not in at_km:
                at_km[id(row)] = _work_km(row, unit, s)
            km = at_km[id(row)]
            if km is not None and km >= back_km:
                yield from (Work(task, row, km) for task in _as_tasks(row, item, unit, problem, s))


def _as_tasks(row: HistoryRow, item: Item, unit: Unit, problem: PlacementProblem, s: Situation) -> Iterator[Task]:
    """The row as the jobs it says were done, a side each; none where nobody knows what its act opened."""
    own = s.history.does(row.act, item.act)
    rule = next((one for one in s.catalogue.water_rules if (one.item, one.act) == (item.id, row.act)), None)
    if not own and rule is None:
        return
    state = item.state if own or rule is None else rule.state
    for side in item.positions or (None,):
        if History.at(row, side) or not item.positions:
            yield Task(
                item=item, unit=unit, position=side, act=row.act, minutes=0.0, facility=item.facility, state=state,
                opens=opens(item, unit, side, state, problem.teardown), earliest=0, window=None if own else (0, 0),
            )  # fmt: skip


def _is_recorded(work: Work, look: LookAgain, s: Situation) -> bool:
    """True when the look, or an act that does it on the way, was recorded once its km were driven.

    Between two readings the km are known; without, a later day counts.
    """
    done = s.history.last_done(s.catalogue.item(look.item), look.unit, look.side)
    if done is None or done.row is work.row:
        return False
    if done.row.odometer_km is None or work.row.odometer_km is None:
        return done.day > work.row.date
    line = s.ledgers[look.unit]
    since_km = (line.true_km_of(done.row) or 0.0) - (line.true_km_of(work.row) or 0.0)
    return since_km >= look.low_km * (1.0 - s.catalogue.assumed("tolerance_share").value)


def _work_km(row: HistoryRow, unit: Unit, s: Situation) -> float | None:
    """The trip km of a row, as the trip counts it: below 0 = before departure; None where nobody can tell."""
    line, trip = s.ledgers[unit.id], s.trip
    km = line.true_km_of(row)
    read = any(mark.day >= row.date for mark in line.marks)
    by_line = s.driven_km - (line.now_km - km) if read and km is not None and line.now_km is not None else None
    stop = _stop_of(row, trip.stops)
    if stop is not None:
        stop_km = _end_km(stop.after_leg, s)
        is_read = row.odometer_km is not None and by_line is not None and stop_km <= s.driven_km
        return min(stop_km, by_line) if is_read and by_line is not None else stop_km
    return by_line if read else _km_by_days(row, unit, s)


def _stop_of(row: HistoryRow, stops: Iterable[Stop]) -> Stop | None:
    """The stop where the rig stood that day; on the day between two, the later one, where work is dated by its arrival."""
    there = [stop for stop in stops if stop.date <= row.date <= as_day(stop.leave)]
    return max(there, key=lambda stop: (stop.date, stop.after_leg), default=None)


def _end_km(number: int, s: Situation) -> float:
    spot = next(index for index, leg in enumerate(s.timeline.legs) if leg.leg == number)
    return s.timeline.starts_km[spot] + s.timeline.legs[spot].distance_km


def _km_by_days(row: HistoryRow, unit: Unit, s: Situation) -> float | None:
    """Where no reading says more: by the legs driven up to that day, and by ordinary use at home."""
    trip = s.trip
    if row.date >= trip.depart:
        driven_km = sum(leg.distance_km for leg in s.timeline.legs if leg.date <= row.date and leg.date < s.today)
        return driven_km - ordinary_km(unit, row.date, s.today) * (row.date >= trip.return_)
    if row.date >= min((day.date for day in trip.workshop_days), default=trip.depart):
        return 0.0
    if unit.usual_km_per_week is None:
        return None
    return -ordinary_km(unit, row.date, min(s.today, trip.depart))


def _owed(work: Work, look: LookAgain, here_km: float) -> OwedLook:
    task = work.task
    from_km, to_km = (max(work.km + km, here_km) for km in (look.low_km, look.high_km))
    return OwedLook(look, task.item, task.position, work.row, work.km, from_km, to_km, None)


def _where_they_fit(problem: PlacementProblem, s: Situation, owed: Sequence[OwedLook]) -> tuple[OwedLook, ...]:
    """Each at its place while that has the minutes, the shortest first; the others are left to a halt."""
    left: dict[int, float] = {}
    taken: set[tuple[int, tuple[str, str, str]]] = set()
    found = []
    for one in sorted(owed, key=lambda one: (one.look.minutes, one.from_km, one.thing)):
        site = _place(problem, s, one)
        if site is not None and (site, one.thing) not in taken:
            rest = left.get(site, most_minutes(problem, site)) - one.look.minutes * problem.place_factor[site]
            if rest >= 0:
                left[site] = rest
                taken.add((site, one.thing))
            else:
                site = None
        found.append(replace(one, site=site))
    return tuple(sorted(found, key=lambda one: (one.from_km, one.thing, one.look.low_km)))


def _place(problem: PlacementProblem, s: Situation, owed: OwedLook) -> int | None:
    """Open: the first day at home, or the stop where the rig stands; else behind the shakedown, or a stop in its km."""
    days = [site for site in range(problem.workshop_count) if problem.sites[site].date >= owed.row.date]
    first_km = owed.work_km + owed.look.low_km
    if days and first_km <= 0.0:
        return days[0]
    if days and first_km <= problem.shakedown_km and problem.sites[days[-1]].date > owed.row.date:
        return days[-1]
    stops = [site for site, there in enumerate(problem.sites) if there.kind == STOP and there.trip_km > owed.work_km]
    if 0 in stops and owed.from_km > first_km and problem.sites[0].date <= s.today:
        return 0
    return next((site for site in stops if owed.from_km <= problem.sites[site].trip_km <= owed.to_km), None)
