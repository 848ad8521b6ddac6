"""What `calibrate` says: points and what is left of them, what it found, what it buys, the diff."""

import sys
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import Any

from rich.console import Console

from diodedriver.words import NTC_POINTS
from diodewright.bench.calibrate import Calibrated
from diodewright.bench.calibrate_adc import Uneven
from diodewright.bench.calibrate_line import COVER
from diodewright.bench.calibrate_margin import Bought
from diodewright.bench.calibrate_trip import Tripped
from diodewright.build.edit import Edit
from diodewright.report.figure_calibrate import calibration_figure
from diodewright.report.files import write_together
from diodewright.report.terminal import block, command, print_json, screen, table

__all__ = ["calibration_json", "show_calibration", "write_figure"]

Outcome = Calibrated | Tripped | Uneven
_MOST_BANDS = 6


def show_calibration(done: Outcome, as_json: bool, write: bool, figure: str | None = None) -> None:
    """Print the outcome, then write the files where that was asked for: the diff comes first."""
    if as_json:
        kept = [str(edit.write()) for edit in done.edits] if write else []
        print_json(calibration_json(done) | {"written": write, "kept": kept})
        return
    out = screen()
    _said(out, done)
    _bought(out, done.bands)
    if done.words:
        block(out, "words", _words(done.words))
    if figure:
        block(out, "figure", (figure,))
    for edit in done.edits:
        _diff(out, edit)
    if write:
        for edit in done.edits:
            block(out, "written", (f"{edit.file}; the old one is {edit.write()}",))
        name = done.edits[0].file
        block(out, "next", ("the board's settings follow from the file, behind a rehearsal:",))
        command(out, f"diodewright rehearse {name}")
        command(out, f"diodewright flash {name}")
    else:
        block(out, "", ("nothing is written: --write does",))


def write_figure(done: Outcome, folder: Path) -> str | None:
    """Write the figure of the residuals into `folder`; return its path, None where there is none.

    Raises
    ------
    CannotWrite
        The folder can't be made or written.
    """
    if not isinstance(done, Calibrated):
        return None
    text = calibration_figure(done)
    name = f"calibration_{done.row.name}.svg"
    (path,) = write_together(folder, {name: lambda path: path.write_text(text, encoding="utf-8")})
    return str(path)


def _said(out: Console, done: Outcome) -> None:
    if isinstance(done, Tripped):
        _said_of_trip(out, done)
    elif isinstance(done, Uneven):
        block(out, "adc", _said_of_codes(done), "bold")
    else:
        _said_of_line(out, done)


def _said_of_trip(out: Console, done: Tripped) -> None:
    low_A, high_A = done.band_A
    block(
        out,
        "trip",
        (
            f"{len(done.readings_A)} approaches by {done.meter}: mean {done.mean_A:.4g} A, scatter "
            f"{1000 * done.scatter_A:.2g} mA",
            f"trips between {low_A:g} and {high_A:g} A, meter ({done.accuracy_pct:g} %) and heat "
            f"(1 %, typical, no source) included; before {done.band_before_A[0]:g} to "
            f"{done.band_before_A[1]:g} A",
        ),
        "bold",
    )


def _said_of_codes(done: Uneven) -> Iterator[str]:
    yield f"{done.readings} readings between codes {done.low} and {done.high}: {done.meter}"
    if not done.wide:
        yield "no code is wider than twice its neighbours"
    for each in done.wide:
        wide = f"{each.extra_codes:.1f} +- {each.extra_95_codes:.1f} codes"
        yield f"code {each.code} is {wide} too wide (95 %)"
    for near in done.near:
        yield f"{near.word} reads at code {near.code}, in reach of it: move that value off"
    if not done.keys:
        yield "the tolerance stays: how the codes bend as a whole a ramp does not show"


def _said_of_line(out: Console, done: Calibrated) -> None:
    row, result = done.row, done.result
    table(
        out,
        ("", f"meter [{row.unit}]", f"board [{row.unit}]", "off the line", "expected"),
        [
            (f"point {number}", f"{true:.5g}", f"{read:.5g}", residual, expected)
            for number, (true, read, residual, expected) in enumerate(_rows(done), start=1)
        ],
    )
    unit = "K" if row.is_temperature else "%"
    block(out, row.name, _found(done), "bold")
    block(
        out,
        "left",
        (
            f"a reading may be off by {result.off:.2g} {unit}, before {result.off_before:.2g} "
            f"{unit}: meter {done.accuracy:g}, heat and age {row.drift:g} (typical, no source), "
            "three deviations of the line",
            *result.notes,
        ),
    )


def _found(done: Calibrated) -> Iterator[str]:
    row, result = done.row, done.result
    if row.is_temperature:
        yield (
            f"reads {result.zero:+.2f} +- {result.zero_95:.2f} K at 25 degC; curve "
            f"{result.gain:.4f} +- {result.gain_95:.4f} times as steep as the nominal one (95 %)"
        )
    else:
        size = 1000 if row.unit in ("A", "V") else 1
        yield (
            f"truth is {result.gain:.5f} +- {result.gain_95:.5f} times what nominal parts read, "
            f"which show {size * result.zero:+.1f} +- {size * result.zero_95:.1f} m{row.unit} at "
            "nothing (95 %)"
        )
    yield f"against {done.meter}"
    if len(done.points) == 2:
        yield "two points can't contradict each other: a third would show a slip"


def _rows(done: Calibrated) -> Iterator[tuple[float, float, str, str]]:
    scale = 1.0 if done.row.is_temperature else 1000.0
    unit = "K" if done.row.is_temperature else f"m{done.row.unit}"
    for point, residual, expected in zip(
        done.points, done.line.residuals, done.line.expected_u, strict=True
    ):
        yield (
            point.true,
            point.read,
            f"{scale * residual:+.2f} {unit}",
            f"+-{scale * COVER * expected:.2f} {unit}",
        )


def _bought(out: Console, bands: Sequence[Bought]) -> None:
    """Print what the smaller tolerance leaves of each guard band."""
    if not bands:
        block(out, "buys", ("no guard band moves by more than a hundredth",))
        return
    rows = [
        (
            band.row,
            band.word,
            _changed(band.needed_before, band.needed_after, band.unit),
            _changed(band.spare_before, band.spare_after, band.unit),
        )
        for band in bands[:_MOST_BANDS]
    ]
    table(out, ("guard band", "threshold", "parts can move it by", "left over"), rows)
    if len(bands) > _MOST_BANDS:
        block(out, "", (f"and {len(bands) - _MOST_BANDS} more",))


def _words(words: Sequence[tuple[str, int, int]]) -> Iterator[str]:
    """Yield the settings words that will change; the thermistors' table as one."""
    table_rows = [row for row in words if row[0].startswith("ntc_")]
    for name, before, after in words:
        if not name.startswith("ntc_"):
            yield f"{name} {before} -> {after}"
    if table_rows:
        yield f"the thermistors' table: {len(table_rows)} of {NTC_POINTS} points"


def _changed(before: float, after: float, unit: str) -> str:
    return f"{before:.3g} -> {after:.3g} {unit}"


def _diff(out: Console, edit: Edit) -> None:
    out.print()
    out.print(edit.diff or f"{edit.file}: nothing changes", soft_wrap=True, end="")
    sys.stdout.flush()


def calibration_json(done: Outcome) -> dict[str, Any]:
    """Return the outcome for machines; units in the keys, % and K where they say so."""
    common: dict[str, Any] = {
        "meter": done.meter,
        "bands": [
            {
                "row": band.row,
                "word": band.word,
                "unit": band.unit,
                "needed_before": band.needed_before,
                "needed_after": band.needed_after,
                "built_in_before": band.built_in_before,
                "built_in_after": band.built_in_after,
            }
            for band in done.bands
        ],
        "words": {name: [before, after] for name, before, after in done.words},
        "files": [edit.file for edit in done.edits],
        "diff": "".join(edit.diff for edit in done.edits),
    }
    if isinstance(done, Tripped):
        return _trip_json(done) | common
    return (_codes_json(done) if isinstance(done, Uneven) else _line_json(done)) | common


def _codes_json(done: Uneven) -> dict[str, Any]:
    return {
        "quantity": "adc",
        "readings": done.readings,
        "low_code": done.low,
        "high_code": done.high,
        "wide": [
            {
                "code": each.code,
                "extra_codes": each.extra_codes,
                "extra_95_codes": each.extra_95_codes,
            }
            for each in done.wide
        ],
        "near": [{"word": near.word, "code": near.code} for near in done.near],
        "keys": dict(done.keys),
    }


def _trip_json(done: Tripped) -> dict[str, Any]:
    return {
        "quantity": "trip",
        "accuracy_pct": done.accuracy_pct,
        "readings_A": list(done.readings_A),
        "mean_A": done.mean_A,
        "scatter_A": done.scatter_A,
        "band_A": list(done.band_A),
        "band_before_A": list(done.band_before_A),
        "keys": dict(done.keys),
    }


def _line_json(done: Calibrated) -> dict[str, Any]:
    row, result, unit = done.row, done.result, done.row.unit
    off = "K" if row.is_temperature else "pct"
    zero = "K" if row.is_temperature else unit
    return {
        "quantity": row.name,
        f"accuracy_{off}": done.accuracy,
        "points": [
            {
                f"meter_{unit}": point.true,
                f"board_{unit}": point.read,
                f"board_scatter_{zero}": point.read_u,
                f"residual_{zero}": residual,
                f"expected_{zero}": COVER * expected,
            }
            for point, residual, expected in zip(
                done.points, done.line.residuals, done.line.expected_u, strict=True
            )
        ],
        "gain": result.gain,
        "gain_95": result.gain_95,
        f"zero_{zero}": result.zero,
        f"zero_95_{zero}": result.zero_95,
        f"off_{off}": result.off,
        f"off_before_{off}": result.off_before,
        "scatter_over_expected": done.line.scatter,
        "notes": list(result.notes),
        "keys": dict(result.keys),
    }
