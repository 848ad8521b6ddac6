"""What a hazard asks for against what the build has: yes, no, or for a person to look at.

A build file says little of labels, covers and beam stops; the law says that every light begins
with a release and a fresh press (tests break it). Where neither can say, the row says "by hand".
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Literal

from diodewright.build import Build
from diodewright.hazard.controls import Control, emission_delay_min_s, required_controls
from diodewright.hazard.sources import SOURCES

__all__ = ["BY_HAND", "Demand", "breaches", "laser_demands", "led_demands"]

Status = Literal["yes", "no", "by hand"]
BY_HAND: Literal["by hand"] = "by hand"
#: Status, what the build has in words, and the breach where the status is no.
Found = tuple[Status, str, str]


@dataclass(frozen=True)
class Demand:
    """One thing that the hazard asks for.

    Attributes
    ----------
    id : stable name.
    demand : what must be so.
    status : "yes", "no", or "by hand" where the build file can't say.
    has : what the build has, or what to look at.
    breach : what is wrong and its mend; "" where the status is not "no".
    kept_by : who keeps it, the strongest first.
    rule : standard or law, with its clause.
    marker : how well the rule is known.
    """

    id: str
    demand: str
    status: Status
    has: str
    breach: str
    kept_by: tuple[str, ...]
    rule: str
    marker: str


def _interlock(build: Build, laser_class: str) -> Found:
    if build.controls.interlock:
        return "yes", "loop through every cover, and its connector", ""
    return "no", "none", f"class {laser_class} without interlock; mend: controls.interlock = true"


def _key(build: Build, laser_class: str) -> Found:
    if build.controls.key:
        return "yes", "key, out only when off", ""
    return "no", "none", f"class {laser_class} without key control; mend: controls.key = true"


def _indicator(build: Build, laser_class: str) -> Found:
    if build.controls.indicator:
        return "yes", "indicator whose current is watched", ""
    said = f"class {laser_class} without emission indicator; mend: controls.indicator = true"
    return "no", "none", said


def _first(build: Build, laser_class: str) -> Found:
    if not build.controls.indicator:
        return _indicator(build, laser_class)
    if build.limits.delay_s > 0:
        return "yes", f"on {build.limits.delay_s:g} s before light", ""
    return _delay(build, laser_class)


def _delay(build: Build, laser_class: str) -> Found:
    delay_s, least_s = build.limits.delay_s, emission_delay_min_s(laser_class)
    if delay_s >= least_s:
        return "yes", f"{delay_s:g} s, at least {least_s:g} s", ""
    said = (
        f"class {laser_class}: indicator before emission {delay_s:g} s, "
        f"at least {least_s:g} s (common practice, no source); mend: limits.delay_s"
    )
    return "no", f"{delay_s:g} s, at least {least_s:g} s", said


def _by_law(_: Build, __: str) -> Found:
    return "yes", "the law: a release, then a fresh press", ""


def _housing(build: Build, _: str) -> Found:
    words = build.enclosure.access.replace("_", " ")
    return BY_HAND, f"{words}: look for gaps, vents, thin walls", ""


def _look_for(what: str) -> Callable[[Build, str], Found]:
    return lambda _, __: (BY_HAND, what, "")


_LASER: Mapping[str, Callable[[Build, str], Found]] = {
    "protective_housing": _housing,
    "housing_interlock": _interlock,
    "remote_interlock": _interlock,
    "key": _key,
    "emission_indicator": _indicator,
    "indicator_first": _first,
    "emission_delay": _delay,
    "indicator_fail_safe": _indicator,
    "beam_stop": _look_for("a stop or shutter that stays on"),
    "manual_reset": _by_law,
    "deliberate_start": _by_law,
    "class_label": _look_for("class, highest power, wavelength, edition"),
    "aperture_label": _look_for("a label at the opening"),
    "housing_label": _look_for("labels on covers over a higher class"),
    "eyewear": _look_for("see eyewear above"),
}


def _laser_demand(build: Build, laser_class: str, control: Control) -> Demand:
    status, has, breach = _LASER[control.id](build, laser_class)
    return Demand(
        id=control.id,
        demand=control.demand,
        status=status,
        has=has,
        breach=breach,
        kept_by=control.kept_by,
        rule=control.source,
        marker=control.marker,
    )


def laser_demands(build: Build, laser_class: str) -> tuple[Demand, ...]:
    """Return what the class asks for, each held against `build`."""
    return tuple(
        _laser_demand(build, laser_class, control) for control in required_controls(laser_class)
    )


def led_demands(build: Build, group: str) -> tuple[Demand, ...]:
    """Return what an LED's risk group asks for, each held against `build`."""
    rows: list[tuple[str, str, Found, tuple[str, ...], str]] = []
    if group == "RG3":
        boxed = build.enclosure.access == "interlocked_box"
        open_said = 'RG3 where people can reach the light; mend: access = "interlocked_box"'
        box: Found = ("yes", "interlocked box", "") if boxed else ("no", "open", open_said)
        loop_said = "RG3 without interlock; mend: controls.interlock = true"
        fitted = build.controls.interlock
        loop: Found = ("yes", "interlock loop", "") if fitted else ("no", "none", loop_said)
        rows += [
            ("closed_box", "nobody can reach the light", box, ("enclosure",), "led_box"),
            ("interlock", "an opened box is dark", loop, ("circuit",), "led_box"),
        ]
    if group in ("RG2", "RG3"):
        seen: Found = (BY_HAND, "caution: do not stare", "")
        rows.append(
            ("caution_label", "a label that names group and caution", seen, ("marking",), "group")
        )
    return tuple(
        Demand(id, demand, *found, kept_by, SOURCES[source].rule, SOURCES[source].marker)
        for id, demand, found, kept_by, source in rows
    )


def breaches(demands: tuple[Demand, ...]) -> list[str]:
    """Return what the build lacks, each once, with its mend."""
    return list(dict.fromkeys(demand.breach for demand in demands if demand.status == "no"))
