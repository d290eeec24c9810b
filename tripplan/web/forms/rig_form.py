"""The rig as a form: read from rig.toml or from what was typed, and turned into the changed file."""

from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

from markupsafe import Markup
from msgspec import Struct

from tripplan.files.new_toml import EVERY_TRAILER_HEIGHT, TRAILER_HEIGHTS, heights_of
from tripplan.files.refusals import columns_of, words_of
from tripplan.files.toml_files import toml_or_nothing
from tripplan.files.way_in import content
from tripplan.records.catalogue import Catalogue
from tripplan.records.facts_in import Unit
from tripplan.records.problems import STOPS, BadInput, Problem
from tripplan.sheets.pictures.side_view import side_view
from tripplan.sheets.words import upper_first
from tripplan.water.crossing import water_marks
from tripplan.water.lines import bow_wave
from tripplan.web.forms.fields import Form, last
from tripplan.web.forms.slips import Field, by_place, slips_of
from tripplan.web.forms.trip_form import text_of, without_unfinished
from tripplan.web.forms.typed import as_files_have_it, plain_number
from tripplan.web.open_trip import Desk
from tripplan.web.pages.water import depth_slip, depth_typed, trial_crossing
from tripplan.web.saves import saving
from tripplan.web.saves.saving import Seen
from tripplan.web.toml_lines import Place, Unchangeable, edited, section

RIG_FILE = "rig.toml"
TOP_KEYS = {"name": "What you call the rig", "home_zone": "Time zone at home", "country": "Country code, for holidays",
            "region": "Region code in it"}  # fmt: skip
KEYS = {
    "drive": "Drive", "front_axle": "Front axle", "hubs": "Front hubs", "fuel": "Fuel", "gearbox": "Gearbox",
    "tyre_diameter_mm": "Tyre diameter, mm", "odometer_factor": "True km for each km shown",
    "usual_km_per_week": "Usual km in a week", "usual_engaged_share": "Share of it with the front axle driven",
    "usual_towing_share": "Share of it towing", "usual_low_range_share": "Share of it in low range",
    "usual_speed_kmh": "Usual speed, km/h", "fitted": "Fitted",
}  # fmt: skip
TRAILER_KEYS = ("odometer_factor", "usual_km_per_week", "usual_speed_kmh", "fitted")
HEIGHTS_KEY = "heights_mm"
FUELS = ("diesel", "petrol", "lpg")
MOST_UNITS = 12
START_M = 0.5
Typed = Mapping[str, str]


class RigTyped(Struct, frozen=True, kw_only=True):
    """All of the rig form: its fields by name, and the version of the file it was made from."""

    fields: Typed
    version: str


class UnitForm(Struct, frozen=True, kw_only=True):
    """One unit as the page shows it: its number in the file, its fields, its drawing and the bow wave drawn there."""

    number: int
    id: str
    kind: str
    keys: Mapping[str, str]
    words: Mapping[str, tuple[str, ...]]
    heights: Mapping[str, str]
    picture: Markup
    wave_m: float


def read_rig_typed(folder: Path) -> tuple[RigTyped, dict[str, Any]]:
    """The rig as the file has it, as text, and as its values."""
    data = toml_or_nothing(content(folder / RIG_FILE))
    fields = {f"rig.{key}": text_of(data.get(key, "")) for key in TOP_KEYS}
    for number, unit in enumerate(_units(data), 1):
        fields |= {f"unit.{number}.{key}": text_of(unit.get(key, "")) for key in _keys_of(unit)}
        heights = unit.get(HEIGHTS_KEY)
        own = heights if isinstance(heights, dict) else {}
        fields |= {f"unit.{number}.{HEIGHTS_KEY}.{point}": text_of(own.get(point, "")) for point in _points(unit, own)}
    return RigTyped(fields=fields, version=saving.version(folder, (RIG_FILE,))), data


def typed_rig(form: Form, now: RigTyped) -> RigTyped:
    """The rig as a form sends it; what it does not send stays as it is."""
    fields = {name: _as_typed(name, (form.get(name) or [old])[-1].strip(), old) for name, old in now.fields.items()}
    more = {name: _as_typed(name, values[-1].strip(), "") for name, values in form.items() if name.startswith("new.")}
    return RigTyped(fields={**fields, **more}, version=last(form, "version"))


def _as_typed(name: str, text: str, old: str) -> str:
    """A field with its figure as the files have it; what was not touched stays to the letter."""
    if text == old:
        return text
    if f".{HEIGHTS_KEY}." in name:
        return plain_number(text, "mm")
    return as_files_have_it(name.rpartition(".")[2], text)


def new_rig(folder: Path, now: RigTyped, typed: RigTyped) -> bytes | None:
    """The changed file, every untouched line as it was; None when nothing changes.

    Raises BadInput A25 for a file that cannot be read, and so not be changed without loss.
    """
    changes = {_place(name): text for name, text in typed.fields.items()
               if not name.startswith("new.") and text != now.fields[name]}  # fmt: skip
    added = _new_unit(typed.fields)
    if not changes and not added:
        return None
    raw = content(folder / RIG_FILE) or b""
    try:
        text = edited(raw.decode("utf-8-sig"), changes)
    except (UnicodeDecodeError, Unchangeable) as why:
        raise BadInput([_cannot_change(str(why))]) from None
    return (text.rstrip("\n") + "\n" + added if added else text).encode("utf-8", "replace")


def rig_form(
    desk: Desk, typed: RigTyped | None = None, problems: Sequence[Problem] = (), clash: Sequence[Any] | None = None,
    depth: str = "", note: str = "",
) -> dict[str, Any]:  # fmt: skip
    """What the page of the rig shows: each unit with its drawing, and what was refused."""
    now, data = read_rig_typed(desk.folder)
    seen = desk.see()
    shown = typed or now
    depth_m = depth_typed(depth)
    told = tuple(problems) or (() if seen.plan else seen.problems)
    told = without_unfinished(told)
    units = _units(data)
    slips = slips_of(told, lambda problem: _field_of(problem, units, shown.fields))
    return {
        "title": "The rig", "seen": seen, "version": typed.version if typed and clash is None else now.version, "slips": slips,
        "clash": clash or (), "note": note,
        "fields": shown.fields, "top": TOP_KEYS, "labels": KEYS, "depth": depth, "depth_m": START_M if depth_m is None else depth_m,
        "depth_slip": depth_slip(depth),
        "units": [
            _unit_form(n, unit, shown.fields, seen, START_M if depth_m is None else depth_m)
            for n, unit in enumerate(units, 1)
        ],
        "wrong": by_place(slips),
        "trailer_heights": TRAILER_HEIGHTS,
    }  # fmt: skip


def rig_clash(now: RigTyped, typed: RigTyped) -> list[tuple[str, str, str, str]]:
    """Where the form differs from the file as another tab left it: place, field, theirs, ours."""
    return [(RIG_FILE, name.replace(".", " "), now.fields[name], text) for name, text in typed.fields.items()
            if name in now.fields and text != now.fields[name]]  # fmt: skip


def _unit_form(number: int, unit: Mapping[str, Any], fields: Typed, seen: Seen, depth_m: float) -> UnitForm:
    start = f"unit.{number}."
    own = {name.removeprefix(start): text for name, text in fields.items() if name.startswith(start)}
    words = {key: words_of(columns_of(Unit)[key].annotation) for key in _keys_of(unit)} | {"fuel": FUELS}
    heights = {k.partition(".")[2]: v for k, v in own.items() if k.startswith(f"{HEIGHTS_KEY}.")}
    units = seen.inputs.rig.units if seen.inputs else ()
    record = next((one for one in units if one.id == unit.get("id")), None)
    return UnitForm(
        number=number, id=str(unit.get("id", "")), kind=str(unit.get("kind", "")),
        keys={key: own.get(key, "") for key in _keys_of(unit)}, words=words, heights=heights,
        picture=Markup(_picture(record, seen.catalogue, depth_m, number)) if record else Markup(""),
        wave_m=_wave_m(record, seen.catalogue) if record else 0.0,
    )  # fmt: skip


def _picture(unit: Unit, catalogue: Catalogue, depth_m: float, number: int) -> str:
    wave = bow_wave(catalogue)
    items = [item for item in catalogue.items if item.fits(unit)]
    marks = water_marks(unit, items, trial_crossing(depth_m), wave)
    return side_view([unit], marks, depth_m, _wave_m(unit, catalogue), f"side{number}")


def _wave_m(unit: Unit, catalogue: Catalogue) -> float:
    """What the bow wave adds at most on the unit; a trailer has no front of its own."""
    wave = bow_wave(catalogue)
    return wave.front_m if unit.kind == "vehicle" else wave.elsewhere_m


def _units(data: Mapping[str, Any]) -> Sequence[Mapping[str, Any]]:
    units = data.get("unit")
    found = units if isinstance(units, list) else []
    return [unit for unit in found if isinstance(unit, dict)][:MOST_UNITS]


def _keys_of(unit: Mapping[str, Any]) -> tuple[str, ...]:
    return TRAILER_KEYS if unit.get("kind") == "trailer" else tuple(KEYS)


def _points(unit: Mapping[str, Any], own: Mapping[str, Any]) -> tuple[str, ...]:
    fitted = unit.get("fitted")
    words = [str(word) for word in fitted] if isinstance(fitted, list) else []
    usual = EVERY_TRAILER_HEIGHT if unit.get("kind") == "trailer" else heights_of(words)
    return tuple(dict.fromkeys((*usual, *own)))


def _place(name: str) -> Place:
    if name.startswith("rig."):
        return 0, "", name.removeprefix("rig.")
    _, number, key = name.split(".", 2)
    sub, dot, point = key.partition(".")
    return (int(number), sub, point) if dot else (int(number), "", key)


def _field_of(problem: Problem, units: Sequence[Mapping[str, Any]], fields: Typed) -> Field | None:
    """The field of the form that a problem of rig.toml is about, as the form calls it."""
    if problem.file != RIG_FILE or not problem.column:
        return None
    name, unit = f"rig.{problem.column}", ""
    if problem.column.startswith("unit["):
        number, _, key = problem.column.removeprefix("unit[").partition("].")
        is_new = number.isdigit() and int(number) > len(units)
        unit = "The new trailer" if is_new else upper_first(str(units[int(number) - 1].get("id", "")))
        name = f"new.{key}" if is_new else f"unit.{number}.{key}"
    key = name.rpartition(".")[2]
    label = {**TOP_KEYS, **KEYS, "id": "A short word for it"}.get(key) or key.replace("_", " ").capitalize()
    if name not in fields and not name.startswith("new."):
        return None
    return Field(place=f"{name}-wrong", label=": ".join(filter(None, (unit, label))))


def _new_unit(fields: Typed) -> str:
    """A trailer described in the form, as a section of its own."""
    if fields.get("new.add") != "yes":
        return ""
    keys = {"id": fields.get("new.id", ""), "kind": "trailer"}
    keys |= {key: fields.get(f"new.{key}", "") for key in TRAILER_KEYS if key != "fitted"}
    heights = {point: fields.get(f"new.{HEIGHTS_KEY}.{point}", "") for point in TRAILER_HEIGHTS}
    return section(keys, heights, [word.strip() for word in fields.get("new.fitted", "").split(",") if word.strip()])


def _cannot_change(why: str) -> Problem:
    return Problem(
        code="A25", weight=STOPS, file=RIG_FILE, found=why,
        accepted="TOML in UTF-8, with a [[unit]] for each vehicle and trailer",
        hint="change it in a text editor; the page shows it as it is",
    )  # fmt: skip
