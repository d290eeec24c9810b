"""Land outlines for the background of the route map, clipped to a window of degrees."""

from collections.abc import Callable, Iterator
from functools import lru_cache
from pathlib import Path

OUTLINES = Path(__file__).parents[2] / "data" / "land" / "outlines.csv"
UNITS_PER_DEGREE = 100.0
Spot = tuple[float, float]
Window = tuple[float, float, float, float]


@lru_cache(maxsize=1)
def land_rings() -> tuple[tuple[Spot, ...], ...]:
    """Every ring of the shipped outlines as longitudes and latitudes."""
    _, *rows = OUTLINES.read_text(encoding="utf-8").splitlines()
    return tuple(tuple(_walked(row)) for row in rows)


def land_in(window: Window) -> Iterator[list[Spot]]:
    """The parts of the land within west, south, east, north; the window may reach past 180 degrees."""
    for ring in land_rings():
        for turn in (-360.0, 0.0, 360.0):
            part = _clipped([(lon + turn, lat) for lon, lat in ring], window) if _meets(ring, turn, window) else []
            if len(part) > 2:
                yield part


def _walked(row: str) -> Iterator[Spot]:
    numbers = [int(text) for text in row.split()]
    x = y = 0
    for dx, dy in zip(numbers[::2], numbers[1::2], strict=True):
        x, y = x + dx, y + dy
        yield x / UNITS_PER_DEGREE, y / UNITS_PER_DEGREE


def _meets(ring: tuple[Spot, ...], turn: float, window: Window) -> bool:
    west, south, east, north = window
    lons, lats = [lon + turn for lon, _ in ring], [lat for _, lat in ring]
    return max(lons) >= west and min(lons) <= east and max(lats) >= south and min(lats) <= north


def _clipped(ring: list[Spot], window: Window) -> list[Spot]:
    """The ring cut at the four sides one after another (Sutherland and Hodgman)."""
    west, south, east, north = window
    sides: tuple[tuple[int, float, Callable[[float, float], bool]], ...] = (
        (0, west, lambda value, edge: value >= edge), (0, east, lambda value, edge: value <= edge),
        (1, south, lambda value, edge: value >= edge), (1, north, lambda value, edge: value <= edge),
    )  # fmt: skip
    for axis, edge, is_inside in sides:
        kept: list[Spot] = []
        for start, end in zip([*ring[-1:], *ring], ring, strict=False):
            if is_inside(start[axis], edge) != is_inside(end[axis], edge):
                share = (edge - start[axis]) / (end[axis] - start[axis])
                kept.append((start[0] + share * (end[0] - start[0]), start[1] + share * (end[1] - start[1])))
            if is_inside(end[axis], edge):
                kept.append(end)
        ring = kept
    return ring
