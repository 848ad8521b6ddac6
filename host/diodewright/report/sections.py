"""The sections of the page, in their order, each with its figures: one table.

A section is made by the template of its name in ``templates/``. Where its data are absent it says
so, or is left out where nobody would miss it; nothing is ever passed over in silence that the
verdict rests on.
"""

from collections.abc import Callable
from dataclasses import dataclass

from diodewright.report import (
    figure_closest,
    figure_curves,
    figure_derate,
    figure_hazard,
    figure_margins,
    figures,
)
from diodewright.report.drawing import inline
from diodewright.report.shape import Document

__all__ = ["SECTIONS", "Drawn", "Plot", "Section", "document_figures", "drawn_of", "shown"]


@dataclass(frozen=True)
class Plot:
    """One figure.

    Attributes
    ----------
    name : of its ids in the page.
    title : what it shows.
    caption : how it is to be read.
    draw : the document -> SVG; None where the document lacks what it needs.
    """

    name: str
    title: str
    caption: str
    draw: Callable[[Document], str | None]


@dataclass(frozen=True)
class Section:
    """One section.

    Attributes
    ----------
    name : of its anchor and of its template.
    title : its heading; `short` : the same in the list of contents.
    there : whether the document has what it needs.
    absent : what is said where it has not; "" : the section is left out.
    """

    name: str
    title: str
    there: Callable[[Document], object] = lambda _: True
    absent: str = ""
    plots: tuple[Plot, ...] = ()
    short: str = ""


@dataclass(frozen=True)
class Drawn:
    """One figure of a document, ready for the page."""

    name: str
    title: str
    caption: str
    drawing: str


_CORNERS = "Dotted is allowed; the line is where the use went. Hatched is dark."

SECTIONS: tuple[Section, ...] = (
    Section("build", "The build", lambda d: d.given),
    Section(
        "size",
        "Size",
        plots=(
            Plot(
                "over-current",
                "Light and junction against current",
                "The dot is the build's highest level on a mount at ambient, where it begins; the "
                "squares are where it would settle if nothing cut back.",
                figure_curves.over_current,
            ),
            Plot(
                "discharge",
                "The pack on its way down",
                "From full to the end of the light, warm and at the highest level as long as the "
                "law leaves it; what heat cuts back, cold and age are left out.",
                figure_curves.discharge,
            ),
        ),
    ),
    Section("proof", "Proof of the law", short="Proof"),
    Section(
        "use",
        "Use",
        lambda d: d.use,
        "Not rehearsed: this document holds no use, so nothing about it is judged.",
        (
            Plot(
                "currents",
                "Currents and light over the whole use",
                "Solid is true, dashed is what the sensor reported, the band is what the law "
                "asked of the stage, dots are the least of its caps.",
                figures.currents,
            ),
            Plot(
                "rise",
                "The rise, close up",
                "An LED shines from the first current on, a laser from its threshold on.",
                figures.rise,
            ),
            Plot(
                "temperatures",
                "Temperatures",
                "Solid with marks is true, dashed is what the sensors reported; the law's "
                "junction estimate is meant to lie above the true junction.",
                figures.temperatures,
            ),
            Plot(
                "pack",
                "Pack voltage",
                "The law's estimate adds back the sag it is sure of; the true pack rests higher.",
                figures.pack,
            ),
            Plot(
                "modes",
                "The law's mode, and what binds the light",
                "One row for each mode and for each cap that was the least; what was shorter than "
                "the step between picked moments may be missing.",
                figures.modes,
            ),
        ),
    ),
    Section(
        "derate",
        "Where the light is cut back",
        lambda d: d.derate,
        plots=(
            Plot(
                "derate-mount",
                "Allowed current against the mount's temperature",
                f"{_CORNERS} The law looks ahead of the sensor's lag, so the use may turn down a "
                "little earlier than its reading says.",
                figure_derate.mount,
            ),
            Plot(
                "derate-junction",
                "Allowed current against the junction",
                _CORNERS,
                figure_derate.junction,
            ),
            Plot(
                "derate-pack",
                "Allowed current against the pack's voltage",
                _CORNERS,
                figure_derate.pack,
            ),
        ),
        short="Cutback",
    ),
    Section(
        "faults",
        "Faults",
        lambda d: d.faults,
        "Not rehearsed: this document holds no fault cases, so no fault is judged.",
        (
            Plot(
                "closest",
                "The ten smallest margins",
                "Solid is the true quantity, dotted its limit, the cross its highest; it stands "
                "alone where that was over within one step of the simulation. Thin and dashed is "
                "what the law asks of the stage, where both are currents. 0 is the fault.",
                figure_closest.closest,
            ),
        ),
    ),
    Section("edges", "Edges", lambda d: d.edges),
    Section(
        "margins",
        "Margins",
        lambda d: d.margins,
        "Not judged: this document holds no margins over tolerances and corners.",
        (
            Plot(
                "margins",
                "What typical parts use of each limit, and the worst of all true builds",
                "Right is worse, the dotted line is the limit; beside it nominal, worst and limit, "
                "and what the worst build leaves.",
                lambda d: figure_margins.margin_bars(d.margins) if d.margins else None,
            ),
        ),
    ),
    Section(
        "hazard",
        "Hazard",
        plots=(
            Plot(
                "reach",
                "Hazard distance against the beam's divergence",
                "Both axes wider or narrower alike; the ring is this build. Half the spread "
                "reaches twice as far.",
                figure_hazard.reach_figure,
            ),
        ),
    ),
    Section("bench", "Against the bench", lambda d: getattr(d, "bench", None), short="Bench"),
    Section("assumed", "Assumed, not yours", short="Assumed"),
    Section("left-out", "What the models leave out"),
    Section("provenance", "Provenance"),
)


def shown(document: Document) -> list[Section]:
    """Return the sections that the page of `document` has."""
    return [section for section in SECTIONS if section.absent or section.there(document)]


def drawn_of(section: Section, document: Document) -> list[Drawn]:
    """Return the figures of `section` that `document` can fill.

    Values are the picked rows of its traces: what lies between them is not drawn, and the peaks
    in its tables may stand above the curves.
    """
    if not section.there(document):
        return []
    found = []
    for plot in section.plots:
        text = plot.draw(document)
        if text is not None:
            drawing = inline(text, plot.name, plot.title)
            found.append(Drawn(plot.name, plot.title, plot.caption, drawing))
    return found


def document_figures(document: Document) -> dict[str, Drawn]:
    """Return name -> figure of every figure that the document can fill."""
    return {each.name: each for of in shown(document) for each in drawn_of(of, document)}
