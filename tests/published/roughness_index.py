"""The roughness index by its definition, from the package's quarter car: what the published figures are held against."""

import numpy as np

from tripplan.wear.mechanisms.quarter_car import INDEX_SPEED_KMH, envelope, travel_response
from tripplan.wear.mechanisms.roughness import GRID_PER_M, WEIGHT_PER_M, profile_density_m3


def iri_of_random_road(density_n0_m3: float, waviness: float = 2.0) -> float:
    """Index in m/km of a Gaussian road: sqrt(2/pi) rms(stroke rate) / v at 80 km/h, averaged over 0.25 m."""
    frequency_hz = GRID_PER_M * INDEX_SPEED_KMH / 3.6
    rate = np.abs(travel_response(frequency_hz)) * 2 * np.pi * GRID_PER_M * envelope(GRID_PER_M)
    density = profile_density_m3(GRID_PER_M, density_n0_m3, waviness)
    return float(np.sqrt(2 / np.pi * ((rate**2 * density) @ WEIGHT_PER_M)) * 1000)


def iri_of_washboard(height_mm: float, wavelength_m: float) -> float:
    """Index in m/km of plain washboard: mean of a rectified sine, 2 height |stroke| / wavelength at 80 km/h."""
    wavenumber = 1 / wavelength_m
    stroke = np.abs(travel_response(wavenumber * INDEX_SPEED_KMH / 3.6)) * envelope(wavenumber)
    return float(2 * height_mm * wavenumber * stroke)
