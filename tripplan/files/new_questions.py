"""What a new trip folder is asked, each question once: for the terminal, the page and the options of `new`.

A question names the field of the record that its answer fills, so that the reader of that field judges the answer
(`new_folder`). Nothing heavy is imported here: the options of the command line are made of it.
"""

from collections.abc import Mapping
from typing import Any

from msgspec import Struct

Answers = Mapping[str, str]
YES, NO = YES_OR_NO = "yes", "no"
SHEETS = {"six-month": "six_month", "twelve-month": "twelve_month", "two-year": "two_year"}


class Question(Struct, frozen=True, kw_only=True):
    """One question: its key in forms and answers, its words, and which field of which record it fills.

    `usual` is taken where nothing is typed. `only_if` are answers that must stand for it to be asked: one of
    the words, or anything at all where there are none.
    `is_prompted` is false where it is left to the file, whose remarks tell of it.
    """

    key: str
    asks: str
    record: str
    field: str
    hint: str = ""
    words: tuple[str, ...] = ()
    usual: str = ""
    only_if: tuple[tuple[str, tuple[str, ...]], ...] = ()
    is_needed: bool = False
    is_prompted: bool = True
    is_list: bool = False

    @property
    def option(self) -> str:
        """The option of the command line that answers it."""
        return "--" + self.key.replace(".", "-").replace("_", "-")

    def stands(self, said: Answers) -> bool:
        """True where the answers before it make it worth asking."""
        return all(said.get(key) in answers if answers else bool(said.get(key)) for key, answers in self.only_if)


TRAILER_SHEETS = ("six-month", "twelve-month")
TRAILER_SERVED = (("trailer_service.date", ()),)
FITTED = (
    "leaf-springs", "coil-springs", "tow-bar", "winch", "snorkel", "turbo", "roof-rack", "long-range-tank", "locker",
    "timing-belt", "lpg", "serviceable-hubs", "wheel-speed-sensors",
)  # fmt: skip
TRAILER_FITTED = ("electric-brakes", "lpg", "trailer-dampers")
TRAILER = (("trailer", (YES,)),)
WAY, SERVED, FREE_DAYS = (("way.from", ()),), (("service.date", ()),), (("shed.days", ()),)
WITH_HUBS = (("drive", ("part-time",)),)
FREE_HUBS = (*WITH_HUBS, ("hubs", ("free-wheeling",)))


def _way(key: str, asks: str, field: str, **more: Any) -> Question:
    return Question(key=f"way.{key}", asks=asks, record="Leg", field=field, **more)


QUESTIONS: tuple[Question, ...] = (
    Question(key="rig_name", asks="What do you call the rig", record="Rig", field="name", is_needed=True),
    Question(key="home_zone", asks="Time zone at home", hint="a place such as Australia/Darwin, or a town", record="Rig",
             field="home_zone", is_needed=True),
    Question(key="country", asks="Country", hint="two letters, for public holidays", record="Rig", field="country",
             is_prompted=False),
    Question(key="region", asks="Region of the country", record="Rig", field="region", is_prompted=False),
    Question(key="id", asks="A short word for the vehicle", hint="history.csv calls it so", record="Unit", field="id",
             usual="wagon", is_needed=True),
    Question(key="drive", asks="How is it driven", record="Unit", field="drive",
             words=("part-time", "full-time", "rear", "front"), is_needed=True),
    Question(key="hubs", asks="Front hubs", record="Unit", field="hubs", words=("free-wheeling", "fixed"),
             only_if=WITH_HUBS, is_needed=True),
    Question(key="front_axle", asks="Front axle", hint="live with a ball that is closed or a knuckle that is open; or "
             "independent", record="Unit", field="front_axle",
             words=("closed-knuckle", "open-knuckle", "independent"), is_needed=True),
    Question(key="fuel", asks="Fuel", hint="diesel, petrol, lpg or another word", record="Unit", field="fuel",
             is_needed=True),
    Question(key="gearbox", asks="Gearbox", record="Unit", field="gearbox", words=("manual", "automatic"),
             is_needed=True),
    Question(key="fitted", asks="What is fitted", hint=f"any of {', '.join(FITTED)}, parted by commas", record="Unit",
             field="fitted", is_list=True),
    Question(key="tyre_diameter_mm", asks="Tyre diameter, mm", hint="from the ground to the top", record="Unit",
             field="tyre_diameter_mm", is_prompted=False),
    Question(key="odometer_factor", asks="True km for each km shown", record="Unit", field="odometer_factor",
             is_prompted=False),
    Question(key="usual_km_per_week", asks="Km in a usual week", record="Unit", field="usual_km_per_week", is_needed=True),
    Question(key="odometer_km", asks="The odometer today, km", hint="left empty, it stays unknown", record="HistoryRow",
             field="odometer_km"),
    Question(key="service.date", asks="The last full service, its day", hint="left empty, all work counts as not recorded",
             record="HistoryRow", field="date"),
    Question(key="service.sheet", asks="Which service was it", record="HistoryRow", field="item", words=tuple(SHEETS),
             only_if=SERVED, is_needed=True),
    Question(key="service.odometer_km", asks="The odometer then, km", hint="left empty, it stays unknown",
             record="HistoryRow", field="odometer_km", only_if=SERVED),
    Question(key="trailer", asks="Is there a trailer", record="Leg", field="towing", words=YES_OR_NO, usual=NO),
    Question(key="trailer_id", asks="A short word for the trailer", record="Unit", field="id", usual="trailer",
             only_if=TRAILER, is_needed=True),
    Question(key="trailer_km_per_week", asks="Km in a usual week behind the vehicle", record="Unit",
             field="usual_km_per_week", only_if=TRAILER, usual="0"),
    Question(key="trailer_fitted", asks="What is fitted to the trailer", record="Unit", field="fitted",
             hint=f"any of {', '.join(TRAILER_FITTED)}, parted by commas", only_if=TRAILER, is_list=True),
    Question(key="trailer_service.date", asks="The trailer's last full service, its day", record="HistoryRow", field="date",
             hint="left empty, all work counts as not recorded", only_if=TRAILER),
    Question(key="trailer_service.sheet", asks="Which service was it", record="HistoryRow", field="item",
             words=TRAILER_SHEETS, only_if=(*TRAILER, *TRAILER_SERVED), is_needed=True),
    Question(key="trip.name", asks="What do you call the trip", record="Trip", field="name", is_needed=True),
    Question(key="trip.depart", asks="The day you leave", record="Trip", field="depart", is_needed=True),
    Question(key="trip.return", asks="The day you are home again", record="Trip", field="return", is_needed=True),
    Question(key="trip.shakedown_km", asks="A drive to try it out before you leave, km", record="Trip",
             field="shakedown_km", usual="0", is_prompted=False),
    Question(key="trip.remote_beyond_km", asks="Remote is where help is further off than, km", record="Trip",
             field="remote_beyond_km", usual="150", is_prompted=False),
    Question(key="trip.rate_per_hour", asks="What an hour of your work is worth", record="Trip", field="rate_per_hour",
             usual="60", is_prompted=False),
    Question(key="trip.cost_per_stranded_hour", asks="What an hour of standing still is worth", record="Trip",
             field="cost_per_stranded_hour", usual="90", is_prompted=False),
    _way("from", "Where does the trip start", "from", hint="left empty, the way is left to legs.csv"),
    _way("to", "Where to, the furthest place", "to", only_if=WAY, is_needed=True),
    _way("distance_km", "Km there, one way", "distance_km", only_if=WAY, is_needed=True),
    _way("speed_kmh", "Km an hour while moving", "speed_kmh", only_if=WAY, usual="70"),
    _way("surface", "What most of it is like", "surface", words=("sealed", "gravel", "track", "sand", "rock"),
         only_if=WAY, usual="gravel"),
    _way("corrugation", "Washboard on it", "corrugation", words=("none", "light", "moderate", "severe"), only_if=WAY,
         usual="light"),
    _way("dust", "Dust", "dust", words=("none", "light", "heavy", "bulldust"), only_if=WAY, usual="light"),
    _way("heat_c", "The hottest part of a day, deg C", "heat_c", only_if=WAY, usual="30"),
    _way("towing", "Towing the trailer", "towing", words=YES_OR_NO, usual=YES, only_if=(*TRAILER, *WAY)),
    _way("hubs", "Hubs locked on it", "hubs", hint="locked, free, or the share of the way from 0 to 1", usual="free",
         only_if=(*FREE_HUBS, *WAY)),
    _way("remote", "Is help more than 150 km off anywhere on it", "remote", words=YES_OR_NO, usual=NO, only_if=WAY),
    Question(key="shed.days", asks="Days free for the shed before you leave", hint="dates parted by commas; empty = none",
             record="WorkshopDay", field="date", is_list=True),
    Question(key="shed.minutes", asks="Minutes of work on each", record="WorkshopDay", field="minutes", usual="240",
             only_if=FREE_DAYS),
)  # fmt: skip


def completed(answers: Answers) -> dict[str, str]:
    """The answers without blanks, and the usual ones for what was asked and left empty.

    What was not to be asked after all, such as the hubs of a rig driven full-time, goes out.
    """
    said = {key: text.strip() for key, text in answers.items() if text.strip()}
    for one in QUESTIONS:
        if not one.stands(said):
            said.pop(one.key, None)
        elif one.usual:
            said.setdefault(one.key, one.usual)
    return said


def parted(text: str) -> tuple[str, ...]:
    """The words of a list, parted by commas or semicolons."""
    return tuple(word.strip() for word in text.replace(";", ",").split(",") if word.strip())
