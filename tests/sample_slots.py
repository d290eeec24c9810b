"""The slots, crossings and re-checks of the invented plan in `sample_plan`."""

from datetime import date, datetime

from msgspec.structs import replace

from tripplan.records.facts_in import Origin
from tripplan.records.plan_work import Immersed, Job, Material, Opened, PlanCrossing, Recheck, Slot, WaterAct
from tripplan.records.words import WaterWindow

FIRST_DAY, SECOND_DAY = "workshop-2026-06-20", "workshop-2026-06-27"
CAMP, TOWN, AFTER = "stop-dry-box", "stop-saltbush", "after-return"
STANDS = "stand on rated stands, never on the jack alone; chock the wheels left down"
DUST = "brake dust: no air line, no dry brush; wipe wet"
HOT = "hot oil burns; let it cool, catch all of it, take it to a depot"
MANUAL = "preload and torque from the vehicle maker's manual"


def job(
    key: str,
    name: str,
    act: str,
    minutes: float,
    place: str,
    state: str,
    *,
    unit: str = "wagon",
    position: str | None = None,
    materials: tuple[Material, ...] = (),
    cautions: tuple[str, ...] = (),
    early_signs: str = "",
    kind: str = "service",
    note: str = "",
) -> Job:
    """One job with a why-line."""
    return Job(
        item=key,
        name=name,
        unit=unit,
        position=position,
        act=act,
        act_note=note,
        minutes=minutes,
        kind=kind,
        materials=materials,
        cautions=cautions,
        early_signs=early_signs,
        why="with reserve it would run out on leg 3, 12 km past Dry Box Station",
        place=place,
        state=state,
        origins=(Origin(file="history.csv", row=7),),
    )


def opened(
    place: str, state: str, minutes: float, words: str, *, unit: str = "wagon", position: str | None = None
) -> Opened:
    """One opening, minutes for both ways."""
    return Opened(unit=unit, place=place, position=position, state=state, minutes=minutes, words=words)


def first_day() -> Slot:
    """Sumps and trailer hubs at home."""
    trailer_hubs = tuple(
        opened("trailer wheel end", "hub off", 35.0, "wheel, drum and hub off", unit="camper", position=side)
        for side in ("left", "right")
    )
    trailer_jobs = tuple(
        job(
            "trailer_wheel_bearings",
            "Trailer wheel bearings",
            "repack",
            40.0,
            "trailer wheel end",
            "hub off",
            unit="camper",
            position=side,
            materials=(
                Material(what="wheel_bearing_grease", name="wheel bearing grease", quantity=90, measure="g"),
                Material(what="hub_seal", name="hub seal", quantity=1, measure="piece"),
            ),
            cautions=(STANDS, DUST, MANUAL),
            early_signs="blue or brown rollers, milky grease, a lip on the seal",
        )
        for side in ("left", "right")
    )
    return Slot(
        id=FIRST_DAY,
        kind="workshop",
        date=date(2026, 6, 20),
        place="home",
        facility="workshop",
        after_leg=0,
        trip_km=0.0,
        minutes_available=300.0,
        minutes_planned=280.0,
        opened=(
            opened("engine sump", "drained", 10.0, "tray off, plug out, sump drained"),
            opened("transfer sump", "drained", 10.0, "guard off, level plug out first, then drained"),
            *trailer_hubs,
        ),
        jobs=(
            job(
                "engine_oil_filter",
                "Engine oil and filter",
                "drain and refill",
                30.0,
                "engine sump",
                "drained",
                materials=(
                    Material(what="engine_oil", name="engine oil", quantity=8, measure="L"),
                    Material(what="oil_filter", name="oil filter", quantity=1, measure="piece"),
                    Material(what="drain_plug_seal", name="drain plug seal", quantity=1, measure="piece"),
                ),
                cautions=(HOT,),
                early_signs="metal in the filter; oil that smells of fuel",
                note="new filter and plug seal",
            ),
            job(
                "transfer_oil",
                "Transfer case oil",
                "drain and refill",
                20.0,
                "transfer sump",
                "drained",
                materials=(Material(what="gear_oil", name="gear oil", quantity=2.5, measure="L"),),
                cautions=(HOT, STANDS),
                early_signs="milky oil means water",
            ),
            *trailer_jobs,
            job(
                "propeller_shaft_joints",
                "Propeller shaft joints and slip yokes",
                "grease",
                20.0,
                "underbody",
                "none",
                materials=(Material(what="chassis_grease", name="chassis grease", quantity=30, measure="g"),),
                cautions=(STANDS,),
                early_signs="rust coloured powder at a cup",
            ),
        ),
    )


def second_day() -> Slot:
    """The front wheel ends at home."""
    front = "front wheel end"
    states = (
        ("wheel off", 10.0, "wheel off, on stands"),
        ("hub off", 35.0, "caliper hung, free hub and hub off"),
    )
    bearings = ("front_wheel_bearings", "Front wheel bearings", "repack", 40.0, front, "hub off")
    grease = (
        Material(what="wheel_bearing_grease", name="wheel bearing grease", quantity=80, measure="g"),
        Material(what="hub_seal", name="hub seal", quantity=1, measure="piece"),
        Material(what="lock_washer", name="lock washer", quantity=1, measure="piece"),
    )
    signs = "pitted or blue rollers, grease like coffee with milk, a scored stub axle"
    return Slot(
        id=SECOND_DAY,
        kind="workshop",
        date=date(2026, 6, 27),
        place="home",
        facility="workshop",
        after_leg=0,
        trip_km=0.0,
        minutes_available=240.0,
        minutes_planned=210.0,
        opened=tuple(
            opened(front, state, minutes, words, position=side)
            for side in ("left", "right")
            for state, minutes, words in states
        ),
        jobs=(
            job(
                "front_brake_pads",
                "Front brake pads",
                "measure",
                10.0,
                front,
                "wheel off",
                position="left",
                cautions=(STANDS, DUST),
                early_signs="one pad thinner than its fellow",
            ),
            job(
                *bearings,
                position="left",
                materials=grease,
                cautions=(STANDS, DUST, MANUAL),
                early_signs=signs,
            ),
            job(
                "swivel_grease",
                "Swivel housings",
                "grease",
                15.0,
                front,
                "hub off",
                position="left",
                materials=(Material(what="swivel_grease", name="swivel grease", quantity=150, measure="g"),),
                cautions=(STANDS,),
                early_signs="oil mixed with the grease",
            ),
            job(
                *bearings,
                position="right",
                materials=grease,
                cautions=(STANDS, DUST, MANUAL),
                early_signs=signs,
            ),
        ),
    )


def road_slots() -> tuple[Slot, ...]:
    """A camp without a clock, a town with one, and the day after the return."""
    clean = job(
        "air_filter",
        "Air cleaner element and box",
        "clean",
        15.0,
        "engine bay",
        "none",
        cautions=("dust: mask on, wipe away from the clean side",),
        materials=(Material(what="damp_cloth", name="damp cloth", quantity=1, measure="piece"),),
        early_signs="a dust trail past the seal",
    )
    camp = Slot(
        id=CAMP,
        kind="stop",
        date=date(2026, 7, 6),
        place="Dry Box Station",
        facility="camp",
        after_leg=2,
        trip_km=730.0,
        minutes_available=90.0,
        minutes_planned=15.0,
        opened=(),
        jobs=(clean,),
        arrive=date(2026, 7, 6),
        leave=date(2026, 7, 7),
    )
    shafts = job(
        "propeller_shaft_joints",
        "Propeller shaft joints and slip yokes",
        "grease",
        20.0,
        "underbody",
        "none",
        materials=(Material(what="chassis_grease", name="chassis grease", quantity=30, measure="g"),),
        cautions=(STANDS,),
    )
    town = Slot(
        id=TOWN,
        kind="stop",
        date=date(2026, 7, 12),
        place="Saltbush Crossing",
        facility="town",
        after_leg=5,
        trip_km=1425.0,
        minutes_available=180.0,
        minutes_planned=35.0,
        opened=(),
        jobs=(clean, shafts),
        zone="Australia/Darwin",
        arrive=datetime(2026, 7, 12, 15, 20),
        leave=datetime(2026, 7, 14, 8, 0),
    )
    after = Slot(
        id=AFTER,
        kind="after",
        date=date(2026, 7, 20),
        place="home",
        facility="workshop",
        after_leg=7,
        trip_km=2260.0,
        minutes_available=None,
        minutes_planned=40.0,
        opened=(),
        jobs=(
            job(
                "fuel_filter",
                "Main fuel filter",
                "renew",
                40.0,
                "engine bay",
                "none",
                materials=(Material(what="fuel_filter", name="fuel filter", quantity=1, measure="piece"),),
                cautions=("fuel burns: no flame, no lamp, catch it",),
            ),
        ),
    )
    return camp, town, after


def crossings() -> tuple[PlanCrossing, ...]:
    """One deep and muddy, one shallow with an unmeasured point."""
    bearing = ("front_wheel_bearings", "Front wheel bearings", "wagon")
    base = WaterAct(
        item="front_brake_pads",
        name="Front brakes",
        unit="wagon",
        position=None,
        act="dry",
        window="at the bank",
        window_kind=WaterWindow.BANK,
        within_days=None,
        within_km=2.0,
        look_for="a pedal that pulls to one side",
        if_found="wash out, dry again",
        slot=None,
        by=None,
        basis="common practice",
        source="none",
        origins=(Origin(file="water_rules.csv", row=4),),
    )
    acts = (
        base,
        replace(
            base,
            item="hub_grease",
            name="Front hubs",
            act="look",
            window="same night",
            window_kind=WaterWindow.NIGHT,
            within_km=None,
            within_days=1.0,
            look_for="milky grease at the cap",
            if_found="clean and repack",
            by=date(2026, 7, 8),
        ),
        replace(
            base,
            item="rear_axle_oil",
            name="Rear axle oil",
            act="look",
            window="within 3 days or 500 km",
            window_kind=WaterWindow.DAYS,
            within_days=3.0,
            within_km=500.0,
            look_for="milk at the level plug",
            if_found="drain and refill",
            slot=TOWN,
            by=date(2026, 7, 12),
        ),
        replace(
            base,
            item="front_wheel_bearings",
            name="Front wheel bearings",
            position="left",
            act="repack",
            window="before the next remote leg",
            window_kind=WaterWindow.BEFORE_REMOTE,
            within_km=None,
            look_for="water marks on the rollers",
            if_found="renew bearing and seal",
            by=date(2026, 7, 11),
        ),
        replace(
            base,
            item="transfer_oil",
            name="Transfer case oil",
            act="look",
            window="later",
            window_kind=WaterWindow.LATER,
            within_km=None,
            look_for="milk at the level plug",
            if_found="drain and refill",
            slot=AFTER,
        ),
    )
    sides = tuple(
        Immersed(
            item=bearing[0],
            name=bearing[1],
            unit=bearing[2],
            position=side,
            point="front hub centre",
            height_m=0.39,
            water_line_m=0.75,
        )
        for side in ("left", "right")
    )
    axle = Immersed(
        item="rear_axle_oil",
        name="Rear axle oil",
        unit="wagon",
        position=None,
        point="rear axle breather",
        height_m=0.7,
        water_line_m=0.75,
    )
    deep = PlanCrossing(
        leg=3,
        at_km=142.0,
        trip_km=872.0,
        depth_m=0.75,
        water="muddy",
        date=date(2026, 7, 8),
        crossed=None,
        immersed=(*sides, axle),
        acts=acts,
        unknown_points=("camper: hub centre",),
        origin=Origin(file="crossings.csv", row=2),
    )
    shallow = PlanCrossing(
        leg=6,
        at_km=60.0,
        trip_km=1485.0,
        depth_m=0.2,
        water="fresh",
        date=date(2026, 7, 14),
        crossed=None,
        immersed=(),
        acts=(),
        unknown_points=(),
        origin=Origin(file="crossings.csv", row=3),
    )
    return deep, shallow


def rechecks() -> tuple[Recheck, ...]:
    """One that falls at a stop, one on the road."""
    shared = {"item": "front_wheel_bearings", "name": "Front wheel bearings", "unit": "wagon", "act": "repack"}
    return (
        Recheck(
            **shared,
            position="left",
            because_of="repack on 27 June",
            follows="repack on 27 June",
            after_slot=SECOND_DAY,
            from_km=50.0,
            to_km=100.0,
            leg=1,
            where="on leg 1, 50 to 100 km after Ironbark",
            slot=None,
            minutes=5.0,
            origins=(Origin(file="items.csv", row=31),),
        ),
        Recheck(
            **shared,
            position="right",
            because_of="repack on 27 June",
            follows="repack on 27 June",
            after_slot=SECOND_DAY,
            from_km=700.0,
            to_km=760.0,
            leg=2,
            where="at Dry Box Station",
            slot=CAMP,
            minutes=5.0,
        ),
    )
