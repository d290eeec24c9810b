"""Track files in their three forms and all their oddities; GPX is held against gpxpy, an independent reader."""

import json
from datetime import UTC, datetime
from itertools import pairwise
from pathlib import Path

import pytest
from geopy.distance import geodesic
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.track_texts import GPX_HEAD, KML_HEAD, eastward, gpx, gpx_route, timed, trkpt
from tripplan.files.tracks import any_track, xml
from tripplan.files.tracks.any_track import read_track
from tripplan.records.track import DRAWN, RECORDED, Point, Track, Waypoint

gpxpy = pytest.importorskip("gpxpy")

START = datetime(2026, 7, 3, 22, 0, tzinfo=UTC)
TIMED = timed(eastward(40), START, 20)


def written(folder: Path, text: str | bytes, name: str = "way.gpx") -> Path:
    """A file with that content."""
    path = folder / name
    path.write_bytes(text.encode("utf-8") if isinstance(text, str) else text)
    return path


def track_of(folder: Path, text: str | bytes) -> Track:
    """The track of that content, which must be without problems."""
    track, problems = read_track(written(folder, text))
    assert problems == ()
    assert track is not None
    return track


def codes_of(folder: Path, text: str | bytes) -> list[str]:
    """The problems of that content."""
    return [problem.code for problem in read_track(written(folder, text))[1]]


FAR_OFF = trkpt((-30, 130)) + trkpt((-30, 131))
GPX_TEXTS = {
    "timed": gpx(TIMED),
    "no times": gpx(eastward(30)),
    "no heights": gpx([(lat, lon, None, time) for lat, lon, _, time in TIMED]),
    "many segments": gpx(eastward(10), eastward(5, lat=-24), [], [(-25, 133)], eastward(2, lat=-26)),
    "route only": gpx_route(eastward(12, step_deg=0.2)),
    "waypoints": gpx(eastward(20), waypoints=[(-23, 133.01, "Käferbach &amp; Bore"), (-23, 133.02, "Two  Wells")]),
    "the older version": gpx(TIMED, head='<gpx version="1.0" creator="t" xmlns="http://www.topografix.com/GPX/1/0">'),
    "across the antimeridian": gpx([(-16.5, 179.99), (-16.5, -179.99), (-16.5, -179.97)]),
    "the same point again": gpx([(-23, 133), (-23, 133), (-23, 133.01), (-23, 133.01)]),
    "several tracks": gpx(eastward(5)).replace("</gpx>", f"<trk><trkseg>{FAR_OFF}</trkseg></trk></gpx>"),
}  # fmt: skip


@pytest.mark.parametrize("name", GPX_TEXTS)
def test_gpx_gives_what_an_independent_reader_gives(tmp_path: Path, name: str) -> None:
    """Otherwise the legs would be made from other points than the receiver wrote."""
    ours = track_of(tmp_path, GPX_TEXTS[name])
    theirs = gpxpy.parse(GPX_TEXTS[name])
    lines = [segment.points for track in theirs.tracks for segment in track.segments]
    lines = lines or [route.points for route in theirs.routes]
    expected = [
        tuple(Point(p.latitude, p.longitude, p.elevation, p.time) for p in points)
        for points in lines
        if len(points) > 1
    ]
    assert list(ours.segments) == expected
    named = [Waypoint(" ".join((w.name or "").split()), w.latitude, w.longitude) for w in theirs.waypoints]
    assert list(ours.waypoints) == named


ODD_POINTS = st.sampled_from([
    '<trkpt lat="-23" lon="133.5"/>',
    '<trkpt lat="-23" lon="133.5"><ele>500.5</ele></trkpt>',
    '<trkpt lat="-23" lon="133.6"><time>2026-07-03T07:00:00Z</time><name>a</name></trkpt>',
    '<trkpt lat="-24" lon="134"><ele>1</ele><time>2026-07-03T07:00:05Z</time></trkpt>',
    '<trkpt lat="-25" lon="134"><ele>\n</ele><time>2026-07-03T07:00:06Z</time></trkpt>',
    '<trkpt lat="-26" lon="134"><!-- a --><ele>7</ele><extensions><p>5</p></extensions></trkpt>',
    "<extensions><p>5</p></extensions>",
])  # fmt: skip


@settings(max_examples=150, deadline=None)
@given(st.lists(st.lists(ODD_POINTS, min_size=2, max_size=40), min_size=1, max_size=3), st.integers(40, 2000))
def test_points_unlike_their_neighbours(
    tmp_path_factory: pytest.TempPathFactory, segments: list[list[str]], piece_bytes: int
) -> None:
    """Otherwise a height or time would slip to the next point where one lacks its own; read in pieces of any size."""
    body = "".join(f"<trkseg>{''.join(rows)}</trkseg>" for rows in segments)
    text = f"{GPX_HEAD}<trk>{body}</trk></gpx>"
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(xml, "PIECE_BYTES", piece_bytes)
        ours, problems = read_track(written(tmp_path_factory.mktemp("t"), text))
    theirs = [
        tuple(Point(p.latitude, p.longitude, p.elevation, p.time) for p in segment.points)
        for segment in gpxpy.parse(text.replace("<ele>\n</ele>", "")).tracks[0].segments
    ]
    assert problems == () or ours is None
    assert (ours.segments if ours else ()) == tuple(points for points in theirs if len(points) > 1)


def test_one_bad_point_among_many(tmp_path: Path) -> None:
    """Otherwise a track read at once would lose its neighbours, or let a point off the earth in."""
    rows: list[tuple[object, ...]] = list(TIMED) * 100
    for spot, bad in ((500, (-23, "1_33", 5, START.isoformat())), (700, ("nan", 133)), (900, (-23, 133, "9e9"))):
        rows[spot] = bad
    track, found = read_track(written(tmp_path, gpx(rows)))
    assert track is not None and track.points == 3998
    assert [(p.code, p.found.endswith("1 more")) for p in found] == [("X06", True), ("X07", False)]


def test_utf16_and_a_mark_at_the_start_are_read(tmp_path: Path) -> None:
    """Otherwise a file saved by an editor would be refused though all of it is there."""
    plain = GPX_TEXTS["timed"].replace("UTF-8", "UTF-16")
    assert track_of(tmp_path, plain.encode("utf-16")).points == 40
    assert track_of(tmp_path, b"\xef\xbb\xbf" + GPX_TEXTS["timed"].encode()).points == 40


def test_what_a_receiver_recorded_is_told_from_what_was_drawn(tmp_path: Path) -> None:
    """Otherwise a recorded road would be lengthened, or a line on a map taken for the road."""
    assert track_of(tmp_path, GPX_TEXTS["timed"]).kind == RECORDED
    assert track_of(tmp_path, GPX_TEXTS["route only"]).kind == DRAWN


def test_an_undeclared_prefix_is_let_pass(tmp_path: Path) -> None:
    """Otherwise the files of a common kind of receiver would be refused whole."""
    text = gpx(eastward(5)).replace("</trkpt>", "<extensions><own:power>5</own:power></extensions></trkpt>")
    with pytest.raises(Exception, match="prefix"):
        gpxpy.parse(text)
    assert track_of(tmp_path, text).points == 5


def test_points_that_are_nowhere_are_left_out_and_counted(tmp_path: Path) -> None:
    """Otherwise one bad point would put the rig in the sea, or refuse ten good days."""
    rows = [*eastward(4), ("undefined", "undefined"), (-91, 133), (-23, "181"), ("nan", 133), ("", 133), ("1_0", 133)]
    track, (problem,) = read_track(written(tmp_path, gpx(rows)))
    assert track is not None and track.points == 4
    assert problem.code == "X06"
    assert "5 more" in problem.found


def test_heights_and_times_that_cannot_be_read_are_told(tmp_path: Path) -> None:
    """Otherwise a leg without a time would have been given one by guess."""
    track, (problem,) = read_track(written(tmp_path, gpx([(-23, 133, "high", "noon"), (-23, 133.1, 99999, "")])))
    assert track is not None
    assert track.segments[0] == (Point(-23, 133), Point(-23, 133.1))
    assert problem.code == "X07" and "2 more" in problem.found


def test_a_time_without_a_zone_is_universal_time(tmp_path: Path) -> None:
    """Otherwise departures would be hours off; the GPX standard says UTC (from memory)."""
    rows = [(-23, 133, 1, "2026-07-03T07:00:00"), (-23, 134, 1, "2026-07-03T07:00:00+09:30")]
    track = track_of(tmp_path, gpx(rows))
    assert [point.time for point in track.segments[0]] == [
        datetime(2026, 7, 3, 7, tzinfo=UTC), datetime(2026, 7, 2, 21, 30, tzinfo=UTC),
    ]  # fmt: skip


KML_TEXT = f"""{KML_HEAD}
<Placemark><name> Two
 Wells </name><Point><coordinates>133.5,-23.5,0</coordinates></Point></Placemark>
<Folder><Placemark><name>road</name><MultiGeometry>
<LineString><coordinates>133,-23,500 133.1,-23.1,510
 133.2,-23.2,520</coordinates></LineString>
<Polygon><outerBoundaryIs><LinearRing><coordinates>1,1 2,2 3,3 1,1</coordinates></LinearRing></outerBoundaryIs>
</Polygon>
<LineString><altitudeMode>absolute</altitudeMode><coordinates>134,-23,500 134.1,-23</coordinates></LineString>
</MultiGeometry></Placemark></Folder></Document></kml>"""
KML_TIMED = f"""{KML_HEAD}<Placemark><gx:Track><altitudeMode>absolute</altitudeMode>
<when>2026-07-03T00:00:00Z</when><when>2026-07-03T00:10:00Z</when>
<gx:coord>133 -23 500</gx:coord><gx:coord>133.1 -23 510</gx:coord></gx:Track></Placemark></Document></kml>"""


def test_kml_lines_and_points(tmp_path: Path) -> None:
    """Otherwise a way drawn in an earth viewer could not be planned.

    The heights of the first line are not absolute, so by KML 2.2 they say nothing (from memory).
    """
    track = track_of(tmp_path, KML_TEXT)
    assert track.kind == DRAWN
    assert track.waypoints == (Waypoint("Two Wells", -23.5, 133.5),)
    assert track.segments == (
        (Point(-23, 133), Point(-23.1, 133.1), Point(-23.2, 133.2)), (Point(-23, 134, 500), Point(-23, 134.1)),
    )  # fmt: skip


def test_kml_with_times(tmp_path: Path) -> None:
    """Otherwise the nights of a recorded trip would be lost with the times."""
    track = track_of(tmp_path, KML_TIMED)
    assert track.kind == RECORDED
    assert track.segments[0][1] == Point(-23, 133.1, 510, datetime(2026, 7, 3, 0, 10, tzinfo=UTC))
    fewer = KML_TIMED.replace("<when>2026-07-03T00:10:00Z</when>", "")
    assert codes_of(tmp_path, fewer) == ["X07"]


def test_geojson_lines_and_points(tmp_path: Path) -> None:
    """Otherwise a way from a map program would be read with north and east swapped."""
    features = [
        {"type": "Feature", "properties": {"name": "Two Wells"},
         "geometry": {"type": "Point", "coordinates": [133.5, -23.5]}},
        {"type": "Feature", "properties": None, "geometry": {"type": "GeometryCollection", "geometries": [
            {"type": "LineString", "coordinates": [[133, -23, 500], [133.1, -23]]},
            {"type": "MultiLineString", "coordinates": [[[134, -23], [134.1, -23]], [], [[135, -23], [135.1, -23]]]},
        ]}},
        {"type": "Feature", "properties": {}, "geometry": None},
    ]  # fmt: skip
    track = track_of(tmp_path, "\n " + json.dumps({"type": "FeatureCollection", "features": features}))
    assert [len(segment) for segment in track.segments] == [2, 2, 2]
    assert track.segments[0][0] == Point(-23, 133, 500)
    assert track.waypoints == (Waypoint("Two Wells", -23.5, 133.5),)
    bare = track_of(tmp_path, '{"type": "LineString", "coordinates": [[133, -23], [134, -23]]}')
    assert bare.segments == ((Point(-23, 133), Point(-23, 134)),)


@pytest.mark.parametrize("places", ["5", "null", "[1]", '["a"]', "[[1]]", '[["a", "b"], [true, 1]]', '{"a": 1}'])
def test_geojson_of_odd_shapes_is_told(tmp_path: Path, places: str) -> None:
    """Otherwise a hand-edited file would end in a traceback."""
    assert "X05" in codes_of(tmp_path, f'{{"type": "LineString", "coordinates": {places}}}')


FAR = [
    (-23.0, 133.0 + 0.5 * spot) for spot in range(10)
]  # nine steps of half a degree east: some 461 km at 23 degrees south
STUB = [(-23.0, 133.0)]
SHORT = [(-23.0, 133.0), (-23.0, 133.001)]


def with_route(*segments: list[tuple[float, float]]) -> str:
    """A GPX file with the far route beside these recorded pieces."""
    route = "".join(trkpt(row, "rtept") for row in FAR)
    return gpx(*segments).replace("</gpx>", f"<rte>{route}</rte></gpx>")


@pytest.mark.parametrize("stub", [STUB, SHORT])
def test_a_stub_does_not_hide_the_route(tmp_path: Path, stub: list[tuple[float, float]]) -> None:
    """Otherwise a receiver switched on for a moment would hide the way that was planned. Length held against geopy's."""
    track, problems = read_track(written(tmp_path, with_route(stub)))
    assert track is not None and track.kind == DRAWN and len(track.segments) == 1
    km = sum(geodesic(one, other).km for one, other in pairwise(FAR))
    assert 455 < km < 470
    assert [problem.code for problem in problems] == ([] if stub is STUB else ["X14"])
    if problems:
        assert problems[0].found == f"1 recorded line of 0 km, left out beside 1 drawn line or route of {km:.0f} km"


def test_a_route_left_out_is_told(tmp_path: Path) -> None:
    """Otherwise the owner would look for the route in a plan that was made from the track."""
    for name, text in (("a.gpx", with_route(FAR[:6])), ("a.kml", KML_TIMED.replace("</Document>", KML_LINE))):
        track, (problem,) = read_track(written(tmp_path, text, name))
        assert track is not None and track.kind == RECORDED
        assert problem.code == "X14" and "left out beside 1 recorded line" in problem.found


KML_LINE = "<Placemark><LineString><coordinates>133,-23 133.2,-23</coordinates></LineString></Placemark></Document>"


@pytest.mark.parametrize(
    ("name", "code"),
    [("urn:ogc:def:crs:OGC:1.3:CRS84", "X15"), ("urn:ogc:def:crs:EPSG::4326", "X15"), ("EPSG:7844", "X15"),
     ("EPSG:3857", "X16"), ("urn:ogc:def:crs:EPSG::28354", "X16"), ("", "X16")],
)  # fmt: skip
def test_the_older_member_crs_is_told_or_refused(tmp_path: Path, name: str, code: str) -> None:
    """Otherwise metres of a grid would be read as degrees. RFC 7946 (section 4) took the member out; EPSG numbers from memory."""
    crs = {"type": "name", "properties": {"name": name}}
    text = json.dumps({"type": "LineString", "crs": crs, "coordinates": [[133, -23], [134, -23]]})
    track, (problem,) = read_track(written(tmp_path, text))
    assert problem.code == code and (track is None) == (code == "X16")
    assert codes_of(tmp_path, text.replace(json.dumps(crs), "null")) == ["X15"]
    assert codes_of(tmp_path, text.replace(json.dumps(crs), '"a"')) == ["X16"]


PLAIN = gpx(eastward(3)).partition("?>")[2].encode()
REFUSED = {
    "nothing": (b"", "X01"),
    "another file": (b"date,unit\n", "X01"),
    "a web page": (b"<html><body>not found</body></html>", "X01"),
    "an external entity": (b'<!DOCTYPE gpx [<!ENTITY a SYSTEM "file:///etc/hostname">]>' + PLAIN, "X02"),
    "a swelling entity": (b'<!DOCTYPE gpx [<!ENTITY a "aa"><!ENTITY b "&a;&a;">]><gpx><name>&b;</name></gpx>', "X02"),
    "a declaration behind a comment": (b"<!-- <gpx> --><!DOCTYPE gpx [<!ENTITY a '1'>]>" + PLAIN, "X02"),
    "a declaration in UTF-16": ('<!DOCTYPE gpx [<!ENTITY a "1">]><gpx><a/></gpx>'.encode("utf-16"), "X02"),
    "an entity that nobody declared": (gpx(eastward(3)).replace("<trk>", "<trk><name>&a;</name>").encode(), "X04"),
    "deep nesting": (b"<gpx>" + b"<trk>" * 100_000, "X03"),
    "a cut file": (gpx(eastward(3))[:-20].encode(), "X04"),
    "a wrong letter": (GPX_HEAD.encode() + b"<trk><name>\xff</name></trk></gpx>", "X04"),
    "no points": (f"{GPX_HEAD}<trk><trkseg/></trk></gpx>".encode(), "X05"),
    "one point": (gpx([(-23, 133)]).encode(), "X05"),
    "one waypoint": (gpx(waypoints=[(-23, 133, "a")]).encode(), "X05"),
    "deep lists": (b'{"a":' + b"[" * 100_000, "X03"),
    "cut lists": (b'{"type": "LineString", "coordinates": [[1, 2], [3', "X04"),
    "lists that are not UTF-8": (b'{"type": "\xff"}', "X04"),
    "a packed file": (b"PK\x03\x04aaaa", "X01"),
}  # fmt: skip


@pytest.mark.parametrize("name", REFUSED)
def test_what_gives_no_track_is_refused(tmp_path: Path, name: str) -> None:
    """Otherwise a hostile or broken file would read others, fill the memory, or end in a traceback."""
    content, code = REFUSED[name]
    track, problems = read_track(written(tmp_path, content))
    assert track is None
    assert [problem.code for problem in problems] == [code]


def test_doctype_words_in_a_note_are_no_declaration(tmp_path: Path) -> None:
    """Otherwise a waypoint with a web page in its note would refuse the track."""
    text = gpx(eastward(3)).replace("<trk>", "<trk><desc><![CDATA[<!DOCTYPE html>]]></desc>")
    assert track_of(tmp_path, text).points == 3


def test_files_that_cannot_be_opened(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Otherwise a wrong name, a folder or a giant would end in a traceback or a full memory."""
    assert [p.code for p in read_track(tmp_path / "none.gpx")[1]] == ["F01"]
    assert [p.code for p in read_track(tmp_path)[1]] == ["F02"]
    monkeypatch.setattr(any_track, "MOST_BYTES", 100)
    assert codes_of(tmp_path, GPX_TEXTS["timed"]) == ["X03"]


def test_a_file_of_a_gigabyte_is_not_even_opened(tmp_path: Path) -> None:
    """Otherwise a giant would be read to its end before it is refused."""
    path = tmp_path / "giant.gpx"
    with path.open("wb") as out:
        out.truncate(1_100_000_000)  # takes no room on the disk
    (problem,) = read_track(path)[1]
    assert (problem.code, problem.found) == ("X03", "a file of 1100 MB")


@settings(max_examples=60, deadline=None)
@given(st.binary(max_size=200), st.sampled_from([b"", GPX_HEAD.encode(), KML_HEAD.encode(), b'{"type":']), st.data())
def test_any_bytes_end_in_a_problem(
    tmp_path_factory: pytest.TempPathFactory, junk: bytes, head: bytes, data: st.DataObject
) -> None:
    """Otherwise some file, some day, would end in a traceback on the track."""
    good = gpx(TIMED[:3]).encode()
    cut = data.draw(st.integers(0, len(good)))
    for content in (head + junk, good[:cut] + junk + good[cut:]):
        track, problems = read_track(written(tmp_path_factory.mktemp("t"), content))
        assert track is not None or problems
