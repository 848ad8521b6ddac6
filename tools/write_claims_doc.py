"""Write hardware_notes/claims.md: what the netlists show of each stage's shipped build.

``python tools/write_claims_doc.py`` runs every netlist (it needs ngspice) and writes the page. A
test runs each claim again and holds the page to it within 3 %, so that another simulator's last
digits don't matter.
"""

import sys
import tempfile
from collections.abc import Mapping
from pathlib import Path

ROOT = Path(__file__).parents[1]
sys.path[:0] = [str(ROOT / "tests"), str(ROOT / "tools")]

from page import table  # noqa: E402

from circuit_claim import Claim, broken, measured  # noqa: E402
from circuit_claims import CLAIMS  # noqa: E402
from diodewright.build import load  # noqa: E402
from netlists import NETLISTS  # noqa: E402

PAGE = ROOT / "hardware_notes" / "claims.md"
#: One shipped build of each stage.
BUILDS = ("smoke_tunnel", "cave_lamp", "gel_viewer")
#: (claim, build or "broken") -> the number; None where the build has no such part.
Results = Mapping[tuple[str, str], float | None]

INTRO = """# What the netlists show

Written by `tools/write_claims_doc.py` from runs of `netlists/` in a circuit simulator; a test
runs each again. Parts are generic, at the slow or loose end of what [values.md](values.md) asks
of them. **A simulation is not a bench**: it knows no layout, no noise, no part that is worse than
its data sheet. What it leaves out stands at the head of each netlist, and under [What is not
checked yet](README.md#what-is-not-checked-yet).

## Claims

A cell is the worst of all corners, and in brackets what it must keep. The last column is the same
claim on a circuit with the named fault of design, which misses it: each claim can fail.
"""
LIST = """
## Netlists

Each runs as it stands (`ngspice -b netlists/turn_on.cir`) with the green laser's figures and
writes a data file beside where it is started.
"""


def text(value: float | None) -> str:
    """Return a number as the page shows it; below 0.002 it counts as none."""
    if value is None:
        return "-"
    if abs(value) < 2e-3:
        return "0"
    return "for ever" if value == float("inf") else f"{value:.3g}"


def _cell(claim: Claim, name: str, results: Results) -> str:
    value = results[claim.id, name]
    return "-" if value is None else f"{text(value)} ({claim.limit(load(name)):.3g})"


def first_build(claim: Claim) -> str:
    """Return the build on which a claim's break is shown: the first that has the part."""
    return next(name for name in BUILDS if next(iter(claim.runs(load(name))), None) is not None)


def rows(results: Results) -> list[tuple[str, ...]]:
    """Return the table's rows."""
    return [
        (
            f"`{claim.id}`",
            f"{claim.says} [{claim.unit}, at {'most' if claim.ceiling else 'least'}]",
            f"[{claim.netlist}](netlists/{claim.netlist}.cir)",
            *(_cell(claim, name, results) for name in BUILDS),
            f"{claim.broken[0]}: {text(results[claim.id, 'broken'])}",
        )
        for claim in CLAIMS
    ]


def page(results: Results) -> str:
    """Return the whole page."""
    head = ("", "claim", "netlist", *BUILDS, "broken on purpose")
    files = sorted(NETLISTS.glob("*.cir"))
    titles = [path.read_text(encoding="utf-8").split("\n", 1)[0] for path in files]
    listed = [
        (f"[{path.name}](netlists/{path.name})", title)
        for path, title in zip(files, titles, strict=True)
    ]
    return INTRO + table(head, rows(results)) + LIST + table(("netlist", "shows"), listed)


def results(folder: Path) -> Results:
    """Run every claim on every build, and its break on the first."""
    found: dict[tuple[str, str], float | None] = {}
    for claim in CLAIMS:
        for name in BUILDS:
            found[claim.id, name] = measured(claim, load(name), folder)
        found[claim.id, "broken"] = broken(claim, load(first_build(claim)), folder)
    return found


if __name__ == "__main__":
    with tempfile.TemporaryDirectory() as folder:
        PAGE.write_text(page(results(Path(folder))), encoding="utf-8", newline="\n")
