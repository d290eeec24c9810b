"""Named conversions, so that no factor stands bare in the code.

Exact by definition: the international mile (1959), the inch, standard gravity and the
standard atmosphere. NIST SP 811 Appendix B lists all of them; values here from memory.
"""

KM_PER_MILE = 1.609344
DAYS_PER_WEEK = 7.0
MINUTES_PER_HOUR = 60.0
STANDARD_GRAVITY_M_S2 = 9.80665
STANDARD_ATMOSPHERE_KPA = 101.325
ZERO_CELSIUS_K = 273.15


def km_from_miles(distance_mi: float) -> float:
    """Kilometres in a distance given in international miles."""
    return distance_mi * KM_PER_MILE
