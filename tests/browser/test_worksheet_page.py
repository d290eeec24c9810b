"""The work sheet as it is used: on a phone in the shed, on a desk, and on paper."""

import re
from collections.abc import Iterator
from datetime import date
from pathlib import Path
from typing import Any

import pytest

from tests.machine import FONT_SETS, sheets_of
from tests.sample_plan import many_items, sample_plan
from tests.sheets.map_folder import map_folder, places_in, plan_on_map
from tripplan.files.folder import load
from tripplan.files.plan_folder import quick_plan
from tripplan.sheets.worksheet.html import worksheet_html

DEMO = Path(__file__).parents[2] / "demo"


@pytest.fixture(scope="module")
def sheet(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The sample's work sheet as a file."""
    path = tmp_path_factory.mktemp("sheet") / "worksheet.html"
    path.write_text(worksheet_html(sample_plan()), encoding="utf-8")
    return path


@pytest.fixture
def phone(browser: Any) -> Iterator[Any]:
    """A page 360 px wide, with script switched off."""
    context = browser.new_context(viewport={"width": 360, "height": 740}, java_script_enabled=False)
    yield context.new_page()
    context.close()


def overflow(page: Any) -> int:
    """Pixels by which the page is wider than its window."""
    return int(page.evaluate("document.documentElement.scrollWidth - document.documentElement.clientWidth"))


@pytest.mark.parametrize("width", [360, 768, 1280])
@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_opens_without_requests_errors_or_sideways_scrolling(
    browser: Any, sheet: Path, width: int, scheme: str
) -> None:
    """Otherwise the sheet would fail where there is no network, or run off a phone's screen."""
    page = browser.new_page(viewport={"width": width, "height": 800}, color_scheme=scheme)
    asked: list[str] = []
    said: list[str] = []
    page.on("request", lambda request: asked.append(request.url))
    page.on("console", lambda message: said.append(message.text))
    page.on("pageerror", lambda error: said.append(str(error)))
    page.goto(sheet.as_uri())
    assert asked == [sheet.as_uri()] and said == []
    assert overflow(page) <= 0
    page.close()


def test_on_a_phone_what_to_buy_stands_below_its_day(phone: Any, sheet: Path) -> None:
    """Otherwise the day and the first thing would share a line of three words each."""
    phone.goto(sheet.as_uri())
    heads = phone.locator("#buy ~ .chips > li:has(> b + .tick)")
    assert heads.count()
    for head in heads.all():
        day, thing = head.locator("b").bounding_box(), head.locator("label").bounding_box()
        assert thing["y"] >= day["y"] + day["height"] and thing["width"] > 200


def test_works_on_a_phone_without_script(phone: Any, sheet: Path) -> None:
    """Otherwise dirty hands would meet a blank page."""
    phone.goto(sheet.as_uri())
    box = phone.get_by_role("checkbox", name="Repack front wheel bearings, left")
    assert phone.get_by_role("checkbox", name="Repack front wheel bearings, right").count() == 1
    assert box.first.is_visible()
    size = box.first.bounding_box()
    assert size["width"] >= 24 and size["height"] >= 24  # WCAG 2.2, 2.5.8 target size, from memory
    phone.get_by_text("Measure front brake pads left", exact=True).click()
    assert phone.get_by_role("checkbox", name="Measure front brake pads left").is_checked()


@pytest.mark.parametrize(("width", "shown"), [(360, "narrow"), (1280, "wide")])
def test_one_trip_line_is_shown_and_its_words_are_legible(browser: Any, sheet: Path, width: int, shown: str) -> None:
    """Otherwise the picture would be two, or too small to read."""
    page = browser.new_page(viewport={"width": width, "height": 800})
    page.goto(sheet.as_uri())
    names = ("Trip line of", "Wear along", *(("The way from",) if shown == "wide" else ()))
    assert page.get_by_role("img").count() == len(names)
    for name in names:
        assert page.get_by_role("img", name=name).count() == 1
    assert page.locator(f".{shown} svg").first.is_visible()
    heights = page.evaluate(
        f"[...document.querySelectorAll('.{shown} svg text')].map(node => node.getBoundingClientRect().height)"
    )
    assert min(heights) >= 11
    page.close()


@pytest.fixture(scope="module")
def sheet_with_map(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A work sheet whose trip is on the map."""
    folder = tmp_path_factory.mktemp("map")
    path = folder / "worksheet.html"
    path.write_text(worksheet_html(plan_on_map(), places_in(map_folder(folder / "trip"))), encoding="utf-8")
    return path


@pytest.mark.parametrize(("width", "shown"), [(360, "narrow"), (1280, "wide")])
@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_the_map_is_shown_once_and_can_be_read(
    browser: Any, sheet_with_map: Path, width: int, shown: str, scheme: str
) -> None:
    """Otherwise the map would run off a phone, or its numbers be too small for a torch."""
    page = browser.new_page(viewport={"width": width, "height": 800}, color_scheme=scheme)
    page.goto(sheet_with_map.as_uri())
    assert page.get_by_role("img", name="Map of").count() == 1
    assert overflow(page) <= 0
    picture = page.locator(f"section[aria-labelledby=map] .{shown} svg")
    box = picture.bounding_box()
    texts = picture.locator("text").evaluate_all("nodes => nodes.map(n => n.getBoundingClientRect().toJSON())")
    assert min(text["height"] for text in texts) >= 11
    assert all(box["x"] - 1 <= text["left"] and text["right"] <= box["x"] + box["width"] + 1 for text in texts)
    page.close()


def test_the_map_costs_two_printed_pages_at_most(browser: Any, sheet_with_map: Path, tmp_path: Path) -> None:
    """Otherwise the pictures would make a book of the work sheet."""
    bare = tmp_path / "bare.html"
    bare.write_text(worksheet_html(plan_on_map()), encoding="utf-8")
    page = browser.new_page()
    counts = []
    for path in (bare, sheet_with_map):
        page.goto(path.as_uri())
        counts.append(sheets_of(page.pdf(prefer_css_page_size=True)))
    assert counts[1] - counts[0] <= 2
    page.close()


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_contrast_is_at_least_seven_to_one(browser: Any, sheet: Path, scheme: str) -> None:
    """Otherwise the sheet could not be read in the sun (contrast formula of WCAG 2, from memory)."""
    page = browser.new_page(color_scheme=scheme)
    page.goto(sheet.as_uri())
    style = page.evaluate("(s => [s.color, s.backgroundColor])(getComputedStyle(document.documentElement))")
    light = sorted(_luminance(text) for text in style)
    assert (light[1] + 0.05) / (light[0] + 0.05) >= 7
    page.close()


def _luminance(colour: str) -> float:
    shares = [int(part) / 255 for part in re.findall(r"\d+", colour)[:3]]
    linear = [s / 12.92 if s <= 0.04045 else ((s + 0.055) / 1.055) ** 2.4 for s in shares]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def test_prints_on_a_few_sheets_of_a4(browser: Any, sheet: Path) -> None:
    """Otherwise the owner would print a book, or get it on the wrong paper."""
    page = browser.new_page()
    page.goto(sheet.as_uri())
    pdf = page.pdf(prefer_css_page_size=True)
    pages = sheets_of(pdf)
    assert 1 <= pages <= 8
    boxes = re.findall(rb"/MediaBox\s*\[\s*0 0 ([\d.]+) ([\d.]+)", pdf)
    assert boxes and all(abs(float(w) - 595) < 2 and abs(float(h) - 842) < 2 for w, h in boxes)
    page.close()


@pytest.mark.parametrize(("demo", "most"), [("outback", 8), ("long-tour", 12), ("after-crossing", 3)])
def test_the_demos_print_on_so_many_sheets(browser: Any, demo: str, most: int) -> None:
    """Otherwise a few lines more would turn a sheet: nine weeks' first page is one, its lines closer together."""
    assert printed(browser, Path(__file__).parents[2] / "demo" / demo / "outputs" / "worksheet.html") <= most


@pytest.fixture(scope="module")
def long_sheet(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The work sheet of a long plan, quickly made."""
    today = date(2026, 5, 25)
    inputs, catalogue, problems = load(Path(__file__).parents[2] / "demo" / "outback", today)
    assert inputs is not None
    plan = quick_plan(inputs, catalogue, today, problems)
    path = tmp_path_factory.mktemp("long") / "worksheet.html"
    path.write_text(worksheet_html(plan), encoding="utf-8")
    return path


def printed(browser: Any, path: Path) -> int:
    """The sheets that a file takes in a browser."""
    page = browser.new_page()
    page.goto(path.as_uri())
    sheets = sheets_of(page.pdf(prefer_css_page_size=True))
    page.close()
    return sheets


def test_the_sheets_of_a_plan_do_not_depend_on_the_letters_of_the_machine(
    with_fonts: Any, sheet: Path, long_sheet: Path
) -> None:
    """Otherwise one owner would print a sheet more than another, with a line on it."""
    for path in (sheet, long_sheet):
        assert len({printed(with_fonts(name), path) for name in FONT_SETS}) == 1, path


def test_a_long_plan_prints_on_few_sheets_in_letters_that_can_be_read(browser: Any, long_sheet: Path) -> None:
    """Otherwise nobody would print it, or could read it lying under the car."""
    assert printed(browser, long_sheet) <= 9
    page = browser.new_page()
    page.goto(long_sheet.as_uri())
    page.emulate_media(media="print")
    for names, points in ((".what, .tell, .care-all, .begin, .ticks label, .chips label, .day p, .lines li", 11),):
        sizes = page.evaluate(
            f"[...document.querySelectorAll('{names}')].map(node => parseFloat(getComputedStyle(node).fontSize))"
        )
        assert sizes and min(sizes) >= points * 96 / 72 - 0.01
    assert page.locator("details:visible").count() == 0
    assert page.locator(".behind").is_hidden()
    page.emulate_media(media="screen")
    page.get_by_role("checkbox", name="Print what stands behind it too").check()
    page.emulate_media(media="print")
    assert page.locator(".behind").is_visible() and page.get_by_text("Why each job is on the list").is_visible()
    page.close()


SHEETS = {"outback": 8, "after-crossing": 4, "long-tour": 13}


@pytest.mark.parametrize("fonts", sorted(FONT_SETS))
def test_the_sheets_of_each_demo_stay_few(with_fonts: Any, fonts: str) -> None:
    """Otherwise the sheet would grow into a book again, a line at a time. From the outputs that go with the demos."""
    show = with_fonts(fonts)
    found = {name: printed(show, DEMO / name / "outputs" / "worksheet.html") for name in SHEETS}
    assert all(found[name] <= most for name, most in SHEETS.items()), found


def test_the_first_page_is_whole_and_every_day_at_home_begins_a_sheet(browser: Any) -> None:
    """Otherwise the sheet for the wall would go on behind it, or a day could not be handed out alone."""
    page = browser.new_page()
    page.goto((DEMO / "outback" / "outputs" / "worksheet.html").as_uri())
    page.emulate_media(media="print")
    page.set_viewport_size({"width": 711, "height": 1051})  # 188 x 278 mm: A4 less its margins
    wall = page.locator("main > header, main > .strip, main > section:not(.work)")
    bottoms = wall.evaluate_all("nodes => nodes.map(node => node.getBoundingClientRect().bottom)")
    assert max(bottoms) <= 278 * 96 / 25.4
    days = page.locator(".track > .workshop:not(.idle), .track > .after").evaluate_all(
        "nodes => nodes.map(node => getComputedStyle(node).breakBefore)"
    )
    assert days and set(days) == {"page"}
    lefts = page.locator(".row .tick").evaluate_all(
        "nodes => nodes.map(node => node.getBoundingClientRect().left - node.closest('.row').getBoundingClientRect().left)"
    )
    assert sum(left < 2 for left in lefts) > len(lefts) / 2
    page.close()


def test_hundred_items_stay_inside_a_phone(browser: Any, tmp_path: Path) -> None:
    """Otherwise a long plan would run off the screen."""
    path = tmp_path / "worksheet.html"
    path.write_text(worksheet_html(many_items(100)), encoding="utf-8")
    page = browser.new_page(viewport={"width": 360, "height": 740})
    page.goto(path.as_uri())
    assert overflow(page) <= 0
    page.close()
