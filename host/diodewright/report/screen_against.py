"""Bench against model: each quantity with its band, what may be behind it, and the change."""

from pathlib import Path
from typing import Any

from rich.console import Console

from diodewright.bench.against import QUANTITIES, Against, Compared, against
from diodewright.bench.against_causes import Blamed, Moved
from diodewright.bench.against_law import LawJudged
from diodewright.bench.fitting import changed
from diodewright.bench.span import opened
from diodewright.build import Build, BuildErrors
from diodewright.build.edit import Edit
from diodewright.report.figure_bench import against_figure
from diodewright.report.files import make_folder, write_together
from diodewright.report.screen_fit import show_change, suggested_rows
from diodewright.report.terminal import block, json_text, print_json, screen, table

__all__ = ["show_against"]

_EXITS = {"AGREES": 0, "DIFFERS": 1, "INCOMPLETE": 3}
_STYLES = {"AGREES": "bold green", "DIFFERS": "bold red", "INCOMPLETE": "bold"}


def show_against(
    build: Build,
    path: Path,
    write: bool,
    out: Path | None,
    as_json: bool,
    share: float,
    air_degC: float | None,
    part_s: tuple[float | None, float | None] = (None, None),
) -> int:
    """Compare the recording in `path` with law and plant, print it; return the exit code.

    0 agrees, 1 differs beyond the band, 3 a column was absent.

    Raises
    ------
    BenchError, BuildErrors, CannotWrite, EngineError, Missing
        As `span.opened`, `against`, `build.edit` and `report.files` say.
    """
    record = opened(path, build)
    if out:
        make_folder(out)
    found = against(record, share, air_degC, *part_s)
    edit, refused = _edit(found, write)
    written = _write(found, out) if out else []
    if as_json:
        kept = edit.write() if write and edit else None
        print_json(
            {
                **_document(found, share),
                "diff": edit.diff if edit else "",
                "refused": refused,
                "written": kept is not None,
                "files": written,
            }
        )
    else:
        console = screen()
        _as_text(console, found, share, written)
        if found.suggested:
            show_change(console, edit, refused, write, build)
        elif write:
            block(console, "written", ["nothing: no change of the build file is suggested"])
    return _EXITS[found.verdict]


def _edit(found: Against, write: bool) -> tuple[Edit | None, str]:
    if not found.suggested:
        return None, ""
    try:
        return changed(found.record, found.suggested, "by comparison with"), ""
    except BuildErrors as error:
        if write:
            raise
        return None, str(error)


def _write(found: Against, out: Path) -> list[str]:
    name = f"{found.record.build.name}_against_bench"
    document = json_text(_document(found, None))
    writers = {f"{name}.json": lambda path: path.write_text(document, encoding="utf-8")}
    if len(found.time_s):
        figure = against_figure(found)
        writers[f"{name}.svg"] = lambda path: path.write_text(figure, encoding="utf-8")
    return [str(path) for path in write_together(out, writers)]


def _document(found: Against, share: float | None) -> dict[str, Any]:
    law = found.law
    return {
        "verdict": found.verdict,
        "build": found.record.build.name,
        "fingerprint": found.record.build.fingerprint,
        "recording": found.record.file,
        "recorded_with": found.record.then.fingerprint,
        "every_tick": found.burst,
        "air_degC": found.air_degC,
        "air_from": found.air_from,
        "band_share": share,
        "law": None if law is None else _law_row(law),
        "quantities": [_quantity_row(each) for each in found.compared],
        "causes": [[_cause_row(each) for each in group] for group in found.causes],
        "suggested": suggested_rows(found.suggested),
    }


def _law_row(law: LawJudged) -> dict[str, Any]:
    first = law.first
    return {
        "ticks": law.ticks,
        "told_ticks": law.said,
        "first_difference": None
        if first is None
        else {
            "row": first.row,
            "tick": first.tick,
            "word": first.word,
            "law": first.law,
            "board": first.board,
            "whose": first.whose,
        },
    }


def _quantity_row(each: Compared) -> dict[str, Any]:
    return {
        "name": each.name,
        "unit": each.unit,
        "bias": each.bias,
        "rms": each.rms,
        "worst": each.worst,
        "worst_at_s": each.worst_at_s,
        "band": each.band,
        "verdict": each.verdict,
        "told": each.told,
    }


def _cause_row(each: Blamed) -> dict[str, Any]:
    return {
        "explains": each.explains,
        "enough": each.enough,
        "moved": [
            {
                "parameter": moved.cause.name,
                "key": moved.cause.key,
                "was": moved.start,
                "value": moved.value,
                "scatter": moved.spread,
                "unit": moved.cause.unit,
                "words": moved.words,
            }
            for moved in each.moved
        ],
    }


def _as_text(console: Console, found: Against, share: float, written: list[str]) -> None:
    record = found.record
    code = _EXITS[found.verdict]
    console.print(
        f"{found.verdict} (exit {code})  {record.build.name} against {record.file}",
        style=_STYLES[found.verdict],
    )
    earlier = [f"recorded with the earlier text {record.earlier}"] if record.earlier else []
    block(console, "record", [_kind(found), *earlier])
    if found.law is not None:
        block(console, "law", _law(found.law))
    if len(found.time_s):
        block(console, "air", [f"{found.air_degC:.1f} °C, {found.air_from}"])
    table(
        console,
        ("bench less model", "bias", "RMS", "worst", "at s", "band", ""),
        [_quantity(each) for each in found.compared],
    )
    block(
        console,
        "band",
        [
            f"temperatures and pack {100 * share:g} % of what the model moves; current and output "
            "what the build's tolerances allow; worst of means over a second"
        ],
    )
    block(console, "differs", [f"{each.told}" for each in found.compared if each.told])
    for group in found.causes:
        block(console, "cause", _cause(group))
    if any(each.verdict == "differs" for each in found.compared) and not found.causes:
        block(console, "cause", ["none of the table explains even half of it"])
    if written:
        block(console, "files", written)


def _kind(found: Against) -> str:
    if found.burst:
        return f"a burst: every reading of {found.law.ticks if found.law else 0} ticks"
    return (
        "slow telemetry: trends only; the law is not run again, what happens between two rows is "
        "not seen"
    )


def _law(law: LawJudged) -> list[str]:
    if law.first is None:
        light = "" if law.lit else "; the light was off throughout"
        return [
            f"the same mode and drive at each of {law.ticks} ticks, run again over the recorded "
            f"codes; the board said so itself at {law.said} of them{light}"
        ]
    first = law.first
    return [
        f"differs first at tick {first.tick} (row {first.row}): {first.word} is {first.law} by the "
        f"law, {first.board} in {first.whose}",
        "other firmware than this package's, other settings, or a damaged recording",
    ]


def _quantity(each: Compared) -> tuple[str, ...]:
    label = QUANTITIES[each.name][2]
    if each.verdict == "not judged":
        return label, "", "", "", "", "", "not judged: not in it" if not len(each.bench) else "dark"
    unit = each.unit.replace("°C", "K")
    numbers = (f"{each.bias:+.3f}", f"{each.rms:.3f}", f"{each.worst:+.3f}")
    return (label, *numbers, f"{each.worst_at_s:.1f}", f"{each.band:.2g} {unit}", each.verdict)


def _cause(group: tuple[Blamed, ...]) -> list[str]:
    """Return what may be why, the best first, with what each explains."""
    lines = []
    for place, each in enumerate(group):
        said = "; and ".join(_moved(moved) for moved in each.moved)
        share = f"{100 * each.explains:.0f} % of the difference"
        left = "" if each.enough else ", and not all of it"
        first = "" if place == 0 else "or, the numbers hardly tell: "
        lines.append(f"{first}{said}: {share}{left}")
    return lines


def _moved(moved: Moved) -> str:
    cause = moved.cause
    by = cause.key or _plain(cause.name)
    if cause.name == "mount_sink_K_W":
        by = "mount to sink, pad included"
    value, start = cause.in_key * moved.value, cause.in_key * moved.start
    return f"{moved.words} ({by} {value:.3g} in place of {start:.3g})"


def _plain(name: str) -> str:
    return {
        "ambient_degC": "air, °C",
        "set_gain": "current, of what is asked for",
        "diode_spread_V": "forward voltage over the typical, V",
        "light_factor": "light, of what the points say",
    }[name]
