"""The file for the phone as text: one file, nothing fetched, nothing of the owner's read as markup, and not too large."""

import base64
import hashlib
import json
import re
from collections.abc import Callable
from html.parser import HTMLParser
from typing import Any

import pytest
from msgspec.structs import replace

from tests.sample_plan import sample_plan
from tripplan.explain.cards import crossing_cards
from tripplan.files.demos import DEMOS, demo_folder
from tripplan.files.folder import load
from tripplan.files.plan_folder import quick_plan
from tripplan.planner import look_around
from tripplan.sheets.field.bank import bank_of
from tripplan.sheets.field.page import as_data, field_html

MOST_BYTES = 400_000
ODD = "</script><script>alert(1)</script> & \u2028 <b>\"'"


class Tags(HTMLParser):
    """Every tag with its attributes, and the text of each script and style."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.tags: list[tuple[str, dict[str, str | None]]] = []
        self.inside: dict[str, list[str]] = {"script": [], "style": []}
        self.within = ""
        self.feed(text)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        """One more tag."""
        self.tags.append((tag, dict(attrs)))
        self.within = tag
        if tag in self.inside:
            self.inside[tag].append("")

    def handle_endtag(self, tag: str) -> None:
        """The end of what was within."""
        self.within = ""

    def handle_data(self, data: str) -> None:
        """Text of a script or style."""
        if self.within in self.inside:
            self.inside[self.within][-1] += data


@pytest.fixture(scope="module")
def made() -> Callable[..., str]:
    """The file of the long tour, placed by the plain rule, with the plan or the folder changed as asked."""
    inputs, catalogue, problems = load(demo_folder("long-tour"), DEMOS["long-tour"])
    assert inputs is not None
    plan = quick_plan(inputs, catalogue, DEMOS["long-tour"], problems)
    around = look_around(inputs.rig, inputs.history, inputs.trip, catalogue, DEMOS["long-tour"])
    cards, bank = crossing_cards(around), bank_of(around, inputs)
    return lambda **changes: field_html(replace(plan, **changes), cards, bank)


def test_the_long_tour_fits_into_a_mail(made: Callable[..., str]) -> None:
    """Otherwise the longest trips, which need it most, would not get onto the phone."""
    assert len(made().encode()) < MOST_BYTES


def test_it_is_one_file_that_its_own_policy_allows(made: Callable[..., str]) -> None:
    """Otherwise it would fetch something, or a strict browser would refuse its script. Content Security Policy 3."""
    page = Tags(made())
    policy = next(a["content"] or "" for tag, a in page.tags if a.get("http-equiv") == "Content-Security-Policy")
    script = next(text for text in page.inside["script"] if "Page" in text)
    for name, text in (("script-src", script), ("style-src", page.inside["style"][0])):
        digest = base64.b64encode(hashlib.sha256(text.encode()).digest()).decode()
        assert f"{name} 'sha256-{digest}'" in policy
    assert policy.startswith("default-src 'none'") and "unsafe" not in policy and "http" not in policy
    for tag, attributes in page.tags:
        assert not {"style", "src", "srcset", "data", "action"} & attributes.keys(), (tag, attributes)
        assert not any(name.startswith("on") for name in attributes), (tag, attributes)
        assert (attributes.get("href") or "#").startswith("#")
    assert "innerHTML" not in script and "eval(" not in script


def test_equal_plans_give_equal_files(made: Callable[..., str]) -> None:
    """Otherwise every plan would look changed."""
    assert made() == made()


def test_what_the_owner_writes_is_text_and_nothing_else(made: Callable[..., str]) -> None:
    """Otherwise a rig named like a tag would run on the phone, or end the data."""
    plain, odd = Tags(made()), Tags(made(rig=ODD, trip=ODD, warnings=()))
    count = [sum(tag == "script" for tag, _ in page.tags) for page in (plain, odd)]
    assert count == [2, 2]
    data = next(text for text in odd.inside["script"] if '"key"' in text[:4000] or '"rig"' in text)
    assert json.loads(data)["rig"] == ODD and json.loads(data)["trip"] == ODD


@pytest.mark.parametrize("mark", ["<", ">", "&", "\u2028", "\u2029"])
def test_no_mark_can_end_the_data(mark: str) -> None:
    """Otherwise a note could close the element that its data stands in."""
    text = as_data({"note": f"a{mark}b"})
    assert mark not in text and json.loads(text) == {"note": f"a{mark}b"}


def test_a_plan_without_its_folder_still_gives_the_sheet() -> None:
    """Otherwise whoever writes outputs from Python alone would get nothing for the phone."""
    text = field_html(sample_plan(), None, None)
    assert '"water":null' in text and "No cards were worked out" in text
    jobs = sum(len(slot.jobs) for slot in sample_plan().slots)
    sides = [side for found in re.findall(r'class="job"[^>]*data-sides="([^"]*)"', text) for side in found.split("|")]
    assert len(sides) >= jobs > 0


def test_the_data_holds_what_the_script_reads(made: Callable[..., str]) -> None:
    """Otherwise a phone would be told of another trip's rules."""
    page = Tags(made())
    data: dict[str, Any] = json.loads(page.inside["script"][0])
    assert {rule["item"] for rule in data["water"]["rules"]} <= data["water"]["items"].keys()
    assert {leg["leg"] for leg in data["water"]["legs"]} >= {one["leg"] for one in data["water"]["crossings"]}
    assert data["units"] == ["tourer", "camper"] and data["taken"] == []


def test_the_windows_after_water_come_in_the_order_of_their_hurry(made: Callable[..., str]) -> None:
    """Otherwise the phone would sort them by their letters, and what has days would stand before the same night."""
    data: dict[str, Any] = json.loads(Tags(made()).inside["script"][0])
    assert [when for when, _ in data["water"]["windows"]] == ["bank", "halt", "night", "days", "before remote", "later"]
