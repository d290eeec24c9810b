"""What the plan leans on without being told, and what it cannot keep."""

from datetime import date

from tests.small import TODAY, leg, planned, row, stop, tables, thing, trip, wagon, workshop

LEGS = (leg(1, 1000), leg(2, 1000, date(2026, 7, 10)))
HOME = trip(*LEGS, workshop_days=(workshop(date(2026, 6, 24)),))


def test_everything_not_given_is_listed() -> None:
    """If not, a number of ours would pass for the owner's."""
    bare = wagon(odometer_factor=None, usual_km_per_week=None, hubs=None, usual_speed_kmh=None)
    text = "\n".join(planned(trip(*LEGS), units=(bare,)).assumptions)
    assert "no odometer_factor given" in text
    assert "no usual_km_per_week given" in text
    assert "hubs not given" in text
    assert "mean speed, 50 km/h" in text
    assert "No workshop days are given" in text


def test_what_is_given_is_not_listed() -> None:
    """If not, the list would be too long to be read."""
    text = "\n".join(planned(HOME).assumptions)
    assert "odometer" not in text and "usual" not in text and "workshop" not in text
    assert "depth + 0.1 m" in text


def test_a_share_not_given_counts_in_full_and_says_so() -> None:
    """If not, free-wheeling hubs would be charged in silence."""
    text = "\n".join(planned(HOME, units=(wagon(usual_engaged_share=None),)).assumptions)
    assert "no usual_engaged_share given; ordinary driving counts as engaged in full" in text


def test_a_limit_that_cannot_be_kept_is_a_warning_with_the_overrun() -> None:
    """If not, the plan would look whole while an item runs past its end."""
    # 4700 of 5000 used, 300 left, and the only stop is at km 1000 without a day at home
    one = trip(*LEGS, stops=(stop("Two Wells", 1, date(2026, 7, 5)),))
    rows = (row(date(2026, 6, 1), 0, "bearings", "repack"), row(TODAY, 4700, number=3))
    (text,) = planned(one, *rows, catalogue=tables(thing(km=5000, harms=True, harms_by="brakes"))).warnings
    assert text.text == (
        "Bearings (wagon): no workshop day or stop comes before its limit; "
        "done at Two Wells on 5 July, 700 km too late."
    )


def test_due_jobs_without_a_place_are_gathered_by_cause() -> None:
    """If not, forty lines would say the same thing."""
    items = (
        thing("one", km=100, harms=True, harms_by="brakes"),
        thing("two", act="renew", km=100, harms=True, harms_by="brakes"),
    )
    (text,) = planned(trip(*LEGS), catalogue=tables(*items)).warnings
    assert text.text.startswith("Done too late, at home, ") or text.text.startswith("Done not at all, because ")
    assert "One (wagon); Two (wagon)" in text.text


def test_parts_that_may_come_late_are_a_warning() -> None:
    """If not, the day would be spent waiting for the post."""
    item = thing(km=100, consumables="seal 1", parts_lead_days=10, harms=True, harms_by="brakes")
    one = trip(*LEGS, stops=(stop("Two Wells", 1, date(2026, 6, 25)),))
    texts = [told.text for told in planned(one, catalogue=tables(item)).warnings]
    assert not any("Parts take about" in text for text in texts)  # placed after the parts can be there
    assert any("parts cannot arrive" in text or "too late" in text for text in texts)


def test_a_whole_plan_has_no_warnings() -> None:
    """If not, warnings would be a habit and not be read."""
    rows = (row(date(2026, 6, 1), 0, "bearings", "repack"), row(TODAY, 100, number=3))
    assert planned(HOME, *rows).warnings == ()
