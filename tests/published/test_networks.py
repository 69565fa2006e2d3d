"""Network arithmetic against a textbook project, networkx and linear programming.

Oracles: the "Reliable Construction Co." project of F. Hillier & G. Lieberman, Introduction to Operations
Research (8th ed. 2005, chapter on PERT and CPM; inputs from memory, arithmetic recomputed with networkx);
its distribution under three laws of duration, recomputed with 4,000,000 numpy draws; longest paths by
networkx; the same length as a linear program (L. Ford & D. Fulkerson, Flows in Networks, 1962, from memory).
Weeks are 10,000 minutes here, so that whole minutes round nothing away.
"""

from dataclasses import replace

import networkx as nx
import numpy as np
import pytest
from scipy.optimize import linprog
from scipy.stats import beta, norm

from support.drawn import copies, drawn, whole
from support.estimates import mean_of, quantile_of, sd_of, share_of
from towerpace import Plan, Step, run
from towerpace.draws import stream
from towerpace.plan.network import network
from towerpace.scenario.spreads import Spread

WEEK = 10_000
PROJECT = {
    "A": (1, 2, 3, ""),
    "B": (2, 3.5, 8, "A"),
    "C": (6, 9, 18, "B"),
    "D": (4, 5.5, 10, "C"),
    "E": (1, 4.5, 5, "C"),
    "F": (4, 4, 10, "E"),
    "G": (5, 6.5, 11, "D"),
    "H": (5, 8, 17, "EG"),
    "I": (3, 7.5, 9, "C"),
    "J": (3, 9, 9, "FI"),
    "K": (4, 4, 4, "J"),
    "L": (1, 5.5, 7, "J"),
    "M": (1, 2, 3, "H"),
    "N": (5, 5.5, 9, "KL"),
}


def project_steps(mean_weeks) -> list[Step]:
    """The project with each activity at a mean duration, a function of (optimistic, likely, pessimistic)."""
    return [
        Step(name, work=round(mean_weeks(a, m, b) * WEEK), after=list(before))
        for name, (a, m, b, before) in PROJECT.items()
    ]


def pert_mean(a, m, b):
    return (a + 4 * m + b) / 6


def test_textbook_project_has_the_published_length_floats_and_critical_path(stand):
    """Length 44 weeks, critical A-B-C-E-F-J-L-N, floats of the others (Hillier & Lieberman)."""
    plan = Plan(project_steps(pert_mean))
    passes = network(plan)
    floats = dict(zip(plan.names, passes.total_float / WEEK, strict=True))
    said = ", ".join(f"{name} {f:g}" for name, f in floats.items() if f)
    critical = "".join(np.array(plan.names)[passes.critical])
    diary = run(plan)
    source = "Hillier & Lieberman 2005"
    assert passes.length == diary.finish
    stand("textbook project, length [weeks]", source, expected=44, got=diary.finish / WEEK)
    stand("textbook project, floats [weeks]", source, expected="D 4, G 4, H 4, I 2, K 1, M 4", got=said)
    stand("textbook project, critical path", source, expected="ABCEFJLN", got=critical)
    assert diary.started.tolist() == passes.earliest_start.tolist()


def test_textbook_project_has_the_published_pert_variance_and_chance(stand):
    """Critical variance 9 and P(T <= 47) = 0.8413 by PERT's normal approximation (Hillier & Lieberman)."""
    plan = Plan(project_steps(pert_mean))
    critical = network(plan).critical
    sd_weeks = np.array([(b - a) / 6 for a, _, b, _ in PROJECT.values()])
    variance = float((sd_weeks[critical] ** 2).sum())
    assert variance == pytest.approx(9, abs=1e-12)
    chance = float(norm.cdf((47 - 44) / variance**0.5))
    check, source = "textbook project, PERT's normal chance of 47 weeks", "Hillier & Lieberman 2005"
    stand(check, source, expected=0.8413, got=chance, within=5e-5)


def triangular(a, m, b):
    return Spread.constant(a) if a == b else Spread.triangular(low=a, likely=m, high=b)


def pert(a, m, b):
    return Spread.constant(a) if a == b else Spread.pert(low=a, likely=m, high=b)


class PertMoments:
    """Beta on [a, b] with mean (a + 4m + b) / 6 and sd (b - a) / 6: not a law of ours, fed in as numbers."""

    def __init__(self, a, m, b):
        mean = (pert_mean(a, m, b) - a) / (b - a)
        size = mean * (1 - mean) * 36 - 1
        self.law = beta(mean * size, (1 - mean) * size, a, b - a)

    def quantile(self, u):
        return self.law.ppf(u)


def pert_moments(a, m, b):
    return Spread.constant(a) if a == b else PertMoments(a, m, b)


SIMULATED = {
    "triangular": (triangular, 46.232, 3.691, 0.2853, 0.5939, (41.556, 46.089, 49.378, 51.120, 52.539)),
    "beta-PERT": (pert, 44.327, 2.933, 0.4736, 0.8164, (40.633, 44.198, 46.808, 48.212, 49.370)),
    "PERT mean and sd": (
        pert_moments,
        44.299,
        2.874,
        0.4739,
        0.8246,
        (40.678, 44.191, 46.719, 48.080, 49.206),
    ),
}
REFERENCE_DRAWS = 4_000_000


def project_weeks(law, *, trials: int) -> np.ndarray:
    """Durations of the project, one per trial, a thousand copies of the network at a time."""
    chances = stream(20050822, 0, "textbook project").random((len(PROJECT), trials))
    weeks = np.stack(
        [law(a, m, b).quantile(u) for (a, m, b, _), u in zip(PROJECT.values(), chances, strict=True)]
    )
    plan = copies(project_steps(pert_mean), 1000)
    last = [list(PROJECT).index(name) for name in "MN"]
    finishes = []
    for block in (weeks * WEEK).T.reshape(-1, 1000, len(PROJECT)):
        finish = network(plan, work=whole(block)).earliest_finish.reshape(1000, -1)
        finishes.append(finish[:, last].max(axis=1))
    return np.concatenate(finishes) / WEEK


@pytest.mark.slow
@pytest.mark.parametrize("law", SIMULATED)
def test_simulated_textbook_project_has_the_recomputed_distribution(law, stand):
    """200,000 trials: standard error of the mean 0.008 weeks, of P 0.001; 4 standard errors.

    Expected: 4,000,000 independent numpy draws, whose own error is counted in. PERT's 84.13 % lies more
    than 15 standard errors away under every law.
    """
    spread, mean, sd, p44, p47, quantiles = SIMULATED[law]
    weeks = project_weeks(spread, trials=200_000)
    shrink = np.sqrt(weeks.size / REFERENCE_DRAWS)
    checks = [(mean_of(weeks), mean, 0.001), (sd_of(weeks), sd, 0.01)]
    checks += [(share_of(weeks <= 44), p44, 0.02), (share_of(weeks <= 47), p47, 0.02)]
    checks += [
        (quantile_of(weeks, p), q, 0.005) for p, q in zip((0.1, 0.5, 0.8, 0.9, 0.95), quantiles, strict=True)
    ]
    for got, expected, sees in checks:
        assert got.agrees(expected, sees=sees, known_to=got.error * shrink), (got, expected)
    assert abs(share_of(weeks <= 47).value - 0.8413) > 15 * share_of(weeks <= 47).error
    stand(
        f"textbook project, {law}: mean [weeks], chance of 47 weeks",
        "4,000,000 independent draws",
        expected=(mean, p47),
        got=(mean_of(weeks), share_of(weeks <= 47)),
        sees=0.02,
        reference_draws=REFERENCE_DRAWS / weeks.size,
    )


def random_network(number: int) -> tuple[list[Step], nx.DiGraph]:
    """A random network of 2 to 16 steps, told in shuffled order, and the same as a graph of its own."""
    rng = stream(1962, number, "random network")
    n = int(rng.integers(2, 17))
    work = rng.integers(0, 1000, n)
    arcs = [(i, j) for j in range(n) for i in range(j) if rng.random() < 0.3]
    steps = [Step(str(j), work=int(work[j]), after=[str(i) for i, k in arcs if k == j]) for j in range(n)]
    graph = nx.DiGraph()
    graph.add_nodes_from(range(n))
    graph.add_weighted_edges_from((i, j, int(work[i])) for i, j in arcs)
    graph.add_weighted_edges_from((i, "end", int(work[i])) for i in range(n))
    return [steps[k] for k in rng.permutation(n)], graph


def starts_by_linear_program(steps: list[Step]) -> tuple[dict[str, float], float]:
    """Earliest starts and length: min sum of starts and T, s_j >= s_i + d_i, T >= s_j + d_j."""
    number = {s.name: k for k, s in enumerate(steps)}
    n = len(steps)
    rows, bounds = [], []
    for s in steps:
        for p in s.after:
            rows.append([(number[p], 1.0), (number[s.name], -1.0)])
            bounds.append(-steps[number[p]].work)
        rows.append([(number[s.name], 1.0), (n, -1.0)])
        bounds.append(-s.work)
    matrix = np.zeros((len(rows), n + 1))
    for row, entries in zip(matrix, rows, strict=True):
        for column, value in entries:
            row[column] = value
    solved = linprog(np.ones(n + 1), A_ub=matrix, b_ub=bounds)
    assert solved.success
    return dict(zip(number, solved.x[:n], strict=True)), float(solved.x[n])


def test_random_networks_have_the_longest_path_of_networkx_and_of_a_linear_program(stand):
    """200 random networks, every start compared; exact with networkx, to 1e-6 with the linear program."""
    equal = 0
    for number in range(200):
        steps, graph = random_network(number)
        plan = Plan(steps)
        passes = network(plan)
        diary = run(plan)
        longest = nx.dag_longest_path_length(graph)
        starts, length = starts_by_linear_program(steps)
        assert passes.length == longest == diary.finish == pytest.approx(length, abs=1e-6)
        assert diary.started.tolist() == passes.earliest_start.tolist()
        assert passes.earliest_start.tolist() == pytest.approx(
            [starts[name] for name in plan.names], abs=1e-6
        )
        equal += diary.finish == longest
    source = "networkx; a linear program by scipy"
    stand("random networks, of 200 with the longest path of both", source, expected=200, got=equal)


def test_every_total_float_is_what_the_step_can_grow_by():
    """Definition of total float, on 60 random networks: grown by it the length stays, one more moves it."""
    for number in range(60):
        plan = Plan(random_network(number)[0])
        passes = network(plan)
        for i, spare in enumerate(passes.total_float.tolist()):
            for more, length in ((spare, passes.length), (spare + 1, passes.length + 1)):
                work = plan.work.copy()
                work[i] += more
                assert network(plan, work=work).length == length
                assert run(plan, drawn(plan, work=work)).finish == length


def test_longer_steps_and_more_arcs_never_shorten_a_network_without_resources():
    """A longest path is monotone in its arcs and lengths (common practice, no source)."""
    for number in range(200):
        steps, graph = random_network(number)
        rng = stream(1962, number, "change of a network")
        base = run(Plan(steps)).finish
        grown = [replace(s, work=s.work + int(rng.integers(0, 200))) for s in steps]
        assert run(Plan(grown)).finish >= base
        first, last = sorted(rng.choice(len(steps), 2, replace=False).tolist())
        joined = [replace(s, after=[*s.after, str(first)]) if s.name == str(last) else s for s in steps]
        assert run(Plan(joined)).finish >= base
        graph.add_edge(first, last, weight=next(s.work for s in steps if s.name == str(first)))
        assert run(Plan(joined)).finish == nx.dag_longest_path_length(graph)


def test_scaled_works_scale_the_length_and_reversed_arcs_leave_it():
    """200 random networks, exact (common practice, no source)."""
    for number in range(200):
        steps, _ = random_network(number)
        base = run(Plan(steps)).finish
        assert run(Plan([replace(s, work=7 * s.work) for s in steps])).finish == 7 * base
        followers = {s.name: [k.name for k in steps if s.name in k.after] for s in steps}
        assert run(Plan([replace(s, after=followers[s.name]) for s in steps])).finish == base


@pytest.mark.slow
def test_mean_finish_is_never_below_the_network_at_mean_works():
    """E[T] >= T(mean works): D. R. Fulkerson 1962, Expected critical path lengths in PERT networks,
    Operations Research 10: 808-817 (from memory). 15 random networks, exponential works, 600 trials each; no
    mean may lie more than 4 standard errors below. The gap of the textbook project: 45.0 < 46.232 weeks.
    """
    gaps = []
    for number in range(15):
        steps = [replace(s, work=s.work + 1000) for s in random_network(number)[0]]
        plan = copies(steps, 600)
        means = np.array([s.work for s in steps])
        works = stream(808, number, "exponential works").standard_exponential((600, len(steps))) * means
        diary = run(plan, drawn(plan, work=works))
        got = mean_of(diary.finished.reshape(600, -1).max(axis=1))
        gaps.append((got.value - network(Plan(steps)).length) / got.error)
    assert min(gaps) > -4
    assert max(gaps) > 12


def test_textbook_project_at_triangular_means_is_shorter_than_its_simulated_mean(stand):
    """45.0 weeks at the means (a + m + b) / 3, 46.232 simulated; 20,000 trials, standard error 0.026."""
    at_means = network(Plan(project_steps(lambda a, m, b: (a + m + b) / 3))).length / WEEK
    check = "textbook project at triangular means, which is too short [weeks]"
    stand(check, "networkx", expected=45.0, got=at_means, within=1e-3)
    got = mean_of(project_weeks(triangular, trials=20_000))
    assert got.value - at_means > 4 * got.error
