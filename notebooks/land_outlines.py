"""Makes tripplan/data/land/outlines.csv from the land of Natural Earth, scale 1:50 million.

    npm install world-atlas@2.0.2 topojson-client
    npx topo2geo land=land.geo.json < node_modules/world-atlas/land-50m.json
    python notebooks/land_outlines.py land.geo.json tripplan/data/land/outlines.csv

Points nearer than 0.045 degrees to the line are left out, then each is rounded to 0.01
degrees. Antarctica is left out.
"""

import json
import sys
from itertools import pairwise
from pathlib import Path

TOLERANCE_DEG = 0.045
SOUTHERNMOST_DEG = -60.0
UNITS_PER_DEGREE = 100


def simplified(line: list[list[float]]) -> list[list[float]]:
    """The line without points that lie near the straight between others (Douglas and Peucker)."""
    kept = [False] * len(line)
    kept[0] = kept[-1] = True
    open_pieces = [(0, len(line) - 1)]
    while open_pieces:
        first, last = open_pieces.pop()
        far, spot = max(((_off(line[i], line[first], line[last]), i) for i in range(first + 1, last)), default=(0.0, 0))
        if far > TOLERANCE_DEG:
            kept[spot] = True
            open_pieces += [(first, spot), (spot, last)]
    return [point for point, keep in zip(line, kept, strict=True) if keep]


def _off(point: list[float], start: list[float], end: list[float]) -> float:
    dx, dy = end[0] - start[0], end[1] - start[1]
    size = dx * dx + dy * dy
    along = ((point[0] - start[0]) * dx + (point[1] - start[1]) * dy) / size if size else 0.0
    along = min(max(along, 0.0), 1.0)
    return float(((point[0] - start[0] - along * dx) ** 2 + (point[1] - start[1] - along * dy) ** 2) ** 0.5)


def rings(path: Path) -> list[list[list[float]]]:
    """Every ring of every area in the file."""
    found: list[list[list[float]]] = []
    data = json.loads(path.read_text(encoding="utf-8"))
    for feature in data.get("features", [data]):
        shape = feature["geometry"]
        areas = shape["coordinates"] if shape["type"] == "MultiPolygon" else [shape["coordinates"]]
        found += [ring for area in areas for ring in area]
    return found


def encoded(ring: list[list[float]]) -> str:
    """The ring in hundredths of a degree: the first position, then steps from each to the next."""
    middle = len(ring) // 2
    line = simplified(ring[: middle + 1]) + simplified(ring[middle:])[1:]
    whole = [(round(lon * UNITS_PER_DEGREE), round(lat * UNITS_PER_DEGREE)) for lon, lat in line]
    whole = [point for spot, point in enumerate(whole) if spot == 0 or point != whole[spot - 1]]
    if len(whole) < 4:
        return ""
    steps = [(b[0] - a[0], b[1] - a[1]) for a, b in pairwise(whole)]
    return " ".join(f"{x} {y}" for x, y in [whole[0], *steps])


def main(source: str, target: str) -> None:
    """Read the one, write the other."""
    kept = [ring for ring in rings(Path(source)) if max(lat for _, lat in ring) > SOUTHERNMOST_DEG]
    rows = [text for ring in kept if (text := encoded(ring))]
    Path(target).write_text("steps\n" + "\n".join(rows) + "\n", encoding="utf-8")


if __name__ == "__main__":
    main(sys.argv[1], sys.argv[2])
