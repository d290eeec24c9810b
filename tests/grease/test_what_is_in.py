"""What each space holds now, from the lubricant column of the history. All rows are invented."""

from typing import Any

import pytest

from tripplan.explain.slots import job_of
from tripplan.files.data_tables import read_catalogue
from tripplan.grease.advice import advise, all_fillings, filling_words, fillings
from tripplan.grease.what_is_in import Contents, read_contents
from tripplan.placing.problem import Task
from tripplan.records.facts_in import HistoryRow, Origin, Unit
from tripplan.records.lubricants import Cavity, GreaseGun, OwnLubricant
from tripplan.records.plan_work import Filling

CATALOGUE = read_catalogue()[0]
TOLD = "Joints: grease. Grease it; slowly."


def tub(id: str = "tub", own_name: str = "grey tub", **changes: Any) -> OwnLubricant:
    """One grease of the owner's."""
    values: dict[str, Any] = {
        "kind": "grease", "thickener": "lithium complex", "nlgi": "2", "solids_percent": 0, "astm_d4950": "GC-LB",
        "temp_high_c": 140, "water_grade": "1-40", "origin": Origin(file="lubricants.csv", row=2),
    }  # fmt: skip
    return OwnLubricant.model_validate({"id": id, "own_name": own_name, **values, **changes})


GREY = tub()
JOINT = tub("moly", "black cartridge", solids_percent=3, astm_d4950="LB", thickener="lithium")


def row(
    date: str, item: str, act: str, lubricant: str | None = None, position: str | None = None, number: int = 2,
    odometer_km: float | None = None,
) -> HistoryRow:  # fmt: skip
    """One history row of the wagon."""
    return HistoryRow.model_validate({
        "date": date, "unit": "wagon", "item": item, "act": act, "lubricant": lubricant, "position": position,
        "odometer_km": odometer_km,
        "origin": Origin(file="history.csv", row=number),
    })  # fmt: skip


def ledger(*rows: HistoryRow) -> Contents:
    """The ledger of these rows and two greases of the owner's."""
    return read_contents(rows, CATALOGUE, (GREY, JOINT))


def space(item: str, lubricant: str = "wheel_bearing_grease") -> Cavity:
    """The shipped row of one space."""
    return next(cavity for cavity in CATALOGUE.cavities if (cavity.item, cavity.lubricant) == (item, lubricant))


HUB = space("front_wheel_bearings")


def test_nothing_written_is_unknown() -> None:
    """An empty book would count as an empty hub."""
    holds = ledger().holds(HUB, "wagon", "left")
    assert holds.lubricant is None and holds.row is None and "no record" in holds.words


def test_the_last_row_tells() -> None:
    """Grease that was washed out years ago would decide what may go in today."""
    found = ledger(
        row("2024-01-01", "front_wheel_bearings", "repack", "black cartridge", "both"),
        row("2025-01-01", "front_wheel_bearings", "repack", "GREY tub ", "both", 3),
    ).holds(HUB, "wagon", "left")
    assert found.lubricant is GREY and found.row is not None and found.row.origin.row == 3


@pytest.mark.parametrize("lubricant", [None, "that stuff from the servo", "grey tub; that stuff"])
def test_a_last_row_that_does_not_tell_leaves_it_unknown(lubricant: str | None) -> None:
    """The older grease would be believed though another has gone in since."""
    found = ledger(
        row("2024-01-01", "front_wheel_bearings", "repack", "grey tub", "both"),
        row("2025-01-01", "front_wheel_bearings", "repack", lubricant, "both", 3),
    ).holds(HUB, "wagon", "left")
    assert found.lubricant is None and found.row is not None


def test_a_look_puts_nothing_in() -> None:
    """A look at the hub would wipe out what is known of its grease."""
    found = ledger(
        row("2024-01-01", "front_wheel_bearings", "repack", "grey tub", "both"),
        row("2025-01-01", "front_wheel_bearings", "look", None, "left", 3),
    ).holds(HUB, "wagon", "left")
    assert found.lubricant is GREY


def test_sides_are_kept_apart() -> None:
    """The left hub's new grease would be believed to be in the right one."""
    book = ledger(
        row("2024-01-01", "front_wheel_bearings", "repack", "black cartridge", "both"),
        row("2025-01-01", "front_wheel_bearings", "repack", "grey tub", "left", 3),
    )
    assert book.holds(HUB, "wagon", "left").lubricant is GREY
    assert book.holds(HUB, "wagon", "right").lubricant is JOINT


def test_a_shared_space_is_one_space() -> None:
    """New seals packed with another grease would go unseen by the next repack."""
    book = ledger(
        row("2024-01-01", "front_wheel_bearings", "repack", "black cartridge", "both"),
        row("2025-01-01", "hub_seals", "renew", "grey tub", "both", 3),
    )
    assert book.holds(HUB, "wagon", "left").lubricant is GREY


def test_joint_work_leaves_the_hub_grease_alone() -> None:
    """Joint grease named for the knuckle would be believed to be in the hub."""
    book = ledger(
        row("2024-01-01", "front_wheel_bearings", "repack", "grey tub", "both"),
        row("2025-01-01", "cv_joint_live", "look", "black cartridge", "both", 3),
    )
    assert book.holds(HUB, "wagon", "left").lubricant is GREY
    assert book.holds(space("cv_joint_live", "cv_joint_grease"), "wagon", "left").lubricant is JOINT


def test_a_rebuild_names_both_greases() -> None:
    """A rebuild with two greases in one row would leave both places unknown, or swap them."""
    book = ledger(row("2025-01-01", "swivel_knuckle_reseal", "renew", "black cartridge; grey tub", "left"))
    assert book.holds(HUB, "wagon", "left").lubricant is GREY
    assert book.holds(space("knuckle_grease_topup", "cv_joint_grease"), "wagon", "left").lubricant is JOINT
    one_name = ledger(row("2025-01-01", "swivel_knuckle_reseal", "renew", "grey tub", "left"))
    assert one_name.holds(space("knuckle_grease_topup", "cv_joint_grease"), "wagon", "left").lubricant is None


def test_a_service_sheet_without_names_leaves_unknown() -> None:
    """A six-month service would be taken to have used the grease of the year before."""
    joints = space("propshaft_ujoints", "chassis_grease")
    sheet = next(s.id for s in CATALOGUE.services if "propshaft_ujoints" in s.items)
    book = ledger(
        row("2024-01-01", "propshaft_ujoints", "grease", "grey tub"), row("2025-01-01", sheet, "service", None, None, 3)
    )
    found = book.holds(joints, "wagon", None)
    assert found.lubricant is None and found.row is not None and found.row.origin.row == 3


def test_own_names_win() -> None:
    """A tin the owner calls `chassis grease` would be taken for any chassis grease."""
    mine = tub("mine", "chassis grease")
    book = read_contents((row("2025-01-01", "propshaft_ujoints", "grease", "chassis grease"),), CATALOGUE, (mine,))
    assert book.holds(space("propshaft_ujoints", "chassis_grease"), "wagon", None).lubricant is mine


def test_order_of_rows_does_not_matter() -> None:
    """Sorting the book another way would change what is in the hub."""
    rows = [
        row("2024-01-01", "front_wheel_bearings", "repack", "black cartridge", "both"),
        row("2025-01-01", "hub_seals", "renew", "grey tub", "both", 3),
        row("2023-01-01", "front_wheel_bearings", "repack", "wheel bearing grease", "both", 4),
    ]
    assert ledger(*rows).holds(HUB, "wagon", "left") == ledger(*rows[::-1]).holds(HUB, "wagon", "left")


def test_of_two_rows_of_one_day_the_one_further_down_tells() -> None:
    """Otherwise grease put in at camp would be taken for that of the morning, whose row has a reading."""
    book = ledger(
        row("2025-01-01", "front_wheel_bearings", "repack", "black cartridge", "both", 3, 47200),
        row("2025-01-01", "front_wheel_bearings", "repack", "grey tub", "both", 4),
    )
    assert book.holds(HUB, "wagon", "left").lubricant is GREY


def test_the_line_says_grease_grams_strokes_and_what_not() -> None:
    """The worksheet would leave the owner to guess in front of the shelf."""
    gun = GreaseGun.model_validate(
        {"g_per_stroke": 1.1, "strokes": 10, "date": "2026-06-01", "origin": Origin(file="grease_gun.toml")}
    )
    book = ledger(row("2025-01-01", "propshaft_ujoints", "grease", "grey tub"))
    line = filling_words(fillings(CATALOGUE.item("propshaft_ujoints"), None, "wagon", book, gun))
    said = (
        "no solid lubricant", " g, nipple", "strokes of your gun", "at each of 4 points", "grey tub, lithium complex",
        "grey tub: go ahead", "black cartridge: not for this place", "skid",
    )  # fmt: skip
    for words in said:
        assert words in line, words
    unweighed = filling_words(fillings(CATALOGUE.item("propshaft_ujoints"), None, "wagon", book, None))
    assert "strokes not known" in unweighed and "strokes of your gun" not in unweighed


def test_a_job_is_not_forbidden_by_its_note() -> None:
    """If not, "until clean grease shows" would stand beside a note that nothing may go in. Common practice, no source."""
    plain = read_contents([], CATALOGUE, ())
    told = filling_words(fillings(CATALOGUE.item("propshaft_ujoints"), None, "wagon", plain, None))
    assert "purge until clean grease shows at every seal" in told and "after 50% of its interval" in told
    own = filling_words(fillings(CATALOGUE.item("propshaft_ujoints"), None, "wagon", ledger(), None))
    assert "purge until clean" in own
    for line in (told, own):
        assert "do not mix" not in line and "Nothing goes on top" not in line and "until both" not in line
    filled = filling_words(fillings(CATALOGUE.item("knuckle_grease_topup"), "left", "wagon", plain, None))
    assert "draw or wipe the old off" in filled and "Nothing goes on top" not in filled


def test_a_repack_washes_the_old_out() -> None:
    """The owner would be warned of a mix that the wash has ended, or not of one that it has not."""
    book = ledger(row("2025-01-01", "front_wheel_bearings", "repack", None, "both"))
    [hub] = advise(CATALOGUE.item("front_wheel_bearings"), "wagon", "left", book, None)
    words = {choice.lubricant.label: hub.verdict(choice).word for choice in hub.choices}
    assert words == {"grey tub": "go ahead", "black cartridge": "not for this place"}
    [joint] = advise(CATALOGUE.item("propshaft_ujoints"), "wagon", None, book, None)
    assert all(not joint.verdict(choice).may for choice in joint.choices)


def test_items_without_grease_have_no_line() -> None:
    """A tyre check would come with a word on grease."""
    wagon = Unit.model_validate({"id": "wagon", "kind": "vehicle", "origin": Origin(file="rig.toml")})
    pairs = [(wagon, CATALOGUE.item(name), None) for name in ("battery", "propshaft_ujoints", "tyre_age")]
    assert list(all_fillings(pairs, ledger(), None)) == [("propshaft_ujoints", "wagon", "")]


@pytest.mark.parametrize(("window", "resets", "line"), [(None, False, TOLD), ((0, 1), True, TOLD), ((0, 1), False, "")])
def test_the_line_goes_with_a_job_that_uses_grease(window: tuple[int, int] | None, resets: bool, line: str) -> None:
    """A look after water would tell the owner to press grease in, or a greasing would not say how."""
    wagon = Unit.model_validate({"id": "wagon", "kind": "vehicle", "origin": Origin(file="rig.toml")})
    task = Task(
        item=CATALOGUE.item("propshaft_ujoints"), unit=wagon, position=None, act="grease", minutes=10, facility="camp",
        state="closed", opens=(), earliest=0, window=window, resets=resets,
    )  # fmt: skip
    filling = Filling(space="Joints", needs="grease", told=(("Grease it", "slowly"),))
    job = job_of(task, "due", CATALOGUE, (), "", "", (filling,))
    assert (job.lubrication, bool(job.fillings)) == (line, bool(line))
