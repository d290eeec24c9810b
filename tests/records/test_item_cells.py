"""Cells of an item that hold more than a word: read once, written back the same, refused by name."""

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pydantic import ValidationError

from tests.small import thing, wagon
from tripplan.records.item_cells import Amount, FollowUp, Need

IDS = st.from_regex(r"[a-z][a-z0-9_]{0,12}", fullmatch=True)
SPANS = st.tuples(st.integers(0, 3000), st.integers(0, 3000)).map(sorted)


@given(IDS, SPANS)
def test_a_follow_up_reads_as_it_is_written(name: str, span: list[int]) -> None:
    """A re-check would move, or come back under another name, when a row is printed and copied."""
    [found] = thing(follow_ups=f"{name} {span[0]}-{span[1]} km").follow_ups
    assert found == FollowUp(name, span[0], span[1])
    assert thing(follow_ups=str(found)).follow_ups == (found,)
    assert found.at_once == (span[1] == 0)


@given(IDS, SPANS, st.integers(1, 600))
def test_a_follow_up_may_say_its_own_minutes(name: str, span: list[int], minutes: int) -> None:
    """A hold test of the park brake would be booked as the whole act."""
    [found] = thing(follow_ups=f"{name} {span[0]}-{span[1]} km {minutes} min").follow_ups
    assert found == FollowUp(name, span[0], span[1], minutes)
    assert thing(follow_ups=str(found)).follow_ups == (found,)


@given(IDS, st.decimals(0, 500, places=2))
def test_an_amount_reads_as_it_is_written(name: str, quantity: object) -> None:
    """The shopping list would ask for another quantity than the row says."""
    [found] = thing(consumables=f"{name} {quantity}").consumables
    assert (found.what, f"{found.quantity:.2f}") == (name, f"{quantity:.2f}")
    assert thing(consumables=str(found)).consumables == (found,)


def test_several_entries_are_parted_by_semicolons() -> None:
    """A second material or need would be lost, or the cell taken as one word."""
    item = thing(consumables="rag 1; cleaner 0.3", needs="drive=part-time|full-time;fitted=winch")
    assert item.consumables == (Amount("rag", 1), Amount("cleaner", 0.3))
    assert item.needs == (Need("drive", ("part-time", "full-time")), Need("fitted", ("winch",)))
    assert "; ".join(map(str, item.needs)) == "drive=part-time|full-time; fitted=winch"
    assert item.fits(wagon(fitted=("winch",))) and not item.fits(wagon())
    assert thing(consumables="", needs="", follow_ups="").consumables == ()


@pytest.mark.parametrize(
    ("column", "cell", "accepted"),
    [
        ("follow_ups", "wheel_nuts 50 km", "e.g. wheel_nuts 50-100 km"),
        ("follow_ups", "wheel_nuts 100-50 km", "the nearer distance first"),
        ("follow_ups", "wheel_nuts 50-100", "e.g. wheel_nuts 50-100 km"),
        ("follow_ups", "wheel_nuts 50-100 km 5", "e.g. wheel_nuts 50-100 km"),
        ("consumables", "rag", "e.g. rag 1"),
        ("consumables", "rag one", "e.g. rag 1"),
        ("consumables", "rag -1", "e.g. rag 1"),
        ("needs", "colour=red", "e.g. drive=part-time|full-time"),
        ("needs", "drive", "e.g. drive=part-time|full-time"),
    ],
)
def test_an_entry_of_another_form_is_refused(column: str, cell: str, accepted: str) -> None:
    """A slip of the keys would end in a traceback, or drop a re-check without a word."""
    with pytest.raises(ValidationError) as caught:
        thing(**{column: f"cleaner 1; {cell}" if column == "consumables" else cell})
    [error] = caught.value.errors()
    assert error["loc"] == (column,) and error["type"] == "form"
    assert accepted in error["ctx"]["accepted"]
