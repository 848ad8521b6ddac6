"""What a fit found: was and is, how sure, what the record can't tell, the change it suggests."""

from pathlib import Path
from typing import Any

import numpy as np
from rich.console import Console

from diodewright.bench.fit_pack import fit_pack
from diodewright.bench.fit_thermal import fit_thermal
from diodewright.bench.fitting import Fit, Suggested, changed
from diodewright.bench.solving import Fitted
from diodewright.bench.span import opened
from diodewright.build import Build, BuildErrors
from diodewright.build.edit import Edit
from diodewright.report.figure_bench import fit_figure
from diodewright.report.files import make_folder, write_together
from diodewright.report.terminal import block, command, json_text, print_json, screen, table

__all__ = ["show_change", "show_fit", "suggested_rows"]

_FITS = {"thermal": fit_thermal, "pack": fit_pack}
_TITLES = {"thermal": "heat ladder", "pack": "pack"}
#: Correlations from here on are told.
_STRONG = 0.8


def show_fit(
    build: Build,
    path: Path,
    what: str,
    write: bool,
    out: Path | None,
    as_json: bool,
    part_s: tuple[float | None, float | None] = (None, None),
) -> int:
    """Fit `what` to the recording in `path`, print it, write figure and build file where asked.

    Returns 0; everything that keeps a fit from being made is raised.

    Raises
    ------
    BenchError, BuildErrors, CannotWrite, EngineError, Missing
        As `span.opened`, the fits, `build.edit` and `report.files` say.
    """
    record = opened(path, build)
    if out:
        make_folder(out)
    fit = _FITS[what](record, *part_s)
    edit, refused = _edit(fit, write)
    written = _write(fit, out) if out else []
    if as_json:
        kept = edit.write() if write and edit else None
        print_json({**_document(fit), **_told_edit(edit, refused, kept), "files": written})
        return 0
    console = screen()
    _as_text(console, fit, written)
    show_change(console, edit, refused, write, build)
    return 0


def _edit(fit: Fit, write: bool) -> tuple[Edit | None, str]:
    """Return the change, and why the build file would not take it."""
    if not fit.suggested:
        return None, "the record tells nothing of what the build file says"
    try:
        return changed(fit.record, fit.suggested, f"{_TITLES[fit.what]} fitted to"), ""
    except BuildErrors as error:
        if write:
            raise
        return None, str(error)


def _write(fit: Fit, out: Path) -> list[str]:
    figure = fit_figure(fit)
    name = f"{fit.record.build.name}_{fit.what}_fit"
    document = json_text(_document(fit))
    paths = write_together(
        out,
        {
            f"{name}.svg": lambda path: path.write_text(figure, encoding="utf-8"),
            f"{name}.json": lambda path: path.write_text(document, encoding="utf-8"),
        },
    )
    return [str(path) for path in paths]


def show_change(
    console: Console, edit: Edit | None, refused: str, write: bool, build: Build
) -> None:
    """Print the diff of the build file, then write it where asked; say what was kept."""
    if edit is None:
        block(console, "change", [f"none: {refused}"] if refused else ["none"])
        return
    if not edit.diff:
        block(console, "change", ["none: the build file says so, within the uncertainty"])
        return
    console.print()
    console.print(edit.diff, soft_wrap=True)
    if write:
        kept = edit.write()
        block(console, "written", [f"{edit.file}; the old text is {kept}"])
    else:
        block(console, "written", ["nothing; with --write the build file is changed like that"])
    block(console, "next", ["rehearse again with the new values:"])
    command(console, f"diodewright rehearse {build.file}")


def _told_edit(edit: Edit | None, refused: str, kept: Path | None) -> dict[str, Any]:
    return {
        "diff": edit.diff if edit else "",
        "refused": refused,
        "written": kept is not None,
        "kept": str(kept) if kept else "",
    }


def suggested_rows(rows: tuple[Suggested, ...]) -> list[dict[str, Any]]:
    """Return suggestions for a JSON document; uncertainties are two standard deviations."""
    return [
        {
            "key": row.key,
            "value": row.value,
            "scatter": row.spread,
            "uncertainty": row.total,
            "unit": row.unit,
        }
        for row in rows
    ]


def _document(fit: Fit) -> dict[str, Any]:
    solution = fit.solution
    return {
        "what": fit.what,
        "build": fit.record.build.name,
        "fingerprint": fit.record.build.fingerprint,
        "recording": fit.record.file,
        "recorded_with": fit.record.then.fingerprint,
        "suggested": suggested_rows(fit.suggested),
        "fitted": [
            {
                "name": each.knob.name,
                "value": each.value,
                "scatter": each.spread,
                "unit": each.knob.unit,
                "was": each.knob.start,
                "kept": each.kept,
            }
            for each in solution.every
        ],
        "correlation": {"names": solution.names, "rows": solution.correlation.tolist()},
        "widened": solution.widened,
        "left_rms": {name: _rms(left) for name, left in solution.left.items()},
        "scale_share": fit.scale[0],
        "scale_from": fit.scale[1],
        "numbers": {name: (value, off, unit) for name, value, off, unit, _ in fit.numbers},
        "notes": fit.notes,
    }


def _rms(values: np.ndarray[Any, np.dtype[np.float64]]) -> float:
    return float(np.sqrt(np.mean(values**2)))


def _as_text(console: Console, fit: Fit, written: list[str]) -> None:
    build = fit.record.build
    console.print(f"FIT  {_TITLES[fit.what]} of {build.name}", style="bold")
    block(console, "record", [_of(fit)])
    totals = {row.key: row for row in fit.suggested}
    rows = [_row(each, totals) for each in fit.solution.every]
    table(console, ("quantity", "was", "found", "scatter", "in all"), rows)
    for name, value, off, unit, how in fit.numbers:
        block(console, "besides", [f"{_prose(name)} {value:.4g} ± {off:.2g} {unit} ({how})"])
    kept = [f"{each.knob.text}: {each.kept}" for each in fit.solution.every if each.kept]
    block(console, "kept", kept or ["nothing: the record tells all of them apart"])
    tied = _ties(fit)
    block(console, "tied", tied or [f"no two by more than {_STRONG:g}"])
    block(console, "left", [_left(fit)])
    if fit.scale[0] > 0:
        block(console, "in all", [f"± {100 * fit.scale[0]:.1f} % of all of them: {fit.scale[1]}"])
    block(console, "limits", list(fit.notes))
    if written:
        block(console, "files", written)


def _of(fit: Fit) -> str:
    record = fit.record
    span = f"{fit.time_s[0]:.0f} to {fit.time_s[-1]:.0f} s, {len(fit.time_s)} rows"
    earlier = f"; of the earlier text {record.earlier}" if record.earlier else ""
    origin = record.trace.provenance.get("origin")
    made = f"; {origin}, seed {record.trace.provenance.get('seed')}" if origin else ""
    return f"{record.file}: {span}{earlier}{made}"


def _row(each: Fitted, totals: dict[str, Suggested]) -> tuple[str, str, str, str, str]:
    knob = each.knob
    in_unit, unit = (1000.0, "mohm") if knob.unit == "ohm" else (1.0, knob.unit.replace("deg", "°"))
    found = "kept" if each.kept else f"{in_unit * each.value:.4g} {unit}"
    scatter = "" if each.kept else f"± {in_unit * each.spread:.2g}"
    total = totals.get(knob.key)
    in_all = f"± {total.total:.2g}" if total and not each.kept else ""
    was = f"{in_unit * knob.start:.4g} {unit}" if knob.key else ""
    return knob.text, was, found, scatter, in_all


def _ties(fit: Fit) -> list[str]:
    """Return the pairs that are strongly correlated, in words."""
    names = fit.solution.names
    text = {each.knob.name: each.knob.text for each in fit.solution.every}
    return [
        f"{text[names[a]]} and {text[names[b]]}: {fit.solution.correlation[a, b]:+.2f}"
        for a in range(len(names))
        for b in range(a)
        if abs(fit.solution.correlation[a, b]) > _STRONG
    ]


def _left(fit: Fit) -> str:
    factor, unit = (1000.0, "mV") if fit.what == "pack" else (1.0, "K")
    said = ", ".join(
        f"{name} {factor * _rms(left):.2g} {unit} RMS" for name, left in fit.solution.left.items()
    )
    if fit.solution.widened > 1.05:
        said += (
            f"; it hangs together: uncertainties are widened by {fit.solution.widened:.1f} "
            "(look at the figure: the model lacks something)"
        )
    return said


def _prose(name: str) -> str:
    return {
        "cell_C1_F": "C1 of a cell",
        "pack_dc_mohm": "DC resistance of the pack",
        "cell_dc_mohm": "DC resistance of a cell",
    }[name]
