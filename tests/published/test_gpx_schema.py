"""Our GPX against the GPX 1.1 schema, and as an independent reader takes it.

The schema is stated by hand in `gpx_rules.py`, after the public one of the standard. gpxpy, an
independent reader, is asked as well.
"""

from pathlib import Path

import pytest
from lxml import etree
from msgspec.structs import replace

from tests.published.gpx_rules import gpx_schema
from tests.sheets.map_folder import map_folder, places_in, plan_on_map
from tripplan.files.tracks.any_track import read_track
from tripplan.records.plan import Plan
from tripplan.sheets.route_files import places_gpx
from tripplan.sheets.route_places import Places

gpxpy = pytest.importorskip("gpxpy")

TRACKS = Path(__file__).parents[2] / "demo" / "after-crossing" / "tracks"


def planned(folder: Path, shift_deg: float = 0.0) -> tuple[Plan, Places]:
    """A plan on the map and its places."""
    return plan_on_map(), places_in(map_folder(folder, shift_deg))


@pytest.mark.parametrize("shift_deg", [0.0, 46.5])
def test_our_gpx_keeps_the_schema(tmp_path: Path, shift_deg: float) -> None:
    """Otherwise a receiver that checks its input would refuse the whole file; once over the antimeridian."""
    text = places_gpx(*planned(tmp_path, shift_deg))
    gpx_schema().assertValid(etree.XML(text.encode("utf-8")))


POINT = '<wpt lat="-23.5" lon="134">{}</wpt>'
REFUSED = {
    "a name before the height": POINT.format("<name>a</name><ele>1</ele>"),
    "an element of nobody's": POINT.format("<kind>stop</kind>"),
    "a height in words": POINT.format("<ele>high</ele>"),
    "a day without a time": POINT.format("<time>2026-07-03</time>"),
    "beyond the pole": '<wpt lat="-90.1" lon="0"/>',
    "180 degrees east": '<wpt lat="0" lon="180"/>',
    "no longitude": '<wpt lat="0"/>',
    "a track before a waypoint": "<trk/>" + POINT.format(""),
    "a point outside its segment": '<trk><trkpt lat="0" lon="0"/></trk>',
    "a link without its address": POINT.format("<link><text>a</text></link>"),
    "a fix of another kind": POINT.format("<fix>4d</fix>"),
}


@pytest.mark.parametrize("inner", REFUSED.values(), ids=REFUSED)
def test_the_schema_refuses_what_the_standard_refuses(inner: str) -> None:
    """Otherwise the rules above would let anything through."""
    head = '<gpx xmlns="http://www.topografix.com/GPX/1/1" version="1.1" creator="by hand">'
    assert gpx_schema().validate(etree.XML(f"{head}{POINT.format('<ele>1</ele>')}</gpx>"))
    assert not gpx_schema().validate(etree.XML(f"{head}{inner}</gpx>"))
    assert not gpx_schema().validate(etree.XML(f"{head}</gpx>".replace('"1.1"', '"1.0"')))


@pytest.mark.parametrize("name", ["wet-weekend.gpx", "far-side.gpx"])
def test_the_tracks_of_the_demo_keep_the_schema(name: str) -> None:
    """Otherwise the example an owner copies would be one that receivers refuse."""
    gpx_schema().assertValid(etree.parse(TRACKS / name))


def test_longitude_180_is_written_as_the_standard_has_it(tmp_path: Path) -> None:
    """Otherwise one stop on the antimeridian would make the whole file one that receivers refuse."""
    plan, places = planned(tmp_path)
    mark = replace(places.marks[0], position=(-16.0, 179.99999999))
    text = places_gpx(plan, replace(places, marks=(mark,)))
    gpx_schema().assertValid(etree.XML(text.encode("utf-8")))
    assert 'lat="-16.000000" lon="-180.000000"' in text


def test_an_independent_reader_finds_every_place(tmp_path: Path) -> None:
    """Otherwise a stop could be lost on the way into the receiver."""
    plan, places = planned(tmp_path)
    read = gpxpy.parse(places_gpx(plan, places))
    assert [(w.name, w.type) for w in read.waypoints] == [(mark.name, mark.kind) for mark in places.marks]
    assert len(read.tracks) == len(plan.legs)


def test_what_we_write_we_read(tmp_path: Path) -> None:
    """Otherwise a route could not be taken from one trip folder to another."""
    plan, places = planned(tmp_path)
    path = tmp_path / "back.gpx"
    path.write_text(places_gpx(plan, places), encoding="utf-8")
    track, problems = read_track(path)
    assert problems == () and track is not None
    for segment, line in zip(track.segments, places.lines.values(), strict=True):
        assert [point[:2] for point in segment] == [
            pytest.approx(place, abs=1e-6) for place in line.positions
        ]  # fmt: skip
