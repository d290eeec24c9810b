"""The owner's shelf taken off the shopping list, in whole tins. All of it is invented."""

from typing import Any

from tripplan.explain.shelf import ShelfRow, less_shelf, shelf_problems, stocks
from tripplan.files.data_tables import read_catalogue
from tripplan.records.facts_in import Origin
from tripplan.records.plan import Need, Use

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


def on_shelf(what: str, quantity: float, unit: str = "g", **more: Any) -> ShelfRow:
    """One row of the shelf file."""
    return ShelfRow.model_validate(
        {"what": what, "quantity": quantity, "unit_of_measure": unit, "origin": Origin(file="shelf.csv", row=2), **more}
    )


def test_no_shelf_changes_nothing() -> None:
    """An owner without the file would find another list."""
    needs = (need("wheel_bearing_grease", 240), need("engine_oil", 8, unit="L"))
    assert less_shelf(needs, (), (), STOCK) == (needs, ())


def test_what_is_there_is_not_bought() -> None:
    """The owner would buy a second tin of what stands on the shelf."""
    [left], _ = less_shelf((need("wheel_bearing_grease", 240),), (), [on_shelf("wheel_bearing_grease", 150)], STOCK)
    assert (left.quantity, left.on_shelf, left.containers) == (90, 150, None)
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
    assert [(n.when, n.quantity, n.on_shelf) for n in bought] == [("after return", 8, 0)]
    assert [(n.quantity, n.on_shelf, n.containers) for n in carried] == [(2, 1, 1)]
    assert bought[0].containers == 2


def test_units_are_converted_or_refused() -> None:
    """Half a kilogram would count as half a gram, or a litre of grease as grams."""
    assert stocks([on_shelf("wheel_bearing_grease", 0.5, "kg")], STOCK)["wheel_bearing_grease"].quantity == 500
    rows = [on_shelf("wheel_bearing_grease", 1, "L"), on_shelf("unobtainium", 1)]
    assert stocks(rows, STOCK) == {}
    assert [found.code for found in shelf_problems(rows, STOCK)] == ["G11", "G10"]
