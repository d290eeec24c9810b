"""Every fact that comes in, as one small frozen record that knows where it came from.

The field's type says what a cell may hold, its description is the `accepted` line of the
Problem when it does not. All distances are kilometres, all depths metres. An empty cell
is None: unknown is a value.
"""

from datetime import date, datetime
from typing import Annotated, Literal

from pydantic import BaseModel, BeforeValidator, ConfigDict, Field

from tripplan.records import cell_values
from tripplan.records.words import FACILITY_RANK as FACILITY_RANK
from tripplan.records.words import Facility as Facility
from tripplan.records.words import Finding as Finding

Drive = Literal["part-time", "full-time", "rear", "front"]
FrontAxle = Literal["closed-knuckle", "open-knuckle", "independent"]
Hubs = Literal["free-wheeling", "fixed"]
Surface = Literal["sealed", "gravel", "track", "sand", "rock"]
Corrugation = Literal["none", "light", "moderate", "severe"]
Dust = Literal["none", "light", "heavy", "bulldust"]
Load = Literal["light", "normal", "heavy"]
Mud = Literal["none", "light", "deep"]
Water = Literal["fresh", "muddy", "salt"]
TrailerHubs = Literal["look", "repack"]
Meter = Literal["km", "engaged_km", "towing_km", "low_range_km", "engine_hours", "months"]
Weekday = Literal["monday", "tuesday", "wednesday", "thursday", "friday", "saturday", "sunday"]
WEEKDAYS: tuple[Weekday, ...] = (
    "monday", "tuesday", "wednesday", "thursday", "friday", "saturday", "sunday",
)  # fmt: skip
METERS: tuple[Meter, ...] = (
    "km", "engaged_km", "towing_km", "low_range_km", "engine_hours", "months",
)  # fmt: skip

Number = Annotated[float, BeforeValidator(cell_values.number)]
Day = Annotated[date, BeforeValidator(cell_values.day)]
Moment = Annotated[datetime | date, BeforeValidator(cell_values.moment)]
YesNo = Annotated[bool, BeforeValidator(cell_values.yes_no)]
LockedShare = Annotated[float, BeforeValidator(cell_values.locked_share)]
Lower = BeforeValidator(cell_values.word)


class Record(BaseModel):
    """Frozen, strict about unknown fields, built by keyword."""

    model_config = ConfigDict(frozen=True, extra="forbid", str_strip_whitespace=True)


class Origin(Record):
    """The file and row a fact came from; the header is row 1, None means the whole file."""

    file: str
    row: int | None = None

    def __str__(self) -> str:
        return self.file if self.row is None else f"{self.file} row {self.row}"


class Unit(Record):
    """One thing with wheels: the vehicle, or a trailer, with meters of its own.

    The three `usual_*_share` fields and `usual_speed_kmh` describe driving outside the
    planned legs; where one is None the planner counts the worst case and says so. Readings
    replace `usual_km_per_week` and `usual_speed_kmh` unless `rates_from_readings` is false.
    """

    id: str = Field(description="a short word, e.g. wagon", min_length=1)
    kind: Annotated[Literal["vehicle", "trailer"], Lower]
    drive: Annotated[Drive | None, Lower] = None
    front_axle: Annotated[FrontAxle | None, Lower] = None
    fuel: Annotated[str | None, Lower] = Field(None, description="diesel, petrol, lpg or another word")
    gearbox: Annotated[Literal["manual", "automatic"] | None, Lower] = None
    hubs: Annotated[Hubs | None, Lower] = None
    tyre_diameter_mm: Number | None = Field(None, gt=300, lt=2000, description="300 to 2000 mm")
    odometer_factor: Number | None = Field(None, gt=0.5, lt=2, description="0.5 to 2, 1 = reads true")
    usual_km_per_week: Number | None = Field(None, ge=0, lt=10000, description="0 to 10000 km")
    usual_engaged_share: Number | None = Field(None, ge=0, le=1, description="a share from 0 to 1")
    usual_towing_share: Number | None = Field(None, ge=0, le=1, description="a share from 0 to 1")
    usual_low_range_share: Number | None = Field(None, ge=0, le=1, description="a share from 0 to 1")
    usual_speed_kmh: Number | None = Field(None, gt=0, le=150, description="above 0 to 150 km/h")
    rates_from_readings: YesNo | None = Field(None, description="true, or false to keep the usual km and speed given")
    fitted: tuple[Annotated[str, Lower], ...] = ()
    heights_mm: dict[str, Annotated[Number, Field(gt=0)]] = Field({}, description="mm above the ground")
    origin: Origin


class Rig(Record):
    """What travels: its name, the home time zone, and its units."""

    name: str = Field(min_length=1, description="a name")
    home_zone: str = Field(description="a time zone such as Australia/Darwin")
    country: str | None = Field(None, description="a two-letter country code, for public holidays")
    region: str | None = Field(None, description="a region code within the country")
    units: tuple[Unit, ...]
    origin: Origin

    @property
    def vehicle(self) -> Unit:
        """The unit that drives the others."""
        return next(unit for unit in self.units if unit.kind == "vehicle")


class HistoryRow(Record):
    """One dated line of the service history: work done, something seen, or a bare reading.

    Act `reading` needs no item. Act `odometer replaced` gives the new instrument's figure
    in `odometer_km` and the old one's last figure in `old_odometer_km`. A row struck out
    keeps its words and says in `undone` why it no longer counts.
    """

    date: Day = Field(description=cell_values.DAY_ACCEPTED)
    unit: str = Field(description="a unit id of rig.toml")
    odometer_km: Number | None = Field(None, ge=0, lt=5_000_000, description=cell_values.NUMBER_ACCEPTED)
    item: str | None = None
    position: Annotated[str | None, Lower] = None
    act: Annotated[str, Lower] = Field(description="an act, e.g. repack; or reading")
    finding: Annotated[Finding | None, Lower] = None
    lubricant: str | None = None
    note: str | None = None
    old_odometer_km: Number | None = Field(None, ge=0, lt=5_000_000, description=cell_values.NUMBER_ACCEPTED)
    undone: str | None = Field(None, description="why the row was struck out; empty while it counts")
    record: str | None = Field(None, description="the name of the record it was taken in from, if any")
    origin: Origin


class Leg(Record):
    """A stretch driven without a stop for work, and what it is like.

    `hubs` is the share of the leg driven with the front axle engaged; it counts, and is asked for,
    only where the rig has a choice: part-time drive with free-wheeling hubs. `mud` is optional:
    without it only muddy crossings count as mud. `distance_low_km` and `distance_high_km` are
    the range of a distance that was estimated; a measured one has none. The measured columns from `silt_percent`
    on are optional too: where a set is complete a physical model replaces the graded row.
    """

    leg: Annotated[int, BeforeValidator(cell_values.number)] = Field(ge=1, le=9999, description="1, 2, 3 and so on")
    from_: str = Field(alias="from", min_length=1, description="a place")
    to: str = Field(min_length=1, description="a place")
    depart: Moment = Field(description=cell_values.MOMENT_ACCEPTED)
    distance_km: Number = Field(gt=0, le=20_000, description="above 0 to 20000 km")
    speed_kmh: Number = Field(gt=0, le=150, description="the moving average, above 0 to 150 km/h")
    surface: Annotated[Surface, Lower]
    corrugation: Annotated[Corrugation, Lower]
    dust: Annotated[Dust, Lower]
    heat_c: Number = Field(ge=-40, le=60, description="air temperature, -40 to 60 deg C")
    load: Annotated[Load, Lower]
    towing: YesNo = Field(description="yes or no")
    hubs: LockedShare | None = Field(None, ge=0, le=1, description="locked, free, or the share locked from 0 to 1")
    low_range_km: Number = Field(ge=0, description="0 to the leg's distance")
    remote: YesNo = Field(description="yes or no")
    note: str | None = None
    mud: Annotated[Mud | None, Lower] = None
    track: str | None = None
    distance_low_km: Number | None = Field(None, gt=0, le=20_000, description="above 0 to 20000 km")
    distance_high_km: Number | None = Field(None, gt=0, le=20_000, description="above 0 to 20000 km")
    from_lat: Number | None = Field(None, ge=-90, le=90, description="-90 to 90 degrees")
    from_lon: Number | None = Field(None, ge=-180, le=180, description="-180 to 180 degrees")
    to_lat: Number | None = Field(None, ge=-90, le=90, description="-90 to 90 degrees")
    to_lon: Number | None = Field(None, ge=-180, le=180, description="-180 to 180 degrees")
    silt_percent: Number | None = Field(None, ge=1.8, le=35, description="fines in the surface, 1.8 to 35%")
    moisture_percent: Number | None = Field(None, ge=0.03, le=13, description="moisture, 0.03 to 13%")
    following_m: Number | None = Field(None, ge=5, le=1000, description="metres behind another, 5 to 1000")
    corrugation_mm: Number | None = Field(None, ge=0, le=60, description="trough to crest, 0 to 60 mm")
    corrugation_wavelength_m: Number | None = Field(None, ge=0.3, le=3, description="crest to crest, 0.3 to 3 m")
    roughness_iri_m_per_km: Number | None = Field(
        None, ge=0.5, le=24, description="roughness index without washboard, 0.5 to 24 m/km"
    )
    sump_temp_c: Number | None = Field(None, ge=-10, le=160, description="oil as read, -10 to 160 deg C")
    wheel_load_factor: Number | None = Field(None, ge=0.2, le=3, description="load over usual load, 0.2 to 3")
    vehicle_mass_kg: Number | None = Field(None, ge=500, le=12_000, description="laden, 500 to 12000 kg")
    trailer_mass_kg: Number | None = Field(None, ge=0, le=12_000, description="laden, 0 to 12000 kg")
    descent_m: Number | None = Field(None, ge=0, le=20_000, description="height lost downhill, 0 to 20000 m")
    origin: Origin

    @property
    def date(self) -> date:
        """The day the leg starts."""
        return as_day(self.depart)


class EarlierLeg(Leg):
    """A leg driven on an earlier trip, which is named."""

    trip: str = Field(min_length=1, description="the name of an earlier trip")


class Crossing(Record):
    """A water crossing on a leg; `crossed` is empty while it is only planned."""

    leg: Annotated[int, BeforeValidator(cell_values.number)] = Field(ge=1, description="a leg number of legs.csv")
    at_km: Number = Field(ge=0, description="km from the start of the leg")
    depth_m: Number = Field(ge=0, le=3, description="0 to 3 m; 55 cm is 0.55")
    length_m: Number | None = Field(None, gt=0, le=5000, description="above 0 to 5000 m")
    minutes: Number | None = Field(None, ge=0, le=1440, description="0 to 1440 minutes in the water")
    water: Annotated[Water, Lower]
    crossed: Moment | None = Field(None, description=cell_values.MOMENT_ACCEPTED)
    stalled: YesNo | None = None
    hubs_hot: YesNo | None = None
    note: str | None = None
    record: str | None = Field(None, description="the name of the record it was taken in from, if any")
    origin: Origin


class EarlierCrossing(Crossing):
    """A crossing of an earlier trip, which is named. It is kept, and counts no more."""

    trip: str = Field(min_length=1, description="the name of an earlier trip")


class Stop(Record):
    """A place where work is possible, after the driving of one leg."""

    stop: str = Field(min_length=1, description="a place")
    after_leg: Annotated[int, BeforeValidator(cell_values.number)] = Field(ge=1, description="a leg number of legs.csv")
    arrive: Moment = Field(description=cell_values.MOMENT_ACCEPTED)
    leave: Moment = Field(description=cell_values.MOMENT_ACCEPTED)
    facility: Annotated[Facility, Lower]
    minutes: Number = Field(ge=0, le=100_000, description="minutes of work possible, 0 or more")
    lat: Number | None = Field(None, ge=-90, le=90, description="-90 to 90 degrees")
    lon: Number | None = Field(None, ge=-180, le=180, description="-180 to 180 degrees")
    zone: str | None = Field(None, description="a time zone such as Australia/Darwin")
    note: str | None = None
    origin: Origin

    @property
    def date(self) -> date:
        """The day of arrival, which is the day work there is dated."""
        return as_day(self.arrive)


class WorkshopDay(Record):
    """A day at home with time for work, before departure."""

    date: Day = Field(description=cell_values.DAY_ACCEPTED)
    minutes: Number = Field(gt=0, le=1440, description="above 0 to 1440 minutes")
    note: str | None = None
    origin: Origin


class PublicHoliday(Record):
    """A public holiday at home: a day off for the owner, and for the shops."""

    date: Day
    name: str
    origin: Origin


class Trip(Record):
    """The journey: dates, what time and standing still cost, and its parts in order.

    The three `workshop_*` keys say which days are free for the shed when they are found
    from the owner's calendar; `finds_free_days` is then true. `zones_read` are the stops whose
    zone was read from their position, each with that zone. `trailer_hubs_after_water` is the owner's
    choice where documents disagree: look first, which is taken where it is not given, or repack.
    """

    name: str = Field(min_length=1, description="a name")
    depart: Day = Field(description=cell_values.DAY_ACCEPTED)
    return_: Day = Field(alias="return", description=cell_values.DAY_ACCEPTED)
    shakedown_km: Number = Field(ge=0, le=5000, description="0 to 5000 km; 0 = no shakedown drive")
    remote_beyond_km: Number = Field(gt=0, description="km to help beyond which a leg is remote")
    rate_per_hour: Number = Field(
        ge=0, le=10_000_000, description="what an hour of work is worth at home, at most 10000000"
    )
    cost_per_stranded_hour: Number = Field(
        ge=0, le=10_000_000, description="what an hour of standing is worth, at most 10000000"
    )
    holiday_rate_per_hour: Number | None = Field(
        None, ge=0, le=10_000_000, description="what an hour of work on the way is worth, at most 10000000"
    )
    road_daily_minutes: Number | None = Field(None, ge=0, le=1440, description="0 to 1440 minutes")
    road_day_limit_minutes: Number | None = Field(None, ge=0, le=1440, description="0 to 1440 minutes")
    road_long_spell_minutes: Number | None = Field(None, ge=0, le=1440, description="0 to 1440 minutes")
    trailer_hubs_after_water: Annotated[TrailerHubs | None, Lower] = Field(None, description="look or repack")
    currency: str | None = Field(None, max_length=12, description="what prices are in, such as AUD or EUR")
    legs: tuple[Leg, ...] = ()
    crossings: tuple[Crossing, ...] = ()
    stops: tuple[Stop, ...] = ()
    workshop_days: tuple[WorkshopDay, ...] = ()
    earlier_legs: tuple[EarlierLeg, ...] = ()
    workshop_weekdays: tuple[Annotated[Weekday, Lower], ...] | None = None
    workshop_minutes: Number | None = Field(None, ge=60, le=1440, description="60 to 1440 minutes")
    workshop_from_hour: Number | None = Field(None, ge=0, lt=24, description="an hour, 0 to below 24")
    public_holidays: tuple[PublicHoliday, ...] = ()
    finds_free_days: bool = False
    zones_read: tuple[tuple[str, str], ...] = ()
    origin: Origin


def as_day(value: datetime | date) -> date:
    """The calendar day of a date or of a date and time."""
    return value.date() if isinstance(value, datetime) else value
