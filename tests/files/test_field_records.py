"""The text in which a phone's records come home: what is whole counts, what is damaged is told, and no text is a fault.

The checksum is that of ISO 3309, held against the published check value of CRC-32 for the marks 123456789, CBF43926.
"""

import json
import zlib
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.logbooks import line_of
from tripplan.files.field_records.text import FIRST, read_text
from tripplan.files.field_records.trip_key import trip_key

HEAD = {"key": trip_key("Rig", "Trip", "2026-07-03"), "rig": "Rig", "trip": "Trip", "depart": "2026-07-03"}
LOOK = {
    "id": "mtnr985c-1",
    "kind": "work",
    "at": "2026-07-06T20:00:00+08:00",
    "unit": "wagon",
    "item": "axle",
    "act": "look",
}


def text(*records: Any, head: Any = HEAD) -> str:
    """A text as the phone writes it."""
    lines = [f"{FIRST}1", line_of(head), *map(line_of, records)]
    whole = "\n".join(lines)
    return f"{whole}\nend {len(records)} {zlib.crc32(whole.encode()):08x}\n"


def codes(sent: str) -> list[str]:
    """What is told about a text."""
    return [problem.code for problem in read_text(sent, "sent.txt").problems]


def test_the_checksum_is_the_published_one() -> None:
    """Otherwise the phone's sums and ours would be of two kinds. Check value: ISO 3309 / ITU-T V.42, from memory."""
    assert zlib.crc32(b"123456789") == 0xCBF43926
    assert line_of({"a": "é"}).endswith('{"a":"\\u00e9"}') and line_of({}) == f"{zlib.crc32(b'{}'):08x} {{}}"


def test_a_whole_text_is_read_in_the_order_of_time() -> None:
    """Otherwise the finding before the ford would be counted as one after it."""
    early = {**LOOK, "id": "mtnr985c-0", "at": "2026-07-06T06:00:00+08:00", "finding": "water"}
    found = read_text(f"Hello,\r\n\r\n{text(LOOK, early)}\r\n-- \r\nsent from the road", "sent.txt")
    assert found.problems == () and [record.id for record in found.records] == ["mtnr985c-0", "mtnr985c-1"]
    assert found.records[0].at.isoformat() == "2026-07-06T06:00:00" and found.sent is not None


def test_a_time_that_is_no_text_is_told() -> None:
    """Otherwise a bare number would be read as seconds, in a zone, beside times that have none."""
    found = read_text(text(LOOK, {**LOOK, "id": "mtnr985c-3", "at": 1783300000}), "sent.txt")
    assert [record.id for record in found.records] == ["mtnr985c-1"] and codes(text({**LOOK, "at": 0})) == ["Y04"]


def test_the_same_record_twice_in_a_text_counts_once() -> None:
    """Otherwise two texts pasted into one file would count the work twice."""
    assert len(read_text(text(LOOK, LOOK), "sent.txt").records) == 1


def test_a_damaged_record_is_told_and_the_others_are_read() -> None:
    """Otherwise one flipped letter would cost an evening's findings, or change one silently."""
    other = {**LOOK, "id": "mtnr985c-2"}
    sent = text(LOOK, other).replace('"item":"axle"', '"item":"axla"', 1)
    found = read_text(sent, "sent.txt")
    assert [problem.code for problem in found.problems] == ["Y04", "Y02"]
    assert [problem.row for problem in found.problems] == [3, 5] and [one.id for one in found.records] == ["mtnr985c-2"]


def test_a_text_cut_short_is_told_and_what_is_there_is_read() -> None:
    """Otherwise half a message would pass for the whole."""
    lines = text(LOOK, {**LOOK, "id": "mtnr985c-2"}).splitlines()
    found = read_text("\n".join(lines[:3]), "sent.txt")
    assert [problem.code for problem in found.problems] == ["Y02"] and len(found.records) == 1
    assert codes("\n".join((*lines[:3], lines[4]))) == ["Y02"]


def in_parts(sent: str, size: int = 100) -> list[str]:
    """The text as squares hold it."""
    whole, total = sent.replace("\n", "\t"), zlib.crc32(sent.encode())
    count = -(-len(whole) // size)
    return [
        f"tripplan field part {n + 1}/{count} {total:08x} {whole[n * size : (n + 1) * size]}|" for n in range(count)
    ]


def test_the_texts_of_squares_are_put_together_in_any_order() -> None:
    """Otherwise a phone without a network could be read only in the right order, by somebody who knows it."""
    sent = text(LOOK, {**LOOK, "id": "mtnr985c-2", "note": "two  spaces at a cut " * 8})
    parts = in_parts(sent)
    assert len(parts) > 4
    found = read_text("\r\n".join(["read with a camera", *reversed(parts), parts[1]]), "sent.txt")
    assert found.problems == () and found.records == read_text(sent, "sent.txt").records
    assert codes("\n".join(parts[:2] + parts[3:])) == ["Y01"]


@pytest.mark.parametrize("sent", ["", "no records", f"{FIRST}2\n", f"{FIRST}1\n", text(LOOK, head={"key": 1})])
def test_what_is_no_text_of_records_is_refused(sent: str) -> None:
    """Otherwise any file would be taken for an evening without findings."""
    assert "Y01" in codes(sent) and read_text(sent, "sent.txt").records == ()


ODD = [
    {"kind": "dance"}, {"act": None}, {"finding": "soggy"}, {"id": "x"}, {"at": "soon"}, {"depth_m": "deep"},
    {"colour": "red"}, {"note": "n" * 501},
]  # fmt: skip


@pytest.mark.parametrize("change", ODD, ids=str)
def test_a_record_of_no_known_kind_is_told_and_left_out(change: dict[str, Any]) -> None:
    """Otherwise a newer phone's record, or a forged one, would end in a fault or in the history."""
    found = read_text(text({**LOOK, **change}, {**LOOK, "id": "mtnr985c-2"}), "sent.txt")
    assert [problem.code for problem in found.problems] == ["Y04"] and len(found.records) == 1


SOME = st.none() | st.booleans() | st.floats() | st.text(max_size=30) | st.lists(st.integers(), max_size=2)


@settings(max_examples=60)
@given(st.dictionaries(st.sampled_from([*LOOK, "leg", "when", "minutes", "of", "origin"]), SOME))
def test_no_record_is_a_fault_of_ours(change: dict[str, Any]) -> None:
    """Otherwise what somebody sends could end the program with a traceback."""
    found = read_text(text({**LOOK, **change}), "sent.txt")
    assert len(found.records) == (0 if found.problems else 1)


@settings(max_examples=60)
@given(st.integers(0, 10**6), st.integers(1, 255))
def test_no_changed_mark_passes_unseen(spot: int, flip: int) -> None:
    """Otherwise a finding could be turned into its opposite on the way. CRC-32 finds every change of 8 bits in a row."""
    whole = text(LOOK).encode()
    at = spot % len(whole)
    changed = bytes([*whole[:at], whole[at] ^ flip, *whole[at + 1 :]]).decode("latin-1")
    found = read_text(changed, "sent.txt")
    is_same = [record.model_dump(exclude={"origin"}) for record in found.records] == [
        record.model_dump(exclude={"origin"}) for record in read_text(text(LOOK), "sent.txt").records
    ]
    assert found.problems or (is_same and json.dumps(changed))
