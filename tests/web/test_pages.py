"""What is read: every page answers, says the same as the command line, and shows problems as problems."""

import contextlib
import io
import json
import re
from collections.abc import Callable
from datetime import date
from html import unescape
from pathlib import Path
from typing import Any

import pytest
from msgspec.structs import replace

from tests.support import replaced
from tests.web.conftest import Visitor
from tripplan.commands.log_and_cross import log
from tripplan.commands.plan import plan
from tripplan.commands.why import why
from tripplan.files.demos import DEMOS, copy_demo
from tripplan.files.folder import load
from tripplan.files.plan_folder import plan_of
from tripplan.placing.optimise import METHOD
from tripplan.records.plan import PlanWarning
from tripplan.records.words import WarningKind
from tripplan.sheets.plan_json import plan_json
from tripplan.web.open_trip import Desk
from tripplan.web.saves.saving import FAILED, PLAIN, SOLVED

PAGES = ("/", "/trip", "/jobs", "/jobs/stop-2-home-yard", "/water", "/why", "/item/front_wheel_bearings", "/home", "/hand-over", "/history",
         "/rig", "/saved")  # fmt: skip
TODAY = date(2026, 8, 17)


@pytest.mark.parametrize("path", PAGES)
def test_every_page_answers(wet: Any, path: str) -> None:
    """Otherwise a part of the plan could not be seen."""
    answer = wet.get(path)
    assert answer.status_code == 200 and "<h1>" in answer.text
    assert "Traceback" not in answer.text


def test_the_plan_is_that_of_the_command_line(wet: Any) -> None:
    """Otherwise the page would tell another plan than the sheet on the bench."""
    inputs, catalogue, problems = load(wet.folder, TODAY)
    assert inputs is not None
    assert wet.get("/plan.json").text == plan_json(plan_of(inputs, catalogue, TODAY, problems))


@pytest.mark.slow
@pytest.mark.parametrize("name", ["outback", "long-tour", "after-crossing"])
def test_page_and_command_line_give_the_same_plan(visit_solved: Callable[..., Any], tmp_path: Path, name: str) -> None:
    """Otherwise the sheet printed from the page would not be the one of `tripplan plan` (every file, every byte)."""
    there = visit_solved(name)
    today = DEMOS[name]
    assert plan(there.folder, tmp_path / "out", today.isoformat(), False) in (0, 1)
    assert there.get("/plan.json").text == (tmp_path / "out" / "plan.json").read_text(encoding="utf-8")
    for file in ("worksheet.html", "cards.html", "worksheet.txt", "tasks.csv", "shopping.csv"):
        assert there.get(f"/files/{file}").content == (tmp_path / "out" / file).read_bytes()


def test_intervals_that_findings_changed_are_the_same_in_the_page(wet: Any, tmp_path: Path) -> None:
    """Otherwise an owner who lets findings change intervals would see two plans."""
    (wet.folder / "evidence.csv").write_text("item,use,reason\nengine_oil_filter,yes,own engine\n", encoding="utf-8")
    plan(wet.folder, tmp_path / "out", TODAY.isoformat(), False)
    assert wet.get("/plan.json").text == (tmp_path / "out" / "plan.json").read_text(encoding="utf-8")


def test_a_record_made_in_the_page_is_the_command_s(wet: Any, tmp_path: Path) -> None:
    """Otherwise a day closed in the page would leave another history than `tripplan log`."""
    other = tmp_path / "other"
    copy_demo("after-crossing", other)
    job = "wagon engine_oil_filter - drain-and-refill serviceable"
    log(other, None, (), None, "2026-08-17", None, jobs=[job.replace("-and-", " and ")], today=TODAY.isoformat())
    new = {"date": "2026-08-17", "unit": "wagon", "item": "engine_oil_filter", "act": "drain and refill",
           "finding": "serviceable"}  # fmt: skip
    form = wet.form("/history") | {f"history.new1.{column}": text for column, text in new.items()} | {"do": "save"}
    assert wet.post("/history", form).status_code == 200
    assert (wet.folder / "history.csv").read_bytes() == (other / "history.csv").read_bytes()


def test_reasons_are_those_of_the_command_line(wet: Any) -> None:
    """Otherwise the page would give other reasons than the command why."""
    out = io.StringIO()
    with contextlib.redirect_stdout(out):
        why(wet.folder, "front_wheel_bearings", TODAY.isoformat(), True)
    assert wet.get("/item/front_wheel_bearings.json").json() == json.loads(out.getvalue())


@pytest.mark.parametrize("path", PAGES[1:])
def test_pages_have_a_twin_as_json(wet: Any, path: str) -> None:
    """Otherwise a script would have to read the page."""
    assert isinstance(wet.get(f"{path}.json").json(), dict)


def test_the_day_page_holds_every_job_of_the_plan(wet: Any) -> None:
    """Otherwise work would be left undone."""
    slot = next(s for s in wet.get("/plan.json").json()["slots"] if s["id"] == "stop-2-home-yard")
    page = wet.get("/jobs/stop-2-home-yard").text
    keys = {"|".join((j["unit"], j["item"], j["position"] or "", j["act"])) for j in slot["jobs"]}
    assert keys == set(re.findall(r'name="finding\.([^"]+)"', page))


def test_beside_a_job_stands_what_leaving_it_out_costs(wet: Any) -> None:
    """Otherwise whoever is short of time would have to guess which job may go."""
    plan = wet.get("/plan.json").json()
    slot = next(one for one in plan["slots"] if one["jobs"])
    told = {job["skip"]["text"] for job in slot["jobs"] if job["skip"]}
    page = wet.get(f"/jobs/{slot['id']}").text
    assert told and all(text in page for text in told)


def test_warnings_stand_in_full_before_the_picture(visit: Callable[..., Any]) -> None:
    """Otherwise a job without a place would be seen last."""
    outback = visit("good")
    page, plan = outback.get("/").text, outback.get("/plan.json").json()
    for warning in (told["text"] for told in plan["warnings"]):
        assert -1 < page.index(warning.replace("'", "&#39;").replace('"', "&#34;")) < page.index("<svg")


def test_a_broken_folder_shows_its_problems(visit: Callable[..., Any]) -> None:
    """Otherwise a slip in a file would end in a blank page."""
    there = visit("good")
    replaced(there.folder, "legs.csv", "520", "52O")
    answer = there.get("/")
    assert answer.status_code == 409
    assert "Legs, row 2, distance, km" in answer.text and "“52O”; accepted" in answer.text
    assert there.get("/plan.json").json()["problems"][0]["file"] == "legs.csv"


def test_unknown_pages_are_told_plainly(wet: Any) -> None:
    """Otherwise a wrong address would look like a broken tool."""
    for path in ("/nowhere", "/item/nothing", "/jobs/never", "/files/passwd"):
        assert wet.get(path).status_code == 404


def test_what_goes_wrong_is_one_line(wet: Any, monkeypatch: pytest.MonkeyPatch) -> None:
    """Otherwise the inside of the program would be shown instead of what to do."""

    def broken(self: Desk) -> None:
        raise RuntimeError("a secret of the inside")

    monkeypatch.setattr(Desk, "see", broken)
    answer = wet.get("/why")
    assert answer.status_code == 500
    assert len(answer.text.splitlines()) == 1 and "secret" not in answer.text and "our fault" in answer.text


def test_the_quick_plan_says_that_it_is_one(wet: Any, monkeypatch: pytest.MonkeyPatch) -> None:
    """Otherwise the plain rule's answer could be taken for the solved one."""
    asked: list[Any] = []
    desk: Desk = wet.app.state.desk
    desk.background = True
    monkeypatch.setattr(desk._solver, "ask", lambda question, told: asked.append(told))
    assert "The search for the plan is still on" in wet.get("/").text
    assert wet.get("/files/calendar.ics").status_code == 503
    asked[0](None)
    assert "could not be worked out" in wet.get("/").text


def test_nobody_is_alarmed_by_a_plan_that_is_about_to_be_replaced(visit: Callable[..., Any]) -> None:
    """Otherwise the page would open with brakes put right after the return, in a plan that is another one a second later."""
    there = visit("outback")
    desk: Desk = there.app.state.desk
    seen = desk.see()
    assert seen.plan is not None
    of_places = [one.text for one in seen.plan.warnings if one.kind in (WarningKind.FOUND_BAD, WarningKind.NO_PLACE)]
    other = PlanWarning(kind=WarningKind.GRADED, text="Beyond what the model of dust was made for.")
    seen = replace(seen, plan=replace(seen.plan, warnings=(*seen.plan.warnings, other)))
    assert of_places
    for answer, is_told in ((PLAIN, False), (FAILED, True), (SOLVED, True)):
        desk._seen = replace(seen, answer=answer)
        page = unescape(there.get("/").text)
        assert all((text in page) == is_told for text in of_places) and other.text in page
        assert ("without warnings of where work falls" in page) != is_told
        assert is_told or "Way out." not in page


def test_the_solver_works_beside_the_page(wet: Any) -> None:
    """Otherwise the page would stand still while the plan is solved."""
    import time

    desk: Desk = wet.app.state.desk
    desk.background = True
    assert desk.see().answer == "plain"
    end = time.monotonic() + 30
    while desk.see().answer == "plain" and time.monotonic() < end:
        time.sleep(0.1)
    seen = desk.see()
    assert seen.answer == "solved" and seen.plan is not None and seen.plan.totals.method == METHOD


def test_hand_over_gives_the_files_of_the_command_line(wet: Any) -> None:
    """Otherwise the calendar taken from the page would not be the one of the plan."""
    calendar = wet.get("/files/calendar.ics")
    assert calendar.text.startswith("BEGIN:VCALENDAR") and "attachment" in calendar.headers["content-disposition"]
    sheet = wet.get("/files/worksheet.html")
    assert sheet.text.encode() == (wet.folder / "outputs" / "worksheet.html").read_bytes()
    assert "sha256-" in sheet.headers["content-security-policy"]
    assert wet.get("/files/cards.html").status_code == 200


def test_an_empty_folder_leads_to_the_first_visit(visit: Callable[..., Any]) -> None:
    """Otherwise a beginner would meet an error."""
    answer = visit().get("/")
    assert answer.url.path == "/start" and "outback" in answer.text and "What do you call the rig" in answer.text


def test_a_folder_with_a_trip_is_not_begun_again(wet: Any) -> None:
    """Otherwise the page would say that nothing is there."""
    assert wet.get("/start", follow_redirects=False).headers["location"] == "/"


def test_the_side_view_is_told_in_words_too(wet: Any) -> None:
    """Otherwise what is under water could only be seen, not read."""
    page = wet.get("/water?depth=0.7").text
    under = re.search(r"<p data-under>(.*?)</p>", page, re.S)
    assert under and "hub centre 0.4 m" in under.group(1) and "intake mouth" not in under.group(1)
    assert "does not say whether water can be driven" in page


@pytest.mark.parametrize(
    ("today", "leg", "why"),
    [
        (date(2026, 8, 31), "5", "water is planned there next"),
        (date(2026, 9, 1), "7", "water is planned there next"),
        (date(2026, 9, 6), "7", "the last leg begun by today"),
        (date(2026, 9, 8), "8", "the last leg begun by today"),
        (date(2026, 9, 9), "", ""),
    ],
)
@pytest.mark.usefixtures("by_rule")
def test_no_leg_is_chosen_for_water_planned_on_an_earlier_day(tmp_path: Path, today: date, leg: str, why: str) -> None:
    """Otherwise water of the last day would be recorded on a leg driven a week before.

    The crossings ahead lie on legs 5 (31 August) and 7 (5 September); leg 8, the last, starts and ends on 8 September.
    """
    copy_demo("after-crossing", tmp_path / "trip")
    page = Visitor(tmp_path / "trip", today).get("/water").text
    assert re.findall(r'<option value="(\d+)" selected>', page) == ([leg] if leg else [])
    assert ("chosen for you: " + why in page) == bool(why) and ("chosen for you" in page) == bool(why)
    past = [day for day in (date(2026, 8, 31), date(2026, 9, 5)) if day < today]
    assert (f"Planned earlier, not recorded: {len(past)}" in page) == bool(past)


def test_what_is_due_is_counted_one_way(visit: Callable[..., Any]) -> None:
    """Otherwise one page would say that 27 items are due in one line and 12 in the next."""
    visitor = visit("outback")
    page = visitor.get("/").text
    counted = re.search(r"(\d+) items are due before departure\. (\d+) items? ha(?:s|ve) no record", page)
    listed = r"<summary>(\d+) due before departure, (\d+) without a record, (\d+) of them on the walk-round</summary>"
    title = re.search(listed + r"\s*<ul[^>]*>(.*?)</ul>", page, re.S)
    assert counted and title and counted.groups() == title.groups()[:2]
    assert title[4].count("<li>") == int(title[1]) + int(title[2]) - int(title[3])
    assert f"Due before departure: {title[1]}<" in visitor.get("/why").text


def test_no_page_asks_another_machine(wet: Any) -> None:
    """Otherwise the page would fail where there is no network."""
    for path in PAGES:
        found = re.findall(r'(?:src|href|action)="((?:https?:)?//[^"]*)"', wet.get(path).text)
        assert found == []
    inside = Path(__file__).parents[2] / "tripplan" / "web" / "static"
    assert not [p for p in inside.iterdir() if re.search(r"(?:import|url)\s*\(?['\"]?(?:https?:)?//", p.read_text())]


def test_nothing_is_to_be_bought_by_the_quick_plan(wet: Any) -> None:
    """Otherwise parts would be ordered for a plan that is another one a moment later."""
    solved = wet.get("/hand-over").text
    assert "Shopping and carry list" in solved and "To buy" in solved and "shown as soon as" not in solved
    seen = wet.app.state.desk.see()
    wet.app.state.desk._seen = replace(seen, answer=PLAIN)
    waiting = wet.get("/hand-over").text
    assert "To buy" not in waiting and "order by" not in waiting and "shown as soon as" in waiting
    for path in ("/hand-over.json", "/files/shopping.csv", "/files/calendar.ics"):
        answer = wet.get(path)
        assert answer.status_code == 503 and answer.headers["retry-after"] == "10"
    wet.app.state.desk._seen = replace(seen, answer=FAILED)
    assert "To buy" in wet.get("/hand-over").text


def test_a_folder_just_begun_tells_the_next_steps(visit: Callable[..., Any]) -> None:
    """Otherwise the first save would be answered by things to put right."""
    there = visit("good")
    head = (there.folder / "legs.csv").read_text(encoding="utf-8").splitlines()[0]
    (there.folder / "legs.csv").write_text(head + "\n", encoding="utf-8")
    for path in ("/", "/jobs", "/begun"):
        answer = there.get(path)
        assert answer.status_code == (200 if path == "/begun" else 409)
        assert all(f'<a href="{way}">' in answer.text for way in ("/trip#legs", "/history", "/"))
        assert "put right" not in answer.text
    for path in ("/trip", "/history", "/rig"):
        assert "put right" not in there.get(path).text


def test_a_trip_that_is_over_is_said_to_be_once_and_first(by_rule: None, tmp_path: Path) -> None:
    """Otherwise the next day's jobs would be read as those of a trip to come."""
    copy_demo("outback", tmp_path / "trip")
    text = Visitor(tmp_path / "trip", date(2026, 11, 28)).get("/").text
    assert text.count("This trip is over: it ended on 30 June 2026.") == 1
    assert text.index("This trip is over") < text.index("<h2")
    assert "before departure" not in text.split("<main", 1)[1].split('id="line"', 1)[0]
