"""The figures: units on every axis, legends off the data, told apart without colour."""

import re
from collections.abc import Callable
from pathlib import Path
from typing import Any
from xml.etree import ElementTree

import numpy as np
import pytest
from matplotlib.figure import Figure as Drawn

from diodewright.rehearse import Rehearsal
from diodewright.report.drawing import COLOURS, strip
from diodewright.report.figures import document_figures, drawn
from diodewright.report.reading import read_document
from diodewright.report.shape import document_of

FIGURES = ("currents", "rise", "temperatures", "pack", "modes")
UNITS = {"[A]", "[W]", "[V]", "[°C]", "[s]", "[ms]", "[name]"}


@pytest.fixture(scope="module")
def kept() -> dict[str, Drawn]:
    """Return the drawn matplotlib figures of the trimmed document by name."""
    seen: list[Drawn] = []
    save: Callable[..., None] = Drawn.savefig

    def saved(self: Drawn, *arguments: Any, **named: Any) -> None:
        save(self, *arguments, **named)
        seen.append(self)

    trimmed = Path(__file__).parent / "smoke_tunnel.json"
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(Drawn, "savefig", saved)
        figures = document_figures(document_of(read_document(trimmed)))
    return dict(zip(figures, seen, strict=True))


def test_the_document_fills_five_figures(kept: dict[str, Drawn]) -> None:
    assert tuple(kept) == FIGURES


@pytest.mark.parametrize("name", FIGURES)
def test_every_axis_has_its_unit(kept: dict[str, Drawn], name: str) -> None:
    axes = kept[name].axes
    labels = [each.get_ylabel() for each in axes] + [axes[-1].get_xlabel()]
    for text in labels:
        assert re.search(r"\[[^]]+\]$", text), text
        assert text[text.index("[") :] in UNITS


@pytest.mark.parametrize("name", FIGURES)
def test_no_legend_stands_on_the_data(kept: dict[str, Drawn], name: str) -> None:
    for axes in kept[name].axes:
        legend = axes.get_legend()
        if legend is not None:
            assert legend.get_window_extent().y0 >= axes.get_window_extent().y1 - 0.5


@pytest.mark.parametrize("name", ["currents", "rise", "temperatures", "pack"])
def test_curves_of_one_axis_differ_without_their_colour(kept: dict[str, Drawn], name: str) -> None:
    for axes in kept[name].axes:
        legend = axes.get_legend()
        assert legend is not None
        named = {text.get_text() for text in legend.get_texts()}
        lines = [line for line in axes.get_lines() if line.get_label() in named]
        looks = {
            (line.get_linestyle(), line.get_marker(), round(line.get_linewidth(), 1), label)
            for line in lines
            for label in [line.get_label() if "sensed" in str(line.get_label()) else ""]
        }
        assert len(looks) == len(lines)


def test_true_curves_are_solid_and_sensed_ones_dashed(kept: dict[str, Drawn]) -> None:
    seen = set()
    for figure in kept.values():
        for axes in figure.axes:
            for line in axes.get_lines():
                for ending, style in ((", true", "-"), (", sensed", "--")):
                    if str(line.get_label()).endswith(ending):
                        assert line.get_linestyle() == style
                        seen.add(style)
    assert seen == {"-", "--"}


def test_limits_of_the_document_are_drawn_at_their_value(kept: dict[str, Drawn]) -> None:
    for name, axes, texts in (
        ("temperatures", 0, {"junction limit 125 °C": 125, "sink, touch 60 °C": 60}),
        ("pack", 0, {"lowest allowed 5.5 V": 5.5}),
        ("currents", 1, {"asked for 0.75 W": 0.75}),
    ):
        found = {text.get_text(): text.xy[1] for text in kept[name].axes[axes].texts}  # type: ignore[attr-defined]
        assert found == texts


def test_the_strip_shows_every_mode_of_the_trace_by_name(
    kept: dict[str, Drawn], values: dict[str, Any]
) -> None:
    modes, bounds = kept["modes"].axes
    assert len(modes.get_yticklabels()) == len(set(values["traces"]["use"]["mode"]))
    assert [text.get_text() for text in modes.get_yticklabels()][-1] == "dark"
    assert {text.get_text() for text in bounds.get_yticklabels()} <= {
        "level",
        "mount",
        "junction",
        "budget",
        "pack",
    }


def test_a_strip_covers_all_of_its_time_once() -> None:
    figure = Drawn()
    axes = figure.subplots()
    x = np.array([0.0, 1.0, 2.0, 5.0])
    strip(axes, x, np.array([1.0, 1.0, 0.0, 0.0]), ("off", "on"), "mode [name]")
    spans = [
        (path.vertices[:, 0].min(), path.vertices[:, 0].max())  # type: ignore[union-attr, index]
        for row in axes.collections
        for path in row.get_paths()
    ]
    assert sorted(spans) == [(0.0, 2.0), (2.0, 5.0)]


def test_figures_are_well_formed_and_take_their_colours_from_the_page(holding: Rehearsal) -> None:
    for title, text in document_figures(document_of(holding)).values():
        root = ElementTree.fromstring(text)
        assert root.attrib["role"] == "img"
        assert root.attrib["aria-label"] == title
        assert not [value for value in COLOURS.values() if value in text]
        assert "var(--ink)" in text


def test_drawn_keeps_values(values: dict[str, Any]) -> None:
    use = values["traces"]["use"]
    assert drawn(use)["pack_V"].tolist() == use["pack_V"]
