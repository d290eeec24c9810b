"""After a crossing: the side view at a depth and what it reaches, and what each crossing calls for, window by window."""

from collections.abc import Iterator
from pathlib import Path

from markupsafe import Markup
from msgspec import Struct

from tripplan.records import cell_values
from tripplan.records.facts_in import Crossing, Origin, Unit
from tripplan.records.grouped import grouped
from tripplan.records.plan import Plan
from tripplan.records.plan_work import PlanCrossing, WaterAct
from tripplan.sheets import words as say
from tripplan.sheets.pictures.side_view import side_view
from tripplan.sheets.worksheet import water as sheet_water
from tripplan.sheets.worksheet import work_order
from tripplan.water.crossing import PointMark, water_marks
from tripplan.water.lines import BowWave, bow_wave
from tripplan.web.forms.slips import Slip
from tripplan.web.forms.typed import plain_number
from tripplan.web.saves import saving
from tripplan.web.saves.saving import Seen

MOST_DEPTH_M = 3.0
START_DEPTH_M = 0.4
DEPTH_ACCEPTED = f"metres from 0 to {MOST_DEPTH_M:g}, such as 0.7, or centimetres, such as 70 cm"
EXAMPLE = {
    "hub_centre": 400.0, "knuckle_lower": 350.0, "diff_breather": 540.0, "gearbox_breather": 900.0, "starter": 570.0,
    "transfer_breather": 880.0, "alternator": 760.0, "door_sill": 610.0, "lamp": 860.0, "airbox_seam": 1060.0,
    "intake_mouth": 1150.0,
}  # fmt: skip


def by_unit(marks: tuple[PointMark, ...]) -> tuple[tuple[str, tuple[PointMark, ...]], ...]:
    """Marks by their unit, in the order given."""
    units = dict.fromkeys(mark.unit for mark in marks)
    return tuple((unit, tuple(mark for mark in marks if mark.unit == unit)) for unit in units)


class WaterView(Struct, frozen=True, kw_only=True):
    """The drawing and the points of the rig at one depth."""

    depth_m: float
    allowance_m: float
    picture: Markup
    marks: tuple[PointMark, ...]


def view_of(seen: Seen, depth: str, leg: str) -> WaterView:
    """The drawing at the depth typed; a depth that cannot be read shows the one it starts with."""
    typed_m = depth_typed(depth)
    depth_m = START_DEPTH_M if typed_m is None else typed_m
    assert seen.inputs is not None
    wave = bow_wave(seen.catalogue)
    own = next((row for row in seen.inputs.trip.legs if str(row.leg) == leg), None)
    units = [u for u in seen.inputs.rig.units if u.kind == "vehicle" or own is None or own.towing]
    made = trial_crossing(depth_m)
    marks = tuple(
        mark
        for unit in units
        for mark in water_marks(unit, [i for i in seen.catalogue.items if i.fits(unit)], made, wave)
    )
    picture = Markup(side_view(units, marks, depth_m, wave.front_m))
    return WaterView(depth_m=depth_m, allowance_m=wave.front_m, picture=picture, marks=marks)


def depth_typed(text: str) -> float | None:
    """A depth in metres as it was typed: 0.7, 0,7 or 70 cm; None where nobody can be sure of it."""
    plain = plain_number(text, "m")
    if not cell_values.PLAIN_NUMBER.fullmatch(plain) or len(plain) > 9:
        return None
    depth_m = float(plain)
    return depth_m if 0 <= depth_m <= MOST_DEPTH_M else None


def depth_slip(text: str) -> Slip | None:
    """What is said beside a depth that is typed and cannot be drawn."""
    if not text.strip() or depth_typed(text) is not None:
        return None
    whole = cell_values.PLAIN_NUMBER.fullmatch(text.strip()) and MOST_DEPTH_M < float(text) <= 100 * MOST_DEPTH_M
    offers = (f"{text.strip()} cm",) if whole else ()
    return Slip(place="depth-wrong", label="Depth, m", found=text, accepted=DEPTH_ACCEPTED, offers=offers)


def trial_crossing(depth_m: float) -> Crossing:
    """A crossing of that depth, to see what it reaches."""
    return Crossing.model_validate(
        {"leg": 1, "at_km": 0.0, "depth_m": depth_m, "water": "fresh", "origin": Origin(file="page")}
    )


def blank_view() -> str:
    """A drawing with the points named in the form of the first visit; its heights are an example."""
    unit = Unit.model_validate(
        {"id": "example", "kind": "vehicle", "heights_mm": EXAMPLE, "origin": Origin(file="page")}
    )
    marks = water_marks(unit, (), trial_crossing(0.5), BowWave(0, 0, 0, 0))
    return side_view([unit], marks, 0.5, 0.0, "example")


def crossings_version(folder: Path) -> str:
    """The mark of the crossings a form was made from."""
    return saving.version(folder, ("crossings.csv",))


class Called(Struct, frozen=True, kw_only=True):
    """The same act at several items, what to look for, and what finding it means."""

    words: str
    act: WaterAct


class CrossingTold(Struct, frozen=True, kw_only=True):
    """One crossing in words, and what it calls for by window, the most pressing first."""

    crossing: PlanCrossing
    facts: str
    windows: tuple[tuple[str, tuple[Called, ...]], ...]
    under: tuple[str, ...]
    contingent: tuple[str, ...]


class Chosen(Struct, frozen=True, kw_only=True):
    """The leg that the form starts with, as its field has it, and why; both empty where nothing speaks for one."""

    leg: str
    why: str


def chosen(plan: Plan) -> Chosen:
    """Where water is planned next, today or later; else the leg that was begun last, while the trip is on."""
    ahead = next((one for one in planned(plan) if one.date >= plan.today), None)
    if ahead is not None:
        return Chosen(leg=str(ahead.leg), why=f"water is planned there next, {sheet_water.facts(ahead)}")
    begun = [leg for leg in plan.legs if leg.date <= plan.today <= plan.return_]
    return Chosen(leg=str(begun[-1].number), why="the last leg begun by today") if begun else Chosen(leg="", why="")


def planned(plan: Plan, *, past: bool | None = None) -> tuple[PlanCrossing, ...]:
    """The crossings nobody recorded; with `past` only those of days before today, or only the others."""
    found = (one for one in plan.crossings if not one.crossed)
    return tuple(one for one in found if past is None or (one.date < plan.today) == past)


def told(plan: Plan, crossing: PlanCrossing) -> CrossingTold:
    """The crossing as the page tells it."""
    windows = tuple((window, _called(plan, acts)) for window, acts in work_order.by_window(crossing.acts))
    return CrossingTold(
        crossing=crossing,
        facts=sheet_water.facts(crossing),
        windows=windows,
        under=tuple(_under(crossing)),
        contingent=sheet_water.contingent_lines(plan, crossing.contingent),
    )


def _under(crossing: PlanCrossing) -> Iterator[str]:
    """What sits at each point that the water reached, one line for each point."""
    points: dict[tuple[str, str, float], dict[str, None]] = {}
    for wet in crossing.immersed:
        points.setdefault((wet.unit, wet.point, wet.height_m), {})[wet.name] = None
    for (unit, point, height_m), names in points.items():
        yield f"{unit}, {point.replace('_', ' ')} {say.figure(height_m)} m: {'; '.join(names)}"


def _called(plan: Plan, acts: tuple[WaterAct, ...]) -> tuple[Called, ...]:
    found = grouped(((act.said_act, act.look_for, act.if_found, act.by), act) for act in acts)
    return tuple(Called(words=sheet_water.call_words(plan, same), act=same[0]) for same in found.values())
