"""One recording and the plant that follows it: where both begin, what counts, what may be why."""

from collections.abc import Mapping

import numpy as np

from diodewright.bench.against_causes import CAUSES, Blamed, Moved, blamed
from diodewright.bench.driven import Driven
from diodewright.bench.fitting import Suggested
from diodewright.bench.off import heat_off, pack_off
from diodewright.bench.rest import at_rest
from diodewright.bench.span import Flags, Record, Values
from diodewright.sim import compiled

__all__ = ["Run"]

#: Quantity -> column of a followed plant.
_FOLLOWED = {
    "current": "current_A",
    "output": "output_V",
    "pack": "pack_V",
    "mount": "mount_degC",
    "sink": "sink_degC",
}
#: Readings are averaged over so long before the worst is looked for [s].
_MEAN_S = 1.0
_BURST_STEP_S = 0.00025
#: The least that a build file takes for the way from mount to sink.
_LEAST_K_W = 0.05


class Run:
    """One recording and the plant that follows it.

    Parameters
    ----------
    seen : columns of the recording, of one length, without gaps.
    bench : quantity -> what was there, the reading chain undone.
    burst : every tick is there.
    air_degC : the air [degC]; None: by a rest at the start, else the build's.
    """

    def __init__(
        self,
        record: Record,
        seen: Mapping[str, Values],
        bench: Mapping[str, Values],
        burst: bool,
        air_degC: float | None,
    ) -> None:
        self.time_s, self.drive_A = seen["time_s"], seen["drive_A"]
        self.bench = bench
        self.driven = Driven(
            record.build, compiled(), self.time_s, _BURST_STEP_S if burst else None
        )
        self.duty, self.enable = seen["duty"], seen["enable"]
        every: Flags = np.ones(len(self.time_s), dtype=bool)
        self.usable = every if burst else _apart(self.drive_A)
        first = int(np.argmax(self.drive_A > 0)) if (self.drive_A > 0).any() else len(self.time_s)
        self.rests = {"mount", "sink"} <= set(bench) and at_rest(
            record.build, self.time_s[:first], bench["mount"][:first], bench["sink"][:first]
        )
        own_degC = self.driven.start("ambient_degC")
        if air_degC is not None:
            self.air_degC, self.air_from = air_degC, "as you say"
        elif self.rests:
            self.air_degC = float(bench["sink"][:first].mean())
            self.air_from = "by the sink's sensor, at rest"
        else:
            self.air_degC, self.air_from = own_degC, "the build's; no rest at the start"
        self.over_K = 0.0
        if self.rests:
            self.over_K = float((bench["mount"] - bench["sink"])[:first].mean())
        self.began = self._began(first)
        self.level_A = float(self.drive_A[0])
        self.charge = self._charge()

    def _began(self, first: int) -> tuple[float, float]:
        if self.rests:
            return self.air_degC, self.air_degC
        few = slice(0, max(1, min(5, first)))
        sink = float(self.bench["sink"][few].mean()) if "sink" in self.bench else self.air_degC
        mount = float(self.bench["mount"][few].mean()) if "mount" in self.bench else sink
        return mount, sink

    def _charge(self) -> float:
        """Return the charge at which the model's pack reads what the bench's does at first."""
        if self.driven.build.pack.kind == "bench_supply" or "pack" not in self.bench:
            return 1.0
        few = slice(0, max(1, int(np.searchsorted(self.time_s, self.time_s[0] + _MEAN_S))))
        wanted_V = float(self.bench["pack"][few].mean())
        low, high = 0.0, 1.0
        for _ in range(20):
            middle = (low + high) / 2
            short = self._first_pack_V(middle, few) < wanted_V
            low, high = (middle, high) if short else (low, middle)
        return (low + high) / 2

    def _first_pack_V(self, charge: float, few: slice) -> float:
        part = Driven(self.driven.build, self.driven.engine, self.time_s[few], self.driven.dt_s)
        found = part.outputs(
            {"ambient_degC": self.air_degC},
            self.began,
            charge,
            self.duty[few],
            self.enable[few],
            self.level_A,
        )
        # the first row is of a plant that has drawn nothing yet
        return float(found["pack_V"][1:].mean()) if len(found["pack_V"]) > 1 else 0.0

    def driven_rows(self, changes: Mapping[str, float]) -> dict[str, Values]:
        """Return all that the plant shows with `changes`."""
        air = {"ambient_degC": self.air_degC}
        return self.driven.outputs(
            {**air, **changes}, self.began, self.charge, self.duty, self.enable, self.level_A
        )

    def model(self, changes: Mapping[str, float]) -> dict[str, Values]:
        """Return what the sensors of the plant see with `changes`, by quantity."""
        found = self.driven_rows(changes)
        rows = {name: found[column] for name, column in _FOLLOWED.items()}
        rows["mount"] = rows["mount"] + self.over_K
        return rows

    def counted(self, name: str) -> Flags:
        """Return which rows of a quantity count: the output is judged while lit alone."""
        lit = self.drive_A > 0
        return self.usable & lit if name in ("output", "current") and lit.any() else self.usable

    def means(self, values: Values) -> Values:
        """Return running means over a second, or three rows."""
        step_s = float(np.median(np.diff(self.time_s)))
        width = max(3, round(_MEAN_S / step_s)) | 1
        if width >= len(values):
            return np.full_like(values, values.mean())
        padded = np.concatenate(([0.0], np.cumsum(values)))
        half = width // 2
        at = np.arange(len(values))
        low, high = np.maximum(at - half, 0), np.minimum(at + half + 1, len(values))
        means: Values = (padded[high] - padded[low]) / (high - low)
        return means

    def causes(
        self, wrong: list[str], bands: Mapping[str, float]
    ) -> tuple[tuple[Blamed, ...], ...]:
        """Return what explains the quantities that differ."""
        starts = {cause.name: self.driven.start(cause.name) for cause in CAUSES}
        starts["ambient_degC"] = self.air_degC

        def over_band(changes: Mapping[str, float]) -> dict[str, Values]:
            rows = self.model(changes)
            return {
                name: ((rows[name] - self.bench[name]) / band)[self.counted(name)]
                for name, band in bands.items()
            }

        return blamed(wrong, starts, over_band)

    def suggested(self, moved: Moved) -> Suggested:
        """Return what the build file should say by a cause, and how sure that is."""
        cause, build = moved.cause, self.driven.build
        found, lit = self.driven_rows({cause.name: moved.value}), self.drive_A > 0
        mean = {name: float(values[lit].mean()) for name, values in found.items() if lit.any()}
        off = 0.0
        if not mean:
            pass  # dark throughout: no current and no heat that could be off
        elif "pack" in cause.judged:
            off, _ = pack_off(
                build, mean["current_A"], mean["output_V"], mean["pack_V"], mean["pack_A"]
            )
        elif cause.unit in ("K/W", "J/K"):
            off, _ = heat_off(
                build, mean["current_A"], mean["output_V"], mean["heat_W"], mean["light_W"]
            )
        total = cause.in_key * float(np.hypot(moved.spread, off * moved.value))
        value, spread = cause.in_key * moved.value, cause.in_key * moved.spread
        if cause.name == "mount_sink_K_W":
            value = max(value - build.heat.mount_pad_K_W, _LEAST_K_W)
        unit = "mohm" if cause.in_key == 1000.0 else cause.unit
        return Suggested(cause.key, value, spread, total, unit)


def _apart(drive_A: Values) -> Flags:
    """Return the rows that are not beside an edge of the drive."""
    most = max(float(drive_A.max()), 1e-9)
    edge = np.abs(np.diff(drive_A, prepend=drive_A[0])) > 0.02 * most
    near = edge.copy()
    for shift in (1, 2):
        near[shift:] |= edge[:-shift]
        near[:-shift] |= edge[shift:]
    return ~near
