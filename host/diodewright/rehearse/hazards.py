"""The hazard of a build, stated on the highest light that a single fault can give."""

import math
from collections.abc import Sequence
from typing import Any

from diodewright.build import CHEMISTRIES, Build
from diodewright.derive import WorstLight
from diodewright.derive.electrics import highest_level_A
from diodewright.derive.spectrum import led_bands
from diodewright.hazard.controls import emission_delay_min_s, required_controls
from diodewright.hazard.distance import diffuse_distance_m, nohd_m, width_from_1_e2
from diodewright.hazard.exposure import exposure_limit
from diodewright.hazard.eyewear import choose_eyewear
from diodewright.hazard.laser_class import classify
from diodewright.hazard.led_risk import assess_bands
from diodewright.judge import CaseFinding

__all__ = ["cautions_of", "hazard_of"]

LED_EYES = (
    "Eyes: never stare into the LED, nor through a lens at it; a model does not replace a "
    "measurement of your own light."
)
EYES = (
    "Eyes: never look into the beam or its mirror reflections; wear eyewear made for this "
    "wavelength; a model does not replace a measurement of your own light."
)
CAUTIONS = (
    "Heat: sink and MOSFET can burn fingers and melt wire before anything trips.",
    "Local rules and licensed practice come first: they decide what you may build and pass on.",
)


def cautions_of(build: Build) -> list[str]:
    """Return the usual cautions and that of the cells, a declared overdrive before them."""
    part = build.diode
    over = highest_level_A(build) / part.rated_A - 1
    overdrive = (
        f"Overdrive, declared on purpose: {highest_level_A(build):g} A is {100 * over:.0f} % over "
        f"the diode's rating of {part.rated_A:g} A; no life is promised."
    )
    chemistry = CHEMISTRIES.get(build.pack.chemistry or "")
    cells = [f"Cells: {chemistry.caution}"] if chemistry else []
    eyes = LED_EYES if part.kind == "led" else EYES
    return [*([overdrive] if over > 0 else []), eyes, *cells, *CAUTIONS]


#: Exposure times [s]: a chance look, and a hit that nobody notices at once.
GLANCE_S = 0.25
HIT_S = 10.0

#: What a class 3B or 4 laser must have and the build file can say it has.
_SAID_BY_BUILD = {"key": "key control", "interlock": "interlock", "indicator": "emission indicator"}


def _laser(build: Build, worst: WorstLight, seen_W: float) -> dict[str, Any]:
    nm = build.diode.wavelength_nm
    watts = max(worst.light_W, seen_W)
    laser_class = classify(watts, nm)
    glance_W_m2 = exposure_limit(nm, GLANCE_S).irradiance_W_m2
    hit_W_m2 = exposure_limit(nm, HIT_S).irradiance_W_m2
    # Beam data are taken as full widths at 1/e2, as data sheets of beams give them.
    beam_mm = width_from_1_e2(build.enclosure.beam_mm)
    divergence_mrad = width_from_1_e2(build.enclosure.divergence_mrad)
    far_m = nohd_m(watts, glance_W_m2, divergence_mrad, beam_mm)
    diffuse_m = diffuse_distance_m(watts, hit_W_m2)
    eyewear = choose_eyewear(watts, nm, beam_mm, HIT_S)
    delay_min_s = emission_delay_min_s(laser_class)
    breaches = []
    if build.limits.delay_s < delay_min_s:
        breaches.append(
            f"class {laser_class}: indicator before emission {build.limits.delay_s:g} s, "
            f"at least {delay_min_s:g} s (common practice, no source); mend: limits.delay_s"
        )
    if laser_class in ("3B", "4"):
        breaches += [
            f"class {laser_class} without {what}; mend: controls.{name} = true"
            for name, what in _SAID_BY_BUILD.items()
            if not getattr(build.controls, name)
        ]
    return {
        "kind": "laser",
        "title": f"laser class {laser_class}: {watts:.2f} W at {nm:g} nm with one fault",
        "lines": [
            f"class {laser_class} on {watts:.2f} W ({worst.cause}; {worst.current_A:.2f} A, "
            f"{build.heat.ambient_min_degC:g} degC), not on the set-point",
            f"hazard distance of the bare beam {far_m:.0f} m (0.25 s, {glance_W_m2:.1f} W/m2); "
            f"matt white target {diffuse_m:.2f} m (10 s)",
            f"eyewear for an accidental hit: {eyewear.marking}, OD "
            f"{eyewear.optical_density_at_least} or more; the supplier must confirm",
            f"enclosure: {build.enclosure.access.replace('_', ' ')}; closed and interlocked it "
            "may be of a lower class, which only a measurement can say",
        ],
        "laser_class": laser_class,
        "classified_W": watts,
        "classified_on": worst.cause,
        "hazard_distance_m": far_m,
        "diffuse_distance_m": diffuse_m,
        "eyewear": eyewear.marking,
        "controls": [control.id for control in required_controls(laser_class)],
        "breaches": breaches,
    }


#: What a group asks of the people near the light, and of the build.
_LED_MEASURES = {
    "exempt": "no measure needed against its blue light",
    "RG1": "harmless in ordinary use; do not make a habit of staring into it",
    "RG2": "do not stare into it, nor let others; aim it away from faces",
    "RG3": "even a chance look may hurt the eye: light only inside a closed, interlocked box",
}


def _look_words(longest_look_s: float) -> str:
    if math.isinf(longest_look_s):
        return "a look may last all day"
    return f"longest look in a day, all looks together, {longest_look_s:.3g} s"


def _led_breaches(build: Build, group: str) -> list[str]:
    if group != "RG3":
        return []
    breaches = []
    if build.enclosure.access != "interlocked_box":
        breaches.append('RG3 where people can reach the light; mend: access = "interlocked_box"')
    if not build.controls.interlock:
        breaches.append("RG3 without interlock; mend: controls.interlock = true")
    return breaches


def _led(build: Build, worst: WorstLight, seen_W: float) -> dict[str, Any]:
    """Return the hazard of an LED.

    It is judged where the group rests on blue light. Where the screened retinal thermal hazard
    might raise the group it is not, and the verdict is INCOMPLETE: only a measurement can say.
    """
    part = build.diode
    watts = max(worst.light_W, seen_W)
    risk = assess_bands(watts, part.emitter_mm2, led_bands(build))
    unjudged = []
    if risk.thermal_share > 1:
        unjudged.append(
            f"retinal thermal may raise {risk.group}: up to {risk.thermal_share:.1f} of what "
            "would; have it measured"
        )
    measure = _LED_MEASURES[risk.group]
    if risk.group == "RG2":
        measure += f"; it goes dark by itself only after {build.controls.auto_off_s:g} s"
    enclosure = build.enclosure.access.replace("_", " ")
    return {
        "kind": "led",
        "title": f"LED risk group {risk.group}: {watts:.2f} W from {part.emitter_mm2:g} mm2 "
        "with one fault",
        "lines": [
            f"{risk.group} on {watts:.2f} W ({worst.cause}; {worst.current_A:.2f} A), not on the "
            f"set-point; {part.spectrum} light, blue-weighted "
            f"{float(f'{risk.blue_radiance_W_m2_sr:.3g}'):.12g} W/(m2 sr) of the bare emitter",
            f"{_look_words(risk.longest_look_s)}; {measure}",
            f"enclosure: {enclosure}; no lens makes the emitter brighter, a diffuser may lower "
            "the group, which only a measurement can say",
            *(
                unjudged
                or [
                    "retinal thermal: screened only; at most "
                    f"{risk.thermal_share:.2g} of what would raise the group"
                ]
            ),
            f"not judged: {', '.join(risk.not_judged)}, flicker, glare",
        ],
        "risk_group": risk.group,
        "longest_look_s": risk.longest_look_s if math.isfinite(risk.longest_look_s) else None,
        "blue_radiance_W_m2_sr": risk.blue_radiance_W_m2_sr,
        "classified_W": watts,
        "classified_on": worst.cause,
        "not_judged": unjudged,
        "breaches": _led_breaches(build, risk.group),
    }


def hazard_of(build: Build, worst: WorstLight, cases: Sequence[CaseFinding]) -> dict[str, Any]:
    """Return the hazard as plain values, with breaches that make the verdict FAILS.

    The closed-form bound of `derive` is checked against the brightest simulated case: a brighter
    one would mean that the bound is wrong, and is a breach.
    """
    seen_W = max((case.peak_light_W for case in cases), default=0.0)
    judged = {"laser_diode": _laser, "led": _led}.get(build.diode.kind)
    if judged:
        found = judged(build, worst, seen_W)
        if seen_W > worst.light_W:
            found["breaches"].append(
                f"a simulated fault gave {seen_W:.3f} W, above the bound of {worst.light_W:.3f} W: "
                "the bound is wrong"
            )
        return found
    return {
        "kind": "none",
        "title": "dummy load: no light",
        "lines": [],
        "classified_W": worst.light_W,
        "classified_on": worst.cause,
        "breaches": [],
    }
