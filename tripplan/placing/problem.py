"""Placement, stated as a problem: where work is possible, what must be done by when, what
it costs. `greedy.py` and the solver answer it; both return a `Placing`.

A task is one act at one item position. `reach` says how far along the sites the item goes
on one renewal, as typical wear goes; wear only grows, so a single index says it all.
"""

from bisect import bisect_right
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from tripplan.due.runs_out import Course, Track
from tripplan.records.catalogue import Catalogue, Item, Teardown
from tripplan.records.facts_in import FACILITY_RANK, Stop, Trip, Unit, as_day
from tripplan.records.plan import DayOrMoment
from tripplan.records.units import MINUTES_PER_HOUR
from tripplan.records.words import SlotKind
from tripplan.trip.timeline import Timeline, add_months, leg_ends

WORKSHOP, STOP, AFTER = SlotKind
HAIR = 1e-9
PlaceKey = tuple[str, str, str | None]
Sides = ("left", "right")
AT_ONCE = "at once"


@dataclass(frozen=True, slots=True)
class Site:
    """A slot before it is filled. `legs_done` legs lie before it; minutes None = no limit."""

    id: str
    kind: str
    date: date
    place: str
    facility: str
    after_leg: int
    legs_done: int
    trip_km: float
    minutes: float | None
    zone: str | None = None
    arrive: DayOrMoment | None = None
    leave: DayOrMoment | None = None

    @property
    def rank(self) -> int:
        """How much can be done here: camp 1, town 2, workshop 3."""
        return FACILITY_RANK[self.facility]


@dataclass(frozen=True, slots=True)
class Task:
    """One act to be placed.

    `reach[p + 1]` is the last site index reachable from a renewal at site p (`reach[0]` from
    the state at today). `shares[p + 1][q]` is the typical share of the interval used from p
    to q, `strand[p + 1][q]` the expected cost of standing still between them. `opens` also names the looks that come with the act at once, under the place
    `AT_ONCE`; like an opening they are paid once a site. A one-shot task (`window` set) is done once, at a site from `window[0]` to `window[1]`.
    """

    item: Item
    unit: Unit
    position: str | None
    act: str
    minutes: float
    facility: str
    state: str
    opens: tuple[tuple[PlaceKey, str], ...]
    earliest: int
    reach: tuple[int, ...] = ()
    shares: tuple[tuple[float, ...], ...] = ()
    strand: tuple[tuple[float, ...], ...] = ()
    overdue: bool = False
    window: tuple[int, int] | None = None
    calls: tuple[int, ...] = ()
    resets: bool = False

    @property
    def key(self) -> tuple[str, str, str, str, int]:
        """A stable order and identity: item, unit, position, act, first call."""
        return (self.item.id, self.unit.id, self.position or "", self.act, self.calls[0] if self.calls else -1)

    @property
    def thing(self) -> tuple[str, str, str]:
        """The item position the task renews: item, unit, position."""
        return (self.item.id, self.unit.id, self.position or "")


@dataclass(frozen=True, slots=True)
class Unmet:
    """A task that cannot be kept inside its limit: where it ended up, if anywhere."""

    task: int
    site: int | None
    why: str


@dataclass(frozen=True, slots=True)
class PlacementProblem:
    """Sites in time order, tasks in a stable order, and what time costs at each site.

    `covered_by[i]` are the tasks that do task i on the way wherever they are done; a one-shot
    task only inside its window. `twins` are the two sides of an axle, equally far gone: they are
    done together unless that breaks a limit.
    Within `quiet_days` of `depart` nothing delicate is opened; `shakedown` says whether a
    loaded drive comes before the last workshop day. Opening and closing minutes are by (place, state); an `AT_ONCE` look counts as opening.
    """

    sites: tuple[Site, ...]
    tasks: tuple[Task, ...]
    covered_by: tuple[tuple[int, ...], ...]
    teardown: dict[tuple[str, str], Teardown]
    open_minutes: dict[tuple[str, str], float]
    close_minutes: dict[tuple[str, str], float]
    rate_per_hour: float
    labour_factor: tuple[float, ...]
    tolerance_share: float
    depart: date
    quiet_days: float
    shakedown: bool
    twins: tuple[tuple[int, int], ...] = ()

    @property
    def last(self) -> int:
        """Index of the site after return."""
        return len(self.sites) - 1

    @property
    def workshop_count(self) -> int:
        """How many sites lie before departure; they come first."""
        return sum(site.kind == WORKSHOP for site in self.sites)


@dataclass(frozen=True, slots=True)
class Placing:
    """For each task the site indices where it is done as a job of its own, and what is unmet.

    Where another task covers it (`PlacementProblem.covered_by`) it is renewed as well.
    `kept_open` names what stays open overnight from a workshop day to the next site.
    """

    visits: tuple[tuple[int, ...], ...]
    unmet: tuple[Unmet, ...]
    method: str
    gap: float | None = None
    kept_open: frozenset[tuple[int, PlaceKey, str]] = frozenset()


def renewals(problem: PlacementProblem, placing: Placing, index: int) -> tuple[int, ...]:
    """All site indices at which a task's item is renewed, by itself or on the way."""
    found = set(placing.visits[index])
    for other in problem.covered_by[index]:
        found.update(placing.visits[other])
    return tuple(sorted(found))


def once_done(problem: PlacementProblem, placing: Placing, index: int) -> tuple[int, ...]:
    """Site indices at which a one-shot task is done inside its window, by itself or on the way."""
    window = problem.tasks[index].window
    assert window is not None
    return tuple(site for site in renewals(problem, placing, index) if window[0] <= site <= window[1])


def build_sites(trip: Trip, timeline: Timeline, today: date) -> tuple[Site, ...]:
    """Workshop days still to come, stops not yet left behind, and the time after return."""
    days = sorted((d for d in trip.workshop_days if today <= d.date <= trip.depart), key=lambda d: d.date)
    sites = [Site(f"workshop-{d.date}", WORKSHOP, d.date, "home", "workshop", 0, 0, 0.0, d.minutes) for d in days]
    number = {leg.leg: index for index, leg in enumerate(timeline.legs)}
    for stop in sorted(trip.stops, key=lambda stop: (number[stop.after_leg], stop.date, stop.stop)):
        if as_day(stop.leave) >= today:
            index = number[stop.after_leg]
            end_km = timeline.starts_km[index] + timeline.legs[index].distance_km
            sites.append(
                Site(
                    stop_id(stop),
                    STOP,
                    max(stop.date, today),
                    stop.stop,
                    stop.facility,
                    stop.after_leg,
                    index + 1,
                    end_km,
                    stop.minutes,
                    stop.zone,
                    stop.arrive,
                    stop.leave,
                )  # fmt: skip
            )
    home = max(trip.return_ + timedelta(days=1), today)
    last_leg = timeline.legs[-1].leg if timeline.legs else 0
    sites.append(Site("after", AFTER, home, "home", "workshop", last_leg, len(timeline.legs), timeline.total_km, None))
    return tuple(sites)


def stop_id(stop: Stop) -> str:
    """The name of a stop's slot, the same in every plan of the trip."""
    return f"{STOP}-{stop.after_leg}-{slug(stop.stop)}"


def slug(name: str) -> str:
    """A name as lower-case words joined by dashes, for a stable id."""
    return "-".join("".join(mark if mark.isalnum() else " " for mark in name.lower()).split())


def ladder(teardown: dict[tuple[str, str], Teardown], place: str, state: str) -> tuple[str, ...]:
    """The states to open at a place to reach `state`, outermost first; closed = none."""
    path: list[str] = []
    current: str | None = None if state == "closed" else state
    while current is not None:
        path.append(current)
        current = teardown[(place, current)].parent
    return tuple(reversed(path))


def opens(
    item: Item, unit: Unit, position: str | None, state: str, teardown: dict[tuple[str, str], Teardown]
) -> tuple[tuple[PlaceKey, str], ...]:
    """Every place and state an act needs open; at a wheel end without a side, both sides."""
    sides: Sequence[str | None] = (position,)
    if position is None and item.place.endswith("wheel end"):
        sides = Sides
    states = ladder(teardown, item.place, state)
    return tuple(((unit.id, item.place, side), name) for side in sides for name in states)


def reach_and_shares(
    course: Course, sites: Sequence[Site], pile_index: Sequence[int], today: date, overdue: bool
) -> tuple[tuple[int, ...], tuple[tuple[float, ...], ...]]:
    """How far each renewal lasts, and the share used between any two sites.

    `pile_index[s]` is the number of stretches driven before site s.
    """
    count = len(sites)
    reach = [count - 1] * (count + 1)
    shares = [[0.0] * count for _ in range(count + 1)]
    for track in course.tracks:
        at = at_sites(track, track.used, track.typical, sites, pile_index, today)
        for p, start in enumerate([0.0, *at]):
            reach[p] = min(reach[p], bisect_right(at, (start + track.interval) * (1 + HAIR)) - 1)
            for q in range(p, count):
                shares[p][q] = max(shares[p][q], (at[q] - start) / track.interval)
    if course.months:
        _add_months(course, sites, reach, shares)
    if overdue:
        reach[0] = last_chance(sites, today)
    return tuple(reach), tuple(tuple(row) for row in shares)


def last_chance(sites: Sequence[Site], today: date) -> int:
    """Index of the last site before the rig goes on: the last workshop day, or the stop it stands at.

    -1 when it goes on without any.
    """
    if any(site.kind == WORKSHOP for site in sites):
        return sum(site.kind == WORKSHOP for site in sites) - 1
    return 0 if sites[0].kind == STOP and sites[0].date <= today else -1


def at_sites(
    track: Track, used_depart: float, piled: Sequence[float], sites: Sequence[Site],
    pile_index: Sequence[int], today: date,
) -> list[float]:  # fmt: skip
    """Use of a meter when each site is reached, if nothing is renewed before."""
    return [
        track.used_today + track.idle_per_day * (site.date - today).days
        if site.kind == WORKSHOP
        else used_depart + (piled[pile_index[s] - 1] if pile_index[s] else 0.0)
        for s, site in enumerate(sites)
    ]


def _add_months(course: Course, sites: Sequence[Site], reach: list[int], shares: list[list[float]]) -> None:
    months = course.months
    assert months is not None
    dates = [site.date for site in sites]
    for p in range(len(sites) + 1):
        done = dates[p - 1] if p else months.done
        due = add_months(done, months.interval) if p else months.due
        reach[p] = min(reach[p], bisect_right(dates, due) - 1)
        span_days = (due - done).days
        for q in range(p, len(sites)):
            shares[p][q] = max(shares[p][q], (dates[q] - done).days / span_days)


def pile_indices(sites: Iterable[Site], timeline: Timeline) -> tuple[int, ...]:
    """For each site the number of stretches that lie before it."""
    ends = (0, *leg_ends(timeline))
    return tuple(ends[site.legs_done] for site in sites)


def first_site_from(sites: Sequence[Site], today: date, lead_days: float) -> int:
    """Index of the first site whose day leaves time for parts ordered today to arrive."""
    ready = today + timedelta(days=lead_days)
    return next((i for i, site in enumerate(sites) if site.date >= ready), len(sites) - 1)


def opening_minutes(problem: PlacementProblem, opened: Iterable[tuple[PlaceKey, str]]) -> float:
    """Minutes to open and close these states, each once."""
    pairs = [(key[1], state) for key, state in set(opened)]
    return sum(problem.open_minutes[pair] + problem.close_minutes[pair] for pair in pairs)


def opened_at(problem: PlacementProblem, placing: Placing) -> tuple[frozenset[tuple[PlaceKey, str]], ...]:
    """For each site everything that has to be open there, kept open from the day before or not."""
    opened: list[set[tuple[PlaceKey, str]]] = [set() for _ in problem.sites]
    for task, visits in zip(problem.tasks, placing.visits, strict=True):
        for site in visits:
            opened[site].update(task.opens)
    return tuple(frozenset(states) for states in opened)


def site_minutes(problem: PlacementProblem, placing: Placing) -> tuple[float, ...]:
    """Minutes planned at each site, every opening counted once, what is kept open not closed."""
    minutes = [opening_minutes(problem, states) for states in opened_at(problem, placing)]
    for task, visits in zip(problem.tasks, placing.visits, strict=True):
        for site in visits:
            minutes[site] += task.minutes
    for site, key, state in placing.kept_open:
        minutes[site] -= problem.close_minutes[(key[1], state)]
        minutes[site + 1] -= problem.open_minutes[(key[1], state)]
    return tuple(minutes)


def labour_cost(problem: PlacementProblem, site: int, minutes: float) -> float:
    """What these minutes cost at this site."""
    return minutes / MINUTES_PER_HOUR * problem.rate_per_hour * problem.labour_factor[site]


def alone_minutes(problem: PlacementProblem, task: Task) -> float:
    """Minutes of a task done on its own, with all its opening."""
    return task.minutes + opening_minutes(problem, task.opens)


def arc_cost(problem: PlacementProblem, task: Task, start: int, site: int, own: bool) -> float:
    """Cost of going from a renewal at `start` (-1 = today's state) to the next at `site`.

    Expected standing still on the way, and where the task is a job of its own the life
    thrown away, at the worth of its own work. What is overdue has no life to throw away.
    """
    cost = task.strand[start + 1][site]
    if own and not (task.overdue and start == -1):
        worth = task.minutes / MINUTES_PER_HOUR * problem.rate_per_hour
        cost += worth * max(0.0, 1.0 - task.shares[start + 1][site])
    return cost


def path_cost(problem: PlacementProblem, placing: Placing, index: int) -> float:
    """Arc costs of one task over the whole trip; a one-shot task has none."""
    task = problem.tasks[index]
    if task.window is not None:
        return 0.0
    total, start = 0.0, -1
    for site in renewals(problem, placing, index):
        total += arc_cost(problem, task, start, site, site in placing.visits[index])
        start = site
    return total + (task.strand[start + 1][problem.last] if start < problem.last else 0.0)


def totals(problem: PlacementProblem, placing: Placing) -> tuple[float, float]:
    """Minutes and cost of a placing: labour where it is done, life thrown away, standing still."""
    minutes = site_minutes(problem, placing)
    cost = sum(labour_cost(problem, site, value) for site, value in enumerate(minutes))
    cost += sum(path_cost(problem, placing, index) for index in range(len(problem.tasks)))
    return sum(minutes), cost


def each_alone(problem: PlacementProblem, placing: Placing) -> tuple[float, float]:
    """The same jobs at the same sites, every one opening for itself."""
    minutes = cost = 0.0
    for index, (task, visits) in enumerate(zip(problem.tasks, placing.visits, strict=True)):
        own = alone_minutes(problem, task)
        minutes += own * len(visits)
        cost += sum(labour_cost(problem, site, own) for site in visits)
        cost += path_cost(problem, placing, index)
    return minutes, cost


def labour_factors(sites: Sequence[Site], catalogue: Catalogue) -> tuple[float, ...]:
    """How much dearer an hour of work is at each site than at home."""
    names = {"camp": "place_factor_camp", "town": "place_factor_town", "workshop": "place_factor_workshop"}
    return tuple(catalogue.assumed(names[site.facility]).value if site.kind == STOP else 1.0 for site in sites)


def all_before(problem: PlacementProblem, placing: Placing) -> tuple[float, float]:
    """Everything serviced once at home before departure, due or not, openings shared.

    What a greater job does on the way is not counted twice; what does not last the trip
    even so is done again on the road as this plan does it, on its own.
    """
    leaving = max(problem.workshop_count - 1, 0)
    done = [i for i, task in enumerate(problem.tasks) if task.window is None and not problem.covered_by[i]]
    opened = {pair for i in done for pair in problem.tasks[i].opens}
    minutes = sum(problem.tasks[i].minutes for i in done) + opening_minutes(problem, opened)
    cost = minutes / MINUTES_PER_HOUR * problem.rate_per_hour
    for index in done:
        task = problem.tasks[index]
        cost += arc_cost(problem, task, -1, leaving, True) + task.strand[leaving + 1][problem.last]
    for index, task in enumerate(problem.tasks):
        if task.window is not None or task.reach[leaving + 1] < problem.last:
            for site in placing.visits[index]:
                if problem.sites[site].kind == STOP:
                    minutes += alone_minutes(problem, task)
                    cost += labour_cost(problem, site, alone_minutes(problem, task))
    return minutes, cost
