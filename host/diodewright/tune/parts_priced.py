"""Parts that a builder could better, and the change that a price is told for."""

import math

from diodewright.build import Build
from diodewright.build.model import value_of

__all__ = ["parts_of"]

#: Key -> the change: so much of its own unit, or so much of its value.
_BY_UNIT = {
    "sensors.monitor_tolerance_pct": -1.0,
    "stage.set_accuracy_pct": -1.0,
    "sensors.voltage_tolerance_pct": -1.0,
    "sensors.ntc_tolerance_degC": -1.0,
}
_BY_PART = {
    "heat.sink_air_K_W": -0.1,
    "heat.sink_J_K": 0.1,
    "heat.mount_pad_K_W": -0.1,
    "heat.junction_mount_K_W": -0.1,
    "diode.forward_spread_V": -0.1,
    "pack.cell_resistance_mohm": -0.1,
    "pack.capacity_Ah": 0.1,
}


def parts_of(build: Build) -> tuple[tuple[str, float, float], ...]:
    """Return key, value and change of each part that `build` has; no value falls below 0."""
    rows = []
    for path, by in (*_BY_UNIT.items(), *_BY_PART.items()):
        value = value_of(build, path)
        if isinstance(value, int | float) and not math.isnan(value) and value > 0:
            change = max(by if path in _BY_UNIT else by * value, -value)
            rows.append((path, float(value), change))
    return tuple(rows)
