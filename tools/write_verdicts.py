"""Write docs/verdicts/: of each shipped build the verdict on every fault at every moment, as a map.

A change of the law, a model or a build that moves any verdict shows as a line of these files that
differs. ``--check`` only says which are stale; names of builds after it keep it to those.
"""

import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent))

from page import write_or_check

from diodewright.build import examples, load
from diodewright.rehearse import rehearse
from diodewright.report.facts import CODES
from diodewright.report.fault_map import NO_CASE, FaultMap, fault_map
from diodewright.report.shape import document_of

FOLDER = Path(__file__).parents[1] / "docs" / "verdicts"
SEED = 1


def map_text(of: FaultMap) -> str:
    """Return the map as lines of letters, columns named by numbers that a list above explains."""
    wide = max(len(name) for name, _ in of.rows)
    head = [f"{i:2d} {at}" for i, at in enumerate(of.moments, 1)]
    numbers = "".join(f"{i:3d}" for i in range(1, len(of.moments) + 1))
    lines = [f"{'':{wide}}{numbers}"]
    lines += [
        f"{name:{wide}}" + "".join(f"{cell.letter:>3}" for cell in cells) for name, cells in of.rows
    ]
    return "\n".join((*head, "", *lines))


def verdicts(name: str) -> str:
    """Return the map of one shipped build, with what its letters mean, pairs and lost parts."""
    document = document_of(rehearse(load(name), SEED, "faults"))
    legend = [f"{code} {meaning}" for code, meaning in CODES.items()]
    lost = [f"{row.id} without {row.without}: {row.verdict}" for row in document.bereft]
    pairs = [f"{row.id}@{row.at}: {row.verdict}" for row in document.pairs if not row.survives]
    guards = sorted({row.id.partition(",")[0] for row in document.pairs})
    lines = [
        f"{name}: verdict on every fault at every moment, seed {SEED}; the worst where a cell has",
        "several cases. Made by tools/write_verdicts.py.",
        "",
        *legend,
        f"{NO_CASE} no case: never reached, or it shows slowly and strikes elsewhere",
        "",
        map_text(fault_map(document)),
        "",
        "What hardware alone ended in steady light, without the part that ended it:",
        *(lost or ["nothing"]),
        "",
        f"Pairs: {len(document.pairs)} with {', '.join(guards) or 'no guard'} dead before; lost:",
        *(pairs or ["none"]),
    ]
    return "\n".join(lines) + "\n"


def main() -> int:
    """Write the maps, or with ``--check`` return 1 where one is stale."""
    names = [word for word in sys.argv[1:] if not word.startswith("-")] or sorted(examples())
    return max([write_or_check(FOLDER / f"{name}.txt", verdicts(name)) for name in names])


if __name__ == "__main__":
    sys.exit(main())
