"""The words under the route map: what every sign on it says, and what its strokes mean.

One ink: a surface is a dash on a tone, both darker or more broken the rougher it is;
washboard is ticks beside the line, closer and heavier the worse it is.
"""

import textwrap
from collections.abc import Iterator, Sequence
from html import escape
from itertools import pairwise
from math import hypot

from msgspec import Struct

from tripplan.records.plan import Plan
from tripplan.sheets.pictures.trip_line_route import DASHES, TOOTH_SPACING, line, words
from tripplan.sheets.route_places import CROSSING, RUNS_OUT, STOP, PlaceMark, Places

PAPER = "var(--paper, #fff)"
TONES = {"gravel": 0.22, "track": 0.34, "sand": 0.46, "rock": 0.58}
TICK_WIDTHS = {"light": 1.0, "moderate": 1.4, "severe": 1.9}
WAVE = "q2.25 -4 4.5 0t4.5 0t4.5 0t4.5 0"
ROOM_SHARE = 0.54


class Sign(Struct, frozen=True, kw_only=True):
    """One sign on the map: its letter or number, the marks it stands for, where it is and is drawn."""

    label: str
    marks: tuple[PlaceMark, ...]
    at: tuple[float, float]
    drawn_at: tuple[float, float]


Path = Sequence[tuple[float, float]]


def leg_strokes(path: Path, surface: str, corrugation: str, remote: bool) -> Iterator[str]:
    """A leg: the dash and tone of its surface, the ticks of its washboard, thick where remote."""
    way = "M" + "L".join(f"{x:.1f} {y:.1f}" for x, y in path)
    width = 7 if remote else 3
    if tone := TONES.get(surface):
        yield f'<path d="{way}" fill="none" stroke="currentColor" stroke-opacity="{tone}" stroke-width="{width}"/>'
    dash = f' stroke-dasharray="{DASHES[surface]}"' if DASHES.get(surface) else ""
    yield f'<path d="{way}" fill="none" stroke="currentColor" stroke-width="{width}"{dash}/>'
    if spacing := TOOTH_SPACING.get(corrugation):
        drawn = ticks(path, spacing, 7.0 if remote else 5.0)
        yield f'<path d="{drawn}" fill="none" stroke="currentColor" stroke-width="{TICK_WIDTHS[corrugation]}"/>'


def ticks(path: Path, spacing: float, off: float) -> str:
    """Short ticks on one side of the path, each the same length of path from the last."""
    drawn, left = "", spacing / 2
    for (x1, y1), (x2, y2) in pairwise(path):
        size = hypot(x2 - x1, y2 - y1)
        while size and left <= size:
            share = left / size
            nx, ny = (y2 - y1) / size, -(x2 - x1) / size
            x, y = x1 + share * (x2 - x1), y1 + share * (y2 - y1)
            drawn += f"M{x + nx * (off - 2):.1f} {y + ny * (off - 2):.1f}l{nx * 5:.1f} {ny * 5:.1f}"
            left += spacing
        left -= size
    return drawn


def sample(kind: str, x: float, y: float) -> str:
    """The sign of a kind: a filled square, an open circle, or two waves."""
    if kind == STOP:
        return f'<rect x="{x - 9:.1f}" y="{y - 9:.1f}" width="18" height="18"/>'
    if kind == RUNS_OUT:
        return f'<circle cx="{x:.1f}" cy="{y:.1f}" r="9.5" fill="{PAPER}" stroke="currentColor" stroke-width="1.8"/>'
    back = f'<rect x="{x - 11:.1f}" y="{y - 6:.1f}" width="22" height="12" fill="{PAPER}"/>'
    waves = f"M{x - 9:.1f} {y - 2:.1f}{WAVE}M{x - 9:.1f} {y + 4:.1f}{WAVE}"
    return f'{back}<path d="{waves}" fill="none" stroke="currentColor" stroke-width="1.7"/>'


def haloed(x: float, y: float, text: str, size: float) -> str:
    """A word that stays readable over a line."""
    return (f'<text x="{x:.1f}" y="{y:.1f}" font-size="{size:g}" text-anchor="middle" stroke="{PAPER}" '
            f'stroke-width="3.5" paint-order="stroke" stroke-linejoin="round">{escape(text)}</text>')  # fmt: skip


def labelled(sign: Sign, x: float, y: float, size: float) -> str:
    """A sign with its number or letter on it; that of a crossing stands beside it."""
    kind = sign.marks[0].kind
    if kind == CROSSING:
        return sample(kind, x, y)
    colour = f' fill="{PAPER}"' if kind == STOP else ""
    return (
        f'{sample(kind, x, y)}<text x="{x:.1f}" y="{y + 4:.1f}" font-size="{size:g}" text-anchor="middle" '
        f'font-weight="bold"{colour}>{sign.label}</text>'
    )


def key(
    plan: Plan, places: Places, signs: Sequence[Sign], width: float, top: float, font: float
) -> tuple[list[str], float]:
    """What every sign says, in words, under the map; two columns on the wide sheet."""
    columns = 2 if width > 500 else 1
    room = width / columns
    drawn, tops = [], [top + 12.0] * columns
    for sign in signs:
        spot = tops.index(min(tops))
        x = spot * room
        told = textwrap.wrap(_told(sign), int((room - 36) / (font * ROOM_SHARE))) or [""]
        drawn.append(labelled(sign, x + 11, tops[spot] + 9, font - 1))
        for text in told:
            drawn.append(words(x + 28, tops[spot] + 13, text, font))
            tops[spot] += font * 1.3
        tops[spot] += 6
    legend, bottom = _legend(plan, places, width, max(tops) + 4, font)
    return drawn + legend, bottom


def _told(sign: Sign) -> str:
    first = sign.marks[0]
    if first.kind == STOP:
        return first.in_key
    told = "; ".join(mark.in_key for mark in sign.marks)
    return f"{sign.label}: {told}" if first.kind == CROSSING else f"By trip km {first.trip_km:.0f}, {first.day}. {told}"


def _legend(plan: Plan, places: Places, width: float, y: float, font: float) -> tuple[list[str], float]:
    """What the strokes mean, only those that are on this map."""
    legs = [leg for leg in plan.legs if leg.number in places.lines]
    across = ((0.0, 0.0), (24.0, 0.0))
    entries = [("".join(leg_strokes(across, surface, "none", False)), surface)
               for surface in DASHES if any(leg.surface == surface for leg in legs)]  # fmt: skip
    if any(leg.remote for leg in legs):
        entries.append((line(0, 0, 24, 0, 7), "thick: remote, further from help than accepted"))
    if any(leg.corrugation in TOOTH_SPACING for leg in legs):
        marks = "".join(leg_strokes(((0.0, 3.0), (24.0, 3.0)), "sealed", "severe", False))
        entries.append((marks, "corrugated, closer is worse"))
    if any(not leg_line.is_recorded for leg_line in places.lines.values()):
        entries.append((line(0, 0, 24, 0, 1), "a straight leg: the way between is not known"))
    drawn, x = [], 0.0
    for marks, text in entries:
        room = 36 + len(text) * font * ROOM_SHARE
        if x and x + room > width:
            x, y = 0.0, y + 18
        drawn.append(f'<g transform="translate({x:.1f} {y + 6:.1f})">{marks}{words(29, 4, text, font - 1)}</g>')
        x += room + 6
    return drawn, y + 20
