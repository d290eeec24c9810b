"""The rig from the side as our own plain drawing, with a ruler and the water at a depth.

One ink and one tint; heights are to scale, lengths are not. It shows what is under water
and judges nothing.
"""

from collections.abc import Iterable
from html import escape

from tripplan.records.facts_in import Unit
from tripplan.sheets import words
from tripplan.water.crossing import PointMark

WIDTH, GROUND = 720.0, 318.0
PER_M = 140.0
TOP_M = 2.1
RULER_X = 64.0
WITHOUT_TRAILER = 530.0
TRAILER_ALONE_X = 440.0
SNORKEL_M = 1.3
WHEELS = {"vehicle": (200.0, 420.0), "trailer": (600.0,)}
PLACES = {
    "hub_centre": 200, "knuckle_lower": 214, "axle_centre": 420, "diff_breather": 404, "gearbox_breather": 300,
    "transfer_breather": 330, "starter": 250, "alternator": 176, "fan_centre": 160, "door_sill": 316, "lamp": 138,
    "airbox_seam": 226, "intake_mouth": 262, "battery_tray": 200, "sump_breather": 190, "tank_breather": 446,
    "breather_end": 282, "bell_housing_drain": 268, "brake_reservoir_cap": 256, "shackle": 462, "shaft": 360,
    "winch_motor": 126,
}  # fmt: skip
TRAILER_PLACES = {
    "hub_centre": 600, "lamp": 692, "shackle": 640, "trailer_coupling": 512, "trailer_floor": 620, "trailer_plug": 530,
}  # fmt: skip


def side_view(
    units: Iterable[Unit], marks: Iterable[PointMark], depth_m: float, allowance_m: float, key: str = "side"
) -> str:
    """The drawing as one SVG element. `allowance_m` is what the bow wave adds: at the front, or on a trailer drawn alone."""
    drawn = list(units)
    trailer = next((unit for unit in drawn if unit.kind == "trailer"), None)
    vehicle = next((unit for unit in drawn if unit.kind == "vehicle"), None)
    width = WIDTH if trailer else WITHOUT_TRAILER
    left = 0.0 if vehicle or not trailer else TRAILER_ALONE_X - RULER_X
    parts = [_ruler(width, left), _water(depth_m, allowance_m, width, left)]
    parts += [_vehicle(vehicle)] if vehicle else []
    parts += [_trailer(trailer)] if trailer else []
    parts += [_dot(mark, trailer.id if trailer else "") for mark in marks if mark.height_m is not None]
    where = "at the front" if vehicle else "all along"
    line_m = words.figure(depth_m + allowance_m)
    wave = f"with the bow wave it is counted to {line_m} m {where}" if allowance_m else "no bow wave is added"
    told = f"Side view with water {words.figure(depth_m)} m deep; {wave}."
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" class="side-view" viewBox="{left:g} 0 {width - left:g} 336" role="img" '
        f'aria-labelledby="{key}-title" data-ground="{GROUND:g}" '
        f'data-per-m="{PER_M:g}" data-allowance="{allowance_m:g}" data-where="{where}">'
        f'<title id="{key}-title">{escape(told)} Heights are to scale, lengths are not.</title>{"".join(parts)}</svg>'
    )


def _y(height_m: float) -> float:
    return GROUND - min(height_m, TOP_M) * PER_M


def _ruler(width: float, left: float) -> str:
    x = RULER_X + left
    marks = [f'<path d="M{x:g} {GROUND:g}V{_y(TOP_M):.1f}M{x:g} {GROUND:g}H{width:g}" class="stroke"/>']
    for step in range(0, 21):
        height_m = step / 10
        length = 10 if step % 5 == 0 else 6
        marks.append(f'<path d="M{x:g} {_y(height_m):.1f}h-{length}" class="stroke"/>')
        if step % 5 == 0:
            label = f"{height_m:g} m"
            marks.append(f'<text x="{left:g}" y="{_y(height_m) + 6:.1f}" font-size="18">{label}</text>')
    return "".join(marks)


def _water(depth_m: float, allowance_m: float, width: float, left: float) -> str:
    still, wave = _y(depth_m), _y(depth_m + allowance_m) if depth_m > 0 else _y(0)
    return (
        f'<rect class="water" data-water x="{RULER_X + left:g}" y="{still:.1f}" width="{width - RULER_X - left:g}" '
        f'height="{GROUND - still:.1f}"/>'
        f'<path class="wave" data-wave d="M{RULER_X + left:g} 0H{width:g}" transform="translate(0 {wave:.1f})"/>'
    )


def _vehicle(unit: Unit) -> str:
    radius = _radius(unit)
    sill, bonnet, roof = _y(unit.heights_mm.get("door_sill", 600) / 1000), _y(1.12), _y(1.85)
    body = (
        f"M120 {sill:.0f}L118 {bonnet + 12:.0f}Q119 {bonnet:.0f} 134 {bonnet:.0f}H256L286 {roof:.0f}H478"
        f"Q492 {roof:.0f} 492 {roof + 14:.0f}V{sill:.0f}Z"
    )
    glass = f"M270 {bonnet:.0f}L294 {roof + 10:.0f}H372V{bonnet:.0f}ZM382 {roof + 10:.0f}H478V{bonnet:.0f}H382Z"
    intake_m = unit.heights_mm.get("intake_mouth", 0) / 1000
    pipe = f"M{PLACES['intake_mouth']} {bonnet:.0f}V{_y(intake_m):.0f}" if intake_m > SNORKEL_M else ""
    lines = f'<path class="body" d="{body}"/><path class="stroke" d="{glass}{pipe}"/>'
    return lines + _wheels("vehicle", radius)


def _trailer(unit: Unit) -> str:
    floor, top = _y(unit.heights_mm.get("trailer_floor", 640) / 1000), _y(1.35)
    hitch = _y(unit.heights_mm.get("trailer_coupling", 500) / 1000)
    body = f'<path class="body" d="M540 {floor:.0f}V{top:.0f}H706V{floor:.0f}Z"/>'
    return f'{body}<path class="stroke" d="M540 {floor:.0f}L494 {hitch:.0f}"/>' + _wheels("trailer", _radius(unit))


def _radius(unit: Unit) -> float:
    hub_mm = unit.heights_mm.get("hub_centre") or (unit.tyre_diameter_mm or 780) / 2
    return min(max(hub_mm / 1000, 0.2), 0.6) * PER_M


def _wheels(kind: str, radius: float) -> str:
    return "".join(
        f'<circle class="body" cx="{x:g}" cy="{GROUND - radius:.1f}" r="{radius:.1f}"/>'
        f'<circle class="stroke" cx="{x:g}" cy="{GROUND - radius:.1f}" r="{radius * 0.5:.1f}"/>'
        for x in WHEELS[kind]
    )


def _dot(mark: PointMark, trailer: str) -> str:
    places = TRAILER_PLACES if mark.unit == trailer else PLACES
    if mark.point not in places or mark.height_m is None:
        return ""
    told = escape(f"{mark.unit}, {mark.point.replace('_', ' ')}, {words.figure(mark.height_m)} m")
    y = _y(mark.height_m)
    return (
        f'<circle class="point{" under" if mark.under else ""}" data-height="{mark.height_m:g}" data-wave-m="{mark.wave_m:g}" data-point="{escape(mark.point)}" '
        f'cx="{places[mark.point]}" cy="{y:.1f}" r="6"><title>{told}</title></circle>'
    )
