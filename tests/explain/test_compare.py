"""Differences between two plans: one written here, one thing changed, and what is told of it."""

from collections.abc import Callable
from copy import deepcopy
from typing import Any

import pytest

from tripplan.explain.compare import compare_jobs, compare_plans, compare_totals, differences

Json = dict[str, Any]
JOB = {"unit": "wagon", "item": "bearings", "name": "Bearings", "position": "left", "act": "repack", "kind": "service",
       "why": "Due on leg 2."}  # fmt: skip


def plan() -> Json:
    """Two slots, an item that runs out, a ford still ahead."""
    return {
        "depart": "2026-07-01", "return": "2026-07-31", "today": "2026-06-01", "warnings": [{}], "orders": [],
        "legs": [{"distance_km": 300.0}, {"distance_km": 450.0}],
        "totals": {"plan": {"minutes": 135, "cost": 268.7}},
        "crossings": [{"leg": 2, "at_km": 100.0, "depth_m": 0.45, "water": "fresh", "crossed": None}],
        "items": [{"item": "bearings", "name": "Bearings", "unit": "wagon", "position": "left", "verdict": "runs out on the way",
                   "runs_out_reserve": {"date": "2026-07-06", "leg": 2, "leg_km": 120.0, "trip_km": 420.0},
                   "placed": ["day"], "last_done": "2025-05-01", "reasons": [{"text": "Last done long ago."}]}],
        "slots": [
            {"id": "early", "kind": "workshop", "place": "home", "date": "2026-06-24", "minutes_planned": 0, "jobs": []},
            {"id": "day", "kind": "workshop", "place": "home", "date": "2026-06-25", "minutes_planned": 135, "jobs": [dict(JOB)]},
            {"id": "stop", "kind": "stop", "place": "Gums", "date": "2026-07-03", "minutes_planned": 0, "jobs": []},
            {"id": "after", "kind": "after", "place": "home", "date": "2026-08-01", "minutes_planned": 0, "jobs": []},
        ],
    }  # fmt: skip


def changed(change: Callable[[Json], object]) -> Json:
    """The plan with one thing changed."""
    other = deepcopy(plan())
    change(other)
    return other


def told(change: Callable[[Json], object]) -> list[tuple[str, str, str, str, str]]:
    """What is told of it: kind, what, how it was and is, and why."""
    return [
        (one.kind.value, one.what, one.before, one.after, one.why) for one in compare_plans(plan(), changed(change))
    ]


def item(**values: Any) -> Callable[[Json], object]:
    """Change the item."""
    return lambda other: other["items"][0].update(values)


END = {"date": "2026-07-06", "leg": 2, "leg_km": 120.0, "trip_km": 420.0}
NAME = "Bearings (left)"


def test_equal_plans_differ_in_nothing() -> None:
    """If they did, every save would tell of changes."""
    assert told(lambda other: None) == []
    assert compare_jobs(plan(), plan()) == ()


@pytest.mark.parametrize(
    ("change", "expected"),
    [
        (lambda other: other.update(depart="2026-07-02"), ("trip", "depart", "1 July 2026", "2 July 2026", "")),
        (lambda other: other["legs"][0].update(distance_km=310.0), ("trip", "length", "750 km", "760 km", "")),
        (item(verdict="due before departure"), ("item", NAME, "runs out on the way", "due before departure", "")),
        (item(runs_out_reserve=None),
         ("item", NAME, "runs out on 6 July, leg 2, km 120", "lasts the trip", "")),
        (item(runs_out_reserve={**END, "date": "2026-07-07", "leg_km": 130.0}),
         ("item", NAME, "runs out on 6 July, leg 2, km 120", "runs out on 7 July, leg 2, km 130", "")),
        (item(runs_out_reserve={**END, "trip_km": 421.5, "leg_km": 121.5}),
         ("item", NAME, "runs out on 6 July, leg 2, km 120", "runs out on 6 July, leg 2, km 122", "")),
        (item(placed=["stop"]), ("work on an item", f"{NAME}, work", "home 25 June", "Gums 3 July", "")),
        (item(placed=["day", "stop"]), ("work on an item", f"{NAME}, work", "home 25 June", "home 25 June and Gums 3 July", "")),
        (item(placed=[]), ("work on an item", f"{NAME}, work", "home 25 June", "none planned", "")),
        (item(placed=["elsewhere"]), ("work on an item", f"{NAME}, work", "home 25 June", "none planned", "")),
        (lambda other: other["crossings"][0].update(crossed="2026-07-04"),
         ("crossing", "crossing on leg 2 at km 100", "0.45 m, fresh, planned", "0.45 m, fresh, made on 4 July", "")),
        (lambda other: other["crossings"][0].update(crossed="2026-07-04T09:00"),
         ("crossing", "crossing on leg 2 at km 100", "0.45 m, fresh, planned", "0.45 m, fresh, made on 4 July, 09:00", "")),
        (lambda other: other["crossings"].clear(),
         ("crossing", "crossing on leg 2 at km 100", "0.45 m, fresh, planned", "not there", "")),
        (lambda other: other["slots"][1].update(minutes_planned=150),
         ("work at a place", "work at home, 25 June", "2 h 15 min", "2 h 30 min", "")),
    ],
)  # fmt: skip
def test_one_change_is_one_line(change: Callable[[Json], object], expected: tuple[str, ...]) -> None:
    """If not, an owner would have to read two plans side by side to see what the ford has changed."""
    assert told(change) == [expected]


@pytest.mark.parametrize("trip_km", [420.0, 420.9, 419.1])
def test_a_km_is_no_difference(trip_km: float) -> None:
    """If it were, rounding would be told as news; a whole km is."""
    assert told(item(runs_out_reserve={**END, "trip_km": trip_km})) == []
    assert len(told(item(runs_out_reserve={**END, "trip_km": 421.0}))) == 1


def test_what_was_recorded_since_is_the_reason() -> None:
    """If not, the line would not say that it comes of the work written down; without a side none is named."""
    done = {
        "last_done": "2026-06-20",
        "reasons": [{"text": "Last done 20 June."}],
        "verdict": "lasts the trip",
        "placed": [],
    }
    assert [line[4] for line in told(item(**done))] == ["Last done 20 June."] * 2
    assert (
        compare_plans(changed(item(position=None)), changed(item(position=None, placed=[])))[0].what == "Bearings, work"
    )


def test_a_new_item_is_no_change_of_another() -> None:
    """An item that the other plan does not have is none of these lines; the same one on another side is another."""
    assert told(item(position="right", verdict="no record", placed=[])) == []


def test_work_at_a_place_with_no_job_left() -> None:
    """If not, a day that came free would be told with its minutes."""
    emptied = told(lambda other: other["slots"][1].update(jobs=[], minutes_planned=0))
    assert emptied == [("work at a place", "work at home, 25 June", "2 h 15 min", "not there", "")]


def test_the_order_is_trip_crossings_items_places() -> None:
    """If not, the list would begin with its details."""

    def all_of_it(other: Json) -> None:
        other.update(depart="2026-07-02")
        other["crossings"].clear()
        item(placed=["stop"])(other)
        other["slots"][1].update(minutes_planned=150)

    assert [line[0] for line in told(all_of_it)] == ["trip", "crossing", "work on an item", "work at a place"]


def test_the_totals_of_a_what_if() -> None:
    """If not, the table would tell of the wrong plan: old on the left, new on the right."""

    def later(other: Json) -> None:
        other.update(depart="2026-07-02", warnings=[])
        other["totals"]["plan"].update(minutes=150, cost=300.2)
        other["legs"].append({"distance_km": 50.0})
        other["slots"][2]["jobs"] = [dict(JOB), dict(JOB)]
        other["slots"][3]["jobs"] = [dict(JOB)]
        other["slots"][1]["jobs"] = []

    assert compare_totals(plan(), changed(later)) == (
        ("departure", "1 July 2026", "2 July 2026"), ("length, km", "750", "800"), ("work", "2 h 15 min", "2 h 30 min"),
        ("cost", "269", "300"), ("jobs before departure", "1", "0"), ("jobs at stops", "0", "2"),
        ("jobs after return", "0", "1"), ("warnings", "1", "0"),
    )  # fmt: skip


def jobs_changed(change: Callable[[Json], object]) -> list[tuple[str, str, str]]:
    """What is told of jobs: kind, what, why."""
    return [(one.kind.value, one.what, one.why) for one in compare_jobs(plan(), changed(change))]


def test_jobs_added_and_dropped() -> None:
    """Added first, with the reason the job gives; both sides of one fate are one line."""

    def moved(other: Json) -> None:
        other["slots"][1]["jobs"] = []
        other["slots"][2]["jobs"] = [dict(JOB), {**JOB, "position": "right"}]
        other["slots"][3]["jobs"] = [{**JOB, "position": None, "act": "renew", "kind": "after water", "why": "Milk."}]

    assert jobs_changed(moved) == [
        ("job added", "Gums 3 July: repack bearings (left and right)", "Due on leg 2."),
        ("job for water added", "after return: renew bearings", "Milk."),
        ("job dropped", "before departure: repack bearings (left)", ""),
    ]


def test_a_job_recorded_since_is_told_as_done() -> None:
    """If not, work well done would read as work taken off the plan; what was done before the older plan does not count."""

    def done(day: str) -> Callable[[Json], object]:
        def change(other: Json) -> None:
            other["slots"][1]["jobs"] = []
            other["items"][0].update(last_done=day)

        return change

    seen = {**plan(), "today": "2026-06-10"}
    told_of = [compare_jobs(seen, changed(done(day)))[0] for day in ("2026-06-12", "2026-06-10", "2026-06-09")]
    assert [(one.kind.value, one.after) for one in told_of] == [
        ("job done", "done 12 June"), ("job done", "done 10 June"), ("job dropped", "no longer"),
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("today", "changes", "kind"),
    [
        ("2026-06-20", {}, "job without its parts"),
        ("2026-06-17", {}, "job dropped"),  # the day for the order is still to come
        ("2026-06-20", {"orders": []}, "job dropped"),  # nothing is left to order: it is on the shelf
        ("2026-06-18", {"lead_days": 6}, "job dropped"),  # ordered today it is there on the day of the work
    ],
)
def test_a_job_that_moved_for_want_of_parts_says_by_when_they_were_to_be_ordered(
    today: str, changes: Json, kind: str
) -> None:
    """If not, springs ordered weeks ago would move from day to day, and nothing would ask whether they are ordered."""
    order = {"slot": "day", "order_by": "2026-06-18", "what": ["seal"], "lead_days": changes.get("lead_days", 7)}
    old = {**plan(), "orders": [order], "today": "2026-06-10"}
    old["slots"][1]["jobs"][0]["materials"] = [{"name": "seal"}]
    new = {**changed(item(placed=[])), "orders": changes.get("orders", [{**order, "slot": "after"}]), "today": today}
    new["slots"][1]["jobs"] = []
    (found,) = compare_jobs(old, new)
    assert (found.kind.value, found.after) == (kind, "no longer")
    assert ("ordered by 18 June" in found.why and "shelf.csv" in found.why) is (kind == "job without its parts")


def test_checks_of_the_walk_round_have_a_kind_of_their_own() -> None:
    """If not, a dozen of them every morning would hide the one job that is new."""

    def added(other: Json) -> None:
        other["slots"][2]["jobs"] = [{**JOB, "item": "lights", "name": "Lights", "act": "look", "kind": "walk-round"}]

    assert [kind for kind, *_ in jobs_changed(added)] == ["walk-round check"]
    was = changed(added)
    was["slots"][1]["jobs"] = []
    now = deepcopy(was)
    now["slots"][2]["jobs"] = []
    assert [(one.kind.value, one.after) for one in compare_jobs(was, now)] == [("walk-round check", "no longer")]
    assert told(item(rhythm="walk-round", verdict="due before departure"))[0][0] == "walk-round check"


def test_a_job_moved_is_called_as_the_sheets_call_it() -> None:
    """If not, the owner would look for tyres adjusted on a sheet that has them rotated."""

    def moved(other: Json) -> None:
        other["slots"][2]["jobs"] = [{**JOB, "name": "Tyres with the spare", "act": "adjust", "verb": "rotate", "position": None},
                                     {**JOB, "name": "Drive belts", "act": "look", "position": None}]  # fmt: skip
        other["items"] = [*other["items"], {**other["items"][0], "unit": "camper"}]

    told = [what for _, what, _ in jobs_changed(moved)]
    assert (
        "Gums 3 July: rotate tyres with the spare (wagon)" in told
        and "Gums 3 July: look at drive belts (wagon)" in told
    )


def test_a_job_on_another_day_at_home_is_the_same_work() -> None:
    """If not, every day that is swapped would be told twice."""

    def swapped(other: Json) -> None:
        other["slots"][0]["jobs"], other["slots"][1]["jobs"] = other["slots"][1]["jobs"], []

    assert jobs_changed(swapped) == []


@pytest.mark.parametrize("values", [{"act": "renew"}, {"position": "right"}, {"unit": "camper"}, {"item": "seals"}])
def test_another_act_side_unit_or_item_is_another_job(values: Json) -> None:
    """If not, a renewal in place of a repack would go untold."""
    found = jobs_changed(lambda other: other["slots"][1]["jobs"][0].update(values))
    assert [kind for kind, *_ in found] == ["job added", "job dropped"]


def test_a_plan_of_another_version_is_no_plan_to_compare_with() -> None:
    """If it were, a save would end in an error after an update."""
    found = differences(plan(), changed(item(placed=["stop"])), "the plan before")
    assert found.against == "the plan before" and len(found.others) == 1 and found.jobs == ()
    for broken in ({}, {**plan(), "legs": None}, {**plan(), "items": [{}]}, {**plan(), "slots": [{"jobs": [{}]}]}):
        assert differences(broken, plan(), "the plan before").against == ""


@pytest.mark.parametrize(("today", "lines"), [("2026-07-07", 0), ("2026-07-06", 1)])
def test_what_is_still_used_up_on_the_next_day_is_no_news(today: str, lines: int) -> None:
    """If it were, a crossing on the fourth day would be answered with every dipstick and tyre that is looked at daily."""
    old, new = {**plan(), "today": "2026-07-06"}, changed(item(runs_out_reserve={**END, "date": "2026-07-07"}))
    assert len(compare_plans(old, {**new, "today": today})) == lines


def test_what_is_due_on_the_way_is_due_now_and_stays_so_without_a_word() -> None:
    """If not, a plan made on the road would tell of work before a departure that is past, and of everything due once more."""
    due = item(verdict="due before departure")
    under_way = {**changed(due), "today": "2026-07-05"}
    assert [one.after for one in compare_plans(plan(), under_way)] == ["due now"]
    assert [one.after for one in compare_plans(plan(), {**under_way, "today": "2026-07-01"})] == [
        "due before departure"
    ]
    assert [one.after for one in compare_plans(plan(), {**under_way, "today": "2026-08-01"})] == ["due"]
    later = {
        **changed(lambda other: (due(other), item(runs_out_reserve={**END, "trip_km": 450.0})(other))),
        "today": "2026-07-06",
    }
    assert compare_plans(under_way, later) == ()
