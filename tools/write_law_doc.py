"""Write docs/law.md from the word tables, the table of transitions, and the law itself.

``python tools/write_law_doc.py`` writes it; with ``--check`` it only says whether it is stale.
Delays are measured: each row is broken at the desk of the tests, tick by tick until it is dark.
"""

import sys
from collections.abc import Iterator
from pathlib import Path

ROOT = Path(__file__).parents[1]
sys.path[:0] = [str(ROOT / "firmware"), str(ROOT / "tests" / "firmware")]

from page import table, write_or_check  # noqa: E402

import law_table  # noqa: E402
from desk import COUNTS, Desk  # noqa: E402
from diodedriver import words  # noqa: E402
from test_law_faults import ROWS  # noqa: E402

PAGE = ROOT / "docs" / "law.md"
INTRO = """# The law's modes, transitions and fault rows

Written by `tools/write_law_doc.py` from `words.py`, `tests/firmware/law_table.py` and runs of the
law; a test fails where it is stale. One tick is 1 ms.

**Caution.** The law acts in milliseconds. A diode's junction or facet dies in microseconds: that
is the comparators' job, in hardware. Nothing here replaces covers, eyewear or a fuse.

## Modes
"""
TRANSITIONS = """
## Transitions

In each tick the first row whose condition holds decides; where none does, the mode stays. `lit`
stands for start, soft_start, run and limited. The tests judge {cases} cases against this table:
every mode with every combination of trigger, key, interlock, comparator latch, release seen,
interlock opened, latched rows of each clear rule, rest, waits over, charged output, cap,
auto-off, an ill indicator and gated stage, reachable or not.

Hard reasons give zero drive, both cut-offs open and no pulse in the same tick. They are:
{hard}.
"""
FAULTS = """
## Fault rows

The order is the priority: of rows that latch in one tick the first is the cause. A row latches
when its condition has held for its count of ticks in a row; while any condition holds, the drive
may not rise. Reaction of every row, in the tick in which its count is full: drive and duty zero,
cut-offs A and B open, pulse and indicator off, and mode `fault`, or `pack_low` where only
pack rows are latched. The first cause keeps its tick, its mode and a copy of every reading.

Counts are settings: those here are the desk's of the tests, *fixed* ones can be nothing but 1.
"ms to dark" is measured at that desk from the moment of breaking, filters and the round of the
multiplexer (5 ticks) included. Blinks: long, then short, of whatever shows the fault.
"""
RULES = """
## Clear rules

No row clears while its condition stands or the trigger is held; "hot" and "junction" stand until
the temperature is back where cutback begins; an interlock opened before a row latched does not
clear it. A cleared row lights nothing: light needs a release and a fresh press, and passes
through delay and soft-start again.
"""


def _modes() -> Iterator[tuple[str, str]]:
    yield from ((f"`{name}`", meaning) for name, meaning in words.MODES)


def _transitions() -> Iterator[tuple[str, str, str]]:
    short = {" ".join(law_table.MODES): "any", " ".join(law_table.LIT): "lit"}
    for modes, condition, then in law_table.TRANSITIONS:
        named = short.get(modes, modes.replace(" ".join(law_table.LIT), "lit"))
        yield named, condition, f"`{then}`"


def ticks_to_dark(row: str) -> int:
    """Return the ticks from breaking `row` at the desk until it is dark and latched."""
    if row == "stuck":
        desk = Desk().tick(30)
        desk.forced["current_mA"] = 60
    elif row == "charged":
        desk = Desk().tick(30).press()
        desk.forced["output_mV"] = 4000
        desk.until("close")
    elif row == "junction":
        desk = Desk(junction_cK_W=1000, open_mV=20000).lit()
        desk.forced.update(current_mA=1600, output_mV=9000)
    else:
        desk = Desk().lit()
        ROWS[row][0](desk)
    spent = desk.until("fault", "pack_low")
    if desk.cause != row:
        raise RuntimeError(f"broke {row}, but {desk.cause} was the first cause")
    return spent


def _faults() -> Iterator[tuple[object, ...]]:
    for number, (name, rule, evidence, limit, condition) in enumerate(words.FAULTS):
        count = "1, fixed" if name in words.AT_ONCE else COUNTS.get(name, 1)
        long, short = words.blinks(number)
        dark = ticks_to_dark(name)
        yield (
            number,
            f"`{name}`",
            condition,
            evidence,
            f"`{limit}`",
            count,
            dark,
            rule,
            f"{long} + {short}",
        )


def page() -> str:
    """Return the whole page."""
    cases = sum(1 for _ in law_table.cases())
    faults = (
        "",
        "row",
        "condition",
        "judged on",
        "against",
        "count",
        "ms to dark",
        "rule",
        "blinks",
    )
    return "".join(
        (
            INTRO,
            table(("mode", "meaning"), _modes()),
            TRANSITIONS.format(cases=f"{cases:,}", hard=", ".join(words.HARD)),
            table(("in", "when", "then"), _transitions()),
            FAULTS,
            table(faults, _faults()),
            RULES,
            table(("rule", "what re-arms it"), iter(words.RULES)),
        )
    )


if __name__ == "__main__":
    sys.exit(write_or_check(PAGE, page()))
