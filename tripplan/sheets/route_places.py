"""Places of a plan that can be put on a map: stops, crossings and where items run out.

A place without coordinates is left out and named in `unplaced`, never guessed. One on a
leg of which only the ends are known is marked approximate.
"""

from collections.abc import Iterator, Mapping
from pathlib import Path

from msgspec import Struct

from tripplan.files.leg_tracks import read_ways, winding_factor
from tripplan.records.catalogue import Catalogue
from tripplan.records.facts_in import Trip
from tripplan.records.plan import ON_THE_WAY, Plan, PlanItem, RunsOut
from tripplan.records.plan_work import PlanCrossing, Slot
from tripplan.sheets import words
from tripplan.sheets.worksheet.work_order import of_unit, placed_words, with_verdict
from tripplan.trip.route.leg_on_map import LegLine, Position, leg_lines, place_at

STOP, CROSSING, RUNS_OUT = "stop", "crossing", "runs out"
NO_WORK = "No work placed here."
NEVER_SAFE = "Depth as planned, not a word that it can be driven."


class PlaceMark(Struct, frozen=True, kw_only=True):
    """One place: what it is, its name, what to do there, where and when. `approximate` is a guess between ends.

    `in_key` is what the key of the map says of it.
    """

    kind: str
    name: str
    lines: tuple[str, ...]
    in_key: str
    position: Position
    trip_km: float
    day: str
    approximate: bool


class Places(Struct, frozen=True, kw_only=True):
    """All that a map or a track file of the plan shows."""

    lines: Mapping[int, LegLine]
    marks: tuple[PlaceMark, ...]
    unplaced: tuple[str, ...]


def read_places(folder: Path, trip: Trip, plan: Plan, catalogue: Catalogue) -> Places:
    """The places of a plan, from the tracks and coordinates of its folder."""
    ways, _ = read_ways(folder, trip.legs, winding_factor(catalogue))
    return places_of(plan, trip, leg_lines(trip.legs, ways))


def places_of(plan: Plan, trip: Trip, lines: Mapping[int, LegLine]) -> Places:
    """The places of a plan along these lines."""
    wanted = [*_stops(plan, trip, lines), *_crossings(plan, lines), *_run_outs(plan, lines)]
    marks = [mark for mark in wanted if isinstance(mark, PlaceMark)]
    unplaced = tuple(text for text in wanted if isinstance(text, str))
    return Places(lines=lines, marks=tuple(sorted(marks, key=lambda mark: mark.trip_km)), unplaced=unplaced)


def _stops(plan: Plan, trip: Trip, lines: Mapping[int, LegLine]) -> Iterator[PlaceMark | str]:
    given = {
        (stop.stop, stop.after_leg): (stop.lat, stop.lon)
        for stop in trip.stops if stop.lat is not None and stop.lon is not None
    }  # fmt: skip
    for slot in plan.slots:
        if slot.kind == "stop":
            line = lines.get(slot.after_leg)
            place = given.get((slot.place, slot.after_leg)) or (line.positions[-1] if line else None)
            yield f"stop {slot.place}" if place is None else PlaceMark(
                kind=STOP, name=slot.place, lines=_jobs(plan, slot), in_key=_stop_in_key(slot), position=place,
                trip_km=slot.trip_km, day=words.axis_day(slot.date), approximate=False,
            )  # fmt: skip


def _jobs(plan: Plan, slot: Slot) -> tuple[str, ...]:
    jobs = [f"{words.doing(job.said_act, job.name, job.position)}{of_unit(plan, job.unit)}, {words.duration(job.minutes)}"
            for job in slot.jobs]  # fmt: skip
    return (_facility(slot), *(jobs or [NO_WORK]))


def _facility(slot: Slot) -> str:
    return f"{slot.facility}, {words.day(slot.date)}"


def _stop_in_key(slot: Slot) -> str:
    work = words.count(len(slot.jobs), "job", "jobs") if slot.jobs else "no work placed"
    return f"{slot.place}, {_facility(slot)}: {work}"


def _crossings(plan: Plan, lines: Mapping[int, LegLine]) -> Iterator[PlaceMark | str]:
    for crossing in plan.crossings:
        name = f"Water crossing, leg {crossing.leg} km {crossing.at_km:g}"
        at = RunsOut(leg=crossing.leg, leg_km=crossing.at_km, trip_km=crossing.trip_km, date=crossing.date, meter="km")
        yield _mark(CROSSING, name, _calls(plan, crossing), f"{name}, {_depth(crossing)}", at, lines)


def _calls(plan: Plan, crossing: PlanCrossing) -> tuple[str, ...]:
    acts = [f"{words.doing(act.said_act, act.name, act.position)}{of_unit(plan, act.unit)}, {act.window}"
            for act in crossing.acts]  # fmt: skip
    return (f"{_depth(crossing)}. {NEVER_SAFE}", *acts)


def _depth(crossing: PlanCrossing) -> str:
    return f"{crossing.depth_m:g} m, {crossing.water} water"


def _run_outs(plan: Plan, lines: Mapping[int, LegLine]) -> Iterator[PlaceMark | str]:
    for item in with_verdict(plan, ON_THE_WAY):
        if at := item.runs_out:
            thing = words.item(item.name, item.position) + of_unit(plan, item.unit)
            name = f"{words.act(item.said_act)} by here: {thing}"
            yield _mark(RUNS_OUT, name, (_when(plan, item, at),), f"{thing}: {item.said_act}", at, lines)


def _when(plan: Plan, item: PlanItem, at: RunsOut) -> str:
    work = placed_words(plan, item)
    return f"Without work it typically runs out at trip km {at.trip_km:.0f}, {words.short_day(at.date)}. Work: {work}."


def _mark(
    kind: str, name: str, told: tuple[str, ...], in_key: str, at: RunsOut, lines: Mapping[int, LegLine]
) -> PlaceMark | str:
    line = lines.get(at.leg)
    if line is None:
        return name
    return PlaceMark(kind=kind, name=name, lines=told, in_key=in_key, position=place_at(line, at.leg_km), trip_km=at.trip_km,
                day=words.axis_day(at.date), approximate=not line.is_recorded)  # fmt: skip
