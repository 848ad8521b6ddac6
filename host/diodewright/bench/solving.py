"""A least-squares fit that says what its record can't tell, and keeps that as it was.

Method. lmfit's Levenberg-Marquardt over the logarithm of what scales and over what shifts. Its
covariance, from the curvature at the minimum and the scatter of what is left, is widened by the
time over which what is left hangs together (integrated autocorrelation time, at least 1): a model
that is a little wrong leaves waves, and waves are no independent readings. Stated uncertainties
are two standard deviations of that.

A quantity is kept at the build's value where its uncertainty is more than `WEAK` of it, or more
than `LOOSE` of it and tied to another by a correlation above `TIED`; then the rest is fitted again.

Source. Autocorrelation time: A. D. Sokal, "Monte Carlo methods in statistical mechanics" (1996),
from memory; the two limits are common practice, no source.
"""

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from diodewright.bench.span import Values
from diodewright.build.extras import Missing

__all__ = ["LOOSE", "TIED", "WEAK", "Fitted", "Knob", "Solution", "hang_together", "solved"]

#: Two standard deviations of more than this share of a value say that it was not seen.
WEAK = 0.3
#: Correlated by more than that, and two deviations of more than this share: two that are one.
TIED, LOOSE = 0.985, 0.1
_SIGMAS = 2.0
#: Nothing moves beyond this factor of the build's value.
_FACTOR = 20.0
_LEAST_SHARE = 0.05
_LAGS_SHARE = 4

#: Parameter values -> channel -> model less record, each of its own unit over its own scatter.
Misfit = Callable[[Mapping[str, float]], Mapping[str, Values]]


@dataclass(frozen=True)
class Knob:
    """One quantity that may be fitted.

    Attributes
    ----------
    name : the plant's parameter, or a name of the fit's own.
    start : the build's value.
    key : what it is in a build file; "" for what only belongs to the record (the air).
    text : in words.
    unit : of `start`.
    scales : it is a positive factor; else it shifts.
    """

    name: str
    start: float
    key: str
    text: str
    unit: str
    scales: bool = True


@dataclass(frozen=True)
class Fitted:
    """What became of one quantity.

    Attributes
    ----------
    value : fitted, or the build's where it was kept.
    spread : two standard deviations, in its unit; 0 where it was kept.
    kept : why it was kept; "" where it was fitted.
    """

    knob: Knob
    value: float
    spread: float
    kept: str = ""


@dataclass(frozen=True)
class Solution:
    """A fit.

    Attributes
    ----------
    every : in the order of the knobs.
    names : of what was fitted, in the order of `correlation`.
    correlation : between them, -1 to 1.
    left : channel -> what is left, record less model.
    widened : factor by which uncertainties were widened because what is left hangs together.
    """

    every: tuple[Fitted, ...]
    names: tuple[str, ...]
    correlation: Values
    left: Mapping[str, Values]
    widened: float

    def value(self, name: str) -> float:
        """Return one quantity's value."""
        return next(each.value for each in self.every if each.knob.name == name)

    def values(self) -> dict[str, float]:
        """Return every quantity's value by name."""
        return {each.knob.name: each.value for each in self.every}


def solved(knobs: Sequence[Knob], misfit: Misfit) -> Solution:
    """Fit `knobs`, keeping what the record can't tell; see the module.

    Raises
    ------
    Missing
        lmfit is not installed.
    """
    kept: dict[str, str] = {}
    while True:
        free = [knob for knob in knobs if knob.name not in kept]
        outcome = _minimum(free, knobs, misfit)
        found = _not_told(free, outcome)
        if found is None:
            return _solution(knobs, kept, free, outcome)
        name, why = found
        kept[name] = why


@dataclass(frozen=True)
class _Outcome:
    at: Values
    sigma: Values
    correlation: Values
    values: dict[str, float]
    left: Mapping[str, Values]
    widened: float


def _lmfit() -> Any:
    try:
        import lmfit
    except ImportError as error:
        raise Missing("lmfit, which fits,") from error
    return lmfit


def _to_values(
    knobs: Sequence[Knob], free: Sequence[Knob], at: Sequence[float]
) -> dict[str, float]:
    values = {knob.name: knob.start for knob in knobs}
    for knob, x in zip(free, at, strict=True):
        values[knob.name] = knob.start * math.exp(x) if knob.scales else knob.start + x
    return values


def _minimum(free: Sequence[Knob], knobs: Sequence[Knob], misfit: Misfit) -> _Outcome:
    """Return the minimum over `free`, with each one's standard deviation and correlations."""
    lmfit = _lmfit()
    params = lmfit.Parameters()
    reach = math.log(_FACTOR)
    for place, knob in enumerate(free):
        ends = {"min": -reach, "max": reach} if knob.scales else {}
        params.add(f"q{place}", value=0.0, **ends)

    def residual(given: Any) -> Values:
        at = [given[f"q{place}"].value for place in range(len(free))]
        return np.concatenate(list(misfit(_to_values(knobs, free, at)).values()))

    fit = lmfit.minimize(residual, params, method="leastsq", epsfcn=1e-8)
    at = np.array([fit.params[f"q{place}"].value for place in range(len(free))])
    values = _to_values(knobs, free, at.tolist())
    left = {name: -each for name, each in misfit(values).items()}
    widened = math.sqrt(max(hang_together(each) for each in left.values()))
    covariance = fit.covar if fit.covar is not None else _covariance(residual, params, at)
    sigma = np.sqrt(np.maximum(np.diag(covariance), 0.0))
    safe = np.where(sigma > 0, sigma, 1.0)
    return _Outcome(at, sigma * widened, covariance / np.outer(safe, safe), values, left, widened)


def _covariance(residual: Callable[[Any], Values], params: Any, at: Values) -> Values:
    """Return a covariance where the curvature has no inverse: what is not seen gets a huge one."""
    step = 1e-4
    sides = []
    for place in range(len(at)):
        ends = []
        for sign in (step, -step):
            for other, x in enumerate(at):
                params[f"q{other}"].value = x + (sign if other == place else 0.0)
            ends.append(residual(params))
        sides.append((ends[0] - ends[1]) / (2 * step))
    for other, x in enumerate(at):
        params[f"q{other}"].value = x
    last = residual(params)
    slopes = np.array(sides)
    curvature = slopes @ slopes.T
    unseen = 1e-12 * max(float(np.trace(curvature)), 1e-30)
    variance = float(last @ last) / max(len(last) - len(at), 1)
    inverse = np.linalg.inv(curvature + unseen * np.eye(len(at)))
    return np.asarray(inverse * variance, dtype=np.float64)


def _not_told(free: Sequence[Knob], outcome: _Outcome) -> tuple[str, str] | None:
    """Return the quantity that this record tells least of, and why; None where it tells all.

    Of two that are tied the weaker goes, but never what belongs to the record alone.
    """
    spread = _SIGMAS * outcome.sigma
    loose = [place for place, knob in enumerate(free) if knob.key]
    if not loose:
        return None
    weakest = max(loose, key=lambda place: spread[place])
    tied = np.abs(outcome.correlation - np.eye(len(free)))
    for place in sorted(loose, key=lambda one: -spread[one]):
        other = int(np.argmax(tied[place]))
        if tied[place, other] > TIED and spread[place] > LOOSE:
            said = f"{outcome.correlation[place, other]:+.3f}"
            return free[place].name, f"not told from {free[other].text} (correlation {said})"
    if spread[weakest] > WEAK:
        return free[weakest].name, f"this record leaves it {_loose(spread[weakest])}"
    return None


def _loose(spread: float) -> str:
    return "free" if spread > math.log(_FACTOR) else f"within {100 * spread:.0f} % only"


def _solution(
    knobs: Sequence[Knob], kept: Mapping[str, str], free: Sequence[Knob], outcome: _Outcome
) -> Solution:
    sigma = dict(zip((knob.name for knob in free), outcome.sigma, strict=True))
    every = []
    for knob in knobs:
        value = outcome.values[knob.name]
        spread = _SIGMAS * sigma.get(knob.name, 0.0) * (value if knob.scales else 1.0)
        every.append(Fitted(knob, value, float(spread), kept.get(knob.name, "")))
    names = tuple(knob.name for knob in free)
    return Solution(tuple(every), names, outcome.correlation, outcome.left, outcome.widened)


def hang_together(left: Values) -> float:
    """Return the integrated autocorrelation time of what is left [rows], at least 1.

    1 for readings that know nothing of each other; sums up to where the correlation is below
    `_LEAST_SHARE`.
    """
    count = len(left)
    away = left - left.mean()
    power = float(away @ away)
    if count < _LAGS_SHARE or power <= 0:
        return 1.0
    turned = np.fft.rfft(away, 2 * count)
    shares = np.fft.irfft(turned * np.conj(turned))[: count // _LAGS_SHARE] / power
    below = np.flatnonzero(shares < _LEAST_SHARE)
    upto = int(below[0]) if len(below) else len(shares)
    return max(1.0, 1.0 + 2.0 * float(shares[1:upto].sum()))
