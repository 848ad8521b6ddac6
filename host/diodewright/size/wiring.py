"""Wire, contacts and fuse: volts lost on the way, and what must melt first.

Fuse. Ratings are the preferred values of IEC 60127; a quick-acting one carries 1.5 times its
rating for an hour, melts at 2.1 times within half an hour and at four times within 0.3 s (all from
memory: look at the standard). A rating is loaded to three quarters at most, wire carries ten
amperes a square millimetre for that half hour (both common practice, no source). Sections are those
of IEC 60228 and below them those of thin leads in the trade (from memory).
"""

from diodewright.build import Build
from diodewright.derive.edges import INPUT_F
from diodewright.size.figure import Figure
from diodewright.size.pack import short_circuit_A
from diodewright.size.survey import Survey
from diodewright.size.working import plant_of

__all__ = ["FUSES_A", "MELTS_AT", "fuse_A", "inrush_A2s", "wire_mm2", "wiring"]

FUSES_A = (
    *(0.1, 0.125, 0.16, 0.2, 0.25, 0.315, 0.4, 0.5, 0.63, 0.8),
    *(1.0, 1.25, 1.6, 2.0, 2.5, 3.15, 4.0, 5.0, 6.3, 8.0, 10.0, 12.5, 16.0, 20.0),
)
_SECTIONS_MM2 = (0.08, 0.14, 0.25, 0.34, 0.5, 0.75, 1.0, 1.5, 2.5, 4.0, 6.0)
_LOADED = 0.75
_HALF_HOUR = 2.1
_WIRE_A_MM2 = 10.0
#: A short must reach this many times the rating, to melt it within 0.3 s.
MELTS_AT = 4.0
_NOT_JUDGED = (
    "not judged: its melting I2t against the inrush, its own resistance, warmth around it, "
    "its breaking capacity"
)


def fuse_A(carried_A: float) -> float | None:
    """Return the smallest rating [A] that `carried_A` [A] loads to three quarters; None: none."""
    return next((rated_A for rated_A in FUSES_A if carried_A <= _LOADED * rated_A), None)


def wire_mm2(rated_A: float) -> float | None:
    """Return the thinnest lead [mm2] that outlasts a fuse of `rated_A` [A]; None: none listed."""
    needed_mm2 = _HALF_HOUR * rated_A / _WIRE_A_MM2
    return next((section for section in _SECTIONS_MM2 if section >= needed_mm2), None)


def inrush_A2s(full_V: float, source_ohm: float) -> float:
    """Return I2t [A2 s] of a pack [V] behind `source_ohm` plugged into the stage's input.

    C V^2 / 2 is spent in the resistance whatever the leads' inductance: R I2t = C V^2 / 2.
    """
    return 0.5 * INPUT_F * full_V * full_V / source_ohm


def _fuse(build: Build, found: Survey) -> list[Figure]:
    carried_A, p = found.pack_A, plant_of(build)
    rated_A = fuse_A(carried_A)
    if rated_A is None:
        return []
    said = f"quick-acting: {carried_A:.3g} A load it to {100 * carried_A / rated_A:.0f} %"
    rows = [Figure("fuse_A", rated_A, "A", said, _NOT_JUDGED)]
    section_mm2 = wire_mm2(rated_A)
    if section_mm2 is not None:
        rows.append(Figure("wire_mm2", section_mm2, "mm2", "thinnest lead that this fuse saves"))
    if build.pack.kind == "cells":
        rows += [
            Figure(
                "short_A",
                short_circuit_A(build),
                "A",
                "full pack, shorted: the fuse must break it",
                "the short's own resistance",
            ),
            Figure(
                "inrush_A2s",
                inrush_A2s(build.pack.series * build.pack.cell_full_V, p.pack_fast_ohm),
                "A2s",
                "as the pack is plugged in",
                "10 uF at the input; a fuse ought to melt at five times it; contact bounce",
            ),
        ]
    return rows


def wiring(build: Build, found: Survey) -> list[Figure]:
    """Return drops and fuse, and the leads that the fuse saves."""
    cool, p = found.cool, plant_of(build)
    drop_V = cool.pack_A * p.wiring_ohm
    return [
        Figure(
            "wiring_drop_V",
            float(drop_V),
            "V",
            f"holder, leads, fuse: {100 * drop_V / (cool.pack_V + drop_V):.1f} % of the pack",
        ),
        Figure(
            "lead_drop_V",
            float(cool.diode_A * p.lead_ohm),
            "V",
            "leads and contacts of the diode",
            f"{1000 * p.lead_ohm:g} mohm taken for them; typical, no source",
        ),
        *_fuse(build, found),
    ]
