"""One context and one evaluation for all that only look at them."""

from collections.abc import Callable
from typing import Any

import pytest

from diodewright.build import load, with_values
from diodewright.derive import plant_values, settings
from diodewright.rehearse.trial import TrialJob
from diodewright.sim import compiled, power_up
from diodewright.tune import Context, Evaluation, context_of, evaluate


@pytest.fixture(scope="session")
def tunnel() -> Context:
    return context_of(load("smoke_tunnel"))


@pytest.fixture(scope="session")
def as_shipped(tunnel: Context) -> Evaluation:
    return evaluate(tunnel, {})


@pytest.fixture(scope="session")
def job_of() -> Callable[..., TrialJob]:
    """Return a function that makes a job of a shipped build with keys changed."""

    def made(name: str, values: dict[str, Any] | None = None) -> TrialJob:
        build = with_values(load(name), values) if values else load(name)
        words = settings(build)
        machine = power_up(compiled(), plant_values(build), words, seed=1)
        return TrialJob(build, machine, words, (), {}, 1, ())

    return made
