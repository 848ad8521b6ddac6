"""Catalogue: classes of laser diodes, all with a case taken as its cathode.

A class is no part: makers' spreads are wide. The case is taken as the cathode because that asks
most of the mount (it must be insulated); look at your part's drawing. Light points are taken as
at a 25 degC junction; where a sheet means a 25 degC case, a cold junction gives more than said.
"""

from diodewright.build.keys import TYPICAL, Points
from diodewright.build.part import Part, Value

__all__ = ["LASERS"]

_MEMORY = f"from memory; {TYPICAL}"
_SHEET = "a maker's data sheet of a 450 nm diode"
_CASE = Value("case", "cathode", "cautious: it asks for an insulated mount; look at your drawing")


def _laser(
    name: str,
    meaning: str,
    wavelength_nm: float,
    forward: tuple[Points, float, float, str],
    light: tuple[Points, float, float, str],
    limits: tuple[float, float, float, str],
) -> Part:
    """Return one class, its values from memory.

    `forward` is points, spread [V], temperature coefficient [mV/K] and source; `light` points,
    T0 [K], T1 [K] and the source of both; `limits` rated [A], absolute [A], junction [degC] and
    the source of the absolute maximum.
    """
    return Part(
        f"laser_{name}",
        "diode.part",
        meaning,
        (
            Value("kind", "laser_diode", "by name"),
            Value("wavelength_nm", wavelength_nm, "by name"),
            Value("forward_points_A_V", forward[0], forward[3]),
            Value("forward_spread_V", forward[1], _MEMORY),
            Value("forward_tempco_mV_K", forward[2], _MEMORY),
            Value("light_points_A_W", light[0], _MEMORY),
            Value("threshold_T0_K", light[1], light[3]),
            Value("slope_T1_K", light[2], _MEMORY),
            Value("rated_A", limits[0], _MEMORY),
            Value("absolute_A", limits[1], limits[3]),
            Value("junction_max_degC", limits[2], _MEMORY),
            _CASE,
            Value("reverse_max_V", 2.0, f"{_SHEET}; others are much the same"),
        ),
    )


_GREEN_T0 = f"as published for 416 nm InGaN (Nakamura 1997); {TYPICAL}"
_OPTICAL = "where its light reaches 1.2 times the rated, from memory; " + TYPICAL

LASERS = (
    Part(
        "laser_blue_450_1W6",
        "diode.part",
        "blue 450 nm laser diode, 1.6 W at 1.2 A, 5.6 mm can; junction to case some 15 K/W",
        (
            Value("kind", "laser_diode", "by name"),
            Value("wavelength_nm", 450, "by name"),
            Value(
                "forward_points_A_V",
                ((0.2, 4.15), (0.6, 4.45), (1.2, 4.8), (1.5, 4.96)),
                f"{_SHEET}: 4.8 V at 1.2 A; the other points {_MEMORY}",
            ),
            Value("forward_spread_V", 1.2, f"{_SHEET}: 6.0 V at most, 4.8 V typical"),
            Value("forward_tempco_mV_K", -3.0, f"gallium nitride -2 to -4 mV/K, {_MEMORY}"),
            Value(
                "light_points_A_W",
                ((0.4, 0.32), (0.8, 0.96), (1.2, 1.6), (1.32, 1.792)),
                f"{_SHEET}: 1.6 W at 1.2 A, threshold 0.2 A, typical; a line through both",
            ),
            Value("threshold_T0_K", 170, _GREEN_T0),
            Value("slope_T1_K", 300, _MEMORY),
            Value("rated_A", 1.2, f"{_SHEET}: the current of its typical figures"),
            Value(
                "absolute_A",
                1.32,
                f"{_SHEET}: its 1.8 W of light come at 1.32 A, before its 1.5 A",
            ),
            Value("junction_max_degC", 150, _SHEET),
            _CASE,
            Value("reverse_max_V", 2.0, _SHEET),
        ),
    ),
    _laser(
        "green_520_1W0",
        "green 520 nm laser diode, 1 W at 1.7 A; junction to case some 8 K/W, from memory",
        520,
        (((0.3, 3.95), (0.8, 4.25), (1.7, 4.6), (2.0, 4.7)), 0.4, -3.0, _MEMORY),
        (((0.6, 0.21), (1.0, 0.49), (1.7, 0.98), (2.0, 1.19)), 170, 300, _GREEN_T0),
        (1.7, 2.0, 125, _OPTICAL),
    ),
    _laser(
        "red_638_0W7",
        "red 638 nm laser diode, 0.7 W at 0.95 A; dies of heat first: keep its mount cool",
        638,
        (((0.1, 1.95), (0.5, 2.2), (0.95, 2.4), (1.1, 2.46)), 0.3, -2.0, _MEMORY),
        (((0.35, 0.10), (0.6, 0.35), (0.95, 0.70), (1.1, 0.85)), 70, 200, _MEMORY),
        (0.95, 1.1, 80, _OPTICAL),
    ),
)
