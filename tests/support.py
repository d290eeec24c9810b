"""A small good trip folder for tests, and a tiny catalogue. All of it is invented."""

from datetime import date
from functools import cache
from pathlib import Path
from typing import Any

from tripplan.files.data_tables import read_catalogue
from tripplan.files.left_out import COLUMNS, LEFT_OUT_FILE
from tripplan.records.catalogue import ActRule, Catalogue, Item, Source, Teardown
from tripplan.records.facts_in import Origin

TODAY = date(2026, 6, 20)

RIG = """\
name = "Wagon and camper"
home_zone = "Australia/Darwin"

[[unit]]
id = "wagon"
kind = "vehicle"
drive = "part-time"
front_axle = "closed-knuckle"
fuel = "diesel"
gearbox = "manual"
hubs = "free-wheeling"
tyre_diameter_mm = 790
odometer_factor = 1.02
usual_km_per_week = 250
usual_engaged_share = 0.02
usual_towing_share = 0
usual_low_range_share = 0
usual_speed_kmh = 55
fitted = ["leaf-springs", "winch"]

[unit.heights_mm]
airbox_seam = 1080
alternator = 720
axle_centre = 395
battery_tray = 950
bell_housing_drain = 420
brake_reservoir_cap = 1150
breather_end = 1000
diff_breather = 520
door_sill = 560
fan_centre = 850
gearbox_breather = 700
hub_centre = 395
intake_mouth = 1100
knuckle_lower = 330
lamp = 800
shackle = 450
shaft = 460
starter = 520
sump_breather = 980
tank_breather = 900
transfer_breather = 700
winch_motor = 780

[[unit]]
id = "camper"
kind = "trailer"
usual_km_per_week = 0
fitted = ["electric-brakes"]

[unit.heights_mm]
hub_centre = 370
lamp = 700
shackle = 420
trailer_coupling = 480
trailer_floor = 600
trailer_plug = 620
"""

HISTORY = """\
date,unit,odometer_km,item,position,act,finding,lubricant,note
2025-02-10,wagon,171200,front_wheel_bearings,both,repack,serviceable,wheel bearing grease,
2025-02-10,wagon,171200,swivel_knuckle_reseal,left,renew,worn,,
2025-02-10,wagon,171200,swivel_knuckle_reseal,right,renew,serviceable,,
2025-09-14,wagon,179800,engine_oil_filter,,drain and refill,as new,engine oil,
2026-02-28,wagon,184300,,,reading,,,before the wet
2025-10-05,camper,,trailer_bearings,both,repack,serviceable,wheel bearing grease,
2026-05-02,wagon,186900,engine_oil_filter,,drain and refill,serviceable,engine oil,"filter too, seal renewed"
2026-06-14,wagon,188150,,,reading,,,
"""

TRIP = """\
name = "North by the old road"
depart = 2026-07-03
return = 2026-07-20
shakedown_km = 80
remote_beyond_km = 150
rate_per_hour = 60
cost_per_stranded_hour = 90
"""

LEGS = """\
leg,from,to,depart,distance_km,speed_kmh,surface,corrugation,dust,heat_c,load,towing,hubs,low_range_km,remote,note
1,Ironbark,Two Wells,2026-07-03 07:00,520,85,sealed,none,none,29,heavy,yes,free,0,no,
2,Two Wells,Red Pan,2026-07-06,410,55,gravel,moderate,heavy,33,heavy,yes,locked,12,yes,river flats
3,Red Pan,Ironbark,2026-07-12,780,70,gravel,light,light,31,normal,yes,0.3,0,no,
"""

CROSSINGS = """\
leg,at_km,depth_m,length_m,minutes,water,crossed
2,140,0.55,30,2,muddy,
"""

STOPS = """\
stop,after_leg,arrive,leave,facility,minutes
Red Pan,2,2026-07-07,2026-07-11,camp,240
"""

WORKSHOP = """\
date,minutes
2026-06-21,360
2026-06-27,300
"""

FEW_ITEMS = ("engine_oil_filter", "front_wheel_bearings", "swivel_knuckle_reseal", "trailer_bearings", "winch")

FILES = {
    "rig.toml": RIG, "history.csv": HISTORY, "trip.toml": TRIP, "legs.csv": LEGS,
    "crossings.csv": CROSSINGS, "stops.csv": STOPS, "workshop.csv": WORKSHOP,
}  # fmt: skip


def good_folder(folder: Path) -> Path:
    """Write every file of a good trip folder below `folder`, and give the folder back."""
    folder.mkdir(parents=True, exist_ok=True)
    for name, text in FILES.items():
        (folder / name).write_text(text, encoding="utf-8")
    return folder


@cache
def not_planned() -> tuple[str, ...]:
    """All items but a few: without them a plan of the sample rig is quickly made."""
    catalogue, _ = read_catalogue()
    return tuple(sorted(item.id for item in catalogue.items if item.id not in FEW_ITEMS))


def leave_out_most(folder: Path) -> None:
    """Leave most items out of the plans of a folder, at the owner's word."""
    (folder / "overrides").mkdir(exist_ok=True)
    rows = [",".join(COLUMNS), *(f"{item},,never,left out here" for item in not_planned()), ""]
    (folder / "overrides" / LEFT_OUT_FILE).write_text("\n".join(rows), encoding="utf-8")


def replaced(folder: Path, name: str, old: str, new: str) -> Path:
    """Change one piece of text of a file, which must be there once or more."""
    text = (folder / name).read_text(encoding="utf-8")
    assert old in text, f"{old!r} is not in {name}"
    (folder / name).write_text(text.replace(old, new, 1), encoding="utf-8")
    return folder


def tiny_item(item_id: str, name: str, **changes: Any) -> Item:
    """An item with ordinary values, changed as asked; the values mean nothing."""
    values: dict[str, Any] = {
        "id": item_id, "name": name, "system": "axle", "unit_kind": "vehicle", "act": "repack",
        "km": 40000, "spread_low": 0.5, "spread_high": 2, "dust": "high", "water": "high",
        "corrugation": "low", "heat": "low", "load": "low", "family": "bearing",
        "place": "front wheel end", "state": "hub off", "minutes": 60, "facility": "camp",
        "rhythm": "service", "harms": "yes", "harms_by": "wheels", "strands": 1,
        "if_it_fails": "it seizes", "failure_basis": "judgement", "failure_source": "none",
        "minutes_basis": "judgement", "minutes_source": "none",
        "life_shape": 2, "parts_lead_days": 0,
        "positions": "left;right", "points": "hub_centre", "basis": "judgement", "source": "none",
        "origin": Origin(file="data/items.csv", row=2),
    }  # fmt: skip
    return Item.model_validate({**values, **changes})


def tiny_catalogue(*more: Item) -> Catalogue:
    """Four items and the acts they need: enough to check records against."""
    closed = {"needs": "front_axle=closed-knuckle"}
    sump = {"place": "engine sump", "state": "drained", "positions": None, "points": "sump_breather"}
    items = (
        tiny_item("front_wheel_bearings", "Front wheel bearings (taper)"),
        tiny_item("swivel_knuckle_reseal", "Swivel knuckle reseal", act="renew", **closed),
        tiny_item("engine_oil_filter", "Engine oil and filter", act="drain and refill", **sump),
        tiny_item("winch", "Winch", needs="fitted=winch", positions=None, act="look", points="winch_motor"),
        tiny_item("trailer_bearings", "Trailer wheel bearings", unit_kind="trailer"),
        *more,
    )
    origin = Origin(file="data/acts.csv", row=2)
    sourced: dict[str, Any] = {"basis": "judgement", "source": "none", "origin": origin}
    opened: dict[str, Any] = {"open_minutes": 10, "close_minutes": 10, "words": "hub off"}
    acts = ("look", "grease", "repack", "renew", "drain and refill")
    return Catalogue(
        edition="2026-01-01 00000000", items=items,
        multipliers=(), grades=(), consumables=(), water_rules=(), assumptions=(),
        teardown=(Teardown(place="front wheel end", state="hub off", **opened, **sourced),),
        acts=tuple(ActRule(act=act, words=act, done_by=(), **sourced) for act in acts),
        sources=(Source(id="trade", title="Trade habit", how_seen="none", origin=origin),),
    )  # fmt: skip
