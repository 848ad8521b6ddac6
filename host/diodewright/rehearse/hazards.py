"""The hazard of a build, stated on the highest light that a single fault can give."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from diodewright.build import CHEMISTRIES, Build
from diodewright.derive import WorstLight
from diodewright.derive.electrics import highest_level_A
from diodewright.judge import CaseFinding
from diodewright.rehearse.demands import breaches
from diodewright.rehearse.emission import Brightest, brightest
from diodewright.rehearse.hazard_laser import LaserHazard, laser_hazard
from diodewright.rehearse.hazard_led import LedHazard, led_hazard
from diodewright.rehearse.hazard_reach import reach_over_spread

__all__ = ["Hazard", "cautions_of", "hazard_of", "judged_hazard"]

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


@dataclass(frozen=True)
class Hazard:
    """The hazard of one build: what `rehearse` judges by and `hazard` shows.

    Attributes
    ----------
    watts_W : the highest light that a single fault can give [W]: the bound, or a simulated fault's
        where that is more.
    worst : the closed-form bound.
    seen : the brightest simulated fault; None where none ran.
    of : a laser's or an LED's figures; None for a dummy load.
    breaches : what makes the verdict FAILS, each with its mend.
    unjudged : what makes it INCOMPLETE.
    """

    watts_W: float
    worst: WorstLight
    seen: Brightest | None
    of: LaserHazard | LedHazard | None
    breaches: list[str]
    unjudged: list[str]

    @property
    def kind(self) -> str:
        """Return "laser", "led" or "none" (a dummy load)."""
        if self.of is None:
            return "none"
        return "laser" if isinstance(self.of, LaserHazard) else "led"


def judged_hazard(build: Build, worst: WorstLight, seen: Brightest | None) -> Hazard:
    """Return the hazard of `build`, judged.

    The closed-form bound of `derive` is checked against the brightest simulated case: a brighter
    one would mean that the bound is wrong, and is a breach.
    """
    if build.diode.kind not in ("laser_diode", "led"):
        return Hazard(worst.light_W, worst, seen, None, [], [])
    watts_W = max(worst.light_W, seen.light_W if seen else 0.0)
    of: LaserHazard | LedHazard
    unjudged = []
    if build.diode.kind == "laser_diode":
        of = laser_hazard(build, watts_W)
    else:
        of = led_hazard(build, watts_W)
        unjudged = of.unjudged
    lacks = breaches(of.demands)
    if seen and seen.light_W > worst.light_W:
        lacks.append(
            f"a simulated fault gave {seen.light_W:.3f} W, above the bound of "
            f"{worst.light_W:.3f} W: the bound is wrong"
        )
    return Hazard(watts_W, worst, seen, of, lacks, unjudged)


def hazard_of(build: Build, worst: WorstLight, cases: Sequence[CaseFinding]) -> dict[str, Any]:
    """Return the hazard as a rehearsal's document has it, on the brightest of its cases."""
    found = judged_hazard(build, worst, brightest(build, cases))
    if isinstance(found.of, LaserHazard):
        own = _laser(build, found, found.of)
    elif isinstance(found.of, LedHazard):
        own = _led(build, found, found.of)
    else:
        own = {"kind": "none", "title": "dummy load: no light", "lines": []}
    return own | {
        "classified_W": found.watts_W,
        "classified_on": worst.cause,
        "breaches": found.breaches,
    }


def _laser(build: Build, found: Hazard, of: LaserHazard) -> dict[str, Any]:
    worst, laser_class, nm = found.worst, of.laser_class, of.wavelength_nm
    direct, matt = of.reach("direct"), of.reach("matt")
    eyewear = "none that is rated stands the focus"
    asked = f"{eyewear}: keep it enclosed"
    if of.eyewear:
        eyewear = of.eyewear[0].marking
        asked = (
            f"{eyewear}, OD {of.eyewear[0].optical_density_at_least} or more; "
            "the supplier must confirm"
        )
    return {
        "kind": "laser",
        "title": f"laser class {laser_class}: {of.watts_W:.2f} W at {nm:g} nm with one fault",
        "lines": [
            f"class {laser_class} on {of.watts_W:.2f} W ({worst.cause}; {worst.current_A:.2f} A, "
            f"{build.heat.ambient_min_degC:g} degC), not on the set-point",
            f"hazard distance of the {of.worst_beam.name} beam {direct.distance_m:.0f} m "
            f"({direct.time_s:g} s, {direct.limit_W_m2:.1f} W/m2); "
            f"matt white target {matt.distance_m:.2f} m ({matt.time_s:g} s)",
            f"eyewear for an accidental hit: {asked}",
            f"enclosure: {build.enclosure.access.replace('_', ' ')}; closed and interlocked it "
            "may be of a lower class, which only a measurement can say",
        ],
        "laser_class": laser_class,
        "hazard_distance_m": direct.distance_m,
        "diffuse_distance_m": matt.distance_m,
        "eyewear": eyewear,
        "controls": [demand.id for demand in of.demands],
        "reach": reach_over_spread(of),
    }


def _look_words(longest_look_s: float) -> str:
    if math.isinf(longest_look_s):
        return "a look may last all day"
    return f"longest look in a day, all looks together, {longest_look_s:.3g} s"


def _led(build: Build, found: Hazard, of: LedHazard) -> dict[str, Any]:
    part, worst, risk = build.diode, found.worst, of.risk
    retinal = of.unjudged or [
        f"retinal thermal: screened only; at most {risk.thermal_share:.2g} of what would raise "
        "the group"
    ]
    return {
        "kind": "led",
        "title": f"LED risk group {risk.group}: {of.watts_W:.2f} W from {part.emitter_mm2:g} mm2 "
        "with one fault",
        "lines": [
            f"{risk.group} on {of.watts_W:.2f} W ({worst.cause}; {worst.current_A:.2f} A), not on "
            f"the set-point; {part.spectrum} light, blue-weighted "
            f"{float(f'{risk.blue_radiance_W_m2_sr:.3g}'):.12g} W/(m2 sr) of the bare emitter",
            f"{_look_words(risk.longest_look_s)}; {of.measure}",
            f"enclosure: {build.enclosure.access.replace('_', ' ')}; no lens makes the emitter "
            "brighter, a diffuser may lower the group, which only a measurement can say",
            *retinal,
            f"not judged: {', '.join(risk.not_judged)}, flicker, glare",
        ],
        "risk_group": risk.group,
        "longest_look_s": risk.longest_look_s if math.isfinite(risk.longest_look_s) else None,
        "blue_radiance_W_m2_sr": risk.blue_radiance_W_m2_sr,
        "not_judged": of.unjudged,
    }
