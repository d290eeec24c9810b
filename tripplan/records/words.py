"""Every word that is a kind, each once: findings, acts, facilities, verdicts, slots and jobs.

The members are the words of the files and of `plan.json`, so that a member equals its word.
Which act puts which finding right is no matter of words: it stands in `acts.csv`.
"""

from enum import StrEnum


class Finding(StrEnum):
    """What was seen when it was opened."""

    AS_NEW = "as new"
    SERVICEABLE = "serviceable"
    WORN = "worn"
    FAILED = "failed"
    WATER = "water"
    CONTAMINATED = "contaminated"


GOOD_FINDINGS = frozenset({Finding.AS_NEW, Finding.SERVICEABLE})
WORN_FINDINGS = frozenset({Finding.WORN, Finding.FAILED})
ENTERED_FINDINGS = frozenset({Finding.WATER, Finding.CONTAMINATED})
BAD_FINDINGS = WORN_FINDINGS | ENTERED_FINDINGS


class Act(StrEnum):
    """What is done to an item; the rows of `acts.csv`, where an owner may add more."""

    ADJUST = "adjust"
    CLEAN = "clean"
    DRAIN_AND_REFILL = "drain and refill"
    EXERCISE = "exercise"
    GREASE = "grease"
    LOOK = "look"
    MEASURE = "measure"
    RENEW = "renew"
    REPACK = "repack"
    TORQUE = "torque"


LOOKS = (Act.LOOK, Act.MEASURE)
"""Acts that renew nothing: what is there is seen."""


class Line(StrEnum):
    """What a line of the history may say in place of one item's act."""

    READING = "reading"
    ODOMETER_REPLACED = "odometer replaced"
    SERVICE = "service"


WITHOUT_ITEM = (Line.READING, Line.ODOMETER_REPLACED)


SYSTEM_ORDER = (
    "brakes", "steering", "tyres", "front_hubs", "front_axle", "rear_axle", "trailer", "suspension", "driveline",
    "engine", "cooling", "fuel", "electrical", "body", "recovery", "safety",
)  # fmt: skip
"""The order of every list that a person reads: brakes, steering and wheels first."""


class Facility(StrEnum):
    """What a place offers, the least first."""

    CAMP = "camp"
    TOWN = "town"
    WORKSHOP = "workshop"


FACILITY_RANK: dict[str, int] = {facility: rank for rank, facility in enumerate(Facility, 1)}
WITH_SHOPS = (Facility.TOWN, Facility.WORKSHOP)


class Verdict(StrEnum):
    """How an item stands before anything is placed."""

    NO_RECORD = "no record"
    DUE = "due before departure"
    ON_THE_WAY = "runs out on the way"
    LASTS = "lasts the trip"


class SlotKind(StrEnum):
    """An opportunity to work: at home before, on the way, or after the return."""

    WORKSHOP = "workshop"
    STOP = "stop"
    AFTER = "after"


class JobKind(StrEnum):
    """Why a job stands in a slot."""

    RENEWAL = "service"
    AFTER_WATER = "after water"
    RECHECK = "re-check"
    WALK_ROUND = "walk-round"


class LeftOutAs(StrEnum):
    """Why an owner leaves an item out of the plan."""

    NOT_ON_RIG = "not on my rig"
    NEVER = "never"
    ELSEWHERE = "done elsewhere"


class WaterWindow(StrEnum):
    """By when work after water is to be done, the most pressing first."""

    BANK = "bank"
    HALT = "halt"
    NIGHT = "night"
    DAYS = "days"
    BEFORE_REMOTE = "before remote"
    LATER = "later"


class ChangeKind(StrEnum):
    """What differs between two plans; of the jobs, the first to be told first."""

    WATER_JOB = "job for water added"
    PARTS = "job without its parts"
    JOB = "job added"
    WALK_ROUND = "walk-round check"
    DROPPED = "job dropped"
    DONE = "job done"
    TRIP = "trip"
    CROSSING = "crossing"
    ITEM = "item"
    PLACED = "work on an item"
    WORK = "work at a place"


class WarningKind(StrEnum):
    """What a warning of the plan is about."""

    TRIP_OVER = "trip is over"
    FOUND_BAD = "found bad"
    NO_PLACE = "no place in time"
    UNSEEN = "no record and no look"
    GRADED = "graded row used"
    WATER_UNPLACED = "water work without a place"
    HEIGHT_UNKNOWN = "height unknown"
    PARTS_LATE = "parts late"
