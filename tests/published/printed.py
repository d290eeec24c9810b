"""One rule for every comparison with print: half of the last printed digit, no more."""

from decimal import Decimal

ROUNDING_OF_FLOATS = 1e-9


def agrees(printed: str, value: float) -> bool:
    """True when the value rounds to the printed figure.

    "0.64" allows 0.005 either way; "833e3" is a figure printed as 833 thousand, so 500.
    """
    figure = Decimal(printed)
    exponent = figure.as_tuple().exponent
    assert isinstance(exponent, int), f"{printed} is not a figure"
    half_digit = 0.5 * 10.0**exponent
    return abs(value - float(figure)) <= half_digit * (1 + ROUNDING_OF_FLOATS) + 1e-12
