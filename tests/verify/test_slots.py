"""Rules about the slots: a sound small plan, one thing spoilt, and the rule that says so."""

from collections.abc import Callable

import pytest

from tests.verify.small_facts import Json, assuming, facts, jobs, names, sound, spoilt, with_cells
from tripplan.records.item_cells import Amount
from tripplan.verify.facts import Facts
from tripplan.verify.slots import needed_open, slot_rules

EARLY, DAY, CAMP, TOWN, AFTER = range(5)


def broken(change: Callable[[Json], object], good: Facts | None = None) -> set[str]:
    """The rules about slots that the spoilt plan breaks."""
    return names(slot_rules(spoilt(good or sound(), change)))


def slot(number: int, /, **values: object) -> Callable[[Json], object]:
    """Change fields of one slot."""
    return lambda plan: plan["slots"][number].update(values)


def job(number: int, item: str, /, **values: object) -> Callable[[Json], object]:
    """Change fields of the first job at an item in one slot."""
    return lambda plan: next(j for j in plan["slots"][number]["jobs"] if j["item"] == item).update(values)


def opened(number: int, state: str, /, **values: object) -> Callable[[Json], object]:
    """Change fields of an opening of one slot, left side."""
    return lambda plan: next(
        p for p in plan["slots"][number]["opened"] if (p["state"], p["position"]) == (state, "left")
    ).update(values)


def test_the_sound_plan_breaks_nothing() -> None:
    """If it did, no test here would show what it says."""
    assert names(slot_rules(sound())) == set()


@pytest.mark.parametrize(
    ("change", "rules"),
    [
        (slot(EARLY, date="2026-06-23"), {"slot is real"}),  # no such day
        (slot(CAMP, place="Elsewhere"), {"slot is real"}),
        (slot(CAMP, date="2026-07-04"), {"slot is real"}),
        (slot(CAMP, after_leg=2), {"slot is real"}),
        (slot(TOWN, trip_km=1101), {"slot is real"}),
        (slot(EARLY, trip_km=1), {"slot is real"}),
        (slot(AFTER, trip_km=2699), {"slot is real"}),
        (slot(AFTER, date="2026-08-02"), {"slot is real"}),
        (slot(AFTER, date="2026-07-31"), {"slot is real"}),
        (slot(TOWN, place_factor=1.6), {"place factor"}),
        (slot(EARLY, set_out_minutes=1), {"set out once", "minutes add up"}),
        (slot(TOWN, minutes_planned=40), {"minutes add up"}),
        (slot(TOWN, minutes_planned=38), {"minutes add up"}),
        (job(TOWN, "air_filter", item="winch"), {"slot is real"}),
        (job(TOWN, "air_filter", unit="camper"), {"slot is real"}),  # a trailer has no air filter
        (job(DAY, "coupling", unit="wagon"), {"slot is real"}),
        (job(TOWN, "air_filter", unit="boat"), {"slot is real"}),
        (job(TOWN, "air_filter", minutes=13), {"minutes add up"}),
        (job(TOWN, "air_filter", act="renew"), {"opened for the job"}),
        (job(TOWN, "air_filter", place="engine sump"), {"opened for the job"}),
        (job(TOWN, "air_filter", state="drained", place="engine sump"), {"opened for the job"}),
        (job(TOWN, "front_wheel_bearings", minutes=13.6), {"minutes add up"}),
        (opened(DAY, "hub off", minutes=22), {"opening minutes", "minutes add up"}),
        (opened(DAY, "hub off", minutes=24), {"opening minutes", "minutes add up"}),
        (opened(DAY, "hub off", was_open=True), {"opened once"}),
        (opened(DAY, "wheel off", state="hub off"), {"opened once", "opened for the job"}),
        (opened(DAY, "hub off", kept_open=True), {"kept apart", "opening minutes"}),
    ],
)
def test_one_thing_spoilt_is_named(change: Callable[[Json], object], rules: set[str]) -> None:
    """If not, a plan could promise time, places or openings that are not there."""
    found = broken(change)
    assert found == rules


def test_a_stop_at_which_nothing_is_done_is_not_set_out_for() -> None:
    """If it were, every night on the road would cost the minutes of unpacking; town and oil there cost 1.5 of 10."""
    at = assuming(sound(), set_out_minutes=4.0, clean_up_minutes=6.0)

    def all_set_out(plan: Json) -> None:
        for number, minutes in ((DAY, 10.0), (TOWN, 15.0)):
            plan["slots"][number]["set_out_minutes"] = minutes
            plan["slots"][number]["minutes_planned"] += minutes

    assert broken(all_set_out, at) == set()
    assert broken(lambda plan: None, at) == {"set out once"}

    def at_the_camp_too(plan: Json) -> None:
        all_set_out(plan)
        plan["slots"][CAMP].update(set_out_minutes=20.0, minutes_planned=20.0)

    assert broken(at_the_camp_too, at) == {"set out once"}


def filled(minutes: float, number: int = DAY) -> Callable[[Json], object]:
    """The coupling takes so long that the day holds this much in all."""

    def change(plan: Json) -> None:
        there = plan["slots"][number]
        one = next(j for j in there["jobs"] if j["item"] == "coupling")
        one["minutes"] += minutes - there["minutes_planned"]
        there["minutes_planned"] = minutes

    return change


@pytest.mark.parametrize(("minutes", "is_too_much"), [(300.0, False), (301.0, True), (500.0, True)])
def test_a_day_holds_its_minutes_and_no_more(minutes: float, is_too_much: bool) -> None:
    """If a plan with up to twice the time passed, the owner would be out in the dark with the hubs off."""
    assert ("minutes available" in broken(filled(minutes))) is is_too_much


def test_kept_open_over_the_night_is_closed_the_day_after() -> None:
    """Jack, wheel and hub opened on the first day (4 + 5 + 10) and closed on the second (3 + 5 + 13): no rule broken."""

    def over_night(plan: Json) -> None:
        early, day = plan["slots"][EARLY], plan["slots"][DAY]
        minutes = {"wheel raised": (4.0, 3.0), "wheel off": (5.0, 5.0), "hub off": (10.0, 13.0)}
        left = next(j for j in day["jobs"] if j["position"] == "left")
        early["jobs"] = [{**left}]
        early["opened"] = [
            {**part, "minutes": minutes[part["state"]][0], "kept_open": True}
            for part in day["opened"] if part["position"] == "left"
        ]  # fmt: skip
        for part in day["opened"]:
            if part["position"] == "left":
                part.update(minutes=minutes[part["state"]][1], was_open=True)
        early["minutes_planned"], day["minutes_planned"] = 25.0 + 19.0, 135.0 - 19.0

    assert broken(over_night) == set()

    def forgotten(plan: Json) -> None:
        over_night(plan)
        day = plan["slots"][DAY]
        day["opened"] = [part for part in day["opened"] if part["position"] != "left"]

    assert "kept apart" in broken(forgotten)

    def behind_a_wheel_that_is_on(plan: Json) -> None:
        over_night(plan)
        next(p for p in plan["slots"][EARLY]["opened"] if p["state"] == "wheel off").update(
            kept_open=False, minutes=10.0
        )
        plan["slots"][EARLY]["minutes_planned"] += 5.0

    assert "kept apart" in broken(behind_a_wheel_that_is_on)


def moved(item: str, to: int) -> Callable[[Json], object]:
    """The job at an item in another slot, as long as that place makes it, and the sums with it."""

    def change(plan: Json) -> None:
        (there, one), *_ = jobs(plan, item)
        there["jobs"].remove(one)
        there["minutes_planned"] -= one["minutes"]
        minutes = one["minutes"] / there["place_factor"] * plan["slots"][to]["place_factor"]
        plan["slots"][to]["jobs"].append({**one, "minutes": minutes})
        plan["slots"][to]["minutes_planned"] += minutes

    return change


@pytest.mark.parametrize(
    ("facility", "to", "is_too_much"),
    [("camp", CAMP, False), ("town", CAMP, True), ("town", TOWN, False), ("workshop", TOWN, True)],
)
def test_a_job_is_done_where_the_place_can(facility: str, to: int, is_too_much: bool) -> None:
    """If not, a press would be needed at a camp."""
    assert (
        "facility" in broken(moved("coupling", to), with_cells(sound(), "coupling", facility=facility))
    ) is is_too_much


SEAL = (Amount("seal", 1.0),)


@pytest.mark.parametrize(("days", "is_late"), [(4, False), (5, False), (6, True)])
def test_parts_ordered_today_are_there_in_time(days: int, is_late: bool) -> None:
    """Today is the 20th, the work on the 25th: five days are enough, six are not, unless a warning says so."""
    at = with_cells(sound(), "coupling", parts_lead_days=days, consumables=SEAL)
    about = [{"item": "coupling", "unit": "camper", "position": None}]
    assert ("parts arrive" in broken(lambda plan: None, at)) is is_late
    warned = [{"kind": "parts late", "about": about}]
    assert "parts arrive" not in broken(lambda plan: plan.update(warnings=warned), at)
    assert "parts arrive" not in broken(lambda plan: None, with_cells(sound(), "coupling", parts_lead_days=days))


def test_parts_are_always_there_after_return() -> None:
    """If not, what is done in August would be told to lack the parts ordered in June."""
    assert "parts arrive" not in broken(
        moved("coupling", AFTER), with_cells(sound(), "coupling", parts_lead_days=90, consumables=SEAL)
    )


def test_behind_a_crossing_made_no_place_is_left() -> None:
    """The ford is at trip km 700: at 600 the camp lies behind the rig, the town at 1100 does not."""

    def made(plan: Json) -> None:
        plan["crossings"][0]["crossed"] = "2026-07-06T09:00:00+09:30"

    told = [one.where for one in slot_rules(spoilt(sound(), made)) if one.rule == "place still ahead"]
    assert told == ["workshop-2026-06-24", "workshop-2026-06-25", "stop-1-gums"]


def test_slots_out_of_order_or_twice_are_told() -> None:
    """If not, rules that look from one slot to the next would look the wrong way."""
    assert "slot is real" in broken(lambda plan: plan["slots"].reverse())
    assert "slot is real" in broken(slot(EARLY, id="workshop-2026-06-25"))


def quiet(days: float, good: Facts | None = None) -> Facts:
    """The last days before departure being so many: the 25th is six days before it, the 24th seven."""
    return assuming(good or sound(), opening_near_departure_days=days)


@pytest.mark.parametrize(("days", "is_near"), [(5, False), (6, True), (7, False)])
def test_bearings_are_not_opened_in_the_last_days_where_an_earlier_one_had_room(days: float, is_near: bool) -> None:
    """If they were, the rig would leave on a hub closed the evening before; with seven quiet days both are near."""
    assert ("near departure" in broken(lambda plan: None, quiet(days))) is is_near


@pytest.mark.parametrize(("free", "is_near"), [(129.0, False), (130.0, True)])
def test_an_earlier_day_has_room_for_all_that_shares_the_opening(free: float, is_near: bool) -> None:
    """25 minutes of work and 7 + 10 + 23 of opening and closing on each side: 130 are enough, 129 are not."""
    at = quiet(6)
    change = slot(EARLY, minutes_planned=300 - free)
    assert ("near departure" in broken(change, at)) is is_near


def test_parts_that_come_late_excuse_the_last_days() -> None:
    """The earlier day is the fourth from today: parts of four days are there, those of five are not."""
    for days, is_near in ((4, True), (5, False)):
        at = quiet(6, with_cells(sound(), "front_wheel_bearings", parts_lead_days=days, consumables=SEAL))
        assert ("near departure" in broken(lambda plan: None, at)) is is_near


def test_what_a_job_needs_open() -> None:
    """If not, a wheel would be said to stay on while its hub is off; without a side both are opened."""
    all_facts = facts()
    hub = {"unit": "wagon", "place": "front wheel end", "state": "wheel off"}
    left = {("wagon", "front wheel end", "left", "wheel raised"), ("wagon", "front wheel end", "left", "wheel off")}
    right = {(unit, place, "right", state) for unit, place, _, state in left}
    assert needed_open(all_facts, {**hub, "position": "left"}) == left
    assert needed_open(all_facts, {**hub, "position": None}) == left | right
    sump = {"unit": "wagon", "place": "engine sump", "state": "drained", "position": None}
    assert needed_open(all_facts, sump) == {("wagon", "engine sump", None, "drained")}
    assert needed_open(all_facts, {**hub, "position": None, "state": "closed"}) == set()


@pytest.mark.parametrize(("today", "after"), [("2026-07-20", "2026-08-01"), ("2026-08-10", "2026-08-10")])
def test_the_time_after_return_begins_the_day_after_or_today(today: str, after: str) -> None:
    """If not, a plan made a week after the trip would put work into the past."""

    def change(plan: Json) -> None:
        plan["today"] = today
        plan["slots"][AFTER]["date"] = after

    told = [one.where for one in slot_rules(spoilt(sound(), change)) if one.rule == "slot is real"]
    assert "after" not in told
    spoilt_more = spoilt(sound(), lambda plan: (change(plan), plan["slots"][AFTER].update(date="2026-08-02")))
    assert "after" in [one.where for one in slot_rules(spoilt_more) if one.rule == "slot is real"]


def test_the_walk_round_opens_nothing() -> None:
    """If it did, the daily look at a wheel would be told to need the jack."""
    walk = {"item": "wheel_nuts", "unit": "wagon", "position": None, "act": "torque", "kind": "walk-round", "minutes": 0.0,
            "place": "front wheel end", "state": "wheel raised"}  # fmt: skip
    at = with_cells(sound(), "wheel_nuts", rhythm="walk-round", state="wheel raised")
    assert broken(lambda plan: plan["slots"][CAMP]["jobs"].append(dict(walk)), at) == set()
    service = {**walk, "kind": "service"}
    assert "opened for the job" in broken(lambda plan: plan["slots"][CAMP]["jobs"].append(service), at)
