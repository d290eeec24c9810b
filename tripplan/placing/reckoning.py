"""What a placing takes and costs, reckoned from the problem alone: the yardstick of every search.

Minutes are those of the place they are worked in. Cost in whole thousandths of the owner's
currency, so that sums are exact.
"""

from tripplan.placing.followed_up import (
    Due,
    as_a_look,
    falls,
    halt_cost,
    halt_minutes,
    halts,
    is_a_look_itself,
    looks_due,
    looks_on_the_spot,
    owed_due,
    owed_left,
)
from tripplan.placing.problem import (
    AFTER,
    AT_ONCE,
    STOP,
    THOUSAND,
    PlaceKey,
    PlacementProblem,
    Placing,
    Task,
    once_done,
    opening_minutes,
    renewals,
)
from tripplan.placing.tasks import is_every_morning
from tripplan.placing.trade_rules import is_with_the_hub
from tripplan.records.units import MINUTES_PER_HOUR

START = -1
Opening = tuple[PlaceKey, str]


def opened_at(problem: PlacementProblem, placing: Placing) -> tuple[frozenset[Opening], ...]:
    """For each site everything that has to be open there, kept open from the day before or not.

    A look that comes with an act at once is no extra work where that look is a job of its own.
    """
    opened: list[set[Opening]] = [set() for _ in problem.sites]
    jobs: list[set[Opening]] = [set() for _ in problem.sites]
    for task, visits in zip(problem.tasks, placing.visits, strict=True):
        own = {as_a_look(task)} if is_a_look_itself(task) else set()
        for site in visits:
            opened[site].update(task.opens)
            jobs[site] |= own
    return tuple(frozenset(states - done) for states, done in zip(opened, jobs, strict=True))


def looks_minutes(problem: PlacementProblem, placing: Placing) -> tuple[float, ...]:
    """Minutes of the home shed that looks after earlier work take at each site, beside those done there on the spot."""
    done: list[set[Opening]] = [set() for _ in problem.sites]
    minutes, shared = [0.0] * len(problem.sites), looks_on_the_spot(problem)
    for task, visits in zip(problem.tasks, placing.visits, strict=True):
        own = {as_a_look(task)} if is_a_look_itself(task) else set()
        for site in visits:
            done[site] |= (own | {*task.opens}) & shared
    for due in looks_due(problem, placing):
        if due.site is not None and ((due.unit, AT_ONCE, due.side), due.item) not in done[due.site]:
            minutes[due.site] += due.minutes
    return tuple(minutes)


def home_minutes(problem: PlacementProblem, placing: Placing) -> tuple[float, ...]:
    """Minutes at each site as they would be in the home shed, without setting out."""
    minutes = [opening_minutes(problem, states) for states in opened_at(problem, placing)]
    for index, visits in enumerate(placing.visits):
        for site in visits:
            minutes[site] += visit_minutes(problem, placing, index, site)
    for site, key, state in placing.kept_open:
        minutes[site] -= problem.close_minutes[(key[1], state)]
        minutes[site + 1] -= problem.open_minutes[(key[1], state)]
    return tuple(minutes)


def visit_minutes(problem: PlacementProblem, placing: Placing, index: int, site: int) -> float:
    """Minutes of the home shed of one visit: once a finding has been put right, those of the usual act."""
    task = problem.tasks[index]
    if task.later_minutes is None:
        return task.minutes
    if site > min(renewals(problem, placing, index), default=site):
        return task.later_minutes
    return first_minutes(task)


def first_minutes(task: Task) -> float:
    """Minutes of the first visit; what has a hub off to put a finding right does the usual act along with it."""
    if task.later_minutes is not None and is_with_the_hub(task):
        return max(task.minutes, task.later_minutes)
    return task.minutes


def site_minutes(problem: PlacementProblem, placing: Placing) -> tuple[float, ...]:
    """Minutes planned at each site as they take there, setting out and clearing up once.

    Every opening is counted once, and what is kept open is not closed. Looks after earlier work count.
    """
    home, looks = home_minutes(problem, placing), looks_minutes(problem, placing)
    return tuple(
        (minutes + set_out(problem, minutes) + again) * factor
        for minutes, again, factor in zip(home, looks, problem.place_factor, strict=True)
    )


def set_out(problem: PlacementProblem, minutes: float) -> float:
    """Minutes of the home shed for setting out and clearing up where so much is worked."""
    return problem.set_out_minutes if minutes > 0 else 0.0


def labour_cost(problem: PlacementProblem, site: int, minutes: float) -> float:
    """What these minutes of the home shed cost at this site, in the owner's currency."""
    return minutes * problem.place_factor[site] / MINUTES_PER_HOUR * problem.hour_price[site]


def path_cost(problem: PlacementProblem, placing: Placing, index: int) -> float:
    """What waiting costs one task over the whole trip, with what is lost at its end; what is looked at each morning waits for nothing."""
    task = problem.tasks[index]
    if is_every_morning(task):
        return 0.0
    if task.window is not None:
        return 0.0 if once_done(problem, placing, index) else task.undone / THOUSAND
    total, start = 0, START
    for site in renewals(problem, placing, index):
        total += task.late[start + 1][site]
        start = site
    if start < problem.last:
        total += task.late[start + 1][problem.last] + task.worth[start + 1]
    return total / THOUSAND


def alone_minutes(problem: PlacementProblem, task: Task) -> float:
    """Minutes of the home shed of a task done on its own, with all its opening."""
    return task.minutes + opening_minutes(problem, task.opens)


def totals(problem: PlacementProblem, placing: Placing) -> tuple[float, float]:
    """Minutes and cost of a placing: the work where it is done, looks again, waiting, what is lost at the end."""
    spent = site_minutes(problem, placing)
    away = halts(problem, looks_due(problem, placing))
    minutes = sum(spent) + sum(halt_minutes(problem, due) for due in away)
    cost = sum(worked / MINUTES_PER_HOUR * hour for worked, hour in zip(spent, problem.hour_price, strict=True))
    cost += sum(halt_cost(problem, due) for due in away)
    cost += sum(path_cost(problem, placing, index) for index in range(len(problem.tasks)))
    return minutes, cost


def each_alone(problem: PlacementProblem, placing: Placing) -> tuple[float, float]:
    """The same jobs at the same sites, every one opening and setting out for itself."""
    minutes = cost = 0.0
    for index, (task, visits) in enumerate(zip(problem.tasks, placing.visits, strict=True)):
        for site in visits:
            own = visit_minutes(problem, placing, index, site) + opening_minutes(problem, task.opens)
            own += set_out(problem, own)
            minutes += own * problem.place_factor[site]
            cost += labour_cost(problem, site, own)
            for due in (falls(problem, site, look) for look in task.again):
                minutes, cost = minutes + _look_minutes(problem, due), cost + _look_cost(problem, due)
        cost += path_cost(problem, placing, index)
    for due in (owed_due(problem, owed) for owed in owed_left(problem, placing)):
        minutes, cost = minutes + _look_minutes(problem, due), cost + _look_cost(problem, due)
    return minutes, cost


def _look_minutes(problem: PlacementProblem, due: Due) -> float:
    """Minutes of a look by itself where it falls."""
    return halt_minutes(problem, due) if due.site is None else due.minutes * problem.place_factor[due.site]


def _look_cost(problem: PlacementProblem, due: Due) -> float:
    return halt_cost(problem, due) if due.site is None else labour_cost(problem, due.site, due.minutes)


def all_before(problem: PlacementProblem, placing: Placing) -> tuple[float, float]:
    """Everything serviced once at home before departure, due or not, openings shared.

    What a greater job does on the way is not counted twice; water calls, and what runs past
    its interval even so, are done on the road and after return as this plan does them.
    """
    leaving = max(problem.workshop_count - 1, 0)
    visits: list[tuple[int, ...]] = []
    for index, task in enumerate(problem.tasks):
        later = tuple(s for s in placing.visits[index] if problem.sites[s].kind in (STOP, AFTER))
        if task.window is not None:
            visits.append(later)
        elif problem.covered_by[index]:
            visits.append(())
        else:
            visits.append((leaving, *(later if task.reach[leaving + 1] < problem.last else ())))
    done = tuple(tuple(dict.fromkeys(at)) for at in visits)
    return totals(problem, Placing(done, (), placing.method))
