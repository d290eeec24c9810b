"""What the plan leans on without being told, and what it cannot promise. Nothing hidden."""

from collections import Counter
from collections.abc import Sequence
from datetime import date

from tripplan.due.passed import without_passed
from tripplan.due.standing import Situation, Standing
from tripplan.explain.left_shut import unseen
from tripplan.explain.left_to_others import left_to_others
from tripplan.explain.moves import time_words
from tripplan.explain.naming import found_words, is_one_unit, named, task_name
from tripplan.explain.reasons import amount, rate_sentence, unmet_sentence
from tripplan.placing.both_sides import split_twins
from tripplan.placing.found_bad import WATER, days_and_km, last_in_time
from tripplan.placing.greedy import METHOD as PLAIN_RULE
from tripplan.placing.problem import (
    WORKSHOP,
    PlacementProblem,
    Placing,
    Task,
    can_stand,
    once_done,
    renewals,
    teardown_index,
)
from tripplan.placing.tasks import act_prices, ceilings_of
from tripplan.placing.unmet import BEYOND, FULL, TOO_DEAR, TOO_LONG, taken_of, why_not
from tripplan.placing.waiting import failures_per_10_000_km, rates_of
from tripplan.records.catalogue import Item
from tripplan.records.facts_in import Rig, Trip, Unit, as_day
from tripplan.records.grouped import grouped
from tripplan.records.plain_words import day_and_month, day_and_year, sides
from tripplan.records.plan import (
    FOUND_BAD,
    GRADED,
    HEIGHT_UNKNOWN,
    NO_PLACE,
    PARTS_LATE,
    TRIP_OVER,
    UNSEEN,
    WATER_UNPLACED,
    PlanWarning,
    Thing,
)
from tripplan.records.plan_work import PlanCrossing, WaterAct
from tripplan.records.words import WaterWindow
from tripplan.trip.distance_range import estimated_sentences
from tripplan.trip.route.distance_to_help import on_map

OPENING_WINDOWS = (WaterWindow.BEFORE_REMOTE, WaterWindow.DAYS)


def assumptions(s: Situation) -> tuple[str, ...]:
    """Every stand-in for something the owner did not give, as sentences."""
    found = [text for unit in s.rig.units for text in _unit_assumptions(unit)]
    found += [rate_sentence(rate) for rate in s.rates if rate.measured is not None]
    found += [f"{item.said}: {item.locator}." for item in s.catalogue.items if item.by_findings and _on(s.rig, item)]
    speed = {ledger.speed_kmh for unit_id, ledger in s.ledgers.items() if _unit(s, unit_id).usual_speed_kmh is None}
    if speed:
        found.append(f"Engine hours outside this trip are taken at its mean speed, {max(speed):.0f} km/h.")
    found.append(
        f"Water line = still depth + {s.allowance_m.front_m:g} m at the front of the vehicle for the bow wave, "
        f"+ {s.allowance_m.elsewhere_m:g} m elsewhere (ours: nobody publishes one); up to "
        f"{s.allowance_m.front_high_m:g} and {s.allowance_m.elsewhere_high_m:g} m adds looks only. Hub and axle "
        "centres not given are half the tyre diameter."
    )
    found += _trailer_hubs(s)
    found += [*estimated_sentences(s.trip.legs), *_zones(s.trip), *_standing(s), *_passed(s), *_left_out(s)]
    if not s.trip.workshop_days:
        found.append("No workshop days are given: nothing can be placed before departure.")
    return tuple(found)


def prices_told(standings: Sequence[Standing], s: Situation) -> tuple[str, ...]:
    """What an hour and a failure cost in this plan, how much work the road gets, and what kept intervals bring."""
    rates, value, trip = rates_of(s), s.catalogue.assumed, s.trip
    prices = act_prices(standings, teardown_index(s.catalogue), rates.home_hour)
    failures = failures_per_10_000_km([(x.item, prices[(x.item.id, x.unit.id)]) for x in standings], s)
    holiday = "as trip.toml says" if trip.holiday_rate_per_hour is not None else (
        f"{value('holiday_hour_factor').value:g} times one at home; holiday_rate_per_hour in trip.toml says otherwise"
    )  # fmt: skip
    ceilings = ceilings_of(s)
    return (
        f"An hour of work on the way counts {amount(rates.holiday_hour)}, {holiday}.",
        f"On the road at most {time_words(ceilings.day_minutes or 0.0)} of work a day and {time_words(ceilings.trip_minutes or 0.0)} over "
        "the trip, looks at halts in; road_day_limit_minutes, road_daily_minutes and road_long_spell_minutes in trip.toml say otherwise. "
        "What water that was met calls for may come on top.",
        f"Putting a failure right counts {amount(rates.repair)} wherever it happens, and {amount(rates.hours_at_home)} hours "
        f"of standing near home. With every interval kept that comes to {failures:.1f} failures that cannot wait in "
        "10 000 km of ordinary use (published for a truck: at most 2.4).",
    )


def _trailer_hubs(s: Situation) -> list[str]:
    """Whose choice it is what happens to trailer hubs that were under water."""
    if not any(unit.kind == "trailer" for unit in s.rig.units) or not s.trip.crossings:
        return []
    given = s.trip.trailer_hubs_after_water
    told = "Trailer hubs that were under water in an easy crossing are"
    if given == "repack":
        return [f"{told} repacked each time, as trip.toml says (six documents say so, one of them renews)."]
    whose = "as trip.toml says" if given else "which is our choice"
    return [f"{told} looked at first and opened on what is seen, {whose}: eleven documents disagree. "
            "trailer_hubs_after_water = \"repack\" in trip.toml has them repacked each time."]  # fmt: skip


def sides_apart(problem: PlacementProblem, placing: Placing, s: Situation) -> tuple[str, ...]:
    """What is not done on both sides of an axle at the same place, though equally far gone on both."""
    apart = sorted(
        {
            named((task := problem.tasks[one]).item.said, task.unit.id, is_one_unit(s.rig))
            for one, _ in split_twins(problem, placing)
        }
    )
    if not apart:
        return ()
    return ("Both sides of an axle are done together where the minutes and the other work allow it; here they do not for: "
            f"{'; '.join(apart)}.",)  # fmt: skip


def _zones(trip: Trip) -> list[str]:
    """Whose clock was read off the map."""
    if not trip.zones_read:
        return []
    told = "; ".join(f"{stop}: {zone}" for stop, zone in dict.fromkeys(trip.zones_read))
    return [f"Zone read from the position, since stops.csv gives none: {told}."]


def _left_out(s: Situation) -> list[str]:
    """What the owner leaves out of every plan, with the word for it."""
    told = [
        f"{named(item.said, unit.id, is_one_unit(s.rig))}, {item.left_out_on(unit)}"
        for unit in s.rig.units
        for item in s.catalogue.items
        if item.left_out_on(unit) and item.belongs_to(unit)
    ]
    return [f"Left out at the owner's word, not planned and not looked after: {'; '.join(told)}."] if told else []


def _passed(s: Situation) -> list[str]:
    """Places whose dates still run, but which the records say lie behind."""
    gone = without_passed(s.trip, s.timeline, s.reached)[1]
    left = [stop.stop for stop in s.trip.stops if stop.stop in gone and as_day(stop.leave) >= s.today]
    if not left or s.reached is None:
        return []
    told = f"trip km {s.reached.trip_km:.0f}, {s.reached.what}, {day_and_month(s.reached.day)}"
    return [f"Already passed, so no work is put there: {', '.join(left)} (the rig has been at {told})."]


def _standing(s: Situation) -> list[str]:
    """How long standing still is taken to last on legs still ahead whose distance to help is known."""
    every = zip(s.timeline.legs, s.standing_hours, strict=True)
    known = [(leg, hours) for leg, hours in every if on_map(leg) and leg.date >= s.today]
    if not known:
        return []
    told = ", ".join(f"leg {leg.leg} {hours:.0f} h" for leg, hours in known)
    return [f"Standing still after a failure, with the drive of help to the loneliest km and back: {told}."]


def _on(rig: Rig, item: Item) -> bool:
    return any(item.fits(unit) for unit in rig.units)


def _unit(s: Situation, unit_id: str) -> Unit:
    return next(unit for unit in s.rig.units if unit.id == unit_id)


def _unit_assumptions(unit: Unit) -> list[str]:
    found = []
    if unit.odometer_factor is None:
        found.append(f"{unit.id}: no odometer_factor given; the odometer is taken to read true.")
    if unit.usual_km_per_week is None:
        found.append(f"{unit.id}: no usual_km_per_week given; km since the last reading are unknown and count 0.")
    if unit.kind == "vehicle" and unit.drive == "part-time":
        if unit.hubs is None:
            found.append(f"{unit.id}: hubs not given; the front shafts are taken to turn on every km.")
        elif unit.hubs == "free-wheeling" and unit.usual_engaged_share is None:
            found.append(f"{unit.id}: no usual_engaged_share given; ordinary driving counts as engaged in full.")
    return found


def warnings(
    standings: Sequence[Standing], problem: PlacementProblem, placing: Placing, crossings: Sequence[PlanCrossing],
    s: Situation,
) -> tuple[PlanWarning, ...]:  # fmt: skip
    """What this plan cannot keep, or cannot know; shown first everywhere."""
    notes = (*s.severity.notes, *(s.earlier.severity.notes if s.earlier else ()))
    is_over = s.today > s.trip.return_
    found = [trip_is_over(s.trip)] if is_over else []
    found += [*_not_put_right(standings, problem, placing, s), *left_to_others(s)]
    found += _past_limits(problem, placing, s) if is_over else _unmet_by_cause(problem, placing, standings, s)
    found += _unseen(unseen(problem, placing, s), s)
    found += [PlanWarning(kind=GRADED, text=note) for note in notes]
    found += _homeless_water(crossings, problem, placing, s)
    found += [] if is_over else _late_parts(standings, problem, placing, s.today)
    silent = sorted({text for crossing in crossings for text in crossing.unknown_points})
    if silent:
        points = "; ".join(silent).replace("_", " ")
        text = f"Height not given, so what sits at these points cannot be judged after a crossing; look yourself: {points}."
        found.append(PlanWarning(kind=HEIGHT_UNKNOWN, text=text))
    return tuple(dict.fromkeys(found))


def trip_is_over(trip: Trip) -> PlanWarning:
    """Said of a trip that lies behind, before anything else: what follows is no plan of a trip, and what to do."""
    text = (
        f"This trip is over: it ended on {day_and_year(trip.return_)}. All there is to plan is the work that waits at home. "
        "For the next trip write its dates, legs and stops into the folder (trip.toml, legs.csv, stops.csv); "
        "to see this one as it stood, give --today with a day before its end."
    )
    return PlanWarning(kind=TRIP_OVER, text=text)


def _past_limits(problem: PlacementProblem, placing: Placing, s: Situation) -> list[PlanWarning]:
    """Limits that are passed once the trip is over: what can hurt somebody comes first at home."""
    late = [problem.tasks[index] for index in dict.fromkeys(miss.task for miss in placing.unmet)]
    names = "; ".join(dict.fromkeys(task_name(task, is_one_unit(s.rig)) for task in late))
    text = f"Past its limit and able to hurt somebody; do it before the rig is driven again: {names}."
    return [PlanWarning(kind=NO_PLACE, text=text, about=tuple(map(thing_of, late)))] if late else []


def _not_put_right(
    standings: Sequence[Standing], problem: PlacementProblem, placing: Placing, s: Situation
) -> list[PlanWarning]:
    """What was found bad and is still so: first of all, in one line, each with what is done about it and where."""
    tasks = {task.thing: index for index, task in enumerate(problem.tasks) if task.window is None}
    places = {thing: next(iter(renewals(problem, placing, index)), None) for thing, index in tasks.items()}
    about, found = [], []
    known = [standing for standing in standings if standing.bad is not None]
    held = Counter((x.item.id, x.bad.origin) for x in known if x.bad is not None)
    for x in known:
        site, bad = places.get(x.thing), x.bad
        assert bad is not None
        where = "no place for it" if site is None else _where(problem, site)
        where += _late_for_a_fault(x, problem, site, s)
        if site in (None, problem.last) and x.thing in tasks:
            where += _sooner(problem, placing, problem.tasks[tasks[x.thing]])
        seen = found_words(x, None if held[x.item.id, bad.origin] > 1 else x.position)
        act = _act_there(x, problem, placing, site)
        what = f"found {seen} on {day_and_month(bad.date)}: {x.item.verb_of(act) or act}, {where}"
        about.append(Thing(item=x.item.id, unit=x.unit.id, position=x.position))
        found.append(((x.item.said, x.unit.id, what), x.position))
    told = [
        f"{named(name, unit, is_one_unit(s.rig), sides(placed))}, {what}"
        for (name, unit, what), placed in grouped(found).items()
    ]
    text = f"Not put right yet: {'; '.join(told)}."
    return [PlanWarning(kind=FOUND_BAD, text=text, about=tuple(about))] if told else []


def _act_there(standing: Standing, problem: PlacementProblem, placing: Placing, site: int | None) -> str:
    """What is done about a fault at a site: what water calls for there and renews the same thing, or its own act."""
    called = (
        task.act
        for task, at in zip(problem.tasks, placing.visits, strict=True)
        if task.thing == standing.thing and task.window is not None and task.resets and site in at
    )
    return next(called, standing.item.act)


def _late_for_a_fault(standing: Standing, problem: PlacementProblem, site: int | None, s: Situation) -> str:
    """What is said where a known fault is driven with, or water found is left longer than its days and km."""
    last, bad = last_in_time(standing, problem.sites, s), standing.bad
    if last is None or bad is None:
        return ""
    here = problem.last if site is None else site
    if bad.finding != WATER:
        is_past = here > last and problem.sites[last].kind == WORKSHOP
        return " (it should be put right before the rig goes on: no day at home has the time)" if is_past else ""
    days, km = days_and_km(standing, s)
    span = f"the water should be out within {days:g} days" + (f" or {km:g} km" if km is not None else "")
    if here > last:
        return f" ({span})"
    is_late = (problem.sites[here].date - bad.date).days > days
    return f" (the first place that can do it; {span})" if is_late else ""


def _where(problem: PlacementProblem, site: int) -> str:
    return f"{problem.sites[site].place}, {day_and_month(problem.sites[site].date)}"


def _sooner(problem: PlacementProblem, placing: Placing, task: Task) -> str:
    """The first place before the return that has the time for it and is not taken, as what was found may not keep."""
    taken = taken_of(problem, placing)
    free = (
        site for site in range(problem.last)
        if can_stand(problem, task, site) and why_not(problem, placing, (task,), [site], taken) == TOO_DEAR
    )  # fmt: skip
    site = next(free, None)
    if site is None:
        return ""
    dearer = "" if placing.method == PLAIN_RULE else ", which by the prices given is dearer"
    return f" (there is time for it sooner, at {_where(problem, site)}{dearer})"


def thing_of(task: Task) -> Thing:
    """The thing a task is about."""
    return Thing(item=task.item.id, unit=task.unit.id, position=task.position)


def _unmet_by_cause(
    problem: PlacementProblem, placing: Placing, standings: Sequence[Standing], s: Situation
) -> list[PlanWarning]:
    """What cannot be kept inside its limit: each alone where it runs out on the road, else by cause."""
    standing_of, alone = {x.thing: x for x in standings}, is_one_unit(s.rig)
    found: list[PlanWarning] = []
    lesser: dict[tuple[str, str], list[Task]] = {}
    for miss in placing.unmet:
        task = problem.tasks[miss.task]
        site = None if miss.site is None else problem.sites[miss.site]
        standing = standing_of[task.thing]
        end = standing.runs_out
        before = [at for at in renewals(problem, placing, miss.task) if miss.site is not None and at < miss.site]
        if before and site is not None:
            done = problem.sites[before[-1]]
            text = (
                f"{task_name(task, alone)}: done at {done.place} on {day_and_month(done.date)}, it may be used up again before "
                f"{site.place} on {day_and_month(site.date)} ({miss.why}). Do it at a halt between."
            )
            found.append(PlanWarning(kind=NO_PLACE, text=text, about=(thing_of(task),)))
        elif end and not standing.overdue and miss.site == _first(placing, miss.task):
            text = unmet_sentence(task_name(task, alone), miss.why, site, end.trip_km)
            found.append(PlanWarning(kind=NO_PLACE, text=text, about=(thing_of(task),)))
        else:
            where = "" if site is None else f"{site.place}, {day_and_month(site.date)}"
            lesser.setdefault((miss.why, where), []).append(task)
    return found + [_lesser(tasks, why, where, alone) for (why, where), tasks in lesser.items()]


def _unseen(tasks: Sequence[Task], s: Situation) -> list[PlanWarning]:
    """What nobody has a record of, nothing here looks at, and a failure of which would be bad."""
    alone, begun = is_one_unit(s.rig), s.today > s.trip.depart
    names = "; ".join(dict.fromkeys(named(task.item.said, task.unit.id, alone) for task in tasks))
    text = (
        f"No record, and this plan has no place for a look at it. Before {'going on' if begun else 'departure'} "
        f"check for play, noise and leaks, or ask who had it open last: {names}."
    )
    return [PlanWarning(kind=UNSEEN, text=text, about=tuple(map(thing_of, tasks)))] if tasks else []


def _lesser(tasks: Sequence[Task], why: str, where: str, alone: bool) -> PlanWarning:
    late = f"too late, at {where}" if where else "not at all"
    text = f"Done {late}, because {why}: {'; '.join(task_name(task, alone) for task in tasks)}."
    return PlanWarning(kind=NO_PLACE, text=text, about=tuple(map(thing_of, tasks)))


def _first(placing: Placing, index: int) -> int | None:
    return placing.visits[index][0] if placing.visits[index] else None


def _homeless_water(
    crossings: Sequence[PlanCrossing], problem: PlacementProblem, placing: Placing, s: Situation
) -> list[PlanWarning]:
    """Openings that water calls for and that no stop in the window takes, for each crossing by cause."""
    found = []
    for crossing in crossings:
        lost = [a for a in crossing.acts if a.slot is None and a.window_kind in OPENING_WINDOWS]
        for cause, acts in _by_cause(lost, problem, placing).items():
            names = ", ".join(
                sorted({named(f"{a.name} {a.position or ''}".strip(), a.unit, is_one_unit(s.rig)) for a in acts})
            )
            text = (
                f"Crossing on leg {crossing.leg} at km {amount(crossing.at_km)}: {cause} {names}; "
                "do it at camp by the dates given, or add a stop."
            )
            about = dict.fromkeys(Thing(item=a.item, unit=a.unit, position=a.position) for a in acts)
            found.append(PlanWarning(kind=WATER_UNPLACED, text=text, about=tuple(about)))
    return found


def _by_cause(lost: Sequence[WaterAct], problem: PlacementProblem, placing: Placing) -> dict[str, list[WaterAct]]:
    """Acts that water calls for by why they are left, in words that their names follow."""
    words = {
        TOO_DEAR: "at the stops in its window it costs more than to leave until home:",
        TOO_LONG: "no stop in its window is long enough for",
        BEYOND: "the minutes given to the road do not take",
        FULL: "the stops in its window have no time left for",
    }
    tasks = {
        (task.thing, task.act): index for index, task in enumerate(problem.tasks)
        if task.window is not None and not once_done(problem, placing, index)
    }  # fmt: skip
    found: dict[str, list[WaterAct]] = {}
    for act in lost:
        index = tasks.get(((act.item, act.unit, act.position or ""), act.act))
        cause = "no stop in its window can take"
        if index is not None:
            task = problem.tasks[index]
            assert task.window is not None
            able = [site for site in range(task.window[0], task.window[1] + 1) if can_stand(problem, task, site)]
            cause = words[why_not(problem, placing, (task,), able, taken_of(problem, placing))] if able else cause
        found.setdefault(cause, []).append(act)
    return found


def _late_parts(
    standings: Sequence[Standing], problem: PlacementProblem, placing: Placing, today: date
) -> list[PlanWarning]:
    """Jobs planned before their parts can be there, in one line for each time that parts take."""
    late: dict[float, list[tuple[Task, int]]] = {}
    leads = {x.thing: x.lead_days for x in standings}
    for task, visits in zip(problem.tasks, placing.visits, strict=True):
        if task.window is None and visits:
            days, lead_days = (problem.sites[visits[0]].date - today).days, leads[task.thing]
            if days < lead_days:
                late.setdefault(lead_days, []).append((task, days))
    return [
        PlanWarning(
            kind=PARTS_LATE,
            text=f"Parts take about {amount(lead)} days and this work is planned {_ahead([days for _, days in jobs])}; "
            f"have them on the shelf: {'; '.join(dict.fromkeys(task.item.said for task, _ in jobs))}.",
            about=tuple(thing_of(task) for task, _ in jobs),
        )
        for lead, jobs in sorted(late.items())
    ]


def _ahead(days: Sequence[int]) -> str:
    """In how many days: today; in 2 days; in 2 to 5 days."""
    least, most = min(days), max(days)
    if most <= 0:
        return "today"
    return f"in {least} to {most} days" if least < most else f"in {most} {'day' if most == 1 else 'days'}"
