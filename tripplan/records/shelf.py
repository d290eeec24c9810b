"""What is on the owner's shelf, or ordered for it: the rows of `shelf.csv`, and each thing in its own measure."""

from collections.abc import Sequence
from datetime import date

from msgspec import Struct
from msgspec.structs import replace
from pydantic import Field

from tripplan.records import cell_values
from tripplan.records.catalogue import Consumable
from tripplan.records.facts_in import Day, Number, Origin, Record

IN_UNIT = {("kg", "g"): 1000.0, ("g", "kg"): 0.001, ("ml", "l"): 0.001, ("l", "ml"): 1000.0}


class ShelfRow(Record):
    """One line of `shelf.csv`: how much of a thing is there, and what a container of it holds.

    `arrives` is the day on which what was ordered comes; None is there already.
    """

    what: str = Field(min_length=1, description="a consumable id or name of consumables.csv")
    quantity: Number = Field(ge=0, le=100_000, description="0 or more")
    unit_of_measure: str = Field(min_length=1, description="g, kg, L, mL, piece or set")
    container_size: Number | None = Field(None, gt=0, le=100_000, description="above 0, in the same unit")
    price: Number | None = Field(
        None, ge=0, le=1_000_000, description="0 or more, for one container, or one piece where there is no container"
    )
    arrives: Day | None = Field(None, description=cell_values.DAY_ACCEPTED)
    origin: Origin


class Batch(Struct, frozen=True):
    """So much of one thing in its own measure, there from a day on; None is there already."""

    quantity: float
    arrives: date | None = None


def take(there: list[Batch], amount: float, on: date | None) -> tuple[float, date]:
    """Take so much, or all there is, of what is there on that day (None: whenever it comes) off the batches.

    How much that was, and the day on which the last of it is there.
    """
    wanted, last = amount, date.min
    for index, batch in enumerate(there):
        part = min(wanted, batch.quantity) if on is None or (batch.arrives or date.min) <= on else 0.0
        if part > 0:
            last = max(last, batch.arrives or date.min)
            there[index] = replace(batch, quantity=batch.quantity - part)
            wanted -= part
    return amount - wanted, last


def batches(shelf: Sequence[ShelfRow], consumables: Sequence[Consumable]) -> dict[str, list[Batch]]:
    """The shelf by consumable id, what is there first, then as it comes. A row that fits nothing known counts as nothing."""
    found: dict[str, list[Batch]] = {}
    for row in sorted(shelf, key=lambda row: row.arrives or date.min):
        known = meant(row.what, consumables)
        factor = unit_factor(row.unit_of_measure, known.unit_of_measure) if known else None
        if known is not None and factor is not None:
            found.setdefault(known.id, []).append(Batch(row.quantity * factor, row.arrives))
    return found


def meant(text: str, consumables: Sequence[Consumable]) -> Consumable | None:
    """The consumable meant by its id or name, in any case."""
    wanted = text.strip().casefold()
    return next((one for one in consumables if wanted in (one.id, one.name.casefold())), None)


def unit_factor(given: str, wanted: str) -> float | None:
    """What turns an amount in one unit into the other; None when they measure different things."""
    one, other = given.strip().casefold(), wanted.casefold()
    return 1.0 if one == other else IN_UNIT.get((one, other))
