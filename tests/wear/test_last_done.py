"""When an act was last done here, by itself, by a greater act, by a greater job or on a service sheet."""

from datetime import date

import pytest

from tests.small import row, sheet, tables, thing
from tripplan.records.catalogue import Item
from tripplan.wear.last_done import covering, read_history, sheet_items

JANUARY, MARCH, MAY = date(2026, 1, 10), date(2026, 3, 10), date(2026, 5, 10)
BEARINGS = thing("bearings", km=40000, positions="left;right", covers="play")
PLAY = thing("play", act="measure", km=10000, positions="left;right")
KNUCKLE = thing("knuckle", act="renew", km=100000, positions="left;right", covers="bearings")
OIL = thing("oil", act="drain and refill", km=7500, place="engine sump", state="drained")
NUTS = thing("nuts", act="look", km=1000)
ALL = (BEARINGS, PLAY, KNUCKLE, OIL, NUTS)


def last_day(item: Item, position: str | None, *rows: object) -> date | None:
    """The day the item's act was last done at the position."""
    done = read_history(rows, tables(*ALL)).last_done(item, "wagon", position)  # type: ignore[arg-type]
    return done.day if done else None


def test_the_latest_row_counts() -> None:
    """If not, work just done would be asked for again."""
    rows = [row(MARCH, 200, "oil", "drain and refill"), row(JANUARY, 100, "oil", "drain and refill", 3)]
    assert last_day(OIL, None, *rows) == MARCH


def test_a_greater_act_does_the_lesser_one_and_not_the_other_way() -> None:
    """If not, a renewed bearing would be due for a look, or a look would count as a repack."""
    assert last_day(BEARINGS, "left", row(MARCH, 200, "bearings", "renew")) == MARCH
    assert last_day(BEARINGS, "left", row(MARCH, 200, "bearings", "look")) is None


def test_a_greater_job_does_what_it_covers_at_any_depth() -> None:
    """If not, a knuckle rebuild would leave the play check inside it due."""
    rebuilt = row(MAY, 300, "knuckle", "renew", position="left")
    assert last_day(BEARINGS, "left", rebuilt) == MAY
    assert last_day(PLAY, "left", rebuilt) == MAY  # knuckle covers bearings, bearings cover play
    assert [item.id for item in covering(ALL)["play"]] == ["bearings", "knuckle"]


def test_one_side_never_counts_for_the_other() -> None:
    """If not, a right hub nobody opened would be taken for done."""
    left = row(MARCH, 200, "bearings", "repack", position="left")
    assert last_day(BEARINGS, "left", left) == MARCH
    assert last_day(BEARINGS, "right", left) is None


@pytest.mark.parametrize("word", [None, "both", "all"])
def test_a_row_for_both_sides_counts_for_each(word: str | None) -> None:
    """If not, the usual way to write it would count for neither."""
    both = row(MARCH, 200, "bearings", "repack", position=word)
    assert [last_day(BEARINGS, side, both) for side in ("left", "right")] == [MARCH, MARCH]


def test_one_side_never_does_a_whole_unit_item() -> None:
    """If not, wheel nuts of four wheels would be done by opening one hub."""
    covering_nuts = thing("drums", act="renew", positions="left;right", covers="nuts", km=1)
    history = read_history([row(MARCH, 200, "drums", "renew", position="left")], tables(covering_nuts, NUTS))
    assert history.last_done(NUTS, "wagon", None) is None
    history = read_history([row(MARCH, 200, "drums", "renew", position="both")], tables(covering_nuts, NUTS))
    done = history.last_done(NUTS, "wagon", None)
    assert done is not None and done.by.id == "drums"


def test_service_sheets_nest() -> None:
    """If not, a two-year service would leave the oil of the half-yearly one undone.

    Source: TM 9-2320-387-24-1 para 2-9, annual includes semi-annual (read in part).
    """
    half, year = sheet("half", "oil"), sheet("year", "bearings", includes="half")
    two = sheet("two", "knuckle", includes="year")
    known = tables(*ALL, services=(half, year, two))
    assert sheet_items(two, known) == ("knuckle", "bearings", "oil")
    history = read_history([row(MAY, 300, "two", "service")], known)
    done = [history.last_done(item, "wagon", side) for item, side in ((OIL, None), (BEARINGS, "left"))]
    assert [one.day for one in done if one] == [MAY, MAY]


def test_a_lesser_sheet_does_not_do_the_greater_one() -> None:
    """If not, a half-yearly service would put off the bearings by two years."""
    half, year = sheet("half", "oil"), sheet("year", "bearings", includes="half")
    history = read_history([row(MAY, 300, "half", "service")], tables(*ALL, services=(half, year)))
    assert history.last_done(BEARINGS, "wagon", "left") is None


def test_a_bare_reading_does_nothing() -> None:
    """If not, writing down the odometer would pass for work."""
    assert last_day(OIL, None, row(MARCH, 200)) is None


def test_another_unit_is_another_story() -> None:
    """If not, the camper's repack would be credited to the wagon."""
    assert last_day(OIL, None, row(MARCH, 200, "oil", "drain and refill", unit="camper")) is None


def test_items_are_known_by_id_and_by_plain_name() -> None:
    """If not, a history written in words would be ignored without a word."""
    assert last_day(OIL, None, row(MARCH, 200, " OIL ", "drain and refill")) == MARCH


def test_the_last_finding_is_of_the_item_itself() -> None:
    """If not, worn knuckle seals would condemn the bearings behind them."""
    rows = [
        row(JANUARY, 100, "bearings", "look", finding="worn", position="left"),
        row(MARCH, 200, "knuckle", "look", 3, finding="failed", position="left"),
    ]
    history = read_history(rows, tables(*ALL))
    found = history.last_finding(BEARINGS, "wagon", "left")
    assert found is not None and found.finding == "worn"
    assert history.last_finding(BEARINGS, "wagon", "right") is None


def test_on_one_day_the_row_further_down_is_the_later_one_with_or_without_a_reading() -> None:
    """Otherwise hubs found worn in the evening would be hidden by a look in the morning that has a reading.

    Of that day: repacked at 47 200 km, then found worn with no reading, then renewed with a reading that is too low.
    """
    before = row(JANUARY, 47100, "bearings", "look", 5, finding="as new")
    packed = row(MARCH, 47200, "bearings", "repack", 3, finding="as new")
    worn = row(MARCH, None, "bearings", "look", 4, finding="worn")
    again = row(MARCH, 47150, "bearings", "renew", 6)
    for rows in ((before, packed, worn, again), (again, worn, packed, before)):
        history = read_history(rows, tables(*ALL))
        assert history.last_finding(BEARINGS, "wagon", "left") is worn
        assert history.of_item(BEARINGS, "wagon", "left") == (before, packed, worn, again)
        done = history.last_done(BEARINGS, "wagon", "left")
        assert done is not None and done.row is again
