"""Invented rigs for a fleet, as many as asked for: a seed gives a folder, equal seeds give equal folders.

Small trips, so that a plan is quick; every rig is another one in what it is, what was done to it, where it
goes, and when. All of it is invented.
"""

from collections.abc import Sequence
from datetime import date, timedelta
from pathlib import Path
from random import Random

TODAY = date(2026, 6, 1)
NAMES = (
    "Quoll",
    "Bilby",
    "Numbat",
    "Potoroo",
    "Wombat",
    "Dunnart",
    "Galah",
    "Brolga",
    "Currawong",
    "Pardalote",
    "Skink",
    "Gecko",
)
PLACES = (
    "Ironbark",
    "Two Wells",
    "Red Pan",
    "Salt Creek",
    "Long Paddock",
    "Emu Tank",
    "Stony Gap",
    "Low Dune",
    "Half Moon",
)
HEIGHTS = {
    "airbox_seam": 1080, "alternator": 720, "battery_tray": 950, "bell_housing_drain": 420, "breather_end": 1000,
    "brake_reservoir_cap": 1150, "diff_breather": 520, "door_sill": 560, "fan_centre": 850, "gearbox_breather": 700,
    "hub_centre": 395, "axle_centre": 395, "intake_mouth": 1100, "knuckle_lower": 330, "lamp": 800, "shackle": 450,
    "shaft": 460, "starter": 520, "sump_breather": 980, "tank_breather": 900, "transfer_breather": 700,
}  # fmt: skip
SERVICES = ("service_six_month", "service_twelve_month", "service_two_year")
GROUND = (
    ("sealed", "none", "none"),
    ("gravel", "light", "light"),
    ("gravel", "moderate", "heavy"),
    ("track", "light", "heavy"),
)


def fleet_folders(place: Path, count: int, first: int = 0) -> list[Path]:
    """That many folders below `place`, one a seed."""
    return [rig_folder(place, seed) for seed in range(first, first + count)]


def rig_folder(place: Path, seed: int) -> Path:
    """The folder of one seed."""
    draw = Random(seed)
    folder = place / f"rig-{seed:05d}"
    folder.mkdir(parents=True)
    name = f"{NAMES[seed % len(NAMES)]} {seed // len(NAMES) + 1}"
    depart = TODAY + timedelta(days=draw.randint(9, 40))
    count = draw.randint(2, 4)
    texts = {
        "rig.toml": _rig(draw, name), "history.csv": _history(draw), "legs.csv": _legs(draw, depart, count),
        "trip.toml": _trip(draw, name, depart, count), "workshop.csv": _days(draw, depart),
        "stops.csv": _stops(draw, depart, count), "crossings.csv": _crossings(draw, count),
    }  # fmt: skip
    for file, text in texts.items():
        (folder / file).write_text(text, encoding="utf-8")
    return folder


def _rig(draw: Random, name: str) -> str:
    raised = draw.choice((0, 0, 50))
    head = (
        f'name = "{name}"\nhome_zone = "Australia/Darwin"\n\n[[unit]]\nid = "wagon"\nkind = "vehicle"\n'
        f'drive = "part-time"\nfront_axle = "{draw.choice(("closed-knuckle", "open-knuckle", "independent"))}"\n'
        f'fuel = "diesel"\ngearbox = "{draw.choice(("manual", "automatic"))}"\nhubs = "free-wheeling"\n'
        f"tyre_diameter_mm = 790\nodometer_factor = {draw.choice((1, 1.02))}\nusual_km_per_week = {draw.randint(8, 40) * 10}\n"
        "usual_engaged_share = 0.02\nusual_towing_share = 0\nusual_low_range_share = 0\nusual_speed_kmh = 55\n"
        f'fitted = ["leaf-springs"{draw.choice(("", ", " + chr(34) + "winch" + chr(34)))}]\n\n[unit.heights_mm]\n'
    )
    points = {**HEIGHTS, "winch_motor": 780}
    return head + "".join(f"{point} = {height + raised}\n" for point, height in sorted(points.items()))


def _history(draw: Random) -> str:
    lines = ["date,unit,odometer_km,item,position,act,finding,lubricant,note"]
    day, km = TODAY - timedelta(days=draw.randint(700, 1100)), draw.randint(60, 240) * 1000
    while day < TODAY - timedelta(days=30):
        lines.append(f"{day},wagon,{km},{draw.choice(SERVICES)},,service,,,")
        day, km = day + timedelta(days=draw.randint(150, 260)), km + draw.randint(3, 9) * 1000
    if draw.random() < 0.5:
        lines.append(
            f"{TODAY - timedelta(days=20)},wagon,{km},front_wheel_bearings,both,repack,serviceable,wheel bearing grease,"
        )
    lines.append(f"{TODAY - timedelta(days=2)},wagon,{km + 400},,,reading,,,")
    return "\n".join(lines) + "\n"


def _leg_days(depart: date, count: int) -> Sequence[date]:
    return [depart + timedelta(days=2 * n) for n in range(count)]


def _legs(draw: Random, depart: date, count: int) -> str:
    head = "leg,from,to,depart,distance_km,speed_kmh,surface,corrugation,dust,heat_c,load,towing,hubs,low_range_km,remote,note"
    towns = draw.sample(PLACES, count)
    lines = [head]
    for n, day in enumerate(_leg_days(depart, count), 1):
        surface, corrugation, dust = draw.choice(GROUND)
        start, end = towns[n - 1], towns[n % count]
        lines.append(
            f"{n},{start},{end},{day} 07:30,{draw.randint(12, 45) * 10},60,{surface},{corrugation},{dust},"
            f"{draw.randint(22, 36)},{draw.choice(('normal', 'heavy'))},no,{draw.choice(('free', '0.3', 'locked'))},"
            f"{draw.choice((0, 0, 6))},{draw.choice(('no', 'yes'))},"
        )
    return "\n".join(lines) + "\n"


def _trip(draw: Random, name: str, depart: date, count: int) -> str:
    home = _leg_days(depart, count)[-1] + timedelta(days=2)
    return (
        f'name = "Round of {name}"\ndepart = {depart}\nreturn = {home}\nshakedown_km = {draw.choice((0, 60))}\n'
        f"remote_beyond_km = 150\nrate_per_hour = {draw.choice((45, 60, 80))}\ncost_per_stranded_hour = 90\n"
    )


def _days(draw: Random, depart: date) -> str:
    span = (depart - TODAY).days - 1
    days = sorted(draw.sample(range(1, span), min(draw.randint(1, 3), span - 1)))
    return "date,minutes\n" + "".join(f"{TODAY + timedelta(days=n)},{draw.choice((240, 360, 420))}\n" for n in days)


def _stops(draw: Random, depart: date, count: int) -> str:
    lines = ["stop,after_leg,arrive,leave,facility,minutes"]
    for n, day in enumerate(_leg_days(depart, count)[:-1], 1):
        if draw.random() < 0.6:
            lines.append(
                f"Camp {n},{n},{day},{day + timedelta(days=1)},{draw.choice(('camp', 'town'))},{draw.choice((60, 120, 240))}"
            )
    return "\n".join(lines) + "\n"


def _crossings(draw: Random, count: int) -> str:
    lines = ["leg,at_km,depth_m,length_m,minutes,water,crossed"]
    for n in range(1, count + 1):
        if draw.random() < 0.4:
            lines.append(
                f"{n},{draw.randint(2, 10) * 10},{draw.choice((0.2, 0.35, 0.5))},20,2,{draw.choice(('fresh', 'muddy'))},"
            )
    return "\n".join(lines) + "\n"
