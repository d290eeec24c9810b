"""The independent checker: sound plans pass, and each rule broken on purpose is named."""

import ast
import math
from collections.abc import Callable
from copy import deepcopy
from datetime import date
from functools import cache
from pathlib import Path
from typing import Any

import pytest

import tripplan.verify
from tests.support import TODAY, good_folder
from tripplan.files.folder import Inputs, load
from tripplan.files.plan_folder import plan_of
from tripplan.records.catalogue import Catalogue
from tripplan.sheets.plan_json import plan_dict
from tripplan.verify.whole import verify

DEMO = Path(__file__).parents[2] / "demo"
SEEN_ON = {
    "outback": date(2026, 5, 25), "long-tour": date(2026, 3, 2), "after-crossing": date(2026, 8, 17),
}  # fmt: skip
Json = dict[str, Any]
Case = tuple[Json, Inputs, Catalogue]


@cache
def planned(folder: Path, today: date) -> Case:
    """The plan of a folder as parsed JSON, with what it was made from."""
    inputs, catalogue, problems = load(folder, today)
    assert inputs is not None
    return plan_dict(plan_of(inputs, catalogue, today, problems)), inputs, catalogue


def broken(plan: Json, case: Case) -> list[str]:
    """Names of the rules a plan breaks."""
    _, inputs, catalogue = case
    return [found.rule for found in verify(plan, inputs.rig, inputs.history, inputs.trip, catalogue)]


@pytest.mark.parametrize("name", [name for name in SEEN_ON if (DEMO / name / "trip.toml").exists()])
def test_the_demo_plans_keep_every_rule(name: str) -> None:
    """If one did not, a newcomer's first plan would promise what its own figures deny."""
    case = planned(DEMO / name, SEEN_ON[name])
    assert broken(case[0], case) == []


def test_the_sample_plan_keeps_every_rule(tmp_path: Path) -> None:
    """If not, what is due and does not fit the days at home would be hidden or misplaced."""
    case = planned(good_folder(tmp_path / "trip"), TODAY)
    assert broken(case[0], case) == []


@pytest.fixture(scope="module")
def outback() -> Case:
    """The outback demo: workshop days, stops, crossings, re-checks and kept-open work."""
    return planned(DEMO / "outback", SEEN_ON["outback"])


@pytest.fixture(scope="module")
def crossed() -> Case:
    """The demo after a deep crossing: acts after water, placed at stops."""
    return planned(DEMO / "after-crossing", SEEN_ON["after-crossing"])


def jobs(plan: Json) -> list[tuple[Json, Json]]:
    """Every job with its slot."""
    return [(slot, job) for slot in plan["slots"] for job in slot["jobs"]]


def slots(plan: Json, kind: str) -> list[Json]:
    """Slots of one kind that have jobs."""
    return [slot for slot in plan["slots"] if slot["kind"] == kind and slot["jobs"]]


def item_where(plan: Json, test: Callable[[Json], bool]) -> Json:
    """The first item of the plan for which the test holds."""
    return next(item for item in plan["items"] if test(item))


def an_item_left_out(plan: Json) -> None:
    """One side of a front wheel bearing is forgotten."""
    plan["items"] = [i for i in plan["items"] if (i["item"], i["position"]) != ("front_wheel_bearings", "left")]


def an_item_listed_twice(plan: Json) -> None:
    """One item stands twice."""
    plan["items"].append(deepcopy(plan["items"][0]))


def is_limited(item: Json) -> bool:
    """An act that renews what can hurt somebody, run by km."""
    act = item["act"] in ("grease", "adjust", "torque", "repack", "renew")
    return bool(item["harms"] and act and item["rhythm"] == "service" and item["limits"][0]["meter"] == "km")


def a_renewal_taken_out(plan: Json) -> None:
    """What can hurt somebody is no longer renewed on a trip that it does not last, and nothing says so."""
    item = item_where(plan, lambda i: is_limited(i) and i["placed"] and (i["share_used_at_return"] or 0) > 1.15)
    item["verdict"] = "runs out on the way"
    take_out(plan, item)


def take_out(plan: Json, item: Json) -> None:
    """Remove an item's renewals, its own jobs too."""
    item["placed"] = []
    for slot in plan["slots"]:
        slot["jobs"] = [job for job in slot["jobs"] if (job["item"], job["unit"]) != (item["item"], item["unit"])]


def a_limit_passed_by_wear(plan: Json) -> None:
    """A leg wears more than was reckoned with."""
    item = item_where(
        plan, lambda i: is_limited(i) and i["wear"] and i["verdict"] in ("runs out on the way", "lasts the trip")
    )
    for wear in item["wear"]:
        wear["multiplier"] = wear["high"] = 1000.0


def a_minute_gone(plan: Json) -> None:
    """A slot says a minute less than its jobs take."""
    slots(plan, "workshop")[0]["minutes_planned"] -= 1


def a_day_too_full(plan: Json) -> None:
    """A day holds more work than there is time, and its sum is right."""
    slot = slots(plan, "workshop")[0]
    job = slot["jobs"][0]
    job["minutes"] += 1000
    slot["minutes_planned"] += 1000


def a_state_opened_twice(plan: Json) -> None:
    """The same state is opened twice in one slot."""
    slot = next(s for s in plan["slots"] if s["opened"])
    slot["opened"].append(deepcopy(slot["opened"][0]))


def an_outer_state_left_closed(plan: Json) -> None:
    """The hub comes off and the wheel stays on."""
    slot = next(s for s in plan["slots"] if any(p["state"] == "hub off" for p in s["opened"]))
    slot["opened"] = [part for part in slot["opened"] if part["state"] != "wheel off"]


def an_opening_for_nothing(plan: Json) -> None:
    """A sump is drained and no job needs it."""
    part = {"unit": "wagon", "place": "engine bay", "position": None, "state": "radiator drained", "minutes": 30,
            "words": "", "kept_open": False, "was_open": False}  # fmt: skip
    slot = next(s for s in plan["slots"] if not any(p["state"] == "radiator drained" for p in s["opened"]))
    slot["opened"].append(part)


def an_opening_made_quick(plan: Json) -> None:
    """An opening takes less time than the tables say."""
    part = next(p for s in plan["slots"] for p in s["opened"] if not p["kept_open"] and not p["was_open"])
    part["minutes"] -= 0.5


def a_rig_apart_at_a_stop(plan: Json) -> None:
    """A wheel end stays apart at a stop, as if the rig were not to drive on."""
    slot = next(s for s in plan["slots"] if s["kind"] == "stop" and s["opened"])
    slot["opened"][0]["kept_open"] = True


def a_rig_apart_over_a_gap(plan: Json) -> None:
    """Something stays open from one workshop day to the next though the rig is driven between them."""
    home = [slot for slot in plan["slots"] if slot["kind"] == "workshop"]
    next(slot for slot in reversed(home) if slot["opened"])["opened"][0]["kept_open"] = True


def a_job_beyond_the_place(plan: Json) -> None:
    """A job that needs a workshop is done at a camp."""
    job = next(j for s in plan["slots"] for j in s["jobs"] if j["kind"] == "service" and s["facility"] == "workshop"
               and j["item"] in ("alignment", "driving_joint_grease", "brake_fluid", "cv_joint_live",
                                 "swivel_knuckle_reseal", "stub_axle_bush", "injectors_plugs"))  # fmt: skip
    camp = next(slot for slot in plan["slots"] if slot["facility"] == "camp" or slot["kind"] == "stop")
    camp["facility"] = "camp"
    camp["jobs"].append(deepcopy(job))


def parts_not_yet_there(plan: Json) -> None:
    """The first day at home comes before ordered parts can."""
    slot = plan["slots"][0]
    job = next(j for _, j in jobs(plan) if j["item"] == "brake_rear_drums" and j["kind"] == "service")
    slot["date"] = plan["today"]
    slot["jobs"].append(deepcopy(job))


def a_day_that_is_not_free(plan: Json) -> None:
    """A workshop day is moved to a day that the folder does not offer."""
    slots(plan, "workshop")[0]["date"] = "2026-06-01"


def a_stop_moved_up(plan: Json) -> None:
    """A stop is claimed to be better equipped than it is."""
    stop = next(slot for slot in plan["slots"] if slot["kind"] == "stop" and slot["facility"] != "workshop")
    stop["facility"] = "workshop"


def a_follow_up_forgotten(plan: Json) -> None:
    """A look that a job brings with it is not on the list."""
    check = next(check for check in plan["rechecks"] if check["to_km"] > check["from_km"])
    plan["rechecks"] = [c for c in plan["rechecks"] if c["item"] != check["item"]]


def a_follow_up_without_its_job(plan: Json) -> None:
    """A look is said to fall in a slot and is no job there."""
    check = next(check for check in plan["rechecks"] if check["slot"])
    slot = next(slot for slot in plan["slots"] if slot["id"] == check["slot"])
    slot["jobs"] = [job for job in slot["jobs"] if job["kind"] != "re-check"]


def a_point_under_water_forgotten(plan: Json) -> None:
    """The water reached an item and the plan does not say so."""
    crossing = next(crossing for crossing in plan["crossings"] if crossing["immersed"])
    crossing["immersed"].pop()


def an_act_after_water_forgotten(plan: Json) -> None:
    """An act that the water calls for is not called for."""
    crossing = next(crossing for crossing in plan["crossings"] if crossing["acts"])
    crossing["acts"] = crossing["acts"][1:]


def an_act_after_water_too_late(plan: Json) -> None:
    """An act after water is put behind its window."""
    act = next(a for c in plan["crossings"] for a in c["acts"] if a["slot"] and a["slot"] != "after")
    act["slot"] = "after"


def an_act_without_a_slot_unsaid(plan: Json) -> None:
    """An opening after water has no slot, and no warning says so."""
    acts = [act for crossing in plan["crossings"] for act in crossing["acts"]]
    act = next(act for act in acts if act["slot"] and act["window"].startswith(("within", "before")))
    act["slot"] = None


def work_booked_for_water_not_yet_met(plan: Json) -> None:
    """A repack that only a look could call for is asked for before anybody saw the water."""
    entry, told = next(
        (entry, one) for entry in plan["crossings"] for one in entry["contingent"]
        if (one["item"], one["act"]) == ("front_wheel_bearings", "repack")
    )  # fmt: skip
    days = {"within_days": 5, "within_km": None, "window": "before the next remote leg", "by": None}
    entry["acts"].append({**told, **days, "slot": None})


def what_a_look_decides_told_nowhere(plan: Json) -> None:
    """A slot forgets what might come on top."""
    next(slot for slot in plan["slots"] if slot["contingent"])["contingent"] = []


def minutes_of_a_finding_made_up(plan: Json) -> None:
    """What finding water would take is told shorter than the tables have it."""
    next(one for entry in plan["crossings"] for one in entry["contingent"])["minutes"] = 1


def a_reserve_that_lasts_longer(plan: Json) -> None:
    """With reserve an item is said to last longer than without."""
    item = item_where(plan, lambda i: i["runs_out"])
    item["runs_out_reserve"] = None


def an_end_moved_on(plan: Json) -> None:
    """An item is said to run out later than its wear tells."""
    item = item_where(plan, lambda i: i["runs_out_reserve"] and i["verdict"] == "runs out on the way")
    item["runs_out_reserve"]["trip_km"] += 5000


def a_verdict_too_kind(plan: Json) -> None:
    """An item that runs out on the way is said to last."""
    item_where(plan, lambda i: i["verdict"] == "runs out on the way")["verdict"] = "lasts the trip"


def an_interval_stretched(plan: Json) -> None:
    """An interval is longer than the table's."""
    item_where(plan, lambda i: i["limits"])["limits"][0]["interval"] *= 2


def wear_made_light(plan: Json) -> None:
    """A leg is said to be shorter than it is."""
    item_where(plan, lambda i: i["wear"])["wear"][0]["use"] /= 2


def a_total_too_small(plan: Json) -> None:
    """The hours at the top are not those of the slots."""
    plan["totals"]["plan"]["minutes"] -= 60


def a_cost_below_labour(plan: Json) -> None:
    """The cost is less than the labour alone."""
    plan["totals"]["plan"]["cost"] = 1.0


def a_plan_dearer_than_the_plain_one(plan: Json) -> None:
    """The plan costs more than one made by rule of thumb."""
    plan["totals"]["greedy"]["cost"] = plan["totals"]["plan"]["cost"] * 0.9
    plan["totals"]["greedy"]["limits_broken"] = plan["totals"]["plan"]["limits_broken"] = 0


def a_gap_below_zero(plan: Json) -> None:
    """The proven gap is negative."""
    plan["totals"]["gap"] = -0.01


def a_job_nobody_placed(plan: Json) -> None:
    """An item is said to be renewed where nothing does it."""
    item = item_where(plan, lambda i: not i["placed"] and i["rhythm"] == "service")
    item["placed"] = [plan["slots"][-1]["id"]]


def a_part_multiplied(plan: Json) -> None:
    """Two mechanisms are multiplied, as if one made the other worse."""
    for entry in plan["items"]:
        for wear in entry["wear"]:
            if len({part["mechanism"] for part in wear["parts"]}) > 1:
                wear["multiplier"] = math.prod(part["multiplier"] for part in wear["parts"])
                wear["high"] = max(wear["high"], wear["multiplier"])
                return


def a_reserve_under_the_typical(plan: Json) -> None:
    """The reserve is less than what is typical."""
    item = item_where(plan, lambda i: any(w["multiplier"] > 1.5 for w in i["wear"]))
    for wear in item["wear"]:
        wear["reserve"] = 0.0


def a_reserve_beyond_all_doubt(plan: Json) -> None:
    """The reserve is more than every doubt at once could come to."""
    item = item_where(plan, lambda i: any(w["multiplier"] > 1.5 for w in i["wear"]))
    item["wear"][-1]["reserve"] *= 5


def a_limit_said_past_that_is_kept(plan: Json) -> None:
    """An item is cried wolf over: its limit is kept."""
    item_where(plan, lambda i: not i["harms"] and i["rhythm"] == "service")["unmet"] = True


def what_harms_said_past_a_limit_that_it_keeps(plan: Json) -> None:
    """Bearings are cried wolf over: their limit is kept."""
    item_where(plan, lambda i: is_limited(i) and not i["unmet"])["unmet"] = True


def a_limit_past_and_not_at_the_top(plan: Json) -> None:
    """What harms goes past its limit, is marked so, and no warning says it."""
    a_limit_passed_by_wear(plan)
    item_where(plan, lambda i: i["wear"] and i["wear"][0]["multiplier"] == 1000.0)["unmet"] = True


def a_share_made_small(plan: Json) -> None:
    """How far an item is run is told too low."""
    item_where(plan, lambda i: (i["highest_share"] or 0) > 0.5)["highest_share"] = 0.1


def a_wait_unsaid(plan: Json) -> None:
    """What runs past its interval and waits for home is not said to."""
    item_where(plan, lambda i: i["can_wait"] and i["highest_share"] > 1.1)["can_wait"] = False


def an_act_done_twice(plan: Json) -> None:
    """What was done at home is done again at the next place."""
    slot, job = next(
        (slot, job) for slot, job in jobs(plan)
        if slot["kind"] == "workshop" and job["kind"] == "service" and job["state"] == "closed"
        and len(item_of(plan, job)["placed"]) == 1 and (item_of(plan, job)["share_used_at_return"] or 0) > 0.3
    )  # fmt: skip
    other = next(s for s in plan["slots"] if s["kind"] == "workshop" and s["id"] > slot["id"])
    other["jobs"].append(deepcopy(job))
    item_of(plan, job)["placed"].append(other["id"])


def item_of(plan: Json, job: Json) -> Json:
    """The plan item that a job belongs to."""
    return item_where(plan, lambda i: all(i[key] == job[key] for key in ("item", "unit", "position")))


def a_camp_as_quick_as_home(plan: Json) -> None:
    """A minute on the road is said to be one of the shed."""
    next(s for s in plan["slots"] if s["kind"] == "stop" and s["jobs"])["place_factor"] = 1.0


def set_out_twice(plan: Json) -> None:
    """Setting out is counted for two spells where there is one."""
    slot = next(s for s in plan["slots"] if s["kind"] == "stop" and s["set_out_minutes"])
    slot["minutes_planned"] += slot["set_out_minutes"]
    slot["set_out_minutes"] *= 2


def nuts_never_looked_at(plan: Json) -> None:
    """A wheel was off at a stop, and nobody looks at its nuts."""
    off = next(s for s in plan["slots"] if s["kind"] != "after" and any(p["state"] == "wheel off" for p in s["opened"]))
    plan["rechecks"] = [c for c in plan["rechecks"] if c["after_slot"] != off["id"] or "nuts" not in c["item"]]
    for item in plan["items"]:
        item["placed"] = [] if "wheel_nuts" in item["item"] else item["placed"]


def a_hub_off_and_not_packed(plan: Json) -> None:
    """A hub comes off and goes on again with its old seal."""
    slot = next(s for s in plan["slots"] if any(p["state"] == "hub off" for p in s["opened"]))
    slot["jobs"] = [job for job in slot["jobs"] if job["act"] not in ("repack", "renew")]


def one_side_alone(plan: Json) -> None:
    """The left side is done at a place and the right is not."""
    item = item_where(plan, lambda i: i["position"] == "left" and i["placed"] and i["rhythm"] == "service")
    item["placed"] = []


def more_than_the_owner_gives_of_a_day(plan: Json) -> None:
    """A stop holds more work than the owner wants to do there."""
    slot = slots(plan, "stop")[0]
    slot["minutes_planned"] += 2000


def each_job_alone_made_short(plan: Json) -> None:
    """Each job on its own would take less than all together."""
    plan["totals"]["each_alone"]["minutes"] = plan["totals"]["plan"]["minutes"] / 2


def away(plan: Json) -> list[Json]:
    """The looks that fall at no slot."""
    return [check for check in plan["rechecks"] if check["slot"] is None]


def a_halt_that_takes_no_time(plan: Json) -> None:
    """A look away from every slot that takes nothing."""
    away(plan)[0]["minutes"] = 0.0


def halts_left_out_of_the_total(plan: Json) -> None:
    """Looks away from every slot told and not counted."""
    plan["totals"]["plan"]["minutes"] -= sum(check["minutes"] for check in away(plan))


def a_look_driven_past_a_free_day(plan: Json) -> None:
    """A look behind the shakedown left to a halt, though the last day at home has the time."""
    check = next(check for check in plan["rechecks"] if check["where"] == "home")
    next(slot for slot in plan["slots"] if slot["id"] == check["slot"])["minutes_available"] = 1000
    check["slot"], check["leg"], check["where"] = None, 1, "at a halt on the road"


def more_halts_than_the_owner_gives(plan: Json) -> None:
    """Looks at halts for hours and hours."""
    check = away(plan)[0]
    plan["rechecks"] += [{**check, "leg": 2, "from_km": float(n)} for n in range(1, 80)]


def the_same_look_twice(plan: Json) -> None:
    """The nuts of the last day at home once as a service, and once more for the wheels that were off."""
    slot, job = next((slot, job) for slot in plan["slots"] for job in slot["jobs"] if job["item"] == "wheel_nuts")
    slot["jobs"].append({**job, "kind": "re-check"})


def another_trip(plan: Json) -> None:
    """The plan is of another trip."""
    plan["trip"] = "Another one"


OUTBACK: tuple[tuple[Callable[[Json], None], str], ...] = (
    (an_item_left_out, "all items"), (an_item_listed_twice, "all items"),
    (a_renewal_taken_out, "inside the limit"), (a_limit_passed_by_wear, "inside the limit"),
    (a_minute_gone, "minutes add up"),
    (a_day_too_full, "minutes available"), (a_state_opened_twice, "opened once"),
    (an_outer_state_left_closed, "opened for the job"), (an_opening_for_nothing, "opened for the job"),
    (an_opening_made_quick, "opening minutes"), (a_rig_apart_at_a_stop, "kept apart"),
    (a_rig_apart_over_a_gap, "kept apart"), (a_job_beyond_the_place, "facility"),
    (parts_not_yet_there, "parts arrive"), (a_day_that_is_not_free, "slot is real"),
    (a_stop_moved_up, "slot is real"), (a_follow_up_forgotten, "follow-up"),
    (a_follow_up_without_its_job, "follow-up"), (a_point_under_water_forgotten, "immersed"),
    (an_act_after_water_forgotten, "water act"), (an_act_after_water_too_late, "water window"),
    (a_reserve_that_lasts_longer, "reserve is sooner"), (an_end_moved_on, "runs out there"),
    (a_verdict_too_kind, "verdict"), (an_interval_stretched, "intervals"), (wear_made_light, "wear"),
    (a_total_too_small, "totals"), (a_cost_below_labour, "totals"),
    (a_plan_dearer_than_the_plain_one, "no dearer than the plain rule"), (a_gap_below_zero, "totals"),
    (a_job_nobody_placed, "placed is a job"),
    (a_part_multiplied, "wear"), (a_reserve_under_the_typical, "reserve"), (a_reserve_beyond_all_doubt, "reserve"),
    (work_booked_for_water_not_yet_met, "water ahead"), (what_a_look_decides_told_nowhere, "contingent"),
    (minutes_of_a_finding_made_up, "contingent"),
    (a_limit_said_past_that_is_kept, "unmet"), (what_harms_said_past_a_limit_that_it_keeps, "unmet"),
    (a_limit_past_and_not_at_the_top, "unmet is said"),
    (a_share_made_small, "highest share"), (a_wait_unsaid, "can wait"), (an_act_done_twice, "not twice"),
    (a_camp_as_quick_as_home, "place factor"), (set_out_twice, "set out once"), (nuts_never_looked_at, "wheel off"),
    (a_hub_off_and_not_packed, "hub off"), (one_side_alone, "both sides"),
    (more_than_the_owner_gives_of_a_day, "ceiling of a day"),
    (more_than_the_owner_gives_of_a_day, "ceiling of the trip"), (each_job_alone_made_short, "totals"),
    (a_halt_that_takes_no_time, "look again"), (halts_left_out_of_the_total, "totals"),
    (a_look_driven_past_a_free_day, "look again"), (more_halts_than_the_owner_gives, "ceiling of the trip"),
    (the_same_look_twice, "told once"),
    (another_trip, "same folder"),
)  # fmt: skip


@pytest.mark.parametrize(("spoil", "rule"), OUTBACK, ids=lambda part: getattr(part, "__name__", ""))
def test_a_rule_broken_on_purpose_is_named(spoil: Callable[[Json], None], rule: str, outback: Case) -> None:
    """If not, the checker would let through just the mistake that the rule is there for."""
    plan = deepcopy(outback[0])
    spoil(plan)
    assert rule in broken(plan, outback)


@pytest.mark.parametrize(("share", "is_too_dear"), [(1.0049, False), (1.0052, True)])
def test_the_plan_may_be_half_a_per_cent_dearer_than_the_plain_one(
    share: float, is_too_dear: bool, outback: Case
) -> None:
    """If the line stood elsewhere, a search that gave up would pass, or one that rounds would not."""
    plan = deepcopy(outback[0])
    plan["totals"]["greedy"]["cost"] = plan["totals"]["plan"]["cost"] / share
    assert ("no dearer than the plain rule" in broken(plan, outback)) == is_too_dear


def test_an_opening_after_water_without_a_slot_must_be_said(crossed: Case) -> None:
    """If not, a hub full of water could be left shut and nobody told."""
    plan = deepcopy(crossed[0])
    an_act_without_a_slot_unsaid(plan)
    assert "water act warned" in broken(plan, crossed)


def test_work_at_a_place_behind_a_crossing_made(crossed: Case) -> None:
    """If not, a plan made at the bank could send the rig 60 km back."""
    plan = deepcopy(crossed[0])
    made = next(crossing for crossing in plan["crossings"] if crossing["crossed"])
    made["trip_km"] = plan["slots"][0]["trip_km"] + 60
    assert "place still ahead" in broken(plan, crossed)


def test_a_bearing_opened_on_the_last_day_though_an_earlier_had_room(outback: Case) -> None:
    """If not, the rig would leave on a hub closed the evening before, untried."""
    plan, inputs, catalogue = deepcopy(outback[0]), outback[1], outback[2]
    home = [slot for slot in plan["slots"] if slot["kind"] == "workshop"]
    last, early = home[-1], home[0]
    bearings = [job for _, job in jobs(plan) if job["kind"] == "service" and job["state"] != "closed"
                and catalogue.item(job["item"]).family == "bearing"]  # fmt: skip
    job = min(bearings, key=lambda job: job["minutes"])
    for slot in home:
        slot["jobs"], slot["opened"], slot["minutes_planned"] = [], [], 0
    last["jobs"] = [job]
    longer = tuple(
        row.model_copy(update={"value": 10.0}) if row.name == "opening_near_departure_days" else row
        for row in catalogue.assumptions
    )
    quiet = Catalogue(**{**dict(catalogue), "assumptions": longer})
    assert early["minutes_available"] >= 200
    found = {b.rule for b in verify(plan, inputs.rig, inputs.history, inputs.trip, quiet)}
    assert "near departure" in found


def test_a_plan_of_a_folder_that_changed_is_told_apart(outback: Case) -> None:
    """If not, a worksheet printed before the last change would be trusted after it."""
    plan, inputs, catalogue = outback
    longer = tuple(leg.model_copy(update={"distance_km": leg.distance_km + 1}) for leg in inputs.trip.legs)
    trip = inputs.trip.model_copy(update={"legs": longer})
    assert {b.rule for b in verify(plan, inputs.rig, inputs.history, trip, catalogue)} == {"same folder"}


def test_the_checker_shares_nothing_with_what_it_checks() -> None:
    """If it did, a mistake of the planner would be made twice and found by nobody."""
    may = {"tripplan.trip.timeline"}
    for path in sorted(Path(tripplan.verify.__file__).parent.glob("*.py")):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            module = node.module or "" if isinstance(node, ast.ImportFrom) else ""
            ours = module.startswith("tripplan.") and not module.startswith(("tripplan.records", "tripplan.verify"))
            assert not ours or module in may, f"{path.name} imports {module}"
