"""The report page: one self-contained HTML file, made from the document alone."""

from importlib import resources
from itertools import groupby

import jinja2

from diodewright.report import facts, wording
from diodewright.report.figure_margins import margin_figure
from diodewright.report.figures import document_figures
from diodewright.report.shape import Case, Document

__all__ = ["render"]

_TEMPLATE = "page.html.j2"
#: What each figure shows beside its title: how it is to be read.
_CAPTIONS = {
    "currents": "Solid is true, dashed is what the sensor reported, the band is what the law "
    "asked of the stage, dots are the least of its caps.",
    "rise": "An LED shines from the first current on, a laser from its threshold on.",
    "temperatures": "Solid with marks is true, dashed is what the sensors reported; the law's "
    "junction estimate is meant to lie above the true junction.",
    "pack": "The law's estimate adds back the sag it is sure of; the true pack rests higher.",
    "margins": "Right is worse, the dotted line is the limit; beside it nominal, worst and limit, "
    "and what the worst build leaves.",
    "modes": "One row for each mode and for each cap that was the least; what was shorter than "
    "the step between picked moments may be missing.",
}


def _value(value: bool | float | str | list[tuple[float, float]]) -> str:
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, list):
        return ", ".join(f"[{x:g}, {y:g}]" for x, y in value)
    return wording.number(value, 6) if isinstance(value, float | int) else value


def _environment() -> jinja2.Environment:
    environment = jinja2.Environment(
        autoescape=True,
        undefined=jinja2.StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        keep_trailing_newline=True,
    )
    environment.filters |= {
        "number": wording.number,
        "unit": wording.unit_text,
        "left": wording.left,
        "bar": wording.text_bar,
        "label": wording.label,
        "plain": _value,
        "prose": wording.prose,
        "seconds": "{:.12g}".format,
    }
    environment.globals |= {
        "against": wording.against,
        "code": facts.code,
        "dark_after": wording.dark_after,
    }
    return environment


def _by_fault(cases: list[Case]) -> list[tuple[str, list[Case]]]:
    return [(name, list(of)) for name, of in groupby(cases, key=lambda case: case.id)]


def _drawings(document: Document) -> dict[str, tuple[str, str]]:
    drawings = document_figures(document)
    if document.margins:
        drawings["margins"] = margin_figure(document.margins)
    return drawings


def render(document: Document) -> str:
    """Return the page of `document`; the same document gives the same bytes.

    Nothing is loaded from outside and nothing runs: one file, to be read anywhere.
    """
    template = resources.files("diodewright.report").joinpath(_TEMPLATE).read_text("utf-8")
    figures = {
        name: (title, drawing, _CAPTIONS[name])
        for name, (title, drawing) in _drawings(document).items()
    }
    return (
        _environment()
        .from_string(template)
        .render(
            document=document,
            means=facts.MEANS[document.verdict],
            faults=facts.fault_facts(document),
            by_fault=_by_fault(document.faults),
            codes=facts.CODES,
            figures=figures,
            proof_line=facts.proof_line(document),
            assumed_counted=facts.assumed_counted(document),
            told=facts.MATTERS,
            format=document.format,
        )
    )
