"""Every line of the plan in words, with the rows behind it."""

from datetime import date

import pytest

from tests.small import TODAY, leg, only, planned, row, sheet, tables, thing, trip, wagon, workshop
from tripplan.explain.reasons import amount, unmet_sentence
from tripplan.records.catalogue import Item
from tripplan.records.facts_in import HistoryRow

DUSTY = trip(leg(1, 1000, dust="heavy"), workshop_days=(workshop(date(2026, 6, 24)),))
DONE = (row(date(2026, 6, 1), 0, "bearings", "repack"), row(TODAY, 7500, number=3))


def told(item: Item, *rows: HistoryRow, **unit: object) -> list[str]:
    """All sentences about the item."""
    plan = planned(DUSTY, *rows, catalogue=tables(item), units=(wagon(**unit),))
    return [reason.text for reason in only(plan, item.id).reasons]


@pytest.mark.parametrize(
    ("value", "text"),
    [(None, "unknown"), (0, "0"), (1.25, "1.2"), (19.96, "20.0"), (20.4, "20"), (184300, "184 300"), (-3.5, "-3.5")],
)
def test_figures_as_a_person_writes_them(value: float | None, text: str) -> None:
    """If not, kilometres would be given to the millimetre or months to the whole year."""
    assert amount(value) == text


def test_the_whole_story_in_order() -> None:
    """If not, the owner could not see how the tool came to its answer."""
    # 1500 left; heavy dust counts 2, up to 3: typical ends after 750 km, with reserve after 500 km
    found = told(thing(km=9000, dust="high"), *DONE)
    assert found[:4] == [
        "Last done 1 June 2026 at 0 km on the odometer.",
        "km: 7 500 of 9 000 km used.",
        "Leg 1: each km counts 2.00 (up to 3.00): dust heavy x2.00.",
        "Typical wear: runs out on 2 July, leg 1, km 750 (km). With reserve: runs out on 2 July, leg 1, km 500 (km).",
    ]
    assert found[-1] == "Interval: judgement, no source. Intervals in use run from 1 to 1 times this."
    assert any(text.startswith("Done at home on 24 June") for text in found)


def test_every_reason_names_its_rows() -> None:
    """If not, a wrong history row could not be found from the plan it spoilt."""
    plan = planned(DUSTY, *DONE, catalogue=tables(thing(km=10000, dust="high")))
    origins = [[str(origin) for origin in reason.origins] for reason in only(plan, "bearings").reasons]
    assert origins[0] == ["history.csv row 2"]
    assert origins[1] == ["history.csv row 2", "here row 2"]
    assert only(plan, "bearings").last_done_origin == DONE[0].origin


def test_no_record_is_said() -> None:
    """If not, due and unknown would look alike."""
    assert told(thing(km=10000))[0] == "No record of: repack. Nothing is assumed; it counts as due."


def test_a_bad_finding_is_said() -> None:
    """If not, work would appear without its reason."""
    seen = row(date(2026, 6, 10), 7400, "bearings", "look", 9, finding="water")
    assert "Found water on 10 June 2026 and not put right since: due now." in told(thing(km=10000), *DONE, seen)


def test_an_act_done_by_a_greater_one_names_it() -> None:
    """If not, the owner would look for a row that is not there."""
    items = (thing("bearings", km=10000), thing("knuckle", act="renew", km=100000, covers="bearings"))
    plan = planned(DUSTY, row(date(2026, 6, 1), 50, "knuckle", "renew"), catalogue=tables(*items))
    assert (
        only(plan, "bearings").reasons[0].text == "Last done 1 June 2026 with Knuckle (renew) at 50 km on the odometer."
    )


def test_estimated_km_are_called_estimated() -> None:
    """If not, a guess between two readings would pass for a reading."""
    rows = (row(date(2026, 6, 1), 0), row(date(2026, 6, 5), None, "bearings", "repack", 3), row(TODAY, 100, number=4))
    assert "its km estimated between the readings beside it" in told(thing(km=10000), *rows)[0]


def test_km_behind_the_last_reading_are_told_by_what_was_driven() -> None:
    """If not, the owner would look for a reading that is not there.

    Read on 1 June, greased on 8 June, and 20 June is today: 70 km a week are 10 km a day, 12 days since.
    """
    rows = (row(date(2026, 6, 1), 0), row(date(2026, 6, 8), None, "bearings", "repack", 3))
    found = told(thing(km=10000), *rows, usual_km_per_week=70)
    assert found[0] == "Last done 8 June 2026, its km estimated from the last reading and what was driven since."
    assert found[1].startswith("km: 120 of 10 000 km used")


def test_a_share_counted_in_full_is_said_beside_the_item() -> None:
    """If not, the stub axle would be due for a reason nobody gave."""
    text = "rig.toml gives no usual_engaged_share; ordinary driving counts in full."
    assert text in told(thing(engaged_km=10000), *DONE, usual_engaged_share=None)
    assert text not in told(thing(engaged_km=10000), *DONE)
    assert text not in told(thing(km=10000), *DONE, usual_engaged_share=None)


def test_a_service_sheet_counts_as_the_act() -> None:
    """If not, a history kept by services would be worth nothing."""
    catalogue = tables(thing(km=10000), services=(sheet("half", "bearings"),))
    plan = planned(DUSTY, row(date(2026, 6, 1), 50, "half", "service"), catalogue=catalogue)
    assert only(plan, "bearings").last_done == date(2026, 6, 1)


def test_unmet_limits_are_said_plainly() -> None:
    """If not, the owner would not know how far past its end an item runs."""
    assert (
        unmet_sentence("Bearings", "no time left", None, None)
        == "Bearings: no time left; this plan has no place for it."
    )
