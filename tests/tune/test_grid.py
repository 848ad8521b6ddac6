"""A search against a grid over three keys of a shipped build: never more than 1 % below its best.

What a grid of nominal runs finds is looked into at full depth from the best on, as far as it takes.
"""

import itertools

import numpy as np
import pytest

from diodewright.build import load
from diodewright.tune.choice import Problem, holds, merit
from diodewright.tune.context import context_of
from diodewright.tune.crowd import ranked
from diodewright.tune.dials import dials_of
from diodewright.tune.looks import Looks
from diodewright.tune.of_build import BuildWork
from diodewright.tune.search import Effort, search
from diodewright.tune.wishes import aim_of

_HEAT = ("limits.mount_warm_degC", "limits.mount_hot_degC", "limits.mount_trip_degC")
_PACK = ("limits.pack_cutback_V", "limits.pack_cutback_end_V", "limits.pack_lockout_V")


def _looks(name: str, wish: str, keys: tuple[str, ...]) -> Looks:
    build = load(name)
    dials = tuple(dial for dial in dials_of(build) if dial.path in keys)
    assert len(dials) == len(keys)
    problem = Problem(dials, aim_of(wish))
    return Looks(problem, BuildWork(problem, context_of(build)))


def _grid_best(looks: Looks, counts: tuple[int, ...]) -> float:
    """Return the best merit of a grid that holds at full depth; minus infinity where none does."""
    aim = looks.problem.aim
    axes = [
        np.linspace(dial.low, dial.high, count)
        for dial, count in zip(looks.problem.dials, counts, strict=True)
    ]
    looks.at([tuple(map(float, at)) for at in itertools.product(*axes)], "nominal")
    for choice, look in ranked(looks, aim, "nominal"):
        if not holds(look, aim, "nominal"):
            break
        whole = looks.one(choice, "full")
        if holds(whole, aim):
            return merit(whole, aim)
    return -np.inf


def _against_the_grid(
    name: str, wish: str, keys: tuple[str, ...], counts: tuple[int, ...], effort: Effort
) -> None:
    looks = _looks(name, wish, keys)
    aim = looks.problem.aim
    found = search(looks, aim, 1, effort)
    assert holds(found.look, aim)
    best = _grid_best(looks, counts)
    assert merit(found.look, aim) >= best - 0.01 * abs(best)


@pytest.mark.long
def test_no_point_of_a_grid_over_three_keys_is_more_than_1_pct_better() -> None:
    _against_the_grid("smoke_tunnel", "minutes", _PACK, (5, 5, 5), Effort())


@pytest.mark.long
def test_no_point_of_a_grid_over_the_heat_keys_is_more_than_1_pct_better() -> None:
    _against_the_grid("smoke_tunnel", "sustained", _HEAT, (5, 5, 5), Effort())


def test_no_point_of_a_small_grid_is_more_than_1_pct_better() -> None:
    _against_the_grid("smoke_tunnel", "minutes", _PACK, (3, 3, 3), Effort(5, 1, 1, 8))
