"""The few working points that all topics read, found once for a build."""

from collections.abc import Mapping
from dataclasses import dataclass

from diodewright.build import Build
from diodewright.derive import settings
from diodewright.derive.electrics import highest_level_A
from diodewright.size.descent import last_full, start_charge_pct
from diodewright.size.warming import kept_by_heat
from diodewright.size.working import Corner, Working, plant_of, settled

__all__ = ["Survey", "cold_corner", "hot_corner", "survey"]


@dataclass(frozen=True)
class Survey:
    """One build's points at its highest level.

    Attributes
    ----------
    words : the build's settings.
    cool : full pack, typical diode, mount at ambient.
    steady : the same, heat settled against the air, as if nothing cut back.
    hot : the same in the warmest air.
    kept, kept_hot : where thermal cutback holds a light that stays on, at ambient and in that air.
    last, cold_last : where the pack last bears the whole level, typical and in the cold corner.
    """

    words: Mapping[str, int]
    cool: Working
    steady: Working
    hot: Working
    kept: Working
    kept_hot: Working
    last: Working
    cold_last: Working

    @property
    def pack_A(self) -> float:
        """Highest current out of the pack over the whole discharge, warm or cold."""
        return max(self.cool.pack_A, self.last.pack_A, self.cold_last.pack_A)


def cold_corner(build: Build) -> Corner:
    """Return the coldest air with cold cells and a diode of highest voltage."""
    factor = build.pack.cold_factor if build.pack.kind == "cells" else 1.0
    return Corner(build.heat.ambient_min_degC, build.diode.forward_spread_V, factor)


def hot_corner(build: Build) -> Corner:
    """Return the warmest air."""
    return Corner(build.heat.ambient_max_degC)


def survey(build: Build) -> Survey:
    """Find the points of `build`.

    Raises
    ------
    DerivedError
        The build gives a settings word that the board would refuse.
    """
    p, level_A = plant_of(build), highest_level_A(build)
    charge_pct, words = start_charge_pct(build), settings(build)
    return Survey(
        words=words,
        cool=settled(p, level_A, charge_pct, build.heat.ambient_degC),
        steady=settled(p, level_A, charge_pct),
        hot=settled(plant_of(build, hot_corner(build)), level_A, charge_pct),
        kept=kept_by_heat(build, words),
        kept_hot=kept_by_heat(build, words, hot_corner(build)),
        last=last_full(build, words),
        cold_last=last_full(build, words, cold_corner(build)),
    )
