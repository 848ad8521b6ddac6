"""The lists: faults, and the size summary of one build."""

import dataclasses
import math

from diodewright.build import Build
from diodewright.faults import CATALOGUE, ENGINE, LEVELS, Fault
from diodewright.faults.parts import share_pct
from diodewright.rehearse import MOMENTS
from diodewright.report.facts import EXPECTED, rehearse_command
from diodewright.report.terminal import block, command, print_json, screen, table
from diodewright.report.wording import label, number, prose, unit_text
from diodewright.size import size

__all__ = ["show_faults", "show_size"]


def show_size(build: Build, as_json: bool) -> None:
    """Print what the build draws, gives and endures, with what each figure leaves out."""
    figures = size(build)
    if as_json:
        rows = [dataclasses.asdict(figure) for figure in figures]
        for row in rows:
            row["value"] = row["value"] if math.isfinite(row["value"]) else None
        print_json(
            {
                "build": {"name": build.name, "fingerprint": build.fingerprint},
                "size": rows,
                "assumed": [dataclasses.asdict(row) for row in build.assumed],
            }
        )
        return
    out = screen()
    out.print(f"{build.name}: {build.purpose}", style="bold")
    rows_text = [
        (
            label(figure.id),
            number(figure.value if math.isfinite(figure.value) else None),
            unit_text(figure.unit),
            prose(figure.meaning),
            figure.leaves_out,
        )
        for figure in figures
    ]
    table(out, ("figure", "value", "unit", "at which point", "leaves out"), rows_text, "value")
    block(
        out, "limits", ["typical values at the highest level, not corners; nothing is judged here"]
    )
    block(out, "assumed", [f"{len(build.assumed)} values that the build file did not give"])
    block(out, "next", ["rehearse it: use and every fault, judged"])
    command(out, rehearse_command(build.file, 1))


def _expected(fault: Fault) -> str:
    if fault.allowed_ms is None:
        return EXPECTED[fault.expect]
    return f"{EXPECTED[fault.expect]} in {number(fault.allowed_ms, 5)} ms"


def show_faults(as_json: bool) -> None:
    """Print the catalogue of faults and the moments at which they strike."""
    if as_json:
        rows = [
            {**dataclasses.asdict(fault), "share_pct": share_pct(fault.part, fault.mode)}
            for fault in CATALOGUE
        ]
        print_json({"moments": MOMENTS, "faults": rows})
        return
    out = screen()
    rows_text = [
        (
            fault.id,
            f"{fault.part}, {fault.mode}: {fault.happens}",
            _expected(fault),
            fault.acts,
            "" if fault.level == "engine" else fault.level,
        )
        for fault in CATALOGUE
    ]
    table(out, ("fault", "what breaks, how", "expected", "by", "level"), rows_text)
    unsaid = {"engine": "engine, where none stands"}
    levels = [f"{unsaid.get(name, name)}: {meaning}" for name, meaning in LEVELS.items()]
    block(out, "levels", levels)
    latent = [fault.id for fault in CATALOGUE if fault.guard == "latent"]
    block(out, "latent", [f"guards that may be dead unseen: {', '.join(latent)}"])
    block(out, "moments", [f"{name}: {meaning}" for name, meaning in MOMENTS.items()])
    block(out, "next", ["one case with its Trace and figure:"])
    command(out, f"diodewright case BUILD {ENGINE[0].id}@{next(iter(MOMENTS))}")
