"""The hazard of a laser build in figures, all on the highest light that a single fault can give."""

import math
from dataclasses import dataclass

from diodewright.build import Build
from diodewright.hazard.beam import (
    Beam,
    Emitter,
    bare_beam,
    collimated_beam,
    focused_beam,
    stated_beam,
    widths_mm,
)
from diodewright.hazard.distance import diffuse_distance_m
from diodewright.hazard.exposure import ExposureLimit, exposure_limit, skin_limit_W_m2
from diodewright.hazard.eyewear import Eyewear, choose_eyewear
from diodewright.hazard.factors import SMALLEST_MRAD
from diodewright.hazard.inputs import UNSEEN_FROM_NM
from diodewright.hazard.irradiance import BINOCULARS, EYE, irradiance_W_m2, share_through
from diodewright.hazard.laser_class import ClassLimit, class_limits, classify
from diodewright.hazard.reach import beam_distance_m, reflected_distance_m
from diodewright.hazard.sources import SOURCES, Source
from diodewright.rehearse.demands import Demand, laser_demands

__all__ = ["GAIN", "GLANCE_S", "HIT_S", "LaserHazard", "NamedBeam", "Reach", "laser_hazard"]

#: Exposure times [s]: a chance look, a hit that nobody notices at once, the class, a working day.
GLANCE_S, HIT_S, CLASS_S, DAY_S = 0.25, 10.0, 100.0, 30_000.0

#: What viewing optics add, at most [1]: 7 x 50 binoculars.
GAIN = 50.0
#: A pane of glass, both faces; satin metal, half mirror and half matt (common practice).
_GLASS, _SATIN = (0.08, 0.0), (0.5, 0.5)
#: No face comes nearer to a bare diode than its optics' holder lets it [m].
_NEAREST_M = 0.1


@dataclass(frozen=True)
class Exposure:
    """The limit of the eye and of the skin for one time."""

    time_s: float
    eye: ExposureLimit
    skin_W_m2: float
    source: Source


@dataclass(frozen=True)
class NamedBeam:
    """One geometry: what it is, the beam, and its hazard distance for a chance look [m]."""

    name: str
    beam: Beam
    distance_m: float


@dataclass(frozen=True)
class Reach:
    """One hazard distance: in which situation, for which exposure, over which limit."""

    id: str
    situation: str
    time_s: float
    limit_W_m2: float
    distance_m: float
    source: Source


@dataclass(frozen=True)
class Condition:
    """What one condition of measurement lets through, and the class of that power alone."""

    id: str
    aperture_mm: float
    at_m: float
    power_W: float
    laser_class: str
    source: Source


@dataclass(frozen=True)
class LaserHazard:
    """Everything that `hazard` says of a laser.

    Attributes
    ----------
    watts_W : power that it rests on [W].
    laser_class : of that power, all of it counted.
    limits : of the classes at this wavelength and source.
    chance_s : length of a chance look [s]: 0.25 s, but 10 s where the light is not seen.
    exposures, beams, conditions, reaches : the tables.
    far : the exposures of a point source: from afar a wide source looks like one, so distances
        rest on these.
    worst_beam : of `beams`, that of the longest direct distance.
    eyewear : for a hit, and for a working day; None where none stands the beam.
    eyewear_mm : beam that it is chosen for, full width at 1/e [mm].
    skin_distance_m : from where the skin's limit for 10 s is kept [m].
    demands : what the class asks for.
    """

    watts_W: float
    wavelength_nm: float
    source_mrad: float
    laser_class: str
    limits: tuple[ClassLimit, ...]
    chance_s: float
    exposures: tuple[Exposure, ...]
    far: tuple[Exposure, ...]
    beams: tuple[NamedBeam, ...]
    worst_beam: NamedBeam
    conditions: tuple[Condition, ...]
    reaches: tuple[Reach, ...]
    eyewear: tuple[Eyewear, ...] | None
    eyewear_mm: float
    skin_distance_m: float
    demands: tuple[Demand, ...]

    def reach(self, id: str) -> Reach:
        """Return the distance of that id; KeyError where there is none."""
        for each in self.reaches:
            if each.id == id:
                return each
        raise KeyError(id)


def _exposures(nm: float, source_mrad: float, seen: bool) -> tuple[Exposure, ...]:
    times_s = (GLANCE_S, HIT_S, CLASS_S, DAY_S) if seen else (HIT_S, CLASS_S, DAY_S)
    return tuple(
        Exposure(
            time_s,
            limit := exposure_limit(nm, time_s, source_mrad),
            skin_limit_W_m2(nm, time_s),
            _limit_source(limit, time_s, seen),
        )
        for time_s in times_s
    )


def _limit_source(limit: ExposureLimit, time_s: float, seen: bool) -> Source:
    """Return where the limit that governs is from."""
    if not seen:
        return SOURCES["thermal_unseen"]
    if limit.governed_by == "photochemical":
        return SOURCES["photochemical_long" if time_s > CLASS_S else "photochemical"]
    return SOURCES["thermal_short" if time_s < HIT_S else "thermal"]


def _beams(build: Build) -> dict[str, Beam]:
    """Return every geometry that the build says or implies, by name."""
    of = build.enclosure
    emitter = Emitter(of.emitter_wide_um, of.emitter_high_um, of.bare_wide_deg, of.bare_high_deg)
    found = {"stated": stated_beam(of.beam_mm, of.divergence_mrad)}
    if of.focus_mm:
        found["focused"] = focused_beam(emitter, of.lens_focal_mm, of.focus_mm)
    elif of.lens_focal_mm:
        found["collimated"] = collimated_beam(emitter, of.lens_focal_mm)
    return found | {"bare": bare_beam(emitter)}


def _reaches(watts_W: float, beam: Beam, chance: Exposure, hit: Exposure) -> tuple[Reach, ...]:
    look_W_m2, hit_W_m2 = chance.eye.irradiance_W_m2, hit.eye.irradiance_W_m2

    def at(id: str, situation: str, of: Exposure, distance_m: float, source: str) -> Reach:
        limit_W_m2 = of.eye.irradiance_W_m2
        return Reach(id, situation, of.time_s, limit_W_m2, distance_m, SOURCES[source])

    direct_m = beam_distance_m(watts_W, look_W_m2, beam)
    through_m = beam_distance_m(watts_W, look_W_m2, beam, GAIN)
    glass_m, satin_m = (
        reflected_distance_m(watts_W, look_W_m2, beam, *shares) for shares in (_GLASS, _SATIN)
    )
    hit_m = beam_distance_m(watts_W, hit_W_m2, beam)
    matt_m = diffuse_distance_m(watts_W, hit_W_m2)
    return (
        at("direct", "direct, or by a mirror", chance, direct_m, "direct"),
        at("direct_hit", "direct, unnoticed", hit, hit_m, "direct"),
        at("binoculars", "through binoculars", chance, through_m, "binoculars"),
        at("glass", "from a pane of glass", chance, glass_m, "glossy"),
        at("satin", "from satin metal", chance, satin_m, "glossy"),
        at("matt", "from a matt white target", hit, matt_m, "matt"),
    )


def _condition(
    id: str, at: tuple[float, float], watts_W: float, nm: float, source_mrad: float, beam: Beam
) -> Condition:
    aperture_mm, metres = at
    power_W = watts_W * share_through(beam, metres, aperture_mm)
    alone = classify(power_W, nm, source_mrad)
    return Condition(id, aperture_mm, metres, power_W, alone, SOURCES[id])


def _face_mm(beams: dict[str, Beam]) -> float:
    """Return the narrowest beam that can meet a face [mm]: at the exit, at a focus, bare at 0.1 m.

    Of an ellipse, the circle of its area.
    """
    return min(
        math.sqrt(math.prod(widths_mm(beam, at_m)))
        for name, beam in beams.items()
        for at_m in _face_places_m(name, beam)
    )


def _face_places_m(name: str, beam: Beam) -> tuple[float, ...]:
    """Return where a face or hand may meet the beam at its narrowest [m]."""
    return (_NEAREST_M,) if name == "bare" else (0.0, beam.waist_m)


def _eyewear(watts_W: float, nm: float, beam_mm: float) -> tuple[Eyewear, ...] | None:
    if watts_W <= 0:
        return ()
    try:
        return tuple(choose_eyewear(watts_W, nm, beam_mm, time_s) for time_s in (HIT_S, DAY_S))
    except ValueError:
        return None  # a focus that no filter stands


def laser_hazard(build: Build, watts_W: float) -> LaserHazard:
    """Return the hazard of a laser build that can let out `watts_W` [W] under a single fault."""
    nm, source_mrad = build.diode.wavelength_nm, build.enclosure.source_mrad
    seen = nm < UNSEEN_FROM_NM
    far = _exposures(nm, SMALLEST_MRAD, seen)
    chance = far[0]
    hit = next(each for each in far if each.time_s == HIT_S)
    beams = _beams(build)
    named = tuple(
        NamedBeam(name, beam, beam_distance_m(watts_W, chance.eye.irradiance_W_m2, beam))
        for name, beam in beams.items()
    )
    farthest = max(named, key=lambda each: each.distance_m)
    laser_class = classify(watts_W, nm, source_mrad)
    face_mm = _face_mm(beams)
    conditions = (("condition_3", EYE), ("condition_1", BINOCULARS))
    return LaserHazard(
        watts_W=watts_W,
        wavelength_nm=nm,
        source_mrad=source_mrad,
        laser_class=laser_class,
        limits=class_limits(nm, source_mrad),
        chance_s=chance.time_s,
        exposures=_exposures(nm, source_mrad, seen),
        far=far,
        beams=named,
        worst_beam=farthest,
        conditions=tuple(
            _condition(id, at, watts_W, nm, source_mrad, beams["stated"]) for id, at in conditions
        ),
        reaches=_reaches(watts_W, farthest.beam, chance, hit),
        eyewear=_eyewear(watts_W, nm, face_mm),
        eyewear_mm=face_mm,
        skin_distance_m=beam_distance_m(watts_W, hit.skin_W_m2, farthest.beam),
        demands=laser_demands(build, laser_class),
    )


def class_source(of: LaserHazard) -> Source:
    """Return where its class limits are from."""
    if of.wavelength_nm >= UNSEEN_FROM_NM:
        return SOURCES["class_unseen"]
    return SOURCES["class_wide" if of.source_mrad > SMALLEST_MRAD else "class"]


def skin_most_W_m2(of: LaserHazard) -> float:
    """Return the most that skin may meet [W/m2]: at the exit, at a focus, bare at 0.1 m."""
    return max(
        irradiance_W_m2(of.watts_W, each.beam, at_m)
        for each in of.beams
        for at_m in _face_places_m(each.name, each.beam)
    )
