"""What mends: the job after a bad finding, and the part carried for a failure on the way."""

from typing import Annotated, Literal

from pydantic import BeforeValidator, Field

from tripplan.records.facts_in import Facility, Finding, Number
from tripplan.records.item_cells import Amounts, FollowUps
from tripplan.records.sourced import Sourced, Words
from tripplan.records.sourced import words as in_words


class Remedy(Sourced):
    """What is done after a bad finding `at` an item, or at one of a family whose own act does not put it right.

    Where `by` names items, it counts as found at the first of them that the unit has, whose job it is then: milky oil at a
    level plug is the oil change's. Where the unit has none of them, or none is named, `act` is done, in so many minutes once it
    is open; a `state` or `facility` left empty is the item's own. `consumables` come on top of the item's own, or in the place
    of the same one; so do `follow_ups`. With `sides` both, it is done on both sides of the axle, whichever was found bad.
    """

    at: str
    found: Annotated[tuple[Finding, ...], BeforeValidator(in_words)]
    by: Words = ()
    act: str = ""
    minutes: Number | None = Field(None, gt=0)
    state: str = ""
    facility: Facility | None = None
    parts_lead_days: Number = Field(0, ge=0, le=90)
    consumables: Amounts = ()
    follow_ups: FollowUps = ()
    sides: Literal["both", ""] = ""
    words: str = ""


class Spare(Sourced):
    """A part that puts a failure of an item right on the way: how much of it, with what beside it, where and how long.

    `mends_share` is the share of the item's failures that it mends; `minutes` are those of the home shed, finding the
    fault, opening and closing included; `facility` is the least place it can be fitted at.
    """

    item: str
    part: str
    quantity: Number = Field(gt=0)
    beside: Amounts = ()
    mends_share: Number = Field(gt=0, le=1)
    minutes: Number = Field(gt=0)
    facility: Facility
