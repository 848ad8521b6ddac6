"""The list of faults."""

import dataclasses

from diodewright.faults import CATALOGUE, Fault
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
        rows = [dataclasses.asdict(fault) for fault in CATALOGUE]
        print_json({"moments": MOMENTS, "faults": rows})
        return
    out = screen()
    rows_text = [
        (
            fault.id,
            f"{fault.part}: {fault.happens}",
            _expected(fault),
            fault.acts,
        )
        for fault in CATALOGUE
    ]
    table(out, ("fault", "what breaks", "expected", "by"), rows_text)
    block(out, "moments", [f"{name}: {meaning}" for name, meaning in MOMENTS.items()])
    block(out, "next", ["one case with its Trace and figure:"])
    command(out, f"diodewright case BUILD {CATALOGUE[0].id}@{next(iter(MOMENTS))}")
