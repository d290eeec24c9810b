"""From a placing to the filled slots: what is opened, which jobs in which order, and the
re-checks that jobs bring with them."""

from collections.abc import Iterator, Mapping, Sequence
from datetime import date
from typing import Any

from msgspec import Struct
from msgspec.structs import replace

from tripplan.due.standing import Standing
from tripplan.explain.moves import lay_out, move_sentence
from tripplan.explain.naming import found_words
from tripplan.explain.working_order import working_order
from tripplan.grease.advice import filling_words
from tripplan.placing.followed_up import (
    Due,
    falls,
    halt_minutes,
    is_a_look_itself,
    is_on_the_road,
    looks_on_the_spot,
    owed_due,
    owed_left,
)
from tripplan.placing.looks_brought import follow_ups_of, sides_of
from tripplan.placing.problem import (
    AT_ONCE,
    LookAgain,
    OwedLook,
    PlaceKey,
    PlacementProblem,
    Placing,
    Site,
    Task,
    ladder,
    once_done,
    renewals,
)
from tripplan.placing.reckoning import set_out, visit_minutes
from tripplan.placing.tasks import WALK_ROUND
from tripplan.records.catalogue import PLACES, Catalogue, Item
from tripplan.records.facts_in import Origin
from tripplan.records.grouped import grouped
from tripplan.records.item_cells import Amount, FollowUp
from tripplan.records.plain_words import day_and_month, day_and_year, lower_first
from tripplan.records.plan import RunsOut
from tripplan.records.plan_work import Filling, Job, Material, Opened, Recheck, Slot
from tripplan.records.words import JobKind
from tripplan.trip.timeline import Timeline
from tripplan.water.crossing import Call

LOOK_BEFORE = "nobody knows its age: look for leaks, play or noise before opening it"
RENEWAL, AFTER_WATER, RECHECK = JobKind.RENEWAL, JobKind.AFTER_WATER, JobKind.RECHECK


def job_of(
    task: Task, why: str, catalogue: Catalogue, origins: tuple[Origin, ...], moves: str,
    found: str, fillings: tuple[Filling, ...] = (), place_factor: float = 1.0,
) -> Job:  # fmt: skip
    """A task as a job with its materials, cautions, what is told about grease and what to look for."""
    item, is_water = task.item, task.window is not None
    kind = AFTER_WATER if is_water else WALK_ROUND if item.rhythm == WALK_ROUND else RENEWAL
    uses_material = not is_water or task.resets
    note = "" if is_water else item.act_note
    if found:
        note = "; ".join(text for text in (f"{found}: put it right", note) if text)
    elif task.look_first:
        note = LOOK_BEFORE + (f"; {note}" if note else "")
    return Job(
        item=item.id, name=item.said, unit=task.unit.id, position=task.position, act=task.act, verb=item.verb_of(task.act),
        act_note=note, minutes=task.minutes * place_factor, kind=kind,
        materials=materials(item, catalogue) if uses_material else (), cautions=item.cautions,
        early_signs=item.early_signs, why=why, place=item.place,
        state=task.state, origins=origins, moves=moves, lubrication=filling_words(fillings) if uses_material else "",
        fillings=fillings if uses_material else (),
    )  # fmt: skip


def materials(item: Item | None, catalogue: Catalogue, more: Sequence[Amount] = ()) -> tuple[Material, ...]:
    """What one act at one position uses up, and what it needs beside."""
    return tuple(
        Material(
            what=row.id, name=row.name, quantity=amount.quantity, measure=row.unit_of_measure,
            grade=row.open_class or None,
        )
        for amount in (*(item.consumables if item else ()), *more) for row in (catalogue.stock[amount.what],)
    )  # fmt: skip


class Visit(Struct, frozen=True):
    """One task where the plan does it: what is known of its item, the water calls it answers, and those it settles besides.

    `before` is the last place on this trip at which it was renewed already; `begun` is true once the rig has left.
    `day` is the day of the place.
    """

    number: int
    task: Task
    standing: Standing
    calls: tuple[Call, ...]
    along: tuple[Call, ...]
    before: Site | None
    begun: bool
    day: date

    @property
    def found(self) -> str:
        """The bad finding that is to be put right here: found worn on 1 June 2026; nothing where there is none."""
        bad = self.standing.bad if self.task.window is None and self.before is None else None
        return "" if bad is None else f"found {found_words(self.standing, None)} on {day_and_year(bad.date)}"

    @property
    def would_last(self) -> bool:
        """True where nothing calls for it: it is known when it was done, and it lasts to the return."""
        known = self.standing
        is_called = (
            self.before is not None or self.calls or known.bad is not None or known.done is None or known.overdue
        )
        return not is_called and (known.runs_out_reserve or known.runs_out) is None

    @property
    def also(self) -> str:
        """What it settles besides, of what water calls for at the same item."""
        asked = grouped((call.rule.act, round(call.after_km)) for call in self.along)
        return "".join(
            f"; it is also the {act} asked for by the water at trip km {' and '.join(map(str, sorted(set(at_km))))}"
            for act, at_km in sorted(asked.items())
        )

    @property
    def late(self) -> str:
        """That the time of what water calls for was over before the place; empty where it was not."""
        by = [call.by_date for call in self.calls if call.by_date is not None]
        return f"; late: it was to be done by {day_and_month(min(by))}" if by and min(by) < self.day else ""

    @property
    def why(self) -> str:
        """One short sentence: why this job is on the list."""
        if self.before is not None:
            place = f"{self.before.place} on {day_and_month(self.before.date)}"
            return f"done at {place}, and used up again by what is driven after that"
        for call in self.calls[:1]:
            crossing = f"crossing at trip km {call.after_km:.0f}"
            if call.missed:
                return f"no look on record in its time after the {crossing}, so it is opened"
            return f"{call.look_for} ({crossing}){self.late}"
        standing = self.standing
        if standing.bad is not None:
            return f"found {found_words(standing, standing.position)} on {day_and_year(standing.bad.date)}"
        if standing.done is None:
            return "no record of it, so it counts as due"
        end, done = standing.runs_out_reserve or standing.runs_out, f"last done {day_and_year(standing.done.day)}"
        if standing.overdue:
            return f"{done}; used up {'by now' if self.begun else 'before departure'}"
        if end is None:
            return f"{done}; would last the trip, but done here it costs less than later"
        return f"{done}; {_used_up(standing.runs_out, end)}"

    @property
    def origins(self) -> tuple[Origin, ...]:
        """History and table rows behind it, and behind the water calls it settles besides."""
        asked = tuple(dict.fromkeys(call.rule.origin for call in (*self.calls, *self.along)))
        if self.calls:
            return asked
        rows = [self.standing.done.row.origin] if self.standing.done else []
        rows += [self.standing.bad.origin] if self.standing.bad else []
        return (*rows, self.task.item.origin, *asked)


def _used_up(typical: RunsOut | None, reserve: RunsOut) -> str:
    """Where its interval ends: typically, and with reserve, which is never told as the day it happens."""
    at, early = (
        f"{day_and_month(end.date)}, leg {end.leg}, km {end.leg_km:.0f}" if end else "" for end in (typical, reserve)
    )
    if not at:
        return f"typically lasts the trip, with reserve used up on {early}"
    return (
        f"typically used up on {at}; with reserve on {early}" if early != at else f"used up on {at}, also with reserve"
    )


def fill_slots(
    problem: PlacementProblem, placing: Placing, standings: dict[tuple[str, str, str], Standing],
    calls: Sequence[Call], catalogue: Catalogue, rechecks: Sequence[Recheck],
    fillings: Mapping[tuple[str, str, str], tuple[Filling, ...]], today: date,
) -> tuple[Slot, ...]:  # fmt: skip
    """Every site as a slot with its openings and its jobs in working order.

    `fillings` holds what is told about grease and oil, by item, unit and position.
    """
    by_site = grouped(_visits(problem, placing, standings, calls, today > problem.depart))
    bench, slots, asked = lay_out(problem, placing), [], _looks_in_jobs(problem, placing, catalogue)
    for index, site in enumerate(problem.sites):
        visits = sorted(by_site.get(index, ()), key=lambda visit: working_order(problem.tasks[visit.number]))
        opened = grouped(
            (pair, visit.task.item.place) for visit in visits for pair in visit.task.opens if pair[0][1] != AT_ONCE
        )
        jobs = [
            _called(visit, job_of(
                visit.task, _why(visit, visits) + visit.also, catalogue, visit.origins, move_sentence(bench, visit.number, index),
                visit.found, _fillings(visit.task, fillings, catalogue), problem.place_factor[index],
            ))
            for visit in visits
        ]  # fmt: skip
        due_here = {(r.item, r.unit, r.position): r for r in rechecks if r.slot == site.id}
        jobs = [_followed(job, asked.get((job.item, job.unit, job.position, index), ())) for job in jobs]
        jobs += [_recheck_job(recheck, catalogue) for recheck in due_here.values()]
        minutes = sum(problem.tasks[visit.number].minutes for visit in visits)
        slots.append(_slot(problem, index, minutes, openings(problem, opened, index, placing), tuple(jobs)))
    return tuple(slots)


def _fillings(
    task: Task, fillings: Mapping[tuple[str, str, str], tuple[Filling, ...]], catalogue: Catalogue
) -> tuple[Filling, ...]:
    """What is told about grease and oil at an item's own act: what a remedy opens and washes out is not topped up."""
    own = catalogue.find(task.item.id)
    return fillings.get(task.thing, ()) if own is None or own.act == task.act else ()


def _visits(
    problem: PlacementProblem, placing: Placing, standings: dict[tuple[str, str, str], Standing], calls: Sequence[Call],
    begun: bool,
) -> Iterator[tuple[int, Visit]]:  # fmt: skip
    """Every task at every site where it is done; what was put right before has the item's own act again."""
    along = done_along(problem, placing)
    for number, (task, sites) in enumerate(zip(problem.tasks, placing.visits, strict=True)):
        renewed = renewals(problem, placing, number) if sites and task.window is None else ()
        for site in sites:
            standing = standings[task.thing]
            before = next((problem.sites[other] for other in reversed(renewed) if other < site), None)
            done, usual = task, standing.usual if before else None
            if usual is not None:
                done = replace(task, item=usual, act=usual.act, minutes=visit_minutes(problem, placing, number, site))
            answered, besides = (tuple(calls[n] for n in ns) for ns in (task.calls, along.get((number, site), ())))
            yield site, Visit(number, done, standing, answered, besides, before, begun, problem.sites[site].date)


def _why(visit: Visit, visits: Sequence[Visit]) -> str:
    """Why a job is on the list; a side that would last is done with the other, where that one would not."""
    thing = (visit.task.item.id, visit.task.unit.id, visit.task.act)
    others = (v for v in visits if (v.task.item.id, v.task.unit.id, v.task.act) == thing and v is not visit)
    if visit.standing.done is None or not visit.would_last or all(other.would_last for other in others):
        return visit.why
    return f"last done {day_and_year(visit.standing.done.day)}; would last the trip, and is done with the other side"


def _called(visit: Visit, job: Job) -> Job:
    """The job with the crossing that calls for it, where one does."""
    if not visit.calls:
        return job
    call = visit.calls[0]
    return replace(job, cause=call.look_for + visit.late + visit.also, crossing_km=call.after_km)


def _slot(
    problem: PlacementProblem, index: int, task_minutes: float, opened: tuple[Opened, ...], jobs: tuple[Job, ...]
) -> Slot:
    """A site with its work; setting out and clearing up counts once where anything is done."""
    site, factor = problem.sites[index], problem.place_factor[index]
    setting_out = set_out(problem, task_minutes) * factor
    minutes = setting_out + sum(job.minutes for job in jobs) + sum(part.minutes for part in opened)
    return Slot(
        id=site.id, kind=site.kind, date=site.date, place=site.place, facility=site.facility,
        after_leg=site.after_leg, trip_km=site.trip_km, minutes_available=site.minutes, minutes_planned=minutes,
        opened=opened, jobs=jobs, zone=site.zone, arrive=site.arrive, leave=site.leave,
        place_factor=factor, set_out_minutes=setting_out,
    )  # fmt: skip


def done_along(problem: PlacementProblem, placing: Placing) -> dict[tuple[int, int], tuple[int, ...]]:
    """Water calls settled by a bigger job at the same site, keyed by (task, site)."""
    found: dict[tuple[int, int], tuple[int, ...]] = {}
    for index, task in enumerate(problem.tasks):
        if task.window is not None and not placing.visits[index]:
            for site in once_done(problem, placing, index)[:1]:
                greater = next(c for c in problem.covered_by[index] if site in placing.visits[c])
                found[(greater, site)] = (*found.get((greater, site), ()), *task.calls)
    return found


def openings(
    problem: PlacementProblem, opened: Mapping[tuple[PlaceKey, str], Sequence[str]], site: int, placing: Placing
) -> tuple[Opened, ...]:
    """What is open in a slot, by the places of the work that needs it: outermost state first, with its minutes there."""
    found = []
    depth = {key: len(ladder(problem.teardown, *key)) for key in {(k[1], s) for k, s in opened}}
    for key, state in sorted(opened, key=lambda o: (o[0][0], o[0][1], o[0][2] or "", depth[(o[0][1], o[1])], o[1])):
        row = problem.teardown[(key[1], state)]
        kept, was = (site, key, state) in placing.kept_open, (site - 1, key, state) in placing.kept_open
        minutes = (0.0 if was else row.open_minutes) + (0.0 if kept else row.close_minutes)
        minutes *= problem.place_factor[site]
        found.append(Opened(
            unit=key[0], place=key[1], position=key[2], state=state, minutes=minutes, words=row.words,
            kept_open=kept, was_open=was, parent=row.parent, shared_by=_others(opened[(key, state)], key[1]),
        ))  # fmt: skip
    return tuple(found)


def _others(places: Sequence[str], own: str) -> tuple[str, ...]:
    return () if own in places else tuple(sorted(set(places), key=PLACES.index))


def find_rechecks(
    problem: PlacementProblem, placing: Placing, catalogue: Catalogue, timeline: Timeline
) -> tuple[Recheck, ...]:
    """Looks that follow jobs: on a later workshop day behind the shakedown, at a stop, or at a halt."""
    found: dict[tuple[str, str, str | None, str, float], Recheck] = {}
    for task, site, follow, item, side in _looks_brought(problem, placing, catalogue):
        key = (follow.item, task.unit.id, side, problem.sites[site].id, follow.low_km)
        if key not in found and not _is_a_job_there(problem, placing, key[:3], site, follow):
            look = _look(task, follow, item, side, catalogue)
            found[key] = _recheck(problem, timeline, task, site, follow, item, look)
    owed = (_owed_recheck(problem, timeline, one, catalogue) for one in owed_left(problem, placing))
    return tuple(sorted((*found.values(), *owed), key=lambda r: (r.from_km, r.item, r.unit, r.position or "")))


def _looks_brought(
    problem: PlacementProblem, placing: Placing, catalogue: Catalogue
) -> Iterator[tuple[Task, int, FollowUp, Item, str | None]]:
    """Every look that some work brings: the work and its site, and the item and side to look at."""
    jobs = [(task, site) for task, visits in zip(problem.tasks, placing.visits, strict=True) for site in visits]
    for task, site in jobs:
        for follow in follow_ups_of(task):
            item = catalogue.find(follow.item)
            if item is not None and item.fits(task.unit):
                for side in sides_of(item, task.position):
                    yield task, site, follow, item, side


def _looks_in_jobs(
    problem: PlacementProblem, placing: Placing, catalogue: Catalogue
) -> dict[tuple[str, str, str | None, int], tuple[str, ...]]:
    """The work that asks for a look some km later, by the item, unit, side and site of a job that is that look."""
    found: dict[tuple[str, str, str | None, int], tuple[str, ...]] = {}
    for task, site, follow, item, side in _looks_brought(problem, placing, catalogue):
        there = None if follow.at_once else falls(problem, site, _look(task, follow, item, side, catalogue)).site
        if there is not None and _is_a_job_there(problem, placing, (item.id, task.unit.id, side), site, follow):
            key = (item.id, task.unit.id, side, there)
            found[key] = tuple(dict.fromkeys((*found.get(key, ()), f"on: {lower_first(task.item.said)}")))
    for owed in problem.owed:
        look = owed.look
        if owed.site is not None and _is_done_at(problem, placing, owed.thing, owed.site):
            key = (look.item, look.unit, look.side, owed.site)
            found[key] = tuple(dict.fromkeys((*found.get(key, ()), _since(owed.row.date, owed.by.said))))
    return found


def _since(day: date | None, work: str) -> str:
    """The work that a look follows: on: front wheel bearings; of 17 August on: front wheel bearings."""
    return f"on: {lower_first(work)}" if day is None else f"of {day_and_month(day)} on: {lower_first(work)}"


def _look(task: Task, follow: FollowUp, item: Item, side: str | None, catalogue: Catalogue) -> LookAgain:
    minutes = catalogue.look_minutes(item), catalogue.halt_minutes(item)
    return LookAgain(item.id, task.unit.id, side, follow.low_km, follow.high_km, *minutes)


def _recheck(
    problem: PlacementProblem, timeline: Timeline, task: Task, site: int, follow: FollowUp, item: Item, look: LookAgain
) -> Recheck:
    base_km, due = problem.sites[site].trip_km, falls(problem, site, look)
    found = _at(problem, timeline, due, base_km + follow.low_km, base_km + follow.high_km)
    target = site if follow.at_once else due.site
    if target is not None:
        found |= {"leg": None, "slot": problem.sites[target].id, "minutes": look.minutes * problem.place_factor[target],
                  "where": "at the work" if target == site else problem.sites[target].place}  # fmt: skip
    return Recheck(
        item=item.id, name=item.said, unit=task.unit.id, position=look.side, act=item.act,
        because_of=_with_side(task.item, task.position), follows=task.item.said,
        after_slot=problem.sites[site].id, origins=(task.item.origin, item.origin), **found,
    )  # fmt: skip


def _owed_recheck(problem: PlacementProblem, timeline: Timeline, owed: OwedLook, catalogue: Catalogue) -> Recheck:
    """A look that work on record brings: it has a day and no slot."""
    item, due = catalogue.item(owed.look.item), owed_due(problem, owed)
    return Recheck(
        item=item.id, name=item.said, unit=owed.look.unit, position=owed.look.side, act=item.act,
        because_of=_with_side(owed.by, owed.position), follows=owed.by.said, after_slot=None,
        work_day=owed.row.date, work_km=owed.work_km, origins=(owed.row.origin, owed.by.origin, item.origin),
        **_at(problem, timeline, due, owed.from_km, owed.to_km),
    )  # fmt: skip


def _at(problem: PlacementProblem, timeline: Timeline, due: Due, from_km: float, to_km: float) -> dict[str, Any]:
    """Where a look falls between these km, and its minutes there."""
    site, on_the_road = due.site, due.site is None and is_on_the_road(problem, due.at_km)
    leg = timeline.legs[timeline.leg_at(from_km)].leg if timeline.legs else None
    away = "at a halt on the road" if on_the_road else "after return"
    return {
        "from_km": from_km, "to_km": to_km, "leg": leg if on_the_road else None,
        "where": away if site is None else problem.sites[site].place,
        "slot": None if site is None else problem.sites[site].id,
        "minutes": halt_minutes(problem, due) if site is None else due.minutes * problem.place_factor[site],
    }  # fmt: skip


def _with_side(item: Item, position: str | None) -> str:
    return f"{item.said}, {position}" if position else item.said


def _is_a_job_there(
    problem: PlacementProblem, placing: Placing, thing: tuple[str, str, str | None], site: int, follow: FollowUp
) -> bool:
    """True when the look is one of those done on the spot, and a job of its own at the place where it falls."""
    look = LookAgain(thing[0], thing[1], thing[2], follow.low_km, follow.high_km, 0.0)
    there = site if follow.at_once else falls(problem, site, look).site
    if there is None or look.on_the_spot not in looks_on_the_spot(problem):
        return False
    return _is_done_at(problem, placing, (thing[0], thing[1], thing[2] or ""), there)


def _is_done_at(problem: PlacementProblem, placing: Placing, thing: tuple[str, str, str], site: int) -> bool:
    """True when a look is a job of its own at a site."""
    return any(
        site in visits and is_a_look_itself(task) and task.thing == thing
        for task, visits in zip(problem.tasks, placing.visits, strict=True)
    )


def _followed(job: Job, works: Sequence[str]) -> Job:
    """The job with the earlier work that asks for the same look there: one line, done once."""
    if not works or job.kind == WALK_ROUND:
        return job
    also = f"; it also follows the work {works[0]}"
    return replace(job, why=job.why + also, cause=job.cause + also if job.cause else "")


def _recheck_job(check: Recheck, catalogue: Catalogue) -> Job:
    item = catalogue.item(check.item)
    return Job(
        item=item.id, name=item.said, unit=check.unit, position=check.position, act=item.act, verb=item.verb,
        act_note=item.act_note, minutes=check.minutes, kind=RECHECK, materials=(), cautions=item.cautions,
        early_signs=item.early_signs, why=f"follows the work {_since(check.work_day, check.follows)}", place=item.place, state="closed",
        origins=check.origins, at_work=check.slot is not None and check.slot == check.after_slot,
    )  # fmt: skip
