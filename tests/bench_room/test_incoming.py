"""The incoming test: what 2 mA tell of a diode without light, and what a little light adds."""

import json
import math
from collections.abc import Callable
from dataclasses import replace

import pytest
from patient import Patient
from weak_diodes import Bench, Weak, swept

from diodewright.bench import Line, sweep_run
from diodewright.bench.incoming import (
    Knee,
    by_light,
    by_trickle,
    knee_band,
    light_bound_A,
    read_knee,
)
from diodewright.bench.sweep import Stop, Trail
from diodewright.bench.sweep_plan import planned
from diodewright.bench.sweep_result import result_of
from diodewright.build import load
from diodewright.report.screen import Asked, show_incoming
from diodewright.twin import Event, Session
from serving import needs_micropython, serve

LAMP = load("smoke_tunnel")
PLAN = replace(planned(LAMP, light_bound_A(LAMP, 1.5)), fine=0.02)


@pytest.fixture(autouse=True)
def patience(monkeypatch: pytest.MonkeyPatch) -> None:
    """Let the simulated board be slow on a busy machine."""
    monkeypatch.setattr(sweep_run, "SILENT_S", 60.0)


@pytest.fixture
def board(session: Session) -> Session:
    return session


def booted_with(target: str, value: float) -> Session:
    """Return a board whose self-test met a diode that is not its build's."""
    needs_micropython()
    session = Session(LAMP, seed=1)
    session.step(b"", [Event(0, target, value)])
    for _ in range(2000):
        session.step()
    return session


@pytest.mark.parametrize(
    ("target", "value", "verdict", "said"),
    [
        ("plant.diode_spread_V", 0.3, "fine", "its class stands between"),
        ("plant.diode_short", 1.0, "dead", "shorted"),
        ("plant.diode_open", 1.0, "dead", "open, or fitted the wrong way round"),
        ("plant.diode_spread_V", -1.2, "leaky", "most of the trickle goes past the junction"),
        ("plant.diode_spread_V", 0.9, "weak", "a bad bond or contact, or another class"),
    ],
)
def test_the_trickle_tells_dead_from_leaky_from_fine(
    target: str, value: float, verdict: str, said: str, capfd: pytest.CaptureFixture[str]
) -> None:
    """On the twin, through the whole verb; a leak is a low knee, which is what it leaves."""
    with booted_with(target, value) as session:

        def client(port: str) -> int:
            return show_incoming(LAMP, Asked("smoke_tunnel", port=port, as_json=True))

        code = serve(session, client)
    found = json.loads(capfd.readouterr().out)
    assert found["finding"]["verdict"] == verdict
    assert said in found["finding"]["why"]
    assert code == (0 if verdict == "fine" else 1)


def test_the_board_keeps_the_knee_that_its_self_test_saw(board: Session) -> None:
    def client(port: str) -> Knee:
        with Line(port) as line:
            return read_knee(line)

    knee = serve(board, client)
    # V = a + b ln(I) + I Rs at the trickle's 1.6 mA and 30 degC, by hand: 3.89 - 0.165 - 0.015
    assert knee.failed == 0
    assert knee.output_V == pytest.approx(3.71, abs=0.03)


def test_a_self_test_that_failed_elsewhere_is_no_verdict_on_the_diode() -> None:
    for step, kind in ((1, "not judged"), (6, "not judged"), (14, "fine")):
        knee = Knee(step, 3.7 if step == 14 else None)
        assert by_trickle(knee, LAMP).verdict == kind


def test_a_linear_stage_has_its_own_band() -> None:
    band = knee_band(load("cave_lamp"))
    assert 1.9 < band.low_V < 2.4 < band.high_V < 3.0
    assert band.trickle_A < 0.002 < band.resolved_A  # the shunt can't tell the trickle from none


@pytest.mark.parametrize(
    ("factors", "verdict", "said"),
    [
        ({}, "fine", "threshold and slope of its class"),
        ({"threshold_A": 1.6}, "weak", "threshold 1."),
        ({"slope_W_A": 0.6}, "weak", "slope "),
        ({"slope_W_A": 0.3}, "weak", "of the light beside the meter"),
        ({"slope_W_A": 1e-4}, "dead", "no"),
    ],
)
def test_a_little_light_tells_weak_from_fine(
    factors: dict[str, float], verdict: str, said: str
) -> None:
    for seed in range(10):
        bench = Bench(LAMP, Weak("x", factors, math.inf, 0.0, 9.0, math.inf), seed)
        trail, stop = swept(bench, PLAN)
        found = result_of(LAMP, PLAN, trail, stop, 5.0, "x")
        finding = by_light(trail, stop, found.fits, LAMP, PLAN)
        assert finding.verdict == verdict, (seed, stop)
        assert bench.highest_A < 0.57  # 2.2 thresholds of the class
    assert said in finding.why or verdict == "dead"


def test_a_sweep_that_ended_for_another_reason_is_no_verdict() -> None:
    ended = Stop("noise", 0.4, "too noisy")
    assert by_light(Trail(), ended, None, LAMP, PLAN).verdict == "not judged"


def test_with_a_meter_the_verb_goes_on_to_a_little_light(
    session: Session, capfd: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    from diodewright.report import screen_characterise

    class Eye:
        """A meter in the beam, of the twin's own light."""

        def __call__(self) -> float:
            return session.twin.true("light_W")

        def __enter__(self) -> Callable[[], float]:
            return self

        def __exit__(self, *_: object) -> None:
            pass

    monkeypatch.setattr(screen_characterise, "open_meter", lambda *_: Eye())
    session.step(b"", [Event(0, "plant.trigger", 1.0)])

    def client(port: str) -> int:
        asked = Asked(
            "smoke_tunnel", port=port, meter="visa:x", step_pct=5, settle_s=0.1, rest_s=0.05
        )
        return show_incoming(LAMP, asked)

    assert serve(Patient(session), client) == 0  # type: ignore[arg-type]
    said = " ".join(capfd.readouterr().out.split())
    assert said.index("eyewear") < said.index("the diode is fine")
    assert "below what one reading of the shunt resolves (2.0 mA)" in said
