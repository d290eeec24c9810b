"""Rules about water that hold for every rig, trip and order of entry, tried on many."""

import json
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import date, datetime, timedelta
from itertools import permutations
from pathlib import Path

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from msgspec.structs import replace

from tests.support import TODAY, good_folder
from tripplan.commands.log_and_cross import cross
from tripplan.due.standing import item_positions
from tripplan.explain.cards import crossing_cards
from tripplan.files.folder import Inputs, load
from tripplan.placing.greedy import place_greedily
from tripplan.planner import look_around, make_plan
from tripplan.records.facts_in import Crossing, Origin
from tripplan.records.plan import Plan
from tripplan.sheets.outputs import OUTPUT_FILES, write_outputs
from tripplan.water.crossing import Call, calls

FEW = settings(max_examples=40, deadline=None, suppress_health_check=[HealthCheck.too_slow])
VERY_FEW = settings(FEW, max_examples=6)
DEPTHS = st.floats(0.0, 1.4).map(lambda depth: round(depth, 3))
WATERS = st.sampled_from(("fresh", "muddy", "salt"))


@contextmanager
def a_folder() -> Iterator[Path]:
    """A good trip folder of its own for each example."""
    with tempfile.TemporaryDirectory() as place:
        yield good_folder(Path(place) / "trip")


with a_folder() as _folder:
    SAMPLE, CATALOGUE, _ = load(_folder, TODAY)
assert SAMPLE is not None
INPUTS: Inputs = SAMPLE


def asked(crossing: Crossing) -> dict[tuple[str, str, str | None, str, str], Call]:
    """Everything one crossing of the sample trip calls for."""
    trip = INPUTS.trip.model_copy(update={"crossings": (crossing,)})
    s = look_around(INPUTS.rig, INPUTS.history, trip, CATALOGUE, TODAY)
    found = calls(item_positions(INPUTS.rig, CATALOGUE), s.timeline, CATALOGUE, s.history, s.allowance_m)
    return {(c.item.id, c.unit.id, c.position, c.rule.when, c.rule.act): c for c in found}


class TestDeeper:
    """A deeper crossing never asks for less, and never for later."""

    @FEW
    @given(DEPTHS, DEPTHS, WATERS)
    def test_every_act_of_the_shallower_is_there(self, one_m: float, other_m: float, water: str) -> None:
        """Otherwise going deeper would spare an owner a look."""
        planned = INPUTS.trip.crossings[0].model_copy(update={"water": water})
        low, high = (planned.model_copy(update={"depth_m": d}) for d in sorted((one_m, other_m)))
        shallow, deep = asked(low), asked(high)
        assert shallow.keys() <= deep.keys()
        assert all(deep[key].by_date == call.by_date and deep[key].by_km == call.by_km for key, call in shallow.items())

    @FEW
    @given(DEPTHS, st.sampled_from(("stalled", "hubs_hot")), st.integers(0, 5))
    def test_trouble_in_the_water_asks_for_no_less(self, depth_m: float, trouble: str, minutes: int) -> None:
        """Otherwise a stall or hot hubs would make the evening shorter."""
        planned = INPUTS.trip.crossings[0].model_copy(update={"depth_m": depth_m, "water": "fresh", "minutes": minutes})
        assert asked(planned).keys() <= asked(planned.model_copy(update={trouble: True})).keys()

    @settings(FEW, max_examples=10)
    @given(DEPTHS)
    def test_cards_hold_what_the_plan_holds(self, depth_m: float) -> None:
        """Otherwise the card would leave out an act that the plan then asks for."""
        planned = INPUTS.trip.crossings[0].model_copy(update={"depth_m": depth_m})
        trip = INPUTS.trip.model_copy(update={"crossings": (planned,)})
        (card,) = crossing_cards(look_around(INPUTS.rig, INPUTS.history, trip, CATALOGUE, TODAY))
        spoken = {(w.when, a.act, a.unit) for w in card.windows for line in w.lines for a in line.acts}
        asks = {(c.rule.when, c.rule.act, c.unit.id) for c in asked(planned).values() if not c.contingent}
        if depth_m <= max(case.to_m or 0 for case in card.cases):
            assert asks - {("bank", "exercise", INPUTS.rig.vehicle.id)} <= spoken  # brakes stand among the steps

    @FEW
    @given(DEPTHS, WATERS, st.booleans())
    def test_water_not_yet_met_books_nothing_above_an_easy_crossing(
        self, depth_m: float, water: str, hot: bool
    ) -> None:
        """Otherwise the days would fill with work that a look might spare."""
        change = {"depth_m": depth_m, "water": water, "hubs_hot": hot, "minutes": 20}
        found = asked(INPUTS.trip.crossings[0].model_copy(update=change)).values()
        booked = [call for call in found if not call.contingent]
        assert all((call.rule.first_grade or 0) <= 2 for call in booked)
        assert all(call.rule.told_from is not None for call in found if call.contingent)


def quick(folder: Path, today: date) -> Plan:
    """The quick plan of a folder."""
    inputs, catalogue, problems = load(folder, today)
    assert inputs is not None
    return make_plan(inputs.rig, inputs.history, inputs.trip, catalogue, today, problems, place_greedily)


class TestRecording:
    """A crossing is recorded once, and the order of recording does not matter."""

    @VERY_FEW
    @given(st.floats(0.05, 1.1).map(lambda d: round(d, 2)), WATERS, st.integers(10 * 60, 23 * 60 + 59))
    def test_twice_is_refused(self, depth_m: float, water: str, minute: int) -> None:
        """Otherwise one ford would count twice."""
        at = (datetime(2026, 7, 6) + timedelta(minutes=minute)).strftime("%Y-%m-%d %H:%M")
        with a_folder() as folder:
            assert cross(folder, 2, depth_m, 3, water, at, as_json=True) in (0, 1)
            once = (folder / "crossings.csv").read_bytes()
            assert cross(folder, 2, depth_m, 3, water, at, as_json=True) == 2
            assert (folder / "crossings.csv").read_bytes() == once

    def test_any_order_gives_the_same_plan(self) -> None:
        """Otherwise an evening's entries would have to be typed in the order of the road."""
        made = ((60, 0.4, "fresh", "12:00"), (140, 0.7, "muddy", "14:00"), (300, 0.2, "salt", "17:00"))
        plans = []
        for order in permutations(made):
            with a_folder() as folder:
                for at_km, depth_m, water, hour in order:
                    at = f"2026-07-06 {hour}"
                    assert cross(folder, 2, depth_m, 3, water, at, at_km=at_km, as_json=True) in (0, 1)
                plans.append(without_rows(quick(folder, date(2026, 7, 6))))
        assert all(plan == plans[0] for plan in plans)


def without_rows(plan: Plan) -> tuple[object, ...]:
    """All that a person reads of a plan: everything but the row numbers of its sources."""
    crossings = tuple(replace(one, origin=Origin(file="crossings.csv")) for one in plan.crossings)
    jobs = tuple((s.id, s.minutes_planned, *((j.item, j.unit, j.position, j.act) for j in s.jobs)) for s in plan.slots)
    items = tuple((i.item, i.unit, i.position, i.verdict, i.placed, i.runs_out_reserve) for i in plan.items)
    return (crossings, jobs, items, plan.warnings, plan.shopping, plan.carry)


class TestAgain:
    """Planning again without a change changes nothing that was issued."""

    @VERY_FEW
    @given(st.integers(1, 40), st.floats(0.05, 1.1).map(lambda d: round(d, 2)))
    def test_no_sequence_goes_up(self, minutes_later: int, depth_m: float) -> None:
        """Otherwise every look at the plan would send the owner's calendar a change."""
        planned = INPUTS.trip.crossings[0].model_copy(update={"depth_m": depth_m})
        trip = INPUTS.trip.model_copy(update={"crossings": (planned,)})
        plan = make_plan(INPUTS.rig, INPUTS.history, trip, CATALOGUE, TODAY, (), place_greedily)
        stamp = datetime(2026, 6, 20, 12)
        with tempfile.TemporaryDirectory() as place:
            out = Path(place)
            write_outputs(plan, out, stamp)
            first = {name: (out / name).read_bytes() for name in OUTPUT_FILES}
            write_outputs(plan, out, stamp + timedelta(minutes=minutes_later))
            assert {name: (out / name).read_bytes() for name in OUTPUT_FILES} == first
            assert json.loads(first["plan.json"])["crossings"][0]["depth_m"] == depth_m
