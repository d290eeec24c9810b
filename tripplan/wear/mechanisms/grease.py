"""How much grease or oil: the space to fill, the grams in it, the strokes of a weighed gun."""

import math
from typing import Final

from tripplan.wear.mechanisms.arrays import within

GEOMETRY: Final = "volume of a ring"
RULE: Final = "relubrication quantity from the outside diameter and width of a bearing"
GUN: Final = "a grease gun as weighed"
MM3_PER_CM3: Final = 1000.0
LARGEST_SPACE_CM3: Final = 4000.0
LEAST_G_PER_STROKE: Final = 0.2
MOST_G_PER_STROKE: Final = 5.0
MOST_FULL_SHARE: Final = 0.9
JUST_ABOVE: Final = 1e-9


def cavity_cm3(bore_mm: float, shaft_mm: float, length_mm: float) -> float:
    """Space between a bore and the shaft in it, such as a hub between its two bearings.

    Gives      volume, cm3. One number out.
    Takes      bore_mm    inside diameter of the outer part, mm
               shaft_mm   diameter of what runs through it, mm; 0 = nothing
               length_mm  length of the space, mm
    Formula    V = pi / 4 (D^2 - d^2) L / 1000
    Holds for  bore 1 to 300 mm, shaft 0 up to the bore, length 1 to 500 mm, up to 4000 cm3.
    Refuses    OutOfRange outside those limits: a shaft thicker than its bore, a space
               larger than an axle.
    Worked     cavity_cm3(60, 38, 50) -> 84.67
    Source     geometry; derived here, no table needed
    Basis      derived
    Checked    tests/wear/mechanisms/test_grease.py
    """
    within("bore_mm", bore_mm, 1, 300, "mm", GEOMETRY)
    within("shaft_mm", shaft_mm, 0, bore_mm, "mm", GEOMETRY)
    within("length_mm", length_mm, 1, 500, "mm", GEOMETRY)
    volume_cm3 = math.pi / 4 * (bore_mm**2 - shaft_mm**2) * length_mm / MM3_PER_CM3
    within("space_cm3", volume_cm3, 0, LARGEST_SPACE_CM3, "cm3", GEOMETRY)
    return volume_cm3


def fill_g(space_cm3: float, fill_share: float, density_kg_m3: float = 900.0) -> float:
    """Grams of grease that fill a share of a space.

    Gives      mass, g. One number out.
    Takes      space_cm3      room for grease, cm3
               fill_share     part of it to fill: 0.3 to 0.5 in a fast hub, about 0.9 if slow and sealed
               density_kg_m3  grease, kg/m3; 850 to 950 plain, up to 1000 with fillers
    Formula    m = V f rho / 1000
    Holds for  up to 4000 cm3, share 0 to 1, 800 to 1100 kg/m3.
    Refuses    OutOfRange outside those limits.
    Worked     fill_g(84.67, 0.5, 900) -> 38.1
    Source     fill shares and densities from memory (high confidence)
    Basis      derived
    Checked    tests/wear/mechanisms/test_grease.py
    """
    within("space_cm3", space_cm3, 0, LARGEST_SPACE_CM3, "cm3", GEOMETRY)
    within("fill_share", fill_share, 0, 1, "1", GEOMETRY)
    within("density_kg_m3", density_kg_m3, 800, 1100, "kg/m3", GEOMETRY)
    return space_cm3 * fill_share * density_kg_m3 / 1000.0


def relubrication_g(outer_mm: float, width_mm: float) -> float:
    """Grease that tops up a bearing greased from its side.

    Gives      mass, g. One number out.
    Takes      outer_mm  outside diameter, mm
               width_mm  width, mm
    Formula    G = 0.005 D B
    Holds for  10 to 300 mm outside, width 3 to 120 mm.
    Refuses    OutOfRange outside those limits.
    Worked     relubrication_g(73.4, 19.6) -> 7.19
    Source     a maintenance magazine, March 2020, and an online document, read; one page
               prints 0.0005, which is wrong by ten
    Basis      published
    Checked    tests/published/test_relub_quantity.py
    """
    _bearing_sizes(outer_mm, width_mm)
    return 0.005 * outer_mm * width_mm


def purge_g(outer_mm: float, width_mm: float) -> float:
    """Grease that drives the old out of a bearing after a long standstill, or water in it.

    Gives      mass, g. One number out; also taken here as the full pack of a dry bearing.
    Takes      outer_mm  outside diameter, mm
               width_mm  width, mm
    Formula    m3 = 0.01 D B
    Holds for  10 to 300 mm outside, width 3 to 120 mm.
    Refuses    OutOfRange outside those limits.
    Worked     purge_g(73.4, 19.6) -> 14.39
    Source     a bearing maker's publication on greasing, from memory (high confidence); use
               after water and for a dry bearing is our judgement
    Basis      published
    Checked    tests/published/test_relub_quantity.py
    """
    _bearing_sizes(outer_mm, width_mm)
    return 0.01 * outer_mm * width_mm


def strokes_for(grams: float, g_per_stroke: float) -> int:
    """Full strokes of the gun that bring at least so much grease.

    Gives      a whole number of strokes. One number out.
    Takes      grams         grease wanted, g
               g_per_stroke  the gun as weighed, g a stroke
    Formula    n = ceil(G / g)
    Holds for  0 to 4000 g, 0.2 to 5 g a stroke.
    Refuses    OutOfRange outside those limits.
    Worked     strokes_for(7.19, 0.774) -> 10
    Source     arithmetic; derived here
    Basis      derived
    Checked    tests/wear/mechanisms/test_grease.py
    """
    within("grams", grams, 0, LARGEST_SPACE_CM3, "g", GUN)
    within("g_per_stroke", g_per_stroke, LEAST_G_PER_STROKE, MOST_G_PER_STROKE, "g", GUN)
    return math.ceil(grams / g_per_stroke - JUST_ABOVE)


def most_strokes(space_g: float, g_per_stroke: float) -> int:
    """Strokes after which a closed space is so full that the next would press on its seal.

    Gives      a whole number of strokes. One number out.
    Takes      space_g       grease that would fill the empty space, g
               g_per_stroke  the gun as weighed, g a stroke
    Formula    n = floor(0.9 G / g)
    Holds for  0 to 4000 g, 0.2 to 5 g a stroke, a space that was empty before.
    Refuses    OutOfRange outside those limits.
    Worked     most_strokes(84.67, 1.32) -> 57
    Source     fill of a slow, sealed, dirty housing to about 90 %, from memory (high
               confidence); taking it as the limit for a seal is ours
    Basis      judgement
    Checked    tests/wear/mechanisms/test_grease.py
    """
    within("space_g", space_g, 0, LARGEST_SPACE_CM3, "g", GUN)
    within("g_per_stroke", g_per_stroke, LEAST_G_PER_STROKE, MOST_G_PER_STROKE, "g", GUN)
    return math.floor(MOST_FULL_SHARE * space_g / g_per_stroke + JUST_ABOVE)


def oil_to_carry_l(volume_l: float, spare_share: float) -> float:
    """Oil for one drain and refill, with a share over for spills and a second flush.

    Gives      volume, L. One number out.
    Takes      volume_l     what the sump takes, L
               spare_share  how much more to carry; 0.15 = 15 %
    Formula    V (1 + s)
    Holds for  0 to 60 L, spare share 0 to 2.
    Refuses    OutOfRange outside those limits.
    Worked     oil_to_carry_l(3, 0.15) -> 3.45
    Source     common practice, no source
    Basis      judgement
    Checked    tests/wear/mechanisms/test_grease.py
    """
    within("volume_l", volume_l, 0, 60, "L", GEOMETRY)
    within("spare_share", spare_share, 0, 2, "1", GEOMETRY)
    return volume_l * (1 + spare_share)


def _bearing_sizes(outer_mm: float, width_mm: float) -> None:
    within("outer_mm", outer_mm, 10, 300, "mm", RULE)
    within("width_mm", width_mm, 3, 120, "mm", RULE)
