"""Catalogue: classes of high-power LEDs.

All figures are typical and from memory. Light is radiant power, not lumens. A white LED's
wavelength is the peak of its blue part, which is what its hazard comes from. Junction to case:
2 to 12 K/W (typical, no source).
"""

from diodewright.build.keys import TYPICAL, Points
from diodewright.build.part import Part, Value

__all__ = ["LEDS"]

_MEMORY = f"from memory; {TYPICAL}"


def _led(
    name: str,
    meaning: str,
    wavelength_nm: float,
    spectrum: tuple[str, float],
    emitter_mm2: float,
    forward_points_A_V: Points,
    light_points_A_W: Points,
    tempco_mV_K: float,
    slope_T1_K: float,
    rated_A: float,
    junction_max_degC: float,
) -> Part:
    """Return one class; its absolute maximum is where its points end.

    `spectrum` is the word with the width [nm] of a narrow one, or the temperature [K] of a white.
    """
    word, figure = spectrum
    figure_key = {"narrow": "fwhm_nm", "white": "colour_temperature_K"}[word]
    return Part(
        f"led_{name}",
        "diode.part",
        meaning,
        (
            Value("kind", "led", "by name"),
            Value("wavelength_nm", wavelength_nm, "by name"),
            Value("spectrum", word, "by name"),
            Value(figure_key, figure, _MEMORY),
            Value("emitter_mm2", emitter_mm2, "by name"),
            Value("forward_points_A_V", forward_points_A_V, _MEMORY),
            Value("forward_spread_V", 0.25, _MEMORY),
            Value("forward_tempco_mV_K", tempco_mV_K, _MEMORY),
            Value("light_points_A_W", light_points_A_W, _MEMORY),
            Value("slope_T1_K", slope_T1_K, _MEMORY),
            Value("rated_A", rated_A, _MEMORY),
            Value("absolute_A", forward_points_A_V[-1][0], _MEMORY),
            Value("junction_max_degC", junction_max_degC, _MEMORY),
            Value("case", "isolated", f"its heat pad is neutral; {_MEMORY}"),
            Value("reverse_max_V", 5.0, TYPICAL),
        ),
    )


LEDS = (
    _led(
        "white_1mm2",
        "white LED, 1 mm2 chip, 1 A",
        450,
        ("white", 5700.0),
        1.0,
        ((0.1, 2.70), (0.35, 2.85), (0.7, 3.0), (1.0, 3.1), (1.5, 3.25)),
        ((0.35, 0.40), (0.7, 0.73), (1.0, 0.98), (1.5, 1.32)),
        -2.0,
        500,
        1.0,
        125,
    ),
    _led(
        "white_2mm2",
        "white LED, 2 mm2 chip, 2.5 A",
        450,
        ("white", 5700.0),
        2.0,
        ((0.35, 2.75), (1.0, 2.90), (2.0, 3.08), (3.0, 3.22)),
        ((0.35, 0.42), (1.0, 1.12), (2.0, 2.05), (3.0, 2.85)),
        -2.0,
        500,
        2.5,
        125,
    ),
    _led(
        "blue_470",
        "blue LED 470 nm, 1 mm2 chip, 0.7 A; a blue-light hazard",
        470,
        ("narrow", 25.0),
        1.0,
        ((0.1, 2.80), (0.35, 3.0), (0.7, 3.2), (1.0, 3.35)),
        ((0.35, 0.55), (0.7, 1.0), (1.0, 1.32)),
        -3.0,
        700,
        0.7,
        125,
    ),
    _led(
        "green_525",
        "green LED 525 nm, 1 mm2 chip, 0.7 A",
        525,
        ("narrow", 35.0),
        1.0,
        ((0.1, 2.90), (0.35, 3.2), (0.7, 3.45), (1.0, 3.6)),
        ((0.35, 0.27), (0.7, 0.47), (1.0, 0.60)),
        -3.0,
        400,
        0.7,
        125,
    ),
    _led(
        "red_630",
        "red LED 630 nm, 1 mm2 chip, 0.7 A; loses much light when warm",
        630,
        ("narrow", 18.0),
        1.0,
        ((0.1, 1.90), (0.35, 2.1), (0.7, 2.3), (1.0, 2.45)),
        ((0.35, 0.36), (0.7, 0.68), (1.0, 0.93)),
        -2.0,
        150,
        0.7,
        125,
    ),
    _led(
        "deep_red_660",
        "deep red LED 660 nm, 1 mm2 chip, 0.7 A",
        660,
        ("narrow", 20.0),
        1.0,
        ((0.1, 1.85), (0.35, 2.05), (0.7, 2.2), (1.0, 2.35)),
        ((0.35, 0.42), (0.7, 0.80), (1.0, 1.10)),
        -2.0,
        200,
        0.7,
        125,
    ),
)
