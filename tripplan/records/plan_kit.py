"""The kit to carry, as frozen records: what is taken, in which order it is worth its weight, what is left out and why."""

from enum import StrEnum

from msgspec import Struct

from tripplan.records.facts_in import Origin


class LeftOutWhy(StrEnum):
    """Why a part is not in the kit."""

    NO_CAMP = "cannot be fitted in a camp"
    TOO_MUCH = "alone beyond the limit"
    WORTH_LESS = "worth less for what it takes"
    NO_WEIGHT = "no weight or volume in the tables"


class SparePart(Struct, frozen=True, kw_only=True):
    """A part, or a set of materials, that could be carried: what one takes, and what each more of it saves.

    `saved_hours` are expected standing hours, of the first, the second and so on. A `contingent` one is
    material for work that a look after water decides. `in_camp` says that it can be fitted in a camp,
    or at a stop behind the crossing.
    """

    part: str
    name: str
    quantity: float
    unit_of_measure: str
    beside: tuple[str, ...]
    weight_kg: float | None
    volume_l: float | None
    demand_expected: float
    saved_hours: tuple[float, ...]
    for_items: tuple[str, ...]
    fitting_hours: float
    in_camp: bool
    sold_at: tuple[str, ...] = ()
    contingent: bool = False
    origins: tuple[Origin, ...] = ()


class KitLine(Struct, frozen=True, kw_only=True):
    """A part or a set of materials in the kit, so many of it, with what goes with each.

    `saved_hours` is the expected standing it saves on this trip, `demand_expected` how often it is asked for.
    `on_shelf` are there already; `sold_at` are stops on the way where more can be bought. A `contingent`
    line is material for work that a look after water decides.
    """

    part: str
    name: str
    count: int
    quantity: float
    unit_of_measure: str
    beside: tuple[str, ...]
    weight_kg: float
    volume_l: float
    demand_expected: float
    saved_hours: float
    for_items: tuple[str, ...]
    on_shelf: float = 0.0
    to_get: float = 0.0
    sold_at: tuple[str, ...] = ()
    contingent: bool = False
    fitting_hours: float = 0.0
    origins: tuple[Origin, ...] = ()


class KitStep(Struct, frozen=True, kw_only=True):
    """One piece more, in the order of worth for its weight: what it saves and what all up to it weigh."""

    part: str
    name: str
    number: int
    saved_hours: float
    saved_hours_per_kg: float
    weight_kg: float
    all_weight_kg: float


class KitLeftOut(Struct, frozen=True, kw_only=True):
    """A part that would be of use and is not taken: one more of it, what that would save, and why not."""

    part: str
    name: str
    why: LeftOutWhy
    demand_expected: float
    saved_hours: float
    weight_kg: float | None
    volume_l: float | None


class CarryKit(Struct, frozen=True, kw_only=True):
    """The kit of the greatest worth within both limits; `is_exact` says that it is proven.

    `standing_hours_expected` is that of the plan without a kit.
    """

    most_kg: float
    most_litres: float
    weight_kg: float
    volume_l: float
    standing_hours_expected: float
    saved_hours: float
    is_exact: bool
    lines: tuple[KitLine, ...]
    steps: tuple[KitStep, ...]
    left_out: tuple[KitLeftOut, ...]
