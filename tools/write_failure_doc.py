"""Write hardware_notes/failures.md, the failure analysis, from the catalogue of faults.

``python tools/write_failure_doc.py``; with ``--check`` it only says whether it is stale. One row a
fault, whatever rows there are; which netlist shows it follows from what the fault changes.
"""

import sys
from collections.abc import Mapping
from pathlib import Path

ROOT = Path(__file__).parents[1]
sys.path[:0] = [str(ROOT / "tools")]

from page import table, write_or_check  # noqa: E402

from diodewright.faults import CATALOGUE, NEEDS, Fault  # noqa: E402
from diodewright.faults.parts import part_of, share_pct  # noqa: E402
from diodewright.report.facts import EXPECTED  # noqa: E402

PAGE = ROOT / "hardware_notes" / "failures.md"
NETLISTS = ROOT / "hardware_notes" / "netlists"

#: What a fault changes -> the netlists that show that.
SHOWS: Mapping[str, tuple[str, ...]] = {
    "plant.stage_stuck_full": ("comparator_trip", "stage_stuck_full", "trip_path"),
    "plant.own_shunt_gain": ("comparator_trip",),
    "plant.diode_open": ("hot_reconnection",),
    "plant.a_open": ("turn_off", "comparator_trip"),
    "plant.set_stuck_full": ("set_path",),
    "plant.set_open": ("set_path",),
    "plant.current_read_gain": ("sense_chain",),
    "plant.pack_connected": ("supply_dip",),
    "plant.interlock": ("gating",),
    "plant.key": ("gating",),
    "board.tick_dead": ("dynamic_enable",),
    "board.tick_stride": ("dynamic_enable",),
}
ACTS = {
    "law": "law",
    "hardware": "hardware",
    "either": "hardware or law, whichever is first",
    "nobody": "nothing",
}
INTRO = """# Failure analysis

Written by `tools/write_failure_doc.py` from the catalogue of single faults, which every rehearsal
runs: {count} rows. "Acts" is who is meant to; that it does, and in time, is what the rehearsal,
the twin and [the netlists](claims.md) show. None of it was seen on a bench.

Shares are of all failures of a part of that kind, **second-hand**: from a failure-mode handbook
as an open reliability database carries it (the thermistor's from memory). They rank; they predict
nothing. No class of any functional-safety standard is claimed: a small controller's own registers
and memory are not tested, which is why comparators, latch, supervisor and dynamic enable work
without it.

## Single faults
"""
END = """
## What remains

- A row in which the law acts relies on a running law; the dynamic enable ends the light of a dead
  one.
- A row in which hardware acts relies on one comparator, or on one latch. The self-test asks both
  at every start; an over-voltage threshold that has drifted it does not see.
- Two faults at once are looked at only where the first can't be seen ("latent").
- One ground, one connector or one wetting can defeat two guards: not in this table.
"""


def _share(row: Fault) -> str:
    """Return how the part fails, with the published share, and the kind that it was taken for."""
    share = share_pct(row.part, row.mode)
    return row.mode if share is None else f"{row.mode} ({part_of(row.part).kind} {share} %)"


def _acts(row: Fault) -> str:
    return f"{ACTS[row.acts]}: {row.by}" if row.by else ACTS[row.acts]


def _time(row: Fault) -> str:
    return "-" if row.allowed_ms is None else f"{row.allowed_ms:g} ms"


def _risk(row: Fault) -> str:
    """Return what remains, from who acts and whether the part only guards."""
    if row.expect == "lost":
        return "the diode: nothing is fast enough"
    if row.guard == "latent":
        return "may be dead unseen: run together with a second fault"
    if row.guard == "seen at start":
        return "dead until the next start at most"
    if row.acts == "nobody":
        return "waits for a second fault"
    if row.acts == "hardware":
        return "one guard between fault and diode"
    if row.acts == "law":
        return "a dead law at the same time"
    return "two guards"


def _shown(row: Fault) -> str:
    """Return where the row is shown: its level, its netlists, its own words."""
    netlists = [name for target, _ in row.changes for name in SHOWS.get(target, ())]
    netlists += [path.stem for path in sorted(NETLISTS.glob("*.cir")) if path.stem in row.shown_by]
    links = [f"[{name}](netlists/{name}.cir)" for name in dict.fromkeys(netlists)]
    own = row.shown_by or ("every rehearsal" if row.level == "engine" else row.level)
    return "; ".join([own, *links])


def _needs(row: Fault) -> str:
    if not row.needs:
        return row.happens
    without = ", ".join(NEEDS[word].removeprefix("has no ") for word in row.needs)
    return f"{row.happens} (where there is: {without})"


def page() -> str:
    """Return the whole page."""
    head = ("fault", "part", "fails", "effect", "then", "acts", "within", "remains", "shown by")
    rows = (
        (
            f"`{row.id}`",
            row.part,
            _share(row),
            _needs(row),
            EXPECTED[row.expect],
            _acts(row),
            _time(row),
            _risk(row),
            _shown(row),
        )
        for row in CATALOGUE
    )
    return INTRO.format(count=len(CATALOGUE)) + table(head, rows) + END


if __name__ == "__main__":
    sys.exit(write_or_check(PAGE, page()))
