"""Which item is meant by the words that somebody typed, and which unit it is on: for `log`, `why` and `grease` alike."""

from collections.abc import Sequence

from tripplan.commands.status import command_problem
from tripplan.files.importing.match import read_text
from tripplan.files.importing.word_book import import_words, word_book
from tripplan.records.catalogue import Catalogue, Item, ServiceSheet
from tripplan.records.facts_in import Rig
from tripplan.records.lookups import resolve_item
from tripplan.records.problem_codes import nearest
from tripplan.records.problems import BadInput, Problem

MOST_NAMED, NEAREST, MOST_SHOWN = 8, 4, 4


def items_meant(text: str, catalogue: Catalogue, rig: Rig) -> tuple[Item, ...]:
    """Every item the words can mean: the one so called, else those on this rig that the words fit."""
    exact = resolve_item(catalogue, text) or resolve_item(catalogue, "_".join(text.split()))
    if exact is not None:
        return (exact,)
    on_rig = [item for item in catalogue.items if any(item.belongs_to(unit) for unit in rig.units)]
    read = read_text(text, word_book(import_words(), catalogue, rig.units))
    sure = {match.item for match in read.matches}
    if sure and not read.doubts:
        return tuple(item for item in on_rig if item.id in sure)
    likely = sure | {name for doubt in read.doubts for name in doubt.candidates}
    if not likely and (wanted := _words(text)):
        likely = {item.id for item in on_rig if wanted <= _words(f"{item.id} {item.name}")}
    return tuple(item for item in on_rig if item.id in likely)


def known_item(text: str, catalogue: Catalogue, rig: Rig) -> Item:
    """The item that the words mean. Raises BadInput A02 where there is none, or more than one."""
    found = items_meant(text, catalogue, rig)
    if len(found) != 1:
        raise BadInput([not_one(text, found, catalogue)])
    return found[0]


def few_items(text: str, catalogue: Catalogue, rig: Rig) -> tuple[Item, ...]:
    """The items that the words mean, where they are few enough to show them all. Raises BadInput A02 else."""
    found = items_meant(text, catalogue, rig)
    if not 1 <= len(found) <= MOST_SHOWN:
        raise BadInput([not_one(text, found, catalogue)])
    return found


def by_id(text: str, catalogue: Catalogue, rig: Rig) -> str:
    """An `item` or `item:position` with the item by its id, where its words mean one; else the text as it is."""
    words, colon, position = text.partition(":")
    found = items_meant(words.strip(), catalogue, rig)
    return f"{found[0].id}{colon}{position}" if len(found) == 1 else text


def not_one(text: str, found: Sequence[Item], catalogue: Catalogue) -> Problem:
    """What to say where the words fit no item, or more than one."""
    if not found:
        accepted = f"an item such as {nearest(text, [item.id for item in catalogue.items], NEAREST)}"
        return command_problem("A02", text or "nothing", accepted, "tripplan numbers lists every item by its name")
    listed = nearest(text, [item.id for item in found], MOST_NAMED)
    return command_problem("A02", f"{text}, which fits {len(found)} items", listed)


def unit_of(item: Item | ServiceSheet | None, rig: Rig) -> str:
    """The unit an item or a service is of, without one the vehicle; empty where two could be meant."""
    kind = item.unit_kind if item else "vehicle"
    own = [unit.id for unit in rig.units if unit.kind == kind]
    return own[0] if len(own) == 1 else ""


def _words(text: str) -> set[str]:
    plain = "".join(mark if mark.isalnum() else " " for mark in text.casefold())
    return {word.removesuffix("s") for word in plain.split()}
