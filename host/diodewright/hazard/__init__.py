"""Hazard of a light: pure functions of power, wavelength and beam; nothing else of the project.

One module a topic: `photometry` (lumens), `exposure` (limits of eye and skin) and its `factors`,
`laser_class`, `distance` (round beams and spots), `beam` (both axes, from emitter and lens),
`irradiance` of such a beam, `reach` (how far it is a hazard), `eyewear`, `controls` (what a class
demands), `led_risk` (blue-light risk group), `led_distance`, `white` (a white LED's spectrum).
`inputs`, `spectrum` and `photopic` serve them.

**The paid standards were not read in full.** Each module says what was read, what is second-hand
and what is from memory. The numbers help to design and to warn; they do not classify or certify a
product. Local rules come first, and they may ask for a licence or a laser-safety officer.
"""

from diodewright.hazard.beam import (
    Beam,
    Emitter,
    bare_beam,
    collimated_beam,
    focused_beam,
    stated_beam,
    widths_mm,
)
from diodewright.hazard.controls import (
    CONTROLS,
    Control,
    emission_delay_min_s,
    required_controls,
)
from diodewright.hazard.distance import (
    diffuse_distance_m,
    nohd_m,
    width_from_1_e2,
    width_from_half_maximum,
)
from diodewright.hazard.exposure import ExposureLimit, exposure_limit, skin_limit_W_m2
from diodewright.hazard.eyewear import Eyewear, choose_eyewear
from diodewright.hazard.irradiance import (
    irradiance_W_m2,
    pupil_irradiance_W_m2,
    share_through,
)
from diodewright.hazard.laser_class import CLASSES, ClassLimit, class_limits, classify
from diodewright.hazard.led_distance import falls_to_m, on_axis_W_sr
from diodewright.hazard.led_risk import LedRisk, assess_bands, assess_led
from diodewright.hazard.photometry import (
    lumens,
    lumens_bands,
    lumens_spectrum,
    luminous_efficacy_lm_W,
)
from diodewright.hazard.reach import beam_distance_m, reflected_distance_m
from diodewright.hazard.spectrum import Band
from diodewright.hazard.white import white_bands

__all__ = [
    "CLASSES",
    "CONTROLS",
    "Band",
    "Beam",
    "ClassLimit",
    "Control",
    "Emitter",
    "ExposureLimit",
    "Eyewear",
    "LedRisk",
    "assess_bands",
    "assess_led",
    "bare_beam",
    "beam_distance_m",
    "choose_eyewear",
    "class_limits",
    "classify",
    "collimated_beam",
    "diffuse_distance_m",
    "emission_delay_min_s",
    "exposure_limit",
    "falls_to_m",
    "focused_beam",
    "irradiance_W_m2",
    "lumens",
    "lumens_bands",
    "lumens_spectrum",
    "luminous_efficacy_lm_W",
    "nohd_m",
    "on_axis_W_sr",
    "pupil_irradiance_W_m2",
    "reflected_distance_m",
    "required_controls",
    "share_through",
    "skin_limit_W_m2",
    "stated_beam",
    "white_bands",
    "width_from_1_e2",
    "width_from_half_maximum",
    "widths_mm",
]
