"""The one way out to the terminal: what is printed cannot steer it, and nothing of it is too odd to be printed.

Control and direction marks are shown as what they are, so that a cell or a note can neither
colour, move nor hide anything. A mark that the terminal's own character set lacks is shown
as its plain letter, or as a question mark; in JSON as the escape that stands for it.
"""

import json
import os
import re
import sys
import threading
import unicodedata
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from contextvars import ContextVar
from typing import Any

# C0 but tab and line feed, DEL, C1, the marks that turn the direction of writing, line and paragraph separators,
# and halves of a pair.
UNSEEN = re.compile("[\x00-\x08\x0b-\x1f\x7f-\x9f\u061c\u200e\u200f\u2028-\u202e\u2066-\u2069\ufeff\ud800-\udfff]")
INSTEAD = "?"
Part = tuple[str, str]
PLAIN, STRONG, QUIET, TYPED, AS_BEFORE = "", "\x1b[1m", "\x1b[2m", "\x1b[36m", "\x1b[0m"
LOOKS = (PLAIN, STRONG, QUIET, TYPED)
SHOWN_AFTER_S = 1.0


class Unheard(Exception):
    """What was to be said could not be printed; what was done is done."""


class NotAnswered(Exception):
    """A question was asked, and the one who was asked has left."""


_waiting: ContextVar[list[tuple[str, bool, str]] | None] = ContextVar("_waiting", default=None)


def say(text: str | Sequence[Part], error: bool = False, end: str = "\n") -> None:
    """Print a text, to the error output if asked; within `held_back` only once that is over.

    Parts of it may have a look of `LOOKS`, which is seen where the terminal has colour.
    """
    parts = [(text, PLAIN)] if isinstance(text, str) else text
    is_seen = any(look for _, look in parts) and has_colour(sys.stderr if error else sys.stdout)
    safe = [(UNSEEN.sub(_shown, part), look) for part, look in parts]
    _put("".join(f"{look}{part}{AS_BEFORE}" if is_seen and look else part for part, look in safe), error, end)


def has_colour(stream: Any) -> bool:
    """True for a terminal that shows colour, unless NO_COLOR is set to anything."""
    is_able = os.name != "nt" or any(os.environ.get(name) for name in ("WT_SESSION", "ANSICON", "TERM"))
    is_wanted = not os.environ.get("NO_COLOR") and os.environ.get("TERM") != "dumb"
    return bool(is_able and is_wanted and stream.isatty())


def say_json(text: str) -> None:
    """Print a JSON text: the same document, every odd mark as its JSON escape."""
    encoding = getattr(sys.stdout, "encoding", None) or "utf-8"
    safe = UNSEEN.sub(lambda match: _escaped(match.group()), text)
    if not _has(encoding, safe):
        safe = "".join(mark if _has(encoding, mark) else _escaped(mark) for mark in safe)
    _put(safe, False, "\n")


def say_document(document: object) -> None:
    """Print a document as JSON, indented for whoever reads it."""
    say_json(json.dumps(document, indent=2, ensure_ascii=False))


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
    _line.is_asking = True
    _write(UNSEEN.sub(_shown, question), False, "")
    try:
        typed = sys.stdin.readline()
    except KeyboardInterrupt:
        raise NotAnswered from None
    finally:
        _line.is_asking = False
    if not typed:
        raise NotAnswered
    return typed.strip()


def _put(text: str, error: bool, end: str) -> None:
    waiting = _waiting.get()
    if waiting is not None:
        waiting.append((text, error, end))
        return
    _write(text, error, end)


@contextmanager
def working() -> Iterator[None]:
    """Tell on a terminal that work goes on, once it takes more than a second; nothing elsewhere, and nothing stays."""
    is_main = threading.current_thread() is threading.main_thread()
    if _line.is_watched or not is_main or not sys.stderr.isatty():
        yield
        return
    is_over = threading.Event()
    teller = threading.Thread(target=_tell_time, args=(is_over,), daemon=True)
    _line.is_watched = True
    teller.start()
    try:
        yield
    finally:
        is_over.set()
        teller.join()
        _line.is_watched = False
        _line.clear()


def _tell_time(is_over: threading.Event) -> None:
    seconds = 0
    while not is_over.wait(SHOWN_AFTER_S):
        seconds += 1
        _line.show(f"working, {seconds} s")


class _Line:
    """The line at the foot of the terminal that comes and goes."""

    def __init__(self) -> None:
        self.is_watched, self.is_asking = False, False
        self._shown, self._lock = 0, threading.Lock()

    def show(self, text: str) -> None:
        """Put this text there in place of what was shown."""
        with self._lock:
            if not self.is_asking:
                sys.stderr.write(f"\r{text}")
                sys.stderr.flush()
                self._shown = len(text)

    def clear(self) -> None:
        """Take it away."""
        with self._lock:
            if self._shown:
                sys.stderr.write(f"\r{' ' * self._shown}\r")
                sys.stderr.flush()
                self._shown = 0


_line = _Line()


def _write(text: str, error: bool, end: str) -> None:
    _line.clear()
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
    if _has(encoding, text):
        return text
    return "".join(mark if _has(encoding, mark) else _plain(mark, encoding) for mark in text)


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


def _escaped(mark: str) -> str:
    return json.dumps(mark).strip('"')
