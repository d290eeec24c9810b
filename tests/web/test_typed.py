"""What people type into a form: understood where it can mean one thing, refused where it can mean two."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tripplan.web.forms.typed import as_files_have_it, plain_day, plain_number, readings_of


@pytest.mark.parametrize(
    ("typed", "unit", "plain"),
    [
        ("70 cm", "m", "0.7"), ("70cm", "m", "0.7"), ("0,7", "m", "0.7"), ("0.7 m", "m", "0.7"), ("700 mm", "m", "0.7"),
        ("40,5 cm", "mm", "405"), ("0,4 m", "mm", "400"), ("47 300 km", "km", "47300"), ("1.234,5", "km", "1234.5"),
        ("1,234.5", "km", "1234.5"), ("80 km/h", "km/h", "80"), ("34 °C", "°C", "34"), ("1,5 h", "min", "90"),
    ],
)  # fmt: skip
def test_a_figure_is_read_as_it_is_written(typed: str, unit: str, plain: str) -> None:
    """Otherwise a comma or a unit would be an error (SI: 1 m = 100 cm = 1000 mm; decimal comma or point, ISO 80000-1; from memory)."""
    assert plain_number(typed, unit) == plain


@pytest.mark.parametrize("typed", ["70", "1,234", "24O", "7 fathoms", "", "٣", "1 2 3", "-", "0,7,1", "47,300"])
def test_what_may_mean_two_things_stays_as_typed(typed: str) -> None:
    """Otherwise a guess would be planned with: 1,234 km may be one or a thousand."""
    assert plain_number(typed, "km") == typed and plain_number(typed, "m") == typed


@pytest.mark.parametrize(
    ("typed", "plain"),
    [
        ("20/06/2026", "2026-06-20"), ("5.6.2026", "2026-06-05"), ("20 June 2026", "2026-06-20"),
        ("June 20, 2026", "2026-06-20"), ("20 June 2026 7:00", "2026-06-20 07:00"), ("5/5/2026", "2026-05-05"),
        ("20/06/2026 7.30", "2026-06-20 07:30"), ("2026/06/20", "2026-06-20"), ("2026-06-20", "2026-06-20"),
        ("5/6/2026", "5/6/2026"), ("31/02/2026", "31/02/2026"), ("tomorrow", "tomorrow"), ("", ""),
    ],
)  # fmt: skip
def test_a_day_is_read_as_it_is_written(typed: str, plain: str) -> None:
    """Otherwise a day written the usual way would be refused, or one that may be two days would be guessed."""
    assert plain_day(typed) == plain


def test_both_days_are_offered_where_one_is_not_sure() -> None:
    """Otherwise the person would have to find out what is wrong with 5/6/2026."""
    assert readings_of("5/6/2026") == ("2026-06-05", "2026-05-06")


@pytest.mark.parametrize(
    ("column", "typed", "plain"),
    [("depth_m", "70 cm", "0.7"), ("tyre_diameter_mm", "81 cm", "810"), ("note", "70 cm", "70 cm"), ("minutes", "2 h", "120"),
     ("depart", "20/06/2026 07:00", "2026-06-20 07:00"), ("surface", "gravel", "gravel"), ("rate_per_hour", "60,5", "60.5")],
)  # fmt: skip
def test_a_column_says_what_stands_in_it(column: str, typed: str, plain: str) -> None:
    """Otherwise a note would be changed, or a length in centimetres would be taken for metres."""
    assert as_files_have_it(column, typed) == plain


@given(st.decimals(0, 99999, places=2, allow_nan=False))
def test_a_plain_figure_is_never_changed(value: object) -> None:
    """Otherwise what the files hold would change by being looked at."""
    assert plain_number(str(value), "km") == str(value)


@given(st.text(max_size=20), st.sampled_from(["m", "mm", "km", "min", ""]))
def test_what_comes_out_is_settled(text: str, unit: str) -> None:
    """Otherwise saving twice would give another figure than saving once."""
    once = plain_number(text, unit)
    assert plain_number(once, unit) == once


@given(st.text(max_size=24))
def test_any_text_is_borne_as_a_day(text: str) -> None:
    """Otherwise a strange word in a field for a day would end in an error of ours."""
    once = plain_day(text)
    assert plain_day(once) == once
