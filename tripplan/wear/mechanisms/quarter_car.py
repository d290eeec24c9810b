"""A quarter of a vehicle on its spring and tyre: how it answers a road, frequency by frequency.

Two masses, two springs, one damper, all linear, in closed form. Values are those of the
reference car behind the roughness index, not the owner's vehicle: they give the shape of
an answer over speed and wavelength, never a level.
"""

from typing import TYPE_CHECKING, Final, Literal

from msgspec import Struct

from tripplan.wear.mechanisms.arrays import Floats, within

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

Side = Literal["stroke", "body", "axle"]
SPEED_LOW_KMH: Final = 5.0
SPEED_HIGH_KMH: Final = 130.0
INDEX_SPEED_KMH: Final = 80.0
ENVELOPE_M: Final = 0.25
MODEL: Final = "linear quarter car"


class QuarterCar(Struct, frozen=True, kw_only=True):
    """Stiffnesses, mass and damping of a wheel's corner, each per kg of the body's share."""

    tyre_per_s2: float
    spring_per_s2: float
    wheel_mass_ratio: float
    damper_per_s: float


GOLDEN_CAR: Final = QuarterCar(tyre_per_s2=653.0, spring_per_s2=63.3, wheel_mass_ratio=0.15, damper_per_s=6.0)


def travel_response(frequency_hz: Floats) -> "NDArray[np.complex128]":
    """How much the suspension strokes for each metre the road goes up and down.

    Gives      complex ratio of stroke to road height. Same shape as the frequency.
    Takes      frequency_hz  road bumps met per second
    Formula    -s^2 / (s^2 + B) times the wheel's answer, s = 2 pi i f, B = c s + k_spring
    Holds for  0.001 to 2000 Hz; linear: no bump stop, the wheel never leaves the road.
    Refuses    OutOfRange outside those limits.
    Worked     abs(travel_response(0.001)) -> 0.000
    Source     equations of motion; values read in a public program of Sroubek, Sorel and Zak (2021)
    Basis      derived
    Checked    tests/wear/mechanisms/test_quarter_car.py
    """
    s, coupling = _coupling(frequency_hz)
    return -(s**2) / (s**2 + coupling) * wheel_response(frequency_hz)


def wheel_response(frequency_hz: Floats) -> "NDArray[np.complex128]":
    """How far the axle moves for each metre the road goes up and down.

    Gives      complex ratio of axle to road height. Same shape as the frequency.
    Takes      frequency_hz  road bumps met per second
    Formula    k_tyre / (mu s^2 + k_tyre + B s^2 / (s^2 + B)), s = 2 pi i f, B = c s + k_spring
    Holds for  0.001 to 2000 Hz; linear: the wheel never leaves the road.
    Refuses    OutOfRange outside those limits.
    Worked     abs(wheel_response(0.001)) -> 1.000
    Source     equations of motion
    Basis      derived
    Checked    tests/wear/mechanisms/test_quarter_car.py
    """
    s, coupling = _coupling(frequency_hz)
    carried = GOLDEN_CAR.wheel_mass_ratio * s**2 + coupling * s**2 / (s**2 + coupling)
    return GOLDEN_CAR.tyre_per_s2 / (GOLDEN_CAR.tyre_per_s2 + carried)


def tyre_force_response(frequency_hz: Floats) -> "NDArray[np.complex128]":
    """How much the load on the tyre swings for each metre the road goes up and down.

    Gives      complex ratio of dynamic tyre force, N per kg of body, to road height, m.
               Same shape as the frequency.
    Takes      frequency_hz  road bumps met per second
    Formula    k_tyre (wheel - 1)
    Holds for  0.001 to 2000 Hz; linear: the wheel never leaves the road.
    Refuses    OutOfRange outside those limits.
    Worked     abs(tyre_force_response(2000)) -> 653.0
    Source     equations of motion
    Basis      derived
    Checked    tests/wear/mechanisms/test_quarter_car.py
    """
    return GOLDEN_CAR.tyre_per_s2 * (wheel_response(frequency_hz) - 1)


def body_response(frequency_hz: Floats) -> "NDArray[np.complex128]":
    """How hard spring and damper push on the body for each metre the road goes up and down.

    Gives      complex ratio of suspension force, N per kg of body, to road height, m; it is also
               the body's acceleration. Same shape as the frequency.
    Takes      frequency_hz  road bumps met per second
    Formula    s^2 B / (s^2 + B) times the wheel's answer, s = 2 pi i f, B = c s + k_spring
    Holds for  0.001 to 2000 Hz; linear: no bump stop, the wheel never leaves the road.
    Refuses    OutOfRange outside those limits.
    Worked     abs(body_response(0.001)) -> 0.000
    Source     equations of motion
    Basis      derived
    Checked    tests/wear/mechanisms/test_quarter_car.py
    """
    s, coupling = _coupling(frequency_hz)
    return s**2 * coupling / (s**2 + coupling) * wheel_response(frequency_hz)


def channel_response(frequency_hz: Floats, side: Side) -> "NDArray[np.float64]":
    """The answer that wears a part, by the side of the spring it sits on.

    Gives      size of the answer for each metre of road. Same shape as the frequency.
    Takes      frequency_hz  road bumps met per second
               side          "stroke" of the suspension (springs), force on the "body" (bushes,
                             mounts, dampers), swing of the tyre load on the "axle" (hubs, brakes)
    Formula    absolute value of `travel_response`, `body_response` or `tyre_force_response`
    Holds for  0.001 to 2000 Hz.
    Refuses    OutOfRange outside those limits; KeyError for another side.
    Worked     channel_response(0.001, "body") -> 0.000
    Source     equations of motion; which side wears what is a judgement of this project
    Basis      derived
    Checked    tests/wear/mechanisms/test_quarter_car.py
    """
    import numpy as np

    answers = {"stroke": travel_response, "body": body_response, "axle": tyre_force_response}
    size: NDArray[np.float64] = np.abs(answers[side](frequency_hz))
    return size


def envelope(wavenumber_per_m: Floats, length_m: float = ENVELOPE_M) -> "NDArray[np.float64]":
    """What is left of a short wave after the tyre has bridged it.

    Gives      share of the wave's height. Same shape as the wavenumber.
    Takes      wavenumber_per_m  waves per metre of road
               length_m          length the tyre averages over, m
    Formula    |sin(pi n L) / (pi n L)|, the moving average
    Holds for  0 to 100 waves per metre, length 0 to 1 m. 0.25 m belongs to the roughness index.
    Refuses    OutOfRange outside those limits.
    Worked     envelope(2.0) -> 0.637
    Source     definition of the roughness index, read in a public program
    Basis      published
    Checked    tests/published/test_iri_golden_car.py
    """
    import numpy as np

    within("wavenumber_per_m", wavenumber_per_m, 0, 100, "1/m", MODEL)
    within("length_m", length_m, 0, 1, "m", MODEL)
    return np.abs(np.sinc(np.asarray(wavenumber_per_m, dtype=float) * length_m))


def _coupling(frequency_hz: Floats) -> tuple["NDArray[np.complex128]", "NDArray[np.complex128]"]:
    import numpy as np

    within("frequency_hz", frequency_hz, 0.001, 2000, "Hz", MODEL)
    s = 2j * np.pi * np.asarray(frequency_hz, dtype=float)
    return s, GOLDEN_CAR.damper_per_s * s + GOLDEN_CAR.spring_per_s2
