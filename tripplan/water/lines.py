"""Where the water stood on a rig: still depth, and what the wave in front adds.

Two lines. The typical one decides what is booked, the high one only adds looks. Nobody
publishes a bow wave; the velocity head v^2 / 2g, which water meeting the front cannot exceed,
is 0.10 m at 5 km/h and 0.25 m at 8 km/h, the speeds that owner's books give for wading.
"""

from msgspec import Struct

from tripplan.records.catalogue import Catalogue
from tripplan.records.facts_in import Unit
from tripplan.records.lookups import HALF_TYRE_POINTS

FRONT_POINTS = frozenset(
    ("airbox_seam", "alternator", "battery_tray", "brake_reservoir_cap", "fan_centre", "intake_mouth", "lamp",
     "sump_breather", "winch_motor")
)  # fmt: skip


INTAKE_POINTS = frozenset(("airbox_seam", "intake_mouth"))


class BowWave(Struct, frozen=True):
    """What is added to the still depth, metres: at the front of the vehicle, and elsewhere."""

    front_m: float
    front_high_m: float
    elsewhere_m: float
    elsewhere_high_m: float

    def at(self, unit: Unit, point: str, high: bool = False) -> float:
        """The allowance at one point of a unit, by the typical or the high line."""
        if unit.kind == "vehicle" and point in FRONT_POINTS:
            return self.front_high_m if high else self.front_m
        return self.elsewhere_high_m if high else self.elsewhere_m


def bow_wave(catalogue: Catalogue) -> BowWave:
    """The allowances of the tables: `value` is the typical line, `high` the high one."""
    front, elsewhere = catalogue.assumed("bow_wave_front"), catalogue.assumed("bow_wave_elsewhere")
    return BowWave(
        front_m=front.value, front_high_m=front.value if front.high is None else front.high,
        elsewhere_m=elsewhere.value, elsewhere_high_m=elsewhere.value if elsewhere.high is None else elsewhere.high,
    )  # fmt: skip


def point_height_m(unit: Unit, point: str) -> float | None:
    """Height of a named point above ground, from rig.toml or half the tyre; None = not given."""
    if point in unit.heights_mm:
        return unit.heights_mm[point] / 1000
    if point in HALF_TYRE_POINTS and unit.tyre_diameter_mm:
        return unit.tyre_diameter_mm / 2000
    return None


def is_under(unit: Unit, point: str, depth_m: float, wave: BowWave, high: bool = False) -> bool:
    """True when the line reaches the point; never without water or without a height."""
    height_m = point_height_m(unit, point)
    return height_m is not None and depth_m > 0 and depth_m + wave.at(unit, point, high) >= height_m
