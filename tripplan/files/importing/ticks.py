"""Ticks as cells: a grid with a job as the heading of each column, and columns that say done or not."""

import re
from collections.abc import Sequence
from functools import lru_cache

from tripplan.files.importing.word_book import AXLES, BOTH_AXLES, import_words, item_tokens, spellings
from tripplan.files.importing.written import written

TICKS = frozenset(
    ("x", "xx", "\u2713", "\u2714", "\u2611", "\u221a", "y", "yes", "done", "1", "*", "\u2022", "\u25cf", "true")
)
NO_TICKS = frozenset(("-", "--", "\u2013", "\u2014", "n", "no", "n/a", "na", "0", "false", "not done", "nil", "."))
CROSSES = frozenset(("\u2717", "\u2718", "/"))
HOOKS = frozenset(("\u2713", "\u2714", "\u2611", "\u221a", "y", "yes"))
FINISHED = frozenset(("completed", "complete", "finished", "closed", "all done"))
OPEN = frozenset((
    "pending", "todo", "to do", "planned", "open", "tbd", "waiting", "in progress", "partly", "ordered", "deferred", "postponed",
    "cancelled", "canceled", "skipped", "missed", "overdue", "due", "not started", "on hold", "not yet", "next time", "not done",
))  # fmt: skip
MAY_BE_TICKED = ("", "work", "act", "item", "lubricant", "finding")
STATUS_NAMES = ("done", "completed", "complete", "finished", "status", "done yet", "yes no", "y n")
LONGEST_STATUS = 20


def is_grid(title: str, holds: str, entries: Sequence[str]) -> bool:
    """True for a column whose heading is a job and whose cells tick it off.

    A heading that names an item is one even where its cells are marks or words of another kind.
    """
    plain = [text.strip().casefold() for text in entries]
    if not plain or holds not in MAY_BE_TICKED or _is_status(title):
        return False
    is_ticked = all(text in TICKS | NO_TICKS | CROSSES for text in plain) and any(
        text not in NO_TICKS for text in plain
    )
    return is_ticked or (not holds and names_work(title))


def _is_status(title: str) -> bool:
    return " ".join(title.casefold().replace("/", " ").strip(" ?:.").split()) in STATUS_NAMES


def is_status(title: str, entries: Sequence[str]) -> bool:
    """True for a column such as `Done?` whose cells say yes or no in short words, no dates among them.

    A column `Done` is one only where most of its cells are such words: it may hold the work itself.
    """
    plain = [text.strip().casefold() for text in entries]
    known = [text for text in plain if text in TICKS | NO_TICKS | OPEN | FINISHED]
    is_short = all(len(text) <= LONGEST_STATUS and not text[0].isdigit() for text in plain if text not in known)
    is_named = title.strip(" ?:.").casefold() in ("status", "completed", "complete", "finished")
    return _is_status(title) and is_short and bool(plain) and (is_named or len(known) * 2 > len(plain))


def said_done(text: str, is_x_open: bool = False) -> bool | None:
    """What a cell of such a column says; None where it is neither yes nor no.

    A cross beside hooks may mean the opposite of them.
    """
    plain = text.strip().casefold()
    if plain in CROSSES or (is_x_open and plain in ("x", "xx")):
        return None
    return True if plain in TICKS | FINISHED else False if plain in NO_TICKS else None


@lru_cache(maxsize=512)
def names_work(title: str) -> bool:
    """True for a heading that is made of words for an item and for what is done to it alone."""
    pattern, spelt, things, says = _table()
    tokens = [token.strip("?.:+()&,/") for token in re.split(r"[\s/,&+]+", written(title, pattern, spelt).plain)]
    return any(token in things for token in tokens) and all(
        token in things or token in says for token in tokens if token
    )


@lru_cache(maxsize=1)
def _table() -> tuple[re.Pattern[str], dict[str, str], frozenset[str], frozenset[str]]:
    words = import_words()
    says = {row.words for row in words if row.kind in ("act", "side", "filler")} | {*AXLES, BOTH_AXLES, "and"}
    return (*spellings(words), item_tokens(words), frozenset(says))
