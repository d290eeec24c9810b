"""Walking through an XML file without ever holding all of it, and without trusting it.

No DOCTYPE, no entity beyond the five of XML, no network, depth at most 256 (the parser's
own limit). A prefix that was used and never declared is let pass: receivers write such
files, and the points in them are sound.
"""

import re
from collections.abc import Iterator
from functools import lru_cache
from pathlib import Path
from typing import Any

from tripplan.files.tracks.points import refusal

ROOT_ACCEPTED = "a well-formed XML file without a DOCTYPE"
FIRST_ELEMENT = re.compile(rb"<[A-Za-z_]")
HEAD_BYTES = 65536
DROPPED_AT_ONCE = 500
PIECE_BYTES = 131_072


def elements(path: Path, file: str, names: tuple[str, ...], grown: str = "") -> Iterator[tuple[str, Any, bool]]:
    """Each element with one of these local names as it ends: its name, the element, and True.

    An element named `grown` is also given while it is still open, each time more of it has
    been read, with False; its last child may then lack a part. Finished elements are
    emptied when the next is asked for, and dropped soon after.
    """
    from lxml import etree

    _refuse_declarations(path, file)
    tags = tuple(f"{{*}}{name}" for name in (*names, *filter(None, [grown])))
    walk = etree.XMLPullParser(
        events=("start", "end") if grown else ("end",), tag=tags, recover=True,
        resolve_entities=False, no_network=True, load_dtd=False, dtd_validation=False,
        remove_comments=True, remove_pis=True, huge_tree=False,
    )  # fmt: skip
    try:
        yield from _walked(path, file, walk, grown)
        walk.close()
    except etree.XMLSyntaxError as error:
        raise refusal(file, "X04", f"a file that is not XML: {error.msg or 'empty'}", ROOT_ACCEPTED) from None
    _refuse_faults(walk, file)


def _walked(path: Path, file: str, walk: Any, grown: str) -> Iterator[tuple[str, Any, bool]]:
    count, still_open = 0, None
    with path.open("rb") as raw:
        while piece := raw.read(PIECE_BYTES):
            walk.feed(piece)
            for event, element in walk.read_events():
                if not count and element.getroottree().docinfo.doctype:
                    raise _declared(file)
                name = local_name(element.tag)
                if name == grown:
                    still_open = element if event == "start" else None
                if event == "start":
                    continue
                yield name, element, True
                element.clear()
                count += 1
                if not count % DROPPED_AT_ONCE:
                    _drop_before(element)
            if still_open is not None:
                yield grown, still_open, False


@lru_cache(maxsize=1024)
def local_name(tag: Any) -> str:
    """The name of an element without its namespace or prefix; empty for what is no element, as an entity."""
    if not isinstance(tag, str):
        return ""
    return tag.rpartition("}")[2].rpartition(":")[2]


def _drop_before(element: Any) -> None:
    parent = element.getparent()
    if parent is not None:
        del parent[: parent.index(element)]


def _refuse_declarations(path: Path, file: str) -> None:
    """Look before the first element, so that nothing declared is ever expanded."""
    with path.open("rb") as raw:
        head = raw.read(HEAD_BYTES).replace(b"\0", b"")
    first = FIRST_ELEMENT.search(head)
    if b"<!DOCTYPE" in head[: first.start() if first else len(head)]:
        raise _declared(file)


def _declared(file: str) -> Exception:
    hint = "no receiver writes one; take the line out, or export the track again"
    return refusal(file, "X02", "a DOCTYPE, which can name other files or swell without end", ROOT_ACCEPTED, hint)


def _refuse_faults(walk: Any, file: str) -> None:
    """The faults the parser went on after: a missing prefix is let pass, the rest is not."""
    for entry in walk.feed_error_log:
        if entry.type_name == "NS_ERR_UNDEFINED_NAMESPACE":
            continue
        if entry.type_name == "ERR_RESOURCE_LIMIT":
            raise refusal(file, "X03", f"beyond a limit of the reader: {entry.message}",
                          "elements at most 256 deep, each text at most 10 MB", row=entry.line)  # fmt: skip
        if entry.level_name != "WARNING":
            hint = "the file may be cut short; copy it again"
            raise refusal(file, "X04", f"a fault in the XML: {entry.message}", ROOT_ACCEPTED, hint, entry.line)
