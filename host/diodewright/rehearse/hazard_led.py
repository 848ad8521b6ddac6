"""The hazard of an LED build in figures, all on the highest light that a single fault can give."""

from dataclasses import dataclass

from diodewright.build import Build
from diodewright.derive.spectrum import led_bands
from diodewright.hazard.led_distance import falls_to_m
from diodewright.hazard.led_risk import LedRisk, assess_bands
from diodewright.rehearse.demands import Demand, led_demands

__all__ = ["LedHazard", "led_hazard"]

#: What a group asks of the people near the light, and of the build.
_MEASURES = {
    "exempt": "no measure needed against its blue light",
    "RG1": "harmless in ordinary use; do not make a habit of staring into it",
    "RG2": "do not stare into it, nor let others; aim it away from faces",
    "RG3": "even a chance look may hurt the eye: light only inside a closed, interlocked box",
}


@dataclass(frozen=True)
class LedHazard:
    """Everything that `hazard` says of an LED.

    Attributes
    ----------
    watts_W : power that it rests on [W].
    risk : group at 200 mm, blue-weighted radiance, longest look.
    falls_to : group -> from how far the light is within it [m]; 0 where it always is.
    beam_deg : full angle at half the intensity [deg].
    measure : what the group asks of people.
    unjudged : why the group may be higher; empty where it may not.
    demands : what the group asks of the build.
    """

    watts_W: float
    risk: LedRisk
    falls_to: dict[str, float]
    beam_deg: float
    measure: str
    unjudged: list[str]
    demands: tuple[Demand, ...]


def led_hazard(build: Build, watts_W: float) -> LedHazard:
    """Return the hazard of an LED build that can let out `watts_W` [W] under a single fault.

    It is judged where the group rests on blue light. Where the screened retinal thermal hazard
    might raise the group it is not, and the verdict is INCOMPLETE: only a measurement can say.
    """
    part, beam_deg = build.diode, build.enclosure.beam_deg
    risk = assess_bands(watts_W, part.emitter_mm2, led_bands(build))
    unjudged = []
    if risk.thermal_share > 1:
        unjudged.append(
            f"retinal thermal may raise {risk.group}: up to {risk.thermal_share:.1f} of what "
            "would; have it measured"
        )
    measure = _MEASURES[risk.group]
    if risk.group == "RG2":
        measure += f"; it goes dark by itself only after {build.controls.auto_off_s:g} s"
    falls_to = {
        group: falls_to_m(group, watts_W, part.emitter_mm2, risk.weighting, beam_deg)
        for group in ("RG2", "RG1", "exempt")
    }
    return LedHazard(
        watts_W, risk, falls_to, beam_deg, measure, unjudged, led_demands(build, risk.group)
    )
