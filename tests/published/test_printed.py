"""The comparison rule itself: no source, arithmetic."""

from tests.published.printed import agrees


def test_half_of_the_last_digit_is_allowed_and_no_more() -> None:
    """Every check against print would pass or fail wrongly, so wrong numbers could enter a plan."""
    assert agrees("0.64", 0.6449)
    assert not agrees("0.64", 0.6451)
    assert agrees("833e3", 833_333)
    assert not agrees("833", 833.6)
    assert agrees("50", 50.0)
