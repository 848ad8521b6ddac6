"""Two results: verdict, figures, findings, fault cases and hazard, value by value."""

from collections.abc import Iterator, Mapping
from typing import Any

from diodewright.build.units import split
from diodewright.compare.move import Move, Row, Value, moved
from diodewright.rehearse import Rehearsal
from diodewright.rehearse.document import KEPT

__all__ = ["moved_between_documents"]

Columns = Mapping[str, Mapping[str, list[float]]]

#: Of one finding, and of one fault case, in this order; the first says what became of it.
_OF_FINDING = ("status", "value", "limit", "sense", "margin", "mend")
_OF_CASE = (
    "survives",
    "verdict",
    "reaction",
    "cause",
    "time_to_dark_ms",
    "peak_current_A",
    "peak_junction_degC",
    "peak_light_W",
    "why",
)

#: Of one row of the catalogue: what was expected of it.
_OF_FAULT = ("expect", "allowed_ms", "acts", "guard")


def moved_between_documents(a: Rehearsal, b: Rehearsal) -> tuple[Move, ...]:
    """Return everything that moved from result `a` to result `b`.

    Sentences (reasons, breaches, cautions) are compared whole: each is there or not. Of a curve
    that moved, the row where it moved most is told; of curves that were kept at different times,
    that alone.
    """
    rows_a = (*_rows(a), *_curves(a.traces, b.traces))
    rows_b = (*_rows(b), *_curves(b.traces, a.traces))
    return moved(rows_a, rows_b)


def _rows(done: Rehearsal) -> Iterator[Row]:
    yield Row("verdict", "verdict", "", done.verdict)
    yield from _said("reason", done.reasons)
    yield from _plain("build", done.build)
    run = {"seed": done.seed, "law_hash": done.law_hash, "engine": done.engine}
    yield from _plain("run", run)
    for row in done.size:
        yield Row("size", row["id"], "", row["value"], row["unit"])
    yield from _plain("hazard", {k: v for k, v in done.hazard.items() if k != "reach"})
    yield from _plain("use", done.use)
    for row in (*done.findings, *done.edges):
        for figure in _OF_FINDING:
            unit = row["unit"] if figure in ("value", "limit") else ""
            yield Row("finding", row["id"], figure, row[figure], unit)
    for row in (*done.faults, *done.pairs):
        yield from _case(row)
    for row in done.catalogue:
        for figure in _OF_FAULT:
            yield Row("catalogue", row["id"], figure, row.get(figure), _unit(figure))
    yield from _said("left out", done.without)
    yield from _plain("tightest", done.tightest)
    for row in done.given:
        yield Row("given", row["key"], "", row["value"], row["unit"])
    for row in done.assumed:
        yield Row("assumed", row["key"], "", row["value"], row["unit"])
    yield from _said("caution", done.cautions)
    yield from _said("leaves out", done.leaves_out)


def _case(row: Mapping[str, Any]) -> Iterator[Row]:
    name = f"{row['id']}@{row['at']}"
    for figure in _OF_CASE:
        # results of earlier versions have no verdict's name
        yield Row("fault", name, figure, row.get(figure), _unit(figure))
    tight = row["tightest"]
    yield Row("fault", name, "tightest", tight["id"])
    for figure in ("value", "limit", "margin"):
        unit = "" if figure == "margin" else tight["unit"]
        yield Row("fault", name, f"tightest {figure}", tight[figure], unit)


def _unit(name: str) -> str:
    unit = split(name)[1]
    return unit.text if unit else ""


def _said(part: str, lines: list[str]) -> Iterator[Row]:
    for line in lines:
        yield Row(part, line, "", "said")


def _plain(part: str, values: Mapping[str, Any]) -> Iterator[Row]:
    """Yield a row for each plain value; a list of sentences is one row a sentence."""
    for name, value in values.items():
        if isinstance(value, list):
            yield from _said(f"{part} {name}", [str(each) for each in value])
        else:
            kept: Value = str(value) if isinstance(value, dict) else value
            yield Row(part, name, "", kept, _unit(name))


def _curves(own: Columns, other: Columns) -> Iterator[Row]:
    """Yield the rows of one side's curves: each column where the two sides differ most.

    Curves that were kept at other times than the other side's are told by those times alone.
    """
    for name, columns in own.items():
        times_s = columns["time_s"]
        yield Row("curve", name, "kept at", (tuple(times_s),))
        if name not in other or other[name]["time_s"] != times_s:
            continue
        for column in KEPT:
            away = [abs(b - a) for a, b in zip(columns[column], other[name][column], strict=True)]
            most = away.index(max(away))
            figure = f"{column} at {times_s[most]:g} s"
            yield Row("curve", name, figure, columns[column][most], _unit(column))
