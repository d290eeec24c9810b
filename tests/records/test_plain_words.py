"""Days, names and km as a person says them."""

from datetime import date

import pytest

from tripplan.records.plain_words import day_and_month, day_and_year, km_past, lower_first, so_much


@pytest.mark.parametrize(
    ("when", "words"),
    [(date(2026, 1, 1), "1 January"), (date(2026, 6, 6), "6 June"), (date(2026, 12, 31), "31 December")],
)
def test_days(when: date, words: str) -> None:
    """If not, work would be told for the wrong month."""
    assert day_and_month(when) == words and day_and_year(when) == f"{words} 2026"


@pytest.mark.parametrize(
    ("name", "words"),
    [("Brake fluid", "brake fluid"), ("LPG filter", "LPG filter"), ("U-joints", "U-joints"), ("", "")],
)
def test_a_name_inside_a_sentence(name: str, words: str) -> None:
    """If not, a sentence would read lPG."""
    assert lower_first(name) == words


@pytest.mark.parametrize(
    ("km", "words"), [(198.4, "198 km past Far Ledger"), (0.4, "at Far Ledger"), (0.6, "1 km past Far Ledger")]
)
def test_a_point_of_a_leg(km: float, words: str) -> None:
    """If not, a place would be told as no km past itself."""
    assert km_past(km, "Far Ledger") == words


def test_so_much_of_a_thing_reads_as_it_is_said() -> None:
    """If not, a list to carry would ask for 1 bulbs and fuses, and for rag 2 piece."""
    assert so_much(2, "piece", "hub seal") == "2 hub seals" and so_much(1, "piece", "hub seal") == "1 hub seal"
    assert so_much(95, "g", "wheel bearing grease") == "95 g of wheel bearing grease"
    assert so_much(0.5, "L", "brake fluid") == "0.5 L of brake fluid"
    assert so_much(1, "set", "bulbs and fuses") == "a set of bulbs and fuses"
    assert so_much(2, "set", "bulbs and fuses") == "2 sets of bulbs and fuses"
    assert so_much(2, "set", "knuckle shim set") == "2 knuckle shim sets"
    assert so_much(1, "set", "timing belt kit") == "1 timing belt kit"
