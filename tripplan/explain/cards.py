"""A card for each crossing still ahead: what to do after it, window by window, by how hard it was.

Worked out before departure, so that the answer is at hand where there is no machine. The order is that of
the hours after the water: at the bank, at the first halt, the same evening, within two days, before the next
remote leg, later. Each case is the planned crossing with another depth, hot hubs, a stalled engine or salt
water, asked the same questions as the plan itself once the crossing is made; the wear is that of the planned
crossing, and what is recorded afterwards with `cross` is planned in full. A card never says, or lets it be
read, that water can be driven.
"""

from collections.abc import Iterable, Iterator, Sequence
from datetime import date

from msgspec import Struct
from msgspec.structs import replace

from tripplan.due.faults import ItemAt
from tripplan.due.standing import Situation, item_positions
from tripplan.explain.card_places import CardPlace, Planned, card_places, planned
from tripplan.explain.crossings import ORDER, crossing_notes
from tripplan.placing.tasks import called_for
from tripplan.records.facts_in import Crossing, Unit
from tripplan.records.lookups import HALF_TYRE_POINTS
from tripplan.records.plan import Plan
from tripplan.records.words import Act, WaterWindow
from tripplan.trip.timeline import Timeline, build_timeline
from tripplan.water.crossing import Call, crossing_date, wets_unit
from tripplan.water.grades import EASY, FLOOR, FLOOR_POINTS, Easy, easy_limits, grade
from tripplan.water.lines import BowWave, point_height_m

BELOW, REACHED, HOT, ABOVE, STALLED, SALT, PLANNED = (
    "below", "reached", "hard", "above", "stalled", "salt", "planned"
)  # fmt: skip
BODY_POINTS = ("door_sill", "trailer_floor")
MILLIMETRE_M = 0.001
DRYING = Act.EXERCISE
TURN_ROUND = (
    "15 cm of moving water knocks a person over and 30 cm carries small cars (weather.gov, flood pages).",
    "A 2.5 t four-wheel-drive was unstable in 0.45 m at 1 m/s and floated in 0.95 m (wrl.unsw.edu.au, tests of 2017).",
)
# Orders and sources: TM 9-2320-303-10 para 2-36 (brakes, lock, engine, drain), TM 9-2320-273-10 (engine runs a
# while), TM 9-2330-385-14 (500 ft), TM 9-2320-280-10 p. 2-146 (not forced); draining and the walk-round: common practice.
BANK_STEPS = (
    "Stand clear of the water, level or nose up; let it drain.",
    "Engine: running, let it run a while. Stopped in the water: do not turn it.",
    "Brakes, before normal speed: about 150 m with light strokes, until even. Chocks until the park brake holds.",
    "Walk round: debris, plates, wheels; mud out of the radiator.",
)
TOWED_BANK_STEPS = (
    *BANK_STEPS[:2],
    "Brakes, before normal speed: about 150 m with light strokes, trailer by its lever, until even. "
    "Chocks until the park brake holds.",
    "Walk round: debris, plates, wheels, trailer; mud out of the radiator.",
)
EVENING_STEPS = ("Cold, level. Write clean or found.",)
TOWED_EVENING_STEPS = ("Cold, level; trailer hubs before they stand a night. Write clean or found.",)
STEPS: dict[str, tuple[str, ...]] = {WaterWindow.BANK: BANK_STEPS, WaterWindow.NIGHT: EVENING_STEPS}
TOWED_STEPS: dict[str, tuple[str, ...]] = {WaterWindow.BANK: TOWED_BANK_STEPS, WaterWindow.NIGHT: TOWED_EVENING_STEPS}


class CardAct(Struct, frozen=True, kw_only=True):
    """One act, as a person calls it there, on items of one unit; `names` hold the item and, for one side only, that side."""

    act: str
    unit: str
    names: tuple[str, ...]


class CardLine(Struct, frozen=True, kw_only=True):
    """What one case adds in one window."""

    case: str
    acts: tuple[CardAct, ...]


class CardWindow(Struct, frozen=True, kw_only=True):
    """One window: bank, halt, night, days, before remote or later; steps for every case, then what each adds."""

    when: str
    words: str
    steps: tuple[str, ...]
    lines: tuple[CardLine, ...]


class CardCase(Struct, frozen=True, kw_only=True):
    """One case: how far the water came, or what happened in it; each builds on the one above it.

    `notes` come on top of that one's. `places` is empty where the case changes the plan as that one does.
    The case stands for depths from `from_m` to `to_m`; None means depth does not tell it, or no hub
    height is known. `as_planned` is true for the case that the crossing is as planned.
    """

    key: str
    from_m: float | None
    to_m: float | None
    as_planned: bool
    notes: tuple[str, ...]
    places: tuple[CardPlace, ...]


class CardMark(Struct, frozen=True, kw_only=True):
    """A height to look for on a unit afterwards: hubs, sill, floor."""

    unit: str
    point: str
    height_m: float


class CrossingCard(Struct, frozen=True, kw_only=True):
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
    allowance_front_m: float
    marks: tuple[CardMark, ...]
    cases: tuple[CardCase, ...]
    windows: tuple[CardWindow, ...]


def crossing_cards(s: Situation, plan: Plan | None = None) -> tuple[CrossingCard, ...]:
    """A card for every crossing that is planned and not yet made, in the order of the trip.

    `plan` is the plan of this situation, which tells what is done at later places anyway; without it only what the
    crossings call for counts as planned.
    """
    if all(crossing.crossed for crossing in s.timeline.crossings):
        return ()
    pairs = item_positions(s.rig, s.catalogue)
    desk = _Desk(s, pairs, planned(s, called_for(pairs, s, s.timeline), plan))
    return tuple(
        _card(index, crossing, desk) for index, crossing in enumerate(s.timeline.crossings) if crossing.crossed is None
    )


class _Desk(Struct, frozen=True):
    """What all cards are worked out from: the trip as planned, and what is done where."""

    s: Situation
    pairs: tuple[ItemAt, ...]
    planned: Planned


class _Case(Struct, frozen=True):
    """A case with the crossing it is worked out for and what that calls for."""

    key: str
    span_m: tuple[float | None, float | None]
    made: Crossing
    own: tuple[Call, ...]


def _card(index: int, crossing: Crossing, desk: _Desk) -> CrossingCard:
    s = desk.s
    leg = next(leg for leg in s.timeline.legs if leg.leg == crossing.leg)
    units = [unit for unit in s.rig.units if wets_unit(crossing, unit, s.timeline)]
    found = tuple(_cases(index, crossing, units, desk))
    holds = found[0].key if len(found) == 1 else _planned_case(crossing, units, s)
    return CrossingCard(
        leg=crossing.leg, from_=leg.from_, to=leg.to, at_km=crossing.at_km,
        date=crossing_date(index, s.timeline), depth_m=crossing.depth_m, water=crossing.water,
        note=crossing.note or "", allowance_m=s.allowance_m.elsewhere_m,
        allowance_front_m=s.allowance_m.front_m, marks=tuple(_marks(units)),
        cases=tuple(_told(found, holds, index, desk)), windows=tuple(_windows(found, TOWED_STEPS if leg.towing else STEPS)),
    )  # fmt: skip


def _marks(units: Iterable[Unit]) -> Iterator[CardMark]:
    for unit in units:
        for point in (*HALF_TYRE_POINTS, *BODY_POINTS):
            height_m = point_height_m(unit, point)
            is_named = unit.kind == "vehicle" or point in unit.heights_mm
            if height_m is not None and is_named:
                yield CardMark(unit=unit.id, point=point, height_m=height_m)


def case_depths_m(units: Sequence[Unit], wave: BowWave, limits: Easy) -> dict[str, tuple[float, float]]:
    """The depths each case stands for, metres; empty when no hub height is known.

    Below: the water line just under the lowest hub. Reached: from there as deep as an easy crossing may
    be. Above: from the lowest point of the floor, or where none is given the top of the tyre, to the sill.
    """
    hubs = [h for unit in units for point in HALF_TYRE_POINTS if (h := point_height_m(unit, point)) is not None]
    if not hubs:
        return {}
    floors = [
        h - wave.at(unit, point)
        for unit in units for point in FLOOR_POINTS if (h := point_height_m(unit, point)) is not None
    ]  # fmt: skip
    sills = [h for unit in units if (h := point_height_m(unit, BODY_POINTS[0])) is not None]
    below = max(0.0, min(hubs) - wave.elsewhere_m - MILLIMETRE_M)
    floor = max(min(floors, default=2 * max(hubs)), max(hubs))
    reached = max(max(hubs), min(limits.depth_m, floor - MILLIMETRE_M))
    return {
        BELOW: (0.0, below),
        REACHED: (below, reached),
        ABOVE: (floor, max(floor, *sills, *(() if sills else (2 * max(hubs),)))),
    }


def _planned_case(crossing: Crossing, units: Sequence[Unit], s: Situation) -> str:
    """The case of the crossing as it is planned, by its grade on the unit that it is hardest on.

    A card of salt water has no case of its own for the salt: which of its cases holds goes by the depth.
    """
    limits = easy_limits(s.catalogue)
    asked = crossing.model_copy(update={"water": "fresh"}) if crossing.water == "salt" else crossing
    number = max(grade(asked, unit, s.allowance_m, limits).number for unit in units)
    return BELOW if number < EASY else {EASY: REACHED, FLOOR: ABOVE}.get(number, HOT)


def _cases(index: int, crossing: Crossing, units: Sequence[Unit], desk: _Desk) -> Iterator[_Case]:
    """Every case as the crossing made so: cool and short unless that is what the case is about."""
    depths = case_depths_m(units, desk.s.allowance_m, easy_limits(desk.s.catalogue))
    made = crossing.model_copy(
        update={"crossed": crossing_date(index, desk.s.timeline), "minutes": 0.0, "hubs_hot": False, "stalled": False}
    )

    def case(key: str, span_m: tuple[float | None, float | None], **change: object) -> _Case:
        nonlocal made
        made = made.model_copy(update=change)
        return _Case(key, span_m, made, _calls_of(made, index, desk))

    if not depths:
        yield case(PLANNED, (None, None))
        return
    yield case(BELOW, depths[BELOW], depth_m=depths[BELOW][1])
    yield case(REACHED, depths[REACHED], depth_m=depths[REACHED][1])
    yield case(HOT, (None, None), hubs_hot=True)
    yield case(ABOVE, depths[ABOVE], depth_m=depths[ABOVE][1])
    yield case(STALLED, (None, None), stalled=True)
    if crossing.water != "salt":
        made = made.model_copy(update={"stalled": False})
        yield case(SALT, (None, None), water="salt")


def _told(found: Sequence[_Case], holds: str, index: int, desk: _Desk) -> Iterator[CardCase]:
    notes: tuple[str, ...] = ()
    places: tuple[CardPlace, ...] = ()
    for case in found:
        own_notes, own_places = crossing_notes(case.made), tuple(card_places(case.own, index, desk.planned))
        yield CardCase(
            key=case.key, from_m=case.span_m[0], to_m=case.span_m[1], as_planned=case.key == holds,
            notes=tuple(note for note in own_notes if note not in notes),
            places=() if own_places == places else own_places,
        )  # fmt: skip
        notes, places = (*notes, *own_notes), own_places


def _what(call: Call) -> tuple[str, str, str | None, str, str]:
    return (call.item.id, call.unit.id, call.position, call.rule.when, call.rule.act)


def _calls_of(made: Crossing, index: int, desk: _Desk) -> tuple[Call, ...]:
    """What this crossing alone asks for outright, numbered as the trip's crossings are."""
    s = desk.s
    found = called_for(desk.pairs, s, _only(made, s))
    return tuple(replace(call, crossing=index) for call in found if not call.contingent)


def _only(made: Crossing, s: Situation) -> Timeline:
    trip = s.trip.model_copy(update={"crossings": (made,)})
    return build_timeline(trip, s.timeline.driving_hours_per_day)


def _windows(found: Sequence[_Case], every_case: dict[str, tuple[str, ...]]) -> Iterator[CardWindow]:
    """The windows in the order of the hours; an act stands in the first case that calls for it."""
    new: dict[str, dict[str, list[Call]]] = {}
    known: set[tuple[str, str, str | None, str, str]] = set()
    for case in found:
        for call in case.own:
            if _what(call) not in known and not _is_a_step(call):
                new.setdefault(call.rule.when, {}).setdefault(case.key, []).append(call)
        known |= {_what(call) for call in case.own}
    for when in ORDER:
        cases, steps = new.get(when, {}), every_case.get(when, ())
        if cases or steps:
            own = [call for acts in cases.values() for call in acts]
            lines = tuple(CardLine(case=key, acts=_acts(acts)) for key, acts in cases.items())
            yield CardWindow(when=when, words=_window_words(own), steps=steps, lines=lines)


def _is_a_step(call: Call) -> bool:
    """Drying the brakes stands among the steps of the bank."""
    return call.rule.once and call.rule.act == DRYING


def _acts(own: Sequence[Call]) -> tuple[CardAct, ...]:
    groups: dict[tuple[str, str], dict[str, list[str]]] = {}
    for call in own:
        verb = "" if call.rule.name else call.item.verb_of(call.rule.act)
        names = groups.setdefault((call.unit.id, verb or call.rule.act), {})
        names.setdefault(call.rule.name or call.item.said, []).append(call.position or "")
    return tuple(
        CardAct(act=act, unit=unit, names=tuple(_sided(name, sides) for name, sides in names.items()))
        for (unit, act), names in groups.items()
    )


def _sided(name: str, sides: Sequence[str]) -> str:
    return f"{name}, {sides[0]}" if len(sides) == 1 and sides[0] else name


def _window_words(own: Sequence[Call]) -> str:
    """The window's own figures: the shortest of those that its calls have."""
    days = [rule.within_days for call in own if (rule := call.rule).within_days is not None]
    km = [rule.within_km for call in own if (rule := call.rule).within_km is not None]
    parts = [f"{min(days):g} days"] if days else []
    return " or ".join([*parts, *([f"{min(km):g} km"] if km else [])])
