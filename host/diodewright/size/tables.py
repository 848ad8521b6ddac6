"""Figures over current and from cold to hot: plain rows, for a screen, a document or a plot."""

from dataclasses import dataclass

from diodewright.build import Build
from diodewright.derive import settings
from diodewright.derive.electrics import highest_level_A
from diodewright.size.caps import by_mount_A
from diodewright.size.optical import light_lm
from diodewright.size.working import Working, lit_state, plant_of, settled

__all__ = ["CurrentRow", "MountRow", "cold_to_hot", "over_current"]

_MOUNT_STEPS = 7
_CURRENT_STEPS = 24


@dataclass(frozen=True)
class MountRow:
    """The light on a mount at one temperature, at what the law allows there.

    Attributes
    ----------
    mount_degC : held.
    current_A : the highest level, less what thermal cutback takes; 0 at the trip.
    forward_V, light_W, light_lm, heat_W, junction_degC : of the diode there.
    """

    mount_degC: float
    current_A: float
    forward_V: float
    light_W: float
    light_lm: float
    heat_W: float
    junction_degC: float


@dataclass(frozen=True)
class CurrentRow:
    """One current through the diode, full pack.

    Attributes
    ----------
    current_A : through the diode.
    forward_V, light_W, light_lm, heat_W, wall_plug_pct, junction_degC : mount at ambient.
    steady_W, steady_lm, steady_junction_degC : heat settled against the air, nothing cut back.
    """

    current_A: float
    forward_V: float
    light_W: float
    light_lm: float
    heat_W: float
    wall_plug_pct: float
    junction_degC: float
    steady_W: float
    steady_lm: float
    steady_junction_degC: float


def _mounts_degC(build: Build) -> list[float]:
    """Return mount temperatures from the coldest air to the trip, cutback's two ends among them."""
    limits, low = build.limits, build.heat.ambient_min_degC
    step = (limits.mount_trip_degC - low) / (_MOUNT_STEPS - 1)
    even = (low + step * place for place in range(_MOUNT_STEPS))
    ends = (limits.mount_warm_degC, limits.mount_hot_degC, limits.mount_trip_degC)
    near = min(step, 10.0) / 2
    chosen = [at for at in even if all(abs(at - end) > near for end in ends)]
    return sorted({*chosen, *(end for end in ends if end >= low), build.heat.ambient_degC})


def cold_to_hot(build: Build) -> tuple[MountRow, ...]:
    """Return the light from the coldest air to the mount's trip, full pack."""
    p, words, x = plant_of(build), settings(build), lit_state()
    rows = []
    for mount_degC in _mounts_degC(build):
        allowed_A = min(highest_level_A(build), by_mount_A(words, mount_degC))
        if allowed_A <= 0:
            rows.append(MountRow(mount_degC, 0.0, 0.0, 0.0, 0.0, 0.0, mount_degC))
            continue
        at = settled(p, allowed_A, 100.0, mount_degC, x)
        seen_lm = light_lm(build, at.light_W)
        rows.append(
            MountRow(
                mount_degC,
                at.diode_A,
                at.diode_V,
                at.light_W,
                seen_lm,
                at.heat_W,
                at.junction_degC,
            )
        )
    return tuple(rows)


def _current_row(build: Build, cool: Working, steady: Working) -> CurrentRow:
    return CurrentRow(
        current_A=cool.diode_A,
        forward_V=cool.diode_V,
        light_W=cool.light_W,
        light_lm=light_lm(build, cool.light_W),
        heat_W=cool.heat_W,
        wall_plug_pct=100 * cool.light_W / cool.drawn_W,
        junction_degC=cool.junction_degC,
        steady_W=steady.light_W,
        steady_lm=light_lm(build, steady.light_W),
        steady_junction_degC=steady.junction_degC,
    )


def over_current(build: Build) -> tuple[CurrentRow, ...]:
    """Return the light over current, from little to the diode's rating or the highest level.

    The highest level is one of the rows. Points that the stage can't hold are left out. A gated
    module stands for one of each current.
    """
    p, level_A = plant_of(build), highest_level_A(build)
    top_A = max(level_A, build.diode.rated_A)
    steps_A = {top_A * place / _CURRENT_STEPS for place in range(1, _CURRENT_STEPS + 1)}
    rows = []
    for current_A in sorted(steps_A | {level_A}):
        cool = settled(p, current_A, 100.0, build.heat.ambient_degC)
        steady = settled(p, current_A)
        if not (cool.drops_out or steady.drops_out):
            rows.append(_current_row(build, cool, steady))
    return tuple(rows)
