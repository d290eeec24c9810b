"""The file for the phone as it is used: opened from the phone's own store, without a network, closed and killed."""

import json
import os
import shutil
import signal
import subprocess
import time
from collections.abc import Iterator
from contextlib import contextmanager, redirect_stdout
from datetime import datetime
from io import StringIO
from pathlib import Path
from typing import Any

import pytest

from tests.browser.test_page_access import ALL_RULES, OF_COLOUR
from tests.machine import CHROMIUM
from tripplan.commands import field_records
from tripplan.commands import plan as plan_command
from tripplan.commands.log_and_cross import cross, log
from tripplan.explain.crossings import WORDS
from tripplan.files.demos import DEMOS
from tripplan.records.words import WaterWindow
from tripplan.sheets.words import upper_first

DEMO = Path(__file__).parents[2] / "demo"
BANK = "2026-09-05T10:20:00+08:00"
WAIT_S = 15
BEGINS = (
    *((str(when), upper_first(words)) for when, words in WORDS.items()),
    (WaterWindow.DAYS, "Within"), (WaterWindow.LATER, "Again later"),
)  # fmt: skip


@pytest.fixture(scope="module")
def planned(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The smallest demo, planned by the plain rule a fortnight before its next water."""
    folder = tmp_path_factory.mktemp("field") / "trip"
    shutil.copytree(DEMO / "after-crossing", folder, ignore=shutil.ignore_patterns("outputs"))
    with redirect_stdout(StringIO()):
        assert plan_command.plan(folder, folder / "outputs", DEMOS["after-crossing"].isoformat(), False) in (0, 1)
    return folder


class Phone:
    """A browser with a store of its own, which can be killed like a phone whose battery ends."""

    def __init__(self, browser: Any, store: Path) -> None:
        path = next(found for name in CHROMIUM if (found := shutil.which(name)))
        port = store / "DevToolsActivePort"
        port.unlink(missing_ok=True)
        self.process = subprocess.Popen(
            [path, "--headless=new", "--no-sandbox", "--disable-gpu", "--no-first-run", f"--user-data-dir={store}",
             "--remote-debugging-port=0", "--disable-background-networking", "about:blank"],
            stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL, start_new_session=True,
            env={**os.environ, "TZ": "Australia/Perth"},
        )  # fmt: skip
        end = time.monotonic() + WAIT_S
        while not (port.is_file() and len(port.read_text().split()) == 2):
            assert time.monotonic() < end and self.process.poll() is None
            time.sleep(0.05)
        self.driven = browser.browser_type.connect_over_cdp(f"http://127.0.0.1:{port.read_text().split()[0]}")
        self.page = self.driven.contexts[0].pages[0]
        self.page.set_viewport_size({"width": 360, "height": 740})
        self.page.context.set_offline(True)
        self.said: list[str] = []
        self.asked: list[str] = []
        self.page.on("pageerror", lambda error: self.said.append(str(error)))
        self.page.on("console", lambda message: self.said.append(message.text) if message.type == "error" else None)
        self.page.on("request", lambda request: self.asked.append(request.url))

    def open(self, file: Path, at: str) -> Any:
        """The file as opened from the phone's files at that moment."""
        self.page.clock.set_fixed_time(datetime.fromisoformat(at))
        self.page.goto(file.as_uri())
        self.page.wait_for_selector("html[data-ready]")
        return self.page

    def kill(self) -> None:
        """The end without a word, for it and all that it started."""
        os.killpg(self.process.pid, signal.SIGKILL)
        self.process.wait(WAIT_S)


@contextmanager
def phone_with(browser: Any, store: Path) -> Iterator[Phone]:
    """A phone that is killed at the end, whatever happened."""
    phone = Phone(browser, store)
    try:
        yield phone
    finally:
        phone.kill()


def go(page: Any, part: str) -> None:
    """Touch a part at the foot of the page."""
    page.get_by_role("navigation").get_by_role("link", name=part).click()


def record_the_ford(page: Any) -> None:
    """0.55 m of mud for six minutes with hot hubs, where 0.25 m was planned."""
    go(page, "Water")
    page.get_by_label("Crossing", exact=True).select_option(label="Leg 7, km 140, Sat 5 Sep")
    for _ in range(6):
        page.get_by_role("button", name="5 cm more").click()
    page.get_by_label("Minutes in the water").fill("6")
    page.get_by_label("muddy").check()
    page.get_by_label("The hubs went in hot").check()
    page.get_by_role("button", name="Keep it, and say what it calls for").click()


def text_of(page: Any) -> str:
    """The text that goes home."""
    go(page, "Book")
    return str(page.locator("#text").input_value())


def said_by(run: Any) -> tuple[int, str]:
    """Exit status and what was printed."""
    with redirect_stdout(StringIO()) as said:
        status = run()
    return status, said.getvalue()


@pytest.mark.usefixtures("by_rule")
def test_the_third_use_from_a_phone_that_is_closed_and_killed(browser: Any, planned: Path, tmp_path: Path) -> None:
    """Otherwise what was done at the bank would be lost, or the laptop would plan other work than from its own `cross`.

    The phone has no network; it is killed right after each record is told as kept, and opened again.
    """
    home, bank = tmp_path / "home", tmp_path / "bank"
    shutil.copytree(planned, home)
    shutil.copytree(planned, bank)
    file, store = home / "outputs" / "field.html", tmp_path / "store"
    store.mkdir()
    with phone_with(browser, store) as phone:
        record_the_ford(phone.open(file, BANK))
        phone.page.get_by_role("status").get_by_text("Kept: crossing").wait_for()
        assert phone.asked == [file.as_uri()]
    with phone_with(browser, store) as phone:
        page = phone.open(file, "2026-09-05T18:00:00+08:00")
        go(page, "Water")
        at_night = page.locator("details.window", has_text="The same night")
        at_night.locator("summary").click()
        at_night.get_by_role("button", name="Look at front differential oil: what was found").click()
        page.get_by_role("dialog").get_by_role("button", name="Water").click()
        page.get_by_role("status").get_by_text("found water").wait_for()
        opened = page.locator(".acts > li", has_text="Opened by what a look found").locator("b").all_text_contents()
        go(page, "Book")
        page.get_by_label("Reading, km").fill("200 140")
        page.get_by_role("button", name="Keep the reading").click()
        page.get_by_role("status").get_by_text("200140 km").wait_for()
        assert phone.said == []
    with phone_with(browser, store) as phone:
        sent = text_of(phone.open(file, "2026-09-06T07:00:00+08:00"))
        asked = phone.page.evaluate("Page.asked()")
        squares = phone.page.evaluate("Text.parts(document.getElementById('text').value)")
        phone.page.get_by_text("As squares for a camera").click()
        phone.page.get_by_role("img", name=f"Square 1 of {len(squares)}").wait_for()
    assert opened == ["Drain and refill front differential oil", "Look at front differential oil"]
    letter = tmp_path / "sent.txt"
    letter.write_text(f"Sent from the road\r\n{sent}-- \r\nme", encoding="utf-8")
    status, said = said_by(lambda: field_records.take_records(home, letter, home / "outputs", "2026-09-06", False))
    assert status in (0, 1) and "2 rows added" in said and "crossings.csv: row 5 made" in said, said
    told: dict[str, Any] = {"out": bank / "outputs", "today": "2026-09-06"}
    steps = (
        lambda: cross(bank, 7, 0.55, 6, "muddy", "2026-09-05 10:20", 140, hubs_hot=True, today="2026-09-06"),
        lambda: log(bank, "wagon", ["front_diff_oil"], "look", "2026-09-05", finding="water", today="2026-09-06"),
        lambda: log(bank, "wagon", [], None, "2026-09-05", odometer=200140, **told),
    )
    assert all(said_by(step)[0] in (0, 1) for step in steps)
    plans = [json.loads((folder / "outputs" / "plan.json").read_text()) for folder in (home, bank)]
    assert plans[0] == plans[1]
    made = [one for one in plans[0]["crossings"] if one["crossed"]]
    booked = [
        (act["unit"], act["item"], act["position"], act["window_kind"], act["act"])
        for one in made
        for act in one["acts"]
    ]
    assert sorted(booked, key=str) == sorted((tuple(one[:5]) for one in asked if not one[5]), key=str)
    assert sum(len(one["contingent"]) for one in made) == sum(one[5] for one in asked) > 0
    before = (home / "history.csv").read_bytes()
    letter.write_text("\n".join(reversed(squares)), encoding="utf-8")
    again, said = said_by(lambda: field_records.take_records(home, letter, home / "outputs", "2026-09-06", False))
    assert again == status and "Nothing is new" in said and (home / "history.csv").read_bytes() == before
    with phone_with(browser, store) as phone:
        page = phone.open(file, "2026-09-06T08:00:00+08:00")  # the file as planned again, over the old one
        assert "0 records to take home" in page.locator("#many").text_content()
        go(page, "Book")
        assert page.locator("#list").get_by_text("taken home").count() == 3


@pytest.fixture
def field_page(browser: Any, planned: Path) -> Iterator[Any]:
    """The file on a page of a phone, at the bank."""
    context = browser.new_context(viewport={"width": 360, "height": 740}, offline=True)
    page = context.new_page()
    page.clock.set_fixed_time(datetime.fromisoformat(BANK))
    page.goto((planned / "outputs" / "field.html").as_uri())
    page.wait_for_selector("html[data-ready]")
    yield page
    context.close()


def test_jobs_are_counted_as_in_the_list_of_the_days(field_page: Any) -> None:
    """Otherwise one page would say 22 jobs in one line and 20 in the next, and a mechanic look for the other two."""
    said = field_page.locator("#live-now").inner_text()
    told = int(said.split(" open of ")[1].split(".")[0])
    place = field_page.evaluate("document.querySelector('#live-now a[data-open]').hash.slice(1)")
    assert f": {told} job" in field_page.locator(f"#{place} > summary span").text_content()
    assert f"{told} job" in said
    field_page.locator("#live-now .tick").first.click()
    field_page.get_by_role("status").get_by_text("Kept").wait_for()
    assert f"{told - 1} job" in field_page.locator("#live-now").inner_text()


TAPS = "window.taps = 0; document.addEventListener('click', (one) => { window.taps += one.isTrusted && one.detail > 0; }, true)"
MOST_TAPS = 7


def sent_of(page: Any) -> list[dict[str, Any]]:
    """The records in the text that goes home."""
    return [json.loads(line.partition(" ")[2]) for line in text_of(page).splitlines()[2:-1]]


def test_a_crossing_is_kept_in_few_taps(field_page: Any) -> None:
    """Otherwise somebody with wet hands would write it down in the evening, from memory: it was 14 taps."""
    field_page.evaluate(TAPS)
    go(field_page, "Water")
    assert "0.25 m, as planned" in field_page.locator("output.depth").inner_text()
    field_page.get_by_role("group", name="Round depths").get_by_role("button", name="0.5").click()
    field_page.get_by_role("button", name="5 cm more").click()
    field_page.get_by_role("group", name="Round figures").get_by_role("button", name="5", exact=True).click()
    field_page.get_by_label("muddy").check()
    field_page.get_by_label("The hubs went in hot").check()
    field_page.get_by_role("button", name="Keep it, and say what it calls for").click()
    field_page.get_by_role("status").get_by_text("Kept: crossing").wait_for()
    assert field_page.evaluate("window.taps") <= MOST_TAPS
    (one,) = sent_of(field_page)
    assert one["when"] == one["at"][:16]
    told = (one["leg"], one["at_km"], one["depth_m"], one["minutes"], one["water"], one["hubs_hot"])
    assert told == (7, 140, 0.55, 5, "muddy", True)


def test_nothing_is_taken_for_a_crossing_that_nobody_planned(field_page: Any) -> None:
    """Otherwise salt water that nobody named would go home as fresh, and no brake would be washed for it."""
    go(field_page, "Water")
    field_page.get_by_label("Crossing", exact=True).select_option(label="Another place")
    field_page.get_by_label("Km of the leg").fill("3")
    keep = field_page.get_by_role("button", name="Keep it, and say what it calls for")
    keep.click()
    assert "Water: fresh, muddy or salt." in field_page.locator("#wrong").inner_text() and not sent_of(field_page)
    go(field_page, "Water")
    field_page.get_by_role("group", name="Round figures").get_by_role("button", name="not known").click()
    field_page.get_by_label("salt").check()
    keep.click()
    (one,) = sent_of(field_page)
    assert one["water"] == "salt" and "minutes" not in one


def test_no_crossing_of_an_earlier_day_is_chosen(field_page: Any) -> None:
    """Otherwise water of the last day would be kept under a crossing planned a week before, with its depth and water."""
    field_page.clock.set_fixed_time(datetime.fromisoformat("2026-09-08T09:00:00+08:00"))
    field_page.evaluate("document.dispatchEvent(new Event('visibilitychange'))")
    go(field_page, "Water")
    which = field_page.get_by_label("Crossing", exact=True)
    field_page.wait_for_function("document.getElementById('which').value === ''")
    assert which.locator(":scope > option").all_inner_texts() == ["Another place"]
    earlier = which.locator("optgroup[label='Planned earlier, not recorded'] option").all_inner_texts()
    assert earlier == ["Leg 5, km 88, Mon 31 Aug", "Leg 7, km 140, Sat 5 Sep"]
    assert field_page.locator("#leg").input_value() == "8" and field_page.locator("#depth").input_value() == "0"
    assert field_page.locator("[name=kind]:checked").count() == 0
    field_page.get_by_role("button", name="Keep it, and say what it calls for").click()
    wrong = field_page.locator("#wrong").inner_text()
    assert "Depth: set how deep it was." in wrong and "Water: fresh, muddy or salt." in wrong
    which.select_option(label="Leg 7, km 140, Sat 5 Sep")
    field_page.locator("#just").uncheck()
    field_page.locator("#when").fill("2026-09-05T10:20")
    field_page.get_by_role("button", name="Keep it, and say what it calls for").click()
    (one,) = sent_of(field_page)
    assert (one["leg"], one["at_km"], one["depth_m"], one["when"]) == (7, 140, 0.25, "2026-09-05T10:20")


def test_what_is_in_a_hurry_is_told_first(field_page: Any) -> None:
    """Otherwise what has days would stand before the first halt and the same night, and be done first."""
    record_the_ford(field_page)
    headings = field_page.locator("#live-advice .window > summary").all_inner_texts()
    told = [next((when for when, begins in BEGINS if text.startswith(begins)), "maybe") for text in headings]
    assert told == [when for when in (*WaterWindow, "maybe") if when in told] and len(told) >= 5


@pytest.mark.parametrize(
    ("typed", "may_be"),
    [
        ("281.540", [281540, 281.54]), ("281,540", [281540, 281.54]), ("281540", [281540]), ("281 540", [281540]),
        ("281540.5", [281540.5]), ("1281.540", [1281.54]), ("0,125", [0.125]), ("95,5", [95.5]), ("1.281.540", []), ("-5", []),
    ],
)  # fmt: skip
def test_three_digits_behind_one_mark_are_two_numbers(field_page: Any, typed: str, may_be: list[float]) -> None:
    """Otherwise a reading with the usual mark for thousands would be kept a thousand times too small."""
    assert field_page.evaluate("(text) => Parts.numbers(text)", typed) == may_be


def test_a_reading_in_doubt_is_asked_about(field_page: Any) -> None:
    """Otherwise 200.140 would go home as 200.14 km, where nobody takes it in. The folder's last is 198035 km."""
    go(field_page, "Book")
    reading, asks = field_page.get_by_label("Reading, km"), field_page.locator("#ask-reading button")
    keep, wrong = field_page.get_by_role("button", name="Keep the reading"), field_page.locator("#wrong-reading")
    reading.fill("200.140")
    keep.click()
    assert wrong.inner_text() == "200.140: is that 200140 km, or 200.14 km?" and not sent_of(field_page)
    asks.get_by_text("200.14 km").click()
    assert "below the last reading of the wagon: 198035 km on Sun 16 Aug." in wrong.inner_text() and not sent_of(
        field_page
    )
    reading.fill("200.140")
    assert wrong.inner_text() == "" and asks.count() == 0
    keep.click()
    asks.get_by_text("200140 km").click()
    assert [one["odometer_km"] for one in sent_of(field_page)] == [200140]
    reading.fill("200130")
    keep.click()
    assert "below the last reading of the wagon: 200140 km on Sat 5 Sep" in wrong.inner_text()
    asks.get_by_text("Keep 200130 km").click()
    assert [one["odometer_km"] for one in sent_of(field_page)] == [200140, 200130]


def test_a_tick_is_undone_and_stays_so(field_page: Any) -> None:
    """Otherwise a slip of the thumb would go home as work done."""
    go(field_page, "Now")
    box = field_page.locator("#live-now .tick").first
    box.click()
    field_page.get_by_role("status").get_by_role("button", name="Undo").click()
    field_page.get_by_role("status").get_by_text("Undone").wait_for()
    field_page.reload()
    field_page.wait_for_selector("html[data-ready]")
    assert field_page.locator('[aria-pressed="true"]').count() == 0
    lines = text_of(field_page).splitlines()
    assert [json.loads(line.partition(" ")[2])["kind"] for line in lines[2:-1]] == ["work", "undo"]


@pytest.mark.parametrize(("broken", "kind"), [("indexedDB", "small"), ("indexedDB localStorage", "none")])
def test_what_cannot_be_kept_is_said_at_once(browser: Any, planned: Path, broken: str, kind: str) -> None:
    """Otherwise an evening's findings would be gone in the morning, and nobody had been told."""
    context = browser.new_context(viewport={"width": 360, "height": 740})
    page = context.new_page()
    for name in broken.split():
        page.add_init_script(f"Object.defineProperty(window, '{name}', {{ get() {{ throw new Error('no'); }} }})")
    page.goto((planned / "outputs" / "field.html").as_uri())
    page.wait_for_selector(f'html[data-ready="{kind}"]')
    said = page.locator("#told").text_content()
    assert ("NOTHING CAN BE KEPT" in said) == (kind == "none")
    if kind == "small":
        page.locator("#live-now .tick").first.click()
        page.get_by_role("status").get_by_text("Kept").wait_for()
        page.reload()
        page.wait_for_selector("html[data-ready]")
        assert page.locator("#list .entry").count() == 1
    context.close()


def test_a_full_store_is_told_and_the_record_can_still_go_home(field_page: Any) -> None:
    """Otherwise the phone would say kept of what it could not keep."""
    field_page.evaluate(
        "void (IDBObjectStore.prototype.put = () => { throw new DOMException('full', 'QuotaExceededError'); })"
    )
    field_page.locator("#live-now .tick").first.click()
    field_page.get_by_role("alert").get_by_text("NOT KEPT on this phone: its store is full").wait_for()
    assert '"kind":"work"' in text_of(field_page)


def test_nothing_runs_off_a_narrow_phone_with_or_without_script(browser: Any, planned: Path) -> None:
    """Otherwise half of a job would be past the edge; and without script the sheet must still be there to read."""
    for script in (True, False):
        page = browser.new_page(viewport={"width": 320, "height": 700}, java_script_enabled=script)
        page.clock.set_fixed_time(datetime.fromisoformat(BANK))
        page.goto((planned / "outputs" / "field.html").as_uri())
        if script:
            page.wait_for_selector("html[data-ready]")
            record_the_ford(page)
            page.locator("#live-advice .find").first.click()
            fits = "[...document.querySelectorAll('dialog, dialog *')].every((one) => one.scrollWidth <= one.clientWidth + 1)"
            assert page.evaluate(fits)
            page.get_by_role("dialog").get_by_role("button", name="Contaminated").click()
            page.get_by_role("status").get_by_text("found contaminated").wait_for()
            for part in ("Now", "Work", "Water", "Lasts", "Carry", "Book"):
                go(page, part)
                assert page.evaluate("document.documentElement.scrollWidth - document.documentElement.clientWidth") <= 0
        else:
            assert page.get_by_role("heading", name="Work").is_visible()
            job = page.locator(".place .job").first
            assert job.locator(".box").count() >= 1 and job.is_visible()
            assert page.get_by_text("It needs script").is_visible()
        page.close()


ONE_LINE = """[...document.querySelectorAll('dialog .grid button')].every((one) => {
    const words = document.createRange();
    words.selectNodeContents(one);
    return words.getClientRects().length === 1;
})"""


def test_no_finding_is_broken_inside_its_word(field_page: Any) -> None:
    """Otherwise a button would read "Contaminate", and its last letter stand below."""
    field_page.locator("#live-now .find").first.click()
    assert field_page.get_by_role("dialog").get_by_role("button", name="Contaminated").is_visible()
    assert field_page.evaluate(ONE_LINE)


BAR = """[...document.querySelectorAll('.parts a')].every((one) => {
    const { left, right, top, bottom } = one.getBoundingClientRect();
    return left >= 0 && right <= innerWidth && top >= 0 && bottom <= innerHeight && one.scrollWidth <= one.clientWidth;
})"""
LETTERS = "document.styleSheets[0].insertRule('html { font-size: %d%% !important }')"
LONG_STOP = "Ngarutjaranyakurlangukutjarra-2"


@pytest.mark.parametrize("percent", [130, 150])
def test_large_letters_leave_every_part_in_reach(field_page: Any, percent: int) -> None:
    """Otherwise whoever has large letters on the phone could not reach the book, and took nothing home."""
    field_page.evaluate(LETTERS % percent)
    link = "document.querySelector('.days a').textContent = 'Sat 5 Sep, ' + '%s'"
    field_page.evaluate(link % LONG_STOP)
    for part in ("Now", "Work", "Water", "Lasts", "Carry", "Book"):
        go(field_page, part)
        assert field_page.evaluate(BAR), part
        assert field_page.evaluate("document.documentElement.scrollWidth <= document.documentElement.clientWidth"), part
    field_page.get_by_label("Reading, km").fill("200140")
    field_page.get_by_role("button", name="Keep the reading").click()
    field_page.get_by_role("status").get_by_text("200140 km").wait_for()
    said, bar = (field_page.locator(name).bounding_box() for name in ("#said", ".parts ol"))
    assert said["y"] + said["height"] <= bar["y"] and said["y"] >= 0


def test_the_rules_of_access_are_kept(browser: Any, planned: Path, axe: str) -> None:
    """Otherwise somebody could not read it, or not touch it. The rules are those of axe-core."""
    page = browser.new_page(viewport={"width": 360, "height": 740})
    page.clock.set_fixed_time(datetime.fromisoformat(BANK))
    page.goto((planned / "outputs" / "field.html").as_uri())
    page.wait_for_selector("html[data-ready]")
    record_the_ford(page)
    page.get_by_role("status").get_by_text("Kept: crossing").wait_for()
    page.evaluate(axe)
    for part in ("Now", "Work", "Water", "Lasts", "Carry", "Book"):
        go(page, part)
        page.evaluate("document.querySelectorAll('section.here details').forEach((one, at) => { one.open = at < 4; })")
        for scheme, rules in (("dark", OF_COLOUR), ("light", ALL_RULES)):
            page.emulate_media(color_scheme=scheme)
            within = "document" if part == "Now" else "'section.here'"
            told = page.evaluate(f"axe.run({within}, {{resultTypes: ['violations'], runOnly: {rules}}})")
            assert [(one["id"], one["nodes"][0]["html"]) for one in told["violations"]] == [], (part, scheme)
    page.close()
