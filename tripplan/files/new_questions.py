"""What a new trip folder is asked, each question once: for the terminal, the page and the options of `new`.

A question names the field of the record that its answer fills, so that the reader of that field judges the answer.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from pydantic import ValidationError

from tripplan.files.refusals import columns_of, wording, words_of
from tripplan.files.zones import zones_like
from tripplan.records.facts_in import HistoryRow, Leg, Origin, Record, Rig, Trip, Unit, WorkshopDay
from tripplan.records.problem_codes import nearest, problem
from tripplan.records.problems import Problem

Answers = Mapping[str, str]
YES, NO = "yes", "no"
SHEETS = {"six-month": "six_month", "twelve-month": "twelve_month", "two-year": "two_year"}
ANSWERED = Origin(file="answers")


@dataclass(frozen=True, slots=True, kw_only=True)
class Question:
    """One question: its key in forms and answers, its words, and which field of which record it fills.

    `usual` is taken where nothing is typed. `only_if` are answers that must stand for it to be asked: one of
    the words, or anything at all where there are none.
    `is_prompted` is false where it is left to the file, whose remarks tell of it.
    """

    key: str
    asks: str
    record: type[Record]
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

    @property
    def choices(self) -> tuple[str, ...]:
        """The words that may be answered; none where it is free."""
        return self.words or words_of(columns_of(self.record)[self.field].annotation)

    def stands(self, said: Answers) -> bool:
        """True where the answers before it make it worth asking."""
        return all(said.get(key) in answers if answers else bool(said.get(key)) for key, answers in self.only_if)


TRAILER = (("trailer", (YES,)),)
WAY, SERVED, FREE_DAYS = (("way.from", ()),), (("service.date", ()),), (("shed.days", ()),)
WITH_HUBS = (("drive", ("part-time",)),)
FREE_HUBS = (*WITH_HUBS, ("hubs", ("free-wheeling",)))


def _way(key: str, asks: str, field: str, **more: Any) -> Question:
    return Question(key=f"way.{key}", asks=asks, record=Leg, field=field, **more)


QUESTIONS: tuple[Question, ...] = (
    Question(key="rig_name", asks="What do you call the rig", record=Rig, field="name", is_needed=True),
    Question(key="home_zone", asks="Time zone at home", hint="a place such as Australia/Darwin, or a town", record=Rig,
             field="home_zone", is_needed=True),
    Question(key="country", asks="Country", hint="two letters, for public holidays", record=Rig, field="country",
             is_prompted=False),
    Question(key="region", asks="Region of the country", record=Rig, field="region", is_prompted=False),
    Question(key="id", asks="A short word for the vehicle", hint="history.csv calls it so", record=Unit, field="id",
             usual="wagon", is_needed=True),
    Question(key="drive", asks="How is it driven", record=Unit, field="drive", is_needed=True),
    Question(key="hubs", asks="Front hubs", record=Unit, field="hubs", only_if=WITH_HUBS, is_needed=True),
    Question(key="front_axle", asks="Front axle", hint="a closed or an open steering knuckle on a live axle, or "
             "independent", record=Unit, field="front_axle", is_needed=True),
    Question(key="fuel", asks="Fuel", hint="diesel, petrol, lpg or another word", record=Unit, field="fuel",
             is_needed=True),
    Question(key="gearbox", asks="Gearbox", record=Unit, field="gearbox", is_needed=True),
    Question(key="fitted", asks="What is fitted", hint="words parted by commas", record=Unit, field="fitted", is_list=True),
    Question(key="tyre_diameter_mm", asks="Tyre diameter, mm", hint="from the ground to the top", record=Unit,
             field="tyre_diameter_mm", is_prompted=False),
    Question(key="odometer_factor", asks="True km for each km shown", record=Unit, field="odometer_factor",
             is_prompted=False),
    Question(key="usual_km_per_week", asks="Km in a usual week", record=Unit, field="usual_km_per_week", is_needed=True),
    Question(key="odometer_km", asks="The odometer today, km", hint="left empty, it stays unknown", record=HistoryRow,
             field="odometer_km"),
    Question(key="service.date", asks="The last full service, its day", hint="left empty, all work counts as not recorded",
             record=HistoryRow, field="date"),
    Question(key="service.sheet", asks="Which service was it", record=HistoryRow, field="item", words=tuple(SHEETS),
             only_if=SERVED, is_needed=True),
    Question(key="service.odometer_km", asks="The odometer then, km", hint="left empty, it stays unknown",
             record=HistoryRow, field="odometer_km", only_if=SERVED),
    Question(key="trailer", asks="Is there a trailer", record=Leg, field="towing", words=(YES, NO), usual=NO),
    Question(key="trailer_id", asks="A short word for the trailer", record=Unit, field="id", usual="trailer",
             only_if=TRAILER, is_needed=True),
    Question(key="trailer_km_per_week", asks="Km in a usual week behind the vehicle", record=Unit,
             field="usual_km_per_week", only_if=TRAILER, usual="0"),
    Question(key="trailer_fitted", asks="What is fitted to the trailer", hint="words parted by commas", record=Unit,
             field="fitted", only_if=TRAILER, is_list=True),
    Question(key="trip.name", asks="What do you call the trip", record=Trip, field="name", is_needed=True),
    Question(key="trip.depart", asks="The day you leave", record=Trip, field="depart", is_needed=True),
    Question(key="trip.return", asks="The day you are home again", record=Trip, field="return", is_needed=True),
    Question(key="trip.shakedown_km", asks="A drive to try it out before you leave, km", record=Trip,
             field="shakedown_km", usual="0", is_prompted=False),
    Question(key="trip.remote_beyond_km", asks="Remote is where help is further off than, km", record=Trip,
             field="remote_beyond_km", usual="150", is_prompted=False),
    Question(key="trip.rate_per_hour", asks="What an hour of your work is worth", record=Trip, field="rate_per_hour",
             usual="60", is_prompted=False),
    Question(key="trip.cost_per_stranded_hour", asks="What an hour of standing still is worth", record=Trip,
             field="cost_per_stranded_hour", usual="90", is_prompted=False),
    _way("from", "Where does the trip start", "from"),
    _way("to", "Where to, the furthest place", "to", only_if=WAY, is_needed=True),
    _way("distance_km", "Km there, one way", "distance_km", only_if=WAY, is_needed=True),
    _way("speed_kmh", "Km an hour while moving", "speed_kmh", only_if=WAY, usual="70"),
    _way("surface", "What most of it is like", "surface", only_if=WAY, usual="gravel"),
    _way("corrugation", "Washboard on it", "corrugation", only_if=WAY, usual="light"),
    _way("dust", "Dust", "dust", only_if=WAY, usual="light"),
    _way("heat_c", "The hottest part of a day, deg C", "heat_c", only_if=WAY, usual="30"),
    _way("towing", "Towing the trailer", "towing", words=(YES, NO), usual=YES,
         only_if=(*TRAILER, *WAY)),
    _way("hubs", "Hubs locked on it", "hubs", hint="locked, free, or the share of the way from 0 to 1", usual="free",
         only_if=(*FREE_HUBS, *WAY)),
    _way("remote", "Is help further off than that anywhere", "remote", words=(YES, NO), usual=NO,
         only_if=WAY),
    Question(key="shed.days", asks="Days free for the shed before you leave", hint="dates parted by commas; empty = none",
             record=WorkshopDay, field="date", is_list=True),
    Question(key="shed.minutes", asks="Minutes of work on each", record=WorkshopDay, field="minutes", usual="240",
             only_if=FREE_DAYS),
)  # fmt: skip


def usual_answers() -> dict[str, str]:
    """What a form begins with."""
    return {one.key: one.usual for one in QUESTIONS if one.usual}


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


def refusals_of(answers: Answers) -> tuple[Problem, ...]:
    """Every answer that is missing or cannot be used, one Problem each, named by its key."""
    said = completed(answers)
    found = (answer_refused(one, said.get(one.key, "")) for one in QUESTIONS if one.stands(said))
    return tuple(entry for entry in found if entry)


def answer_refused(question: Question, text: str) -> Problem | None:
    """Why this answer cannot be used; None where it can."""
    if not text.strip():
        return _missing(question) if question.is_needed else None
    if question.words and text not in question.words:
        return _refused(question, text, nearest(text, question.words))
    if question.key == "home_zone":
        return _zone_refusal(question, text)
    if question.words:
        return None
    parts = parted(text) if question.is_list else (text,)
    return next((found for part in parts if (found := _refused_by_record(question, part))), None)


def parted(text: str) -> tuple[str, ...]:
    """The words of a list, parted by commas or semicolons."""
    return tuple(word.strip() for word in text.replace(";", ",").split(",") if word.strip())


def zone_of(text: str) -> str:
    """The zone that a text names for certain; else the text as it is, to be refused."""
    found = zones_like(text)
    return found[0] if len(found) == 1 else text


def _zone_refusal(question: Question, text: str) -> Problem | None:
    found = zones_like(text)
    if found == (text,):
        return None
    hint = f"is {found[0]} meant?" if len(found) == 1 else ""
    accepted = nearest(text, found, 4) if found else "a zone named after a large town, such as Australia/Darwin"
    return _refused(question, text, accepted, hint)


def _refused_by_record(question: Question, text: str) -> Problem | None:
    value: Any = [text] if question.field == "fitted" else text
    try:
        question.record.model_validate({question.field: value, "origin": ANSWERED})
    except ValidationError as error:
        told = wording(error, question.record, "R", ANSWERED, {question.field: value}, {}, question.field)
        found = next(told, None)
        return found and _refused(question, text, found.accepted, found.hint)
    return None


def _missing(question: Question) -> Problem:
    accepted = nearest("", question.choices) or question.hint or "an answer"
    return problem("A51", ANSWERED, question.key, "nothing", accepted, f"{question.asks}?")


def _refused(question: Question, found: str, accepted: str, hint: str = "") -> Problem:
    return problem("A52", ANSWERED, question.key, found, accepted, hint)
