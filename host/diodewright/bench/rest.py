"""Whether a recording begins at rest: everything as warm as the air, which is then known.

A lamp that cools looks still for a few seconds. One lump of time constant tau whose temperature
drifts by s [K/s] is ``-s tau`` above the air; only where that, and twice what the noise leaves of
it, is small, the first readings are the air's.
"""

import math

import numpy as np

from diodewright.bench.span import Values
from diodewright.build import Build

__all__ = ["REST_S", "at_rest"]

#: At least so long dark [s], and nothing further from the air than that [K].
REST_S, _MOST_K = 3.0, 1.5
#: Two sensors at rest differ by no more than their tolerances and this [K].
_APART_K = 0.5


def at_rest(build: Build, time_s: Values, mount_degC: Values, sink_degC: Values) -> bool:
    """Return whether these dark rows, from the recording's first on, are a rest."""
    if len(time_s) < 6 or time_s[-1] - time_s[0] < REST_S:
        return False
    apart_K = abs(float((mount_degC - sink_degC).mean()))
    if apart_K > 2 * build.sensors.ntc_tolerance_degC + _APART_K:
        return False
    both = (mount_degC + sink_degC) / 2
    since = time_s - time_s.mean()
    slope = float(since @ both) / float(since @ since)
    left = both - both.mean() - slope * since
    noise = math.sqrt(float(left @ left) / (len(left) - 2) / float(since @ since))
    heat = build.heat
    tau_s = heat.sink_air_K_W * (heat.sink_J_K + heat.mount_J_K)
    return bool((abs(slope) + 2 * noise) * tau_s < _MOST_K and np.isfinite(noise))
