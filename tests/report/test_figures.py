"""The figures: units on every axis, legends off the data, told apart without colour."""

import dataclasses
import json
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
from diodewright.report.figures import drawn
from diodewright.report.sections import document_figures
from diodewright.report.shape import document_of
from report_builds import CURVES, handed

USE = ("currents", "rise", "temperatures", "pack", "modes")
CURVED = ("over-current", "discharge")
CAPS = ("derate-mount", "derate-junction", "derate-pack")
FIGURES = CURVED + USE + CAPS
UNITS = {"[A]", "[W]", "[V]", "[°C]", "[s]", "[ms]", "[name]", "[lm]", "[min]"}


@pytest.fixture(scope="module")
def kept() -> dict[str, Drawn]:
    """Return the drawn matplotlib figures of the trimmed document by name."""
    seen: list[Drawn] = []
    save: Callable[..., None] = Drawn.savefig

    def saved(self: Drawn, *arguments: Any, **named: Any) -> None:
        save(self, *arguments, **named)
        seen.append(self)

    trimmed = Path(__file__).parent / "smoke_tunnel.json"
    values = json.loads(trimmed.read_text("utf-8")) | handed("smoke_tunnel")
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(Drawn, "savefig", saved)
        figures = document_figures(document_of(Rehearsal.from_dict(values)))
    return dict(zip(figures, seen, strict=True))


def test_the_document_fills_these_figures_and_an_older_one_those_of_its_use(
    kept: dict[str, Drawn], holding: Rehearsal, partial: Callable[[str], Rehearsal]
) -> None:
    assert tuple(kept) == FIGURES
    assert tuple(document_figures(document_of(holding))) == USE
    assert document_figures(document_of(partial("faults"))) == {}


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


@pytest.mark.parametrize("name", ["currents", "rise", "temperatures", "pack", *CAPS, *CURVED])
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
        ("over-current", 0, {"highest level 1.5 A: 400 lm": 400}),
        ("over-current", 1, {"junction limit 125 °C": 125, "highest level 1.5 A: 72 °C": 72}),
        ("discharge", 0, {"lowest allowed 5.5 V": 5.5}),
        ("derate-mount", 0, {"dark from 60 °C": 0.06, "highest level 1.5 A": 1.5}),
        ("derate-pack", 0, {"dark below 6.5 V": 0.06, "highest level 1.5 A": 1.5}),
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
    for name, figure in document_figures(document_of(holding)).items():
        text = figure.drawing
        root = ElementTree.fromstring(text)
        assert root.attrib["role"] == "img"
        assert root.attrib["aria-label"] == figure.title
        assert root.attrib["aria-describedby"] == f"{name}-desc"
        assert not [value for value in COLOURS.values() if value in text]
        assert "var(--ink)" in text


def test_drawn_keeps_values(values: dict[str, Any]) -> None:
    use = values["traces"]["use"]
    assert drawn(use)["pack_V"].tolist() == use["pack_V"]


def _line(axes: Any, label: str) -> tuple[Any, Any]:
    (line,) = [line for line in axes.get_lines() if line.get_label() == label]
    return line.get_data()


@pytest.mark.parametrize("name", CAPS)
def test_the_use_never_went_over_what_a_cap_allows(kept: dict[str, Drawn], name: str) -> None:
    """Both from the document: the line from the settings words, the path from the engine's run."""
    (axes,) = kept[name].axes
    at, allowed_A = _line(axes, "allowed by this cap alone")
    x, drive_A = _line(axes, "drive in the use, from ring to square")
    over_A = drive_A - np.interp(x, at, allowed_A)
    # the law counts in whole mA and mV; of the mount it smooths what is one noisy reading here,
    # and 0.2 K are 0.026 A on the mount's line
    assert over_A.max() <= (0.026 if name == "derate-mount" else 0.002)
    # and the cap that bound at the end of this use is met, not merely kept
    assert (np.abs(over_A[-10:]).max() <= 0.026) == (name == "derate-mount")


@pytest.mark.parametrize("name", CAPS)
def test_the_path_shows_the_rise_and_not_a_leap_over_it(kept: dict[str, Drawn], name: str) -> None:
    _, drive_A = _line(kept[name].axes[0], "drive in the use, from ring to square")
    assert drive_A[0] <= 0.11
    # this document's traces are every ninth row
    assert np.abs(np.diff(drive_A)).max() < 0.6


def test_a_figure_says_in_words_where_its_curves_begin_end_and_reach(
    holding: Rehearsal, values: dict[str, Any]
) -> None:
    figures = document_figures(document_of(holding))
    said = {
        name: ElementTree.fromstring(each.drawing).findtext("desc")
        for name, each in figures.items()
    }
    volts = values["traces"]["use"]["pack_V"]
    first, last, low, high = (f"{v:.3g}" for v in (volts[0], volts[-1], min(volts), max(volts)))
    assert f"pack, true: from {first} to {last}, between {low} and {high}" in (said["pack"] or "")
    assert "lowest allowed 5.5 V" in (said["pack"] or "")
    assert "time from the press [s]" in (said["pack"] or "")
    assert re.search(r"mode \[name\]: dark [\d.]+, .*limited \d+", said["modes"] or "")


def test_the_pack_is_drawn_over_minutes_of_light(kept: dict[str, Drawn]) -> None:
    minutes, volts = _line(kept["discharge"].axes[0], "pack under load")
    assert minutes.tolist() == [0, 60, 120]
    assert volts.tolist() == CURVES["discharge"]["pack_V"]


@pytest.mark.parametrize(
    ("curve", "edit", "says"),
    [
        ("over_current", {"steady_lm": [1.0]}, r"curves\.over_current: columns of \[1, 4\] rows"),
        ("over_current", {"current_A": [2.0, 1.5, 1.0, 0.5]}, "current_A does not rise"),
        ("discharge", {"pack_V": None}, r"curves\.discharge: no column pack_V"),
    ],
)
def test_a_curve_that_can_not_be_drawn_is_refused_with_its_place(
    complete: Rehearsal, curve: str, edit: dict[str, Any], says: str
) -> None:
    columns = {**CURVES[curve], **edit}
    curves = {**CURVES, curve: {name: of for name, of in columns.items() if of is not None}}
    with pytest.raises(ValueError, match=says):
        document_of(dataclasses.replace(complete, curves=curves))


@pytest.mark.parametrize(
    ("edit", "says"),
    [
        ({"at_degC": [10, 46, 56]}, "derate.mount: 3 corners, 4 currents"),
        ({"at_degC": [10, 56, 46, 60]}, "derate.mount: its corners do not rise"),
    ],
)
def test_a_cap_that_can_not_be_drawn_is_refused_with_its_place(
    complete: Rehearsal, edit: dict[str, Any], says: str
) -> None:
    derate = {**complete.derate, "mount": {**complete.derate["mount"], **edit}}
    with pytest.raises(ValueError, match=says):
        document_of(dataclasses.replace(complete, derate=derate))
