"""`rig.toml` and `trip.toml` of a new folder: what was answered, and as remarks what else could be said."""

from collections.abc import Collection, Sequence

from tripplan.files.new_questions import YES, Answers, parted
from tripplan.files.toml_files import quoted, value

HEAD = """\
# {what}
# A line that begins with # is a remark. Take the # away from a line such as "# {example}"
# to say what it says. What is not said stays unknown, and every plan tells what it took instead.
"""
TO_MEASURE = "# Heights above ground in mm, by tape, laden as for the trip. They tell what a crossing puts under water."
BRACKETS_TOO = "# For the first of them take the # away from the line in brackets too."
HEIGHTS = (
    "hub_centre", "knuckle_lower", "diff_breather", "gearbox_breather", "transfer_breather", "starter", "alternator",
    "door_sill", "lamp", "airbox_seam", "intake_mouth",
)  # fmt: skip
TRAILER_HEIGHTS = ("hub_centre", "trailer_coupling", "trailer_floor", "trailer_plug")
# Every point that an item of the tables has, and the roof; those above are asked for first.
EVERY_HEIGHT = (
    *HEIGHTS, "shaft", "bell_housing_drain", "axle_centre", "shackle", "fan_centre", "battery_tray", "sump_breather",
    "tank_breather", "breather_end", "brake_reservoir_cap", "winch_motor", "roof",
)  # fmt: skip
EVERY_TRAILER_HEIGHT = (*TRAILER_HEIGHTS, "lamp", "shackle")
ONLY_WITH = {"winch_motor": "winch"}
Line = tuple[str, str, str]
VEHICLE: tuple[Line, ...] = (
    ("drive", "part-time", "part-time, full-time, rear or front"),
    ("hubs", "free-wheeling", "free-wheeling or fixed; only part-time drive needs it"),
    ("front_axle", "closed-knuckle", "closed-knuckle, open-knuckle or independent"),
    ("fuel", "diesel", "diesel, petrol, lpg or another word"),
    ("gearbox", "manual", "manual or automatic"),
    ("tyre_diameter_mm", "800", "from the ground to the top"),
    ("odometer_factor", "1.03", "true km for each km shown, from a distance that is known"),
    ("usual_km_per_week", "200", "outside trips; enough readings in the history replace it"),
    ("usual_speed_kmh", "50", "turns km into engine hours"),
    ("usual_engaged_share", "0.03", "part of ordinary driving with the hubs locked, 0 to 1"),
    ("usual_towing_share", "0.1", "part of ordinary driving with a trailer on, 0 to 1"),
    ("usual_low_range_share", "0.01", "part of ordinary driving in low range, 0 to 1"),
)
TRAILER: tuple[Line, ...] = (
    ("tyre_diameter_mm", "700", "from the ground to the top"),
    ("usual_km_per_week", "20", "behind the vehicle, outside trips"),
)
PLACE: tuple[Line, ...] = (
    ("country", "AU", "two letters: public holidays are then days off"),
    ("region", "NT", "a region of the country, for its own holidays"),
)
TRIP: tuple[Line, ...] = (
    ("name", "", "what you call the trip"),
    ("depart", "", "the day you leave"),
    ("return", "", "the day you are home again"),
    ("shakedown_km", "80", "a drive to try out what was opened, some days before you leave; 0 = none"),
    ("remote_beyond_km", "150", "help further off than this makes a stretch remote"),
    ("rate_per_hour", "60", "what an hour of your work at home is worth, in your money"),
    ("cost_per_stranded_hour", "90", "what an hour of standing still is worth, in your money"),
    ("holiday_rate_per_hour", "80", "what an hour of work on the way is worth"),
    ("road_daily_minutes", "30", "minutes of work a day on the way that cost no holiday"),
    ("road_day_limit_minutes", "240", "no more work than this on one day on the way"),
    ("trailer_hubs_after_water", "repack", "look or repack: trailer hubs that were under water"),
    ("workshop_minutes", "240", "minutes on a free day, where busy.ics tells which days are free"),
)
AS_GUESSED = ("shakedown_km", "remote_beyond_km", "rate_per_hour", "cost_per_stranded_hour")


def rig_text(said: Answers) -> str:
    """`rig.toml`: the rig, the vehicle and the trailer if there is one."""
    what = "The rig: what travels. Its units are the vehicle and any trailers."
    parts = [HEAD.format(what=what, example="tyre_diameter_mm = 800")]
    parts += [f"name = {quoted(said.get('rig_name', ''))}", f"home_zone = {quoted(said.get('home_zone', ''))}"]
    parts += [_line(*entry, said.get(entry[0], "")) for entry in PLACE]
    answers = {key: said.get(key, "") for key, _, _ in VEHICLE}
    parts += _unit("vehicle", said.get("id", ""), VEHICLE, answers, said.get("fitted", ""))
    parts += _heights(heights_of(parted(said.get("fitted", ""))), said, "height.")
    if said.get("trailer") == YES:
        answers = {"usual_km_per_week": said.get("trailer_km_per_week", "")}
        parts += _unit("trailer", said.get("trailer_id", ""), TRAILER, answers, said.get("trailer_fitted", ""))
        parts += _heights(EVERY_TRAILER_HEIGHT, said, "trailer_height.")
    return "\n".join(parts) + "\n"


def trip_text(said: Answers) -> str:
    """`trip.toml`: the days, and what time and standing still are worth."""
    what = "The trip: its days, and what your time is worth. The way itself stands in legs.csv."
    parts = [HEAD.format(what=what, example="holiday_rate_per_hour = 80")]
    for key, example, remark in TRIP:
        given = said.get(f"trip.{key}", "")
        told = f"{remark} (a start; put your own)" if key in AS_GUESSED and given == example else remark
        is_left = example and not given
        parts += [f"# {told}", f"{'# ' if is_left else ''}{key} = {value(key, given or example)}"]
    return "\n".join(parts) + "\n"


def _unit(kind: str, unit_id: str, lines: Sequence[Line], answers: Answers, fitted: str) -> list[str]:
    words = ", ".join(quoted(word) for word in parted(fitted))
    return [
        "", "[[unit]]", f"id = {quoted(unit_id)}  # history.csv calls it so", f"kind = {quoted(kind)}",
        *(_line(*entry, answers.get(entry[0], "")) for entry in lines),
        f"fitted = [{words}]  # what it has beside the usual; tripplan numbers ITEM says which word an item needs",
    ]  # fmt: skip


def heights_of(fitted: Collection[str]) -> tuple[str, ...]:
    """The points of a vehicle with these things fitted."""
    return tuple(point for point in EVERY_HEIGHT if ONLY_WITH.get(point, point) in (point, *fitted))


def _heights(points: Sequence[str], said: Answers, prefix: str) -> list[str]:
    given = {point: said.get(f"{prefix}{point}", "") for point in points}
    lines = [f"{point} = {value(point, text)}" if text else f"# {point} = ..." for point, text in given.items()]
    mark = "" if any(given.values()) else "# "
    return ["", TO_MEASURE, *([BRACKETS_TOO] if mark else []), f"{mark}[unit.heights_mm]", *lines]


def _line(key: str, example: str, remark: str, given: str) -> str:
    text = f"{key} = {value(key, given or example)}"
    return f"{'' if given else '# '}{text}  # {remark}"
