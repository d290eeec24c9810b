"""What is written: forms put the right rows into the right files, all or nothing, and two tabs lose nothing."""

import csv
import html
import json
import re
from collections.abc import Callable
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pytest
from lxml.html import document_fromstring
from msgspec.structs import replace

from tests.track_texts import eastward, gpx, timed
from tripplan.files.folder import load
from tripplan.web.saves.memory import read_memory
from tripplan.web.saves.saving import PLAIN

DAY = "/jobs/stop-2-home-yard"


def rows(path: Path) -> list[dict[str, str]]:
    """A table of the folder as text."""
    with path.open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def words_of_page(text: str) -> str:
    """What a person reads of a page: its main part without its marks."""
    return str(document_fromstring(text).get_element_by_id("main").text_content())


def snapshot(folder: Path) -> dict[str, bytes]:
    """Every input file of the folder."""
    return {p.name: p.read_bytes() for p in folder.iterdir() if p.is_file()}


def first_job(there: Any) -> str:
    """The key of the day's first job."""
    slot = there.get(f"{DAY}.json").json()
    job = slot["jobs"][0]
    return "|".join((job["unit"], job["item"], job["position"] or "", job["act"]))


@pytest.mark.parametrize("name", ["outback", "long-tour", "after-crossing"])
def test_a_demo_is_copied_and_seen_from_its_day(visit: Callable[..., Any], name: str) -> None:
    """Otherwise a demo would show a trip long past."""
    there = visit()
    token = there.get("/start").text.split('name="csrf" value="')[1].split('"')[0]
    there.app.state.desk.background = True
    answer = there.client.post("/start/demo", data={"csrf": token, "demo": name}, follow_redirects=False)
    there.app.state.desk.stop()
    assert answer.status_code == 303 and (there.folder / "rig.toml").exists()
    assert there.app.state.desk.today == read_memory(there.folder).seen_from is not None


def test_a_demo_that_there_is_not_is_told(visit: Callable[..., Any]) -> None:
    """Otherwise a form sent by hand would end in a fault of ours."""
    there = visit()
    token = there.get("/start").text.split('name="csrf" value="')[1].split('"')[0]
    answer = there.client.post("/start/demo", data={"csrf": token, "demo": "inland"})
    assert answer.status_code == 422 and "“inland”; accepted: one of the demos listed" in answer.text
    assert not there.folder.exists()


def test_a_rig_is_described_in_a_short_form(visit: Callable[..., Any]) -> None:
    """Otherwise an owner would have to write files by hand before the first plan."""
    there = visit()
    token = there.get("/start").text.split('name="csrf" value="')[1].split('"')[0]
    fields = {
        "csrf": token, "rig_name": 'A "wagon" <script>', "home_zone": "Australia/Darwin", "id": "wagon",
        "drive": "part-time", "front_axle": "closed-knuckle", "hubs": "free-wheeling", "fuel": "diesel",
        "gearbox": "manual", "tyre_diameter_mm": "0790", "usual_km_per_week": "200", "height.hub_centre": "395",
        "trailer": "yes", "trailer_id": "camper", "trailer_fitted": "electric-brakes", "trip.name": "First",
        "trip.depart": "2026-12-20", "trip.return": "2026-12-28", "trip.shakedown_km": "80",
        "trip.remote_beyond_km": "150", "trip.rate_per_hour": "60", "trip.cost_per_stranded_hour": "90",
    }  # fmt: skip
    answer = there.client.post("/start/rig", data=fields)
    assert answer.status_code == 200 and answer.url.path == "/begun" and "put right" not in answer.text
    assert "put right" not in there.get("/trip").text and "put right" not in there.get("/").text
    assert "<script>" not in answer.text
    rig = (there.folder / "rig.toml").read_text(encoding="utf-8")
    assert 'name = "A \\"wagon\\" <script>"' in rig and "hub_centre = 395" in rig and "tyre_diameter_mm = 790" in rig
    assert (there.folder / "legs.csv").read_text().startswith("leg,from,to,depart,")
    leg = {"leg": "1", "from": "A", "to": "B", "depart": "2026-12-20", "distance_km": "300", "speed_kmh": "80",
           "surface": "sealed", "corrugation": "none", "dust": "none", "heat_c": "30", "load": "normal",
           "towing": "yes", "hubs": "free", "low_range_km": "0", "remote": "no"}  # fmt: skip
    form = there.form("/trip") | {f"legs.new1.{column}": value for column, value in leg.items()} | {"do": "save"}
    assert there.post("/trip", form).status_code == 200
    assert there.get("/").status_code == 200 and "&lt;script&gt;" in there.get("/").text


def test_a_wrong_rig_writes_nothing_and_keeps_what_was_typed(visit: Callable[..., Any]) -> None:
    """Otherwise a slip would cost the whole form, or leave half a folder."""
    there = visit()
    token = there.get("/start").text.split('name="csrf" value="')[1].split('"')[0]
    answer = there.client.post("/start/rig", data={"csrf": token, "rig_name": "Mine", "home_zone": "Nowhere"})
    assert answer.status_code == 422 and 'value="Mine"' in answer.text and 'id="home_zone-wrong"' in answer.text
    assert not re.search(r"rig\.toml|trip\.toml|unit\[|\b[A-Z]\d\d\b", words_of_page(answer.text))
    assert not (there.folder / "rig.toml").exists()


def test_a_cell_is_changed_in_place_and_what_moved_is_told(wet: Any) -> None:
    """Otherwise a harsher leg would not reach the plan, or the rest of the file would be rewritten."""
    before = (wet.folder / "legs.csv").read_text().splitlines()
    answer = wet.post("/trip", wet.form("/trip") | {"legs.6.dust": "bulldust", "do": "save"})
    after = (wet.folder / "legs.csv").read_text().splitlines()
    changed = [n for n, (one, two) in enumerate(zip(before, after, strict=True)) if one != two]
    assert changed == [5] and "bulldust" in after[5]
    assert "The trip: saved." in answer.text and "What moved" in answer.text
    assert wet.get("/state.json").json()["answer"] == "solved"


def test_what_may_be_left_empty_is_set_and_emptied(wet: Any) -> None:
    """Otherwise the owner's choice about trailer hubs, and the minutes of the road, could not be given in the page."""
    before = (wet.folder / "trip.toml").read_bytes()
    given = {"trip.trailer_hubs_after_water": "repack", "trip.holiday_rate_per_hour": "75", "trip.road_daily_minutes":
             "20", "trip.road_day_limit_minutes": "90", "trip.road_long_spell_minutes": "240"}  # fmt: skip
    assert wet.post("/trip", wet.form("/trip") | given | {"do": "save"}).status_code == 200
    trip = load(wet.folder, wet.app.state.desk.today)[0].trip
    assert (trip.trailer_hubs_after_water, trip.holiday_rate_per_hour) == ("repack", 75)
    assert (trip.road_daily_minutes, trip.road_day_limit_minutes, trip.road_long_spell_minutes) == (20, 90, 240)
    shown = wet.get("/trip").text
    assert '<option value="repack" selected>' in shown and 'name="trip.road_daily_minutes" value="20"' in shown
    wrong = wet.post("/trip", wet.form("/trip") | given | {"trip.road_daily_minutes": "1441", "do": "save"})
    assert wrong.status_code == 422 and "road_daily_minutes" in wrong.text
    wet.post("/trip", wet.form("/trip") | dict.fromkeys(given, "") | {"do": "save"})
    assert (wet.folder / "trip.toml").read_bytes() == before


def test_a_save_can_be_taken_back(wet: Any) -> None:
    """Otherwise one wrong press would stay."""
    before = snapshot(wet.folder)
    answer = wet.post("/trip", wet.form("/trip") | {"legs.6.dust": "bulldust", "do": "save"})
    number = answer.url.params["said"]
    assert "taken back" in wet.post("/undo", {"number": number, "back": "/trip"}).text
    assert snapshot(wet.folder) == before
    assert "can no longer be taken back" in wet.post("/undo", {"number": number, "back": "/trip"}).text


def test_a_refused_cell_is_shown_where_it_is_and_nothing_is_written(wet: Any) -> None:
    """Otherwise what was typed would be lost, or a wrong number would be planned with."""
    before = snapshot(wet.folder)
    answer = wet.post("/trip", wet.form("/trip") | {"legs.4.distance_km": "24O", "do": "save"})
    assert answer.status_code == 422 and 'value="24O"' in answer.text and 'aria-invalid="true"' in answer.text
    assert 'id="legs.4.distance_km-wrong"' in answer.text
    assert "legs.csv" not in words_of_page(answer.text) and "Leg 3: " in answer.text
    assert snapshot(wet.folder) == before


def test_a_row_is_added_and_taken_out(wet: Any) -> None:
    """Otherwise the table could not grow or shrink."""
    shed = {"workshop_days.new1.date": "2026-08-20", "workshop_days.new1.minutes": "240", "do": "save"}
    assert wet.post("/trip", wet.form("/trip") | shed).status_code == 200
    assert rows(wet.folder / "workshop.csv") == [{"date": "2026-08-20", "minutes": "240"}]
    stops = len(rows(wet.folder / "stops.csv"))
    assert wet.post("/trip", wet.form("/trip") | {"stops.4.out": "yes", "do": "save"}).status_code == 200
    left = rows(wet.folder / "stops.csv")
    assert len(left) == stops - 1 and "Widows Bluff" not in {row["stop"] for row in left}


@pytest.mark.parametrize("mark", ["\t", ",", ";"])
def test_rows_are_pasted_from_a_spreadsheet(wet: Any, mark: str) -> None:
    """Otherwise a trip planned in a spreadsheet would have to be typed again."""
    before = snapshot(wet.folder)
    text = mark.join(("leg", "at_km", "depth_m", "water")) + "\n" + mark.join(("5", "20", "0.3", "fresh")) + "\n"
    shown = wet.post("/trip", wet.form("/trip") | {"pasted": text, "do": "paste.crossings"})
    assert "1 rows from the paste" in shown.text and 'value="0.3"' in shown.text
    assert snapshot(wet.folder) == before
    fields = {"crossings.new2.leg": "5", "crossings.new2.at_km": "20", "crossings.new2.depth_m": "0.3",
              "crossings.new2.water": "fresh", "do": "save"}  # fmt: skip
    assert wet.post("/trip", wet.form("/trip") | fields).status_code == 200
    assert rows(wet.folder / "crossings.csv")[-1]["depth_m"] == "0.3"


def test_two_tabs_see_each_other(wet: Any) -> None:
    """Otherwise the second save would silently undo the first."""
    one, two = wet.form("/trip"), wet.form("/trip")
    assert wet.post("/trip", one | {"legs.6.dust": "none", "do": "save"}).status_code == 200
    answer = wet.post("/trip", two | {"legs.5.speed_kmh": "41", "do": "save"})
    assert answer.status_code == 409 and "Saved elsewhere meanwhile" in answer.text
    assert "legs.csv row 6" in answer.text and 'value="41"' in answer.text
    assert rows(wet.folder / "legs.csv")[3]["speed_kmh"] == "58"
    version = answer.text.split('name="version" value="')[1].split('"')[0]
    again = wet.post("/trip", two | {"legs.5.speed_kmh": "41", "version": version, "do": "save"})
    assert again.status_code == 200 and rows(wet.folder / "legs.csv")[3]["speed_kmh"] == "41"


def test_ticks_are_kept_at_once_and_taken_away_again(wet: Any) -> None:
    """Otherwise a closed page would lose the morning's work."""
    key = first_job(wet)
    page = wet.post(DAY, {"toggle": f"{key}=done", f"finding.{key}": "worn"})
    assert page.status_code == 200 and "1 of" in page.text
    kept = json.loads((wet.folder / "page.json").read_text())["days"]["stop-2-home-yard"][key]
    assert kept == {"done": True, "finding": "worn", "note": ""}
    assert 'aria-pressed="true"' in wet.get(DAY).text
    wet.post(DAY, {"toggle": f"{key}=open"})
    assert not read_memory(wet.folder).ticks("stop-2-home-yard")[key].done
    assert "history.csv" in snapshot(wet.folder)


def test_minutes_left_fall_with_each_tick(wet: Any) -> None:
    """Otherwise the person would not know whether the day is enough."""
    from tripplan.web.pages.day_work import day_of, slot_named

    plan = wet.app.state.desk.see().plan
    slot = slot_named(plan, "stop-2-home-yard")
    whole = day_of(plan, slot, {})
    assert whole.minutes_left == pytest.approx(slot.minutes_planned)
    assert slot.set_out_minutes and f"{slot.set_out_minutes:.0f} min of it to set out and clear up" in wet.get(DAY).text
    wet.post(DAY, {"toggle": f"{first_job(wet)}=done"})
    assert day_of(plan, slot, read_memory(wet.folder).ticks(slot.id)).minutes_left < whole.minutes_left


def test_a_tick_whose_job_left_the_day_is_told_apart(wet: Any) -> None:
    """Otherwise four of three jobs would be ticked, or the work done would vanish from sight."""
    count = len(wet.get(f"{DAY}.json").json()["jobs"])
    page = wet.post(DAY, {"toggle": "wagon|winch||exercise=done"}).text
    assert f"0 of {count} jobs ticked" in page and "Ticked, no longer in this day" in page
    assert "Put 1 job into the history" in page
    wet.app.state.desk._seen = replace(wet.app.state.desk.see(), answer=PLAIN)
    waiting = wet.get(DAY).text
    assert "Ticked, not in the quick plan of this day" in waiting and "no longer in this day" not in waiting


def test_two_windows_on_one_job_show_both(wet: Any) -> None:
    """Otherwise a finding entered on the phone would be lost to the one at the desk."""
    key = first_job(wet)
    wet.post(DAY, {f"finding.{key}": "worn", f"was_finding.{key}": ""})
    answer = wet.post(DAY, {f"finding.{key}": "water", f"was_finding.{key}": ""})
    assert answer.status_code == 409 and "kept “worn”, yours was “water”" in answer.text
    assert read_memory(wet.folder).ticks("stop-2-home-yard")[key].finding == "worn"


def test_closing_the_day_puts_rows_into_the_history(wet: Any) -> None:
    """Otherwise work done would be asked for again."""
    key = first_job(wet)
    before = len(rows(wet.folder / "history.csv"))
    wet.post(DAY, {"toggle": f"{key}=done", f"finding.{key}": "serviceable", f"note.{key}": "fine, so far"})
    answer = wet.post(f"{DAY}/close", {"date": "2026-08-17", "unit": "wagon"})
    assert answer.status_code == 200 and "into the history: saved" in answer.text
    new = rows(wet.folder / "history.csv")[before:]
    unit, item, position, act = key.split("|")
    assert [(r["unit"], r["item"], r["position"], r["act"], r["finding"]) for r in new] == [
        (unit, item, position, act, "serviceable")
    ]
    assert not read_memory(wet.folder).ticks("stop-2-home-yard")
    wet.post("/undo", {"number": answer.url.params["said"], "back": "/jobs"})
    assert len(rows(wet.folder / "history.csv")) == before


def test_a_day_that_cannot_be_closed_keeps_its_ticks(wet: Any) -> None:
    """Otherwise a wrong odometer would cost the day's entries."""
    key = first_job(wet)
    wet.post(DAY, {"toggle": f"{key}=done"})
    before = snapshot(wet.folder)
    answer = wet.post(f"{DAY}/close", {"date": "2026-08-17", "unit": "wagon", "odometer_km": "12"})
    assert answer.status_code == 422 and "odometer" in html.unescape(answer.text)
    assert snapshot(wet.folder) == before


def test_a_crossing_is_recorded_and_says_what_to_do(wet: Any) -> None:
    """Otherwise the answer on the track would not come."""
    version = wet.get("/water").text.split('name="version" value="')[1].split('"')[0]
    told = {"leg": "2", "depth": "0.9", "minutes": "3", "water": "muddy", "day": "2026-08-15", "time": "11:30",
            "at_km": "60", "version": version}  # fmt: skip
    answer = wet.post("/water", told)
    assert answer.status_code == 200 and "What to do now" in answer.text and "0.9 m deep as crossed" in answer.text
    assert rows(wet.folder / "crossings.csv")[-1]["depth_m"] == "0.9"
    inputs, _, problems = load(wet.folder, wet.app.state.desk.today)
    assert inputs is not None and not [p for p in problems if p.weight == "stops the plan"]
    again = wet.post("/water", told)
    assert again.status_code == 409 and 'value="0.9"' in again.text


def test_a_wrong_crossing_is_told_and_not_written(wet: Any) -> None:
    """Otherwise a depth in centimetres would drown the plan."""
    before = snapshot(wet.folder)
    version = wet.get("/water").text.split('name="version" value="')[1].split('"')[0]
    answer = wet.post("/water", {"leg": "2", "depth": "90", "water": "muddy", "day": "2026-08-15", "version": version})
    assert answer.status_code == 422 and "put right" in answer.text
    assert snapshot(wet.folder) == before


def test_another_day_to_see_from_is_kept(visit: Callable[..., Any]) -> None:
    """Otherwise the page could not be seen as of the day of the plan."""
    there = visit("good")
    there.app.state.desk.fixed_today = None
    there.post("/seen-from", {"day": "2026-06-21"})
    assert there.get("/state.json").json()["today"] == "2026-06-21"
    assert there.post("/seen-from", {"day": "tomorrow"}).status_code == 422


def test_a_damaged_page_file_is_moved_aside(wet: Any) -> None:
    """Otherwise one bad byte would lose every tick, or stop the page."""
    (wet.folder / "page.json").write_text("{", encoding="utf-8")
    wet.post(DAY, {"toggle": f"{first_job(wet)}=done"})
    assert read_memory(wet.folder).ticks("stop-2-home-yard")
    assert [p for p in wet.folder.iterdir() if ".damaged-" in p.name]


def test_a_track_is_dropped_and_its_legs_are_filled_up(wet: Any) -> None:
    """Otherwise a way already drawn or driven would have to be typed as legs."""
    points = timed(eastward(120, lon=150.0, step_deg=2e-2), datetime(2026, 8, 20, tzinfo=UTC), 120)
    form = wet.form("/trip") | {"by": "km", "km_a_day": "150"}
    sent = {"csrf": wet.token(), **form}
    answer = wet.client.post("/trip/track", data=sent, files={"track": ("west.gpx", gpx(points).encode())})
    assert answer.status_code == 200 and "legs from west.gpx" in answer.text
    assert (wet.folder / "tracks" / "west.gpx").is_file()
    before = len(rows(wet.folder / "legs.csv"))
    assert 'name="legs.new1.track"' in answer.text and 'value="west.gpx"' in answer.text
    cells = dict(re.findall(r'name="(legs\.new\d+\.[a-z_]+)"[^>]*? value="([^"]*)"', answer.text))
    keys = {name.rpartition(".")[0] for name, value in cells.items() if value}
    like = {"surface": "gravel", "corrugation": "none", "dust": "none", "heat_c": "25", "load": "normal",
            "towing": "no", "hubs": "free", "low_range_km": "0", "remote": "no", "speed_kmh": "60", "mud": "none"}  # fmt: skip
    filled = cells | {f"{key}.{column}": value for key in keys for column, value in like.items()}
    filled |= {f"{key}.depart": f"2026-09-{20 + n} 08:00" for n, key in enumerate(sorted(keys))}
    told = wet.post("/trip", form | filled | {"trip.return": "2026-10-05", "do": "save"})
    problems = re.findall(r"<dt>(.*?)</dt>", told.text, re.S)
    assert told.status_code == 200, problems
    new = rows(wet.folder / "legs.csv")[before:]
    assert len(new) == len(keys) >= 1 and {row["track"] for row in new} == {"west.gpx"} and new[0]["from_lat"]


@pytest.mark.parametrize("name", ["../out.gpx", "a.exe", "", ".gpx", "x" * 200 + ".gpx"])
def test_a_track_with_a_name_that_leads_elsewhere_is_refused(wet: Any, name: str) -> None:
    """Otherwise a file from a stranger could be written outside its folder."""
    before = snapshot(wet.folder)
    sent = {"csrf": wet.token(), **wet.form("/trip"), "by": "km", "km_a_day": "300"}
    content = gpx(eastward(50, lon=150.0, step_deg=1e-2)).encode()
    answer = wet.client.post("/trip/track", data=sent, files={"track": (name, content)})
    assert answer.status_code == 422 or (wet.folder / "tracks" / "out.gpx").is_file()
    assert not (wet.folder.parent / "out.gpx").exists() and snapshot(wet.folder) == before


@pytest.mark.parametrize("content", [b"no track", b'<!DOCTYPE gpx [<!ENTITY a "b">]><gpx/>', b"\0" * 100])
def test_a_file_that_is_no_track_is_told_and_not_kept(wet: Any, content: bytes) -> None:
    """Otherwise rubbish would be kept among the tracks, or end in an error of ours."""
    sent = {"csrf": wet.token(), **wet.form("/trip"), "by": "km", "km_a_day": "300"}
    answer = wet.client.post("/trip/track", data=sent, files={"track": ("a.gpx", content)})
    assert answer.status_code == 422 and not (wet.folder / "tracks" / "a.gpx").exists()


def test_only_a_track_may_be_large(wet: Any) -> None:
    """Otherwise the page could be made to hold any amount."""
    sent = {"csrf": wet.token()}
    big = {"track": ("a.gpx", b"x" * 1_500_000)}
    assert wet.client.post("/trip/track", data=sent, files=big).status_code == 422
    assert wet.client.post("/trip", data=sent, files=big).status_code == 413
    assert wet.client.post("/trip", data=sent, files={"track": ("a.gpx", b"x")}).status_code in (400, 422)


def test_the_next_job_stands_first_and_leads_to_its_tick(wet: Any) -> None:
    """Otherwise the day would have to be scrolled through, with dirty hands, to see what comes next."""
    shown = []
    for _ in range(2):
        page = document_fromstring(wet.get(DAY).text)
        (link,) = page.findall(".//p[@class='next next-job']/a")
        box = page.get_element_by_id(link.get("href").removeprefix("#"))
        (tick,) = box.findall("button[@class='tick']")
        assert tick.get("aria-pressed") == "false"
        title = link.text_content().removesuffix(", left").removesuffix(", right")
        assert tick.get("aria-label").startswith(title)
        shown.append(link.get("href"))
        assert wet.post(DAY, {"toggle": tick.get("value")}).status_code == 200
    assert shown[0] != shown[1]
