"""The squares that the phone draws are those of the standard: held against another encoder, mark for mark.

segno draws the same text in the same version and mask; both must agree everywhere. Its 1.6.6 puts a byte of noughts
before the pad codewords where the text ends with a whole byte; the standard (7.4.10) fills up to the byte and no
further, so that is put right here first. A reader ignores what stands there.
"""

import json
import shutil
import subprocess
from pathlib import Path
from random import Random

import pytest

from tripplan.sheets.field import page

segno = pytest.importorskip("segno")


@pytest.fixture(autouse=True)
def padded_as_the_standard_says(monkeypatch: pytest.MonkeyPatch) -> None:
    """Up to the whole byte, and no further."""
    from segno import encoder

    monkeypatch.setattr(encoder, "write_padding_bits", lambda buff, version, length: buff.extend([0] * (-length % 8)))


HERE = Path(__file__).parent
SCRIPT = Path(page.__file__).with_name("qr.js")
# The most bytes of each version with correction M (ISO/IEC 18004, table 7, by segno): one code a version, full.
MOST_BYTES = (14, 26, 42, 62, 84, 106, 122, 152, 180, 213, 251, 287, 331, 362, 412, 450, 504, 560, 624, 666)


def drawn(tmp_path: Path, asked: list[dict[str, object]]) -> list[list[str]]:
    """The codes as the phone draws them."""
    node = shutil.which("node") or shutil.which("nodejs")
    if node is None:
        pytest.skip("no node on this machine")
    (tmp_path / "texts.json").write_text(json.dumps(asked))
    command = [node, str(HERE / "draw_codes.js"), str(SCRIPT), str(tmp_path / "texts.json")]
    found: list[list[str]] = json.loads(subprocess.run(command, capture_output=True, text=True, check=True).stdout)
    return found


def test_every_version_and_mask_is_drawn_as_another_encoder_does(tmp_path: Path) -> None:
    """Otherwise the square on the phone would be one that no camera reads."""
    chance = Random(20)
    asked: list[dict[str, object]] = []
    for number, most in enumerate(MOST_BYTES):
        for length in (most, most - 1 - number % 9):
            text = "".join(chr(chance.randrange(97, 127)) for _ in range(length))
            asked.append({"text": text, "mask": (number + length) % 8})
    for one, found in zip(asked, drawn(tmp_path, asked), strict=True):
        code = segno.make_qr(str(one["text"]).encode(), error="M", mode="byte", mask=one["mask"], boost_error=False)
        assert found == ["".join("1" if dark else "0" for dark in row) for row in code.matrix]


def test_a_mask_is_chosen_and_the_code_holds_the_text(tmp_path: Path) -> None:
    """Otherwise the phone could draw a square that is hard to read. Any of the eight masks is a right code."""
    text = 'tripplan field part 1/1 00000000 {"id":"a"}|'
    (found,) = drawn(tmp_path, [{"text": text}])
    codes = [segno.make_qr(text.encode(), error="M", mode="byte", mask=mask, boost_error=False) for mask in range(8)]
    same = [
        mask
        for mask, code in enumerate(codes)
        if found == ["".join("1" if d else "0" for d in row) for row in code.matrix]
    ]
    best = segno.make_qr(text.encode(), error="M", mode="byte", boost_error=False).mask
    assert same == [best]
