"""The third use end to end: a trip planned, the shed days done, then a ford; what is booked, told, carried and written.

Three fords of one invented trip (the demo in the outback): shallow and clean, hub-deep and muddy with hot hubs,
and salt with the engine stopped in it.
"""

import csv
import json
import shutil
from collections.abc import Callable
from contextlib import redirect_stdout
from dataclasses import dataclass
from io import StringIO
from pathlib import Path
from typing import Any

import icalendar
import pytest

from tripplan.commands import plan as plan_command
from tripplan.commands.check import check
from tripplan.commands.log_and_cross import cross, log
from tripplan.files.data_tables import read_catalogue
from tripplan.files.demos import DEMOS

vobject = pytest.importorskip("vobject")

SHED = ("workshop-2026-06-06", "workshop-2026-06-07", "workshop-2026-06-13", "workshop-2026-06-14")
LOOKS = ("look", "measure")
STOP = "stop-7-sixpenny-hill"
DEMO = Path(__file__).parents[2] / "demo"
RULES = read_catalogue()[0].water_rules


@dataclass(frozen=True)
class Ford:
    """One ford made: the folder, what was said at the bank, the plan and the calendar before and after."""

    folder: Path
    said: str
    before: dict[str, Any]
    plan: dict[str, Any]
    old_calendar: bytes
    new_calendar: bytes

    @property
    def made(self) -> dict[str, Any]:
        """The crossing in the plan."""
        (found,) = [one for one in self.plan["crossings"] if one["crossed"]]
        return found

    def acts(self) -> list[tuple[str, str | None, str, str]]:
        """Item, side, act and window of all that is asked for outright."""
        return [(act["item"], act["position"], act["act"], act["window"]) for act in self.made["acts"]]

    def minutes(self) -> tuple[float, float]:
        """Minutes of the acts by the tables, without any opening: work, and looks."""
        work = looks = 0.0
        for act in self.made["acts"]:
            whens = {"at the bank": "bank", "at the first": "halt", "the same nig": "night", "within 2 day": "days",
                     "before the n": "before remote"}  # fmt: skip
            when = next(word for start, word in whens.items() if act["window"].startswith(start))
            (rule,) = [r for r in RULES if (r.item, r.act, r.when) == (act["item"], act["act"], when)]
            if act["act"] in LOOKS:
                looks += rule.minutes
            else:
                work += rule.minutes
        return work, looks


@pytest.fixture(scope="module")
def planned(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The trip planned a month before, and its shed days told in one go."""
    folder = tmp_path_factory.mktemp("third") / "trip"
    shutil.copytree(DEMO / "outback", folder, ignore=shutil.ignore_patterns("outputs"))
    with redirect_stdout(StringIO()):
        assert plan_command.plan(folder, folder / "outputs", "2026-05-25", False) in (0, 1)
        done = log(folder, None, (), None, None, out=folder / "outputs", today="2026-06-19", done=SHED)
    assert done in (0, 1)
    return folder


@pytest.fixture(scope="module")
def forded(planned: Path, tmp_path_factory: pytest.TempPathFactory) -> Callable[..., Ford]:
    """A ford recorded in a copy of the folder; each of them once."""
    known: dict[str, Ford] = {}

    def at(name: str, *told: Any, **more: Any) -> Ford:
        if name not in known:
            folder = tmp_path_factory.mktemp(name) / "trip"
            shutil.copytree(planned, folder)
            out = folder / "outputs"
            before, old = json.loads((out / "plan.json").read_text()), (out / "calendar.ics").read_bytes()
            with redirect_stdout(StringIO()) as said:
                assert cross(folder, *told, out=out, **more) in (0, 1)
            after = json.loads((out / "plan.json").read_text())
            known[name] = Ford(folder, said.getvalue(), before, after, old, (out / "calendar.ics").read_bytes())
        return known[name]

    return at


@pytest.fixture
def clean(forded: Callable[..., Ford]) -> Ford:
    """0.20 m of clear water for a minute."""
    return forded("clean", 3, 0.20, 1, "fresh", "2026-06-22 15:00")


@pytest.fixture
def hot(forded: Callable[..., Ford]) -> Ford:
    """0.60 m of mud for four minutes, straight in from the road."""
    return forded("hot", 7, 0.60, 4, "muddy", "2026-06-27 15:00", at_km=228, hubs_hot=True)


@pytest.fixture
def salt(forded: Callable[..., Ford]) -> Ford:
    """0.60 m of salt water, and the engine stopped in it for forty minutes."""
    return forded("salt", 7, 0.60, 40, "salt", "2026-06-27 15:00", at_km=228, stalled=True)


@pytest.mark.parametrize("name", ["clean", "hot", "salt"])
def test_the_plan_made_at_the_bank_keeps_every_rule(request: pytest.FixtureRequest, name: str) -> None:
    """Otherwise the plan made in a hurry would be the one nobody checked."""
    ford = request.getfixturevalue(name)
    day = ford.plan["today"]
    with redirect_stdout(StringIO()) as said:
        assert check(ford.folder, day, False, ford.folder / "outputs" / "plan.json") in (0, 1), said.getvalue()
    assert "P03" not in said.getvalue()


def test_shallow_and_clean_costs_five_minutes(clean: Ford) -> None:
    """Otherwise a puddle would fill the evening. By hand: 0.20 m is below all that has a height, so brakes, 5 min."""
    assert clean.made["grade"] == 0 and clean.minutes() == (5.0, 0.0)
    assert clean.acts() == [("brake_pads_front", None, "exercise", "at the bank, before driving on")]
    assert clean.made["contingent"] == []
    assert "Grade 0 of 5, wheels only." in clean.said and "Not booked" not in clean.said
    jobs = [job for slot in clean.plan["slots"] if slot["id"] == "stop-3-thimble-well" for job in slot["jobs"]]
    assert not [job for job in jobs if job["kind"] == "after water"]


def test_hot_and_muddy_is_looked_at_the_same_night_and_the_rest_waits_for_the_looks(hot: Ford) -> None:
    """Otherwise hubs that drew water would stand through the night, or everything be opened for one brown ford.

    By hand, minutes without opening. Work: brakes 5, coupling 5, wash 20, park brakes 10 and 10, pins 10 and 10,
    slip joint 5, universal joints 15, steering joints 15, trailer hubs 2 x 35: 175. A script over the proposal behind
    these rows said 170. Looks: bank 3 x 3, hands 4 x 2, walks 3 + 5, play 6 x 10, breakaway 5, dipstick 2, hub locks
    2 x 2, four oils 4 x 8, knuckles 2 x 10, starter 1, wipers 2 x 2, housing 10, hubs 2 x 15: 193. The script said 174
    for grade 3; with the starter at 0.58 m this rig has grade 4.
    """
    assert (hot.made["grade"], hot.minutes()) == (4, (175.0, 193.0))
    night = {act["item"]: act["slot"] for act in hot.made["acts"] if act["window"] == "the same night"}
    assert len(night) == 16 and {item for item, slot in night.items() if slot != STOP} <= {"trailer_coupling"}
    told = {(one["item"], one["act"]): one for one in hot.made["contingent"]}
    assert ("front_wheel_bearings", "repack") in told and ("rear_diff_oil", "drain and refill") in told
    assert "good chance" in told[("front_wheel_bearings", "repack")]["likelihood"]
    opened = {(act["item"], act["act"]) for act in hot.made["acts"]}
    assert not opened & told.keys() and ("trailer_bearings", "repack") in opened
    assert "Hubs went in hot" in hot.said and "Look at every hub" in hot.said


def test_water_met_goes_beyond_the_hours_the_owner_gives_the_road(hot: Ford, salt: Ford) -> None:
    """Otherwise milk would stay in a hub because two days on the road have 150 minutes of work each."""
    for ford in (hot, salt):
        (stop,) = [slot for slot in ford.plan["slots"] if slot["id"] == STOP]
        assert 300 < stop["minutes_planned"] <= stop["minutes_available"] == 840
    (before,) = [slot for slot in hot.before["slots"] if slot["id"] == STOP]
    assert before["minutes_planned"] <= 300  # a ford ahead keeps the owner's ceiling


def test_an_engine_that_stopped_is_looked_into_before_it_turns(salt: Ford) -> None:
    """Otherwise it would be cranked with water in a cylinder, its intake being counted dry at 1.95 m.

    TM 9-2320-280-10 p. 2-146: an engine that stopped and will not crank is not forced.
    """
    bank = [(item, act) for item, _, act, window in salt.acts() if window.startswith("at the bank")]
    assert bank[:3] == [("air_filter_element", "look"), ("engine_oil_level", "look"), ("brake_pads_front", "exercise")]
    assert ("chassis_rust", "clean") in bank
    assert salt.said.index("do not crank") < salt.said.index("At the bank")
    assert "not turned; drain, new filter, refill" in " ".join(salt.said.split())


def test_salt_and_stood_books_what_a_look_would_decide_elsewhere(salt: Ford) -> None:
    """Otherwise salt would be left to a look from outside.

    By hand, minutes without opening. Work: brakes 5, rinse 15, park brake 10, pins 10 and 10, hub locks 2 x 20, three
    small oils 3 x 15, gearbox 20, slip joint 5, universal joints 15, steering joints 15, trailer hubs 2 x 35, front
    hubs 2 x 40, knuckles 2 x 60, rear hubs 2 x 30: 520. The script said 340: it left out knuckles and rear hubs
    (180), which the same proposal books at this grade. Looks: the 193 of the muddy ford and air cleaner 5, dipstick
    at the bank 2, intake joints 10: 210; less 2 x 15 into the front hubs, which are packed anyway: 180.
    """
    assert (salt.made["grade"], salt.minutes()) == (5, (520.0, 180.0))
    drained = [item for item, _, act, _ in salt.acts() if act == "drain and refill"]
    assert sorted(drained) == ["front_diff_oil", "gearbox_manual_oil", "rear_diff_oil", "transfer_oil"]
    homeless = [act for act in salt.made["acts"] if act["act"] == "drain and refill" and act["slot"] != STOP]
    assert homeless == []
    assert {one["item"] for one in salt.made["contingent"]} == {
        "air_filter_renewal", "alternator_charge", "clutch_adjust", "engine_oil_filter", "starter_earths",
        "propshaft_ujoints",
    }  # fmt: skip


def test_what_a_look_may_call_for_is_carried_or_bought(hot: Ford) -> None:
    """Otherwise milk would be found 300 km from the next litre of oil. One filling and a litre to flush by the rows."""
    had = {need["what"]: need["quantity"] for need in hot.plan["carry"]}
    # rear axle 3 L + 1 L; the largest of the axles counts once
    assert had["axle_oil"] >= 4 and had["gearbox_oil"] >= 4 and had["transfer_case_oil"] >= 3
    assert had["universal_joint"] >= 1 and had["wheel_bearing_grease"] >= 105 and had["hub_seal"] >= 1


def read_by_icalendar(content: bytes) -> dict[str, tuple[str, str, str]]:
    """Entries by UID: start, status and summary."""
    events = icalendar.Calendar.from_ical(content).walk("VEVENT")
    return {str(e["UID"]): (str(e["DTSTART"].dt), str(e.get("STATUS", "")), str(e["SUMMARY"])) for e in events}


def read_by_vobject(content: bytes) -> dict[str, tuple[str, str, str]]:
    """The same by another reader."""
    events = vobject.readOne(content.decode()).vevent_list
    return {
        e.uid.value: (str(e.dtstart.value), e.status.value if hasattr(e, "status") else "", e.summary.value)
        for e in events
    }


@pytest.mark.parametrize("name", ["clean", "hot", "salt"])
def test_two_readers_see_the_same_calendar_before_and_after(request: pytest.FixtureRequest, name: str) -> None:
    """Otherwise the entry on the phone would be a second one, or the old day's work stay beside the new. RFC 5545."""
    ford = request.getfixturevalue(name)
    both = []
    for content in (ford.old_calendar, ford.new_calendar):
        one, other = read_by_icalendar(content), read_by_vobject(content)
        assert {uid: (start.replace(" ", "T")[:16], *rest) for uid, (start, *rest) in one.items()} == {
            uid: (start.replace(" ", "T")[:16], *rest) for uid, (start, *rest) in other.items()
        }
        both.append(one)
    old, new = both
    assert old.keys() <= new.keys()  # nothing vanishes: it is kept, changed or cancelled
    stops = [uid for uid, (_, status, summary) in new.items() if "Sixpenny" in summary and status != "CANCELLED"]
    assert stops and set(stops) <= old.keys()


def test_a_finding_of_the_evening_is_planned_with_its_part(hot: Ford, tmp_path: Path) -> None:
    """Otherwise milk written down in the evening would stay a line of the book."""
    folder = tmp_path / "trip"
    shutil.copytree(hot.folder, folder)
    with redirect_stdout(StringIO()) as said:
        status = log(folder, "wagon", ("rear_diff_oil",), "look", "2026-06-27", finding="water", out=folder / "outputs")
    assert status in (0, 1), said.getvalue()
    plan = json.loads((folder / "outputs" / "plan.json").read_text())
    done = [
        (slot["id"], job["act"]) for slot in plan["slots"] for job in slot["jobs"] if job["item"] == "rear_diff_oil"
    ]
    assert done[0] == (STOP, "drain and refill")
    (made,) = [one for one in plan["crossings"] if one["crossed"]]
    assert "rear_diff_oil" not in {one["item"] for one in made["contingent"]}


def test_without_a_look_trailer_hubs_are_opened_after_an_easy_ford(planned: Path, tmp_path: Path) -> None:
    """Otherwise a hub that nobody looked at would go home as if the look had been clean."""
    folder = tmp_path / "trip"
    shutil.copytree(planned, folder)
    told: list[set[tuple[str, str]]] = []
    for today in ("2026-06-24", "2026-06-26"):
        with redirect_stdout(StringIO()) as said:
            if not told:
                assert cross(folder, 5, 0.45, 3, "fresh", "2026-06-24 14:00", today=today) in (0, 1)
            assert plan_command.plan(folder, folder / "outputs", today, False) in (0, 1), said.getvalue()
        plan = json.loads((folder / "outputs" / "plan.json").read_text())
        (made,) = [one for one in plan["crossings"] if one["crossed"]]
        assert made["grade"] == 2
        told.append({(act["item"], act["act"]) for act in made["acts"] if act["act"] == "repack"})
    assert told == [set(), {("trailer_bearings", "repack")}]
    assert any("No look is on record in its time at Trailer wheel bearings (camper)" in note for note in made["notes"])


def test_every_wheel_taken_off_brings_its_nuts(tmp_path: Path) -> None:
    """Otherwise a look with the wheel off, which renews nothing, would send it on with nuts nobody touched again.

    50 to 100 km: common practice, no source.
    """
    folder = tmp_path / "trip"
    shutil.copytree(DEMO / "after-crossing", folder, ignore=shutil.ignore_patterns("outputs"))
    with redirect_stdout(StringIO()):
        assert plan_command.plan(folder, folder / "outputs", DEMOS["after-crossing"].isoformat(), False) in (0, 1)
    plan = json.loads((folder / "outputs" / "plan.json").read_text())
    units = [(slot, part["unit"]) for slot in plan["slots"] for part in slot["opened"] if part["state"] == "wheel off"]
    opened = {part["state"] for slot, _ in units for part in slot["opened"]}
    assert "hub off" in opened  # one of them for a look into the hub, which is packed with it
    for slot, unit in units:
        looks = [(r["from_km"] - slot["trip_km"], r["to_km"] - slot["trip_km"]) for r in plan["rechecks"]
                 if (r["item"], r["unit"], r["after_slot"]) == ("wheel_nuts", unit, slot["id"])]  # fmt: skip
        assert (50.0, 100.0) in looks, (slot["id"], unit)


def test_the_rows_say_what_was_crossed(hot: Ford) -> None:
    """Otherwise the hot hubs would be forgotten with the next reading of the folder."""
    with (hot.folder / "crossings.csv").open(encoding="utf-8", newline="") as file:
        (row,) = [row for row in csv.DictReader(file) if row["crossed"]]
    assert (row["leg"], row["depth_m"], row["water"], row["hubs_hot"]) == ("7", "0.6", "muddy", "yes")
