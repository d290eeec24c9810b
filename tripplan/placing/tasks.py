"""From standings and water calls to tasks: what has to be placed, and what waiting costs it."""

from collections.abc import Mapping, Sequence
from datetime import date

from msgspec.structs import replace

from tripplan.due.faults import ItemAt
from tripplan.due.standing import Situation, Standing
from tripplan.placing.both_sides import done_for_both, twins_of
from tripplan.placing.followed_up import takes_looks
from tripplan.placing.found_bad import last_in_time
from tripplan.placing.lateness import lateness, shape_of
from tripplan.placing.looks_brought import looks_after, sides_of
from tripplan.placing.owed_looks import owed_looks
from tripplan.placing.problem import (
    AT_ONCE,
    THOUSAND,
    Ceilings,
    PlaceKey,
    PlacementProblem,
    Site,
    Task,
    build_sites,
    factor_of,
    first_site_from,
    is_at_home,
    last_chance,
    opens,
    teardown_index,
)
from tripplan.placing.spent import ceilings_left, sites_left, work_spent
from tripplan.placing.trade_rules import HUB_OFF, is_covered_at_hub, is_with_the_hub
from tripplan.placing.waiting import is_limited, is_overhaul, leg_dearness, often, rates_of, waiting
from tripplan.records.catalogue import Catalogue, Item, Teardown
from tripplan.records.facts_in import FACILITY_RANK, Unit, as_day
from tripplan.records.units import MINUTES_PER_HOUR
from tripplan.records.words import LOOKS, WaterWindow
from tripplan.trip.timeline import Timeline, leg_ends
from tripplan.water.crossing import Call, calls
from tripplan.water.met import without_met_looks

AT_THE_BANK, AT_THE_HALT, AGAIN_LATER = WaterWindow.BANK, WaterWindow.HALT, WaterWindow.LATER
THE_SAME_NIGHT = WaterWindow.NIGHT
OWED_AT_HOME = (THE_SAME_NIGHT, WaterWindow.DAYS, WaterWindow.BEFORE_REMOTE)
WALK_ROUND = "walk-round"
Prices = Mapping[tuple[str, str], float]


def placement_problem(standings: Sequence[Standing], calls: Sequence[Call], s: Situation) -> PlacementProblem:
    """Sites and tasks of this trip, ready for the search or the plain rule."""
    spent = work_spent(s)
    sites = sites_left(build_sites(s.ahead, s.timeline, s.today), spent, s)
    teardown = teardown_index(s.catalogue)
    prices = act_prices(standings, teardown, rates_of(s).home_hour)
    tasks = [_renewal(standing, sites, teardown, prices, s) for standing in standings]
    tasks += _once_tasks(calls, sites, teardown, {x.thing: x.item for x in standings if x.usual is not None}, s)
    ordered = tuple(sorted(tasks, key=lambda task: task.key))
    covered_by = _coverers(ordered, s)
    twins = twins_of(ordered, covered_by)
    at_home = tuple(is_at_home(site, s.trip) for site in sites)
    rates, value = rates_of(s), s.catalogue.assumed
    problem = PlacementProblem(
        sites=sites,
        tasks=ordered,
        covered_by=done_for_both(ordered, covered_by, twins),
        teardown=teardown,
        open_minutes={key: row.open_minutes for key, row in teardown.items()}
        | {(AT_ONCE, item.id): s.catalogue.look_minutes(item) for item in s.catalogue.items},
        close_minutes={key: row.close_minutes for key, row in teardown.items()}
        | {(AT_ONCE, item.id): 0.0 for item in s.catalogue.items},
        hour_price=tuple(rates.home_hour if home else rates.holiday_hour for home in at_home),
        place_factor=tuple(factor_of(site, s.trip, s.catalogue) for site in sites),
        at_home=at_home,
        set_out_minutes=value("set_out_minutes").value + value("clean_up_minutes").value,
        halt_factor=value("place_factor_halt").value,
        halt_hour_price=rates.holiday_hour,
        tolerance_share=value("tolerance_share").value,
        short_share=value("short_time_share").value,
        depart=s.trip.depart,
        quiet_days=value("opening_near_departure_days").value,
        shakedown_km=s.trip.shakedown_km,
        legs=tuple((end, leg.date) for end, leg in zip(_ends_km(s), s.timeline.legs, strict=True)),
        ceilings=ceilings_left(ceilings_of(s), spent, sites, s),
        twins=twins,
    )
    problem = replace(problem, owed=owed_looks(problem, s))
    return replace(problem, takes_looks=takes_looks(problem))


def _ends_km(s: Situation) -> list[float]:
    return [start + leg.distance_km for start, leg in zip(s.timeline.starts_km, s.timeline.legs, strict=True)]


def ceilings_of(s: Situation) -> Ceilings:
    """The owner's, or the table's: minutes a day, and over the days of the trip with one longer spell."""
    value, trip = s.catalogue.assumed, s.trip

    def given(own: float | None, name: str) -> float:
        return value(name).value if own is None else own

    days = (trip.return_ - trip.depart).days + 1
    mean = given(trip.road_daily_minutes, "road_daily_minutes")
    longer = given(trip.road_long_spell_minutes, "road_long_spell_minutes")
    return Ceilings(given(trip.road_day_limit_minutes, "road_day_limit_minutes"), mean * days + longer)


def act_prices(
    standings: Sequence[Standing], teardown: dict[tuple[str, str], Teardown], hour: float
) -> dict[tuple[str, str], float]:
    """What each act costs at home, by item and unit: its labour and its fair share of what it opens.

    All who need an opening are served when the most frequent of them comes round; each of its
    uses bears the same part of it, so that together they pay for it once. What a remedy takes and opens beside
    the usual act comes once: no interval was chosen for it.
    """
    frequent: dict[tuple[str, str, str], list[float]] = {}
    for standing in standings:
        for place, state in _states(standing, teardown):
            frequent.setdefault((standing.unit.id, place, state), []).append(often(standing.usual or standing.item))
    found = {}
    for standing in standings:
        item, unit = standing.usual or standing.item, standing.unit
        minutes = item.minutes
        for place, state in _states(standing, teardown):
            uses = frequent[(unit.id, place, state)]
            row = teardown[(place, state)]
            minutes += (row.open_minutes + row.close_minutes) * min(
                1.0, len(item.positions or (None,)) * max(uses) / sum(uses)
            )
        found[(item.id, unit.id)] = minutes * hour / MINUTES_PER_HOUR
    return found


def _states(standing: Standing, teardown: dict[tuple[str, str], Teardown]) -> tuple[tuple[str, str], ...]:
    item = standing.usual or standing.item
    needed = opens(item, standing.unit, standing.position, item.state, teardown)
    return tuple(dict.fromkeys((key[1], state) for key, state in needed))


def _each_morning(standing: Standing, sites: Sequence[Site], task: Task, today: date) -> Task:
    """A walk-round check: once before going on if due, then each morning; it takes no slot's minutes."""
    count, leaving = len(sites), last_chance(sites, today)
    nothing, free = ((0.0,) * count,) * (count + 1), ((0,) * count,) * (count + 1)
    reach = (leaving if standing.overdue else count - 1, *[count - 1] * count)
    return replace(
        task, minutes=0.0, later_minutes=None, opens=(), earliest=max(leaving, 0), reach=reach, sound=(count - 1,) * (count + 1),
        shares=nothing, late=free, worth=(0,) * (count + 1), again=(),
    )  # fmt: skip


def _done_once(task: Task) -> Task:
    """What puts a finding right behind more than its own act opens: once, since that is not opened for the usual act."""
    count = len(task.late[0])
    free, end = (0,) * count, (count - 1,)
    return replace(
        task, later_minutes=task.minutes, late=(task.late[0], *[free] * count), worth=(task.worth[0], *free),
        reach=(task.reach[0], *end * count), sound=(task.sound[0], *end * count),
    )  # fmt: skip


def _mornings_after(task: Task) -> Task:
    """A walk-round check that found something: after it is put right it is looked at each morning, and takes no slot's minutes."""
    count = len(task.late[0])
    return replace(task, shares=(task.shares[0], *[(0.0,) * count] * count))


def _coverers(tasks: Sequence[Task], s: Situation) -> tuple[tuple[int, ...], ...]:
    """For each task the tasks whose act does it on the way, at the same side or the whole unit.

    What puts a finding right is no part of a greater act: a hub that is packed has looked at its brakes, not
    renewed them; nor is it done by what water calls for where that is a lesser act: a worn joint that is greased is
    worn. What water calls for is done on the way by an act at the same item that is as much and opens
    as far. Whoever has the hub off does all that belongs to it, and a look that comes with an act is that look.
    """
    covered_by = s.history.covered_by
    renewals: dict[tuple[str, str], list[int]] = {}
    brings: dict[tuple[PlaceKey, str], list[int]] = {}
    for index, task in enumerate(tasks):
        if task.window is None or task.resets:
            renewals.setdefault((task.item.id, task.unit.id), []).append(index)
        for pair in task.opens:
            if pair[0][1] == AT_ONCE or pair[1] == HUB_OFF:
                brings.setdefault(pair, []).append(index)

    def of(task: Task) -> tuple[int, ...]:
        is_remedy = task.later_minutes is not None and not is_with_the_hub(task)
        others = (task.item, *(covered_by.get(task.item.id, ()) if task.window is None and not is_remedy else ()))
        found = [
            index
            for other in others
            for index in renewals.get((other.id, task.unit.id), ())
            if tasks[index].position in (None, task.position) and tasks[index] is not task
        ]
        enough = s.catalogue.acts_doing.get(task.act, {task.act})
        if task.found_bad:
            found = [i for i in found if tasks[i].window is None or tasks[i].act in enough]
        if task.window is not None:
            return tuple(sorted(i for i in found if tasks[i].act in enough and set(task.opens) <= set(tasks[i].opens)))
        if is_remedy:
            return tuple(sorted(found))
        found += brings.get(((task.unit.id, AT_ONCE, task.position), task.item.id), ())
        for done in (task, *(tasks[index] for index in tuple(found))):
            if is_with_the_hub(done):
                found += brings.get(((done.unit.id, done.item.place, done.position), HUB_OFF), ())
        return tuple(sorted({i for i in found if tasks[i] is not task}))

    return tuple(of(task) for task in tasks)


def _renewal(
    standing: Standing, sites: Sequence[Site], teardown: dict[tuple[str, str], Teardown], prices: Prices, s: Situation
) -> Task:
    item, unit = standing.item, standing.unit
    needed = opens(item, unit, standing.position, item.state, teardown)
    deep = sum(
        teardown[(key[1], state)].open_minutes + teardown[(key[1], state)].close_minutes for key, state in needed
    )
    is_unknown = standing.done is None and standing.bad is None
    look_first = is_unknown and is_overhaul(item, deep) and _names_a_look(item, unit, s.catalogue)
    rows = waiting(standing, sites, leg_ends(s.timeline), s, prices[(item.id, unit.id)], look_first)
    task = Task(
        item=item,
        unit=unit,
        position=standing.position,
        act=item.act,
        minutes=item.minutes,
        facility=item.facility,
        state=item.state,
        opens=needed + _at_once(item, unit, standing.position, s.catalogue),
        earliest=first_site_from(sites, s.trip.depart, s.today, standing.lead_days),
        reach=rows.reach,
        sound=rows.sound,
        shares=rows.shares,
        late=rows.late,
        worth=rows.worth,
        overdue=standing.overdue and not look_first,
        look_first=look_first,
        later_minutes=standing.usual.minutes if standing.usual else None,
        found_bad=standing.bad is not None,
        put_right_by=last_in_time(standing, sites, s),
        covered_at_hub=is_covered_at_hub(item, unit, s.catalogue.items),
    )
    tells = look_first and (not is_limited(item) or rows.sound[0] >= len(sites) - 1)
    task = replace(task, again=looks_after(task, s.catalogue), look_tells=tells)
    if standing.usual is not None and is_walk_round(standing.usual):
        return _mornings_after(_done_once(task))
    if standing.usual is not None and standing.usual.state != item.state:
        return _done_once(task)
    return _each_morning(standing, sites, task, s.today) if is_walk_round(item) else task


def _names_a_look(item: Item, unit: Unit, catalogue: Catalogue) -> bool:
    """True where a look at the same place, which the act itself names, tells whether it is needed: play, leaks, noise.

    A timing belt of unknown age shows nothing: no look stands in for it.
    """
    looks = [found for one in item.follow_ups if (found := catalogue.find(one.item)) is not None]
    return any(look.act in LOOKS and look.place == item.place and look.fits(unit) for look in looks)


def _at_once(item: Item, unit: Unit, position: str | None, catalogue: Catalogue) -> tuple[tuple[PlaceKey, str], ...]:
    """The looks an act brings with it on the spot, such as play with the wheel off the ground."""
    found: list[tuple[PlaceKey, str]] = []
    for follow in item.follow_ups:
        look = catalogue.item(follow.item)
        if follow.at_once and look.fits(unit):
            found += [((unit.id, AT_ONCE, side), look.id) for side in sides_of(look, position)]
    return tuple(found)


def _once_tasks(
    calls: Sequence[Call], sites: Sequence[Site], teardown: dict[tuple[str, str], Teardown],
    found_bad: Mapping[tuple[str, str, str], Item], s: Situation,
) -> list[Task]:  # fmt: skip
    """One-shot tasks, one for each visit that calls share; `found_bad` are items as their remedy has them."""
    tasks = [_once(visit, teardown, found_bad, s) for visit in shared_visits(calls, sites)]
    return [_owed(task, teardown, s) for task in tasks] if sites[-1].home_again else tasks


def _owed(task: Task, teardown: dict[tuple[str, str], Teardown], s: Situation) -> Task:
    """A task that cannot be left any longer: leaving it costs twice what it takes by itself, setting out and all."""
    rows = [teardown[(key[1], state)] for key, state in task.opens if key[1] != AT_ONCE]
    setting_out = sum(s.catalogue.assumed(name).value for name in ("set_out_minutes", "clean_up_minutes"))
    minutes = task.minutes + sum(row.open_minutes + row.close_minutes for row in rows) + setting_out
    return replace(
        task, undone=max(task.undone, round(2 * THOUSAND * minutes / MINUTES_PER_HOUR * rates_of(s).home_hour))
    )


Windowed = tuple[int, Call, tuple[int, int]]
"""A call with its number and the sites from first to last that are in time for it."""


def shared_visits(calls: Sequence[Call], sites: Sequence[Site]) -> list[list[Windowed]]:
    """The calls that are booked, those together that one visit meets: the same act at the same item, windows that meet."""
    groups: dict[tuple[str, str, str, str, str], list[Windowed]] = {}
    for index, call in enumerate(calls):
        window = site_window(call, sites)
        if window and not call.contingent and call.rule.when not in (AT_THE_BANK, AT_THE_HALT, AGAIN_LATER):
            key = (call.item.id, call.unit.id, call.position or "", call.rule.act, call.rule.state)
            groups.setdefault(key, []).append((index, call, window))
    return [chunk for group in groups.values() for chunk in _stab(group)]


def visit_window(visit: Sequence[Windowed]) -> tuple[int, int]:
    """First and last site that are in time for every call of a visit."""
    return max(first for _, _, (first, _) in visit), min(last for _, _, (_, last) in visit)


def _stab(group: Sequence[Windowed]) -> list[list[Windowed]]:
    """Fewest visits that meet every window: by earliest deadline, each takes all it can."""
    chunks: list[list[Windowed]] = []
    for entry in sorted(group, key=lambda e: (e[2][1], e[2][0], e[0])):
        if chunks and entry[2][0] <= min(e[2][1] for e in chunks[-1]):
            chunks[-1].append(entry)
        else:
            chunks.append([entry])
    return chunks


def _once(
    chunk: Sequence[Windowed], teardown: dict[tuple[str, str], Teardown],
    found_bad: Mapping[tuple[str, str, str], Item], s: Situation,
) -> Task:  # fmt: skip
    """The task of one visit; where the same act puts a finding right, with all that this takes."""
    call = chunk[0][1]
    rule, item = call.rule, found_bad.get((call.item.id, call.unit.id, call.position or ""), call.item)
    item = item if item.act == rule.act else call.item
    brought = _at_once(item, call.unit, call.position, s.catalogue) if rule.resets else ()
    task = Task(
        item=item,
        unit=call.unit,
        position=call.position,
        act=rule.act,
        minutes=rule.minutes,
        facility=rule.facility,
        state=rule.state,
        opens=opens(item, call.unit, call.position, rule.state, teardown) + brought,
        earliest=0,
        window=visit_window(chunk),
        undone=sum(undone_price(entry[1], teardown, s) for entry in chunk),
        calls=tuple(sorted(index for index, _, _ in chunk)),
        resets=rule.resets,
        water_met=any(s.timeline.crossings[entry[1].crossing].crossed is not None for entry in chunk),
    )
    return replace(task, again=looks_after(task, s.catalogue))


def undone_price(call: Call, teardown: dict[tuple[str, str], Teardown], s: Situation) -> int:
    """What it costs to leave undone what water calls for, in thousandths.

    What got in wears the part as so many intervals would (`wet_left_share`): the act is owed all
    the same at home, and on the legs to there the failures of that lateness are risked.
    """
    rule, item = call.rule, call.item
    states = opens(item, call.unit, call.position, rule.state, teardown)
    rows = [teardown[(key[1], state)] for key, state in states]
    minutes = rule.minutes + sum(row.open_minutes + row.close_minutes for row in rows) / 2
    price = minutes / MINUTES_PER_HOUR * rates_of(s).home_hour
    shape = shape_of(item.act, item.life_shape)
    risk = float(lateness(s.catalogue.assumed("wet_left_share").value, price, shape)) - float(
        lateness(1.0, price, shape)
    )
    return round(THOUSAND * (price + risk * _mean_dearness(call, s)))


def _mean_dearness(call: Call, s: Situation) -> float:
    """How dear a failure is on the way home from the crossing, by km."""
    pieces = [
        (max(0.0, start + leg.distance_km - max(start, call.after_km)), dear)
        for leg, start, dear in zip(s.timeline.legs, s.timeline.starts_km, leg_dearness(call.item, s), strict=True)
    ]
    km = sum(length for length, _ in pieces)
    return sum(length * dear for length, dear in pieces) / km if km > 0 else 1.0


def site_window(call: Call, sites: Sequence[Site]) -> tuple[int, int] | None:
    """First and last site index that meet a call; None when no site lies in its window.

    What is asked for the same night is met where the rig stands that night, not at the next evening's stop.
    Once the rig is back what no place was in time for is owed at home, late.
    """
    inside = [
        index
        for index, site in enumerate(sites)
        if site.trip_km >= call.after_km - 1e-6
        and site.legs_done > 0
        and (call.by_km is None or site.trip_km <= call.by_km + 1e-6)
        and (call.by_date is None or site.date <= call.by_date)
        and (call.rule.when != THE_SAME_NIGHT or _stands_from(site) <= call.after_date)
    ]
    if not inside and sites[-1].home_again and call.rule.when in OWED_AT_HOME:
        inside = [len(sites) - 1]
    return (inside[0], inside[-1]) if inside else None


def _stands_from(site: Site) -> date:
    return site.date if site.arrive is None else as_day(site.arrive)


def called_for(
    pairs: Sequence[ItemAt], s: Situation, timeline: Timeline, today: date | None = None
) -> tuple[Call, ...]:  # fmt: skip
    """What the crossings of a line call for, less the looks that a greater act at hand makes needless.

    Looks whose time was over before `today` count as not made; without it none does.
    """
    asked = calls(pairs, timeline, s.catalogue, s.history, s.allowance_m, s.trip.trailer_hubs_after_water, today)
    sites = build_sites(s.ahead, s.timeline, s.today)
    return without_met_looks(asked, s.history, lambda call: place_for(call, sites) is not None)


def place_for(call: Call, sites: Sequence[Site]) -> Site | None:
    """The first site in the window of a call where its act can be done at all; None when there is none."""
    window = site_window(call, sites)
    if window is None:
        return None
    enough = FACILITY_RANK[call.rule.facility]
    return next((site for site in sites[window[0] : window[1] + 1] if site.rank >= enough), None)


def is_every_morning(task: Task) -> bool:
    """True for a check of the walk-round; what water calls for at the same item is work like any other."""
    return is_walk_round(task.item) and task.window is None


def is_walk_round(item: Item) -> bool:
    """True for the few-minute checks done every morning rather than in a slot."""
    return item.rhythm == WALK_ROUND
