"""What `tripplan risk` and `tripplan kit` print: the figures of the plan, every job beside what it saves, no word of safety."""

import json
import re
from functools import cache

import pytest
from msgspec.structs import replace

from tests.small import TODAY, leg, planned, row, stop, tables, thing, trip, workshop
from tripplan.commands.risk import risk
from tripplan.records.facts_in import Trip
from tripplan.records.plan import Plan
from tripplan.records.plan_kit import KitLine
from tripplan.risk.kit import carry_kit
from tripplan.sheets import kit_text, risk_text
from tripplan.sheets.pictures.hours_curve import hours_curve_svg, savings
from tripplan.trip.what_if import within_hours

DAYS = (workshop(TODAY, 240), workshop(TODAY.replace(day=27), 120))
FAR = trip(
    leg(1, 1000, dust="heavy"), leg(2, 2000, TODAY.replace(month=7, day=5), remote=True, dust="heavy"),
    stops=(stop("Camp", 1, TODAY.replace(month=7, day=4), facility="camp"),), workshop_days=DAYS,
)  # fmt: skip
KNOWN = (row(TODAY.replace(month=3), 100000, "bearings", "repack"), row(TODAY, 108000, number=3))


@cache
def plan_of(one_trip: Trip = FAR) -> Plan:
    """A plan of three items, one of which can hurt somebody."""
    catalogue = tables(
        thing("bearings", km=10000, dust="high", harms=True, harms_by="wheels", minutes=60),
        thing("joints", km=10000, act="grease", dust="high"), thing("seals", months=24, act="renew", strands=0),
    )  # fmt: skip
    return planned(one_trip, *KNOWN, catalogue=catalogue)


def test_the_table_tells_the_plan_s_own_figures() -> None:
    """The terminal would tell another risk than plan.json."""
    plan = plan_of()
    assert plan.risk is not None
    text = risk_text.risk_text(plan)
    hours = plan.risk.standing_hours_expected
    line = next(line for line in text.splitlines() if line.startswith("hours of standing expected"))
    assert line.split()[-3:] == [f"{value:.1f}" for value in (hours.nothing_done, hours.plan, hours.all_before)]
    assert f"{100 * plan.risk.home_without_a_stop.plan:.0f}" in text.splitlines()[3]
    assert "In doubt for many items at once, and reckoned together: grit." in " ".join(text.split())


def test_every_line_fits_a_terminal_and_none_says_safe() -> None:
    """Figures would be cut off; somebody would drive on because a program said so."""
    text = risk_text.risk_text(plan_of())
    assert max(map(len, text.splitlines())) <= 88
    said = " ".join(text.split()).replace("None says that the trip is safe", "")
    assert "safe" not in said


def test_jobs_are_told_with_what_leaving_them_out_adds_the_most_first() -> None:
    """An owner short of time would leave the wrong one."""
    plan = plan_of()
    skips = [(job.skip.standing_hours_expected, job.name) for slot in plan.slots for job in slot.jobs if job.skip]
    told = re.findall(r"^  ([A-Z]\w+): \w+, ", risk_text.risk_text(plan).partition("What if I skip it")[2], re.M)
    assert told == [name for _, name in sorted(skips, key=lambda pair: -pair[0])] and told
    assert any("hurt somebody" in job.skip.text for slot in plan.slots for job in slot.jobs if job.skip)


def test_json_is_the_plan_s_own_risk_and_each_job_s_skip() -> None:
    """A program reading it would see other figures."""
    plan = plan_of()
    told = json.loads(risk_text.risk_json(plan, plan))
    assert plan.risk is not None
    assert told["risk"]["stops_expected"]["plan"] == pytest.approx(plan.risk.stops_expected.plan, abs=1e-6)
    assert set(told["risk"]["failures_expected"]) == {"plan", "nothing_done", "all_before"}
    assert told["jobs"] and all(job["skip"]["text"] for job in told["jobs"])
    assert told["within"]["risk"] == told["risk"]


def test_fewer_hours_leave_more_standing_and_are_told_beside_the_plan() -> None:
    """`--hours` would change nothing, or make more work."""
    short = plan_of(within_hours(FAR, 0.5, 0.0, TODAY))
    plan = plan_of()
    assert plan.risk is not None and short.risk is not None
    assert short.risk.planned_work_hours <= 0.5 + 1e-9
    assert short.risk.standing_hours_expected.plan > plan.risk.standing_hours_expected.plan
    text = risk_text.risk_text(plan, short, "0.5 h at home")
    assert "The best plan within 0.5 h at home" in text and "left out:" in text


def test_a_trip_behind_is_told_as_that() -> None:
    """A table of zeros would look like a promise."""
    plan = planned(FAR, *KNOWN, catalogue=tables(thing("bearings", km=10000)), today=TODAY.replace(month=8, day=5))
    assert risk_text.risk_text(plan) == risk_text.NOTHING_BEHIND


@pytest.mark.parametrize("narrow", [False, True])
def test_the_picture_tells_in_words_what_it_draws(narrow: bool) -> None:
    """A person who cannot see it would learn nothing; the plan's point would be off its own figures."""
    plan = plan_of()
    picture = hours_curve_svg(plan, narrow=narrow)
    assert picture is not None and plan.risk is not None
    assert picture.count("<circle") == 1 and "nothing done" in picture
    assert f"{plan.risk.standing_hours_expected.plan:.1f} h" in picture
    for sentence in savings(plan.risk.curve):
        assert sentence in picture


@pytest.mark.parametrize("narrow", [False, True])
def test_the_end_of_the_line_has_a_name_of_its_own(narrow: bool) -> None:
    """Its end would be told as what the page calls everything done before, which saves less: 15 h here and 17 h there.

    The dotted line of the plan would run through the words beside it.
    """
    picture = hours_curve_svg(plan_of(), narrow=narrow)
    assert picture is not None and "everything" not in picture
    assert "all work there is: " in picture and "with all work there is, at home and on the way (" in picture
    assert re.search(r'<g stroke="Canvas"[^>]*><text [^>]*>this plan: [^<]*</text></g>', picture)


def test_what_each_hour_saves_adds_up_to_all_that_can_be_saved() -> None:
    """The three sentences would promise more than the curve holds."""
    plan = plan_of()
    assert plan.risk is not None
    curve = plan.risk.curve
    pairs = [map(float, re.findall(r"(\d+\.\d) h", sentence)) for sentence in savings(curve)]
    saved = sum(work * each for work, each in pairs)
    assert saved == pytest.approx(curve[0].standing_hours_expected - curve[-1].standing_hours_expected, rel=0.1)


def test_no_picture_where_nothing_stands() -> None:
    """An empty frame would be printed."""
    nothing = planned(FAR, *KNOWN, catalogue=tables(thing("seals", months=24, act="renew", strands=0)))
    assert hours_curve_svg(nothing) is None


def test_an_empty_kit_says_so() -> None:
    """A list without a line would look like a fault."""
    text = kit_text.kit_text(carry_kit((), 3.0, 25, 40), "Trip")
    assert "0.0 of 25 kg" in text and "  nothing" in text


def test_a_line_of_the_kit_reads_as_a_person_says_it() -> None:
    """Read aloud under the car, "1 if found wet, repack: Front wheel bearings: rag 2 piece" would help nobody."""
    line = KitLine(
        part="x", name="if found wet, repack front wheel bearings", count=1, quantity=1, unit_of_measure="set",
        beside=("95 g of grease", "2 rags"), weight_kg=0.01, volume_l=1.5, demand_expected=0.2, saved_hours=0.5,
        for_items=("Front wheel bearings",), contingent=True,
    )  # fmt: skip
    told = f"{kit_text.amount_of(line)}: {kit_text.told_of(line)}"
    assert told == (
        "If found wet, repack front wheel bearings: 95 g of grease, 2 rags: under 0.1 kg, 1.5 litres, saves 0.50 h"
    )
    bulbs = replace(line, name="bulbs and fuses", contingent=False)
    assert kit_text.amount_of(bulbs) == "a set of bulbs and fuses (with 95 g of grease, 2 rags)"
    assert kit_text.amount_of(replace(bulbs, count=2)) == "2 sets of bulbs and fuses (each with 95 g of grease, 2 rags)"
    assert kit_text.amount_of(replace(line, count=2)).startswith("If found wet, repack front wheel bearings, 2 times:")


def test_hours_typed_wrong_are_a_problem(tmp_path: object, capsys: pytest.CaptureFixture[str]) -> None:
    """A slip would end in a traceback."""
    assert risk(tmp_path, "5 days", None, None, False) == 2  # type: ignore[arg-type]
    assert "A09" in capsys.readouterr().err
