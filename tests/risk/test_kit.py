"""The kit: demand from the trip's own failures, what mends them, shops, shelf, and what is left out and why."""

from datetime import date
from typing import Any

import pytest

from tests.risk.test_home import KNOWN, solved
from tests.small import SOURCED, leg, looked_at, stop, tables, thing, trip, water_rule, workshop
from tripplan.placing.problem import Placing
from tripplan.records.catalogue import Catalogue, Consumable
from tripplan.records.facts_in import Trip
from tripplan.records.mending import Spare
from tripplan.records.plan_kit import CarryKit, LeftOutWhy
from tripplan.risk.home import totals_of
from tripplan.risk.kit import carry_kit, spare_parts
from tripplan.risk.poisson import more_than
from tripplan.sheets.kit_text import kit_text
from tripplan.water.crossing import calls

REMOTE = trip(leg(1, 1000, remote=True), leg(2, 1000, date(2026, 7, 5), remote=True),
              workshop_days=(workshop(date(2026, 6, 25)),))  # fmt: skip
BEARINGS, JOINTS = thing("bearings", km=10000), thing("joints", km=10000, act="grease")


def part(name: str, kg: float, litres: float = 1.0, kind: str = "part") -> Consumable:
    """A part with its weight and volume."""
    values: dict[str, Any] = {
        "id": name, "name": name, "kind": kind, "unit_of_measure": "piece", "weight_kg": kg, "volume_l": litres, **SOURCED,
    }  # fmt: skip
    return Consumable.model_validate(values)


def spare(item: str, what: str, **changes: Any) -> Spare:
    """A part that mends every failure of an item in an hour of the home shed, in a camp."""
    values = {"item": item, "part": what, "quantity": 1, "mends_share": 1, "minutes": 60, "facility": "camp", **SOURCED}
    return Spare.model_validate({**values, **changes})


def kit(catalogue: Catalogue, kg: float = 100, litres: float = 100, one_trip: Trip = REMOTE, **more: Any) -> CarryKit:
    """The kit of that trip with nothing done."""
    s, standings = looked_at(one_trip, *KNOWN, catalogue=catalogue)
    pairs = tuple((x.unit, x.item, x.position) for x in standings)
    called = calls(pairs, s.timeline, s.catalogue, s.history, s.allowance_m, s.trip.trailer_hubs_after_water, s.today)
    _, problem, _, _ = solved(one_trip, catalogue)
    r, _, _, _ = solved(one_trip, catalogue, Placing(((),) * len(problem.tasks), (), "test"))
    parts = spare_parts(r, called, s)
    return carry_kit(parts, float((totals_of(r).plan.hours).sum()), kg, litres, **more)


def test_a_part_saves_what_its_demands_would_stand_less_the_fitting() -> None:
    """The worth of a part would not be that of the hours: 0.8 used at the start, 1.0 at the end, 30 / 570 (1 - 0.64)."""
    found = kit(tables(BEARINGS, consumables=(part("set", 2),), spares=(spare("bearings", "set"),)))
    demand = 30 / 570 * (1.0**2 - 0.8**2)
    line = found.lines[0]
    assert line.demand_expected == pytest.approx(demand)
    # 48 h to help, 2 h to fit in a camp, where an hour of the shed takes two
    assert found.steps[0].saved_hours == pytest.approx((48 - 2) * float(more_than(0, demand)))
    assert found.standing_hours_expected == pytest.approx(48 * demand)


def test_items_share_a_part_and_its_demand() -> None:
    """Two seals would be carried where one does for either."""
    both = tables(
        BEARINGS, JOINTS, consumables=(part("set", 2),), spares=(spare("bearings", "set"), spare("joints", "set"))
    )
    demand = 2 * 30 / 570 * (1.0**2 - 0.8**2)
    found = kit(both)
    assert found.lines[0].demand_expected == pytest.approx(demand)
    assert found.lines[0].for_items == ("Bearings", "Joints")
    assert found.steps[0].saved_hours == pytest.approx(46 * float(more_than(0, demand)))


def test_what_cannot_be_fitted_in_a_camp_is_left_out_by_name() -> None:
    """The owner would carry a part that only a press can fit."""
    found = kit(
        tables(BEARINGS, consumables=(part("set", 2),), spares=(spare("bearings", "set", facility="workshop"),))
    )
    assert not found.lines and found.left_out[0].why == LeftOutWhy.NO_CAMP and found.left_out[0].saved_hours > 0


def test_what_is_too_heavy_or_has_no_weight_is_left_out_by_name() -> None:
    """A wheel of 24 kg would be squeezed into a box for 10."""
    wares = (part("wheel", 24), Consumable.model_validate({**part("box", 1).model_dump(), "weight_kg": None}))
    found = kit(
        tables(BEARINGS, JOINTS, consumables=wares, spares=(spare("bearings", "wheel"), spare("joints", "box"))), 10
    )
    assert {(one.part, one.why) for one in found.left_out} == {
        ("wheel", LeftOutWhy.TOO_MUCH), ("box", LeftOutWhy.NO_WEIGHT),
    }  # fmt: skip


def test_the_box_holds_what_is_worth_most() -> None:
    """Both limits hold; what goes beside a part weighs too."""
    wares = (part("set", 3), part("seal", 1), part("joint", 3))
    spares = (spare("bearings", "set", beside="seal 2"), spare("joints", "joint", mends_share=0.9))
    found = kit(tables(BEARINGS, JOINTS, consumables=wares, spares=spares), kg=5.0)
    assert [line.part for line in found.lines] == ["set"] and found.weight_kg == pytest.approx(5.0)
    assert found.is_exact and found.lines[0].beside == ("2 seals",)
    assert [line.part for line in kit(tables(BEARINGS, JOINTS, consumables=wares, spares=spares), kg=4.9).lines] == [
        "joint"
    ]


def test_a_shop_on_the_way_sells_again_what_it_has() -> None:
    """Oil for the whole tour would be carried past every town; a part that is ordered counts for the whole trip."""
    town = REMOTE.model_copy(update={"stops": (stop("Town", 1, date(2026, 7, 3), facility="town", minutes=0),)})
    oil, ordered = (
        kit(
            tables(BEARINGS, consumables=(part("oil", 1, kind=kind),), spares=(spare("bearings", "oil"),)),
            one_trip=town,
        )
        for kind in ("oil", "part")
    )
    first, second = (30 / 570 * (b**2 - a**2) for a, b in ((0.8, 0.9), (0.9, 1.0)))
    assert oil.lines[0].sold_at == ("Town",) and ordered.lines[0].sold_at == ()
    assert oil.steps[0].saved_hours == pytest.approx(46 * float(more_than(0, first) + more_than(0, second)))
    assert ordered.steps[0].saved_hours == pytest.approx(46 * float(more_than(0, first + second)))


def test_the_shelf_is_counted() -> None:
    """The owner would buy what stands in the shed."""
    found = kit(tables(BEARINGS, consumables=(part("set", 2),), spares=(spare("bearings", "set"),)), shelf={"set": 5.0})
    assert (found.lines[0].on_shelf, found.lines[0].to_get) == (found.lines[0].count, 0)


def test_materials_for_what_a_look_decides_are_worth_the_water_they_take_out() -> None:
    """Nothing to repack with would be aboard when the hub is found wet."""
    item = thing("bearings", km=10000, water="high", points="hub_centre", consumables="grease 2")
    wet = trip(leg(1, 1000, remote=True), leg(2, 1000, date(2026, 7, 5), remote=True),
               stops=(stop("A", 1, date(2026, 7, 4), facility="camp"),),
               crossings=({"leg": 1, "at_km": 500, "depth_m": 0.8, "water": "fresh", "origin": leg(1, 1).origin},))  # fmt: skip
    rules = (
        water_rule("bearings", "halt", "look", within_days=30),
        water_rule("bearings", "days", "repack", told_from=1, decided_by="bearings look", resets=True, within_days=30),
    )
    found = kit(tables(item, consumables=(part("grease", 0.5, kind="grease"),), water_rules=rules), one_trip=wet)
    (line,) = [line for line in found.lines if line.contingent]
    # 0.2 chance of water, 3 h for an interval more used, 48 h to help on both legs
    assert line.saved_hours == pytest.approx(0.2 * 3 * 30 / 570 * 48)
    assert line.beside == ("2 greases",) and line.weight_kg == pytest.approx(1.0)


def test_the_list_is_in_order_of_worth_for_weight_and_says_no_word_of_safety() -> None:
    """The first piece left at home would be the one worth most."""
    wares = (part("set", 3), part("joint", 1))
    found = kit(
        tables(BEARINGS, JOINTS, consumables=wares, spares=(spare("bearings", "set"), spare("joints", "joint")))
    )
    rates = [step.saved_hours_per_kg for step in found.steps]
    assert rates == sorted(rates, reverse=True) and found.steps[0].part == "joint"
    assert found.saved_hours == pytest.approx(sum(step.saved_hours for step in found.steps))
    text = kit_text(found, "Trip")
    assert text.count("[ ] ") == len(found.lines) and "makes no trip safe" in text


@pytest.mark.parametrize(
    ("facility", "stops", "is_carried"),
    [
        ("camp", (), True),
        ("town", (), False),
        ("town", (("A", 1, "camp"),), False),
        ("town", (("A", 1, "camp"), ("B", 1, "town")), True),  # one place behind the ford is enough
        ("town", (("A", 1, "workshop"),), True),
        ("workshop", (("A", 1, "town"),), False),
    ],
)
def test_materials_are_carried_where_some_place_behind_the_water_can_use_them(
    facility: str, stops: tuple[tuple[str, int, str], ...], is_carried: bool
) -> None:
    """If all places had to, a camp on the way would keep the grease at home that the next town puts in."""
    item = thing("bearings", km=10000, water="high", points="hub_centre", consumables="grease 2")
    wet = trip(leg(1, 1000, remote=True), leg(2, 1000, date(2026, 7, 5), remote=True),
               stops=tuple(stop(name, after, date(2026, 7, 4), facility=kind) for name, after, kind in stops),
               crossings=({"leg": 1, "at_km": 500, "depth_m": 0.8, "water": "fresh", "origin": leg(1, 1).origin},))  # fmt: skip
    rules = (
        water_rule("bearings", "halt", "look", within_days=30),
        water_rule("bearings", "days", "repack", told_from=1, decided_by="bearings look", resets=True, within_days=30,
                   facility=facility),
    )  # fmt: skip
    found = kit(tables(item, consumables=(part("grease", 0.5, kind="grease"),), water_rules=rules), one_trip=wet)
    assert bool([line for line in found.lines if line.contingent]) is is_carried
