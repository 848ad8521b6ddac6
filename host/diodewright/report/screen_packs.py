"""The same load on usual packs, side by side."""

import dataclasses

from diodewright.build import Build
from diodewright.report.terminal import block, command, print_json, screen, table
from diodewright.report.wording import number
from diodewright.size import PackRow, compare_packs
from diodewright.size.packs import COMPARED, LEAVES_OUT

__all__ = ["show_packs"]

_HEADS = ("pack", "V rest, lit", "sag V", "A of rated", "min", "heat W", "verdict")


def _cells(row: PackRow) -> tuple[str, ...]:
    lit_V = "-" if row.loaded_V is None else number(row.loaded_V)
    return (
        row.pack,
        f"{number(row.rested_V)}, {lit_V}",
        "-" if row.sag_V is None else number(row.sag_V, 2),
        f"{number(row.pack_A)} of {number(row.rated_A)}",
        number(row.light_s / 60) if row.light_s else "-",
        "-" if row.lost_W is None else number(row.lost_W, 2),
        row.verdict if row.verdict == "fits" else row.verdict.upper(),
    )


def show_packs(build: Build, as_json: bool) -> None:
    """Print what the build's load does to each pack; what gives way is told with its figures."""
    load, rows = compare_packs(build)
    if as_json:
        print_json(
            {
                "build": {"name": build.name, "fingerprint": build.fingerprint},
                "load": dataclasses.asdict(load),
                "packs": [dataclasses.asdict(row) for row in rows],
                "leaves_out": LEAVES_OUT,
            }
        )
        return
    out = screen()
    out.print(f"{build.name}: {build.purpose}", style="bold")
    asked = f"{number(load.level_A)} A through the diode, {number(load.output_V)} V at the stage"
    block(out, "load", [f"{asked}, which needs {number(load.needed_V)} V of its pack"])
    table(out, _HEADS, [_cells(row) for row in rows])
    found = [f"{row.pack}: {row.finding}" for row in rows if row.finding]
    block(out, "findings", found or ["none: every pack fits"])
    block(out, "limits", [*LEAVES_OUT, "heat W is the stage's own, on a full pack"])
    block(out, "next", ["all values of one cell, each with its source:"])
    command(out, f"diodewright parts {COMPARED[-1][0]}")
