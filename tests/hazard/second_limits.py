"""Exposure limits, emission limits and classes once more, the half of `second_opinion` on lasers.

All limits are for one steady exposure: no trains of pulses, no several sources, no aided eye.
Ranges of wavelength are half open as in IEC 60825-1:2014 (from memory: "l1 to l2" means
l1 <= l < l2), but for the last one here, which takes 1050 nm in. Ranges of time alike.

Sources: IEC 60825-1:2014; ICNIRP 2013, Health Physics 105(3):271; 2006/25/EC annex II.
"""

import math
from typing import NamedTuple

from hazard.second_light import not_negative, within

SHORTEST_nm, LONGEST_nm = 400.0, 1050.0
#: The thermal law H = 18 t^0.75 begins at 5 us in ICNIRP 2013 and, from memory, in IEC 60825-1:2014
#: (18 us in the edition before). Choice: 5 us. Tables end at 30 000 s.
SHORTEST_EYE_s, SHORTEST_SKIN_s, LONGEST_s = 5e-6, 1e-7, 3e4
ALPHA_MIN_mrad = 1.5
#: Half a turn: no source fills more.
WIDEST_mrad = 1000 * math.pi
AVERSION_s, CLASS_TIME_s, CLASS_TIME_VIOLET_s = 0.25, 100.0, 3e4
CLASSES = ("1", "2", "3R", "3B")


def _is_visible(wavelength_nm: float) -> bool:
    return 400 <= wavelength_nm < 700


def c3(wavelength_nm: float) -> float:
    """Return C3, C_B in 2006/25/EC: 1 below 450 nm, then 10^(0.02 (l - 450)).

    2006/25/EC annex II. Choice: defined to 600 nm only, as IEC uses it; the directive's table goes
    on to 700 nm, where the limit made with it is never the lower one.
    """
    within("wavelength_nm", wavelength_nm, 400, 600)
    return 10 ** (0.02 * max(0.0, wavelength_nm - 450))


def c4(wavelength_nm: float) -> float:
    """Return C4, C_A in 2006/25/EC: 1 below 700 nm, then 10^(0.002 (l - 700)).

    Choice: at 1050 nm the next range's 5 (from memory), of which the formula's 5.012 is the
    rounding; below 1049.5 nm the formula is lower by itself.
    """
    within("wavelength_nm", wavelength_nm, SHORTEST_nm, LONGEST_nm)
    return min(5.0, 10 ** (0.002 * max(0.0, wavelength_nm - 700)))


def c7(wavelength_nm: float) -> float:
    """Return C7, C_C in 2006/25/EC: 1 from 700 to 1150 nm (from memory), so 1 everywhere here."""
    within("wavelength_nm", wavelength_nm, SHORTEST_nm, LONGEST_nm)
    return 1.0


def alpha_max_mrad(time_s: float) -> float:
    """Return alpha_max: 5 mrad below 625 us, 200 t^0.5, 100 mrad from 0.25 s (from memory)."""
    within("time_s", time_s, SHORTEST_EYE_s, LONGEST_s)
    return min(100.0, max(5.0, 200 * math.sqrt(time_s)))


def c6(alpha_mrad: float, time_s: float = AVERSION_s, *, field_limited: bool = True) -> float:
    """Return C6, C_E in 2006/25/EC, of a source that the eye sees under `alpha_mrad`.

    1 up to alpha_min, then alpha/alpha_min up to alpha_max(t). Choice beyond: alpha_max/alpha_min,
    the form for light counted within a cone of alpha_max (IEC, from memory), which is safe for all
    the light as well. With `field_limited` false alpha^2/(alpha_min alpha_max), the form for light
    counted from the whole source (2006/25/EC).
    """
    within("alpha_mrad", alpha_mrad, 0, WIDEST_mrad)
    largest_mrad = alpha_max_mrad(time_s)
    if alpha_mrad > largest_mrad and not field_limited:
        return alpha_mrad**2 / (ALPHA_MIN_mrad * largest_mrad)
    return max(1.0, min(alpha_mrad, largest_mrad) / ALPHA_MIN_mrad)


def t1_s(wavelength_nm: float) -> float:
    """Return T1, where the photochemical limit of a point source falls below the thermal one [s].

    10 s below 450 nm, 10 * 10^(0.02 (l - 450)) s to 500 nm, 100 s beyond (2006/25/EC annex II).
    """
    return min(100.0, 10 * c3(wavelength_nm))


def t2_s(alpha_mrad: float) -> float:
    """Return T2, from which the thermal limit of an extended source is a constant irradiance [s].

    10 s up to 1.5 mrad, 10 * 10^((alpha - 1.5)/98.5) s, 100 s from 100 mrad (2006/25/EC annex II).
    """
    within("alpha_mrad", alpha_mrad, 0, WIDEST_mrad)
    seen_mrad = min(100.0, max(ALPHA_MIN_mrad, alpha_mrad))
    return 10 * 10 ** ((seen_mrad - ALPHA_MIN_mrad) / 98.5)


def cone_mrad(time_s: float) -> float:
    """Return the cone within which light counts for the photochemical limit [mrad].

    11 mrad to 100 s, 1.1 t^0.5 to 10^4 s, then 110 mrad (2006/25/EC annex II).
    """
    within("time_s", time_s, SHORTEST_EYE_s, LONGEST_s)
    return min(110.0, max(11.0, 1.1 * math.sqrt(time_s)))


class _Exposure(NamedTuple):
    wavelength_nm: float
    time_s: float
    alpha_mrad: float


def _exposure(wavelength_nm: float, time_s: float, alpha_mrad: float) -> _Exposure:
    """Raise ValueError where one of the three is out of range."""
    within("wavelength_nm", wavelength_nm, SHORTEST_nm, LONGEST_nm)
    within("time_s", time_s, SHORTEST_EYE_s, LONGEST_s)
    within("alpha_mrad", alpha_mrad, 0, WIDEST_mrad)
    return _Exposure(wavelength_nm, time_s, alpha_mrad)


def _thermal(dose: float, steady: float, by: _Exposure, c_6: float) -> float:
    """Return dose C6 C4 t^-0.25 up to T2, then its value at T2; from 10 s a point's `steady`."""
    colour = c4(by.wavelength_nm)
    if by.time_s >= 10:
        colour *= c7(by.wavelength_nm)
        if by.alpha_mrad <= ALPHA_MIN_mrad:
            return steady * colour
    return dose * colour * c_6 * min(by.time_s, t2_s(by.alpha_mrad)) ** -0.25


def _photochemical(steady: float, by: _Exposure) -> float:
    """Return 100 C3 steady/t up to 100 s, then C3 steady; infinite where there is no such limit.

    It is given from 10 s on; for 400 to 484 nm and sources of 1.5 to 82 mrad from 1 s on (from
    memory: a footnote of IEC's table for extended sources, and of the directive's).
    """
    is_early = by.wavelength_nm < 484 and ALPHA_MIN_mrad < by.alpha_mrad <= 82
    if by.wavelength_nm >= 600 or by.time_s < (1 if is_early else 10):
        return math.inf
    return steady * c3(by.wavelength_nm) * max(1.0, 100 / by.time_s)


def mpe_eye_W_m2(
    wavelength_nm: float, time_s: float, alpha_mrad: float = 1.5, *, field_limited: bool = True
) -> float:
    """Return the irradiance at the cornea, mean over `time_s`, that an eye may be exposed to.

    Compare it with an irradiance averaged over a 7 mm pupil.

    The lower of two limits. Thermal: H = 18 C4 C6 t^0.75 J/m2 up to T2, then the irradiance of T2;
    for a point source 10 C4 C7 W/m2 from 10 s. Photochemical, 400 to 600 nm: 100 C3 J/m2 from 10
    to 100 s, then C3 W/m2. ICNIRP 2013 table 5, IEC 60825-1:2014 annex A, 2006/25/EC annex II.

    Choice: at 10 s a point source has 10 W/m2, not the 10.12 at which the dose law ends.
    Choice: the limit is for light from within the cones of `alpha_max_mrad` and `cone_mrad`, and
    so is safe for all the light. With `field_limited` false it is for all the light of an evenly
    bright round source: C6 as in `c6`, photochemical limit times (alpha/cone)^2 beyond the cone
    (own geometry: the cone then holds that share of the light).
    """
    by = _exposure(wavelength_nm, time_s, alpha_mrad)
    c_6 = c6(alpha_mrad, time_s, field_limited=field_limited)
    wider = 1.0 if field_limited else max(1.0, alpha_mrad / cone_mrad(time_s)) ** 2
    return min(_thermal(18, 10, by, c_6), wider * _photochemical(1, by))


def mpe_skin_W_m2(wavelength_nm: float, time_s: float) -> float:
    """Return the irradiance, mean over `time_s`, that skin may be exposed to.

    H = 1.1e4 C4 t^0.25 J/m2 from 100 ns to 10 s, then 2000 C4 W/m2; all from memory but for
    2000 W/m2 in visible light (IEC 60825-1:2014 annex A, 2006/25/EC annex II). Mean over 3.5 mm
    (from memory). The two laws miss each other at 10 s: the limit steps *up* by 2.2 %, from 1956.
    """
    within("time_s", time_s, SHORTEST_SKIN_s, LONGEST_s)
    return c4(wavelength_nm) * (2000 if time_s >= 10 else 1.1e4 * time_s**-0.75)


def _class_1_W(by: _Exposure) -> float:
    """Return AEL 1: the eye's two limits through 7 mm, with IEC's rounded constants."""
    thermal = _thermal(7e-4, 3.9e-4, by, c6(by.alpha_mrad, by.time_s))
    return min(thermal, _photochemical(3.9e-5, by))


def _class_2_W(by: _Exposure) -> float:
    if not _is_visible(by.wavelength_nm):
        raise ValueError(f"wavelength_nm = {by.wavelength_nm!r}: class 2 is for 400 up to 700")
    return _class_1_W(by) if by.time_s < AVERSION_s else 1e-3 * c6(by.alpha_mrad)


def _class_3r_W(by: _Exposure) -> float:
    return 5 * (_class_2_W(by) if _is_visible(by.wavelength_nm) else _class_1_W(by))


def _class_3b_W(by: _Exposure) -> float:
    return max(0.5, 0.03 * c4(by.wavelength_nm) / by.time_s)


_AEL = dict(zip(CLASSES, (_class_1_W, _class_2_W, _class_3r_W, _class_3b_W), strict=True))


def ael_W(wavelength_nm: float, laser_class: str, time_s: float, alpha_mrad: float = 1.5) -> float:
    """Return the accessible emission limit of a class through 7 mm at 100 mm, mean over `time_s`.

    IEC 60825-1:2014 tables 3 to 8. Class 1: 7e-4 C4 C6 t^0.75 J up to T2, then its power at T2; a
    point source 3.9e-4 C4 C7 W from 10 s; 400 to 600 nm no more than 3.9e-3 C3 J up to 100 s, then
    3.9e-5 C3 W. Class 2, visible only: 1 mW C6 from 0.25 s, class 1 before. 3R: five times class 2
    in visible light, five times class 1 beyond. 3B: 0.5 W; for short exposures 0.03 C4 J (from
    memory). Classes 1M, 2M and 1C are not told apart, nor is the aided eye (50 mm at 2 m).

    Choice: IEC's rounded constants (3.9e-4 W, 1 mW, 7e-4), not MPE x 7 mm (3.85e-4, 0.98 mW,
    6.93e-4). Choice: 700 nm belongs to the infrared range, so it has no class 2. Choice: from T1 to
    100 s class 1 is the dose 3.9e-3 C3 J, of which 3.9e-5 C3 W is the end. Choice: infrared 3R is
    5 x 3.9e-4 C4 C7 W; a table with the product rounded to 2e-3 W would be 2.6 % higher. Choice: a
    source wider than the photochemical cone is not given more, nor one beyond alpha_max.
    """
    by = _exposure(wavelength_nm, time_s, alpha_mrad)
    if laser_class not in _AEL:
        raise ValueError(f"laser_class = {laser_class!r}: none of {', '.join(CLASSES)}")
    return _AEL[laser_class](by)


def class_of(power_W: float, wavelength_nm: float, alpha_mrad: float = 1.5) -> str:
    """Return the class of a steady beam of which `power_W` passes 7 mm: the lowest that allows it.

    Time bases of IEC 60825-1:2014 4.3 e): 0.25 s for 3B and for visible 2 and 3R, else 100 s, or
    30 000 s up to 400 nm. A power at the limit is within it.

    Choice: no long viewing is intended; where it is, class 1 is the same (no limit falls after
    100 s), but 2 and 3R rest on the eye's turning away and should not be used. Choice: 400 nm
    exactly takes 30 000 s with the limits of 400 to 450 nm, which changes nothing either.
    """
    is_visible = _is_visible(wavelength_nm)
    long_s = CLASS_TIME_s if wavelength_nm > 400 else CLASS_TIME_VIOLET_s
    bases_s = {"1": long_s, "2": AVERSION_s, "3R": AVERSION_s if is_visible else long_s}
    not_negative(power_W=power_W)
    for laser_class in CLASSES:
        if laser_class == "2" and not is_visible:
            continue
        base_s = bases_s.get(laser_class, AVERSION_s)
        if power_W <= ael_W(wavelength_nm, laser_class, base_s, alpha_mrad):
            return laser_class
    return "4"
