"""The tables as one record: what is looked up in them is what stands in them."""

from tests.small import tables, thing


def test_changed_tables_forget_what_was_looked_up_in_the_old_ones() -> None:
    """If not, an interval that findings changed would be the old one wherever the item is looked up by its id."""
    before = tables(thing())
    item = before.item(thing().id)
    after = before.model_copy(update={"items": (item.model_copy(update={"name": "another"}),)})
    assert after.item(item.id).name == "another"
    assert before.item(item.id).name == item.name
    assert before.stock.keys() == {row.id for row in before.consumables}
    assert before.model_copy(update={"consumables": ()}).stock == {}


def test_tables_in_which_something_was_looked_up_are_the_same_tables() -> None:
    """If not, equal records would be planned twice, and a copy of them refused."""
    looked, untouched = tables(thing()), tables(thing())
    looked.item(thing().id)
    assert looked.stock
    assert looked == untouched
    assert type(looked)(**dict(looked)) == untouched
