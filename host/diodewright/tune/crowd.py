"""The first stage of a search: a population that looks all over the range, by nominal runs.

Differential evolution (R. Storn, K. Price, J. Global Optimization 11 (1997), 341), SciPy's, with
constraints handled by feasibility first (J. Lampinen, CEC 2002, 1468; with one sum of what is
missed these are the rules of `choice`). What fails a cheap check is never run. The starting
settings are in the first population.
"""

import math
from collections.abc import Callable, Sequence

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import NonlinearConstraint, differential_evolution
from scipy.stats import qmc

from diodewright.tune.choice import Aim, Choice, Look, Problem, merit, rank
from diodewright.tune.looks import Looks

__all__ = ["CROWD", "GENERATIONS", "first_crowd", "ranked", "spread_out"]

#: Choices at a time, and how often they are renewed.
CROWD = 20
GENERATIONS = 8
#: Shares of the way from the starting settings to a point drawn from the whole range.
_REACHES = (0.05, 0.15, 0.4, 1.0)
#: What puts a choice that was stopped a stage earlier behind all others.
_A_STAGE = 1e6

_Floats = NDArray[np.float64]


def first_crowd(problem: Problem, places: Sequence[int], count: int, seed: int) -> _Floats:
    """Return the first population over some dials, one row a choice: the start, and others.

    They lie near and far of the start. Far points follow a Latin hypercube (M. D. McKay et al.,
    Technometrics 21 (1979), 239).
    """
    dials = [problem.dials[place] for place in places]
    start, low = np.array([d.start for d in dials]), np.array([d.low for d in dials])
    span = np.array([dial.high - dial.low for dial in dials])
    drawn = qmc.LatinHypercube(len(start), rng=np.random.default_rng(seed)).random(count - 1)
    reach = np.resize(_REACHES, count - 1)[:, None]
    there = start + reach * (low + span * drawn - start)
    return np.vstack([start, there])


def spread_out(
    looks: Looks,
    aim: Aim,
    seed: int,
    places: Sequence[int],
    count: int = CROWD,
    generations: int = GENERATIONS,
    say: Callable[[str], None] = lambda _: None,
) -> None:
    """Let a population look for the best choice by nominal runs; `looks` knows what it saw.

    Only the dials in `places` are moved; nothing is done where there are none.
    """
    if not places:
        return
    problem = looks.problem
    dials = [problem.dials[place] for place in places]
    bounds = [(dial.low, max(dial.high, dial.low + dial.step)) for dial in dials]

    def seen(columns: _Floats) -> list[Look]:
        return looks.at([_choice(problem, places, column) for column in columns.T], "nominal")

    def violation(columns: _Floats) -> _Floats:
        found = [_violation(look, aim) for look in seen(np.atleast_2d(columns.T).T)]
        return np.array(found[0] if columns.ndim == 1 else [found])

    def cost(columns: _Floats) -> _Floats:
        found = seen(columns)
        say(f"population: {_said(looks, aim)}")
        return np.array([-merit(look, aim) for look in found])

    differential_evolution(
        cost,
        bounds,
        init=first_crowd(problem, places, count, seed),
        maxiter=generations,
        constraints=NonlinearConstraint(violation, -np.inf, 0.0),
        mutation=(0.5, 1.0),
        recombination=0.7,
        tol=0.0,
        rng=np.random.default_rng([seed, 1]),
        polish=False,
        updating="deferred",
        vectorized=True,
    )


def _choice(problem: Problem, places: Sequence[int], column: _Floats) -> Choice:
    choice = list(problem.start)
    for place, value in zip(places, column, strict=True):
        choice[place] = float(value)
    return tuple(choice)


def _violation(look: Look, aim: Aim) -> float:
    fails, short, amount = rank(look, aim, "nominal")
    return _A_STAGE * short + amount if fails else 0.0


def ranked(looks: Looks, aim: Aim, depth: str) -> list[tuple[Choice, Look]]:
    """Return what was looked into to `depth`, the best first; the earlier where they are equal."""
    return sorted(looks.seen(depth).items(), key=lambda item: rank(item[1], aim, depth))


def _said(looks: Looks, aim: Aim) -> str:
    found = ranked(looks, aim, "nominal")
    best = merit(found[0][1], aim) if found else -math.inf
    told = "none holds yet" if best == -math.inf else f"{aim.figure} {aim.sense * best:.4g}"
    return f"best so far {told}, {looks.simulations} simulations"
