"""Grouping, and the words for sides that are joined by it."""

from tripplan.records.grouped import grouped
from tripplan.records.plain_words import sides


def test_groups_keep_the_order_in_which_they_come() -> None:
    """If not, lists that join left and right would be told in another order than the work is done."""
    pairs = [("b", 1), ("a", 2), ("b", 3)]
    assert list(grouped(pairs).items()) == [("b", [1, 3]), ("a", [2])]
    assert grouped([]) == {}


def test_sides_are_told_once_each() -> None:
    """If not, a job on two sides would be told as four, or one without a side as if it had one."""
    assert sides(["left", "right", "left"]) == "left and right"
    assert sides(["left", None]) == "left"
    assert sides([None, ""]) is None and sides([]) is None
