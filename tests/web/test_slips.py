"""What is refused is told beside its field, in the form's own words, with what may be meant to press."""

import re
from collections.abc import Callable
from typing import Any

import pytest
from lxml.html import document_fromstring

from tripplan.web.forms.fields import typed_problem
from tripplan.web.forms.slips import elsewhere, slips_of, zone_offers

DAY = "/jobs/stop-2-home-yard"
OF_FILES = re.compile(r"\b(?:rig|trip)\.toml|\w+\.csv|--[a-z]|\bcolumn\b|\bunit\[|\b[A-Z]\d\d\b")


def main_of(answer: Any) -> str:
    """What a person reads of a page, without the names of its controls."""
    main = document_fromstring(answer.text).get_element_by_id("main")
    return str(main.text_content())


def slip_at(answer: Any, name: str) -> str:
    """What is told beside that field; the field says that it is wrong, and what tells it."""
    page = document_fromstring(answer.text)
    (control,) = page.xpath(f"//*[@aria-describedby='{name}-wrong']")
    assert control.get("aria-invalid") == "true"
    assert page.xpath(f"//a[@href='#{name}-wrong']")
    return str(page.get_element_by_id(f"{name}-wrong").text_content())


def crossing(there: Any, **typed: str) -> Any:
    """A crossing as it is entered on the page, and the answer to it."""
    version = there.get("/water").text.split('name="version" value="')[1].split('"')[0]
    told = {"leg": "2", "depth": "0.9", "minutes": "3", "water": "muddy", "day": "2026-08-15", "time": "11:30",
            "at_km": "60", "version": version}  # fmt: skip
    return there.post("/water", told | typed)


@pytest.mark.parametrize(
    ("typed", "field", "told"),
    [
        ({"at_km": ""}, "at_km", "km from the start of the leg"),
        ({"leg": ""}, "leg", "Empty"),
        ({"water": ""}, "water", "Empty"),
        ({"depth": ""}, "depth", "Empty"),
        ({"day": "", "time": ""}, "at_day", "Empty"),
        ({"minutes": "three"}, "minutes", "“three”"),
        ({"depth": "70"}, "depth", "70 cm"),
    ],
)  # fmt: skip
def test_a_crossing_is_refused_beside_its_field(wet: Any, typed: dict[str, str], field: str, told: str) -> None:
    """Otherwise whoever stands at the water would be told of a command line, or of a column."""
    before = (wet.folder / "crossings.csv").read_bytes()
    answer = crossing(wet, **typed)
    assert answer.status_code == 422 and (wet.folder / "crossings.csv").read_bytes() == before
    assert told in slip_at(answer, field) if field != "water" else told in main_of(answer)
    assert not OF_FILES.search(main_of(answer).split("1. How deep?")[0])


@pytest.mark.parametrize("depth", ["90 cm", "0,9", "0.9 m"])
def test_a_depth_is_understood_as_it_is_written(wet: Any, depth: str) -> None:
    """Otherwise the answer on the track would wait for a decimal point."""
    assert crossing(wet, depth=depth).status_code == 200
    assert ",0.9," in (wet.folder / "crossings.csv").read_text()


def test_the_drawing_says_what_it_shows(wet: Any) -> None:
    """Otherwise 70 typed for 70 cm would stand beside a drawing of another depth, unsaid."""
    page = wet.post("/water", {"depth": "70", "do": "show"})
    assert page.status_code == 200 and "Drawn: water at 0.4 m" in page.text and "“70”; accepted: metres" in page.text
    assert 'name="depth" value="70 cm"' in page.text
    assert "Drawn: water at 0.7 m" in wet.post("/water", {"depth": "70 cm", "do": "show"}).text


def test_a_day_that_cannot_be_closed_says_so_once_and_beside_its_field(wet: Any) -> None:
    """Otherwise a date in the future would be told once for each job of the day."""
    keys = re.findall(r'name="toggle" value="([^"]+)=done"', wet.get(DAY).text)[1:4]
    for key in keys:
        wet.post(DAY, {"toggle": f"{key}=done"})
    answer = wet.post(f"{DAY}/close", {"date": "2027-01-01", "unit": "wagon"})
    assert answer.status_code == 422 and "1 thing to put right" in answer.text
    assert "a date up to today" in slip_at(answer, "date") and not OF_FILES.search(main_of(answer).split("Next")[0])


def test_a_wrong_fact_of_the_trip_and_a_leg_are_told_by_their_fields(wet: Any) -> None:
    """Otherwise one would look for `return` and `legs.csv row 5` in a form that has no such words."""
    typed = {"trip.return": "sometime", "legs.5.speed_kmh": "fast", "do": "save"}
    answer = wet.post("/trip", wet.form("/trip") | typed)
    assert answer.status_code == 422 and "“sometime”" in slip_at(answer, "trip.return")
    assert "“fast”" in slip_at(answer, "legs.5.speed_kmh")
    assert not OF_FILES.search(main_of(answer).split("Dates and worth")[0])


def test_a_day_in_either_order_is_offered_both_ways(wet: Any) -> None:
    """Otherwise the person would have to know that 5/8/2026 may be May or August."""
    answer = wet.post("/trip", wet.form("/trip") | {"legs.5.depart": "5/8/2026", "do": "save"})
    assert answer.status_code == 422
    for day in ("2026-08-05", "2026-05-08"):
        assert f'name="legs.5.depart" value="{day}">{day}</button>' in answer.text


def test_figures_and_days_are_saved_as_the_files_have_them(wet: Any) -> None:
    """Otherwise a decimal comma would have to be unlearnt, or would end up in the file."""
    typed = {"legs.5.distance_km": "240,5", "legs.5.depart": "30 August 2026 7:45", "trip.rate_per_hour": "61,5"}
    assert wet.post("/trip", wet.form("/trip") | typed | {"do": "save"}).status_code == 200
    assert "2026-08-30 07:45,240.5," in (wet.folder / "legs.csv").read_text()
    assert "rate_per_hour = 61.5" in (wet.folder / "trip.toml").read_text()


def test_a_town_offers_its_zone(wet: Any, visit: Callable[..., Any]) -> None:
    """Otherwise one would have to know how the zones are named."""
    assert zone_offers("Perth") == ("Australia/Perth",) and zone_offers("broken hill") == ("Australia/Broken_Hill",)
    assert zone_offers("Darwn") == ("Australia/Darwin",) and zone_offers("Nowhere at all") == zone_offers("") == ()
    answer = wet.post("/rig", wet.form("/rig") | {"rig.home_zone": "Perth", "do": "save"})
    assert answer.status_code == 422 and 'name="rig.home_zone" value="Australia/Perth"' in answer.text
    assert "Perth" in slip_at(answer, "rig.home_zone")


def test_what_no_form_has_a_field_for_keeps_its_place_and_its_code() -> None:
    """Otherwise a fault in a file that the page cannot mend could not be found, nor looked up."""
    from tripplan.records.problems import STOPS, Problem

    busy = Problem(code="B12", weight=STOPS, file="busy.ics", found="9 MB", accepted="a calendar of one person")
    assert elsewhere(busy).label == "busy.ics" and elsewhere(busy).code == "B12" and elsewhere(busy).place == ""
    own = typed_problem("track", "", "a file")
    assert own.code == "A21" and elsewhere(own).label == "Track" and elsewhere(own).said == "Empty; accepted: a file."
    row = Problem(code="H04", weight=STOPS, file="history.csv", found="x", accepted="a date", row=7, column="date")
    (slip,) = slips_of([row, row])
    assert slip.place == "/history#history-7" and slip.label == "History, row 7, date"
