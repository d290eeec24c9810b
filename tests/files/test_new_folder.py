"""A new trip folder from answers: it plans at once, teaches what else can be said, and is never written over anything."""

import re
from datetime import date
from pathlib import Path
from typing import Any

import pytest

from tripplan.files.data_tables import read_catalogue
from tripplan.files.demos import DEMOS, like_demo_files
from tripplan.files.folder import load
from tripplan.files.new_folder import new_folder_files, next_steps, put_new_folder, refusals_of
from tripplan.files.new_questions import (
    FITTED,
    QUESTIONS,
    SHEETS,
    TRAILER_FITTED,
    TRAILER_SHEETS,
    YES_OR_NO,
)
from tripplan.files.read_me_first import READ_ME, TABLES
from tripplan.files.refusals import columns_of, words_of
from tripplan.records import facts_in
from tripplan.records.problems import BadInput, Problem
from tripplan.wear.invented import MARK
from tripplan.web.toml_lines import edited

TODAY = date(2026, 5, 25)
ANSWERS = {
    "rig_name": "Grey wagon", "home_zone": "Australia/Darwin", "id": "wagon", "drive": "full-time",
    "front_axle": "open-knuckle", "fuel": "diesel", "gearbox": "manual", "fitted": "winch, snorkel",
    "usual_km_per_week": "210", "odometer_km": "214300", "service.date": "2026-02-07", "service.sheet": "two-year",
    "service.odometer_km": "209000", "trip.name": "To the ledge", "trip.depart": "2026-06-20",
    "trip.return": "2026-06-30", "way.from": "Quillstone", "way.to": "Ochre Ledge", "way.distance_km": "900",
    "shed.days": "2026-06-13; 2026-06-14",
}  # fmt: skip
WITH_TRAILER = {
    "trailer": "yes",
    "trailer_id": "camper",
    "trailer_km_per_week": "20",
    "trailer_fitted": "electric-brakes",
}


def made(folder: Path, **changes: str) -> tuple[Any, tuple[Problem, ...]]:
    """What the readers make of a folder from these answers, and what they find wrong."""
    answers = {**ANSWERS, **{key.replace("__", "."): text for key, text in changes.items()}}
    assert refusals_of(answers) == ()
    put_new_folder(folder, new_folder_files(answers, TODAY))
    inputs, _, problems = load(folder, TODAY)
    return inputs, problems


@pytest.mark.parametrize("drive", ["part-time", "full-time", "rear", "front"])
@pytest.mark.parametrize("axle", ["closed-knuckle", "independent"])
def test_a_folder_from_answers_has_nothing_wrong(drive: str, axle: str, tmp_path: Path) -> None:
    """Otherwise the first thing a new owner saw would be refusals, such as of hubs that the rig has not."""
    hubs = {"hubs": "fixed"} if drive == "part-time" else {}
    inputs, problems = made(tmp_path / "mine", drive=drive, front_axle=axle, **hubs, **WITH_TRAILER)
    assert problems == ()
    assert [(unit.id, unit.kind, unit.drive) for unit in inputs.rig.units] == [
        ("wagon", "vehicle", drive), ("camper", "trailer", None)]  # fmt: skip
    assert [(leg.from_, leg.to, leg.hubs, leg.towing) for leg in inputs.trip.legs] == [
        ("Quillstone", "Ochre Ledge", None, True), ("Ochre Ledge", "Quillstone", None, True)]  # fmt: skip


def test_what_was_answered_stands_in_the_records(tmp_path: Path) -> None:
    """Otherwise an answer would be asked for and lost."""
    heights = {"height.hub_centre": "405", "height.airbox_seam": "1060"}
    inputs, problems = made(tmp_path / "mine", tyre_diameter_mm="810", odometer_factor="1.03", country="AU", **heights)
    wagon, trip = inputs.rig.vehicle, inputs.trip
    assert problems == ()
    assert (wagon.tyre_diameter_mm, wagon.odometer_factor, wagon.usual_km_per_week) == (810, 1.03, 210)
    assert (wagon.fitted, wagon.heights_mm) == (("winch", "snorkel"), {"hub_centre": 405, "airbox_seam": 1060})
    assert (trip.depart, trip.return_, trip.shakedown_km) == (date(2026, 6, 20), date(2026, 6, 30), 0)
    assert [(day.date, day.minutes) for day in trip.workshop_days] == [
        (date(2026, 6, 13), 240),
        (date(2026, 6, 14), 240),
    ]
    assert [(row.item, row.odometer_km) for row in inputs.history] == [("service_two_year", 209000), (None, 214300)]
    # 900 km at 70 km/h are 12.9 hours: two days of eight, so the way home begins a day before the return
    assert [leg.date for leg in trip.legs] == [date(2026, 6, 20), date(2026, 6, 29)]


def test_the_trailers_own_service_counts_for_it(tmp_path: Path) -> None:
    """Otherwise a trailer serviced last month would be planned as one that nobody ever opened."""
    served = {"trailer_service.date": "2026-03-01", "trailer_service.sheet": "twelve-month"}
    inputs, problems = made(tmp_path / "mine", **WITH_TRAILER, **served)
    assert problems == ()
    assert [(row.unit, row.item) for row in inputs.history] == [
        ("wagon", "service_two_year"), ("camper", "trailer_service_twelve_month"), ("wagon", None)]  # fmt: skip


def test_hubs_are_asked_for_where_there_is_a_choice(tmp_path: Path) -> None:
    """Otherwise the front axle of a rig that can be driven with free hubs would be taken to turn on every km."""
    answers = {**ANSWERS, "drive": "part-time"}
    assert [(p.code, p.column) for p in refusals_of(answers)] == [("A51", "hubs")]
    _, problems = made(tmp_path / "free", drive="part-time", hubs="free-wheeling")
    assert problems == ()
    text = (tmp_path / "free" / "legs.csv").read_text(encoding="utf-8")
    (tmp_path / "free" / "legs.csv").write_text(text.replace(",yes,free,", ",yes,,").replace(",no,free,", ",no,,"))
    _, _, problems = load(tmp_path / "free", TODAY)
    assert [(p.code, p.row, p.column) for p in problems] == [("L02", 2, "hubs"), ("L02", 3, "hubs")]


def test_without_a_way_only_the_way_is_missing(tmp_path: Path) -> None:
    """Otherwise a person who does not know the way yet would face problems of six files."""
    answers = {key: text for key, text in ANSWERS.items() if not key.startswith(("way.", "shed.", "service."))}
    put_new_folder(tmp_path / "mine", new_folder_files(answers, TODAY))
    _, _, problems = load(tmp_path / "mine", TODAY)
    assert {p.code for p in problems} == {"L10", "F05"} and {p.file for p in problems} == {"legs.csv"}


@pytest.mark.parametrize(
    ("key", "text", "accepted"),
    [
        ("home_zone", "Perth", "Australia/Perth"),
        ("home_zone", "Nowhere", "a zone named after a large town"),
        ("drive", "4x4", "full-time"),
        ("trip.depart", "05/06/2026", "a date as year-month-day"),
        ("usual_km_per_week", "20O", "0 to 10000 km"),
        ("trailer", "maybe", "yes or no"),
        ("service.sheet", "big", "twelve-month"),
        ("shed.days", "2026-06-13, some day", "a date as year-month-day"),
        ("shed.minutes", "2000", "1440 minutes"),
        ("rig_name", "  ", "an answer"),
    ],
)
def test_an_answer_that_cannot_be_used_is_told_beside_its_question(key: str, text: str, accepted: str) -> None:
    """Otherwise the folder would be made, and the slip told in the words of a file that its owner never wrote."""
    (found,) = refusals_of({**ANSWERS, key: text})
    assert (found.code, found.column) == ("A52" if text.strip() else "A51", key)
    assert accepted in found.accepted


def test_nothing_is_written_over(tmp_path: Path) -> None:
    """Otherwise a folder of years would be lost to a name typed twice."""
    made(tmp_path / "mine")
    before = {path: path.read_bytes() for path in (tmp_path / "mine").iterdir()}
    with pytest.raises(BadInput, match="A04"):
        put_new_folder(tmp_path / "mine", new_folder_files({**ANSWERS, "rig_name": "Another"}, TODAY))
    assert {path: path.read_bytes() for path in (tmp_path / "mine").iterdir()} == before


@pytest.mark.parametrize("name", ["rig.toml", "trip.toml"])
def test_what_the_remarks_teach_is_true(name: str, tmp_path: Path) -> None:
    """Otherwise somebody who takes the # away, as they are told to, would get a refusal for it."""
    made(tmp_path / "mine", **WITH_TRAILER)
    path = tmp_path / "mine" / name
    text = path.read_text(encoding="utf-8")
    said, left = re.subn(r"^# (\[unit\.heights_mm\]|\w+ = (?!\.\.\.).*)$", r"\1", text, flags=re.M)
    assert left >= 5
    path.write_text(said.replace("look or repack", "look"), encoding="utf-8")
    _, _, problems = load(tmp_path / "mine", TODAY)
    # minutes of free days want a calendar, which this folder has not; the hubs of a full-time drive may be told
    assert {p.code for p in problems} <= {"T11"}


def test_the_page_can_change_a_value_among_the_remarks() -> None:
    """Otherwise the page would refuse the very file that the program wrote, or lose its remarks."""
    text = new_folder_files(ANSWERS, TODAY)["rig.toml"].decode()
    changed = edited(
        text, {(1, "", "drive"): "rear", (1, "", "tyre_diameter_mm"): "810", (1, "heights_mm", "lamp"): "860"}
    )
    assert "[unit.heights_mm]\nlamp = 860\n" in changed
    assert 'drive = "rear"  # part-time, full-time, rear or front' in changed
    assert changed.count("#") == text.count("#")


def test_every_column_is_explained() -> None:
    """Otherwise an owner would have to read the code to fill in a table."""
    told = new_folder_files(ANSWERS, TODAY)[READ_ME].decode()
    for name, record in TABLES:
        part = told.partition(f"\n{name}   (")[2].partition("\n\n")[0]
        listed = [line.split()[1 if "*" in line else 0] for line in part.splitlines()[1:] if not line.endswith(":")]
        assert listed == list(columns_of(record)), name


def test_each_question_has_a_key_and_an_option_of_its_own() -> None:
    """Otherwise one answer would overwrite another."""
    assert len({one.key for one in QUESTIONS}) == len({one.option for one in QUESTIONS}) == len(QUESTIONS)
    for one in QUESTIONS:
        known = words_of(columns_of(getattr(facts_in, one.record))[one.field].annotation)
        assert one.words == known or one.words in (YES_OR_NO, tuple(SHEETS), TRAILER_SHEETS), one.key


@pytest.mark.parametrize(("kind", "words"), [("vehicle", FITTED), ("trailer", TRAILER_FITTED)])
def test_what_can_be_fitted_is_what_items_need(kind: str, words: tuple[str, ...]) -> None:
    """Otherwise a winch would be asked for in a word that no item knows, and never be planned."""
    items = [item for item in read_catalogue()[0].items if item.unit_kind == kind]
    assert set(words) == {word for item in items for need in item.needs if need.fact == "fitted" for word in need.words}


def test_days_may_be_written_as_people_do(tmp_path: Path) -> None:
    """Otherwise a day that every table takes would break the way, whose legs start at a time of day."""
    inputs, problems = made(tmp_path / "mine", trip__depart="20 June 2026", shed__days="13 June 2026, 14 Jun 2026")
    assert problems == () and inputs.trip.legs[0].date == date(2026, 6, 20)
    assert [row.date.day for row in inputs.trip.workshop_days] == [13, 14]


def test_three_steps_follow() -> None:
    """Otherwise a person with a new folder would not know what to do with it."""
    steps = next_steps("mine", True)
    assert len(steps) == 3 and steps[2].startswith("tripplan plan mine ") and "legs.csv" in steps[0]


@pytest.mark.parametrize("name", DEMOS)
def test_a_folder_like_a_demo_says_that_it_is_invented(name: str, tmp_path: Path) -> None:
    """Otherwise a real trip would be planned with a stranger's history, and nobody would be told."""
    put_new_folder(tmp_path / "mine", like_demo_files(name, date(2027, 3, 4)))
    inputs, _, problems = load(tmp_path / "mine", date(2027, 3, 4))
    tables = {path.name for path in (tmp_path / "mine").glob("*.csv")}
    assert {p.code for p in problems} == {"F18"}
    assert {p.file for p in problems} == {"rig.toml", "trip.toml", *tables}
    assert inputs and all(row.note and row.note.startswith(MARK) for row in (*inputs.history, *inputs.trip.legs))
    # whole weeks: a Saturday in the demo is a Saturday here, and the trip lies as far ahead
    asked, there = date(2027, 3, 4), DEMOS[name]
    old, _, _ = load(Path(__file__).parents[2] / "demo" / name, there)
    assert old
    moved = inputs.trip.depart - old.trip.depart
    assert moved.days % 7 == 0 and 0 <= (asked - there - moved).days < 7
    assert [row.date - was.date for row, was in zip(inputs.history, old.history, strict=True)] == [moved] * len(
        old.history
    )
    assert inputs.override_tables == {}


@pytest.mark.parametrize("fitted", ["", "winch, locker, leaf-springs"])
def test_every_height_that_a_crossing_asks_for_can_be_filled_in(fitted: str, tmp_path: Path) -> None:
    """Otherwise whoever measured all that the file lists would be told of ten heights more, the propshaft's among them."""
    made(tmp_path / "mine", fitted=fitted, **WITH_TRAILER)
    rig, water = tmp_path / "mine" / "rig.toml", tmp_path / "mine" / "crossings.csv"
    text = re.sub(r"^# (\w+) = \.\.\.", r"\1 = 900", rig.read_text(encoding="utf-8"), flags=re.M)
    rig.write_text(text.replace("# [unit.heights_mm]", "[unit.heights_mm]"), encoding="utf-8")
    water.write_text(water.read_text(encoding="utf-8") + "1,20,0.4,,,fresh,,\n", encoding="utf-8")
    inputs, _, problems = load(tmp_path / "mine", TODAY)
    assert [problem.as_text() for problem in problems] == []
    assert inputs is not None and inputs.trip.crossings and "shaft" in inputs.rig.vehicle.heights_mm
