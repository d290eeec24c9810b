"""An invented plan, written by hand, for the tests of everything that goes out.

No rig, person, place or date here is real. The figures only have to hang together.
"""

from datetime import date

from msgspec.structs import replace

from tests.sample_slots import (
    AFTER,
    CAMP,
    FIRST_DAY,
    SECOND_DAY,
    TOWN,
    crossings,
    first_day,
    rechecks,
    road_slots,
    second_day,
)
from tripplan.records.facts_in import Origin
from tripplan.records.plan import (
    DUE,
    LASTS,
    NO_RECORD,
    ON_THE_WAY,
    Factor,
    Limit,
    Need,
    OrderPart,
    Plan,
    PlanItem,
    PlanLeg,
    PlanWarning,
    Reason,
    RunsOut,
    Total,
    Totals,
    Use,
    Wear,
)
from tripplan.records.problems import LOOK, Problem

DEPART = date(2026, 7, 4)
RETURN = date(2026, 7, 19)

LEG_ROWS = (
    ("Ironbark", "Two Wells", date(2026, 7, 4), 420.0, False, "sealed", "none", "none"),
    ("Two Wells", "Dry Box Station", date(2026, 7, 5), 310.0, False, "gravel", "moderate", "light"),
    ("Dry Box Station", "Blind Gully", date(2026, 7, 7), 265.0, True, "track", "severe", "heavy"),
    ("Blind Gully", "Red Pan", date(2026, 7, 9), 190.0, True, "sand", "light", "bulldust"),
    ("Red Pan", "Saltbush Crossing", date(2026, 7, 11), 240.0, True, "track", "severe", "heavy"),
    ("Saltbush Crossing", "Käferbach Bore", date(2026, 7, 14), 330.0, False, "gravel", "moderate", "light"),
    ("Käferbach Bore", "Ironbark", date(2026, 7, 18), 505.0, False, "sealed", "none", "none"),
)


def legs(driven: int = 0) -> tuple[PlanLeg, ...]:
    """The seven legs; the first `driven` of them already driven."""
    made, start = [], 0.0
    for number, (here, there, day, km, remote, surface, corrugation, dust) in enumerate(LEG_ROWS, 1):
        made.append(
            PlanLeg(
                number=number,
                from_=here,
                to=there,
                date=day,
                distance_km=km,
                trip_km_start=start,
                remote=remote,
                driven=number <= driven,
                surface=surface,
                corrugation=corrugation,
                dust=dust,
            )
        )
        start += km
    return tuple(made)


def out_at(trip_km: float, meter: str = "km") -> RunsOut:
    """The point of the trip at that many km, as a RunsOut."""
    leg = max((leg for leg in legs() if leg.trip_km_start <= trip_km), key=lambda leg: leg.number)
    return RunsOut(leg=leg.number, leg_km=trip_km - leg.trip_km_start, trip_km=trip_km, date=leg.date, meter=meter)


def wear(meter: str, multiplier: float) -> tuple[Wear, ...]:
    """Wear on every leg at one multiplier made of two factors."""
    row = Origin(file="multipliers.csv", row=12)
    dust = Factor(
        condition="dust",
        mechanism="grit",
        grade="heavy",
        multiplier=multiplier,
        low=1.0,
        high=multiplier * 1.5,
        basis="judgement",
        source="multipliers.csv dust heavy",
        origin=row,
    )
    load = replace(
        dust, condition="load", mechanism="load", grade="normal", multiplier=1.0, low=1.0, high=1.0, shared=False
    )
    return tuple(
        Wear(
            leg=leg.number,
            meter=meter,
            use=leg.distance_km,
            multiplier=multiplier,
            low=1.0,
            high=multiplier * 1.5,
            reserve=leg.distance_km * multiplier * 1.5,
            water_use=0.0,
            parts=(dust, load),
        )
        for leg in legs()
    )


def item(
    key: str,
    name: str,
    act: str,
    verdict: str,
    *,
    unit: str = "wagon",
    position: str | None = None,
    interval: float = 20_000.0,
    used: float | None = 12_000.0,
    typical: float | None = None,
    reserve: float | None = None,
    placed: tuple[str, ...] = (),
    share: float | None = 0.5,
    meter: str = "km",
    harms: bool = False,
    rhythm: str = "service",
) -> PlanItem:
    """One item with a single limit and even wear."""
    row = Origin(file="history.csv", row=7)
    limit = Limit(
        meter=meter,
        interval=interval,
        used=used,
        left=None if used is None else interval - used,
        at_departure=used,
        at_departure_reserve=used,
        unit_of_measure=meter,
        origins=(row,),
    )
    reasons = (
        Reason(text=f"{name}: {act} is {verdict}.", origins=(row, Origin(file="items.csv", row=31))),
        Reason(text="Dust doubles the wear on two legs.", origins=(Origin(file="legs.csv"),)),
    )
    return PlanItem(
        item=key,
        name=name,
        unit=unit,
        position=position,
        act=act,
        verdict=verdict,
        limits=(limit,),
        wear=wear(meter, 2.0),
        runs_out=None if typical is None else out_at(typical, meter),
        runs_out_reserve=None if reserve is None else out_at(reserve, meter),
        placed=placed,
        reasons=reasons,
        rhythm=rhythm,
        harms=harms,
        strands=1.0,
        share_used_at_departure=None if used is None else used / interval,
        share_used_at_return=share,
        last_done=None if used is None else date(2025, 3, 2),
        last_done_origin=None if used is None else row,
    )


def items() -> tuple[PlanItem, ...]:
    """Eighteen items at their positions, every verdict among them."""
    bearings = ("front_wheel_bearings", "Front wheel bearings", "repack")
    trailer = ("trailer_wheel_bearings", "Trailer wheel bearings", "repack")
    shafts = ("propeller_shaft_joints", "Propeller shaft joints and slip yokes", "grease")
    return (
        item(
            *bearings,
            ON_THE_WAY,
            position="left",
            typical=1105.0,
            reserve=742.0,
            placed=(SECOND_DAY,),
            share=1.3,
            harms=True,
        ),
        item(
            *bearings,
            ON_THE_WAY,
            position="right",
            typical=1105.0,
            reserve=742.0,
            placed=(SECOND_DAY,),
            share=1.3,
            harms=True,
        ),
        item(
            "swivel_grease",
            "Swivel housings",
            "grease",
            DUE,
            position="left",
            placed=(SECOND_DAY,),
            share=2.1,
        ),
        item(
            "front_brake_pads",
            "Front brake pads",
            "measure",
            ON_THE_WAY,
            position="left",
            typical=1980.0,
            reserve=1460.0,
            placed=(SECOND_DAY,),
            share=1.1,
            harms=True,
        ),
        item(
            "engine_oil_filter",
            "Engine oil and filter",
            "drain and refill",
            ON_THE_WAY,
            typical=1640.0,
            reserve=1250.0,
            placed=(FIRST_DAY,),
            share=1.2,
        ),
        item(
            "air_filter",
            "Air cleaner element and box",
            "clean",
            ON_THE_WAY,
            typical=905.0,
            reserve=610.0,
            placed=(CAMP, TOWN),
            share=3.4,
        ),
        item(*shafts, ON_THE_WAY, typical=1390.0, reserve=1010.0, placed=(FIRST_DAY, TOWN), share=1.7),
        item(
            "transfer_oil",
            "Transfer case oil",
            "drain and refill",
            NO_RECORD,
            used=None,
            placed=(FIRST_DAY,),
            share=None,
        ),
        item(
            "fuel_filter",
            "Main fuel filter",
            "renew",
            ON_THE_WAY,
            reserve=2105.0,
            placed=(AFTER,),
            share=0.97,
        ),
        item(
            *trailer,
            ON_THE_WAY,
            unit="camper",
            position="left",
            typical=1500.0,
            reserve=990.0,
            placed=(FIRST_DAY,),
            share=1.4,
            meter="towing_km",
            harms=True,
        ),
        item(
            *trailer,
            ON_THE_WAY,
            unit="camper",
            position="right",
            typical=1500.0,
            reserve=990.0,
            placed=(FIRST_DAY,),
            share=1.4,
            meter="towing_km",
            harms=True,
        ),
        item(
            "spring_bushes",
            "Rear spring bushes",
            "look",
            ON_THE_WAY,
            typical=2230.0,
            reserve=1700.0,
            share=1.02,
        ),
        item("coolant", "Coolant", "drain and refill", LASTS, interval=80_000.0, share=0.41),
        item("rear_axle_oil", "Rear axle oil", "drain and refill", LASTS, interval=40_000.0, share=0.88),
        item("gearbox_oil", "Gearbox oil", "drain and refill", LASTS, interval=40_000.0, share=0.62),
        item(
            "battery",
            "Battery and terminals",
            "look",
            LASTS,
            meter="months",
            interval=12.0,
            used=5.0,
            share=0.45,
        ),
        item("coupling", "Trailer coupling", "grease", LASTS, unit="camper", meter="towing_km", share=0.33),
        item("wheel_nuts", "Wheel nuts", "torque", DUE, rhythm="walk-round", share=None, harms=True),
    )


def shopping() -> tuple[Need, ...]:
    """What to buy before departure and on the way."""
    oil = Need(
        what="engine_oil",
        name="Engine oil",
        kind="oil",
        quantity=8.0,
        unit_of_measure="L",
        uses=(Use(act="renew", name="Engine oil and filter", unit="wagon"),),
        when="before",
        needed_by=date(2026, 6, 20),
        order_by=date(2026, 6, 18),
        basis="common practice",
    )
    return (
        oil,
        replace(
            oil,
            what="hub_seal",
            name="Hub seal",
            kind="seal",
            quantity=4.0,
            unit_of_measure="pieces",
            uses=(
                Use(act="renew", name="Front wheel bearings", unit="wagon"),
                Use(act="renew", name="Trailer wheel bearings", unit="wagon"),
            ),
            order_by=date(2026, 6, 12),
        ),
        replace(
            oil,
            what="fuel",
            name="=cmd|' /C calc'!A0",
            kind="sundry",
            quantity=1.0,
            unit_of_measure="@piece",
            uses=(Use(act="renew", name="-1+1", unit="wagon"),),
            when="stop",
            needed_by=None,
            order_by=None,
        ),
    )


def carry() -> tuple[Need, ...]:
    """What travels along."""
    return (
        Need(
            what="wheel_bearing_grease",
            name="Wheel bearing grease",
            kind="grease",
            quantity=250.0,
            unit_of_measure="g",
            uses=(Use(act="renew", name="Front wheel bearings", unit="wagon"),),
            when="carry",
            basis="judgement",
        ),
        Need(
            what="hub_seal",
            name="Hub seal",
            kind="seal",
            quantity=2.0,
            unit_of_measure="pieces",
            uses=(Use(act="renew", name="Front wheel bearings", unit="wagon"),),
            when="carry",
            order_by=date(2026, 6, 24),
        ),
    )


def sample_plan() -> Plan:
    """The whole invented plan, as it would stand on 6 June 2026."""
    look = Problem(
        code="G07",
        weight=LOOK,
        file="legs.csv",
        row=5,
        column="dust",
        found="bulldust for 190 km",
        accepted="a leg of one kind; split it where the dust changes",
        hint="leg 4, Blind Gully to Red Pan",
    )
    return Plan(
        rig="Grey wagon, and camper",
        trip="Long way round; Käferbach, and back",
        today=date(2026, 6, 6),
        depart=DEPART,
        return_=RETURN,
        home_zone="Australia/Adelaide",
        units=("wagon", "camper"),
        edition="2026-05-01 3fa9c1d2",
        legs=legs(),
        items=items(),
        slots=(first_day(), second_day(), *road_slots()),
        crossings=crossings(),
        rechecks=rechecks(),
        walkround_minutes=20.0,
        walkround=(
            "wheel nuts: look at the marks, torque at 50 km after any wheel was off",
            "tyres: cuts, stones between the treads, pressure while cold",
            "oil, coolant and belts by eye",
            "trailer: coupling, chains, plug, hub caps by the back of the hand",
        ),
        shopping=shopping(),
        carry=carry(),
        orders=(
            OrderPart(slot=FIRST_DAY, order_by=date(2026, 6, 12), what=("4 hub seals", "8 L engine oil")),
            OrderPart(slot=SECOND_DAY, order_by=date(2026, 6, 24), what=("2 lock washers",)),
        ),
        warnings=(
            PlanWarning(
                kind="no place in time",
                text="Rear spring bushes run out on leg 7 and no slot before that can take the work.",
            ),
            PlanWarning(
                kind="no place in time", text="Transfer case oil has no record; it is treated as due before departure."
            ),
        ),
        ways_out=("Rear spring bushes (wagon): a stop at Käferbach Bore with a camp and 25 minutes.",),
        problems=(look,),
        assumptions=(
            "Grease gun strokes are counted as 1 g each (judgement).",
            "Outside the legs the wagon is driven 180 km a week (rig.toml).",
        ),
        totals=Totals(
            plan=Total(minutes=580.0, cost=612.5),
            greedy=Total(minutes=615.0, cost=655.0),
            each_alone=Total(minutes=905.0, cost=940.25),
            all_before=Total(minutes=640.0, cost=701.0),
            method="exact",
            gap=0.004,
        ),
        product_rule="Separate mechanisms add their excess over 1; 1 = normal, 2 halves the interval.",
    )


def many_items(count: int) -> Plan:
    """The sample with `count` items: a third run out on the way, the rest last well."""
    base = items()
    made = tuple(
        replace(base[5] if n % 3 == 0 else base[12], item=f"item_{n}", name=f"Invented item number {n}", placed=())
        for n in range(count)
    )
    return replace(sample_plan(), items=made)
