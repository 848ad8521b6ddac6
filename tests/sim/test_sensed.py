"""What the sensors report differs from the truth by what the sensor model says, and no more."""

import math
from dataclasses import dataclass
from typing import Any

import numpy as np
import pytest

from diodewright.build import Build, load
from diodewright.derive import settings
from diodewright.sim import Trace, new_tally
from lamps import held, powered

EXAMPLES = ("smoke_tunnel", "cave_lamp", "gel_viewer")
#: sensed column: true column, settings word of what code 4096 means [in thousandths].
SCALED = {
    "current_read_A": ("diode_A", "current_full_mA"),
    "output_read_V": ("output_V", "output_full_mV"),
    "pack_read_V": ("pack_V", "pack_full_mV"),
}
#: A code is rounded by half of one, a reading down to a whole thousandth; and 4095 stand for 4096.
ROUNDED_CODES = 0.5


@dataclass(frozen=True)
class Run:
    """A light held for a while, its trim off so that it stands still, silent unless given."""

    build: Build
    trace: Trace

    def steady(self, column: str) -> Any:
        """Return the column where the light has been steady for seconds."""
        at_s = self.trace["time_s"]
        lit = (self.trace["diode_A"] > 0.1) & (at_s > at_s[0] + self.build.limits.delay_s + 4)
        return self.trace[column][lit]

    def step(self, column: str) -> float:
        """Return what one code is of a sensed column."""
        return settings(self.build)[SCALED[column][1]] / 1000 / 4096


def _run(name: str, seconds: float = 20.0, **plants: object) -> Run:
    build = load(name)
    machine = powered(build, 0.9, {"authority_mA": 0}, {"adc_noise_lsb": 0} | plants)
    events = held(machine, build, seconds)
    tally = new_tally(machine.engine, 0.01)
    trace = machine.run(events[-1].tick, tally, events, {"build": name})
    assert trace is not None
    return Run(build, trace)


@pytest.fixture(scope="module", params=EXAMPLES)
def run(request: pytest.FixtureRequest) -> Run:
    return _run(request.param)


@pytest.mark.parametrize("sensed", SCALED)
def test_a_silent_reading_is_the_truth_within_its_code(run: Run, sensed: str) -> None:
    truth, read = run.steady(SCALED[sensed][0]), run.steady(sensed)
    assert len(read) > 500
    low = ROUNDED_CODES * run.step(sensed) + 0.001 + truth.max() / 4096
    high = ROUNDED_CODES * run.step(sensed) + 0.0005
    off = read - truth
    assert float(off.min()) >= -low and float(off.max()) <= high


@pytest.mark.parametrize(
    ("sensed", "true"), [("mount_read_degC", "mount_degC"), ("sink_read_degC", "sink_degC")]
)
def test_a_sensed_temperature_is_the_truth_behind_its_lag(run: Run, sensed: str, true: str) -> None:
    # The true column, put through an exact first-order lag of the sensor's time constant here.
    at_s, truth = run.trace["time_s"], run.trace[true]
    lagged = [float(truth[0])]
    for dt_s, degC in zip(np.diff(at_s), truth[1:], strict=True):
        lagged.append(degC + (lagged[-1] - degC) * math.exp(-dt_s / run.build.sensors.ntc_lag_s))
    off_K = run.trace[sensed] - np.array(lagged)
    warm = lagged > np.array(lagged[0] + 0.5)
    # half a code (0.05 K at most from 10 to 60 degC) and the straight lines of the law's table,
    # which is read hot where it is rounded
    assert float(off_K.min()) > -0.06 and float(off_K.max()) < 0.25
    if true == "mount_degC":
        assert warm.any()
        assert float((truth - run.trace[sensed]).max()) > 0.5, "the lag itself must be seen"


def test_noise_has_the_builds_own_size_and_no_mean() -> None:
    noisy = _run("smoke_tunnel", adc_noise_lsb=3.0)
    for sensed, (true, _) in SCALED.items():
        off = (noisy.steady(sensed) - noisy.steady(true)) / noisy.step(sensed)
        # roundings add little: 1/sqrt(12) of a code, and of a thousandth
        assert float(off.std()) == pytest.approx(math.hypot(3.0, 0.29), rel=0.1), sensed
        assert abs(float(off.mean())) < 0.5 + noisy.steady(true).max() / 4096 / noisy.step(sensed)


@pytest.mark.parametrize(
    ("plants", "factor"),
    [
        ({"current_read_gain": 0.97}, {"current_read_A": 0.97}),
        ({"output_read_gain": 1.02}, {"output_read_V": 1.02}),
        ({"pack_read_gain": 0.95}, {"pack_read_V": 0.95}),
        ({"ref_gain_factor": 1.02}, dict.fromkeys(SCALED, 1 / 1.02)),
    ],
    ids=["monitor", "output", "pack", "reference"],
)
def test_a_drifted_sensor_moves_its_own_reading_by_just_that(
    plants: dict[str, float], factor: dict[str, float]
) -> None:
    changed: dict[str, object] = dict(plants)
    if "ref_gain_factor" in changed:
        reference_V = load("smoke_tunnel").sensors.reference_V
        changed = {"ref_gain": plants["ref_gain_factor"] * reference_V / 3.3}
    drifted = _run("smoke_tunnel", **changed)
    for sensed, (true, _) in SCALED.items():
        truth, read = drifted.steady(true), drifted.steady(sensed)
        slack = drifted.step(sensed) + 0.001 + float(truth.max()) / 4096
        assert float(read.mean()) == pytest.approx(
            factor.get(sensed, 1.0) * float(truth.mean()), abs=slack
        ), sensed
