"""The figure of a hazard: true lines, the build on them, told apart without colour."""

import re
from collections.abc import Callable
from typing import Any

import numpy as np
import pytest
from matplotlib.figure import Figure as Drawn

from diodewright.build import load
from diodewright.derive import worst_light
from diodewright.hazard.beam import Beam
from diodewright.hazard.led_distance import falls_to_m
from diodewright.hazard.reach import beam_distance_m
from diodewright.rehearse.hazard_laser import LaserHazard, laser_hazard
from diodewright.rehearse.hazard_led import LedHazard
from diodewright.rehearse.hazards import judged_hazard
from diodewright.report.figure_hazard import hazard_figure
from edits import Edits, edited

BLUE: Edits = {"diode.wavelength_nm": "450"}
LENS: Edits = {"enclosure.lens_focal_mm": "4"}


def _drawn(of: LaserHazard | LedHazard, emitter_mm2: float = 4.0) -> tuple[Drawn, str]:
    """Return the matplotlib figure and its SVG text."""
    seen: list[Drawn] = []
    save: Callable[..., None] = Drawn.savefig

    def saved(self: Drawn, *arguments: Any, **named: Any) -> None:
        save(self, *arguments, **named)
        seen.append(self)

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(Drawn, "savefig", saved)
        text = hazard_figure(of, emitter_mm2)
    return seen[0], text


@pytest.fixture(scope="module")
def tunnel() -> LaserHazard:
    return laser_hazard(load("smoke_tunnel"), 1.5)


@pytest.fixture(scope="module")
def viewer() -> LedHazard:
    build = load("gel_viewer")
    of = judged_hazard(build, worst_light(build), None).of
    assert isinstance(of, LedHazard)
    return of


@pytest.fixture(params=["tunnel", "viewer", "blue", "lens", "faint"])
def of(request: pytest.FixtureRequest, tunnel: LaserHazard, viewer: LedHazard) -> Any:
    return {
        "tunnel": tunnel,
        "viewer": viewer,
        "blue": laser_hazard(edited("smoke_tunnel", BLUE), 1.5),
        "lens": laser_hazard(edited("smoke_tunnel", LENS), 1.5),
        "faint": laser_hazard(load("smoke_tunnel"), 1e-10),
    }[request.param]


def test_every_axis_has_its_unit_and_no_text_leaves_the_figure(of: Any) -> None:
    figure, _ = _drawn(of)
    box = figure.bbox
    for axes in figure.axes:
        for label in (axes.get_xlabel(), axes.get_ylabel()):
            assert re.search(r"\[(?:m|mrad|°|W/m²)\]$", label), label
        legend = axes.get_legend()
        assert legend.get_window_extent().y0 >= axes.get_window_extent().y1 - 0.5
        for text in (*axes.texts, *axes.get_xticklabels(), *axes.get_yticklabels()):
            seen = text.get_window_extent()
            shown = axes.get_window_extent()
            if text.get_text() and shown.x0 <= (seen.x0 + seen.x1) / 2 <= shown.x1:
                assert box.x0 <= seen.x0 and seen.x1 <= box.x1, text.get_text()


def test_lines_of_one_axes_differ_without_colour(of: Any) -> None:
    figure, _ = _drawn(of)
    for axes in figure.axes:
        named = [line for line in axes.lines if not line.get_label().startswith("_")]
        styles = [(line.get_linestyle(), line.get_marker()) for line in named]
        assert len(set(styles)) == len(styles)


def test_the_same_hazard_gives_the_same_bytes(tunnel: LaserHazard) -> None:
    assert _drawn(tunnel)[1] == _drawn(tunnel)[1]


def test_the_laser_s_ring_is_the_build_s_distance_and_lies_on_its_line(
    tunnel: LaserHazard,
) -> None:
    figure, _ = _drawn(tunnel)
    top, bottom = figure.axes
    (x,), (y,) = top.lines[3].get_data()
    assert (x, y) == (pytest.approx(10 / 2**0.5), tunnel.reach("direct").distance_m)
    line = top.lines[2]
    assert line.get_label() == "a chance look"
    on_line = np.exp(np.interp(np.log(x), np.log(line.get_xdata()), np.log(line.get_ydata())))
    # five digits are kept of each
    assert on_line == pytest.approx(y, rel=1e-4)
    # each point of the line is the distance of a round beam of that divergence
    for mrad, metres in list(zip(*line.get_data(), strict=True))[::30]:
        wide = tunnel.worst_beam.beam.wide_mm
        own = beam_distance_m(1.5, 25.4558, Beam(wide, wide, mrad, mrad))
        assert metres == pytest.approx(own, rel=1e-4)
    middle, pupil = bottom.lines[:2]
    assert np.all(pupil.get_ydata() <= middle.get_ydata() * (1 + 1e-9))


def test_every_limit_of_blue_light_has_its_line_and_its_times() -> None:
    figure, _ = _drawn(laser_hazard(edited("smoke_tunnel", BLUE), 1.5))
    said = [text.get_text() for text in figure.axes[1].texts]
    assert "0.25 s: 25.5 W/m²" in said
    assert "10 s: 10 W/m²" in said
    assert "100 s, 30000 s: 1 W/m²" in said


def test_a_beam_below_its_limit_has_no_ring() -> None:
    figure, _ = _drawn(laser_hazard(load("smoke_tunnel"), 1e-10))
    rings = [line for line in figure.axes[0].lines if line.get_marker() == "o"]
    assert rings == []


def test_the_led_s_ring_lies_on_its_line(viewer: LedHazard) -> None:
    figure, _ = _drawn(viewer)
    (x,), (y,) = figure.axes[0].lines[2].get_data()
    assert (x, y) == (120, viewer.falls_to["RG1"])
    narrow = float(figure.axes[0].lines[0].get_ydata()[0])
    expected_m = falls_to_m("RG1", viewer.watts_W, 4.0, viewer.risk.weighting, 5.0)
    assert narrow == pytest.approx(expected_m)
