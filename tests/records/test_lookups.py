"""Looking things up: an item by what a person calls it, and the history rows that count."""

from datetime import date

import pytest

from tests.small import row, tables, thing
from tripplan.records.lookups import facts_of, item_index, resolve_item, without_duplicates

ITEMS = tables(
    thing("front_wheel_bearings", name="Front wheel bearings (taper)", short="Front bearings"),
    thing("rear_wheel_bearings", name="Rear wheel bearings (taper)"),
    thing("belts", name="Belts (fan)"),
    thing("belts_ac", name="Belts (air conditioner)"),
)


@pytest.mark.parametrize(
    ("text", "item"),
    [
        ("front_wheel_bearings", "front_wheel_bearings"),
        ("Front wheel bearings (taper)", "front_wheel_bearings"),
        (" FRONT WHEEL BEARINGS ", "front_wheel_bearings"),
        ("front bearings", "front_wheel_bearings"),
        ("rear wheel bearings", "rear_wheel_bearings"),
        ("belts", "belts"),  # the id of one, though two are called so
        ("belts (air conditioner)", "belts_ac"),
        ("Bearings", None),
        ("", None),
    ],
)
def test_an_item_by_what_a_person_calls_it(text: str, item: str | None) -> None:
    """If not, a history written by hand would be refused, or taken for another item."""
    found = resolve_item(ITEMS, text)
    assert (found.id if found else None) == item


def test_a_name_that_two_items_share_names_neither() -> None:
    """If it named one, half of the history would go to the wrong belt."""
    twins = tables(thing("one", name="Belt (fan)"), thing("other", name="Belt (pump)"))
    assert resolve_item(twins, "belt") is None and set(item_index(twins)) == {
        "one",
        "other",
        "belt (fan)",
        "belt (pump)",
    }


def test_rows_that_say_the_same_count_once() -> None:
    """If they counted twice, a book exported two times would double the work; what was struck out counts not at all."""
    first = row(date(2026, 5, 1), 1000, "oil", "renew", number=2)
    again = row(date(2026, 5, 1), 1000, "oil", "renew", number=9)
    other = row(date(2026, 5, 1), 1001, "oil", "renew", number=10)
    struck = row(date(2026, 6, 1), 1200, "oil", "renew", number=11, undone="typed twice")
    assert without_duplicates([first, again, other, struck]) == (first, other)
    assert facts_of(first) == facts_of(again) != facts_of(other)
