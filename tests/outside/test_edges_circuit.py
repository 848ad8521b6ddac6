"""The exact steps of a linear circuit against SciPy's exponential and its integrator."""

from pathlib import Path

import numpy as np
import pytest
from scipy.integrate import solve_ivp
from scipy.linalg import expm

from diodewright.edges.circuit import exponential, first_event, samples
from netlists import NETLISTS, simulate

# a damped resonance at 1 Mrad/s, driven, and a slow third state
RATES = np.array([[-2e5, -1e6, 0.0], [1e6, -1e5, 3e4], [0.0, 2e4, -5e3]])
DRIVE = np.array([3e5, -1e5, 2e4])
START = np.array([0.1, -0.3, 0.7])


@pytest.mark.parametrize("size", [1e-6, 0.3, 4.0, 60.0])
def test_the_exponential_is_scipys(size: float) -> None:
    matrix = size * RATES / np.abs(RATES).max()
    assert exponential(matrix) == pytest.approx(expm(matrix), rel=1e-11, abs=1e-12)
    assert exponential(np.zeros((3, 3))) == pytest.approx(np.eye(3))


def test_samples_are_the_integrated_circuit() -> None:
    rows = samples(RATES, DRIVE, START, 1e-7, 100)
    times = np.arange(101) * 1e-7
    run = solve_ivp(
        lambda _, x: RATES @ x + DRIVE, (0, 1e-5), START, t_eval=times, rtol=1e-11, atol=1e-13
    )
    assert rows == pytest.approx(run.y.T, rel=1e-7, abs=1e-9)


def test_the_first_event_is_where_the_integrated_circuit_crosses() -> None:
    run = solve_ivp(
        lambda _, x: RATES @ x + DRIVE,
        (0, 2e-5),
        START,
        events=lambda _, x: x[1] - 0.2,
        rtol=1e-11,
        atol=1e-13,
    )
    rising = [at for at, x in zip(run.t_events[0], run.y_events[0], strict=True) if x[0] > 0]
    event = first_event(
        RATES, DRIVE, START, 1e-7, 200, [((0.0, 0.0, 1.0), 9.0), ((0.0, 1.0, 0.0), 0.2)]
    )
    assert event.which == 1
    assert event.after_s == pytest.approx(rising[0], rel=1e-5)
    assert event.state[1] == pytest.approx(0.2, rel=1e-6)
    assert event.seen[-1] == pytest.approx(event.state)


def test_what_is_over_its_limit_from_the_first_is_no_event_before_it_rises_again() -> None:
    event = first_event(-np.eye(1), np.zeros(1), np.ones(1), 0.1, 20, [((1.0,), 0.5)])
    assert event.which == -1
    assert event.after_s == pytest.approx(2.0)
    assert event.state[0] == pytest.approx(np.exp(-2.0))


@pytest.mark.parametrize("netlist", sorted(path.stem for path in NETLISTS.glob("*.cir")))
def test_every_netlist_runs_as_it_stands_and_is_listed(netlist: str, tmp_path: Path) -> None:
    notes = (NETLISTS.parent / "claims.md").read_text(encoding="utf-8")
    assert "\n* Leaves out: " in (NETLISTS / f"{netlist}.cir").read_text(encoding="utf-8")
    assert f"| [{netlist}.cir](netlists/{netlist}.cir) |" in notes
    time_s, *columns = simulate(netlist, tmp_path, {})
    assert columns
    assert len(time_s) > 500
