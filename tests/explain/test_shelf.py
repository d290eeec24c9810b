"""The owner's shelf taken off the shopping list, in whole tins. All of it is invented."""

from collections.abc import Sequence
from datetime import date
from typing import Any

from msgspec.structs import replace

from tests.sample_plan import sample_plan
from tripplan.explain import shelf as the_shelf
from tripplan.explain.orders import Ask
from tripplan.explain.shelf import priced, shelf_problems, stocks
from tripplan.files.data_tables import read_catalogue
from tripplan.records.catalogue import Consumable
from tripplan.records.facts_in import Origin
from tripplan.records.plan import Need, Use
from tripplan.records.plan_work import Material
from tripplan.records.shelf import ShelfRow

STOCK = read_catalogue()[0].consumables


def need(what: str, quantity: float, when: str = "before departure", unit: str = "g") -> Need:
    """A need of the plan."""
    return Need(
        what=what,
        name=what,
        kind="grease",
        quantity=quantity,
        unit_of_measure=unit,
        uses=(Use(act="grease", name="Joint", unit="wagon"),),
        when=when,
    )


def less_shelf(
    shopping: Sequence[Need], carry: Sequence[Need], shelf: Sequence[ShelfRow], known: tuple[Consumable, ...]
) -> tuple[tuple[Need, ...], tuple[Need, ...]]:
    """Both lists less the shelf, each line one use of its thing on no known day."""
    asks = [Ask(one.when, one.what, one.quantity, None, 0.0, "") for one in (*shopping, *carry)]
    return the_shelf.less_shelf(shopping, carry, shelf, known, asks)


def on_shelf(what: str, quantity: float, unit: str = "g", **more: Any) -> ShelfRow:
    """One row of the shelf file."""
    return ShelfRow.model_validate(
        {"what": what, "quantity": quantity, "unit_of_measure": unit, "origin": Origin(file="shelf.csv", row=2), **more}
    )


def test_no_shelf_changes_nothing() -> None:
    """An owner without the file would find another list."""
    needs = (need("wheel_bearing_grease", 240), need("engine_oil", 8, unit="L"))
    same, nothing = less_shelf(needs, (), (), STOCK)
    assert [(n.what, n.quantity, n.on_shelf) for n in same] == [("wheel_bearing_grease", 240, 0), ("engine_oil", 8, 0)]
    assert nothing == ()


def test_without_a_shelf_a_pack_is_as_commonly_sold() -> None:
    """The list would ask for 240 g of grease, which no shop weighs out. 8 L of oil are two cans of 5 L."""
    needs = (need("wheel_bearing_grease", 240), need("engine_oil", 8, unit="L"), need("hub_seal", 2, unit="piece"))
    found = less_shelf(needs, (), (), STOCK)[0]
    assert [(n.pack, n.containers, n.container_size) for n in found] == [
        ("cartridge", 1, 400), ("can", 2, 5), ("container", None, None),
    ]  # fmt: skip


def test_a_price_is_the_owners_and_counts_whole_packs() -> None:
    """The till would ask for another sum than the list: 450 g are two cartridges at 12.50, four seals at 9 are 36."""
    shelf = [on_shelf("wheel_bearing_grease", 0, price=12.5), on_shelf("hub_seal", 0, "piece", price=9)]
    needs = (need("wheel_bearing_grease", 450), need("hub_seal", 4, unit="piece"), need("engine_oil", 8, unit="L"))
    assert [n.cost for n in less_shelf(needs, (), shelf, STOCK)[0]] == [25, 36, None]


def test_a_day_costs_its_share_of_each_pack() -> None:
    """A day with 80 g of a 400 g cartridge at 12.50 costs 2.50, and says that its rag has no price."""
    first = sample_plan().slots[0]
    used = (material("wheel_bearing_grease", 80), material("rag", 1))
    slot = replace(first, jobs=(replace(first.jobs[0], materials=used),))
    [told] = priced([slot], [on_shelf("wheel_bearing_grease", 0, price=12.5)], STOCK)
    assert (told.materials_cost, told.unpriced) == (2.5, 1)
    assert priced([slot], [on_shelf("wheel_bearing_grease", 20)], STOCK) == (slot,)


def material(what: str, quantity: float) -> Material:
    """Something a job uses up."""
    return Material(what=what, name=what, quantity=quantity, measure="g")


def test_what_is_there_is_not_bought() -> None:
    """The owner would buy a second tin of what stands on the shelf."""
    [left], _ = less_shelf((need("wheel_bearing_grease", 240),), (), [on_shelf("wheel_bearing_grease", 150)], STOCK)
    assert (left.quantity, left.on_shelf, left.containers) == (90, 150, 1)
    assert less_shelf((need("wheel_bearing_grease", 240),), (), [on_shelf("wheel_bearing_grease", 400)], STOCK)[0] == ()


def test_tins_are_bought_whole() -> None:
    """450 g would be one cartridge of 400 g."""
    row = on_shelf("Wheel bearing grease", 0, container_size=400)
    [left], _ = less_shelf((need("wheel_bearing_grease", 450),), (), [row], STOCK)
    assert (left.containers, left.container_size) == (2, 400)
    [exact], _ = less_shelf((need("wheel_bearing_grease", 800),), (), [row], STOCK)
    assert exact.containers == 2


def test_the_shelf_is_given_out_once() -> None:
    """One tin would serve the workshop, the box in the car and the work after return."""
    shopping = (need("engine_oil", 8, "after return", "L"), need("engine_oil", 8, unit="L"))
    carry = (need("engine_oil", 2, "carry", "L"),)
    bought, carried = less_shelf(shopping, carry, [on_shelf("engine_oil", 9, "L", container_size=5)], STOCK)
    assert [(n.when, n.quantity, n.on_shelf, n.from_opened) for n in bought] == [("after return", 4, 0, 4)]
    assert [(n.quantity, n.on_shelf, n.containers) for n in carried] == [(2, 1, 1)]
    assert bought[0].containers == 1


def test_units_are_converted_or_refused() -> None:
    """Half a kilogram would count as half a gram, or a litre of grease as grams."""
    assert stocks([on_shelf("wheel_bearing_grease", 0.5, "kg")], STOCK)["wheel_bearing_grease"].quantity == 500
    rows = [on_shelf("wheel_bearing_grease", 1, "L"), on_shelf("unobtainium", 1)]
    assert stocks(rows, STOCK) == {}
    assert [found.code for found in shelf_problems(rows, STOCK)] == ["G11", "G10"]


def test_what_is_on_its_way_serves_only_what_comes_after_it() -> None:
    """Seals that come on 10 June would be counted for the hub packed on 6 June, and it would stand open without them."""
    row = on_shelf("hub_seal", 2, "piece", arrives="2026-06-10")
    early, late = (Ask("before departure", "hub_seal", 2, date(2026, 6, day), 0, "") for day in (6, 13))
    lines = (need("hub_seal", 4, unit="piece"),)
    [left], _ = the_shelf.less_shelf(lines, (), [row], STOCK, [early, late])
    assert (left.quantity, left.on_shelf) == (2, 2)
    [none], _ = the_shelf.less_shelf((need("hub_seal", 2, unit="piece"),), (), [row], STOCK, [early])
    assert (none.quantity, none.on_shelf) == (2, 0)


def test_what_was_planned_with_the_shelf_has_it_first() -> None:
    """The part ordered for the springs would go to other work before them, and be ordered anew when it is too late."""
    first = Ask("before departure", "worn_part", 1, date(2026, 6, 6), 7, "")
    held = Ask("after return", "worn_part", 1, date(2026, 7, 1), 14, "", True)
    lines = (need("worn_part", 1, unit="piece"), need("worn_part", 1, "after return", "piece"))
    bought, _ = the_shelf.less_shelf(lines, (), [on_shelf("worn_part", 1, "piece")], STOCK, [first, held])
    assert [(one.when, one.quantity) for one in bought] == [("before departure", 1)]
