"""Rules about waiting, each broken by one figure: 1000 km between, a day at home, a stop, and home."""

from typing import Any

import pytest

from tests.small import leg, tables, thing, trip
from tests.verify.small_facts import Json, facts, names, told
from tripplan.verify.facts import Facts
from tripplan.verify.limits import limit_rules

SLOTS: list[Json] = [
    {"id": "first", "kind": "workshop", "date": "2026-06-21", "after_leg": 0, "jobs": []},
    {"id": "day", "kind": "workshop", "date": "2026-06-25", "after_leg": 0, "jobs": []},
    {"id": "stop", "kind": "stop", "date": "2026-07-03", "after_leg": 1, "jobs": []},
    {"id": "after", "kind": "after", "date": "2026-08-01", "after_leg": 2, "jobs": []},
]
SAID = {"kind": "no place in time", "about": [{"item": "bearings", "unit": "wagon", "position": None}]}


def seen(
    used: float, first: float, second: float, *jobs: str, warnings: tuple[Json, ...] = (), **changes: Any
) -> Facts:
    """An item of 1000 km with so much used, then on each of two legs; repacked in the slots named by a job."""
    job = {"item": "bearings", "unit": "wagon", "position": None, "kind": "service"}
    slots = [{**slot, "jobs": [job] if slot["id"] in jobs else []} for slot in SLOTS]
    wear = [
        {"leg": number, "meter": "km", "use": use, "multiplier": 1.0, "water_use": 0.0}
        for number, use in ((1, first), (2, second))
    ]
    entry = {"item": "bearings", "name": "Bearings", "unit": "wagon", "position": None, "act": "repack", "harms": True,
             "rhythm": "service", "placed": list(jobs), "unmet": False, "highest_share": None, "can_wait": False,
             "verdict": "runs out on the way", "last_done": "2026-01-01", "found": None, "wear": wear,
             "limits": [{"meter": "km", "interval": 1000.0, "used": used, "at_departure": used}]}  # fmt: skip
    item = thing(km=1000, harms=True, harms_by="wheels")
    return facts({"slots": slots, "items": [{**entry, **changes}], "warnings": list(warnings)},
                 trip(leg(1, 100), leg(2, 100)), catalogue=tables(item))  # fmt: skip


def broken(at: Facts) -> set[str]:
    """The rules broken, but for what is told of the highest share, which has tests of its own."""
    return names(limit_rules(at)) - {"highest share"}


@pytest.mark.parametrize(
    ("figures", "jobs", "is_past"),
    [
        ((500.0, 300.0, 290.0), (), False),  # 1.09 when home: inside the published 10 %
        ((500.0, 300.0, 310.0), (), True),  # 1.11
        ((500.0, 300.0, 310.0), ("day",), False),  # from the day on 0.61
        ((500.0, 700.0, 100.0), ("stop",), True),  # 1.20 before the stop
        ((500.0, 100.0, 1050.0), ("stop",), False),  # 0.60 before, 1.05 behind it
        ((500.0, 100.0, 1150.0), ("stop",), True),  # 0.60 before, 1.15 behind it
        ((1800.0, 100.0, 100.0), ("day",), False),  # long overdue, renewed before the rig goes on: any day will do
        ((1800.0, 100.0, 100.0), ("stop",), True),  # long overdue, and driven off
    ],
)
def test_what_can_hurt_somebody_is_renewed_in_time(
    figures: tuple[float, float, float], jobs: tuple[str, ...], is_past: bool
) -> None:
    """If not, a wheel bearing could be let go past its interval and the checker would say that all is well."""
    assert ("inside the limit" in broken(seen(*figures, *jobs, can_wait=True))) is is_past


@pytest.mark.parametrize("changes", [{"harms": False}, {"act": "look"}])
def test_what_hurts_nobody_or_renews_nothing_has_no_limit(changes: dict[str, Any]) -> None:
    """If it had one, a plan could not let a filter wait where waiting is cheaper."""
    assert "inside the limit" not in broken(seen(500.0, 300.0, 900.0, can_wait=True, **changes))


@pytest.mark.parametrize(
    ("second", "changes", "warnings", "rules"),
    [
        (310.0, {}, (SAID,), set()),
        (310.0, {}, (), {"unmet is said"}),
        (290.0, {}, (SAID,), {"unmet"}),
        (310.0, {"harms": False}, (SAID,), {"unmet"}),  # past, and hurts nobody: no limit
        (310.0, {"act": "look"}, (SAID,), {"unmet"}),
        (310.0, {}, ({**SAID, "kind": "found bad"},), {"unmet is said"}),  # what was found there excuses nothing
        (310.0, {}, ({**SAID, "about": [{"item": "oil", "unit": "wagon", "position": None}]},), {"unmet is said"}),
    ],
)
def test_past_a_limit_is_said_where_it_is_true(
    second: float, changes: dict[str, Any], warnings: tuple[Json, ...], rules: set[str]
) -> None:
    """If not, an owner would be told of danger where there is none, or not told."""
    assert broken(seen(500.0, 300.0, second, can_wait=True, unmet=True, warnings=warnings, **changes)) == rules


@pytest.mark.parametrize(
    ("said", "is_wrong"), [(None, True), (0.95, False), (0.959, False), (0.961, True), (0.941, False), (0.939, True)]
)
def test_the_highest_share_is_the_largest_of_all_spans(said: float | None, is_wrong: bool) -> None:
    """0.50 used at the stop's renewal, 0.95 from there home; a hundredth is given."""
    found = limit_rules(seen(300.0, 200.0, 950.0, "stop", highest_share=said))
    assert bool(told(found, "highest share")) is is_wrong


@pytest.mark.parametrize(
    ("figures", "jobs", "can_wait", "is_wrong"),
    [
        ((500.0, 300.0, 400.0), (), True, False),
        ((500.0, 300.0, 400.0), (), False, True),
        ((500.0, 100.0, 100.0), (), True, True),
        ((500.0, 300.0, 400.0), ("stop",), True, True),  # renewed on the way: nothing waits
        ((500.0, 300.0, 1400.0), ("stop",), True, False),  # renewed on the way, and past it again
        ((500.0, 300.0, 400.0), ("after",), True, False),  # renewed when home: it waited until then
        ((500.0, 300.0, 205.0), (), False, False),  # 1.005: nobody can tell
    ],
)
def test_what_waits_for_home_is_said(
    figures: tuple[float, float, float], jobs: tuple[str, ...], can_wait: bool, is_wrong: bool
) -> None:
    """If not, the list of what runs past its interval would be too short or too long."""
    assert ("can wait" in broken(seen(*figures, *jobs, can_wait=can_wait, harms=False))) is is_wrong


@pytest.mark.parametrize(
    ("used", "first", "jobs", "is_twice"),
    [
        (200.0, 0.0, ("day",), True),  # 0.20 of its interval used today
        (300.0, 0.0, ("day",), False),
        (500.0, 200.0, ("day", "stop"), True),  # 0.20 from the day to the stop
        (500.0, 300.0, ("day", "stop"), False),
    ],
)
def test_nothing_is_done_again_within_a_quarter_of_its_interval(
    used: float, first: float, jobs: tuple[str, ...], is_twice: bool
) -> None:
    """If it were, the plan would grease the same nipples at home and at the first camp."""
    assert ("not twice" in broken(seen(used, first, 100.0, *jobs))) is is_twice


def test_a_limit_ahead_goes_before_that_rule() -> None:
    """If not, U-bolts torqued a fifth of their interval ago would be driven past their limit, though a day at home is there."""
    assert "not twice" not in broken(seen(200.0, 500.0, 450.0, "day"))  # 1.15 when home without it
    assert "not twice" in broken(seen(200.0, 500.0, 350.0, "day"))  # 1.05
    assert "not twice" in broken(seen(200.0, 500.0, 450.0, "day", harms=False))


@pytest.mark.parametrize(
    ("follow_ups", "jobs", "changes", "is_wrong"),
    [
        ("play 50-100 km", ("day",), {"last_done": None, "verdict": "no record"}, True),
        ("play 50-100 km", (), {"last_done": None, "verdict": "no record"}, False),  # left shut
        ("", ("day",), {"last_done": None, "verdict": "no record"}, False),  # no look can tell
        ("play 50-100 km", ("day",), {}, False),  # on record
        ("play 50-100 km", ("day",), {"last_done": None, "verdict": "due", "found": "worn"}, False),
    ],
)
def test_an_overhaul_without_a_record_waits_for_its_look(
    follow_ups: str, jobs: tuple[str, ...], changes: dict[str, Any], is_wrong: bool
) -> None:
    """If not, a sound axle could be stripped after the return because nobody wrote down when it was last open."""
    at = seen(500.0, 100.0, 100.0, *jobs, harms=False, **changes)
    both = tables(thing(km=1000, months=24, follow_ups=follow_ups), thing("play", act="measure", km=1000))
    assert ("look first" in broken(facts(at.plan, at.trip, catalogue=both))) is is_wrong


def test_what_comes_with_another_job_is_no_act_of_its_own() -> None:
    """If it counted, whoever has a bearing out could not renew the seal without being told off."""
    at = seen(500.0, 200.0, 100.0, "day", "stop")
    slots = [{**slot, "jobs": []} for slot in at.plan["slots"]]
    with_others = facts({**at.plan, "slots": slots}, at.trip, catalogue=at.catalogue)
    assert "not twice" not in broken(with_others)


def test_what_belongs_to_a_hub_is_done_whenever_it_is_off() -> None:
    """If it counted as twice, the trade rule and this one could not both be kept."""
    at = seen(500.0, 200.0, 100.0, "day", "stop")
    item = thing(km=1000, harms=True, harms_by="wheels", state="hub off")
    with_hub = facts(dict(at.plan), at.trip, catalogue=tables(item))
    assert "not twice" not in broken(with_hub)


def test_a_finding_counts_one_and_a_half() -> None:
    """If not, a bearing found worn could be driven home: 1.5 from today, and past."""
    at = seen(500.0, 300.0, 100.0, found={"finding": "worn"}, can_wait=True)
    assert "inside the limit" in broken(at)
