"""A text in standard spelling that knows, letter by letter, what its owner wrote there."""

import re
from collections.abc import Mapping, Sequence

from msgspec import Struct

THOUSANDS = re.compile(r"(?<=\d),(?=\d{3})")
MARKS = str.maketrans({"\u2018": "'", "\u2019": "'", "\u2013": "-", "\u2014": "-", "\u201c": '"', "\u201d": '"'})
MOST_PASSES = 3
Span = tuple[int, int]


class Written(Struct, frozen=True):
    """`plain` is `text` in small letters and standard spelling; `spans` is where in `text` each letter of it comes from."""

    text: str
    plain: str
    spans: tuple[Span, ...]

    def own(self, start: int, end: int) -> str:
        """The owner's words for these letters of `plain`."""
        spans = self.spans[start:end]
        return self.text[min(first for first, _ in spans) : max(last for _, last in spans)] if spans else ""


def written(text: str, pattern: re.Pattern[str], spelt: Mapping[str, str]) -> Written:
    """A text put into standard spelling: small letters, single spaces, each known spelling replaced by its word."""
    plain, spans = _small(text)
    plain, spans = _replaced(plain, spans, THOUSANDS, {",": ""})
    for _ in range(MOST_PASSES):
        before = plain
        plain, spans = _replaced(plain, spans, pattern, spelt)
        if plain == before:
            break
    return Written(text, plain, tuple(spans))


def _small(text: str) -> tuple[str, list[Span]]:
    letters: list[str] = []
    spans: list[Span] = []
    for spot, mark in enumerate(text):
        for letter in mark.lower().translate(MARKS):
            if letter.isspace():
                letter = " "
                if not letters or letters[-1] == " ":
                    continue
            letters.append(letter)
            spans.append((spot, spot + 1))
    if letters and letters[-1] == " ":
        letters.pop()
        spans.pop()
    return "".join(letters), spans


def _replaced(
    plain: str, spans: Sequence[Span], pattern: re.Pattern[str], spelt: Mapping[str, str]
) -> tuple[str, list[Span]]:  # fmt: skip
    """Each match replaced by its word; every letter of that word comes from all that was matched."""
    out: list[str] = []
    from_: list[Span] = []
    at = 0
    for match in pattern.finditer(plain):
        word = spelt[match.group()]
        out += [plain[at : match.start()], word]
        from_ += spans[at : match.start()]
        source = spans[match.start() : match.end()]
        from_ += [(min(first for first, _ in source), max(last for _, last in source))] * len(word)
        at = match.end()
    return "".join((*out, plain[at:])), [*from_, *spans[at:]]
