"""The first visit: a demo copied into the folder, or a rig described in a short form."""

from collections.abc import Mapping, Sequence
from pathlib import Path

from tripplan.files.append import CROSSING_COLUMNS, HISTORY_COLUMNS
from tripplan.files.demos import DEMOS, copy_demo
from tripplan.web.forms.table_form import USUAL
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
        return (form.get(name) or [""])[-1].strip()

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


def _words(text: str) -> list[str]:
    return [word.strip() for word in text.replace(";", ",").split(",") if word.strip()]
