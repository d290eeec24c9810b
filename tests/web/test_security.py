"""Who may ask and what comes back: hosts, origins, tokens, limits, headers, paths and odd requests."""

import base64
import re
from collections.abc import Callable
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from tests.support import replaced
from tripplan.web.access.keys import Keys, read_keys
from tripplan.web.access.security import Access
from tripplan.web.serve import greeting, qr_lines

POSTS = ("/start/demo", "/start/rig", "/trip", "/jobs/stop-2-home-yard", "/jobs/stop-2-home-yard/close", "/water",
         "/undo", "/seen-from", "/pairing", "/calendar-address", "/rig", "/history", "/pair", "/photo")  # fmt: skip
NETWORK = "http" + "://192.168.1.5:8765"
PAIR, CALENDAR = "ABCD2345", "calendar-password"


@pytest.mark.parametrize("host", ["evil.example", "127.0.0.1.evil.example", "192.168.1.5:8765", "", "localhost.evil"])
def test_only_this_machine_is_answered(wet: Any, host: str) -> None:
    """Otherwise a page elsewhere could reach the folder by giving its own name this machine's address."""
    assert wet.get("/plan.json", headers={"host": host}).status_code == 421


@pytest.mark.parametrize("host", ["127.0.0.1:8765", "localhost:8765", "[::1]:8765"])
def test_this_machine_goes_by_its_names(wet: Any, host: str) -> None:
    """Otherwise the owner's own browser would be turned away."""
    assert wet.get("/state.json", headers={"host": host}).status_code == 200


@pytest.mark.parametrize("path", POSTS)
@pytest.mark.parametrize("fields", [{}, {"csrf": ""}, {"csrf": "x" * 64}, {"csrf": "é"}])
def test_nothing_is_written_without_the_token(wet: Any, path: str, fields: dict[str, str]) -> None:
    """Otherwise another page open in the browser could change the trip."""
    assert wet.client.post(path, data=fields).status_code == 403


@pytest.mark.parametrize(
    "origin", ["https://example.net", "null", "http://127.0.0.1:9999", "https" + "://127.0.0.1:8765"]
)
def test_nothing_is_written_for_another_origin(wet: Any, origin: str) -> None:
    """Otherwise a stolen token would be enough."""
    form = wet.form("/trip") | {"csrf": wet.token()}
    assert wet.client.post("/trip", data=form, headers={"origin": origin}).status_code == 403
    assert wet.client.post("/trip", data=form, headers={"sec-fetch-site": "cross-site"}).status_code == 403


def test_every_answer_carries_its_headers(wet: Any) -> None:
    """Otherwise text from a file could run as a script, or the page be framed by another."""
    for path in ("/", "/nowhere", "/plan.json", "/static/page.js"):
        headers = wet.get(path).headers
        policy = headers["content-security-policy"]
        assert "default-src 'none'" in policy and "unsafe" not in policy and "frame-ancestors 'none'" in policy
        assert headers["x-content-type-options"] == "nosniff" and headers["x-frame-options"] == "DENY"
    cookie = wet.client.get("/", headers={"cookie": ""}).headers.get("set-cookie", "HttpOnly SameSite=Strict")
    assert "HttpOnly" in cookie and "SameSite=Strict" in cookie


def test_no_page_has_script_or_style_inside(wet: Any) -> None:
    """Otherwise the policy against foreign scripts would have to let ours through by name."""
    for path in ("/", "/trip", "/jobs/stop-2-home-yard", "/water", "/item/front_wheel_bearings", "/hand-over"):
        page = wet.get(path).text
        assert not re.search(r"<style|<script(?! src=)| style=| on\w+=|javascript:", page)


def test_words_of_the_files_stay_words(visit: Callable[..., Any]) -> None:
    """Otherwise a name in a file someone sent could run in the owner's browser."""
    there = visit("good")
    bad = "<script>alert(1)</script>"
    replaced(there.folder, "rig.toml", "Wagon and camper", f"{bad}")
    replaced(there.folder, "trip.toml", "North by the old road", f"{bad} '")
    replaced(there.folder, "legs.csv", "Two Wells", f"{bad}")
    replaced(there.folder, "legs.csv", "river flats", '"""><img src=x onerror=alert(1)>"')
    replaced(there.folder, "history.csv", "before the wet", f"{bad}")
    for path in ("/", "/trip", "/jobs", "/water", "/why", "/item/front_wheel_bearings", "/hand-over"):
        answer = there.get(path)
        assert answer.status_code == 200
        assert "<script>alert" not in answer.text and "<img" not in answer.text


@pytest.mark.parametrize(
    "path",
    ["/static/../desk.py", "/static/%2e%2e/desk.py", "/files/..%2frig.toml", "/files/rig.toml", "/static/page.css%00",
     "/files/%2fetc%2fpasswd", "/static/", "/files/", "/jobs/..%2f.."],
)  # fmt: skip
def test_paths_stay_inside(wet: Any, path: str) -> None:
    """Otherwise any file of the machine could be read."""
    assert wet.get(path).status_code in (404, 405)


def test_too_much_is_refused(wet: Any) -> None:
    """Otherwise one request could fill the memory of a small machine."""
    assert wet.client.post("/trip", content=b"x" * 1_100_000).status_code == 413

    def endless() -> Any:
        yield from (b"csrf=" + b"x" * 100_000 for _ in range(20))

    form = {"content-type": "application/x-www-form-urlencoded"}
    assert wet.client.post("/trip", content=endless(), headers=form).status_code == 413
    assert wet.client.post("/trip", content=b"", headers={"content-length": "-1"}).status_code in (400, 413)


def test_no_pages_for_developers(wet: Any) -> None:
    """Otherwise the inside would be shown, and a page would load parts from another machine."""
    for path in ("/docs", "/redoc", "/static", "/outputs"):
        assert wet.get(path).status_code == 404
    assert wet.get("/openapi.json").json()["info"]["title"] == "tripplan"


@pytest.fixture
def lan(visit: Callable[..., Any]) -> Any:
    """A visitor to a page served to the network."""
    access = Access(keys=Keys(pair=PAIR, calendar=CALENDAR), network=NETWORK)
    return visit("after-crossing", access=access)


def paired(lan: Any, code: str = PAIR) -> Any:
    """The answer to a code entered on the page of a device that is not paired; its cookie is kept."""
    shown = lan.client.get("/").text
    token = re.search(r'name="csrf" value="(\w+)"', shown)
    assert token
    return lan.client.post("/pair", data={"csrf": token.group(1), "code": code}, follow_redirects=False)


def basic(password: str) -> dict[str, str]:
    """The header of a name and a password (RFC 7617, 2: base64 of name, colon, password)."""
    return {"authorization": "Basic " + base64.b64encode(f"tripplan:{password}".encode()).decode()}


def test_the_network_needs_the_pairing_code(lan: Any) -> None:
    """Otherwise anybody on the camp's network could read and change the trip."""
    for path in ("/", "/plan.json", "/static/page.css", "/openapi.json", f"/?pair={PAIR}", "/hand-over"):
        answer = lan.get(path)
        assert answer.status_code == 403 and "Round" not in answer.text
    assert lan.client.post(f"/trip?pair={PAIR}").status_code == 403
    assert lan.client.post("/pair", data={"csrf": "x", "code": PAIR}).status_code == 403
    assert "That is not the code" in paired(lan, "ABCD2346").text
    answer = paired(lan, " abcd-2345 ")
    assert answer.status_code == 303 and answer.headers["location"] == "/"
    assert PAIR not in answer.headers["set-cookie"] and "HttpOnly" in answer.headers["set-cookie"]
    assert lan.get("/").status_code == 200
    assert lan.get("/", headers={"host": "192.168.1.5:8765"}).status_code == 200
    assert lan.get("/", headers={"host": "rig.example:8765"}).status_code == 421


def test_the_code_cannot_be_tried_out(lan: Any) -> None:
    """Otherwise a program in the camp could go through codes until one opens."""
    for _ in range(10):
        assert "That is not the code" in paired(lan, "WRONG234").text
    assert "Too many wrong codes" in paired(lan).text and lan.get("/trip").status_code == 403
    access = lan.app.state.access
    later_s = max(access.tried) + 601
    assert access.takes(PAIR, later_s) is True and access.takes(PAIR, later_s - 600) is True


def test_no_address_has_a_token_in_it(lan: Any) -> None:
    """Otherwise a history, a log or a photo of the screen would hold the key to the trip."""
    paired(lan)
    secrets = (PAIR, lan.app.state.access.code, CALENDAR, lan.app.state.access.paired, lan.token())
    for path in ("/", "/trip", "/jobs", "/jobs/stop-2-home-yard", "/water", "/hand-over", "/history", "/rig", "/saved"):
        text = lan.get(path).text
        addresses = re.findall(r'(?:href|src|action|formaction|hx-get|hx-post)="([^"]*)"', text)
        assert addresses and not [one for one in addresses if any(secret in one for secret in secrets)]
        ways = re.findall(r'<form method="get".*?</form>', text, re.S)
        assert 'formmethod="get"' not in text and not [one for one in ways if "csrf" in one]


def test_the_calendar_is_asked_for_with_a_password(lan: Any) -> None:
    """Otherwise a calendar could not follow the plan, or would hold the key to everything."""
    answer = lan.get("/calendar.ics")
    assert answer.status_code == 401 and answer.headers["www-authenticate"].startswith("Basic realm=")
    for header in (basic("wrong"), {"authorization": "Basic é!".encode()}, {"authorization": f"Bearer {CALENDAR}"}):
        assert lan.get("/calendar.ics", headers=header).status_code == 401
    answer = lan.get("/calendar.ics", headers=basic(CALENDAR))
    assert answer.status_code == 200 and answer.text.startswith("BEGIN:VCALENDAR")
    assert lan.get("/plan.json", headers=basic(CALENDAR)).status_code == 403
    paired(lan)
    shown = lan.get("/hand-over").text
    assert f"{NETWORK}/calendar.ics" in shown and CALENDAR in shown


def test_the_page_shows_how_to_pair_another_device(lan: Any) -> None:
    """Otherwise a second phone could be paired at the terminal only."""
    pytest.importorskip("segno")
    paired(lan)
    page = lan.get("/hand-over").text
    assert f"{NETWORK}/</p>" in page and "ABCD-2345" in page and '<svg class="square" role="img"' in page


def test_a_new_code_turns_every_other_device_away(lan: Any) -> None:
    """Otherwise a lost phone would keep the key to the trip."""
    paired(lan)
    answer = lan.post("/pairing", {}, follow_redirects=False)
    assert answer.status_code == 303 and lan.get("/hand-over").status_code == 200
    new = lan.app.state.access.pair
    assert new != PAIR and lan.app.state.access.code in lan.get("/hand-over").text
    lan.client.cookies.clear()
    assert paired(lan).status_code == 403 and lan.get("/").status_code == 403
    assert paired(lan, new).status_code == 303 and lan.get("/").status_code == 200


def test_the_calendar_is_switched_off_and_its_password_changed(lan: Any) -> None:
    """Otherwise a password once given away could never be taken back."""
    paired(lan)
    lan.post("/calendar-address", {"do": "on"})
    other = lan.app.state.access.calendar
    assert other != CALENDAR and other in lan.get("/hand-over").text
    cookies = dict(lan.client.cookies)
    lan.client.cookies.clear()
    assert lan.get("/calendar.ics", headers=basic(CALENDAR)).status_code == 401
    assert lan.get("/calendar.ics", headers=basic(other)).status_code == 200
    lan.client.cookies.update(cookies)
    lan.post("/calendar-address", {"do": "off"})
    assert lan.get("/calendar.ics").status_code == 404
    assert read_keys(lan.folder)[0].calendar is None


def test_without_the_network_no_calendar_address_is_shown(wet: Any) -> None:
    """Otherwise an address would be shown that no calendar can reach."""
    assert wet.get("/calendar.ics", headers=basic(CALENDAR)).status_code == 404
    assert "/calendar.ics</p>" not in wet.get("/hand-over").text


def test_the_terminal_shows_how_to_pair() -> None:
    """Otherwise a phone could not be paired without typing a long word."""
    pytest.importorskip("segno")
    told = greeting(NETWORK, "ABCD-2345")
    assert any("ABCD-2345" in line for line in told) and any("not encrypted" in line for line in told)
    assert not any("ABCD" in line for line in told if "://" in line)
    assert len(qr_lines(f"{NETWORK}/")) > 10


FIELDS = ["legs.2.dust", "legs.new1.leg", "legs.²1.leg", "do", "pasted", "toggle", "number", "version", "date", "leg",
          "depth", "trip.depart", "day", "back"]  # fmt: skip
ADDRESSES = [
    "/item/",
    "/jobs/",
    "/files/",
    "/water?depth=",
    "/water?leg=",
    "/?said=",
    "/calendar/",
    "/photos/",
    "/photo?row=",
    "/photo?day=",
]
odd = st.text(alphabet=st.characters(codec="utf-8", exclude_categories=("Cs",)), max_size=30)


@settings(max_examples=16, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(
    path=st.sampled_from(POSTS), fields=st.dictionaries(st.one_of(odd, st.sampled_from(FIELDS)), odd, max_size=6)
)  # fmt: skip
def test_odd_forms_never_break_the_page(wet: Any, path: str, fields: dict[str, str]) -> None:
    """Otherwise a strange paste would end in an error of ours."""
    answer = wet.post(path, {**fields, "csrf": wet.token()}, follow_redirects=False)
    assert answer.status_code < 500


@settings(max_examples=20, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(path=st.sampled_from(ADDRESSES), word=odd)
def test_odd_addresses_never_break_the_page(wet: Any, path: str, word: str) -> None:
    """Otherwise a mistyped address would end in an error of ours."""
    from urllib.parse import quote

    assert wet.client.get(path + quote(word, safe="")).status_code < 500
