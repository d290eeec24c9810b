"""The map and the wear profile: what must be on them, in shapes and in words."""

import re
from pathlib import Path

import pytest
from lxml import etree
from msgspec.structs import replace

from tests.sample_plan import sample_plan
from tests.sheets.map_folder import map_folder, places_in, plan_on_map
from tests.support import good_folder
from tripplan.records.plan import Plan
from tripplan.sheets.pictures.map import route_map_svg
from tripplan.sheets.pictures.map_ground import frame_of, has_coast, scale_and_inset
from tripplan.sheets.pictures.map_land import OUTLINES, land_in, land_rings
from tripplan.sheets.pictures.wear_profile import chosen_items, wear_profile_svg
from tripplan.sheets.route_places import CROSSING, RUNS_OUT, STOP, Places

SVG = "{http://www.w3.org/2000/svg}"
COLOURS = re.compile(r'(?:fill|stroke)="(?!none|currentColor|var\(--paper, #fff\))[^"]*"')


def planned(folder: Path, shift_deg: float | None = 0.0) -> tuple[Plan, Places]:
    """A plan and its places; without a shift, a folder that has no positions."""
    made = good_folder(folder) if shift_deg is None else map_folder(folder, shift_deg)
    return plan_on_map(), places_in(made)


@pytest.fixture(scope="module")
def on_map(tmp_path_factory: pytest.TempPathFactory) -> tuple[Plan, Places]:
    """One plan on the map for all tests that only look."""
    return planned(tmp_path_factory.mktemp("map"))


def drawn(svg: str | None) -> etree._Element:
    """The picture as a tree; it must be well-formed."""
    assert svg is not None
    return etree.fromstring(svg)


@pytest.mark.parametrize("narrow", [True, False])
def test_the_map_tells_itself_in_words(on_map: tuple[Plan, Places], narrow: bool) -> None:
    """Otherwise who cannot see the map would not learn where the work lies."""
    plan, places = on_map
    tree = drawn(route_map_svg(plan, places, narrow=narrow))
    title, desc = tree.findtext(f"{SVG}title"), tree.findtext(f"{SVG}desc") or ""
    assert title == f"Map of {plan.trip}"
    for mark in places.marks:
        assert mark.name in desc
    shown = " ".join(tree.itertext())
    assert "Red Pan" in shown and "w1" in shown and "By trip km" in shown


@pytest.mark.parametrize("narrow", [True, False])
def test_one_ink(on_map: tuple[Plan, Places], narrow: bool) -> None:
    """Otherwise the map would lose its meaning on a black-and-white printer."""
    for svg in (route_map_svg(*on_map, narrow=narrow), wear_profile_svg(on_map[0], narrow=narrow)):
        assert svg is not None and COLOURS.findall(svg) == []


def test_surfaces_and_washboard_differ_in_pattern(on_map: tuple[Plan, Places]) -> None:
    """Otherwise the worst leg would look like the sealed one."""
    plan, places = on_map
    svg = route_map_svg(plan, places) or ""
    smooth = replace(plan, legs=tuple(replace(leg, corrugation="none") for leg in plan.legs))
    sealed = replace(plan, legs=tuple(replace(leg, surface="sealed") for leg in plan.legs))
    assert 'stroke-dasharray="11 3"' in svg
    assert "closer is worse" in svg and "closer is worse" not in (route_map_svg(smooth, places) or "")
    assert "stroke-dasharray" not in (route_map_svg(sealed, places) or "")


def test_only_the_remote_stretch_is_thick(on_map: tuple[Plan, Places]) -> None:
    """Otherwise the loneliest part of a leg could not be told from the part near a town."""
    plan, places = on_map
    leg = plan.legs[1]
    assert leg.remote and leg.remote_stretches_km and leg.help_km

    def thick(stretches: tuple[tuple[float, float], ...], remote: bool = True) -> list[str]:
        changed = replace(leg, remote=remote, remote_stretches_km=stretches)
        legs = (replace(plan.legs[0], remote=False), changed, *(replace(leg, remote=False) for leg in plan.legs[2:]))
        svg = route_map_svg(replace(plan, legs=legs), places) or ""
        return re.findall(r'<path d="(M[^"]*)" fill="none" stroke="currentColor" stroke-width="7"', svg)

    whole, middle = thick(()), thick(((100.0, 200.0),))
    assert len(whole) == 2 and len(middle) == 2  # the leg or its piece, and the sample in the legend
    assert len(middle[0]) < len(whole[0]) / 2
    assert thick(((100.0, 200.0),), remote=False) == []
    assert len(thick(((0.0, 50.0), (100.0, 200.0)))) == 3


def test_every_sign_lies_on_the_map(on_map: tuple[Plan, Places]) -> None:
    """Otherwise a crossing near the edge would be cut off."""
    for narrow in (True, False):
        tree = drawn(route_map_svg(*on_map, narrow=narrow))
        _, _, width, height = (float(text) for text in tree.get("viewBox", "").split())
        for circle in tree.iter(f"{SVG}circle"):
            assert 0 <= float(circle.get("cx", -1)) <= width and 0 <= float(circle.get("cy", -1)) <= height
        for text in tree.iter(f"{SVG}text"):
            assert float(text.get("font-size", 0)) >= 10


def test_a_small_map_shows_where_on_earth_only_where_no_coast_does() -> None:
    """Otherwise a map of the inland would be lines on grey, or a map of a coast be covered for nothing."""
    inland = frame_of([(-20.0, 129.0), (-23.7, 134.6)], 0.62, 760.0, 12.5)
    coastal = frame_of([(-31.3, 113.9), (-27.0, 119.9)], 0.62, 760.0, 12.5)
    assert (has_coast(inland), has_coast(coastal)) == (False, True)
    line = [(100.0, 100.0), (700.0, 380.0)]
    assert sum("translate" in mark for mark in scale_and_inset(inland, [line], [])) == 1
    assert not any("translate" in mark for mark in scale_and_inset(coastal, [line], []))
    round_the_edge = [(20.0, 20.0), (740.0, 20.0), (740.0, 400.0), (20.0, 400.0), (20.0, 20.0)]
    assert not any("translate" in mark for mark in scale_and_inset(inland, [round_the_edge], []))


@pytest.mark.parametrize("corner", [(740.0, 20.0), (60.0, 20.0), (740.0, 380.0), (60.0, 380.0)])
def test_the_scale_keeps_out_of_a_used_corner(corner: tuple[float, float]) -> None:
    """Otherwise the bar would lie across a stop."""
    frame = frame_of([(-31.3, 113.9), (-27.0, 119.9)], 0.62, 760.0, 12.5)
    (bar,) = re.findall(r'd="M([\d.]+) ([\d.]+)v5h([\d.]+)', "".join(scale_and_inset(frame, [], [corner])))
    x, y, long = map(float, bar)
    assert not (x - 10 < corner[0] < x + long + 10 and abs(y - corner[1]) < 20)


def test_a_trip_over_the_antimeridian_stays_in_one_piece(tmp_path: Path, on_map: tuple[Plan, Places]) -> None:
    """Otherwise the map would be stretched round the whole earth."""
    here = drawn(route_map_svg(*on_map))
    there = drawn(route_map_svg(*planned(tmp_path, 48.0)))
    assert here.get("viewBox", "").split()[:3] == there.get("viewBox", "").split()[:3]
    ways = [
        [path.get("d") for path in tree.iter(f"{SVG}path") if path.get("stroke-width") in ("3", "7")]
        for tree in (here, there)
    ]
    firsts = [[float(text) for text in re.findall(r"-?\d+\.\d+", str(way[0]))] for way in ways]
    assert firsts[0] == pytest.approx(firsts[1], abs=0.3)


def test_no_map_without_positions(tmp_path: Path) -> None:
    """Otherwise an empty frame would be printed, or places invented."""
    plan, places = planned(tmp_path, None)
    assert route_map_svg(plan, places) is None
    assert {text.partition(" ")[0] for text in places.unplaced} >= {"stop", "Water"}


def test_places_lie_where_they_should(on_map: tuple[Plan, Places]) -> None:
    """Otherwise the rig would be greased at the wrong bore."""
    plan, places = on_map
    kinds = {mark.kind for mark in places.marks}
    assert kinds == {STOP, CROSSING, RUNS_OUT}
    crossing = next(mark for mark in places.marks if mark.kind == CROSSING)
    assert crossing.position[0] == pytest.approx(-20.5 - 3.2 * 140 / 410, abs=0.2)
    assert plan.crossings[0].at_km == 140


def test_the_land_is_small_closed_and_cut() -> None:
    """Otherwise the package would be heavy, or a coast run out over the map."""
    assert OUTLINES.stat().st_size <= 150_000
    rings = land_rings()
    assert all(abs(lon) <= 180.01 and -61 <= lat <= 84 for ring in rings for lon, lat in ring)
    parts = list(land_in((130.0, -30.0, 135.0, -25.0)))
    assert parts and all(129.999 <= lon <= 135.001 and -30.001 <= lat <= -24.999 for part in parts for lon, lat in part)
    assert list(land_in((-140.0, -50.0, -135.0, -45.0))) == []
    over = list(land_in((176.0, -20.0, 184.0, -15.0)))
    assert any(lon > 180 for part in over for lon, _ in part)


def test_the_profile_shows_each_leg_with_its_band() -> None:
    """Otherwise the owner could not see which leg wears the rig, and how sure that is."""
    plan = sample_plan()
    tree = drawn(wear_profile_svg(plan))
    desc = tree.findtext(f"{SVG}desc") or ""
    for item in chosen_items(plan, ()):
        assert f"{item.name} ({item.unit})" in desc
    assert re.search(r"leg \d+ \d+\.\d \(\d+\.\d to \d+\.\d\)", desc)
    assert len(chosen_items(plan, ())) <= 4


def test_the_profile_of_items_asked_for(on_map: tuple[Plan, Places]) -> None:
    """Otherwise the item in question could not be looked at."""
    plan = on_map[0]
    asked = chosen_items(plan, ["trailer_bearings", "front_wheel_bearings"])
    assert [item.item for item in asked] == ["trailer_bearings", "front_wheel_bearings"]
    assert drawn(wear_profile_svg(plan, ["nothing"])) is not None
