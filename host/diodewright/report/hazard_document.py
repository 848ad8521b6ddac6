"""The hazard as plain values: the document that `hazard --json` prints and `--out` writes."""

import dataclasses
import math
from typing import Any

from diodewright.build import Build
from diodewright.hazard.beam import Beam
from diodewright.hazard.irradiance import irradiance_W_m2, pupil_irradiance_W_m2
from diodewright.hazard.laser_class import classify
from diodewright.hazard.sources import SOURCES, Source
from diodewright.rehearse import Statement
from diodewright.rehearse.hazard_laser import (
    LaserHazard,
    NamedBeam,
    class_source,
    skin_most_W_m2,
)
from diodewright.rehearse.hazard_led import LedHazard
from diodewright.rehearse.hazard_statement import HAZARD_LEAVES_OUT, NO_CERTIFICATE
from diodewright.rehearse.hazards import cautions_of

__all__ = ["along_m", "hazard_document"]

#: Distances at which the irradiance along the beam is told [m].
_ALONG_M = (0.0, 0.1, 0.3, 1.0, 3.0, 10.0, 30.0, 100.0)
_ROOT_2 = math.sqrt(2)


def along_m(beam: Beam) -> list[float]:
    """Return the distances at which the beam's irradiance is told, its focus among them [m]."""
    return sorted({*_ALONG_M, beam.waist_m})


def _from(source: Source) -> dict[str, str]:
    return {"rule": source.rule, "marker": source.marker}


def hazard_document(build: Build, done: Statement) -> dict[str, Any]:
    """Return the statement of `build` as plain values, units in the keys."""
    of = done.hazard.of
    own: dict[str, Any] = {}
    if isinstance(of, LaserHazard):
        own["laser"] = _laser(of, done.emission.normal_most_W)
    if isinstance(of, LedHazard):
        own["led"] = _led(build, of)
    return {
        "verdict": done.verdict,
        "reasons": done.reasons,
        "build": {"name": build.name, "purpose": build.purpose, "fingerprint": build.fingerprint},
        "seed": done.seed,
        "law_hash": done.law_hash,
        "engine": done.engine,
        "kind": done.kind,
        "emission": _emission(done),
        **own,
        "controls": [dataclasses.asdict(each) for each in of.demands] if of else [],
        "no_certificate": NO_CERTIFICATE,
        "cautions": cautions_of(build),
        "leaves_out": list(HAZARD_LEAVES_OUT[done.kind]),
    }


def _emission(done: Statement) -> dict[str, Any]:
    found, seen, worst = done.emission, done.emission.brightest, done.emission.worst
    return {
        "normal_W": found.normal_W,
        "normal_most_W": found.normal_most_W,
        "fault_W": seen.light_W if seen else None,
        "fault_current_A": seen.current_A if seen else None,
        "fault_case": seen.case if seen else None,
        "bound_W": worst.light_W,
        "bound_current_A": worst.current_A,
        "bound_cause": worst.cause,
        "classified_W": done.hazard.watts_W,
        **_from(SOURCES["single_fault"]),
    }


def _laser(of: LaserHazard, normal_W: float) -> dict[str, Any]:
    nm = of.wavelength_nm
    return {
        "wavelength_nm": nm,
        "source_mrad": of.source_mrad,
        "laser_class": of.laser_class,
        "normal_class": classify(normal_W, nm, of.source_mrad),
        "limits": [
            {
                "laser_class": row.laser_class,
                "limit_W": row.limit_W if math.isfinite(row.limit_W) else None,
                "time_base_s": row.time_base_s,
                "meaning": row.meaning,
                **_from(class_source(of)),
            }
            for row in of.limits
        ],
        "conditions": [_sourced(row) for row in of.conditions],
        "exposures": [
            {
                "time_s": row.time_s,
                "eye_W_m2": row.eye.irradiance_W_m2,
                "eye_J_m2": row.eye.dose_J_m2,
                "governed_by": row.eye.governed_by,
                "cone_mrad": row.eye.cone_mrad,
                "skin_W_m2": row.skin_W_m2,
                **_from(row.source),
            }
            for row in of.exposures
        ],
        "beams": [_beam(each) for each in of.beams],
        "worst_beam": of.worst_beam.name,
        "along": [
            {
                "at_m": at_m,
                "middle_W_m2": irradiance_W_m2(of.watts_W, of.worst_beam.beam, at_m),
                "pupil_W_m2": pupil_irradiance_W_m2(of.watts_W, of.worst_beam.beam, at_m),
            }
            for at_m in along_m(of.worst_beam.beam)
        ],
        "distances": [_sourced(row) for row in of.reaches],
        "eyewear": _eyewear(of),
        "skin": {
            "most_W_m2": skin_most_W_m2(of),
            "limit_W_m2": of.exposures[-1].skin_W_m2,
            "distance_m": of.skin_distance_m,
            **_from(SOURCES["skin"]),
        },
    }


def _sourced(row: Any) -> dict[str, Any]:
    """Return a row of plain values with its source spelt out."""
    values = dataclasses.asdict(row)
    values.pop("source")
    return values | _from(row.source)


def _beam(of: NamedBeam) -> dict[str, Any]:
    beam = of.beam
    return {
        "name": of.name,
        "wide_1_e_mm": beam.wide_mm,
        "high_1_e_mm": beam.high_mm,
        "wide_1_e2_mm": _ROOT_2 * beam.wide_mm,
        "high_1_e2_mm": _ROOT_2 * beam.high_mm,
        "wide_1_e_mrad": beam.wide_mrad,
        "high_1_e_mrad": beam.high_mrad,
        "wide_1_e2_mrad": _ROOT_2 * beam.wide_mrad,
        "high_1_e2_mrad": _ROOT_2 * beam.high_mrad,
        "waist_m": beam.waist_m,
        "hazard_distance_m": of.distance_m,
        **_from(SOURCES["beam"]),
    }


def _eyewear(of: LaserHazard) -> list[dict[str, Any]]:
    """Return one row an exposure; none where no rated eyewear stands the beam."""
    return [
        dataclasses.asdict(each)
        | {
            "beam_mm": of.eyewear_mm,
            "rule": SOURCES["scale"].rule,
            "marker": SOURCES["scale"].marker,
            "density_rule": SOURCES["density"].rule,
            "density_marker": SOURCES["density"].marker,
        }
        for each in of.eyewear or ()
    ]


def _led(build: Build, of: LedHazard) -> dict[str, Any]:
    risk = of.risk
    return {
        "risk_group": risk.group,
        "judged_at_m": 0.2,
        "emitter_mm2": build.diode.emitter_mm2,
        "beam_deg": of.beam_deg,
        "blue_radiance_W_m2_sr": risk.blue_radiance_W_m2_sr,
        "weighting": risk.weighting,
        "longest_look_s": risk.longest_look_s if math.isfinite(risk.longest_look_s) else None,
        "thermal_share": risk.thermal_share,
        "not_judged": [*of.unjudged, *risk.not_judged],
        "measure": of.measure,
        "falls_to": [
            {"group": group, "distance_m": distance_m, **_from(SOURCES["small"])}
            for group, distance_m in of.falls_to.items()
        ],
        "group_source": _from(SOURCES["group"]),
        "weighting_source": _from(SOURCES["weighting"]),
        "look_source": _from(SOURCES["look"]),
        "retinal_source": _from(SOURCES["retinal"]),
    }
