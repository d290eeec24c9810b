"""The first visit: a demo copied into the folder, or a rig described in a short form."""

from collections.abc import Mapping, Sequence
from pathlib import Path

from tripplan.files.append import CROSSING_COLUMNS, HISTORY_COLUMNS
from tripplan.files.demos import DEMOS, copy_demo
from tripplan.records.problems import Problem
from tripplan.web.forms.slips import Field
from tripplan.web.forms.table_form import USUAL
from tripplan.web.forms.typed import as_files_have_it, plain_number
from tripplan.web.toml_lines import TRIP_KEYS, section, with_values

UNIT_KEYS = (
    "id", "drive", "front_axle", "hubs", "fuel", "gearbox", "tyre_diameter_mm", "odometer_factor", "usual_km_per_week",
)  # fmt: skip
HEIGHTS = (
    "hub_centre", "knuckle_lower", "diff_breather", "gearbox_breather", "transfer_breather", "starter", "alternator",
    "door_sill", "lamp", "airbox_seam", "intake_mouth",
)  # fmt: skip
TRAILER_HEIGHTS = ("hub_centre", "trailer_coupling", "trailer_floor", "trailer_plug")
HEADERS = {
    "history.csv": HISTORY_COLUMNS, "legs.csv": USUAL["legs"], "crossings.csv": CROSSING_COLUMNS,
    "stops.csv": USUAL["stops"], "workshop.csv": USUAL["workshop_days"],
}  # fmt: skip
TRAILER_NAMES = {"id": "trailer_id", "usual_km_per_week": "trailer_km_per_week", "fitted": "trailer_fitted"}
LABELS = {
    "rig_name": "What you call the rig", "home_zone": "Home time zone", "id": "A short word for the vehicle",
    "drive": "Driven", "front_axle": "Front axle", "hubs": "Front hubs", "fuel": "Fuel", "gearbox": "Gearbox",
    "tyre_diameter_mm": "Tyre diameter, mm", "odometer_factor": "True km for each km shown",
    "usual_km_per_week": "Usual km in a week", "fitted": "Fitted", "trailer_id": "A short word for the trailer",
    "trailer_km_per_week": "Usual km in a week behind the vehicle", "trailer_fitted": "Fitted to the trailer",
    "trip.name": "Name of the trip", "trip.depart": "Departure", "trip.return": "Return",
    "trip.shakedown_km": "Shakedown drive before it, km", "trip.remote_beyond_km": "Remote when help is further than, km",
    "trip.rate_per_hour": "What an hour of your work is worth",
    "trip.cost_per_stranded_hour": "What an hour of standing is worth",
}  # fmt: skip
FORM_START = {
    "trip.shakedown_km": "80", "trip.remote_beyond_km": "150", "trip.rate_per_hour": "60",
    "trip.cost_per_stranded_hour": "90",
    "odometer_factor": "1", "id": "wagon", "trailer_id": "trailer",
}  # fmt: skip


def copy(name: str, folder: Path) -> str:
    """Copy a demo into the folder; the day it is seen from. Raises BadInput when there is something already."""
    copy_demo(name, folder)
    return DEMOS[name].isoformat()


def new_files(form: Mapping[str, Sequence[str]]) -> dict[str, bytes]:
    """All files of a new trip folder, from the form as it was typed; the readers judge it."""

    def typed(name: str) -> str:
        text = (form.get(name) or [""])[-1].strip()
        if "height." in name:
            return plain_number(text, "mm")
        return as_files_have_it(name.removeprefix("trailer_").rpartition(".")[2], text)

    rig = with_values("", {"home_zone": typed("home_zone"), "name": typed("rig_name")})
    vehicle = {"id": typed("id"), "kind": "vehicle"} | {key: typed(key) for key in UNIT_KEYS if key != "id"}
    rig += section(vehicle, {point: typed(f"height.{point}") for point in HEIGHTS}, _words(typed("fitted")))
    if typed("trailer") == "yes":
        trailer = {"id": typed("trailer_id"), "kind": "trailer", "usual_km_per_week": typed("trailer_km_per_week")}
        heights = {point: typed(f"trailer_height.{point}") for point in TRAILER_HEIGHTS}
        rig += section(trailer, heights, _words(typed("trailer_fitted")))
    trip = with_values("", {key: typed(f"trip.{key}") for key in reversed(TRIP_KEYS)})
    tables = {name: (",".join(columns) + "\n").encode() for name, columns in HEADERS.items()}
    return {"rig.toml": rig.encode("utf-8", "replace"), "trip.toml": trip.encode("utf-8", "replace"), **tables}


def field_of(problem: Problem) -> Field | None:
    """The field of the first visit's form that a problem is about, as the form calls it."""
    column = problem.column or ""
    if problem.file == "trip.toml":
        name = f"trip.{column}" if column in TRIP_KEYS else ""
    elif problem.file == "rig.toml":
        vehicle, trailer = "unit[1].", "unit[2]."
        if column.startswith(vehicle):
            name = column.removeprefix(vehicle).replace("heights_mm.", "height.")
        elif column.startswith(trailer):
            name = TRAILER_NAMES.get(
                column.removeprefix(trailer), column.replace(f"{trailer}heights_mm.", "trailer_height.")
            )
        else:
            name = {"name": "rig_name"}.get(column, column)
    else:
        return None
    if name not in LABELS and "height." not in name:
        return None
    label = LABELS.get(name) or name.rpartition(".")[2].replace("_", " ").capitalize()
    return Field(place=f"{name}-wrong", label=label)


def _words(text: str) -> list[str]:
    return [word.strip() for word in text.replace(";", ",").split(",") if word.strip()]
