"""What the law allows at a settled point: its own cut of the pack and of the mount, in amperes.

The slope between a cap's two ends is the law's own function, called; the pack estimate is told
once more in volts (`observe_stores` keeps it in millivolts, behind a filter).
"""

from collections.abc import Mapping

from diodedriver import law
from diodewright.size.working import Working

__all__ = ["by_mount_A", "by_pack_A", "estimate_V"]

#: Above every pack that a build may have [mV]: the law's cap falls as this less the pack rises.
_ABOVE_mV = 20_000


def estimate_V(words: Mapping[str, int], at: Working) -> float:
    """Return the law's estimate of the pack at rest [V]: terminals and the least plausible sag."""
    load_A = at.diode_A * at.output_V / at.pack_V if at.pack_V > 0 else 0.0
    return at.pack_V + load_A * words["sag_mohm"] / 1000


def _left_A(words: Mapping[str, int], taken_mA: int) -> float:
    """Return what is left of the top [A]; a gated stage gives its level or, below its gate, 0."""
    left_mA = words["top_mA"] - taken_mA
    if words["gate_mA"]:
        left_mA = words["top_mA"] if left_mA >= words["gate_mA"] else 0
    return left_mA / 1000


def by_pack_A(words: Mapping[str, int], rested_V: float) -> float:
    """Return the current [A] that the law allows at its estimate `rested_V` [V] of the pack."""
    below_mV = _ABOVE_mV - round(1000 * rested_V)
    depth_mA = words["top_mA"] - words["reserve_mA"]
    ends_mV = (_ABOVE_mV - words["cutback_mV"], _ABOVE_mV - words["cutback_end_mV"])
    return _left_A(words, law.fade(below_mV, *ends_mV, depth_mA))


def by_mount_A(words: Mapping[str, int], mount_degC: float) -> float:
    """Return the current [A] that the law allows at `mount_degC` [degC]; 0 at the trip."""
    mount_cK = round(100 * (mount_degC + 273.15))
    if mount_cK >= words["trip_cK"]:
        return 0.0
    depth_mA = words["top_mA"] - words["dim_mA"]
    return _left_A(words, law.fade(mount_cK, words["warm_cK"], words["hot_cK"], depth_mA))
