"""What must hold for any two greases: symmetry, the worst decides, unknown never goes ahead."""

from typing import Any

from hypothesis import given, settings
from hypothesis import strategies as st

from tests.grease.two_greases import mixes
from tripplan.files.data_tables import read_catalogue
from tripplan.grease.mixing import GO, OF_RATING, UNKNOWN, VERDICTS, may_go_in, suits
from tripplan.records.facts_in import Origin
from tripplan.records.lubricants import THICKENERS, OwnLubricant, ratings_of
from tripplan.wear.mechanisms.grease import cavity_cm3, strokes_for

CATALOGUE = read_catalogue()[0]
PAIRS, SPACES = CATALOGUE.thickener_pairs, CATALOGUE.cavities
MARKS = (None, "GC", "LB", "GC-LB", "LA", "GB")
SOLIDS = st.one_of(st.none(), st.sampled_from((0.0, 1.0, 3.0, 5.0, 12.0)))


@st.composite
def greases(draw: st.DrawFn) -> OwnLubricant:
    """Any grease a tin could describe, with anything left unsaid."""
    values: dict[str, Any] = {
        "id": draw(st.sampled_from(("a", "b", "c"))), "own_name": draw(st.sampled_from(("one", "two"))),
        "kind": "grease", "thickener": draw(st.sampled_from((None, *THICKENERS))), "solids_percent": draw(SOLIDS),
        "base_oil": draw(st.sampled_from((None, "mineral", "ester", "silicone", "polyglycol"))),
        "astm_d4950": draw(st.sampled_from(MARKS)), "nlgi": draw(st.sampled_from((None, "00", "1", "2", "3"))),
        "temp_high_c": draw(st.sampled_from((None, 60.0, 120.0, 180.0))),
        "water_grade": draw(st.sampled_from((None, "0-40", "3-40"))), "origin": Origin(file="lubricants.csv", row=2),
    }  # fmt: skip
    return OwnLubricant.model_validate(values)


@given(one=greases(), other=greases())
def test_mixing_is_symmetric(one: OwnLubricant, other: OwnLubricant) -> None:
    """Which grease was there first would decide whether they get on."""
    assert mixes(one, other, PAIRS).word == mixes(other, one, PAIRS).word


@given(new=greases(), there=greases(), cavity=st.sampled_from(SPACES))
@settings(max_examples=300)
def test_unknown_never_goes_ahead(new: OwnLubricant, there: OwnLubricant, cavity: Any) -> None:
    """Something nobody knows would be taken for harmless."""
    unknown = new != there and (
        None in (new.thickener, there.thickener) or not ratings_of(str(new.thickener), str(there.thickener), PAIRS)
    )
    word = may_go_in(new, there, cavity, PAIRS).word
    assert word in VERDICTS and not (unknown and word == GO)
    assert may_go_in(new, None, cavity, PAIRS).word != GO


@given(new=greases(), there=greases(), cavity=st.sampled_from(SPACES))
@settings(max_examples=300)
def test_the_worst_decides(new: OwnLubricant, there: OwnLubricant, cavity: Any) -> None:
    """A good chart would outvote a bad one, or a good chart the place."""
    whole, parts = may_go_in(new, there, cavity, PAIRS), (suits(new, cavity), mixes(new, there, PAIRS))
    assert VERDICTS.index(whole.word) == max(VERDICTS.index(part.word) for part in parts)
    assert whole.reasons and all(reason.origins for reason in whole.reasons)


@given(one=st.sampled_from(THICKENERS), other=st.sampled_from(THICKENERS))
def test_one_more_chart_never_makes_it_kinder(one: str, other: str) -> None:
    """An added chart would turn a strip-down into a top-up."""
    held = ratings_of(one, other, PAIRS)
    for row in held:
        assert VERDICTS.index(max((OF_RATING[r.rating] for r in held), key=VERDICTS.index)) >= VERDICTS.index(
            OF_RATING[row.rating]
        )
    assert held or UNKNOWN in VERDICTS


@given(bore=st.floats(10, 100), wall=st.floats(0, 9), length=st.floats(1, 100), g=st.floats(0.2, 5))
def test_more_room_never_takes_fewer_strokes(bore: float, wall: float, length: float, g: float) -> None:
    """A longer hub would be given less grease."""
    small, large = cavity_cm3(bore, bore - wall, length), cavity_cm3(bore, bore - wall, length * 1.5)
    assert strokes_for(small, g) <= strokes_for(large, g)
    assert strokes_for(small, g) * g >= small - 1e-6
