"""Rules that hold for every trip, tried on hundreds of invented ones."""

import math
import random
from collections.abc import Callable, Sequence
from datetime import date, timedelta
from itertools import pairwise
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, assume, given, settings
from hypothesis import strategies as st

from tests.properties.strategies import GRADES, Case, cases, grades, legs
from tests.small import DEPART, TODAY, crossing, leg, looked_at, rig, row, tables, thing, trip
from tests.support import HISTORY, LEGS, good_folder
from tests.support import TODAY as FOLDER_TODAY
from tripplan.due.standing import Standing
from tripplan.files.data_tables import read_catalogue
from tripplan.files.folder import load
from tripplan.files.logbook.text import body_of, record_of, texts_of_body
from tripplan.placing.greedy import place_greedily
from tripplan.placing.optimise import place_optimally
from tripplan.placing.problem import PlacementProblem, Placing
from tripplan.planner import make_plan
from tripplan.records.catalogue import Catalogue
from tripplan.records.facts_in import Leg, Trip
from tripplan.records.plan import Plan, PlanItem
from tripplan.records.units import KM_PER_MILE
from tripplan.trip.timeline import add_months

SHIPPED, _ = read_catalogue()
QUICK = settings(
    max_examples=60, deadline=None, suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large]
)
SLOWER = settings(QUICK, max_examples=30)
FELT = {"system": "driveline", "dust": "high", "corrugation": "high", "heat": "high", "load": "high", "water": "high"}
DONE = (row(date(2026, 6, 1), 0, "bearings", "repack"), row(TODAY, 0, number=3))


def plan_of(case: Case, place: Callable[[PlacementProblem], Placing] = place_optimally) -> Plan:
    """The plan of a case."""
    return make_plan(rig(case.unit), case.rows, case.trip, case.catalogue, TODAY, (), place)


def standings_of(case: Case) -> tuple[Standing, ...]:
    """The standings of a case, nothing placed."""
    return looked_at(case.trip, *case.rows, catalogue=case.catalogue, units=(case.unit,))[1]


def ends(standing: Standing) -> tuple[float, float]:
    """Trip km at which it runs out, typical and with reserve; endless where it lasts."""
    return tuple(  # type: ignore[return-value]
        end.trip_km if end else math.inf for end in (standing.runs_out, standing.runs_out_reserve)
    )


def only_item(one_trip: Trip, interval_km: float, known: Catalogue | None = None, **changes: Any) -> Standing:
    """The standing of one fresh item that feels everything."""
    item = thing(km=interval_km, **{**FELT, **changes})
    catalogue = known.model_copy(update={"items": (item,)}) if known else tables(item)
    return looked_at(one_trip, *DONE, catalogue=catalogue)[1][0]


class TestNeutral:
    """On a trip whose grades are all neutral the interval in force is the base interval."""

    @QUICK
    @given(st.lists(st.integers(10, 900), min_size=1, max_size=5), st.integers(1, 4000))
    def test_the_interval_runs_out_at_itself(self, distances_km: list[int], interval_km: int) -> None:
        """Otherwise every interval of the tables would be wrong on the road it was made for."""
        neutral = trip(*(leg(i, km, DEPART + timedelta(days=3 * i)) for i, km in enumerate(distances_km, 1)))
        typical_km, reserve_km = ends(only_item(neutral, interval_km, SHIPPED))
        lasts = interval_km >= sum(distances_km)
        assert typical_km == reserve_km
        assert typical_km == (math.inf if lasts else pytest.approx(interval_km, rel=1e-12))


class TestMonotone:
    """A harsher grade of any one condition never makes an item last longer."""

    @QUICK
    @given(grades(), st.sampled_from(sorted(GRADES)), st.booleans(), st.integers(5, 60), st.data())
    def test_every_condition(
        self, graded: dict[str, Any], name: str, shipped: bool, hundreds: int, data: st.DataObject
    ) -> None:
        """Otherwise more dust, washboard, heat, load or mud could put work off."""
        values = GRADES[name]
        low = data.draw(st.integers(0, len(values) - 2))
        high = data.draw(st.integers(low + 1, len(values) - 1))
        known = SHIPPED if shipped else None
        mild, harsh = (
            ends(only_item(trip(leg(1, 3000, **{**graded, name: values[grade]})), hundreds * 100, known))
            for grade in (low, high)
        )
        assert harsh[0] <= mild[0] * (1 + 1e-9)
        assert harsh[1] <= mild[1] * (1 + 1e-9)

    @QUICK
    @given(st.floats(0, 1), st.floats(0, 1), st.floats(0, 2), st.floats(0, 2))
    def test_depth_and_low_range(self, share: float, more: float, depth_m: float, deeper_m: float) -> None:
        """Otherwise deeper water or more low range could put work off."""

        def end(low_range: float, depth: float) -> tuple[float, float]:
            ford = () if depth == 0 else (crossing(1, 100, depth),)
            return ends(only_item(trip(leg(1, 3000, low_range_km=3000 * low_range), crossings=ford), 2000,
                                  points="hub_centre"))  # fmt: skip

        low, high = sorted((share, more))
        shallow, deep = sorted((depth_m, deeper_m))
        assert all(a <= b * (1 + 1e-9) for a, b in zip(end(high, deep), end(low, shallow), strict=True))


def halved(one: Trip, index: int, share: float) -> Trip | None:
    """The trip with one leg cut in two on its first day of driving; the second part keeps its number."""
    whole = one.legs[index]
    cut_km = round(min(whole.distance_km, whole.speed_kmh * 8) * share, 3)
    near = [c for c in one.crossings if c.leg == whole.leg and abs(c.at_km - cut_km) < 0.01]
    if near or not 0.01 < cut_km < whole.distance_km - 0.01:
        return None
    low = whole.low_range_km / whole.distance_km
    first = whole.model_copy(
        update={"leg": whole.leg - 5, "distance_km": cut_km, "low_range_km": low * cut_km, "to": "half"}
    )
    rest_km = whole.distance_km - cut_km
    second = whole.model_copy(update={"distance_km": rest_km, "low_range_km": low * rest_km, "from_": "half"})
    wet = tuple(
        c if c.leg != whole.leg
        else c.model_copy(update={"leg": first.leg}) if c.at_km < cut_km
        else c.model_copy(update={"at_km": c.at_km - cut_km})
        for c in one.crossings
    )  # fmt: skip
    return one.model_copy(update={"legs": (*one.legs[:index], first, second, *one.legs[index + 1 :]), "crossings": wet})


class TestSplit:
    """Cutting a leg in two of the same kind changes nothing."""

    @QUICK
    @given(cases(), st.integers(0, 3), st.floats(0.05, 0.95))
    def test_where_it_runs_out(self, case: Case, index: int, share: float) -> None:
        """Otherwise the owner could move a failure by writing a leg as two rows."""
        cut = halved(case.trip, index % len(case.trip.legs), share)
        assume(cut is not None)
        assert cut is not None
        before, after = standings_of(case), standings_of(Case(case.unit, case.rows, cut, case.catalogue))
        for one, two in zip(before, after, strict=True):
            assert one.verdict == two.verdict
            for end, other in ((one.runs_out, two.runs_out), (one.runs_out_reserve, two.runs_out_reserve)):
                assert (end is None) == (other is None)
                if end and other:
                    assert other.trip_km == pytest.approx(end.trip_km, rel=1e-6, abs=1e-3)
                    assert other.meter == end.meter
                    assert other.date == end.date

    @SLOWER
    @given(cases(), st.integers(0, 3), st.floats(0.05, 0.95))
    def test_where_the_work_is_placed(self, case: Case, index: int, share: float) -> None:
        """Otherwise the plan would depend on how many rows the road is written in."""
        cut = halved(case.trip, index % len(case.trip.legs), share)
        assume(cut is not None)
        assert cut is not None
        before, after = plan_of(case), plan_of(Case(case.unit, case.rows, cut, case.catalogue))
        for one, two in zip(before.items, after.items, strict=True):
            assert (one.item, one.position) == (two.item, two.position)
            if one.share_used_at_return is not None:
                assert two.share_used_at_return == pytest.approx(one.share_used_at_return, rel=1e-6)
        assert after.totals.plan.cost == pytest.approx(before.totals.plan.cost, rel=0.01)


class TestOrder:
    """The order of history rows does not matter; the same call gives the same plan."""

    @SLOWER
    @given(cases(), st.integers(0, 1000))
    def test_shuffled_history(self, case: Case, seed: int) -> None:
        """Otherwise sorting the spreadsheet another way, or a second look at the same one, would change the work."""
        rows = list(case.rows)
        random.Random(seed).shuffle(rows)
        assert plan_of(Case(case.unit, tuple(rows), case.trip, case.catalogue)) == plan_of(case)


class TestCrossing:
    """One more crossing only adds work or brings it forward."""

    @QUICK
    @given(cases(), st.integers(0, 3), st.floats(0, 1), st.sampled_from((0.1, 0.35, 0.9)))
    def test_added(self, case: Case, index: int, share: float, depth_m: float) -> None:
        """Otherwise water could be good for a bearing."""
        where = case.trip.legs[index % len(case.trip.legs)]
        more = (*case.trip.crossings, crossing(where.leg, round(share * where.distance_km, 3), depth_m))
        wetter = Case(case.unit, case.rows, case.trip.model_copy(update={"crossings": more}), case.catalogue)
        for dry, wet in zip(standings_of(case), standings_of(wetter), strict=True):
            for before, after in zip(ends(dry), ends(wet), strict=True):
                assert after <= before * (1 + 1e-9) + 1e-6
        calls = [
            [(a.item, a.position, a.act) for c in plan_of(one, place_greedily).crossings for a in c.acts]
            for one in (case, wetter)
        ]
        for act in set(calls[0]):
            assert calls[1].count(act) >= calls[0].count(act)


class TestReset:
    """Recording the act today makes the item fresh."""

    @SLOWER
    @given(cases(), st.integers(0, 3))
    def test_recorded_today(self, case: Case, index: int) -> None:
        """Otherwise logging work done would not take it off the list."""
        item = case.catalogue.items[index % len(case.catalogue.items)]
        done = row(
            TODAY, case.rows[-1].odometer_km, item.id, "repack", 100, position="both" if item.positions else None
        )
        found = standings_of(Case(case.unit, (*case.rows, done), case.trip, case.catalogue))
        for standing in [one for one in found if one.item.id == item.id]:
            assert standing.done is not None and standing.done.day == TODAY
            assert standing.bad is None
            assert all(limit.used == pytest.approx(0, abs=1e-9) for limit in standing.limits)
            assert standing.verdict != "no record"


class TestMiles:
    """The same folder in miles and in km gives the same plan to rounding."""

    @pytest.mark.parametrize("decimals", [6])
    def test_a_folder(self, tmp_path: Path, decimals: int) -> None:
        """Otherwise an owner who counts in miles would be given another plan."""
        metric, imperial = good_folder(tmp_path / "km"), good_folder(tmp_path / "mi")
        (imperial / "history.csv").write_text(in_miles(HISTORY, {"odometer_km"}, decimals), encoding="utf-8")
        (imperial / "legs.csv").write_text(in_miles(LEGS, {"distance_km", "low_range_km"}, decimals), encoding="utf-8")
        plans = []
        for folder in (metric, imperial):
            inputs, catalogue, problems = load(folder, FOLDER_TODAY)
            assert inputs is not None
            plans.append(make_plan(inputs.rig, inputs.history, inputs.trip, catalogue, FOLDER_TODAY, problems))
        for one, two in zip(plans[0].items, plans[1].items, strict=True):
            assert (one.item, one.position, one.verdict) == (two.item, two.position, two.verdict)
            for end, other in ((one.runs_out, two.runs_out), (one.runs_out_reserve, two.runs_out_reserve)):
                assert (end is None) == (other is None)
                if end and other:
                    assert other.trip_km == pytest.approx(end.trip_km, abs=0.01)
        assert plans[1].totals.plan.minutes == pytest.approx(plans[0].totals.plan.minutes, abs=0.01)


def in_miles(text: str, columns: set[str], decimals: int) -> str:
    """A table with those columns in miles, by name and by figure."""
    header, *rows = [line.split(",") for line in text.strip().splitlines()]
    spots = {index for index, name in enumerate(header) if name in columns}
    names = [name[:-3] + "_mi" if index in spots else name for index, name in enumerate(header)]
    out = [
        [
            f"{float(cell) / KM_PER_MILE:.{decimals}f}" if index in spots and cell else cell
            for index, cell in enumerate(cells)
        ]
        for cells in rows
    ]
    return "\n".join(",".join(cells) for cells in (names, *out)) + "\n"


RENEWING = ("grease", "adjust", "torque", "drain and refill", "repack", "renew", "clean")
TOLERANCE = 0.1  # of an interval, as published for lubrication points


class TestPlaced:
    """Work stays inside the time there is, and items inside their limits, or the plan says not."""

    @SLOWER
    @given(cases())
    def test_no_slot_is_overfull(self, case: Case) -> None:
        """Otherwise the worksheet would not fit the day."""
        for slot in plan_of(case).slots:
            if slot.minutes_available is not None:
                assert slot.minutes_planned <= slot.minutes_available + 1e-6
            assert slot.minutes_planned >= 0

    @SLOWER
    @given(cases())
    def test_every_job_suits_its_place(self, case: Case) -> None:
        """Otherwise a press would be needed beside a camp fire, or parts before they arrive."""
        rank = {"camp": 1, "town": 2, "workshop": 3}
        needed = {item.id: item for item in case.catalogue.items}
        for slot in plan_of(case).slots:
            for job in slot.jobs:
                if job.kind == "service":
                    item = needed[job.item]
                    assert rank[slot.facility] >= rank[item.facility]
                    late = (slot.date - TODAY).days >= item.parts_lead_days
                    assert late or slot.kind == "after"

    @settings(QUICK, max_examples=60)
    @given(cases())
    def test_every_path_keeps_its_interval(self, case: Case) -> None:
        """Otherwise what can hurt somebody would be run past its limit without a word; the rest may wait, and is priced.

        Worked out again here from the plan alone: wear by leg, limits, slots and their legs.
        """
        plan = plan_of(case)
        meters = {item.id: item for item in case.catalogue.items}
        for item in plan.items:
            if item.harms and item.act in RENEWING and not item.unmet:
                assert path_holds(plan, item, case, meters[item.item].months), item.item


def path_holds(plan: Plan, item: PlanItem, case: Case, months: float | None) -> bool:
    """True when no stretch between two renewals, from today to home, uses up an interval."""
    slots = {slot.id: slot for slot in plan.slots}
    visits = [slots[name] for name in item.placed]
    if item.verdict in ("no record", "due before departure") and not visits:
        return False
    order = [number.number for number in plan.legs]
    for limit in item.limits:
        if limit.meter == "months":
            continue
        idle = (limit.at_departure or 0) - (limit.used or 0)
        worn = {w.leg: w.use * w.multiplier + w.water_use for w in item.wear if w.meter == limit.meter}
        since, driven_from, at_home = limit.used or 0.0, 0, True
        fresh = item.verdict in ("no record", "due before departure")
        for slot in [*visits, None]:
            to = len(order) if slot is None else order.index(slot.after_leg) + 1 if slot.kind != "workshop" else 0
            leaves = at_home and (slot is None or slot.kind != "workshop")
            use = since + (idle if leaves and not fresh else 0) + sum(worn.get(n, 0.0) for n in order[driven_from:to])
            if not fresh and use > limit.interval * (1 + TOLERANCE) + 1e-6:
                return False
            since, driven_from, fresh = 0.0, to, False
            at_home = slot is not None and slot.kind == "workshop"
            idle = idle_from(slot.date, limit.meter, case) if at_home and slot else 0.0
    return months is None or calendar_holds(plan, item, visits, months)


def idle_from(day: date, meter: str, case: Case) -> float:
    """Use between a workshop day and departure: the usual week and the shakedown."""
    rate = {"km": 1.0, "engine_hours": 1 / 50}.get(meter, 0.0)
    weekly_km = case.unit.usual_km_per_week or 0.0
    return rate * (weekly_km * (case.trip.depart - day).days / 7 + case.trip.shakedown_km)


def calendar_holds(plan: Plan, item: PlanItem, visits: Sequence[Any], months: float) -> bool:
    """True when no two renewals, nor the last and the day after return, are further apart than the months."""
    home = plan.return_ + timedelta(days=1)
    last = item.last_done
    if item.verdict in ("no record", "due before departure"):
        last = visits[0].date
    days = [slot.date for slot in visits] + [home]
    for day in days:
        if last is not None and day > add_months(last, months) and day > last:
            return False
        last = day
    return True


class TestText:
    """What is written as text and read again is the same record."""

    @QUICK
    @given(cases())
    def test_history_and_legs(self, case: Case) -> None:
        """Otherwise a row kept in the logbook would come back as another one."""
        for one in (*case.rows, *case.trip.legs, *case.trip.crossings):
            assert record_of(texts_of_body(body_of(one)), type(one), one.origin) == one


class TestLegs:
    """The invented legs themselves."""

    @QUICK
    @given(legs())
    def test_they_are_in_order(self, drawn: tuple[Leg, ...]) -> None:
        """Otherwise these rules would be tried on trips that no reader lets through."""
        assert [one.leg for one in drawn] == sorted(one.leg for one in drawn)
        assert all(a.date <= b.date for a, b in pairwise(drawn))
