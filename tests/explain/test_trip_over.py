"""A trip that lies behind is said to, once and first, in every output; and what hurts comes first at home."""

from datetime import date, timedelta

from tests.small import RETURN, crossing, leg, planned, row, tables, thing, trip, water_rule, workshop
from tripplan.records.plan import Plan
from tripplan.sheets.field.page import field_html
from tripplan.sheets.plan_json import plan_dict
from tripplan.sheets.summary_text import terminal_summary
from tripplan.sheets.worksheet.html import worksheet_html
from tripplan.sheets.worksheet.text import worksheet_text

AFTER = RETURN + timedelta(days=1)
TOLD = "This trip is over: it ended on "
WET = leg(1, 500)


def plan(today: date = AFTER) -> Plan:
    """A trip with a day at home, a crossing and an item that harms, whose limit is long past."""
    one = trip(
        WET, workshop_days=(workshop(date(2026, 6, 24)),), crossings=(crossing(1, 100, 0.9),)
    )  # fmt: skip
    item = thing(km=100, harms=True, harms_by="brakes", act="renew", consumables="seal 1", parts_lead_days=10,
                 points="hub_centre", water="high")  # fmt: skip
    rules = (water_rule("bearings", "days", "renew", within_days=2),)
    given = tables(item, water_rules=rules)
    return planned(one, row(date(2026, 6, 1), 0, "bearings", "renew"), row(date(2026, 6, 20), 400, number=3),
                   catalogue=given, today=today)  # fmt: skip


def test_it_is_the_first_warning_with_a_kind_of_its_own() -> None:
    """If not, a program would have to read the sentence, and a person the whole sheet."""
    warnings = plan_dict(plan())["warnings"]
    assert [told["kind"] for told in warnings].count("trip is over") == 1
    assert warnings[0]["kind"] == "trip is over" and warnings[0]["text"].startswith(TOLD)
    assert "--today" in warnings[0]["text"] and "trip.toml" in warnings[0]["text"]


def test_the_day_of_the_return_is_still_the_trip() -> None:
    """If not, the last morning of a trip would be told as after it."""
    assert not plan(RETURN).over and plan(AFTER).over


def test_every_output_says_it_once() -> None:
    """If it stood nowhere, jobs would be read as those of a trip to come; twice, nobody would read the rest."""
    given = plan()
    for text in (terminal_summary(given), worksheet_text(given), worksheet_html(given), field_html(given, None, None)):
        assert " ".join(text.split()).count(TOLD) == 1


def test_nothing_is_said_of_a_departure_a_camp_or_parts_in_time() -> None:
    """If it were, a plan after the trip would send its owner to a camp that lies behind him."""
    given = plan()
    told = " ".join(warning.text for warning in given.warnings) + " ".join(terminal_summary(given).split())
    for words in ("before departure", "lasts the trip", "at camp", "add a stop", "Parts take", "waiting costs less"):
        assert words not in told
    assert "do it before the rig is driven again: Bearings" in told
