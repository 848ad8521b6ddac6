"""Lumens: how bright a power of light looks.

Equation. ``lumens = 683 lm/W * power * V(wavelength)`` for a line, and the mean of V over the
spectrum for an LED. 683 lm/W is the rounded K_m; the exact definition at 540 THz makes it
683.002 lm/W, 3 parts in a million more.

Source. CIE 1924 V(lambda) in `photopic`; K_m from the SI definition of the candela.

Limits of validity. Daylight vision. V is read in its 1 nm table with straight lines between
(fits of V with one Gaussian are more than 20 % wrong beyond 640 nm and below 470 nm, from
memory). An LED is not a line: at 660 nm the line is 10 % too low, at 525 nm 7 % too high.

Caution. **Never use lumens for the hazard.** 1 W at 405 nm is 0.4 lm and class 4.
"""

from collections.abc import Sequence

import numpy as np

from diodewright.hazard.inputs import at_least_zero, visible
from diodewright.hazard.photopic import FIRST_NM, PHOTOPIC
from diodewright.hazard.spectrum import Band, band_mean

__all__ = ["lumens", "lumens_bands", "lumens_spectrum", "luminous_efficacy_lm_W"]

KM_LM_W = 683.0

_V = np.array(PHOTOPIC)
_V_NM = np.arange(FIRST_NM, FIRST_NM + len(PHOTOPIC), dtype=np.float64)


def luminous_efficacy_lm_W(wavelength_nm: float) -> float:
    """Return lumens per watt of a single line.

    Parameters
    ----------
    wavelength_nm : wavelength [nm], 400 to 700.

    Returns
    -------
    683 V(wavelength) [lm/W].

    Raises
    ------
    ValueError
        Outside 400 to 700 nm.

    Examples
    --------
    >>> round(luminous_efficacy_lm_W(532), 1)
    604.4
    """
    visible("wavelength_nm", wavelength_nm)
    return KM_LM_W * float(np.interp(wavelength_nm, _V_NM, _V))


def lumens(power_W: float, wavelength_nm: float) -> float:
    """Return the luminous flux of a single line, such as a laser diode's.

    Parameters
    ----------
    power_W : optical power [W].
    wavelength_nm : wavelength [nm], 400 to 700.

    Returns
    -------
    Luminous flux [lm].

    Raises
    ------
    ValueError
        For a power below 0, and outside 400 to 700 nm.

    Examples
    --------
    >>> round(lumens(0.005, 532), 2)
    3.02
    """
    at_least_zero("power_W", power_W, "W")
    return power_W * luminous_efficacy_lm_W(wavelength_nm)


def lumens_spectrum(power_W: float, peak_nm: float, fwhm_nm: float) -> float:
    """Return the luminous flux of an LED of one peak; see `spectrum` for what that leaves out.

    Parameters
    ----------
    power_W : optical power over the whole spectrum [W].
    peak_nm : peak wavelength [nm], 400 to 700; not the dominant wavelength.
    fwhm_nm : full width at half maximum [nm], 0.1 to 200.

    Returns
    -------
    Luminous flux [lm].

    Raises
    ------
    ValueError
        For a power below 0, and for a peak or a width outside its range.

    Examples
    --------
    >>> round(lumens_spectrum(1, 525, 35), 1)
    507.5
    """
    return lumens_bands(power_W, (Band(1.0, peak_nm, fwhm_nm),))


def lumens_bands(power_W: float, bands: Sequence[Band]) -> float:
    """Return the luminous flux of a spectrum of bands, such as a white LED's.

    Parameters
    ----------
    power_W : optical power over the whole spectrum [W].
    bands : of the spectrum (`white.white_bands`).

    Returns
    -------
    Luminous flux [lm].

    Raises
    ------
    ValueError
        For a power below 0, and for a band outside its range.

    Examples
    --------
    >>> round(lumens_bands(1, (Band(0.5, 525, 35), Band(0.5, 660, 20))))
    277
    """
    at_least_zero("power_W", power_W, "W")
    return power_W * KM_LM_W * band_mean(_V_NM, _V, bands)
