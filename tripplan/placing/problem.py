"""Placement, stated as a problem: where work is possible, what waiting costs, what an hour is worth.

A task is one act at one item position. Money is counted in thousandths of the owner's
currency, as whole numbers. Every search answers with a `Placing`; what that takes and costs
is reckoned in `reckoning.py`.
"""

from collections.abc import Iterable, Sequence
from datetime import date, timedelta

from msgspec import Struct

from tripplan.records.catalogue import Catalogue, Item, Teardown, opened_where
from tripplan.records.facts_in import FACILITY_RANK, HistoryRow, Stop, Trip, Unit, as_day
from tripplan.records.plan_work import DayOrMoment
from tripplan.records.words import WITH_SHOPS, SlotKind
from tripplan.trip.timeline import Timeline

WORKSHOP, STOP, AFTER = SlotKind
HAIR = 1e-9

PlaceKey = tuple[str, str, str | None]
Sides = ("left", "right")
FACTOR_OF = {"camp": "place_factor_camp", "town": "place_factor_town", "workshop": "place_factor_workshop"}
AT_ONCE, AGAIN = "at once", "again"
THOUSAND = 1000


class Site(Struct, frozen=True):
    """A slot before it is filled. `legs_done` legs lie before it; minutes None = no limit.

    `spent_minutes` is work done there already on the days it still has, which the owner's ceiling of a day counts.
    `home_again` is true of the time after return once the return lies behind.
    """

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
    spent_minutes: float = 0.0
    home_again: bool = False

    @property
    def days(self) -> int:
        """Days spent here, the day of arrival and of departure as one; 1 where it is not known."""
        if self.arrive is None or self.leave is None:
            return 1
        return max(1, (as_day(self.leave) - max(self.date, as_day(self.arrive))).days)

    @property
    def rank(self) -> int:
        """How much can be done here: camp 1, town 2, workshop 3."""
        return FACILITY_RANK[self.facility]


class LookAgain(Struct, frozen=True):
    """A look that some work brings after so many km: at which item, unit and side, and its minutes at home.

    `halt_minutes` are those away from every site, with what is opened for it there; None = the same.
    """

    item: str
    unit: str
    side: str | None
    low_km: float
    high_km: float
    minutes: float
    halt_minutes: float | None = None

    @property
    def opening(self) -> tuple[PlaceKey, str]:
        """The look as something that work brings about, paid where it falls."""
        return ((self.unit, AGAIN, self.side), f"{self.item} {self.low_km:g}-{self.high_km:g}")

    @property
    def on_the_spot(self) -> tuple[PlaceKey, str]:
        """The same look done at a site."""
        return ((self.unit, AT_ONCE, self.side), self.item)


class OwedLook(Struct, frozen=True):
    """A look that work on record brings and nobody recorded: where it falls is known before anything is placed.

    `by` and `position` are the item and side that were worked on, `row` is the line that says so, `work_km` the trip
    km of that work: below 0 = so many km before departure. It is owed from `from_km` to `to_km` of the trip, neither
    of them behind the rig, at `site`; None = at a halt.
    """

    look: LookAgain
    by: Item
    position: str | None
    row: HistoryRow
    work_km: float
    from_km: float
    to_km: float
    site: int | None

    @property
    def thing(self) -> tuple[str, str, str]:
        """Item, unit and position to look at, as tasks name them."""
        return (self.look.item, self.look.unit, self.look.side or "")


class Task(Struct, frozen=True):
    """One act to be placed.

    `shares[p + 1][q]` is the typical share of the interval used from a renewal at site p (-1 =
    today) to site q, `late[p + 1][q]` what waiting that long costs, `worth[p + 1]` what is lost at
    the end of the trip against a new part; both in thousandths. `reach[p + 1]` is the last site
    reached inside the interval, `sound[p + 1]` the last that is inside the hard limit of an act
    that renews what harms. `opens` also names the looks that come with the act at once, under the
    place `AT_ONCE`; like an opening they are paid once a site. `again` are the looks that follow
    some km later. `covered_at_hub` marks what is a part of other work that every open hub gets, as a seal is of packing. A one-shot task (`window` set) is done once, at a site from
    `window[0]` to `window[1]`, or left undone at the price `undone`. `look_first` marks an overhaul without a record,
    `look_tells` one that a look named by its item can tell about: it is no job until that look asks for it.
    `put_right_by` is the last site in time for a known fault that may not be left longer.
    `later_minutes` is set where a finding makes the first visit another act than the usual one, which
    comes round again after it. `found_bad` marks what the first visit is to put right. `water_met`
    marks what a crossing that was made calls for: it may go beyond the owner's ceilings of the road.
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
    sound: tuple[int, ...] = ()
    shares: tuple[tuple[float, ...], ...] = ()
    late: tuple[tuple[int, ...], ...] = ()
    worth: tuple[int, ...] = ()
    again: tuple[LookAgain, ...] = ()
    overdue: bool = False
    window: tuple[int, int] | None = None
    undone: int = 0
    calls: tuple[int, ...] = ()
    resets: bool = False
    look_first: bool = False
    look_tells: bool = False
    later_minutes: float | None = None
    found_bad: bool = False
    put_right_by: int | None = None
    water_met: bool = False
    covered_at_hub: bool = False

    @property
    def key(self) -> tuple[str, str, str, str, int]:
        """A stable order and identity: item, unit, position, act, first call."""
        return (self.item.id, self.unit.id, self.position or "", self.act, self.calls[0] if self.calls else -1)

    @property
    def thing(self) -> tuple[str, str, str]:
        """The item position the task renews: item, unit, position."""
        return (self.item.id, self.unit.id, self.position or "")


class Unmet(Struct, frozen=True):
    """A task that cannot be kept inside its limit: where it ended up, if anywhere."""

    task: int
    site: int | None
    why: str


class Ceilings(Struct, frozen=True):
    """What the owner gives of the road: minutes a day at the most, and over the whole trip; None = no end."""

    day_minutes: float | None = None
    trip_minutes: float | None = None

    def days_room(self, site: Site) -> float:
        """What is left of the ceiling of a day, for all days that a stop on the road still has."""
        if self.day_minutes is None:
            return float("inf")
        return max(0.0, self.day_minutes * site.days - site.spent_minutes)


class PlacementProblem(Struct, frozen=True, eq=False):
    """Sites in time order, tasks in a stable order, and what time costs at each site. One is equal to itself alone,
    so that what was worked out for it is found again at once.

    `covered_by[i]` are the tasks that do task i on the way wherever they are done; a one-shot
    task only inside its window. `twins` are the two sides of an axle: they are done together.
    At site s a minute of the home shed takes `place_factor[s]` minutes, and an hour is worth
    `hour_price[s]`; setting out and clearing up take `set_out_minutes` of the home shed.
    At a halt on the road a minute of the home shed takes `halt_factor` minutes and an hour is worth
    `halt_hour_price`; `legs` are the ends of the legs in trip km, with the day each is driven, and
    `takes_looks` are sites and the looks (item, unit, side) that they take when these fall due there;
    `owed` are those that work on record brings, wherever work is placed; for the `spared` of them a placing keeps no
    minutes, since it makes them anyway.
    Within `quiet_days` of `depart` nothing delicate is opened; `shakedown_km` is the length of the
    loaded drive before the last workshop day. Opening and closing minutes are by (place, state); an `AT_ONCE` look counts as opening.
    """

    sites: tuple[Site, ...]
    tasks: tuple[Task, ...]
    covered_by: tuple[tuple[int, ...], ...]
    teardown: dict[tuple[str, str], Teardown]
    open_minutes: dict[tuple[str, str], float]
    close_minutes: dict[tuple[str, str], float]
    hour_price: tuple[float, ...]
    place_factor: tuple[float, ...]
    at_home: tuple[bool, ...]
    set_out_minutes: float
    halt_factor: float
    halt_hour_price: float
    tolerance_share: float
    short_share: float
    depart: date
    quiet_days: float
    shakedown_km: float
    legs: tuple[tuple[float, date], ...] = ()
    takes_looks: frozenset[tuple[int, str, str, str | None]] = frozenset()
    owed: tuple[OwedLook, ...] = ()
    spared: tuple[OwedLook, ...] = ()
    ceilings: Ceilings = Ceilings()
    twins: tuple[tuple[int, int], ...] = ()

    @property
    def last(self) -> int:
        """Index of the site after return."""
        return len(self.sites) - 1

    @property
    def shakedown(self) -> bool:
        """True when a loaded drive comes before the last workshop day."""
        return self.shakedown_km > 0

    @property
    def workshop_count(self) -> int:
        """How many sites lie before departure; they come first."""
        return sum(site.kind == WORKSHOP for site in self.sites)


class Placing(Struct, frozen=True):
    """For each task the site indices where it is done as a job of its own, and what is unmet.

    Where another task covers it (`PlacementProblem.covered_by`) it is renewed as well.
    `kept_open` names what stays open overnight from a workshop day to the next site. `weighed` is how much was weighed to
    find it: the same on every machine.
    """

    visits: tuple[tuple[int, ...], ...]
    unmet: tuple[Unmet, ...]
    method: str
    gap: float | None = None
    kept_open: frozenset[tuple[int, PlaceKey, str]] = frozenset()
    weighed: int = 0


def opening_minutes(problem: PlacementProblem, opened: Iterable[tuple[PlaceKey, str]]) -> float:
    """Minutes of the home shed to open and close these states, each once."""
    pairs = [(key[1], state) for key, state in set(opened)]
    return sum(problem.open_minutes[pair] + problem.close_minutes[pair] for pair in pairs)


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
    is_back = today > trip.return_
    legs, km = len(timeline.legs), timeline.total_km
    sites.append(Site("after", AFTER, home, "home", "workshop", last_leg, legs, km, None, home_again=is_back))
    return tuple(sites)


def stop_id(stop: Stop) -> str:
    """The name of a stop's slot, the same in every plan of the trip."""
    return f"{STOP}-{stop.after_leg}-{slug(stop.stop)}"


def slug(name: str) -> str:
    """A name as lower-case words joined by dashes, for a stable id."""
    return "-".join("".join(mark if mark.isalnum() else " " for mark in name.lower()).split())


def ladder(teardown: dict[tuple[str, str], Teardown], place: str, state: str) -> tuple[tuple[str, str], ...]:
    """The places and states to open to reach `state` at a place, outermost first; closed = none."""
    path: list[tuple[str, str]] = []
    current: str | None = None if state == "closed" else state
    while current is not None:
        path.append(opened_where(teardown, place, current))
        current = teardown[path[-1]].parent
    return tuple(reversed(path))


def opens(
    item: Item, unit: Unit, position: str | None, state: str, teardown: dict[tuple[str, str], Teardown]
) -> tuple[tuple[PlaceKey, str], ...]:
    """Every place and state an act needs open; at a wheel end without a side, both sides."""
    sides: Sequence[str | None] = (position,)
    if position is None and item.place.endswith("wheel end"):
        sides = Sides
    states = ladder(teardown, item.place, state)
    return tuple(
        ((unit.id, place, side if place == item.place else None), name) for side in sides for place, name in states
    )


def is_at_home(site: Site, trip: Trip) -> bool:
    """True for workshop days and the time after return, and for a stop where the legs come home in between."""
    if site.kind != STOP:
        return True
    legs = sorted(trip.legs, key=lambda leg: leg.leg)
    return any(leg.leg == site.after_leg and leg.to == legs[0].from_ for leg in legs[:-1])


def factor_of(site: Site, trip: Trip, catalogue: Catalogue) -> float:
    """How many minutes one of the home shed takes there."""
    return 1.0 if is_at_home(site, trip) else catalogue.assumed(FACTOR_OF[site.facility]).value


def teardown_index(catalogue: Catalogue) -> dict[tuple[str, str], Teardown]:
    """Teardown rows by place and state."""
    return {(row.place, row.state): row for row in catalogue.teardown}


def last_chance(sites: Sequence[Site], today: date) -> int:
    """Index of the last site before the rig goes on: the last workshop day, or the stop it stands at.

    -1 when it goes on without any.
    """
    if any(site.kind == WORKSHOP for site in sites):
        return sum(site.kind == WORKSHOP for site in sites) - 1
    return 0 if sites[0].kind == STOP and sites[0].date <= today else -1


def first_site_from(sites: Sequence[Site], depart: date, today: date, lead_days: float) -> int:
    """Index of the first site whose day leaves time for parts ordered today to arrive.

    What comes too late to go along is sent on to a stop with shops, and from there it goes along.
    """
    ready = today + timedelta(days=lead_days)
    is_aboard = lead_days <= 0 or ready <= loading_day(sites, depart)
    return next(
        (i for i, site in enumerate(sites) if site.date >= ready and (is_aboard or takes_parcels(site))), len(sites) - 1
    )


def loading_day(sites: Sequence[Site], depart: date) -> date:
    """The last day of work before departure, on which all that is carried must be in the car, else departure itself."""
    return max((site.date for site in sites if site.kind == WORKSHOP), default=depart)


def takes_parcels(site: Site) -> bool:
    """True where parts can be sent to: home, and a stop with shops."""
    return site.kind != STOP or site.facility in WITH_SHOPS


def rank_needed(task: Task) -> int:
    """The least a site must offer for a task, as `Site.rank` counts."""
    return FACILITY_RANK[task.facility]


def may_stay_open(problem: PlacementProblem, day: int) -> bool:
    """True when the rig may stay apart from this workshop day to the next: overnight, at home."""
    if not 0 <= day < problem.workshop_count - 1:
        return False
    last_before_shakedown = problem.shakedown and day + 2 == problem.workshop_count
    return problem.sites[day + 1].date - problem.sites[day].date == timedelta(days=1) and not last_before_shakedown


def can_stand(problem: PlacementProblem, task: Task, site: int) -> bool:
    """True when the site offers what the task needs, in its window, and its parts can be there.

    An overhaul that nobody has a record of waits for a look that can tell about it, or for home where none can.
    """
    if task.look_tells or (task.look_first and site < problem.last):
        return False
    inside = task.window is None or task.window[0] <= site <= task.window[1]
    return inside and site >= task.earliest and problem.sites[site].rank >= rank_needed(task)
