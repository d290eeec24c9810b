"""A card for each crossing still ahead: what to do after it, by how far the water came.

Worked out before departure, so that the answer is at hand where there is no machine. Each
case is the planned crossing with another depth, a stalled engine or salt water, asked the same
questions as the plan itself. A card never says, or lets it be read, that water can be driven.
"""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date

from tripplan.due.standing import ItemAt, Situation, assess, item_positions
from tripplan.explain.crossings import ORDER, crossing_notes
from tripplan.placing.greedy import after_return, place_greedily
from tripplan.placing.problem import PlacementProblem, Placing, Site, Task
from tripplan.placing.tasks import placement_problem, with_calls
from tripplan.records.facts_in import Crossing, Unit
from tripplan.records.lookups import HALF_TYRE_POINTS
from tripplan.records.words import Act
from tripplan.trip.timeline import Timeline, build_timeline
from tripplan.water.crossing import Call, calls, crossing_date, point_height_m, wets_unit

BELOW, REACHED, ABOVE, STALLED, SALT, PLANNED = "below", "reached", "above", "stalled", "salt", "planned"
BODY_POINTS = ("door_sill", "trailer_floor")
MILLIMETRE_M = 0.001
BIG = (Act.REPACK, Act.RENEW, Act.DRAIN_AND_REFILL)
TURN_ROUND = (
    "15 cm of moving water knocks a person over and 30 cm carries small cars (weather.gov, flood pages).",
    "A 2.5 t four-wheel-drive was unstable in 0.45 m at 1 m/s and floated in 0.95 m (wrl.unsw.edu.au, tests of 2017).",
)


@dataclass(frozen=True, slots=True, kw_only=True)
class CardAct:
    """One act on items of one unit; `names` hold the item and, for one side only, that side."""

    act: str
    unit: str
    names: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class CardWindow:
    """What one case adds in one window: bank, night, days, before remote or later."""

    when: str
    words: str
    acts: tuple[CardAct, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class CardPlace:
    """Jobs a case adds to the plan at one place; `big` are named, the others counted.

    `fewer` jobs of the plan fall away there. An empty place says that no stop lies within
    the window of these jobs.
    """

    place: str
    day: date | None
    big: tuple[str, ...]
    small: int
    fewer: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class CardCase:
    """One case; `windows` and `notes` come on top of the case it builds on.

    `places` is empty where the case changes the plan as the one it builds on does. The case
    stands for depths from `from_m` to `to_m`; None means depth does not tell it, or no hub
    height is known. `as_planned` is true where the planned depth lies.
    """

    key: str
    from_m: float | None
    to_m: float | None
    as_planned: bool
    windows: tuple[CardWindow, ...]
    notes: tuple[str, ...]
    places: tuple[CardPlace, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class CardMark:
    """A height to look for on a unit afterwards: hubs, sill, floor."""

    unit: str
    point: str
    height_m: float


@dataclass(frozen=True, slots=True, kw_only=True)
class CrossingCard:
    """The card of one planned crossing."""

    leg: int
    from_: str
    to: str
    at_km: float
    date: date
    depth_m: float
    water: str
    note: str
    allowance_m: float
    marks: tuple[CardMark, ...]
    cases: tuple[CardCase, ...]


def crossing_cards(s: Situation) -> tuple[CrossingCard, ...]:
    """A card for every crossing that is planned and not yet made, in the order of the trip.

    The re-plans behind `places` use the plain rule for placing, and keep the wear of the
    planned crossing: what is recorded afterwards with `cross` is planned in full.
    """
    if all(crossing.crossed for crossing in s.timeline.crossings):
        return ()
    pairs = item_positions(s.rig, s.catalogue)
    planned = calls(pairs, s.timeline, s.catalogue, s.history, s.allowance_m)
    problem = placement_problem([assess(pair, s) for pair in pairs], planned, s)
    desk = _Desk(s, pairs, planned, problem, after_return(problem, place_greedily(problem)))
    return tuple(
        _card(index, crossing, desk) for index, crossing in enumerate(s.timeline.crossings) if crossing.crossed is None
    )


@dataclass(frozen=True, slots=True)
class _Desk:
    """What all cards are worked out from: the trip as planned and its plain placing."""

    s: Situation
    pairs: tuple[ItemAt, ...]
    planned: tuple[Call, ...]
    problem: PlacementProblem
    placing: Placing


def _card(index: int, crossing: Crossing, desk: _Desk) -> CrossingCard:
    s = desk.s
    leg = next(leg for leg in s.timeline.legs if leg.leg == crossing.leg)
    units = [unit for unit in s.rig.units if wets_unit(crossing, unit, s.timeline)]
    return CrossingCard(
        leg=crossing.leg, from_=leg.from_, to=leg.to, at_km=crossing.at_km,
        date=crossing_date(index, s.timeline), depth_m=crossing.depth_m, water=crossing.water,
        note=crossing.note or "", allowance_m=s.allowance_m, marks=tuple(_marks(units)),
        cases=tuple(_cases(index, crossing, units, desk)),
    )  # fmt: skip


def _marks(units: Iterable[Unit]) -> Iterator[CardMark]:
    for unit in units:
        for point in (*HALF_TYRE_POINTS, *BODY_POINTS):
            height_m = point_height_m(unit, point)
            is_named = unit.kind == "vehicle" or point in unit.heights_mm
            if height_m is not None and is_named:
                yield CardMark(unit=unit.id, point=point, height_m=height_m)


def case_depths_m(units: Sequence[Unit], allowance_m: float) -> dict[str, float]:
    """The depth each case is worked out for, metres; empty when no hub height is known.

    Below: the water line just under the lowest hub. Reached: standing water up to the
    highest hub centre. Above: up to the door sill, or where that is not given the tyre's top.
    """
    hubs = [h for unit in units for point in HALF_TYRE_POINTS if (h := point_height_m(unit, point)) is not None]
    if not hubs:
        return {}
    sills = [h for unit in units if (h := point_height_m(unit, BODY_POINTS[0])) is not None]
    sill = max(sills, default=0.0)
    below = max(0.0, min(hubs) - allowance_m - MILLIMETRE_M)
    return {BELOW: below, REACHED: max(hubs), ABOVE: sill if sill > max(hubs) else 2 * max(hubs)}


def _cases(index: int, crossing: Crossing, units: Sequence[Unit], desk: _Desk) -> Iterator[CardCase]:
    depths = case_depths_m(units, desk.s.allowance_m)
    if not depths:
        yield _case(PLANNED, crossing, None, (None, None), True, index, desk)
        return
    before: CardCase | None = None
    made, low_m = crossing, 0.0
    for key, depth_m in depths.items():
        deeper = crossing.model_copy(update={"depth_m": depth_m})
        holds = low_m < crossing.depth_m <= depth_m or (key == BELOW and crossing.depth_m <= depth_m)
        case = _case(key, deeper, made if before else None, (low_m, depth_m), holds, index, desk)
        yield case if before is None else _without_same_places(case, before)
        before, made, low_m = case, deeper, depth_m
    extra = {STALLED: {"stalled": True}} | ({SALT: {"water": "salt"}} if crossing.water != "salt" else {})
    for key, change in extra.items():
        case = _case(key, made.model_copy(update=change), made, (None, None), False, index, desk)
        yield case if before is None else _without_same_places(case, before)


def _without_same_places(case: CardCase, before: CardCase) -> CardCase:
    return replace(case, places=()) if case.places == before.places else case


def _case(
    key: str, made: Crossing, before: Crossing | None, span_m: tuple[float | None, float | None],
    as_planned: bool, index: int, desk: _Desk,
) -> CardCase:  # fmt: skip
    own = _calls_of(made, index, desk)
    known = {_what(call) for call in _calls_of(before, index, desk)} if before else set()
    old_notes = crossing_notes(before) if before else ()
    return CardCase(
        key=key, from_m=span_m[0], to_m=span_m[1], as_planned=as_planned,
        windows=tuple(_windows([call for call in own if _what(call) not in known])),
        notes=tuple(note for note in crossing_notes(made) if note not in old_notes),
        places=tuple(_places(own, index, desk)),
    )  # fmt: skip


def _what(call: Call) -> tuple[str, str, str | None, str, str]:
    return (call.item.id, call.unit.id, call.position, call.rule.when, call.rule.act)


def _calls_of(made: Crossing, index: int, desk: _Desk) -> tuple[Call, ...]:
    """The calls of this crossing alone, numbered as the trip's crossings are."""
    s = desk.s
    line = _only(made, s)
    found = calls(desk.pairs, line, s.catalogue, s.history, s.allowance_m)
    return tuple(_numbered(call, index) for call in found)


def _only(made: Crossing, s: Situation) -> Timeline:
    trip = s.trip.model_copy(update={"crossings": (made,)})
    return build_timeline(trip, s.timeline.driving_hours_per_day)


def _numbered(call: Call, index: int) -> Call:
    return Call(
        item=call.item, unit=call.unit, position=call.position, rule=call.rule, crossing=index,
        after_km=call.after_km, by_km=call.by_km, after_date=call.after_date, by_date=call.by_date,
    )  # fmt: skip


def _windows(found: Sequence[Call]) -> Iterator[CardWindow]:
    for when in ORDER:
        groups: dict[tuple[str, str], dict[str, list[str]]] = {}
        own = [call for call in found if call.rule.when == when]
        for call in own:
            names = groups.setdefault((call.unit.id, call.rule.act), {})
            names.setdefault(short_name(call.item.name), []).append(call.position or "")
        if own:
            acts = tuple(
                CardAct(act=act, unit=unit, names=tuple(_sided(name, sides) for name, sides in names.items()))
                for (unit, act), names in groups.items()
            )
            yield CardWindow(when=when, words=_window_words(own), acts=acts)


def short_name(name: str) -> str:
    """An item's name without what follows a bracket, a colon, or a comma behind several words."""
    plain = name.partition(" (")[0].partition(":")[0]
    first = plain.partition(",")[0]
    return first if " " in first else plain


def _sided(name: str, sides: Sequence[str]) -> str:
    return f"{name}, {sides[0]}" if len(sides) == 1 and sides[0] else name


def _window_words(own: Sequence[Call]) -> str:
    """The window's own figures: the shortest of those that its calls have."""
    days = [rule.within_days for call in own if (rule := call.rule).within_days is not None]
    km = [rule.within_km for call in own if (rule := call.rule).within_km is not None]
    parts = [f"{min(days):g} days"] if days else []
    return " or ".join([*parts, *([f"{min(km):g} km"] if km else [])])


def _places(own: Sequence[Call], index: int, desk: _Desk) -> Iterator[CardPlace]:
    """What a case adds to the plan and spares it, place by place; last what no stop is in time for."""
    others = [call for call in desk.planned if call.crossing != index]
    ordered = (*others, *own)
    problem = with_calls(desk.problem, ordered, desk.s)
    placing = after_return(problem, place_greedily(problem))
    was = frozenset(number for number, call in enumerate(desk.planned) if call.crossing == index)
    now = frozenset(range(len(others), len(ordered)))
    before, after = _done_at(desk.problem, desk.placing, None), _done_at(problem, placing, None)
    added = {key: task for key, task in _done_at(problem, placing, now).items() if key not in before}
    spared = [key for key in _done_at(desk.problem, desk.placing, was) if key not in after]
    for number, site in enumerate(problem.sites):
        here = [task for key, task in added.items() if key[0] == number]
        fewer = sum(key[0] == number for key in spared)
        if here or fewer:
            yield _place(site, here, fewer)
    taken = {number for task in problem.tasks for number in task.calls}
    nowhere = [ordered[number] for number in sorted(now - taken) if ordered[number].rule.act in BIG]
    if nowhere:
        yield CardPlace(place="", day=None, big=_big((call.rule.act, call.item.name) for call in nowhere), small=0)


SiteKey = tuple[int, str, str, str, str]


def _done_at(problem: PlacementProblem, placing: Placing, called: frozenset[int] | None) -> dict[SiteKey, Task]:
    """Each job by site and thing; with `called` only the one-shot jobs that meet one of those calls."""
    return {
        (site, *task.thing, task.act): task
        for task, visits in zip(problem.tasks, placing.visits, strict=True)
        if called is None or called.intersection(task.calls)
        for site in visits
    }


def _place(site: Site, tasks: Sequence[Task], fewer: int) -> CardPlace:
    big = _big((task.act, task.item.name) for task in tasks if task.act in BIG)
    small = sum(task.act not in BIG for task in tasks)
    return CardPlace(place=site.place, day=site.date, big=big, small=small, fewer=fewer)


def _big(jobs: Iterable[tuple[str, str]]) -> tuple[str, ...]:
    return tuple(dict.fromkeys(f"{act} {short_name(name).lower()}" for act, name in jobs))
