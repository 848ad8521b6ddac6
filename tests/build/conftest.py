"""The shipped example as text, with edits: what a builder would change in an editor."""

from collections.abc import Callable
from importlib import resources

import pytest

from diodewright.build import BuildErrors, Problem, load_text
from edits import Edits, edited_text


@pytest.fixture(scope="session")
def example() -> str:
    """Return the text of the default example."""
    file = resources.files("diodewright.examples").joinpath("smoke_tunnel.toml")
    return file.read_text(encoding="utf-8")


VARIANTS: dict[str, Edits] = {
    "cells": {},
    "bench_supply": {
        "pack.kind": '"bench_supply"',
        "pack.supply_V": "8.4",
        "pack.supply_limit_A": "3",
        "pack.part": None,
        "pack.series": None,
        "pack.parallel": None,
        "pack.capacity_Ah": None,
        "pack.cell_resistance_mohm": None,
    },
    "dummy_string": {
        "diode.kind": '"dummy_string"',
        "diode.wavelength_nm": None,
        "diode.light_points_A_W": None,
        "diode.threshold_T0_K": None,
        "diode.slope_T1_K": None,
        "enclosure.beam_mm": None,
        "enclosure.divergence_mrad": None,
        "criteria.light_min_W": None,
    },
    "linear": {
        "stage.kind": '"linear"',
        "stage.switching_kHz": None,
        "stage.pass_mohm": "20",
        "stage.pass_sink_K_W": "3",
    },
    "gated": {
        "stage.kind": '"gated"',
        "stage.module_A": "1.5",
        "stage.module_tolerance_pct": "5",
        "stage.module_rise_ms": "2",
        "stage.full_scale_A": None,
        "stage.set_accuracy_pct": None,
        "stage.set_filter_ms": None,
        "levels.full_A": None,
        "levels.half_A": None,
        "levels.reserve_A": None,
        "limits.start_level_A": None,
        "limits.soft_start_ms": None,
        "limits.authority_pct": None,
    },
    "led": {
        "diode.kind": '"led"',
        "diode.spectrum": '"narrow"',
        "diode.fwhm_nm": "35",
        "diode.emitter_mm2": "1.0",
        "diode.light_points_A_W": "[[0.35, 0.35], [1.0, 0.93], [1.5, 1.32]]",
        "diode.threshold_T0_K": None,
        "enclosure.beam_mm": None,
        "enclosure.divergence_mrad": None,
    },
    "white": {
        "diode.kind": '"led"',
        "diode.wavelength_nm": "450",
        "diode.spectrum": '"white"',
        "diode.colour_temperature_K": "4000",
        "diode.emitter_mm2": "1.0",
        "diode.light_points_A_W": "[[0.35, 0.35], [1.0, 0.93], [1.5, 1.32]]",
        "diode.threshold_T0_K": None,
        "enclosure.beam_mm": None,
        "enclosure.divergence_mrad": None,
    },
}


@pytest.fixture(scope="session")
def edit(example: str) -> Callable[..., str]:
    """Return a function: edits, kind of pack or diode -> text of the edited example."""

    def edited(edits: Edits, kind: str = "cells") -> str:
        return edited_text(example, {**VARIANTS[kind], **edits})

    return edited


@pytest.fixture(scope="session")
def problems(edit: Callable[..., str]) -> Callable[..., tuple[Problem, ...]]:
    """Return a function: edits, kind -> the problems of the edited example (none: it loads)."""

    def found(edits: Edits, kind: str = "cells") -> tuple[Problem, ...]:
        try:
            load_text(edit(edits, kind), "mine.toml")
        except BuildErrors as errors:
            return errors.problems
        return ()

    return found


@pytest.fixture(scope="session", params=VARIANTS)
def variant(request: pytest.FixtureRequest, edit: Callable[..., str]) -> str:
    """Return the text of one build of each kind of pack and diode."""
    return edit({}, request.param)
