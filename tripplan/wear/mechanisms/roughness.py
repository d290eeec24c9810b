"""Rough roads and washboard: how much faster they use up what hangs on the springs.

The model gives the shape (over speed, wavelength, and the two sides of the spring); the
level comes from maintenance records against roughness. The bridge is the equivalent
roughness: the index of the random road, driven at 80 km/h, that does the same fatigue
damage a km to the same part. The multiplier is (equivalent / 3)^p above 3, else 1.
"""

from typing import Final

import numpy as np
from numpy.typing import NDArray

from tripplan.wear.mechanisms.arrays import Floats, at_least_one, within
from tripplan.wear.mechanisms.quarter_car import (
    INDEX_SPEED_KMH,
    MODEL,
    SPEED_HIGH_KMH,
    SPEED_LOW_KMH,
    Side,
    channel_response,
    envelope,
)

PSD: Final = "after ISO 8608"
LEVEL: Final = "maintenance cost against roughness"
REFERENCE_IRI: Final = 3.0
IRI_HIGH: Final = 24.0
LEVEL_EXPONENTS: Final = (0.5, 0.8, 1.1)
N0_PER_M: Final = 0.1
E6: Final = 1e-6
# roughness index of a surface under its washboard, m/km: judgement
SURFACE_IRI: Final[dict[str, float]] = {
    "sealed": 2.0, "gravel": 4.0, "sand": 6.0, "track": 6.0, "rock": 8.0,
}  # fmt: skip
# family: (side of the spring, Miner exponent)
WEARS: Final[dict[str, tuple[Side, float]]] = {
    "bearing": ("axle", 10 / 3), "joint": ("axle", 3.0), "brake": ("axle", 3.0),
    "tyre": ("axle", 2.0), "seal": ("axle", 2.0), "spring": ("stroke", 5.0),
    "damper": ("body", 2.0), "bush": ("body", 3.0), "structure": ("body", 5.0),
    "fastener": ("body", 5.0), "electrical": ("body", 3.0), "mechanism": ("body", 3.0),
    "body": ("body", 3.0), "hose": ("body", 3.0), "belt": ("body", 2.0),
    "fluid": ("body", 2.0), "filter": ("body", 2.0),
}  # fmt: skip
GRID_PER_M: Final[NDArray[np.float64]] = np.geomspace(0.005, 20.0, 800)
WEIGHT_PER_M: Final[NDArray[np.float64]] = (
    np.diff(GRID_PER_M, prepend=GRID_PER_M[0]) + np.diff(GRID_PER_M, append=GRID_PER_M[-1])
) / 2


def profile_density_m3(wavenumber_per_m: Floats, density_n0_m3: Floats, waviness: float = 2.0) -> Floats:
    """How rough a road is at each wavelength.

    Gives      displacement density, m3 (square metres per cycle per metre). Same shape as the arguments.
    Takes      wavenumber_per_m  waves per metre
               density_n0_m3     density at 0.1 cycle/m, m3
               waviness          fall with wavenumber, 2 by the standard
    Formula    G(n) = G(0.1) (n / 0.1)^-w
    Holds for  0.001 to 50 waves per metre, density 0 to 0.3 m3, waviness 1.5 to 3.
    Refuses    OutOfRange outside those limits.
    Worked     profile_density_m3(0.2, 16e-6) * 1e6 -> 4.0
    Source     ISO 8608, read in public programs
    Basis      published
    Checked    tests/published/test_iso_8608.py
    """
    within("wavenumber_per_m", wavenumber_per_m, 0.001, 50, "1/m", PSD)
    within("density_n0_m3", density_n0_m3, 0, 0.3, "m3", PSD)
    within("waviness", waviness, 1.5, 3, "1", PSD)
    density: Floats = density_n0_m3 * (wavenumber_per_m / N0_PER_M) ** -waviness
    return density


def equivalent_iri(
    iri: Floats, height_mm: Floats, wavelength_m: Floats, speed_kmh: Floats, side: Side, miner: float
) -> Floats:
    """The plain rough road, at 80 km/h, that would hurt a part as much as this one does.

    Gives      index of that road, m/km. Same shape as the arguments.
    Takes      iri           index of the road without its washboard, m/km
               height_mm     washboard, trough to crest, mm; 0 = none
               wavelength_m  washboard, crest to crest, m
               speed_kmh     speed driven, km/h
               side          "stroke", "body" or "axle", as in `quarter_car`
               miner         exponent of Miner's sum for the part
    Formula    damage a km = (rate of cycles / v) rms^m, rate = sqrt(m2/m0), narrow band; the wave
               adds its mean square to the random road's (real washboard is uneven)
    Holds for  index 0.5 to 24, height 0 to 60 mm, wavelength 0.3 to 3 m, 5 to 130 km/h, m 1 to 8;
               linear: overstates once the wheel leaves the road (near 20 mm at wheel hop).
    Refuses    OutOfRange outside those limits.
    Worked     equivalent_iri(5, 0, 1, 80, "axle", 3.0) -> 5.00
    Source     quarter car, ISO 8608 spectrum, Miner 1945; vibration fatigue is good to an order of
               magnitude at best, and the m-th root taken here tames it
    Basis      derived
    Checked    tests/wear/mechanisms/test_roughness.py
    """
    within("iri", iri, 0.5, IRI_HIGH, "m/km", PSD)
    within("miner", miner, 1, 8, "1", MODEL)
    power, rate_power = _random_moments(speed_kmh, side)
    wave, rate_wave = _wave_moments(height_mm, wavelength_m, speed_kmh, side)
    square = np.asarray(iri, dtype=float) ** 2
    here = _damage(square * power + wave, square * rate_power + rate_wave, speed_kmh, miner)
    unit = _damage(*_random_moments(INDEX_SPEED_KMH, side), INDEX_SPEED_KMH, miner)
    return _plain((here / unit) ** (1 / miner))


def roughness_multiplier(equivalent_iri: Floats, level_exponent: float) -> Floats:
    """How many times faster a rough road uses up springs, bushes, bearings and the like.

    Gives      wear multiplier, 1 up to an index of 3. Same shape as the index.
    Takes      equivalent_iri  index of the road, or its equivalent, m/km
               level_exponent  0.5 / 0.8 / 1.1 as low / typical / high
    Formula    max(1, IRI / 3)^p
    Holds for  index 0 to 150, exponent 0.3 to 1.2. Nothing read backs it beyond an index of 5.
    Refuses    OutOfRange outside those limits.
    Worked     roughness_multiplier(6, 0.8) -> 1.74
    Source     inside the spread of published maintenance models; p is a judgement of this project
    Basis      judgement
    Checked    tests/published/test_hdm_repair_cost.py, tests/published/test_nchrp_720.py
    """
    within("equivalent_iri", equivalent_iri, 0, 150, "m/km", LEVEL)
    within("level_exponent", level_exponent, 0.3, 1.2, "1", LEVEL)
    return at_least_one(equivalent_iri / REFERENCE_IRI) ** level_exponent


def _random_moments(speed_kmh: Floats, side: Side) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Mean square of the answer, and of its rate, on a random road of index 1."""
    within("speed_kmh", speed_kmh, SPEED_LOW_KMH, SPEED_HIGH_KMH, "km/h", MODEL)
    density_n0_m3 = 16 * E6 / 2.21**2
    frequency_hz = np.asarray(speed_kmh, dtype=float)[..., None] / 3.6 * GRID_PER_M
    answer = channel_response(frequency_hz, side) * envelope(GRID_PER_M)
    density = answer**2 * profile_density_m3(GRID_PER_M, density_n0_m3)
    rate = density * frequency_hz**2
    return np.asarray(density @ WEIGHT_PER_M), np.asarray(rate @ WEIGHT_PER_M)


def _wave_moments(
    height_mm: Floats, wavelength_m: Floats, speed_kmh: Floats, side: Side
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Mean square of the answer, and of its rate, on plain washboard."""
    _check_washboard(height_mm, wavelength_m)
    wavenumber = 1 / np.asarray(wavelength_m, dtype=float)
    frequency_hz = wavenumber * np.asarray(speed_kmh, dtype=float) / 3.6
    amplitude_m = np.asarray(height_mm, dtype=float) / 2000 * envelope(wavenumber)
    square = (amplitude_m * channel_response(frequency_hz, side)) ** 2 / 2
    return square, square * frequency_hz**2


def _damage(power: Floats, rate_power: Floats, speed_kmh: Floats, miner: float) -> NDArray[np.float64]:
    """Narrow-band damage for each km, up to a constant that drops out of every ratio."""
    cycles = np.sqrt(np.asarray(rate_power) / power) / np.asarray(speed_kmh, dtype=float)
    return np.asarray(cycles * np.asarray(power) ** (miner / 2), dtype=float)


def _check_washboard(height_mm: Floats, wavelength_m: Floats) -> None:
    within("height_mm", height_mm, 0, 60, "mm", MODEL)
    within("wavelength_m", wavelength_m, 0.3, 3, "m", MODEL)


def _plain(values: Floats) -> Floats:
    return float(values) if getattr(values, "ndim", 0) == 0 else values
