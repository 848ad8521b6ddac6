"""The card for who gets the light, and its label: what must be known without reading a report."""

import textwrap

from diodewright.build.plain_file import printable
from diodewright.report.facts import eyewear_words
from diodewright.report.shape import Document, Use
from diodewright.report.shape_handed import Cells, Handed
from diodewright.report.wording import number, quantity

__all__ = ["PLACEHOLDERS", "card_parts", "label_lines"]

_ABSENT = "not in this document; rehearse the build again"
#: From here on minutes read better than seconds [s].
_MINUTES_FROM_S = 180
#: A cutback this late was not felt in the use [s].
_UNFELT_S = 1.0

#: Kind of light -> what stands where a standard's own wording and symbol belong. The standards
#: were not read for this, so nothing of theirs is told; numbers of clauses are from memory.
PLACEHOLDERS = {
    "laser": "[wording and symbol per IEC 60825-1 cl. 7: not read here, take them from the "
    "standard]",
    "led": "[wording and symbol per IEC 62471 and its guide to labels: not read here, take them "
    "from the standard]",
}
#: Kind of light -> what stands where no eyewear was chosen.
_EYEWEAR = {
    "laser": "not chosen: ask a licensed practitioner",
    "led": "chosen for lasers only; never stare",
    "none": "none needed: no light",
}
#: How many lines of the hazard the card has room for; the report has all.
_HAZARD_LINES = 2
#: Characters of one line of the label.
_LINE = 44


def _lasting(seconds: float) -> str:
    if seconds >= _MINUTES_FROM_S:
        return f"{number(seconds / 60)} min"
    return f"{number(seconds)} s"


def card_parts(document: Document) -> list[tuple[str, list[tuple[str, str]]]]:
    """Return heading -> rows of (what, in words) of the card of `document`.

    What an older document does not hold is said to be missing, never guessed. A light that does
    not hold is not handed over: of it the card says what it may do to eyes, nothing else.
    """
    handed = document.card
    if document.verdict != "HOLDS":
        return [("Eyes", _eyes(document))]
    return [
        ("Light", [*_output(document), *_time(document)]),
        ("Cells and charging", _supply(document, handed) if handed else [("cells", _ABSENT)]),
        ("Eyes", _eyes(document)),
    ]


def _output(document: Document) -> list[tuple[str, str]]:
    figures = {row.id: row for row in document.size}
    given = [
        quantity(figures[name].value, figures[name].unit)
        for name in ("light_W", "light_lm")
        if name in figures and document.hazard.kind != "none"
    ]
    said = ", ".join(given) or "none: a dummy load"
    handed = document.card
    if handed and handed.wavelength_nm is not None:
        said += ", white" if handed.white else f", at {number(handed.wavelength_nm, 4)} nm"
    if "set_current_A" in figures:
        said += f", from {quantity(figures['set_current_A'].value, 'A')}"
    return [("output", f"{said} (typical, highest level)")]


def _time(document: Document) -> list[tuple[str, str]]:
    use, handed = document.use, document.card
    rows = [("on", _full_light(use) if use else "not rehearsed")]
    if handed is None:
        return [*rows, ("rest", _ABSENT)]
    held = "while the trigger is held" if handed.trigger == "momentary" else "until switched off"
    delay = f"light comes {number(handed.delay_s)} s after the press, " if handed.delay_s else ""
    rows += [
        ("one press", f"{delay}{held}, at most {_lasting(handed.longest_on_s)}"),
        (
            "rest",
            f"{_lasting(handed.cool_s)} of dark and sink and mount are cool again (by one time "
            "constant, still air); hot, it only dims sooner",
        ),
        (
            "air",
            f"{number(handed.ambient_min_degC)} to {number(handed.ambient_max_degC)} degC; "
            "the sink uncovered",
        ),
    ]
    return rows


def _full_light(use: Use) -> str:
    if use.lit_s == 0:
        return "it never lit in the rehearsed use"
    if use.before_cutback_s is None:
        return "how long full light lasts was not seen"
    if use.before_cutback_s >= use.lit_s - _UNFELT_S:
        return f"full light for all of the {_lasting(use.lit_s)} that were rehearsed"
    return f"full light for {_lasting(use.before_cutback_s)} from cold, then it dims by itself"


def _supply(document: Document, handed: Handed) -> list[tuple[str, str]]:
    if handed.cells is None:
        return [("supply", f"bench supply of {number(handed.supply_V)} V, limited; no cells")]
    cells = handed.cells
    minutes = next((row for row in document.size if row.id == "battery_min"), None)
    rows = [("cells", _allowed(cells))]
    rows.append(("never", _forbidden(document.use, cells)))
    if minutes:
        rows.append(
            (
                "minutes",
                f"about {quantity(minutes.value, minutes.unit)} of light from full, fewer in the "
                f"cold or with old cells ({minutes.leaves_out or 'typical'})",
            )
        )
    rows += [
        (
            "empty",
            f"dark by itself; lights again after {number(handed.pack_rest_s)} s of dark where the "
            f"pack rests above {number(handed.rearm_V)} V: charge or change it",
        ),
        ("charging", cells.charging),
    ]
    return rows


def _allowed(cells: Cells) -> str:
    count = cells.series * cells.parallel
    how = f"{cells.series} in series" if cells.series > 1 else "never in series"
    if cells.parallel > 1:
        how += f", {cells.parallel} side by side"
    part = f" (rehearsed as {cells.part})" if cells.part else ""
    return (
        f"{count} x {cells.chemistry}, {how}: {number(cells.capacity_Ah)} Ah, "
        f"{number(cells.rated_A)} A continuous, full at {number(cells.full_V)} V each{part}"
    )


def _forbidden(use: Use | None, cells: Cells) -> str:
    weak = ""
    if use and use.peak_pack_A > 0:
        weak = f", rated under {number(use.peak_pack_A / cells.parallel)} A"
    return (
        f"another chemistry or number, cells full above {number(cells.full_V)} V{weak}; old with "
        "new, damaged or unknown ones"
    )


def _eyes(document: Document) -> list[tuple[str, str]]:
    hazard = document.hazard
    eyewear = eyewear_words(hazard) if hazard.eyewear else _EYEWEAR[hazard.kind]
    first = [line for line in hazard.lines if not line.startswith("eyewear")][:_HAZARD_LINES]
    return [("eyewear", eyewear), ("hazard", "; ".join([hazard.title, *first]))]


def label_lines(document: Document) -> list[str]:
    """Return the lines of the label: what was calculated, and a marked place for the wording."""
    hazard = document.hazard
    if hazard.kind == "none":
        return ["Dummy load: emits no light.", "No label of a light is needed on it."]
    said = [
        f"{hazard.title} (calculated, never measured)",
        PLACEHOLDERS[hazard.kind],
        "[edition, maker and date: yours to fill in]",
    ]
    return [part for line in said for part in textwrap.wrap(printable(line), _LINE)]
