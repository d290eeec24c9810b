"""The trip line, read back as XML: marks where the plan says, everything told in shape and words."""

import re
from xml.etree import ElementTree

import pytest
from msgspec.structs import replace

from tests.sample_plan import legs, many_items, sample_plan
from tripplan.sheets.pictures.trip_line import split_items, trip_line_pictures
from tripplan.sheets.pictures.trip_line_route import lanes, sheet_for

SVG = "{http://www.w3.org/2000/svg}"


def texts(picture: str) -> list[str]:
    """All words of a picture."""
    return [node.text or "" for node in ElementTree.fromstring(picture).iter(f"{SVG}text")]


@pytest.mark.parametrize("narrow", [False, True])
def test_every_item_is_drawn_once(narrow: bool) -> None:
    """Otherwise an item would be missing from the picture, and be taken as fine."""
    told = " ".join(word for picture in trip_line_pictures(sample_plan(), narrow=narrow) for word in texts(picture))
    for item in sample_plan().items:
        assert item.name.split()[0] in told
    assert told.count("Front wheel bearings, left and") == 1


def test_first_to_run_out_comes_first() -> None:
    """Otherwise the most pressing item would hide below the others."""
    first, second = split_items(sample_plan())
    names = [item.item for item in first]
    assert names[0] == "transfer_oil"
    assert names[1:3] == ["air_filter", "front_wheel_bearings"]
    assert names[-1] == "fuel_filter"
    assert [item.item for item in second] == [
        "rear_axle_oil", "gearbox_oil", "battery", "coolant", "coupling", "wheel_nuts",
    ]  # fmt: skip


@pytest.mark.parametrize("narrow", [False, True])
def test_what_is_due_and_done_at_home_is_named_in_words(narrow: bool) -> None:
    """Otherwise an item without a line of its own would be missing from the picture."""
    pictures = trip_line_pictures(sample_plan(), narrow=narrow)
    told = " ".join(word for picture in pictures for word in texts(picture))
    assert re.search(r"Due, done before departure, then lasts to the return:.* Swivel housings, left", told)
    assert "swivel_grease" not in [item.item for block in split_items(sample_plan()) for item in block]


def test_marks_stand_at_their_km() -> None:
    """Otherwise the eye would read the wrong place for where a bearing runs out."""
    plan = sample_plan()
    only = replace(plan, items=(plan.items[0],))
    sheet = sheet_for(only, False)
    picture = trip_line_pictures(only)[0]
    row = next(part for part in picture.split('<g transform="translate(0 ') if "Front wheel" in part)
    typical = float(re.search(r'<circle cx="([\d.]+)"', row).group(1))  # type: ignore[union-attr]
    share = plan.items[0].runs_out.trip_km / 2260.0  # type: ignore[union-attr]
    assert typical == pytest.approx(sheet.depart_x + share * (sheet.return_x - sheet.depart_x), abs=0.06)
    assert row.index("<rect") > 0


def test_pictures_have_names_and_no_colour_of_their_own() -> None:
    """Otherwise a reader who does not see colours, or does not see, would be left out."""
    for narrow in (False, True):
        for picture in trip_line_pictures(sample_plan(), narrow=narrow):
            root = ElementTree.fromstring(picture)
            ids = root.attrib["aria-labelledby"].split()
            assert root.attrib["role"] == "img"
            assert [node.attrib["id"] for node in root[:2]] == ids
            assert "2260 km" in (root[1].text or "")
            assert not re.search(r"#[0-9a-f]{3}|rgb|red|green", picture)


def test_hundred_items_make_pages_no_taller_than_a_sheet() -> None:
    """Otherwise a long plan would be cut in the middle of a line when printed."""
    pictures = trip_line_pictures(many_items(100))
    ids = [re.search(r'aria-labelledby="(\S+)', picture).group(1) for picture in pictures]  # type: ignore[union-attr]
    assert len(pictures) > 1 and len(set(ids)) == len(ids)
    told = " ".join(word for picture in pictures for word in texts(picture))
    assert all(re.search(rf"number {n}\b", told) for n in range(100))
    for picture in pictures:
        width, height = map(float, ElementTree.fromstring(picture).attrib["viewBox"].split()[2:])
        assert height / width < 267 / 182  # A4 less the page margins of the sheet, in mm


def test_driven_part_is_marked_only_when_driven() -> None:
    """Otherwise a plan made on the road would look as if it had not begun."""
    assert "driven" not in texts(trip_line_pictures(sample_plan())[0])
    assert "driven" in texts(trip_line_pictures(replace(sample_plan(), legs=legs(2)))[0])


def test_names_of_stops_do_not_overlap() -> None:
    """Otherwise two towns close together could not be read."""
    sheet = sheet_for(sample_plan(), True)
    placed = lanes(sheet, [(100.0, "Saltbush Crossing"), (110.0, "Dry Box Station"), (300.0, "Ironbark")])
    spans: dict[int, list[tuple[float, float]]] = {}
    for lane, start, _, text in placed:
        spans.setdefault(lane, []).append((start, start + sheet.text_width(text)))
    for row in spans.values():
        assert all(left[1] < right[0] for left, right in zip(sorted(row), sorted(row)[1:], strict=False))


def test_long_names_keep_the_end_that_tells_them_apart() -> None:
    """Otherwise two stops would read alike, cut at the edge of a phone before their numbers."""
    sheet = sheet_for(sample_plan(), narrow=True)
    names = [f"Camp at the old stock route bore beside the creek number {number}" for number in (1, 2)]
    told = [text for _, _, _, text in lanes(sheet, [(100.0, name) for name in names])]
    assert all(text.startswith("Camp at the old stock") for text in told)
    assert [text[-8:] for text in told] == ["number 1", "number 2"]
    assert all("…" in text and sheet.text_width(text) <= sheet.width for text in told)
    assert lanes(sheet, [(100.0, "Gums")])[0][3] == "Gums"


def test_hostile_names_stay_text() -> None:
    """Otherwise a name in the history could break the sheet or run in the browser."""
    plan = sample_plan()
    bad = replace(plan.items[0], name='<script>alert(1)</script>&"\x00')
    picture = trip_line_pictures(replace(plan, items=(bad,), trip="<b>&"))[0]
    assert "<script>" not in picture
    ElementTree.fromstring(picture)


def test_a_plan_without_legs_is_still_drawn() -> None:
    """Otherwise an empty trip would end in a failure instead of a sheet."""
    ElementTree.fromstring(trip_line_pictures(replace(sample_plan(), legs=(), crossings=()))[0])
