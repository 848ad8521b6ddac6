"""The spectrum of a white LED from its colour temperature: a blue pump and its phosphor.

Equation. Two Gaussian bands in wavelength: the pump, 20 nm wide, and the phosphor, 130 nm wide.
Two unknowns, the pump's share of the power and the phosphor's peak, follow from two demands: the
colour lies on Planck's locus, and there at the colour temperature.

Source. `_ROWS` solved with colour-science 0.4.7 (CIE 1931 2 degree observer, Ohno 2013) for a
pump at 450 nm; straight lines in 1e6/temperature between. The widths are chosen so that the
hazard stays at or above that of CIE illuminants LED-B1 to LED-B5 (CIE 15:2018, as carried by
colour-science): there its blue-light weighting is 1 to 7 % above and its lumens per watt are 4 to
9 % above theirs.

The paid standard CIE 15 was not read in full.

Limits of validity. One blue pump from 440 to 460 nm with phosphor, 2500 to 7000 K, seen head on:
not a violet pump, not red, green and blue chips together. With a pump off 450 nm the colour
temperature is up to 6 % off. A colour off Planck's locus, or the bluer edge of an emitter, has
another blue share: where the maker gives a measured spectrum, it counts.
"""

from typing import NamedTuple

import numpy as np

from diodewright.hazard.inputs import within
from diodewright.hazard.spectrum import Band

__all__ = ["PUMP_NM", "TEMPERATURE_K", "white_bands"]

#: Blue pumps that the table serves [nm].
PUMP_NM = (440.0, 460.0)
#: Colour temperatures that the table serves [K].
TEMPERATURE_K = (2500.0, 7000.0)

_PUMP_FWHM_NM = 20.0
_PHOSPHOR_FWHM_NM = 130.0


class _Row(NamedTuple):
    """Colour temperature [K], the pump's share of the power [1], peak of the phosphor [nm]."""

    temperature_K: float
    share: float
    peak_nm: float


_ROWS = (
    _Row(2500, 0.0550, 606.8),
    _Row(2700, 0.0684, 601.6),
    _Row(3000, 0.0887, 595.2),
    _Row(3500, 0.1213, 586.7),
    _Row(4000, 0.1507, 580.4),
    _Row(4500, 0.1765, 575.5),
    _Row(5000, 0.1988, 571.6),
    _Row(5700, 0.2250, 567.3),
    _Row(6500, 0.2490, 563.5),
    _Row(7000, 0.2615, 561.7),
)


def white_bands(pump_nm: float, colour_temperature_K: float) -> tuple[Band, Band]:
    """Return the two bands, pump first.

    Parameters
    ----------
    pump_nm : peak of the blue [nm], 440 to 460.
    colour_temperature_K : correlated colour temperature [K], 2500 to 7000.

    Raises
    ------
    ValueError
        Where a value is outside its range.

    Examples
    --------
    >>> pump, phosphor = white_bands(450, 5700)
    >>> round(pump.share, 3), round(phosphor.peak_nm)
    (0.225, 567)
    """
    within("pump_nm", pump_nm, *PUMP_NM, "nm")
    within("colour_temperature_K", colour_temperature_K, *TEMPERATURE_K, "K")
    mired = [-1e6 / row.temperature_K for row in _ROWS]
    at = -1e6 / colour_temperature_K
    share = float(np.interp(at, mired, [row.share for row in _ROWS]))
    peak_nm = float(np.interp(at, mired, [row.peak_nm for row in _ROWS]))
    return Band(share, pump_nm, _PUMP_FWHM_NM), Band(1 - share, peak_nm, _PHOSPHOR_FWHM_NM)
