"""The programme and its solver, on programmes whose answer is known without one."""

from itertools import product

import pytest

from tripplan.placing.programme import Programme, solve

# Items of the classic hand example: value per weight falls, so the relaxation takes 1, 2 and half of 3.
WEIGHTS, VALUES, ROOM = (5.0, 4.0, 6.0, 3.0), (10.0, 7.0, 9.0, 4.0), 12.0


def knapsack() -> Programme:
    """Take what is worth most and still fits; minimised, so values count negative."""
    programme = Programme()
    columns = [programme.column(-value) for value in VALUES]
    programme.row(dict(zip(columns, WEIGHTS, strict=True)), upper=ROOM)
    return programme


def by_hand() -> float:
    """The best of all sixteen choices."""
    return min(
        -sum(value * take for value, take in zip(VALUES, taken, strict=True))
        for taken in product((0, 1), repeat=4)
        if sum(weight * take for weight, take in zip(WEIGHTS, taken, strict=True)) <= ROOM
    )


def test_a_knapsack_is_solved() -> None:
    """If not, work could be left out of a day that had room for it."""
    solution = solve(knapsack(), 0.0, 1000)
    assert solution is not None
    assert solution.objective == pytest.approx(by_hand()) == pytest.approx(solution.bound)


def test_without_whole_columns_it_is_the_greedy_fill() -> None:
    """If not, shares of a thing that can be shared would be planned as all or nothing."""
    programme = knapsack()
    programme.whole = [False] * len(programme.whole)
    solution = solve(programme, 0.0, 1)
    assert solution is not None
    # Best value per kg first (Dantzig 1957, from memory): 10 + 7, then 3 of 6 of the third: 4.5.
    assert solution.objective == pytest.approx(-(10 + 7 + 9 * 3 / 6)) == pytest.approx(solution.bound)
    assert solution.values == pytest.approx((1, 1, 0.5, 0))


def test_a_transport_problem() -> None:
    """If not, costs on several rows at once would not be weighed against each other."""
    programme, cost = Programme(), ((4.0, 6.0), (5.0, 3.0))
    ship = [[programme.column(price, upper=100.0, whole=False) for price in row] for row in cost]
    for i, supply in enumerate((30.0, 40.0)):
        programme.row(dict.fromkeys(ship[i], 1.0), upper=supply)
    for j, demand in enumerate((20.0, 35.0)):
        programme.row({ship[0][j]: 1.0, ship[1][j]: 1.0}, lower=demand)
    solution = solve(programme, 0.0, 1)
    assert solution is not None
    assert solution.objective == pytest.approx(4 * 20 + 3 * 35)  # each buyer from the nearer shed, which has enough


@pytest.mark.parametrize("gap", [0.0, 0.05, 0.5])
def test_the_bound_is_true_whatever_gap_is_asked_for(gap: float) -> None:
    """If not, a plan could claim to be nearer the best than it is."""
    solution = solve(knapsack(), gap, 1000)
    assert solution is not None
    assert solution.bound <= by_hand() + 1e-9 <= solution.objective + 2e-9
    assert solution.objective - solution.bound <= gap * abs(solution.objective) + 1e-9


def test_what_rounds_to_nothing_possible_is_still_solved() -> None:
    """If not, a week with no easy answer would get no plan at all."""
    programme = Programme()
    a, b, c = (programme.column(cost) for cost in (1.0, 1.0, 3.0))
    programme.row({a: 2.0, b: 2.0, c: 3.0}, 3.0, 3.0)  # as shares: a and half of b; whole: c alone
    solution = solve(programme, 0.0, 1000)
    assert solution is not None
    assert solution.objective == pytest.approx(3.0)
    assert solution.values == pytest.approx((0, 0, 1))


def test_nothing_satisfies_the_rows() -> None:
    """If this gave an answer, work would be planned where none is possible."""
    programme = Programme()
    column = programme.column(1.0)
    programme.row({column: 1.0}, lower=2.0)
    assert solve(programme, 0.0, 10) is None


def test_a_row_more_leaves_the_programme_as_it_was() -> None:
    """If not, the cost would be looked for under limits of another question."""
    programme = knapsack()
    tighter = programme.with_row({0: 1.0}, upper=0.0)
    solution, other = solve(programme, 0.0, 100), solve(tighter, 0.0, 100)
    assert solution is not None and other is not None
    assert solution.values[0] == pytest.approx(1.0)
    assert other.values[0] == pytest.approx(0.0)
    assert len(programme.row_upper) == 1


def test_a_known_start_is_kept_to() -> None:
    """If not, a good placing already found could be thrown away."""
    start = solve(knapsack(), 0.0, 100)
    assert start is not None
    again = solve(knapsack(), 0.0, 0, start.values)
    assert again is not None
    assert again.objective <= start.objective + 1e-9


def test_nothing_is_printed(capfd: pytest.CaptureFixture[str]) -> None:
    """If something were, `--json` would not be JSON."""
    solve(knapsack(), 0.0, 100)
    assert capfd.readouterr() == ("", "")
