"""Currents, volts and where the watts go, at the highest level from a full pack."""

from diodewright.build import Build
from diodewright.derive.electrics import full_on_A, highest_level_A
from diodewright.size.figure import Figure, share_pct
from diodewright.size.survey import Survey
from diodewright.size.working import Working

__all__ = ["electrical", "peak_A"]

#: Where the pack's watts go besides the diode: id, field of a working point, meaning, leaves out.
_PARTS: tuple[tuple[str, str, str, str], ...] = (
    ("stage_W", "stage_W", "lost in the stage", "core loss, input capacitor"),
    ("cutoff_a_W", "a_W", "lost in cut-off A, settled", "its switching"),
    ("path_W", "path_W", "lost in monitor shunt, leads, contacts", ""),
    ("wiring_W", "wiring_W", "lost in the pack's wiring", ""),
    ("cells_W", "cells_W", "lost inside the cells", "the cells' own warming"),
    ("controller_W", "controller_W", "controller and indicator", ""),
)


def peak_A(build: Build, cool: Working) -> float:
    """Return the highest current [A] of a healthy light: full trim or tolerance, half the ripple.

    `cool` is the working point whose ripple is taken.
    """
    mean_A = highest_level_A(build) * (1 + build.limits.authority_pct / 100)
    if build.stage.kind == "gated":
        mean_A = full_on_A(build)
    return mean_A + cool.peak_A - cool.diode_A


def _held(cool: Working) -> str:
    """Return in words that a full pack does not bear the level; all figures are then of less."""
    return f"; DROPS OUT, figures are at {cool.diode_A:.3g} A" if cool.drops_out else ""


def electrical(build: Build, found: Survey) -> list[Figure]:
    """Return currents, volts and watts by part."""
    cool = found.cool
    rows = [
        Figure("set_current_A", highest_level_A(build), "A", f"highest level{_held(cool)}"),
        Figure(
            "peak_current_A",
            peak_A(build, cool),
            "A",
            "full trim or tolerance, half the ripple",
            "stage accuracy",
        ),
        Figure("forward_V", cool.diode_V, "V", "diode, typical, mount at ambient"),
        Figure("electrical_W", cool.electrical_W, "W", "into the diode"),
        Figure("drawn_W", cool.drawn_W, "W", "out of the pack's terminals"),
    ]
    rows += [
        Figure(name, getattr(cool, field), "W", meaning, leaves_out)
        for name, field, meaning, leaves_out in _PARTS
        if field != "cells_W" or build.pack.kind == "cells"
    ]
    rows.append(
        Figure(
            "stage_efficiency_pct",
            share_pct(cool.given_W, cool.given_W + cool.stage_W),
            "%",
            "of what the stage takes",
        )
    )
    rows.append(Figure("headroom_V", cool.headroom_V, "V", "spare at the stage, full pack"))
    rows.append(
        Figure(
            "dropout_V",
            cool.pack_V - cool.headroom_V,
            "V",
            "the full level needs this at the stage",
            "a diode of another voltage moves it as much",
        )
    )
    return rows
