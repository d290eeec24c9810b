"""Who may ask and what comes back: hosts, origins, tokens, limits, headers, paths and odd requests."""

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
         "/undo", "/seen-from", "/pairing", "/calendar-address", "/rig", "/history")  # fmt: skip
NETWORK = "http" + "://192.168.1.5:8765"
PAIR, CALENDAR = "pairing-token", "calendar-token"


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


def test_the_network_needs_the_pairing_token(lan: Any) -> None:
    """Otherwise anybody on the camp's network could read and change the trip."""
    for path in ("/", "/plan.json", "/static/page.css", "/openapi.json", "/?pair=wrong", "/calendar/wrong.ics"):
        assert lan.get(path).status_code == 403
    assert lan.client.post(f"/trip?pair={PAIR}").status_code == 403
    answer = lan.client.get(f"/?pair={PAIR}", follow_redirects=False)
    assert answer.status_code == 303 and PAIR not in answer.headers["location"]
    assert lan.get("/").status_code == 200
    assert lan.get("/", headers={"host": "192.168.1.5:8765"}).status_code == 200
    assert lan.get("/", headers={"host": "rig.example:8765"}).status_code == 421


def test_the_calendar_has_an_address_of_its_own(lan: Any, visit: Callable[..., Any]) -> None:
    """Otherwise a calendar could not follow the plan, or would hold the key to everything."""
    answer = lan.get(f"/calendar/{CALENDAR}.ics")
    assert answer.status_code == 200 and answer.text.startswith("BEGIN:VCALENDAR")
    lan.client.get(f"/?pair={PAIR}")
    assert f"/calendar/{CALENDAR}.ics" in lan.get("/hand-over").text


def test_the_page_shows_how_to_pair_another_device(lan: Any) -> None:
    """Otherwise a second phone could be paired at the terminal only."""
    pytest.importorskip("segno")
    lan.client.get(f"/?pair={PAIR}")
    page = lan.get("/hand-over").text
    assert f"{NETWORK}/?pair={PAIR}" in page and '<svg class="square" role="img"' in page


def test_a_new_token_turns_every_other_device_away(lan: Any) -> None:
    """Otherwise a lost phone would keep the key to the trip."""
    lan.client.get(f"/?pair={PAIR}")
    answer = lan.post("/pairing", {}, follow_redirects=False)
    assert answer.status_code == 303 and lan.get("/hand-over").status_code == 200
    new = lan.app.state.access.pair
    assert new != PAIR and new in lan.get("/hand-over").text
    lan.client.cookies.clear()
    assert lan.get(f"/?pair={PAIR}").status_code == 403
    assert lan.get(f"/?pair={new}").status_code == 200


def test_the_calendar_address_is_switched_off_and_changed(lan: Any) -> None:
    """Otherwise an address once given away could never be taken back."""
    lan.client.get(f"/?pair={PAIR}")
    lan.post("/calendar-address", {"do": "on"})
    other = lan.app.state.access.calendar
    assert other != CALENDAR and f"/calendar/{other}.ics" in lan.get("/hand-over").text
    assert lan.get(f"/calendar/{CALENDAR}.ics").status_code == 404
    assert lan.get(f"/calendar/{other}.ics").status_code == 200
    lan.post("/calendar-address", {"do": "off"})
    assert lan.get(f"/calendar/{other}.ics").status_code == 404
    assert read_keys(lan.folder)[0].calendar is None


def test_without_the_network_no_calendar_address_is_shown(wet: Any) -> None:
    """Otherwise an address would be shown that no calendar can reach."""
    assert wet.get(f"/calendar/{CALENDAR}.ics").status_code == 404
    assert "/calendar/" not in wet.get("/hand-over").text


def test_the_terminal_shows_how_to_pair() -> None:
    """Otherwise a phone could not be paired without typing a long word."""
    pytest.importorskip("segno")
    told = greeting(NETWORK, f"{NETWORK}/?pair=abc")
    assert any("?pair=abc" in line for line in told) and any("not encrypted" in line for line in told)
    assert len(qr_lines(f"{NETWORK}/?pair=abc")) > 10


FIELDS = ["legs.2.dust", "legs.new1.leg", "legs.²1.leg", "do", "pasted", "toggle", "number", "version", "date", "leg",
          "depth", "trip.depart", "day", "back"]  # fmt: skip
ADDRESSES = ["/item/", "/jobs/", "/files/", "/water?depth=", "/water?leg=", "/?said=", "/calendar/"]
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
