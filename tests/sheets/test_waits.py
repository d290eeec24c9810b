"""What waits, in words: one line a place, and never among the warnings."""

from datetime import date

from msgspec.structs import replace

from tests.sample_plan import item, sample_plan
from tripplan.records.plan import (
    DUE,
    LASTS,
    NO_RECORD,
    ON_THE_WAY,
    BeyondRoadTime,
    Limit,
    LookInstead,
    Plan,
    Thing,
    Wait,
)
from tripplan.records.plan_work import Slot
from tripplan.sheets.summary_text import terminal_summary
from tripplan.sheets.words import short_day
from tripplan.sheets.worksheet.html import worksheet_html
from tripplan.sheets.worksheet.lists import lasting_groups
from tripplan.sheets.worksheet.text import worksheet_text
from tripplan.sheets.worksheet.waits import waits


def the(given: Plan, kind: str) -> Slot:
    """The first slot of that kind."""
    return next(slot for slot in given.slots if slot.kind == kind)


def plan() -> Plan:
    """The sample with two sides that wait for home, one item that waits for a stop and for home, and one left shut."""
    given = sample_plan()
    stop, home = the(given, "stop").id, the(given, "after").id
    pins = [
        replace(item("pins", "Slide pins", "grease", ON_THE_WAY, position=side, placed=(home,)), can_wait=True,
                waits=(Wait(slot=home, share=1.094),))
        for side in ("left", "right")
    ]  # fmt: skip
    oil = replace(
        item("oil", "Axle oil", "renew", ON_THE_WAY, placed=(stop, home)),
        can_wait=True, waits=(Wait(slot=stop, share=1.2), Wait(slot=home, share=1.371)),
    )  # fmt: skip
    bush = replace(item("bush", "Spindle bush", "repack", NO_RECORD, used=None), left_shut=True)
    return replace(given, items=(*(i for i in given.items if i.verdict == LASTS), *pins, oil, bush))


def test_one_line_a_place_the_furthest_gone_first() -> None:
    """If not, the owner would read a paragraph an item, and not know what is worth a look at a halt."""
    given = plan()
    at_stop, at_home, shut = waits(given)
    assert at_stop.startswith(f"Left until {the(given, 'stop').place}, ") and at_stop.endswith(": axle oil 120%.")
    assert at_home.startswith("Left until home, ") and ": slide pins 109%. Done on " in at_home
    done = short_day(the(given, "stop").date)
    assert at_home.endswith(f"Done on {done}, and used up again by then: axle oil 137%.")
    assert shut == "No record, but left shut until a look finds leaks, play or noise: spindle bush."


def test_what_is_over_by_age_alone_says_so_and_what_has_no_record_has_no_share() -> None:
    """If not, nobody would follow why joints at 137 % wait, and a number would be made of what nobody knows."""
    given = plan()
    aged = Limit(meter="months", interval=6.0, used=8.0, left=-2.0, at_departure=8.0, at_departure_reserve=8.0,
                 unit_of_measure="months")  # fmt: skip
    fresh = Limit(meter="km", interval=5000.0, used=1000.0, left=4000.0, at_departure=1500.0, at_departure_reserve=1500.0,
                  unit_of_measure="km")  # fmt: skip
    items = tuple(
        replace(one, limits=(aged, fresh), wear=(), placed=one.placed[1:], waits=one.waits[1:]) if one.item == "oil"
        else replace(one, verdict=NO_RECORD) if one.item == "pins" else one
        for one in given.items
    )  # fmt: skip
    at_home, _ = waits(replace(given, items=items))
    assert at_home.endswith(": axle oil 137% by age, 30% by use. No record, and left until then as well: slide pins.")


def test_what_is_done_before_is_not_told_as_left() -> None:
    """Otherwise a sheet would say of welds it looks at on a workshop day that they are left until home, nobody knows how far gone."""
    given = plan()
    stop, home = the(given, "stop"), the(given, "after")
    welds = replace(item("welds", "Frame welds", "look", NO_RECORD, placed=(stop.id, home.id), used=None),
                    waits=(Wait(slot=home.id, share=1.169),))  # fmt: skip
    (at_home,) = waits(replace(given, items=(welds,)))
    assert at_home == (
        f"Done on {short_day(stop.date)}, and used up again by home, {short_day(home.date)}: frame welds 117%."
    )


def test_what_comes_round_again_is_left_to_the_full_list_where_a_page_is_full() -> None:
    """Otherwise page one of a long trip would name twenty things that are done before, and run over onto a second sheet."""
    given = plan()
    oil = next(one for one in given.items if one.item == "oil")
    given = replace(given, items=(*given.items, replace(oil, name="Sump oil"), replace(oil, name="Hub oil")))
    for most, end in (
        (1, ": slide pins 109%."),
        (3, "again by then: axle oil 137%; sump oil 137%; and 1 more, in worksheet.txt."),
        (4, "again by then: axle oil 137%; sump oil 137%; hub oil 137%."),
    ):
        home = next(line for line in waits(given, most, "in worksheet.txt") if line.startswith("Left until home"))
        assert home.endswith(end)


def test_what_was_found_bad_has_no_share() -> None:
    """Otherwise springs found worn would be 197 % of their interval gone, a figure that only serves to weigh them."""
    given = plan()
    home = the(given, "after")
    springs = replace(
        item("springs", "Springs", "renew", DUE, placed=(home.id,)),
        waits=(Wait(slot=home.id, share=1.97),), found="worn", found_on=date(2026, 3, 14),
    )  # fmt: skip
    alone = replace(given, items=(springs,))
    left = f"Left until home, {short_day(home.date)}, as waiting costs less"
    assert waits(alone) == (f"{left}: springs (found worn on 14 March).",)
    assert "197" not in terminal_summary(alone) + worksheet_text(alone)
    _, at_home, _ = waits(replace(given, items=(*given.items, springs)))
    assert at_home.startswith(f"{left}; interval used by then: springs (found worn on 14 March); slide pins 109%. ")


def test_every_sheet_tells_it_and_none_as_not_met() -> None:
    """If not, what waits because it is cheaper would be read as work that found no time."""
    given = plan()
    for told in (worksheet_text(given), worksheet_html(given), terminal_summary(given)):
        words = " ".join(told.split())
        assert all(line in words for line in waits(given))
        assert "No slot before the return" not in words and "Not met" not in words


def test_nothing_waits_in_silence() -> None:
    """If an empty heading stood there, a reader would look for what is missing."""
    given = replace(sample_plan(), items=())
    assert waits(given) == () and "What waits" not in worksheet_text(given)


def test_what_the_road_keeps_out_has_its_price() -> None:
    """If not, an owner could not tell what half an hour more at a stop is worth."""
    given = plan()
    stop = the(given, "stop")
    pins = tuple(Thing(item="pins", unit="wagon", position=side) for side in ("left", "right"))
    kept = BeyondRoadTime(about=pins, slot=stop.id, minutes=48, cost=96, leaving_costs=100.4)
    assert waits(replace(given, beyond_road_time=(kept,)))[-1] == (
        "Your limits on road work leave no time for these, each saving a little (in the money of "
        f"trip.toml): slide pins at {stop.place} (48 min, saves 4)."
    )
    assert "(in AUD): " in waits(replace(given, beyond_road_time=(kept,), currency="AUD"))[-1]


def test_many_that_wait_are_counted_and_told_where_they_stand() -> None:
    """If not, forty items and their figures would stand before the one that matters."""
    items = tuple(replace(one, placed=one.placed[-1:]) for one in plan().items)
    given = replace(plan(), items=items)
    home = next(line for line in waits(given, 1, "in worksheet.txt") if line.startswith("Left until home"))
    assert home.endswith(": axle oil 137%; and 1 more, in worksheet.txt.")


def test_what_is_left_shut_is_told_with_the_look_that_stands_in() -> None:
    """If not, nobody would know that bearings without a record are looked at before the trip."""
    given = plan()
    stop = the(given, "stop")
    seen = LookInstead(item="play", name="Spindle play", slot=stop.id)
    items = tuple(replace(one, left_shut=True, look_instead=seen) if one.item == "bush" else one for one in given.items)
    assert waits(replace(given, items=items))[-1] == (
        "No record, but left shut until a look finds leaks, play or noise: spindle bush "
        f"(looked at on {short_day(stop.date)}, {stop.place}: spindle play)."
    )


def test_what_lasts_is_never_used_up_and_a_short_rest_is_told_in_days() -> None:
    """If not, a sheet would say 100 %, about 0.1 months of a thing that lasts the trip: 3 days are a tenth of a month."""
    lasts = replace(item("pump", "Pump", "look", LASTS), share_used_at_return=0.9983)
    month = Limit(meter="months", interval=60.0, used=50.0, left=10.0, at_departure=59.9, at_departure_reserve=None,
                  unit_of_measure="months")  # fmt: skip
    given = replace(sample_plan(), items=(replace(lasts, limits=(month,), wear=()),))
    assert lasting_groups(given) == (("99%, about 3 days", "Pump"),)


def test_what_waits_for_its_parts_says_so() -> None:
    """If not, an owner would read that waiting costs less, of springs that nobody could have had there sooner."""
    given = plan()
    home, day = the(given, "after").id, date(2026, 6, 20)
    items = tuple(
        replace(one, waits=(Wait(slot=home, share=1.094, parts_from=day),)) if one.item == "pins" else one
        for one in given.items
    )
    _, late, cheaper, _ = waits(replace(given, items=items))
    assert cheaper.startswith("Done on 6 July, and used up again by home") and cheaper.endswith(": axle oil 137%.")
    assert ", as parts that shelf.csv does not hold can be there on 20 June at the soonest; " in late and late.endswith(
        ": slide pins 109%."
    )


def test_a_limit_that_is_passed_leads_and_has_no_price() -> None:
    """If not, springs that are past their limit would stand as a little saving of 12619, behind what waits because it is cheaper."""
    given = plan()
    stop = the(given, "stop")
    oil = BeyondRoadTime(about=(Thing(item="oil", unit="wagon"),), slot=stop.id, minutes=26, cost=20, leaving_costs=35)
    pins = BeyondRoadTime(about=(Thing(item="pins", unit="wagon", position="left"),), slot=stop.id, minutes=82, cost=100,
                          leaving_costs=12719, keeps_limit=True)  # fmt: skip
    told = waits(replace(given, beyond_road_time=(pins, oil)))
    assert told[0] == (
        "Your limits on road work leave no time for what is past its limit otherwise, or left with a known fault: "
        f"slide pins, left at {stop.place} (1 h 22 min)."
    )
    assert "12619" not in " ".join(told) and told[-1].endswith(f"axle oil at {stop.place} (26 min, saves 15).")


def test_a_saving_is_called_little_only_where_it_is() -> None:
    """If not, half of what the plan costs would be called a little. A hundredth of the whole is little."""
    given = plan()
    whole = given.totals.plan.cost
    for share, is_little in ((0.009, True), (0.011, False)):
        one = BeyondRoadTime(about=(Thing(item="oil", unit="wagon"),), slot=the(given, "stop").id, minutes=26, cost=0,
                             leaving_costs=share * whole)  # fmt: skip
        assert ("each saving a little" in waits(replace(given, beyond_road_time=(one,)))[-1]) is is_little
