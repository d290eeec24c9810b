"""What a folder and a logbook had in common when they last agreed, kept in the folder.

So that a folder that is taken in later only changes what was changed in it: a file that is
as it was then says nothing, and must not put an older state in place of a newer one. A file
that both sides changed since is a conflict, for a person to settle.
"""

import hashlib
import json
from collections.abc import Iterable, Mapping
from pathlib import Path

from msgspec import Struct, ValidationError, convert, field
from msgspec.structs import asdict

from tripplan.files.way_in import NotRead, json_of, read_file
from tripplan.files.whole_files import write_whole

BASIS_FILE = ".logbook.json"
MOST_BYTES = 10_000_000
Marks = Mapping[str, str]


class Basis(Struct, frozen=True, kw_only=True):
    """Marks of each file as the folder had it and as the logbook would write it, at the time they agreed.

    `head` is the chain mark of the logbook then. Empty marks: nothing is known.
    """

    head: str = ""
    folder: Marks = field(default_factory=dict)
    book: Marks = field(default_factory=dict)


class Since(Struct, frozen=True, kw_only=True):
    """What changed since then: in the folder, in the logbook, and in both to different ends.

    `is_known` when there is a basis: then what the folder has no more was taken out of it.
    """

    mine: frozenset[str]
    theirs: frozenset[str]
    clash: tuple[str, ...]
    is_known: bool

    def counts(self, name: str) -> bool:
        """True when what the folder says in this file is to be taken in."""
        return name in self.mine or name not in self.theirs


def marks_of(contents: Mapping[str, bytes]) -> dict[str, str]:
    """A mark of each file."""
    return {name: hashlib.sha256(content).hexdigest()[:32] for name, content in contents.items()}


def read_basis(folder: Path, chain: Iterable[str]) -> Basis:
    """The basis kept in a folder; an empty one where there is none, or it is that of another logbook."""
    try:
        kept = convert(json_of(read_file(folder / BASIS_FILE, MOST_BYTES)), Basis)
    except (NotRead, ValidationError):
        return Basis()
    return kept if kept.head in set(chain) else Basis()


def keep_basis(folder: Path, head: str, own: Mapping[str, bytes], book: Mapping[str, bytes]) -> None:
    """Keep that both agree now. A folder that cannot be written to keeps none."""
    document = asdict(Basis(head=head, folder=marks_of(own), book=marks_of(book)))
    try:
        write_whole(folder / BASIS_FILE, (json.dumps(document, indent=1, sort_keys=True) + "\n").encode())
    except OSError:
        return


def since(basis: Basis, own: Mapping[str, bytes], book: Mapping[str, bytes]) -> Since:
    """What either side changed since the basis; without one all is the folder's to say, as at first."""
    mine, theirs = marks_of(own), marks_of(book)
    names = {*mine, *theirs, *basis.folder, *basis.book}
    if not basis.head:
        return Since(mine=frozenset(names), theirs=frozenset(), clash=(), is_known=False)
    by_folder = frozenset(name for name in names if mine.get(name) != basis.folder.get(name))
    by_book = frozenset(name for name in names if theirs.get(name) != basis.book.get(name))
    clash = tuple(sorted(name for name in by_folder & by_book if mine.get(name) != theirs.get(name)))
    return Since(mine=by_folder, theirs=by_book, clash=clash, is_known=True)
