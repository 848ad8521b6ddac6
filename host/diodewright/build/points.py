"""From a data sheet's points to the parameters of the diode's equations.

Nobody is asked for a saturation current: the points of the forward curve and of the light curve
are read off the data sheet, and the parameters are fitted here.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

__all__ = ["Forward", "Light", "PointsError", "fit_forward", "fit_light", "slope_limit_W_A"]

_ELEMENTARY_C = 1.602176634e-19
_BOLTZMANN_J_K = 1.380649e-23
_PLANCK_J_s = 6.62607015e-34
_LIGHT_m_s = 299792458.0

#: A point further off the fitted curve than this is not a diode's. Common practice, no source.
_FORWARD_OFF = 0.02
_LIGHT_OFF = 0.10
#: Points below this share of the brightest lie in the bend at the threshold.
_STRAIGHT = 0.10

_Array = npt.NDArray[np.float64]


class PointsError(ValueError):
    """The points can't be those of a diode; the text says why."""


@dataclass(frozen=True)
class Forward:
    """``V = a + b ln(I / 1 A) + Rs I`` at the reference temperature.

    Attributes
    ----------
    a_V, b_V, rs_ohm : the parameters; `b_V` is ideality times kT/q.
    worst_V : largest distance of a point from the curve [V].
    """

    a_V: float
    b_V: float
    rs_ohm: float
    worst_V: float

    def voltage_V(self, current_A: float) -> float:
        """Return the forward voltage [V] at a current above 0 [A]."""
        return self.a_V + self.b_V * math.log(current_A) + self.rs_ohm * current_A


@dataclass(frozen=True)
class Light:
    """``P = slope (I - threshold)`` above the threshold, nothing below it.

    Attributes
    ----------
    threshold_A, slope_W_A : the parameters.
    worst_W : largest distance of a point from the line [W].
    """

    threshold_A: float
    slope_W_A: float
    worst_W: float

    def light_W(self, current_A: float) -> float:
        """Return the light [W] at a current [A]."""
        return self.slope_W_A * max(0.0, current_A - self.threshold_A)


def slope_limit_W_A(wavelength_nm: float) -> float:
    """Return the slope [W/A] of one photon an electron, ``h c / (q wavelength)``.

    No single laser junction can exceed it. 2.384 W/A at 520 nm. Constants: the exact SI values.
    """
    return _PLANCK_J_s * _LIGHT_m_s / (_ELEMENTARY_C * wavelength_nm * 1e-9)


def _columns(points: Sequence[tuple[float, float]]) -> tuple[_Array, _Array]:
    if len(points) < 2:
        raise PointsError("needs at least two points")
    table = np.array(points, dtype=np.float64)
    if table.shape != (len(points), 2) or not np.isfinite(table).all():
        raise PointsError("needs pairs of finite numbers")
    if (np.diff(table[:, 0]) <= 0).any():
        raise PointsError("the current must rise from point to point")
    return table[:, 0], table[:, 1]


def fit_forward(
    points: Sequence[tuple[float, float]],
    *,
    ideality_min: float = 1.0,
    reference_degC: float = 25.0,
) -> Forward:
    """Fit ``V = a + b ln(I / 1 A) + Rs I`` to points of (current [A], voltage [V]).

    Least squares with ``Rs >= 0`` and ``b >= ideality_min kT/q`` (25.693 mV at 25 degC for an
    ideality of 1): below the points the curve then still falls as a junction's does. Since only
    two parameters are bounded, the best of the four choices of held parameters is the exact
    solution; with as few points as parameters the logarithm is held first.
    Equation: Shockley's diode with series resistance, its "-1" left out (I far above Is).

    Raises
    ------
    PointsError
        Voltage that does not rise with current, currents of 0 or less, or points that lie more
        than 2 % off the curve (common practice, no source).
    """
    current, voltage = _columns(points)
    if (current <= 0).any():
        raise PointsError("every current must be above 0")
    if (np.diff(voltage) <= 0).any():
        raise PointsError("the voltage must rise with the current")
    b_min = ideality_min * _BOLTZMANN_J_K * (reference_degC + 273.15) / _ELEMENTARY_C
    rest = voltage - b_min * np.log(current)
    basis = np.column_stack([np.ones_like(current), np.log(current), current])

    best: tuple[float, _Array] | None = None
    for free in ([0, 2], [0, 1], [0], [0, 1, 2]):
        if len(free) > len(current):
            continue
        solution = np.zeros(3)
        solution[free] = np.linalg.lstsq(basis[:, free], rest, rcond=None)[0]
        if solution[1] < 0 or solution[2] < 0:
            continue
        squares = float(np.sum((basis @ solution - rest) ** 2))
        if best is None or squares < best[0] - 1e-12:
            best = squares, solution
    assert best is not None, "the constant alone is always a solution"
    a, b, rs = (float(each) for each in best[1])
    off = np.abs(basis @ best[1] - rest)
    at = int(np.argmax(off))
    if off[at] > _FORWARD_OFF * voltage[at]:
        raise PointsError(
            f"no diode's curve: at {current[at]:g} A it lies {off[at]:.2f} V off the best fit"
        )
    return Forward(a, b + b_min, rs, float(off[at]))


def fit_light(points: Sequence[tuple[float, float]], *, laser: bool = True) -> Light:
    """Fit ``P = slope (I - threshold)`` to points of (current [A], light [W]).

    Least squares over the points above a tenth of the brightest, so that the bend at the
    threshold does not lean on the line; an LED has threshold 0. A laser's points must be pulsed
    and at one junction temperature, else heating bends them.

    Raises
    ------
    PointsError
        Light that falls with current, a laser without a threshold, or points that lie more than
        10 % of the brightest off the line (common practice, no source).
    """
    current, light = _columns(points)
    if (light < 0).any() or (np.diff(light) < 0).any() or light[-1] <= 0:
        raise PointsError("the light must rise with the current")
    straight = light >= _STRAIGHT * light[-1]
    x, y = current[straight], light[straight]
    if laser:
        if len(x) < 2:
            raise PointsError("needs two points well above the threshold")
        line = np.linalg.lstsq(np.column_stack([x, np.ones_like(x)]), y, rcond=None)[0]
        slope, offset = float(line[0]), float(line[1])
        if slope <= 0 or offset >= 0:
            raise PointsError("these points of a laser show no threshold")
        threshold = -offset / slope
    else:
        slope, threshold = float(x @ y / (x @ x)), 0.0
    off = np.abs(slope * np.maximum(0.0, current - threshold) - light)
    at = int(np.argmax(off))
    if off[at] > _LIGHT_OFF * light[-1]:
        raise PointsError(
            f"no straight line: at {current[at]:g} A it lies {off[at]:.2g} W off the best fit"
        )
    return Light(threshold, slope, float(off[at]))
