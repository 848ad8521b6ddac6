"""Life against drive, as a range of ratios: it ranks ways to drive one diode, it predicts nothing.

Equation. ``life / life at the rated point = (I / I_rated)^-n exp(Ea / k (1/T - 1/T_rated))``, with
junction temperatures in kelvin and k = 8.617333e-5 eV/K.

Source. Arrhenius and the inverse power law. Activation energies: green InGaN laser diodes 0.258 eV
(Physica Status Solidi A, 2015, doi 10.1002/pssa.201431714, abstract), gallium-nitride violet 0.35
to 0.40 eV (a maker's reliability page); others from memory. The exponent n is from memory: 2 to 5
for lasers, 1.5 to 3 for LEDs; LM-80 and TM-21 give none.

Validity. Slow wear of a part within its ratings. Sudden death (facet damage, static, a broken
bond), the optical field at the facet, humidity and cycling are left out, and the two laws are
taken as independent of each other.
"""

import math
from dataclasses import dataclass

from diodewright.build import Build
from diodewright.derive.electrics import highest_level_A
from diodewright.size.figure import Figure
from diodewright.size.survey import Survey
from diodewright.size.working import plant_of, settled

__all__ = ["WARNING", "LifeRow", "Wear", "against_drive", "arrhenius", "life", "wear_of"]

BOLTZMANN_EV_K = 8.617333e-5
WARNING = (
    "life ranks ways to drive this diode against each other; it predicts no hours, and sudden "
    "death is not in it"
)
#: The maker's rating is taken at this mount [degC]: data sheets rate at a case of 25 degC.
_RATED_MOUNT_DEGC = 25.0
_SHARES = (0.5, 0.8, 0.9, 1.0, 1.1)
#: Above this wavelength [nm] diodes are no gallium nitride.
_NITRIDE_NM = 560.0


@dataclass(frozen=True)
class Wear:
    """What is known of how a kind of diode wears.

    Attributes
    ----------
    low_eV, high_eV : activation energy.
    exponent : of current, lowest and highest.
    """

    low_eV: float
    high_eV: float
    exponent: tuple[float, float]


_NITRIDE_LASER = Wear(0.258, 0.40, (2.0, 5.0))
_OTHER_LASER = Wear(0.3, 0.7, (2.0, 5.0))
_LED = Wear(0.258, 0.7, (1.5, 3.0))


@dataclass(frozen=True)
class LifeRow:
    """Life at one drive.

    Attributes
    ----------
    current_A, junction_degC : of the diode.
    low_pct, high_pct : life, of that at the rated point, over all pairs of the ranges' ends.
    """

    current_A: float
    junction_degC: float
    low_pct: float
    high_pct: float


def arrhenius(energy_eV: float, cool_degC: float, hot_degC: float) -> float:
    """Return how many times faster wear goes at `hot_degC` than at `cool_degC` [degC].

    Examples
    --------
    >>> round(arrhenius(0.258, 25, 60), 3)
    2.872
    """
    kelvin = 1 / (cool_degC + 273.15) - 1 / (hot_degC + 273.15)
    return math.exp(energy_eV / BOLTZMANN_EV_K * kelvin)


def wear_of(build: Build) -> Wear:
    """Return the ranges of the build's kind of diode."""
    part = build.diode
    if part.kind == "led":
        return _LED
    return _NITRIDE_LASER if part.wavelength_nm <= _NITRIDE_NM else _OTHER_LASER


def _row(build: Build, current_A: float, junction_degC: float, rated_degC: float) -> LifeRow:
    wear, over = wear_of(build), current_A / build.diode.rated_A
    ratios = [
        over**-exponent / arrhenius(energy_eV, rated_degC, junction_degC)
        for exponent in wear.exponent
        for energy_eV in (wear.low_eV, wear.high_eV)
    ]
    return LifeRow(current_A, junction_degC, 100 * min(ratios), 100 * max(ratios))


def against_drive(build: Build) -> tuple[LifeRow, ...]:
    """Return life at shares of the highest level, on the mount that a long light works at.

    That is where the highest level settles, at most where cutback begins. Empty for a dummy; a
    share beyond the diode's absolute maximum is left out.
    """
    if build.diode.kind == "dummy_string":
        return ()
    p, level_A = plant_of(build), highest_level_A(build)
    mount_degC = min(settled(p, level_A).mount_degC, build.limits.mount_warm_degC)
    rated_degC = settled(p, build.diode.rated_A, 100.0, _RATED_MOUNT_DEGC).junction_degC
    drives_A = [share * level_A for share in _SHARES if share * level_A <= build.diode.absolute_A]
    return tuple(
        _row(build, each, settled(p, each, 100.0, mount_degC).junction_degC, rated_degC)
        for each in drives_A
    )


def life(build: Build, _: Survey) -> list[Figure]:
    """Return life at the highest level on a mount at work; nothing for a dummy."""
    rows = against_drive(build)
    if not rows:
        return []
    row = next(each for each in rows if each.current_A == highest_level_A(build))
    wear = wear_of(build)
    ends = f"{wear.exponent[0]:g} to {wear.exponent[1]:g}"
    at = f"of that at {build.diode.rated_A:g} A on a mount at {_RATED_MOUNT_DEGC:g} degC"
    energies = f"Ea {wear.low_eV:g} to {wear.high_eV:g} eV"
    out = f"current's exponent {ends}, {energies}: it ranks, it predicts no hours"
    return [
        Figure("life_low_pct", row.low_pct, "%", f"at least, {at}", out),
        Figure("life_high_pct", row.high_pct, "%", "at most, the same", out),
    ]
