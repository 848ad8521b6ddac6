"""The plant of a build, driven by the rows of a recording, with any of its parameters changed."""

from collections.abc import Mapping

import numpy as np
from numpy.typing import NDArray

from diodewright.bench.span import Values
from diodewright.build import Build
from diodewright.derive import plant_values
from diodewright.derive.board import DUTY_TOP
from diodewright.plant import record
from diodewright.plant.params import PARAM_RECORD, STATE, index_of
from diodewright.sim import Engine

__all__ = ["FOLLOWED", "Driven"]

#: What each row of a followed plant says, in the order of `sim.follow.write_followed`.
FOLLOWED = (
    "current_A",
    "output_V",
    "pack_V",
    "mount_degC",
    "sink_degC",
    "junction_degC",
    "light_W",
    "heat_W",
    "pack_A",
)
#: Longest sub-step, and the share of the mount's time constant that it may be.
_LONGEST_STEP_S = 0.02
_STEP_SHARE = 0.005
_PARAMS = index_of(PARAM_RECORD)


class Driven:
    """One build's plant and the times of one recording.

    Parameters
    ----------
    time_s : of the rows [s], rising.
    step_s : longest sub-step; None for one that the heat path bears well.
    """

    def __init__(
        self, build: Build, engine: Engine, time_s: Values, step_s: float | None = None
    ) -> None:
        self.build, self.engine = build, engine
        self.count = len(time_s)
        self.values = {
            **plant_values(build),
            "over_current_dead": 1,
            "over_voltage_dead": 1,
        }
        p = record.make(PARAM_RECORD, self.values, compiled=False).record
        mount_s = p.mount_J_K * p.mount_sink_K_W
        self.dt_s = step_s or min(_LONGEST_STEP_S, mount_s * _STEP_SHARE)
        at = np.round((time_s - time_s[0]) / self.dt_s).astype(np.int64)
        self.steps: NDArray[np.int64] = np.append(np.diff(at), 0)

    def start(self, name: str) -> float:
        """Return the build's own value of one parameter of the plant."""
        p = record.make(PARAM_RECORD, self.values, compiled=False)
        return float(p.flat[_PARAMS[name]])

    def _filled(
        self, changes: Mapping[str, float], soc: float
    ) -> tuple[record.Filled, record.Filled]:
        compiled = self.engine.name == "numba"
        p = record.make(PARAM_RECORD, self.values, compiled=compiled)
        for name, value in changes.items():
            p.flat[_PARAMS[name]] = value
        return p, record.make(STATE, {"soc": soc}, compiled=compiled)

    def _rows(self) -> Values:
        return np.zeros((self.count, len(FOLLOWED)))

    def heat(
        self,
        changes: Mapping[str, float],
        began: tuple[float, float],
        diode_A: Values,
        output_V: Values,
        pack_V: Values,
    ) -> dict[str, Values]:
        """Return what the heat path does under recorded current and voltages.

        `changes` are parameters by name, `began` mount and sink at the first row [degC].
        """
        p, x = self._filled(changes, 1.0)
        rows = self._rows()
        self.engine.begin_following(p.memory, x.memory, self.dt_s, *began, 0.0)
        self.engine.follow_heat(
            p.memory,
            x.memory,
            diode_A,
            output_V,
            pack_V,
            self.steps,
            rows,
            self.count,
            self.dt_s,
        )
        return _named(rows)

    def pack(
        self,
        changes: Mapping[str, float],
        soc: float,
        output_A: Values,
        output_V: Values,
        enable: Values,
        metered: bool = False,
    ) -> dict[str, Values]:
        """Return what the pack does under recorded current and voltage at the output.

        `soc` is its charge at the first row [0 to 1]; with `metered` the current is the pack's.
        """
        p, x = self._filled(changes, soc)
        rows = self._rows()
        air_degC = float(p.flat[_PARAMS["ambient_degC"]])
        self.engine.begin_following(p.memory, x.memory, self.dt_s, air_degC, air_degC, 0.0)
        self.engine.follow_pack(
            p.memory,
            x.memory,
            output_A,
            output_V,
            enable.astype(np.int64),
            int(metered),
            self.steps,
            rows,
            self.count,
            self.dt_s,
        )
        return _named(rows)

    def outputs(
        self,
        changes: Mapping[str, float],
        began: tuple[float, float],
        soc: float,
        duty: Values,
        enable: Values,
        level_A: float = 0.0,
    ) -> dict[str, Values]:
        """Return what the whole plant does under the law's outputs.

        `duty` [counts] and `enable` [bits] are the law's words; `level_A` [A] what flows at the
        first row.
        """
        p, x = self._filled(changes, soc)
        rows = self._rows()
        self.engine.begin_following(p.memory, x.memory, self.dt_s, *began, level_A)
        self.engine.follow_outputs(
            p.memory,
            x.memory,
            duty / DUTY_TOP,
            enable.astype(np.int64),
            self.steps,
            rows,
            self.count,
            self.dt_s,
        )
        return _named(rows)


def _named(rows: Values) -> dict[str, Values]:
    return {name: rows[:, place].copy() for place, name in enumerate(FOLLOWED)}
