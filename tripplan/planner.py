"""make_plan: the one pure function. Records in, plan out; nothing read, nothing printed.

A re-plan is the same call made again with one more dated record.
"""

from collections.abc import Callable, Mapping, Sequence
from datetime import date, timedelta
from typing import Any

from msgspec import Struct
from msgspec.structs import replace

from tripplan.due.faults import ItemAt
from tripplan.due.leg_wear import leg_wear
from tripplan.due.parts import with_shelf
from tripplan.due.passed import furthest
from tripplan.due.runs_out import share_used
from tripplan.due.standing import (
    Situation,
    Standing,
    driven_legs,
    item_positions,
    remaining_uses,
    standings_of,
    unit_ledger,
)
from tripplan.explain.crossings import plan_crossings, with_contingent
from tripplan.explain.left_shut import left_shut, look_at
from tripplan.explain.reasons import reasons
from tripplan.explain.shelf import NO_KIT, Kit, priced
from tripplan.explain.shopping import find_needs
from tripplan.explain.skipping import with_skips
from tripplan.explain.slots import fill_slots, find_rechecks
from tripplan.explain.taken_off import taken_off
from tripplan.explain.warnings import assumptions, prices_told, sides_apart, thing_of, warnings
from tripplan.explain.ways_out import ways_out
from tripplan.grease.advice import all_fillings
from tripplan.grease.what_is_in import read_contents
from tripplan.placing.beyond import beyond_ceilings
from tripplan.placing.followed_up import spared_by
from tripplan.placing.greedy import place_greedily
from tripplan.placing.optimise import METHOD, place_optimally
from tripplan.placing.problem import THOUSAND, PlacementProblem, Placing, Task, last_chance, rank_needed, renewals
from tripplan.placing.reckoning import all_before, each_alone, totals
from tripplan.placing.search import NAME, VERSION
from tripplan.placing.tasks import called_for, is_walk_round, placement_problem
from tripplan.placing.waiting import is_limited, limit_price
from tripplan.records.catalogue import Catalogue
from tripplan.records.facts_in import METERS, HistoryRow, Rig, Trip
from tripplan.records.lookups import without_duplicates
from tripplan.records.plan import BeyondRoadTime, LookInstead, Plan, PlanItem, PlanLeg, Solver, Total, Totals, Wait
from tripplan.records.plan_risk import ItemRisk
from tripplan.records.plan_work import Filling
from tripplan.records.problems import Problem
from tripplan.records.shelf import ShelfRow
from tripplan.risk.home import item_risks, skips, totals_of, trip_risk
from tripplan.risk.hours_well_spent import curve_of
from tripplan.risk.kit import spare_parts
from tripplan.risk.reckoned import reckon
from tripplan.trip.distance_range import known_by_odometer
from tripplan.trip.free_days import free_day_assumptions, shut_shops
from tripplan.trip.route.distance_to_help import Remoteness, help_on_map, standing_hours
from tripplan.trip.timeline import build_timeline
from tripplan.water.crossing import Call
from tripplan.water.lines import bow_wave
from tripplan.wear.earlier_trips import counted_legs, earlier_wear
from tripplan.wear.last_done import read_history
from tripplan.wear.multipliers import RULE, Severity
from tripplan.wear.rates_from_readings import read_rates, with_rates

LATE_SHARE = 1.005
"""Past its interval in words: what rounds to 100 % is not."""


class Answer(Struct, frozen=True, kw_only=True):
    """What was found before it is written down: standings, calls, and two placings."""

    pairs: tuple[ItemAt, ...]
    standings: tuple[Standing, ...]
    called: tuple[Call, ...]
    problem: PlacementProblem
    placing: Placing
    plain: Placing


def make_plan(
    rig: Rig,
    history: Sequence[HistoryRow],
    trip: Trip,
    catalogue: Catalogue,
    today: date,
    problems: Sequence[Problem] = (),
    place: Callable[[PlacementProblem], Placing] = place_optimally,
    kit: Kit = NO_KIT,
) -> Plan:
    """The plan for this rig and trip, seen from `today`. Equal inputs give equal plans.

    `problems` are those worth a look; they are listed at the top of the plan. `place`
    answers where the work goes: solved, or `place_greedily` where a plain answer will do; ways
    out are looked for where it is solved.
    `kit` is what the owner has at hand: named lubricants, the weighed gun, the shelf.
    """
    return plan_from(look_around(rig, history, trip, catalogue, today, kit.shelf), history, problems, place, kit)


def plan_from(
    s: Situation,
    history: Sequence[HistoryRow],
    problems: Sequence[Problem] = (),
    place: Callable[[PlacementProblem], Placing] = place_optimally,
    kit: Kit = NO_KIT,
) -> Plan:
    """The plan of what was seen in those records, for whoever asks the same situation for more than a plan."""
    found = answer(s, place)
    ledger = read_contents(without_duplicates(history), s.catalogue, kit.lubricants)
    return _written(s, found, problems, all_fillings(found.pairs, ledger, kit.gun), kit)


def answer(s: Situation, place: Callable[[PlacementProblem], Placing]) -> Answer:
    """Every item judged, every call of the water, and where the work goes."""
    pairs = item_positions(s.rig, s.catalogue)
    standings = with_shelf(standings_of(s), s.shelf, s.catalogue, s.today)
    called = called_for(pairs, s, s.timeline, s.today)
    problem = placement_problem(standings, called, s)
    placing = place(problem)
    return Answer(
        pairs=pairs,
        standings=standings,
        called=called,
        problem=spared_by(problem, placing),
        placing=placing,
        plain=place_greedily(problem),
    )


def _written(
    s: Situation,
    found: Answer,
    problems: Sequence[Problem],
    fillings: Mapping[tuple[str, str, str], tuple[Filling, ...]],
    kit: Kit,
) -> Plan:
    """The answer as the plan: every part drawn from it, nothing decided here."""
    trip, problem, placing, standings = s.trip, found.problem, found.placing, found.standings
    by_thing = {x.thing: x for x in standings}
    rechecks = find_rechecks(problem, placing, s.catalogue, s.timeline)
    crossings = plan_crossings(found.pairs, found.called, problem, placing, s)
    reckoned = reckon(standings, found.called, problem, placing, s)
    totals = totals_of(reckoned)
    remote = any(leg.remote for leg in trip.legs)
    contingent = [call for call in found.called if call.contingent]
    shopping, carry, orders = find_needs(
        problem, placing, standings, s.catalogue, remote, s.today, kit.shelf, contingent
    )  # fmt: skip
    shut = shut_shops(trip, [part.order_by for part in orders])
    return Plan(
        rig=s.rig.name, trip=trip.name, today=s.today, depart=trip.depart, return_=trip.return_,
        home_zone=s.rig.home_zone, units=tuple(unit.id for unit in s.rig.units), edition=s.catalogue.edition, legs=plan_legs(s),
        items=with_risk(plan_items(found, s), item_risks(reckoned, totals, s)),
        slots=with_skips(priced(with_contingent(
            fill_slots(problem, placing, by_thing, found.called, s.catalogue, rechecks, fillings, s.today), crossings
        ), kit.shelf, s.catalogue.consumables), problem, placing, skips(reckoned, totals)),
        crossings=crossings, rechecks=rechecks, walkround=walk_round(found.pairs),
        walkround_minutes=s.catalogue.assumed("walk_round_minutes").value,
        shopping=shopping, carry=carry, orders=orders,
        warnings=warnings(standings, problem, placing, crossings, s),
        ways_out=ways_out(problem, placing, standings, s) if placing.method == METHOD else (), problems=tuple(problems),
        assumptions=(
            *assumptions(s), *taken_off(s), *prices_told(standings, s), *sides_apart(problem, placing, s), *free_day_assumptions(s.rig, trip), *shut,
        ),
        totals=plan_totals(problem, placing, found.plain), product_rule=RULE,
        beyond_road_time=beyond_road_time(problem, placing, s),
        solver=Solver(name=NAME, version=VERSION), currency=trip.currency or "",
        risk=trip_risk(reckoned, totals, placing, s, curve_of(reckoned, placing)),
        spares=spare_parts(reckoned, found.called, s),
    )  # fmt: skip


def with_risk(items: Sequence[PlanItem], risks: Mapping[tuple[str, str, str], ItemRisk]) -> tuple[PlanItem, ...]:
    """The items, each with its part in what the trip risks."""
    return tuple(replace(item, risk=risks.get((item.item, item.unit, item.position or ""))) for item in items)


def plan_items(found: Answer, s: Situation) -> tuple[PlanItem, ...]:
    """Every item position as it goes into the plan, in the order a person lists them."""
    numbers = {task.thing: i for i, task in enumerate(found.problem.tasks) if task.window is None}
    ordered = sorted(found.standings, key=lambda x: (x.unit.kind != "vehicle", x.unit.id, x.item.rank))
    shut = frozenset(left_shut(found.problem, found.placing))
    return tuple(plan_item(x, found.problem, found.placing, numbers, shut, s) for x in ordered)


def look_around(
    rig: Rig, history: Sequence[HistoryRow], trip: Trip, catalogue: Catalogue, today: date, shelf: Sequence[ShelfRow] = ()
) -> Situation:  # fmt: skip
    """Everything an item is judged against, with what the owner's shelf holds of the parts."""
    rows = without_duplicates(history)
    vehicles = {unit.id for unit in rig.units if unit.kind == "vehicle"}
    trip = known_by_odometer(trip, [row for row in rows if row.unit in vehicles], today)
    timeline = build_timeline(trip, catalogue.assumed("driving_hours_per_day").value)
    near_hours, remote_hours = (catalogue.assumed(f"hours_to_help_{name}").value for name in ("near", "remote"))
    driven = len(driven_legs(timeline, today))
    driven_km = sum(leg.distance_km for leg in timeline.legs[:driven])
    leading = next((unit for unit in rig.units if unit.kind == "vehicle"), rig.units[0])
    rates = read_rates(rig, rows, trip, today)
    rig = with_rates(rig, rates)
    return Situation(
        rig=rig,
        trip=trip,
        today=today,
        timeline=timeline,
        severity=Severity(catalogue, timeline),
        history=read_history(rows, catalogue),
        ledgers={unit.id: unit_ledger(unit, rows, trip, timeline, today) for unit in rig.units},
        catalogue=catalogue,
        allowance_m=bow_wave(catalogue),
        driven_km=driven_km,
        uses=remaining_uses(rig, METERS, timeline, driven),
        standing_hours=standing_hours(trip, near_hours, remote_hours),
        rates=rates,
        earlier=earlier_wear(counted_legs(trip, today), trip, catalogue),
        shelf=tuple(shelf),
        reached=furthest(trip, timeline, leading, rows, today, catalogue.assumed("reading_slack_share").value),
    )


def plan_legs(s: Situation) -> tuple[PlanLeg, ...]:
    """The legs in order, with the trip km at which each starts; help only where they are on the map."""
    far = help_on_map(s.trip)
    return tuple(
        PlanLeg(
            number=leg.leg,
            from_=leg.from_,
            to=leg.to,
            date=leg.date,
            distance_km=leg.distance_km,
            trip_km_start=start_km,
            remote=leg.remote,
            driven=leg.date < s.today,
            surface=leg.surface,
            corrugation=leg.corrugation,
            dust=leg.dust,
            distance_low_km=leg.distance_low_km,
            distance_high_km=leg.distance_high_km,
            standing_hours=hours,
            **(_help(far[leg.leg]) if leg.leg in far else {}),
        )  # fmt: skip
        for leg, start_km, hours in zip(s.timeline.legs, s.timeline.starts_km, s.standing_hours, strict=True)
    )


def _help(far: Remoteness) -> dict[str, Any]:
    return {"help_km": far.help_km, "help_hours": far.hours_to_help, "remote_stretches_km": far.stretches}


def plan_item(
    standing: Standing, problem: PlacementProblem, placing: Placing,
    numbers: dict[tuple[str, str, str], int],
    shut: frozenset[int], s: Situation,
) -> PlanItem:  # fmt: skip
    """One item position as it goes into the plan."""
    item, unit = standing.item, standing.unit
    index = numbers[standing.thing]
    own, placed = placing.visits[index], renewals(problem, placing, index)
    places = [(problem.sites[i], "a job of its own" if i in own else "done on the way") for i in placed]
    unmet = [u.why for u in placing.unmet if u.task == index]
    wear, shares = leg_wear(standing, s), _shares(problem, placing, index)
    waits = () if unmet else _waits(problem, index, shares, standing, s.today)
    seen = look_at(problem, placing, index) if index in shut else None
    return PlanItem(
        item=item.id, name=item.said, unit=unit.id, position=standing.position, act=item.act, verb=item.verb,
        verdict=standing.verdict, limits=standing.limits, wear=wear, runs_out=standing.runs_out,
        runs_out_reserve=standing.runs_out_reserve, placed=tuple(problem.sites[i].id for i in placed),
        reasons=reasons(
            standing, wear, places, unmet, is_walk_round(item), s.rates, [(problem.sites[i], share, day) for i, share, day in waits],
            (seen.text if seen else "no look at it has a place") if index in shut else "",
        ),
        rhythm=item.rhythm,
        harms=item.harms, strands=item.strands,
        share_used_at_departure=share_used(standing.course, False, s.start),
        share_used_at_return=share_used(standing.course, True, s.trip.return_),
        last_done=standing.done.day if standing.done else None,
        last_done_origin=standing.done.row.origin if standing.done else None,
        found=standing.bad.finding if standing.bad else None, found_on=standing.bad.date if standing.bad else None,
        unmet=bool(unmet), highest_share=max(shares.values(), default=None), can_wait=shares.get(problem.last, 0.0) > 1.0 and not problem.tasks[index].look_first,
        waits=tuple(Wait(slot=problem.sites[i].id, share=share, parts_from=day) for i, share, day in waits), left_shut=index in shut,
        look_instead=LookInstead(item=seen.task.item.id, name=seen.task.item.said, slot=seen.site.id) if seen else None,
    )  # fmt: skip


def _shares(problem: PlacementProblem, placing: Placing, index: int) -> dict[int, float]:
    """The typical share of its interval used when each renewal comes, and after return."""
    task, start, shares = problem.tasks[index], -1, {}
    for site in () if is_walk_round(task.item) else (*renewals(problem, placing, index), problem.last):
        if site > start:
            shares[site] = task.shares[start + 1][site]
            start = site
    return shares


def _waits(
    problem: PlacementProblem, index: int, shares: Mapping[int, float], standing: Standing, today: date
) -> tuple[tuple[int, float, date | None], ...]:
    """Where it is done later than its interval says, and from which day its parts are there where it is that which keeps it.

    Before the rig goes on it is done at the next chance.
    """
    if problem.tasks[index].look_first:
        return ()
    leaving, first = last_chance(problem.sites, today), next(iter(shares), None)
    parts_from = (
        today + timedelta(days=standing.lead_days)
        if standing.overdue and _is_kept_by_parts(problem, index, first)
        else None
    )
    return tuple(
        (site, share, parts_from if site == first else None)
        for site, share in shares.items() if share >= LATE_SHARE and site > leaving
    )  # fmt: skip


def _is_kept_by_parts(problem: PlacementProblem, index: int, site: int | None) -> bool:
    """True where days at home before that site could take the work, and on none of them its parts can be there."""
    task = problem.tasks[index]
    able = [
        i for i in range(len(problem.sites) if site is None else site)
        if problem.at_home[i] and problem.sites[i].rank >= rank_needed(task)
    ]  # fmt: skip
    return bool(able) and able[-1] < task.earliest


def beyond_road_time(problem: PlacementProblem, placing: Placing, s: Situation) -> tuple[BeyondRoadTime, ...]:
    """What the ceilings on road work keep out, with prices; the plain rule weighs nothing and is not asked.

    Of what may have a limit, leaving it costs as much as one that is passed only where it is: no other price comes near.
    """
    passed = limit_price(s) / THOUSAND

    def has_limit(task: Task) -> bool:
        return task.found_bad or is_limited(task.item)

    return tuple(
        BeyondRoadTime(
            about=tuple(thing_of(problem.tasks[index]) for index in one.tasks), slot=problem.sites[one.site].id,
            minutes=one.minutes, cost=one.cost, leaving_costs=one.leaving, keeps_limit=one.leaving >= passed and any(has_limit(problem.tasks[index]) for index in one.tasks),
        )
        for one in (beyond_ceilings(problem, placing) if placing.method == METHOD else ())
    )  # fmt: skip


def walk_round(pairs: Sequence[ItemAt]) -> tuple[str, ...]:
    """What is looked at every morning, in words."""
    own = sorted(
        (pair for pair in pairs if is_walk_round(pair[1])),
        key=lambda pair: (pair[0].kind != "vehicle", pair[0].id, pair[1].rank),
    )
    listed = (f"{item.said} ({unit.id}): {item.act}" for unit, item, _ in own)
    return tuple(dict.fromkeys(listed))


def plan_totals(problem: PlacementProblem, placing: Placing, plain: Placing) -> Totals:
    """Minutes and cost of this plan beside the three ways it is compared with."""
    return Totals(
        plan=Total(**dict(zip(("minutes", "cost"), totals(problem, placing), strict=True))),
        greedy=Total(**dict(zip(("minutes", "cost"), totals(problem, plain), strict=True))),
        each_alone=Total(**dict(zip(("minutes", "cost"), each_alone(problem, placing), strict=True))),
        all_before=Total(**dict(zip(("minutes", "cost"), all_before(problem, placing), strict=True))),
        method=placing.method,
        gap=placing.gap,
    )
