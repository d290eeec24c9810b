"""What `tripplan route` does: propose legs from a track, and write a plan's places as files.

Both return the exit status; nothing of the trip folder is changed without `write`.
"""

from collections.abc import Mapping, Sequence
from contextlib import nullcontext
from pathlib import Path

from tripplan.commands.status import MADE, MADE_WITH_WARNINGS, day_of, refuse_idle, refused, tells_refusals
from tripplan.commands.terminal import say, say_document
from tripplan.files.held import folder_held
from tripplan.files.recording import outputs_held
from tripplan.files.way_in import content
from tripplan.files.whole_files import may_not_write, put
from tripplan.records.facts_in import Leg
from tripplan.records.plan import Plan
from tripplan.records.problems import BadInput
from tripplan.records.track import Track
from tripplan.sheets.route_places import Places
from tripplan.trip.route.cut_into_legs import Cut, ProposedLeg
from tripplan.trip.route.measured_way import Way

BY = ("overnight", "waypoints", "km")


@tells_refusals
def add(folder: Path, track: Path, by: str, km_a_day: float | None, write: bool, as_json: bool) -> int:
    """Propose legs from a track file; with `write`, put track and rows into the folder."""
    from tripplan.files.data_tables import read_catalogue
    from tripplan.files.folder import read_overrides
    from tripplan.files.leg_tracks import winding_factor
    from tripplan.files.tracks.any_track import read_track
    from tripplan.sheets.route_text import leg_rows, legs_json, rows_text, table_text
    from tripplan.trip.route.measured_way import measure

    _refuse_options(by, km_a_day)
    found, problems = read_track(track)
    if found is None:
        raise BadInput(problems)
    catalogue, _ = read_catalogue(read_overrides(folder)[0])
    way = measure(found, winding_factor(catalogue))
    legs, missed = _cut(found, way, by, km_a_day)
    with folder_held(folder) if write else nullcontext():
        first_number = _next_number(folder)
        rows = leg_rows(legs, track.name, first_number)
        told = list(missed) + (_write(folder, track, rows) if write else [])
    if as_json:
        say_document(legs_json(legs, rows, way) | {"problems": [p.as_text() for p in problems], "told": told})
    else:
        say("\n".join([table_text(legs, way, first_number), *told]))
        say("" if write else f"\nRows for legs.csv:\n{rows_text(rows)}", end="")
        say("".join(f"\n{one.as_text()}\n" for one in problems), end="")
    return MADE_WITH_WARNINGS if problems or missed else MADE


def _refuse_options(by: str, km_a_day: float | None) -> None:
    if by not in BY:
        raise refused("A11", by, "overnight, waypoints or km")
    if by == "km" and not (km_a_day and 10 <= km_a_day <= 2000):
        found = "no km a day" if km_a_day is None else f"{km_a_day:g} km a day"
        raise refused("A12", found, "--km-a-day from 10 to 2000")


def _cut(track: Track, way: Way, by: str, km_a_day: float | None) -> tuple[tuple[ProposedLeg, ...], tuple[str, ...]]:
    """The legs, and a sentence for each thing that could not be used for the cutting."""
    from tripplan.trip.route.cut_into_legs import km_cuts, overnight_cuts, propose, waypoint_cuts

    cuts: Sequence[Cut]
    missed: tuple[str, ...] = ()
    if by == "overnight":
        if not way.has_times:
            hint = "times in the track; without them use --by waypoints or --by km"
            raise refused("A13", "a track without times", hint)
        cuts = overnight_cuts(way)
    elif by == "waypoints":
        if not track.waypoints:
            hint = "named waypoints in the file; without them use --by overnight or --by km"
            raise refused("A13", "a track without named waypoints", hint)
        cuts, off = waypoint_cuts(way, track.waypoints)
        missed = tuple(f"Waypoint {name} is more than 2 km off the way; no leg ends there." for name in off)
    else:
        cuts = km_cuts(way, km_a_day or 0.0)
    return propose(way, cuts, track.waypoints), missed


def _next_number(folder: Path) -> int:
    from tripplan.files.tables import sound_records
    from tripplan.sheets.route_text import next_number

    return next_number(sound_records(folder / "legs.csv", Leg, "L"))


def _write(folder: Path, path: Path, rows: Sequence[dict[str, str]]) -> list[str]:
    """Copy the track into the folder and add the rows to legs.csv; a file of that name is never replaced."""
    from tripplan.files.tables import read_cells, read_text
    from tripplan.sheets.route_text import merged_text, rows_text

    legs_path, kept = folder / "legs.csv", folder / "tracks" / path.name
    if not folder.is_dir():
        raise refused("F01", str(folder), "a trip folder")
    new, old = content(path), content(kept)
    if new is None or (old is not None and old != new):
        raise refused("A14", f"another file at tracks/{path.name}", "a name not used there yet")
    text = rows_text(rows)
    if legs_path.exists():
        before, _ = read_text(legs_path, "legs.csv")
        table, problems = read_cells(legs_path)
        if before is None or table is None:
            raise BadInput(problems)
        text = merged_text(before, table, rows)
    _put({kept: new, legs_path: text.encode("utf-8")})
    return [f"Written: tracks/{path.name}, and {len(rows)} rows in legs.csv. `tripplan check` lists what they lack."]


def _put(contents: Mapping[Path, bytes]) -> None:
    """Write each file whole; raises BadInput K03 when that is not possible."""
    for path, new in contents.items():
        with may_not_write(path.parent.name):
            path.parent.mkdir(exist_ok=True)
        put(path, new)


@tells_refusals
def export(folder: Path, out: Path, today: str | None, as_json: bool, items: Sequence[str] = ()) -> int:
    """Plan the folder and leave its places as `route.gpx` and `route.geojson` in `out`, with the pictures.

    `items` are those of the wear profile, by id, name or words as `why` takes them; without any, the four that wear fastest.
    """
    from tripplan.commands.item_words import few_items
    from tripplan.files.plan_folder import read_to_plan, unproven_plan
    from tripplan.sheets.route_files import places_geojson, places_gpx
    from tripplan.sheets.route_places import read_places
    from tripplan.trip.route.distance_to_help import on_map

    asked = inputs, catalogue, _, problems = read_to_plan(folder, day_of(today))
    if not any(map(on_map, inputs.trip.legs)) and all(stop.lat is None for stop in inputs.trip.stops):
        hint = "a track, or from_lat, from_lon, to_lat and to_lon, in legs.csv"
        raise refused("A15", "no positions in the trip folder", hint)
    chosen = list(dict.fromkeys(item.id for text in items for item in few_items(text, catalogue, inputs.rig)))
    plan = unproven_plan(*asked)
    places = read_places(folder, inputs.trip, plan, catalogue)
    files = {"route.gpx": places_gpx(plan, places), "route.geojson": places_geojson(plan, places)}
    files |= _pictures(plan, places, chosen)
    with outputs_held(out):
        _put({out / name: text.encode("utf-8", "replace") for name, text in files.items()})
    _tell_export(out, files, len(places.marks), places.unplaced, as_json)
    return MADE_WITH_WARNINGS if places.unplaced or problems else MADE


def _pictures(plan: Plan, places: Places, items: Sequence[str]) -> dict[str, str]:
    """The trip line in as many parts as it needs, the map where anything is on it, and the wear profile."""
    from tripplan.sheets.pictures.map import route_map_svg
    from tripplan.sheets.pictures.trip_line import trip_line_pictures
    from tripplan.sheets.pictures.wear_profile import wear_profile_svg

    parts = trip_line_pictures(plan)
    found = {f"trip_line{'' if number == 1 else f'_{number}'}.svg": part for number, part in enumerate(parts, 1)}
    drawn = route_map_svg(plan, places)
    return found | ({"route_map.svg": drawn} if drawn else {}) | {"wear_profile.svg": wear_profile_svg(plan, items)}


def _tell_export(out: Path, files: dict[str, str], marks: int, unplaced: Sequence[str], as_json: bool) -> None:
    if as_json:
        say_document({"files": [str(out / name) for name in files], "places": marks, "unplaced": list(unplaced)})
        return
    say(f"{marks} places written to {out}: {', '.join(files)}.")
    for text in unplaced:
        say(f"Not on the map, since its leg has no track and no coordinates: {text}")


@tells_refusals
def route(
    what: str, folder: Path, track: Path | None, by: str, km_a_day: float | None, write: bool,
    out: Path | None, today: str | None, as_json: bool, items: Sequence[str] = (),
) -> int:  # fmt: skip
    """Legs from a track, or a plan's places as waypoints."""
    if what == "add" and track:
        refuse_idle("add", {"--item": items, "--out": out})
        return add(folder, track, by, km_a_day, write, as_json)
    if what == "export" and out:
        refuse_idle("export", {"FILE": track, "--km-a-day": km_a_day, "--write": write})
        return export(folder, out, today, as_json, items)
    wanting = {"add": ("no track", "FILE"), "export": ("no --out", "--out DIR")}
    raise refused("A09", *wanting.get(what, (what, "add or export")))
