"""The list of faults."""

import dataclasses

from diodewright.faults import CATALOGUE, ENGINE, LEVELS, Fault
from diodewright.faults.parts import share_pct
from diodewright.rehearse import MOMENTS
from diodewright.report.facts import EXPECTED
from diodewright.report.terminal import block, command, print_json, screen, table
from diodewright.report.wording import number

__all__ = ["show_faults"]


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
