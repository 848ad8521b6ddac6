"""Exposure, class, distance, eyewear and LED group once more, by another author, to judge hazard/.

Written from the published formulas alone, without a look at what it judges, and it calls nothing
of it. No paid standard was open beside it: what a docstring marks "from memory" was not looked up;
what is not so marked is a formula that was read, mostly second-hand. Wherever a standard can be
read in two ways, the docstring says "Choice:" and what was taken.

Every function raises ValueError outside the range its formula is given for. What comes first
is in `second_limits` (exposure and class) and `second_light` (photometry and LEDs); distance
and eyewear follow here. Sources: IEC TR 60825-14; EN 207:2017.
"""

import math

from hazard.second_light import (
    blue_weight,
    led_risk_group,
    luminous_efficacy_lm_W,
    not_negative,
    positive,
    within,
)
from hazard.second_limits import (
    WIDEST_mrad,
    ael_W,
    alpha_max_mrad,
    c3,
    c4,
    c6,
    c7,
    class_of,
    cone_mrad,
    mpe_eye_W_m2,
    mpe_skin_W_m2,
    t1_s,
    t2_s,
)

__all__ = [
    "ael_W",
    "alpha_max_mrad",
    "blue_weight",
    "c3",
    "c4",
    "c6",
    "c7",
    "class_of",
    "cone_mrad",
    "diffuse_distance_m",
    "full_width_1e",
    "full_width_1e_of_half_maximum",
    "led_risk_group",
    "luminous_efficacy_lm_W",
    "mpe_eye_W_m2",
    "mpe_skin_W_m2",
    "nohd_m",
    "optical_density",
    "scale_number",
    "t1_s",
    "t2_s",
]

PUPIL_m2 = math.pi / 4 * 0.007**2


def full_width_1e(full_width_1e2: float) -> float:
    """Return a Gaussian beam's diameter or divergence at 1/e from that at 1/e2, in its unit."""
    not_negative(full_width_1e2=full_width_1e2)
    return full_width_1e2 / math.sqrt(2)


def full_width_1e_of_half_maximum(full_width_half: float) -> float:
    """Return a Gaussian beam's width at 1/e from its full width at half maximum, in its unit.

    exp(-(x/w)^2) = 1/2 at x = w sqrt(ln 2). A stripe emitter's far field is no Gaussian.
    """
    not_negative(full_width_half=full_width_half)
    return full_width_half / math.sqrt(math.log(2))


def nohd_m(
    power_W: float,
    mpe_W_m2: float,
    divergence_x_mrad: float,
    divergence_y_mrad: float,
    aperture_x_mm: float,
    aperture_y_mm: float,
) -> float:
    """Return the distance from which the beam's axis is below the limit; 0 where it is everywhere.

    Solves P = MPE pi/4 (a_x + r phi_x)(a_y + r phi_y), all full and at 1/e, so that power over
    area is a Gaussian's peak (IEC TR 60825-14, from memory). Of the two roots the positive one.

    Choice: the linear a + r phi of the published formula. Where the waist lies *in* the aperture
    the beam follows sqrt(a^2 + (r phi)^2) and the distance is up to a/phi longer. Choice: arcs, not
    tangents: longer by 1.4 % at 400 mrad. No air, no optics; no averaging over the pupil, which
    would shorten it where the beam is narrower than 7 mm. A beam that does not widen is refused.
    """
    not_negative(power_W=power_W, aperture_x_mm=aperture_x_mm, aperture_y_mm=aperture_y_mm)
    positive(mpe_W_m2=mpe_W_m2)
    within("divergence_x_mrad", divergence_x_mrad, 1e-6, WIDEST_mrad)
    within("divergence_y_mrad", divergence_y_mrad, 1e-6, WIDEST_mrad)
    x_rad, y_rad = divergence_x_mrad / 1000, divergence_y_mrad / 1000
    x_m, y_m = aperture_x_mm / 1000, aperture_y_mm / 1000
    excess_m2 = 4 * power_W / (math.pi * mpe_W_m2) - x_m * y_m
    if excess_m2 <= 0:
        return 0.0
    slope_m = x_m * y_rad + y_m * x_rad
    return 2 * excess_m2 / (slope_m + math.sqrt(slope_m**2 + 4 * x_rad * y_rad * excess_m2))


def diffuse_distance_m(
    power_W: float, mpe_W_m2: float, reflectance: float, angle_deg: float
) -> float:
    """Return how far from a matt spot the limit is kept: sqrt(rho P cos(angle) / (pi MPE)).

    Lambert's law, the viewer `angle_deg` off the target's normal; a spot small against the
    distance. Choice: the limit given is used as it is, so give it for a point source to be safe.
    """
    not_negative(power_W=power_W)
    positive(mpe_W_m2=mpe_W_m2)
    within("reflectance", reflectance, 0, 1)
    within("angle_deg", angle_deg, 0, 90)
    towards = max(0.0, math.cos(math.radians(angle_deg)))
    return math.sqrt(reflectance * power_W * towards / (math.pi * mpe_W_m2))


def optical_density(power_W: float, beam_mm: float, mpe_W_m2: float) -> float:
    """Return log10(H0/MPE), H0 the power over the larger of beam and 7 mm pupil; 0 at least.

    Choice: not rounded (round up when buying). The beam is round with its whole power in `beam_mm`.
    """
    not_negative(power_W=power_W)
    positive(beam_mm=beam_mm, mpe_W_m2=mpe_W_m2)
    area_m2 = max(PUPIL_m2, math.pi / 4 * (beam_mm / 1000) ** 2)
    return math.log10(max(1.0, power_W / area_m2 / mpe_W_m2))


def scale_number(power_W: float, beam_mm: float) -> int:
    """Return n of the EN 207 mode D mark LBn: the lowest of 1 to 10 with 10^(n+1) W/m2 >= P/A.

    For steady light of more than 315 up to 1400 nm. Raises ValueError above LB10's 10^11 W/m2.
    Choice: the beam's own area, as the test has it, not the pupil's. Choice: LB1 where less would
    do, the marks beginning there. Choice: no correction for a beam wider than 1 mm. From memory
    EN 207 multiplies P/A by d^1.7 (glass) or d^1.25 (plastic), d in mm to 15, *before* the table:
    1.6 W in 3 mm would be LB6 on glass, not LB5. The number is the least that may do.
    """
    not_negative(power_W=power_W)
    positive(beam_mm=beam_mm)
    irradiance_W_m2 = power_W / (math.pi / 4 * (beam_mm / 1000) ** 2)
    within("irradiance in W/m2", irradiance_W_m2, 0, 1e11)
    return next(n for n in range(1, 11) if irradiance_W_m2 <= 10.0 ** (n + 1))
