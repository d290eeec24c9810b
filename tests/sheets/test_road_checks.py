"""Looks again away from any slot, in the words of the sheet: from where their km count."""

from datetime import date

from msgspec.structs import replace

from tests.sample_plan import sample_plan
from tests.sample_slots import rechecks
from tripplan.records.plan import Plan
from tripplan.sheets.field.page import field_html
from tripplan.sheets.worksheet.lists import after_return
from tripplan.sheets.worksheet.wall import halt_words, halts, remember

AT_HALT = replace(
    rechecks()[0], name="Wheel nuts", act="torque", after_slot=None, work_day=date(2026, 6, 20), work_km=-30.0,
    from_km=20.0, to_km=70.0,
)  # fmt: skip


def with_check(**changes: object) -> Plan:
    """The sample with that one look alone, of work on record 30 km before departure."""
    return replace(sample_plan(), rechecks=(replace(AT_HALT, **changes),))  # type: ignore[arg-type]


def test_a_look_of_work_on_record_names_its_day() -> None:
    """Otherwise 20 to 70 km after departure would stand there for nuts that are asked for 50 to 100 km after the work."""
    (halt,) = halts(with_check())
    assert halt_words(halt).startswith("50 to 100 km after the work of 20 June, look again at: wheel nuts")


def test_many_looks_at_halts_are_counted_on_page_one() -> None:
    """Otherwise a long tour's list of looks would push what to buy off the first page."""
    several = tuple(replace(AT_HALT, work_day=date(2026, 6, day)) for day in (16, 17, 18, 19))
    few, many = (remember(replace(sample_plan(), rechecks=several[:count])) for count in (3, 4))
    assert sum("look again at: wheel nuts" in line for line in few) == 3
    assert not any("wheel nuts" in line for line in many)
    assert many[-1].startswith("Look again on the way at 4 halts (")


def test_what_is_past_its_km_is_asked_for_at_once() -> None:
    """Otherwise it would read: 130 to 130 km after the work."""
    (halt,) = halts(with_check(from_km=100.0, to_km=100.0))
    assert halt_words(halt).startswith("At once, 130 km after the work of 20 June, look again at: wheel nuts")


def test_after_the_return_it_counts_from_its_day_too() -> None:
    """Otherwise work of the last days on the road would count anew from the return."""
    end_km = sample_plan().trip_km
    told = after_return(with_check(work_km=end_km - 30.0, from_km=end_km + 20.0, to_km=end_km + 70.0, leg=None))
    assert told == ("50 to 100 km after the work of 20 June, look again at: wheel nuts, left.",)
    told = after_return(replace(sample_plan(), rechecks=(
        replace(rechecks()[0], name="Wheel nuts", from_km=end_km + 50.0, to_km=end_km + 100.0, leg=None),)))  # fmt: skip
    assert told == ("50 to 100 km after the return, look again at: wheel nuts, left.",)


def test_the_phone_records_the_look_as_its_own_act() -> None:
    """Otherwise nuts drawn up at a halt would be written down as a look, and the plan ask for them again."""
    page = field_html(with_check(), None, None)
    assert 'data-act="torque" data-sides="left"' in page
    assert "done 20 June" in page
