"""A text in standard spelling still knows what its owner wrote, and questions quote that. All cells are invented."""

from functools import lru_cache
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.files.importing.reading import asked, read_lines
from tests.small import camper, rig, wagon
from tripplan.files.data_tables import read_catalogue
from tripplan.files.importing.match import read_text
from tripplan.files.importing.word_book import WordBook, as_written, import_words, word_book


@lru_cache(maxsize=1)
def book() -> WordBook:
    """The words for a small rig of a wagon with a manual gearbox and a camper."""
    return word_book(import_words(), read_catalogue()[0], rig(wagon(), camper()).units)


def told(text: str) -> str:
    """All that is asked of a text: the part quoted, why, and what it may mean."""
    return "; ".join(f"{one.part}: {one.why} {' '.join(one.candidates)}" for one in read_text(text, book()).doubts)


@given(st.text(alphabet="abc ,'\t\u00a0\u2019-\u0130x19", max_size=30))
def test_letters_without_a_known_spelling_are_their_own(text: str) -> None:
    """Otherwise a quotation would be cut in the wrong place."""
    said = as_written(text, book())
    assert len(said.plain) == len(said.spans)
    assert said.own(0, len(said.plain)) == text.strip().rstrip(",") or said.plain or not text.strip()
    for spot, (start, end) in enumerate(said.spans):
        assert said.plain[spot] == " " or said.plain[spot] in text[start:end].lower().replace("\u2019", "'")


def test_a_replaced_phrase_is_quoted_whole() -> None:
    """Otherwise half of a phrase would be quoted. `Tail  Shaft` is spelt propshaft, 9 letters for 11."""
    said = as_written("Greased  Tail  Shaft unis", book())
    start = said.plain.index("propshaft")
    assert said.own(start, start + 9) == "Tail  Shaft"
    assert said.own(0, len(said.plain)) == "Greased  Tail  Shaft unis"


@pytest.mark.parametrize(
    ("text", "quoted"),
    [
        ("Brk wotsit of the Trans", "Brk wotsit of the Trans"),
        ("To do: gearbox oil", "'To do'"),
        ("Tail shaft frobbed unis", "'frobbed'"),
        ("LH brake hose wotsit", "'wotsit'"),
        ("Both diffs oils changed frobbed", "Both diffs oils changed frobbed"),
    ],
)
def test_a_question_quotes_what_stands_in_the_cell(text: str, quoted: str) -> None:
    """Otherwise the owner would look for a word that was never written, such as gearbox for trans."""
    assert quoted in told(text)
    words = set(told(text).lower().replace(":", " ").replace("'", " ").split())
    assert not words & {"propshaft", "ujoints", "todo", "frontrear"}


@pytest.mark.parametrize("text", ["frob'd unis", "chk'd frobs", "unis'tall"])
def test_no_part_of_a_word_is_replaced(text: str) -> None:
    """Otherwise `chkd` within another word would be told as `checked`."""
    assert "ujoints'" not in as_written(text, book()).plain and "checked'" not in as_written(text, book()).plain


@pytest.mark.parametrize(
    "text",
    ["transmission fluid and filter", "Transmission fluid & filter changed", "trans fluid + filter", "ATF and filter changed",
     "automatic gearbox fluid and filter changed", "auto fluid and filter replaced"],
)  # fmt: skip
def test_fluid_and_filter_of_an_automatic(text: str) -> None:
    """Otherwise the filter of the gearbox would be offered as an oil change of the engine."""
    every = word_book(import_words(), read_catalogue()[0], ())
    [match] = read_text(text, every).matches
    assert (match.item, match.act) == ("auto_trans_fluid", "drain and refill")
    assert read_text(text, every).doubts == ()
    [doubt] = read_text(text, book()).doubts
    assert (doubt.why, doubt.candidates) == ("this rig has no auto_trans_fluid", ())


def test_nothing_of_another_place_is_offered() -> None:
    """Otherwise a plug of the gearbox would be answered as one of the engine."""
    assert (
        told("gearbox spark plugs renewed") == "gearbox spark plugs renewed: 'gearbox' does not go with the rest of it "
    )


def test_spring_is_a_season_too(tmp_path: Path) -> None:
    """Otherwise `do in spring!` would be answered as a look at the leaf springs."""
    report = read_lines(tmp_path, "Date,Km,Work", '13/1/2021,5000,"coolant flush, do in spring!"', "14/1/2021,5100,coolant changed in spring")  # fmt: skip
    [question] = report.questions
    assert question.may_mean == ("coolant_change",) and "'do in spring' leaves open" in question.asked
    assert [row.item for row in report.records] == ["coolant_change"]
    assert asked(report) == [question.asked]
