"""Greases, oils and fluids by open class, how thickeners get on, and what each cavity asks for.

Rows of `lubricants.csv`, `thickener_pairs.csv` and `cavities.csv`, and the two things an
owner adds: the lubricants in the shed, and the grease gun as weighed. An empty cell is
unknown, and unknown is a value: `mixing` never takes it for harmless.
"""

from collections.abc import Iterable
from functools import cached_property
from typing import Annotated, Literal, get_args

from pydantic import BeforeValidator, Field

from tripplan.records import cell_values
from tripplan.records.facts_in import Day, Lower, Number, Origin, Record
from tripplan.records.sourced import Basis, Sourced, Words

Kind = Literal["grease", "gear oil", "engine oil", "brake fluid", "coolant", "atf"]
Thickener = Literal[
    "aluminium complex", "barium", "calcium", "calcium 12-hydroxystearate", "calcium complex",
    "calcium sulfonate", "clay", "lithium", "lithium complex", "polyurea", "polyurea shear-stable", "sodium",
]  # fmt: skip
BaseOil = Literal[
    "mineral", "synthetic hydrocarbon", "ester", "glycol ether", "polyglycol", "silicone",
    "perfluoropolyether",
]  # fmt: skip
Consistency = Literal["000", "00", "0", "1", "2", "3"]
WaterGrade = Literal["0-40", "1-40", "2-40", "3-40"]
Rating = Literal["compatible", "borderline", "incompatible"]
Motion = Literal["fast rolling", "slow oscillating", "sliding", "oil bath"]
Way = Literal["packed by hand", "nipple", "filler plug", "brushed", "poured"]

THICKENERS: tuple[str, ...] = get_args(Thickener)
RATINGS: tuple[Rating, ...] = ("compatible", "borderline", "incompatible")
FAST = "fast rolling"
GREASE = "grease"


class LubricantRow(Sourced):
    """One grease, oil or fluid by what its tin says. No brand: an open class, or the owner's own.

    `api` is the service class or specification of an oil or fluid. `boil_dry_c` and
    `boil_wet_c` belong to brake fluids. A DIN code with the letter F
    holds solid lubricant.
    """

    id: str = Field(pattern=r"^[a-z][a-z0-9_]*$", description="small letters, digits and underscores")
    name: str = Field(min_length=1, description="a name")
    kind: Annotated[Kind, Lower]
    thickener: Annotated[Thickener | None, Lower] = None
    base_oil: Annotated[BaseOil | None, Lower] = None
    nlgi: Annotated[Consistency | None, Lower] = None
    solids_percent: Number | None = Field(None, ge=0, le=60, description="0 to 60% solid lubricant")
    din_code: str | None = None
    astm_d4950: str | None = None
    temp_low_c: Number | None = Field(None, ge=-80, le=40, description="-80 to 40 deg C")
    temp_high_c: Number | None = Field(None, ge=20, le=350, description="20 to 350 deg C")
    water_grade: Annotated[WaterGrade | None, Lower] = None
    density_kg_m3: Number | None = Field(None, ge=700, le=1300, description="700 to 1300 kg/m3")
    sae: str | None = None
    api: str | None = None
    boil_dry_c: Number | None = Field(None, ge=100, le=400, description="100 to 400 deg C")
    boil_wet_c: Number | None = Field(None, ge=100, le=400, description="100 to 400 deg C")

    @property
    def label(self) -> str:
        """What to call it in a sentence."""
        return self.name

    @cached_property
    def marks(self) -> frozenset[str]:
        """The service marks on the tin: GC-LB is GC and LB."""
        return frozenset((self.astm_d4950 or "").upper().replace(" ", "").split("-")) - {""}

    @property
    def good_for(self) -> str:
        """What heat it is good for, in words: from and to, or the boiling points; empty = not said."""
        if self.boil_dry_c is not None:
            wet = "" if self.boil_wet_c is None else f", from {self.boil_wet_c:g} with 3.7% water"
            return f"it boils from {self.boil_dry_c:g} deg C fresh{wet}"
        if self.temp_low_c is not None and self.temp_high_c is not None:
            return f"it is good from {self.temp_low_c:g} to {self.temp_high_c:g} deg C"
        return ""

    @property
    def has_solids(self) -> bool | None:
        """True when the tin says solid lubricant, by figure or by the DIN letter F; None = not said."""
        if self.solids_percent is not None:
            return self.solids_percent > 0
        letters = (self.din_code or "").split(" ")[0].upper()
        return ("F" in letters) if letters else None


class OwnLubricant(LubricantRow):
    """One line of the owner's `lubricants.csv`: a tin, cartridge or bottle and the name it goes by."""

    own_name: str = Field(min_length=1, description="the name used in your history")
    name: str = "own lubricant"
    basis: Basis = "judgement"
    source: str = "none"

    @property
    def label(self) -> str:
        """What to call it in a sentence."""
        return self.own_name


class PairRating(Sourced):
    """What one chart says of two thickeners together; `family_a` comes first by name."""

    family_a: Thickener
    family_b: Thickener
    chart: str = Field(min_length=1)
    rating: Rating


class Cavity(Sourced):
    """What one place of one item asks for: movement, class, size of the space, and its seal.

    `cavity` names the space; items that share it share what is in it. Sizes are those of an
    example of its kind. `washed` says that the old comes out with this act.
    `before_bearing_share` is the part of the space filled before grease reaches the bearing,
    `fill_share` the part to fill, `top_up_share` the part of a dry fill that a top-up brings.
    """

    item: str
    lubricant: str = Field(min_length=1, description="a consumable id of consumables.csv")
    cavity: str = Field(min_length=1)
    kind: Annotated[Kind, Lower]
    motion: Annotated[Motion, Lower]
    way: Annotated[Way, Lower]
    washed: Annotated[bool, BeforeValidator(cell_values.yes_no)]
    needs: str
    base_oil: Words = ()
    astm_d4950: Words = ()
    nlgi: Words = ()
    solids_min_percent: Number | None = Field(None, ge=0, le=60, description="0 to 60%")
    solids_max_percent: Number | None = Field(None, ge=0, le=60, description="0 to 60%")
    temp_high_c: Number | None = Field(None, ge=20, le=350, description="20 to 350 deg C")
    water: Annotated[bool, BeforeValidator(cell_values.yes_no)] = False
    points: Number = Field(1, ge=1, le=60, description="1 to 60 places of this kind")
    bore_mm: Number | None = Field(None, gt=0, description="above 0 mm")
    shaft_mm: Number | None = Field(None, ge=0, description="0 mm or more")
    length_mm: Number | None = Field(None, gt=0, description="above 0 mm")
    before_bearing_share: Number | None = Field(None, ge=0, lt=1, description="a share from 0 to 1")
    fill_share: Number | None = Field(None, gt=0, le=1, description="a share from 0 to 1")
    bearings: Number = Field(0, ge=0, le=4, description="0 to 4")
    bearing_outer_mm: Number | None = Field(None, gt=0, description="above 0 mm")
    bearing_width_mm: Number | None = Field(None, gt=0, description="above 0 mm")
    top_up_share: Number | None = Field(None, gt=0, le=1, description="a share from 0 to 1")
    litres_low: Number | None = Field(None, gt=0, description="above 0 L")
    litres_high: Number | None = Field(None, gt=0, le=60, description="above 0 to 60 L")
    spare_share: Number | None = Field(None, ge=0, le=2, description="a share from 0 to 2")
    seal_note: Words = ()
    vent_note: Words = ()

    @property
    def has_sizes(self) -> bool:
        """True when the row gives a space whose volume can be reckoned."""
        return None not in (self.bore_mm, self.shaft_mm, self.length_mm, self.fill_share)


class GreaseGun(Record):
    """The owner's gun as weighed: grams a stroke, from how many strokes, and when."""

    g_per_stroke: Number = Field(gt=0, description="above 0 g")
    strokes: Number = Field(ge=1, le=200, description="1 to 200 strokes weighed")
    date: Day = Field(description=cell_values.DAY_ACCEPTED)
    origin: Origin


def named_lubricant(text: str, known: Iterable[LubricantRow]) -> LubricantRow | None:
    """The lubricant meant by id, name or the owner's name, in any case; the first known wins."""
    wanted = text.strip().casefold()
    return next((row for row in known if wanted in names_of(row)), None)


def names_of(row: LubricantRow) -> tuple[str, ...]:
    """Every name a lubricant answers to, in lower case."""
    own = (row.own_name.casefold(),) if isinstance(row, OwnLubricant) else (row.name.casefold(),)
    return (row.id, *own)


def ratings_of(one: str, other: str, pairs: Iterable[PairRating]) -> tuple[PairRating, ...]:
    """What each chart says of two thickeners, whichever is named first."""
    return tuple(row for row in pairs if {row.family_a, row.family_b} == {one, other})
