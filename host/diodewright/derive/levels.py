"""Levels, ramp and start of the law, from a build: what a set stage or a gated one is asked for."""

import math

from diodewright.build import Build
from diodewright.derive.electrics import highest_level_A
from diodewright.derive.enables import start_ticks
from diodewright.derive.rounding import given, whole_mA

__all__ = ["CAPPED_MA", "level_words"]

FALL_MS = 20.0
TRIM_GAIN = 1 / 64

#: What a cap leaves of a gated stage [mA]: below its gate, hence dark.
CAPPED_MA = 1
_GATE_MA = 2


def _one_level(build: Build) -> dict[str, int]:
    """Return the levels of a gated stage: its module's current, at once or not at all.

    Every cap goes on falling to 1 mA, and the gate lies at 2 mA: dark where a cap ends, lit again
    where it begins.
    """
    module_mA = whole_mA(build.stage.module_A)
    return {
        **{f"level_{i}_mA": module_mA for i in range(4)},
        "top_mA": module_mA,
        "absolute_mA": module_mA,
        "start_mA": module_mA,
        "ramp_ticks": 1,
        "rise_q64": 1,
        "fall_q64": 64 * module_mA,
        "stage_ticks": start_ticks(build, 2 * build.stage.module_rise_ms),
        "gate_mA": _GATE_MA,
        "authority_mA": 0,
        "trim_shift": 14,
        "reserve_mA": CAPPED_MA,
        "dim_mA": CAPPED_MA,
    }


def _set_levels(build: Build) -> dict[str, int]:
    named_A = [level_A for _, level_A in build.levels.by_current]
    levels_mA = [whole_mA(level_A) for level_A in named_A]
    levels_mA += [min(levels_mA)] * (4 - len(levels_mA))
    top_A = highest_level_A(build)
    authority_mA = math.floor(10 * top_A * build.limits.authority_pct)
    top_mA = max(levels_mA) + authority_mA
    start_mA = whole_mA(build.limits.start_level_A)
    ramp_ticks = math.ceil(build.limits.soft_start_ms)
    steepest_q64 = 1.5 * 64 * (max(levels_mA) - start_mA) / ramp_ticks
    return {
        **{f"level_{i}_mA": level for i, level in enumerate(levels_mA[:4])},
        "top_mA": top_mA,
        "absolute_mA": top_mA,
        "start_mA": start_mA,
        "ramp_ticks": ramp_ticks,
        "rise_q64": math.ceil(steepest_q64) + 1,
        "fall_q64": math.ceil(64 * top_mA / given(build.limits.fall_ms, FALL_MS)),
        "stage_ticks": start_ticks(build),
        "gate_mA": 0,
        "authority_mA": authority_mA,
        "trim_shift": math.ceil(-math.log2(given(build.limits.trim_gain, TRIM_GAIN))),
        "reserve_mA": whole_mA(build.levels.reserve_A),
        "dim_mA": whole_mA(given(build.limits.dim_A, build.levels.reserve_A)),
    }


def level_words(build: Build) -> dict[str, int]:
    """Return the words about levels, ramp, start and how long one press may light."""
    own = _one_level(build) if build.stage.kind == "gated" else _set_levels(build)
    return own | {
        "delay_ticks": math.ceil(1000 * build.limits.delay_s),
        "close_ticks": 500,
        "auto_off_ticks": math.floor(1000 * build.controls.auto_off_s),
    }
