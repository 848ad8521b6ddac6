"""What heat and pack current may be off: a scale of all that is fitted to them.

Two standard deviations, as shares, of independent terms (root sum of squares, JCGM 100:2008,
5.1.2): the build's own tolerances of the readings, and two that no build file states.
"""

import math

from diodewright.build import Build
from diodewright.derive.spread import Spread, likely

__all__ = ["heat_off", "pack_off"]

#: The light that a diode gives may be so much off what the build says; typical, no source.
_LIGHT_OFF = 0.1
#: A third of what the model says that the stage loses; typical, no source.
_LOSS_OFF = 1.0 / 3.0
#: `likely` speaks of three standard deviations.
_TO_TWO = 2.0 / 3.0


def heat_off(
    build: Build, diode_A: float, output_V: float, heat_W: float, light_W: float
) -> tuple[float, str]:
    """Return what the heat may be off [share], and why in words; at mean values while lit."""
    if heat_W <= 0:
        return 0.0, "no heat"
    spread, through = Spread(build), (heat_W + light_W) / heat_W
    read = through * _TO_TWO * likely(spread.read(diode_A)) / diode_A
    across = through * _TO_TWO * likely(spread.output(output_V)) / output_V
    light = _LIGHT_OFF * light_W / heat_W
    return math.hypot(read, across, light), (
        f"current reading {100 * read:.1f} %, voltage reading {100 * across:.1f} %, "
        f"light {100 * light:.1f} % of the heat"
    )


def pack_off(
    build: Build, diode_A: float, output_V: float, pack_V: float, pack_A: float
) -> tuple[float, str]:
    """Return what volts over amperes of the pack may be off [share], and why in words."""
    spread = Spread(build)
    read = _TO_TWO * likely(spread.read(diode_A)) / diode_A
    at_pack = _TO_TWO * likely(spread.pack(pack_V)) / pack_V
    across = loss = 0.0
    if build.stage.kind != "linear":  # whose current is the pack's
        across = _TO_TWO * likely(spread.output(output_V)) / output_V
        loss = _LOSS_OFF * max(1.0 - output_V * diode_A / (pack_V * pack_A), 0.0)
    return math.hypot(read, across, at_pack, loss), (
        f"current reading {100 * read:.1f} %, output reading {100 * across:.1f} %, "
        f"pack reading {100 * at_pack:.1f} %, stage losses {100 * loss:.1f} %"
    )
