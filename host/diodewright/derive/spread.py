"""What the tolerances of a build do to the readings that its thresholds look at, term by term.

To first order: each tolerance is a term of its own, worst case their plain sum, likely three
combined standard deviations of independent terms (root sum of squares, JCGM 100:2008, 5.1.2; an
even term of half-width a has the variance a^2/3, 4.3.7). Settings are derived with these, and
`guard_bands` asks them again of the settings as they are.
"""

import math
from collections.abc import Iterable
from dataclasses import dataclass

from diodewright.build import Build
from diodewright.derive.board import CHECK_V
from diodewright.derive.calibrated import current_V_A, output_ratio, pack_ratio, sensor_off_K
from diodewright.derive.electrics import (
    highest_level_A,
    operate,
    parameters,
    settle_on_mount,
)
from diodewright.derive.plant import pack_full_V
from diodewright.derive.tolerances import SIGMAS, Tolerance, tolerances

__all__ = [
    "Spread",
    "Term",
    "check_high_V",
    "heat_model_min_K",
    "highest_output_V",
    "likely",
    "output_high_V",
    "pack_high_V",
    "worst",
]

#: What noise of that many standard deviations does to one reading counts as a limit.
_NOISE_SIGMAS = 3.0
#: A third of its model is the least that the mount may be over the sink: the law's own number.
_THIRD = 1.0 / 3.0


@dataclass(frozen=True)
class Term:
    """What one tolerance can do to a reading, away from the threshold and towards it.

    Attributes
    ----------
    name : the tolerance's.
    away, towards : in the band's unit; `away` is not above 0, `towards` not below it.
    even : whether draws lie evenly between; else normal, limits at three standard deviations.
    """

    name: str
    away: float
    towards: float
    even: bool = True

    @property
    def variance(self) -> float:
        """Variance of the draw: a^2/3 of half-width a if even, (a/3)^2 if normal."""
        half = (self.towards - self.away) / 2
        return half * half / (3.0 if self.even else SIGMAS * SIGMAS)


def worst(terms: Iterable[Term]) -> float:
    """Return the worst case: all at the end that goes towards the threshold."""
    return sum(term.towards for term in terms)


def likely(terms: Iterable[Term]) -> float:
    """Return mean and three combined standard deviations of independent terms.

    At most the worst case: of a few even terms three deviations reach beyond it.
    """
    rows = tuple(terms)
    mean = sum((term.towards + term.away) / 2 for term in rows)
    return min(worst(rows), mean + SIGMAS * math.sqrt(sum(term.variance for term in rows)))


class Spread:
    """The terms of one build, by the reading that they move."""

    def __init__(self, build: Build) -> None:
        self.build = build
        self.rows = {row.name: row for row in tolerances(build)}
        self.codes_V = build.sensors.reference_V / 4095

    def of(self, name: str, factor: float, falls: bool = False) -> tuple[Term, ...]:
        """Return the term of a row times `factor`; `falls` where its low end raises the reading."""
        row: Tolerance | None = self.rows.get(name)
        if row is None:
            return ()
        low, high = (-row.high, -row.low) if falls else (row.low, row.high)
        return (Term(name, factor * low, factor * high, row.shape == "even"),)

    def reference(self, reading: float, down: bool = False) -> tuple[Term, ...]:
        """Return what reference and rail do: a reading is the pin over the reference."""
        falls = not down
        return (
            *self.of("adc-reference", reading, falls),
            *self.of("rail", reading, falls),
        )

    def offset(self, per_V: float) -> tuple[Term, ...]:
        """Return offset and noise of the converter, in units that are `per_V` to a volt."""
        noise = _NOISE_SIGMAS * self.build.sensors.adc_noise_codes * self.codes_V * per_V
        return (*self.of("adc-offset", per_V), Term("adc-noise", -noise, noise, even=False))

    def made(self, at_A: float) -> tuple[Term, ...]:
        """Return what the true current does at a request of `at_A` [A]."""
        return tuple(
            term for name in ("set-path", "own-shunt", "module") for term in self.of(name, at_A)
        )

    def read(self, at_A: float) -> tuple[Term, ...]:
        """Return what the read current does at a true one of `at_A` [A].

        The rail moves request and reading alike, each the other way: that cancels.
        """
        per_V = 1.0 / current_V_A(self.build)
        return (
            *self.of("monitor-gain", at_A),
            *self.of("adc-reference", at_A, falls=True),
            *self.of("monitor-zero", per_V),
            *self.offset(per_V),
        )

    def output(self, output_V: float, down: bool = False) -> tuple[Term, ...]:
        """Return what the reading of an output of [V] does, upwards or down."""
        return (
            *self.of("output-divider", output_V, falls=down),
            *self.reference(output_V, down),
            *self.offset(1.0 / output_ratio(self.build)),
        )

    def pack(self, pack_V: float) -> tuple[Term, ...]:
        """Return what the reading of a pack of [V] does upwards."""
        return (
            *self.of("pack-divider", pack_V),
            *self.reference(pack_V),
            *self.offset(1.0 / pack_ratio(self.build)),
        )

    def full_pack(self) -> tuple[Term, ...]:
        """Return what the reading of the full pack does upwards."""
        full_V = pack_full_V(self.build)
        return (*self.pack(full_V), *self.of("bench-voltage", full_V))

    def check(self, down: bool = False) -> tuple[Term, ...]:
        """Return what the reading of the known voltage does, upwards or down."""
        return (
            *self.of("check-voltage", CHECK_V, falls=down),
            *self.reference(CHECK_V, down),
            *self.offset(1.0),
        )


def highest_output_V(build: Build) -> float:
    """Return the highest healthy output [V]: highest level and diode, coldest junction."""
    p, level_A = parameters(build), highest_level_A(build)
    cold = operate(p, level_A, build.heat.ambient_min_degC, build.diode.forward_spread_V)
    return float(cold.volts_V + level_A * (p.series_ohm + p.a_ohm))


def output_high_V(build: Build) -> float:
    """Return the highest reading [V] of a healthy output."""
    output_V = highest_output_V(build)
    return output_V + worst(Spread(build).output(output_V))


def pack_high_V(build: Build) -> float:
    """Return the highest reading [V] of a full pack."""
    return pack_full_V(build) + worst(Spread(build).full_pack())


def check_high_V(build: Build) -> float:
    """Return the highest reading [V] of the known voltage."""
    return CHECK_V + worst(Spread(build).check())


def heat_model_min_K(build: Build) -> float:
    """Return the least modelled rise of mount over sink [K] from which it may be judged.

    The model takes all electrical power for heat and the pad for nominal. A third of it is missed
    by a healthy light of the brightest diode on the thinnest pad, its power read high, whose two
    sensors stand at opposite ends of their tolerance, unless the model is above
    ``2 tol / (h (1 - pad) - (1 + power) / 3)``, h the share of the power that is heat. At most
    100 K, the end of the word's range, which no light reaches: nothing can be judged then.
    """
    of, p = Spread(build), parameters(build)
    rows, level_A = of.rows, highest_level_A(build)
    cool = settle_on_mount(p, level_A, build.heat.ambient_min_degC)
    brighter = 1.0 + (rows["slope"].high if "slope" in rows else 0.0)
    heat = 1.0 - brighter * cool.light_W / cool.electrical_W
    power = worst(of.output(cool.volts_V)) / cool.volts_V + worst(of.read(level_A)) / level_A
    pad = rows["pad"].low if "pad" in rows else 0.0
    left = heat * (1.0 + pad) - (1.0 + power) * _THIRD
    between_K = sensor_off_K(build, "mount") + sensor_off_K(build, "sink")
    return between_K / left if 100.0 * left > between_K else 100.0
