"""Page, card and label: each one self-contained file, made from the document alone."""

from itertools import groupby

import jinja2

from diodewright.build.plain_file import printable
from diodewright.build.units import split
from diodewright.report import facts, wording
from diodewright.report.card import PLACEHOLDERS, card_parts, label_lines
from diodewright.report.fault_map import NO_CASE, fault_map
from diodewright.report.sections import drawn_of, shown
from diodewright.report.shape import Document
from diodewright.report.shape_handed import Given

__all__ = ["environment", "render", "render_card", "render_label"]


def _value(value: bool | float | str | list[tuple[float, float]]) -> str:
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, list | tuple):
        return ", ".join(f"[{x:g}, {y:g}]" for x, y in value)
    return wording.number(value, 6) if isinstance(value, float | int) else value


def environment() -> jinja2.Environment:
    """Return what renders a template of ours: escaped, and nothing undefined passes."""
    environment = jinja2.Environment(
        loader=jinja2.PackageLoader("diodewright.report"),
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
        "within": _within,
        "prose": wording.prose,
        "seconds": "{:.12g}".format,
    }
    environment.globals |= {
        "against": wording.against,
        "code": facts.code,
        "dark_after": wording.dark_after,
    }
    return environment


def _by_section(given: list[Given]) -> list[tuple[str, list[Given]]]:
    rows = groupby(given, key=lambda row: row.key.rpartition(".")[0])
    return [(section, list(of)) for section, of in rows]


def _within(key: str, section: str) -> str:
    """Return a key without its section and its unit, as words: a part of its section's row."""
    name = key.removeprefix(f"{section}.")
    head, unit = split(name)
    return (head if unit else name).replace("_", " ")


def render(document: Document) -> str:
    """Return the page of `document`; the same document gives the same bytes.

    Nothing is loaded from outside and nothing runs: one file, to be read anywhere.
    """
    return _made(
        "page.html.j2",
        document,
        sections=[(section, drawn_of(section, document)) for section in shown(document)],
        faults=facts.fault_facts(document),
        given=_by_section(document.given),
        map={"of": fault_map(document), "no_case": NO_CASE},
        codes=facts.CODES,
        assumed_counted=facts.assumed_counted(document),
        told=facts.MATTERS,
        format=document.format,
    )


def render_card(document: Document) -> str:
    """Return the card for who gets the light: one printed page, from the document alone."""
    return _made("card.html.j2", document, parts=card_parts(document))


def render_label(document: Document) -> str:
    """Return the label as SVG, with marked places for what only the standards may say."""
    return _made(
        "label.svg.j2",
        document,
        name=printable(document.build.name),
        lines=label_lines(document),
        symbol=document.hazard.kind in PLACEHOLDERS,
    )


def _made(template: str, document: Document, **more: object) -> str:
    return (
        environment()
        .get_template(template)
        .render(
            document=document,
            means=facts.MEANS[document.verdict],
            proof_line=facts.proof_line(document),
            hazard_short=facts.hazard_short(document),
            eyes=[line for line in document.cautions if line.startswith("Eyes:")],
            **more,
        )
    )
