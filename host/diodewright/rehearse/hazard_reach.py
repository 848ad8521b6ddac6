"""How far a laser's hazard reaches, against the spread of its beam: the numbers of a figure."""

import math
from collections.abc import Callable
from dataclasses import replace
from typing import Any

import numpy as np

from diodewright.hazard.beam import Beam
from diodewright.hazard.reach import beam_distance_m
from diodewright.rehearse.hazard_laser import GAIN, LaserHazard

__all__ = ["reach_over_spread", "spread_mrad"]

#: The divergence is varied by so many decades either way; points of a line.
_DECADES, _POINTS = 1.5, 61


def spread_mrad(beam: Beam) -> float:
    """Return the geometric mean of both axes' full divergence at 1/e [mrad]."""
    return math.sqrt(beam.wide_mrad * beam.high_mrad)


def reach_over_spread(of: LaserHazard) -> dict[str, Any]:
    """Return columns of hazard distance over divergence, both axes scaled alike.

    ``spread_mrad``; ``glance_m`` for a chance look, ``hit_m`` for one unnoticed, ``binoculars_m``
    for a chance look through them; ``here_mrad`` and ``here_m`` are the build's own.
    """
    beam, direct, hit = of.worst_beam.beam, of.reach("direct"), of.reach("direct_hit")
    times = np.logspace(-_DECADES, _DECADES, _POINTS)

    def column(found: Callable[[Beam], float]) -> list[float]:
        return [float(f"{found(_scaled(beam, float(each))):.5g}") for each in times]

    return {
        "spread_mrad": column(spread_mrad),
        "glance_m": column(lambda at: beam_distance_m(of.watts_W, direct.limit_W_m2, at)),
        "hit_m": column(lambda at: beam_distance_m(of.watts_W, hit.limit_W_m2, at)),
        "binoculars_m": column(lambda at: beam_distance_m(of.watts_W, direct.limit_W_m2, at, GAIN)),
        "here_mrad": spread_mrad(beam),
        "here_m": direct.distance_m,
    }


def _scaled(beam: Beam, factor: float) -> Beam:
    return replace(beam, wide_mrad=factor * beam.wide_mrad, high_mrad=factor * beam.high_mrad)
