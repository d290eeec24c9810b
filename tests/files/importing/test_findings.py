"""Findings in the words people use, in a column of their own and in notes."""

from pathlib import Path

import pytest

from tests.files.importing.reading import asked, read_lines
from tests.files.importing.test_clauses import book
from tripplan.files.importing.findings import finding_of, proposed_finding


@pytest.mark.parametrize(
    ("text", "sure", "proposed"),
    [
        ("worn", "worn", ""), ("Still good", "serviceable", ""), ("some play", "worn", ""), ("milky oil", "water", ""),
        ("a bit notchy", None, "worn"), ("slightly blued", None, "worn"), ("weeping", None, "worn"), ("2 were loose", None, "worn"),
        ("one cracked", None, "failed"), ("8 mm left", None, ""), ("", None, ""), ("no leaks", "serviceable", ""),
    ],
)  # fmt: skip
def test_a_cell_of_findings(text: str, sure: str | None, proposed: str) -> None:
    """Otherwise `slightly blued` would be lost, or `2 were loose` be all of them."""
    assert finding_of(text, book()) == (sure, proposed)


@pytest.mark.parametrize(
    ("text", "proposed"),
    [("a bit notchy on the left", "worn"), ("pinion seal weeping", "worn"), ("not worn at all", ""), ("no leaks anywhere", ""),
     ("drove through sand and mud", ""), ("bought at the water hole", ""), ("outer race pitted", "worn"), ("all fine", "")],
)  # fmt: skip
def test_words_of_wear_in_a_note(text: str, proposed: str) -> None:
    """Otherwise a note would carry the only finding there is; or every note on the weather be asked about."""
    assert proposed_finding(text, book())[1] == proposed


def test_a_note_raises_one_question_with_the_finding_proposed(tmp_path: Path) -> None:
    """Otherwise worn bearings would be recorded as if nothing had been seen; the answer goes into the row."""
    lines = (
        "Date,Km,Work,Finding,Notes",
        "2020-04-05,201000,front wheel bearings repacked both sides,,a bit notchy and slightly blued",
    )
    report = read_lines(tmp_path, *lines)
    assert report.records == ()
    assert asked(report) == ["the note says 'notchy': was the finding worn on front_wheel_bearings?"]
    told = read_lines(tmp_path, lines[0], lines[1].replace("sides,,", "sides,worn,"))
    assert [(row.finding, row.note) for row in told.records] == [
        ("worn", "front wheel bearings repacked both sides; a bit notchy and slightly blued")
    ]  # fmt: skip


def test_a_bad_finding_of_several_jobs_is_asked(tmp_path: Path) -> None:
    """Otherwise one worn bearing would make the oil worn."""
    report = read_lines(tmp_path, "Date,Km,Work,Finding", '2020-04-05,1,"front wheel bearings repacked, unis greased",worn',
                        '2020-04-06,2,"belts checked, radiator hoses checked",ok')  # fmt: skip
    assert [(row.item, row.finding) for row in report.records] == [
        ("belts", "serviceable"),
        ("hoses_coolant", "serviceable"),
    ]
    assert "on which of these was 'worn' found?" in asked(report)[0]


def test_work_in_a_note_is_asked(tmp_path: Path) -> None:
    """Otherwise work that stands beside the column for it would be lost in the note, or be taken from a remark."""
    lines = ("Date,Km,Work,Notes", "2024-05-01,1,oil & filter,air filter cleaned too", "2024-05-02,2,oil & filter,belts look next time",
             "2024-05-03,3,oil & filter,oil & filter changed by me")  # fmt: skip
    report = read_lines(tmp_path, *lines)
    assert [row.item for row in report.records] == ["engine_oil_filter"] * 3
    assert [(q.row, q.is_whole, q.may_mean) for q in report.questions] == [(2, False, ("air_filter_element",))]


@pytest.mark.parametrize(
    ("note", "word", "finding"),
    [
        ("inner seal weeping", "weeping", "worn"),
        ("grease thrown on the rim", "grease thrown", "failed"),
        ("some oil on the brake, left", "oil on the brake", "failed"),
        ("a damp seal", "damp seal", "worn"),
        ("drips from the hub", "drips", "failed"),
        ("no leaks", "", ""),
    ],
)
def test_a_leaking_hub_is_heard_in_other_words(note: str, word: str, finding: str) -> None:
    """Otherwise a seal that let grease out before the ford would count as sound at the water."""
    assert proposed_finding(note, book()) == (word, finding)
