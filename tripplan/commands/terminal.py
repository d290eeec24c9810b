"""The one way out to the terminal: what is printed cannot steer it, and nothing of it is too odd to be printed.

Control and direction marks are shown as what they are, so that a cell or a note can neither
colour, move nor hide anything. A mark that the terminal's own character set lacks is shown
as its plain letter, or as a question mark; in JSON as the escape that stands for it.
"""

import os
import re
import sys
import unicodedata
from collections.abc import Iterator
from contextlib import contextmanager
from contextvars import ContextVar

# C0 but tab and line feed, DEL, C1, the marks that turn the direction of writing, line and paragraph separators,
# and halves of a pair.
UNSEEN = re.compile("[\x00-\x08\x0b-\x1f\x7f-\x9f\u061c\u200e\u200f\u2028-\u202e\u2066-\u2069\ufeff\ud800-\udfff]")
INSTEAD = "?"


class Unheard(Exception):
    """What was to be said could not be printed; what was done is done."""


class NotAnswered(Exception):
    """A question was asked, and the one who was asked has left."""


_waiting: ContextVar[list[tuple[str, bool, str]] | None] = ContextVar("_waiting", default=None)


def say(text: str, error: bool = False, end: str = "\n") -> None:
    """Print a text, to the error output if asked; within `held_back` only once that is over."""
    _put(UNSEEN.sub(_shown, text), error, end)


def say_json(text: str) -> None:
    """Print a JSON text: the same document, every odd mark as its JSON escape."""
    encoding = getattr(sys.stdout, "encoding", None) or "utf-8"
    safe = UNSEEN.sub(_escaped, text)
    if not _has(encoding, safe):
        safe = "".join(mark if _has(encoding, mark) else _escaped_mark(mark) for mark in safe)
    _put(safe, False, "\n")


@contextmanager
def held_back() -> Iterator[None]:
    """Keep what is said until the end, and forget it when that is not reached.

    So that nothing is told as done before it is.
    """
    if _waiting.get() is not None:
        yield
        return
    said: list[tuple[str, bool, str]] = []
    token = _waiting.set(said)
    try:
        yield
    finally:
        _waiting.reset(token)
    for text, error, end in said:
        _put(text, error, end)


def is_a_person_there() -> bool:
    """True where somebody can be asked: what is read and what is printed is a terminal."""
    return sys.stdin.isatty() and sys.stdout.isatty()


def ask(question: str) -> str:
    """What is typed in answer, without blanks. Raises NotAnswered where it is broken off."""
    _write(UNSEEN.sub(_shown, question), False, "")
    try:
        typed = sys.stdin.readline()
    except KeyboardInterrupt:
        raise NotAnswered from None
    if not typed:
        raise NotAnswered
    return typed.strip()


def _put(text: str, error: bool, end: str) -> None:
    waiting = _waiting.get()
    if waiting is not None:
        waiting.append((text, error, end))
        return
    _write(text, error, end)


def _write(text: str, error: bool, end: str) -> None:
    stream = sys.stderr if error else sys.stdout
    encoding = getattr(stream, "encoding", None) or "utf-8"
    try:
        stream.write(printable(text, encoding) + end)
        stream.flush()
    except BrokenPipeError:  # whoever was listening has heard enough
        _listen_no_more(error)
    except OSError as why:
        _listen_no_more(error)
        raise Unheard(why.strerror or str(why)) from why


def _listen_no_more(error: bool) -> None:
    """Let all that is still said go nowhere, so that the end of the program does not fail on it."""
    nowhere = open(os.devnull, "w", encoding="utf-8")  # noqa: SIM115 - it stays open to the end
    if error:
        sys.stderr = nowhere
    else:
        sys.stdout = nowhere


def printable(text: str, encoding: str) -> str:
    """The text with every mark that the character set lacks as its plain letter or a question mark."""
    return (
        text
        if _has(encoding, text)
        else "".join(mark if _has(encoding, mark) else _plain(mark, encoding) for mark in text)
    )


def _has(encoding: str, text: str) -> bool:
    try:
        text.encode(encoding)
    except (UnicodeEncodeError, LookupError):
        return False
    return True


def _plain(mark: str, encoding: str) -> str:
    letter = unicodedata.normalize("NFKD", mark)[:1]
    return letter if letter.isprintable() and _has(encoding, letter) else INSTEAD


def _shown(match: "re.Match[str]") -> str:
    number = ord(match.group())
    return f"\\x{number:02x}" if number < 256 else f"\\u{number:04x}"


def _escaped(match: "re.Match[str]") -> str:
    return _escaped_mark(match.group())


def _escaped_mark(mark: str) -> str:
    number = ord(mark)
    if number < 0x10000:
        return f"\\u{number:04x}"
    high, low = divmod(number - 0x10000, 0x400)
    return f"\\u{0xD800 + high:04x}\\u{0xDC00 + low:04x}"
