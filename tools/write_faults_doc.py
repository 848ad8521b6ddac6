"""Write docs/faults.md from the catalogue: its table of parts and modes, its reasons, its rows.

``python tools/write_faults_doc.py`` writes it; with ``--check`` it only says whether it is stale.
"""

import sys
from collections.abc import Iterator
from pathlib import Path

ROOT = Path(__file__).parents[1]
sys.path[:0] = [str(ROOT / "firmware"), str(ROOT / "host")]

from page import table, write_or_check  # noqa: E402

from diodewright.faults import CATALOGUE, LEVELS, Fault  # noqa: E402
from diodewright.faults.parts import MODES, PARTS, SHARES, Part, share_pct  # noqa: E402
from diodewright.faults.unshown import UNSHOWN  # noqa: E402
from diodewright.report.facts import EXPECTED  # noqa: E402

PAGE = ROOT / "docs" / "faults.md"
INTRO = """# The catalogue of faults

Written by `tools/write_faults_doc.py` from `host/diodewright/faults/`; a test fails where it is
stale. {rows} single faults of {parts} parts: {engine} are run by `rehearse` at every moment on
every build that can have them, {twin} are shown by tests of the whole firmware, {edge} by
transients of microseconds.

**Caution.** A catalogue is as good as what was thought of. It knows single faults of the reference
circuit, as a model of it shows them; nothing here was broken on a bench.

## Parts and modes

{modes}
Every part has for every mode a row or a reason. `=` stands for "as in these rows", **not shown**
for what the model leaves out; a dash for no such way to fail. The reasons are further below. A
number is the published share of that mode among failures of such parts [%]: FMD-91 and
MIL-HDBK-338B as an open reliability database carries them, second-hand; thermistors from memory,
cells from a vendor's guide. Shares rank; they predict nothing.
"""
ROWS = """
## Rows

*Expected* with the longest time from the fault to dark. *Acts*: who is meant to, with the part that
does where hardware does. "nobody": the light goes on, within every limit. *Guard*: of a part that
only guards, whether the self-test at power-up sees that it is dead; a **latent** one may be dead
unseen. Level: {levels}

Source of a row, where nothing else is said below its table: common practice, no source.
"""
REASONS = """
## Reasons

Where there is no row.
"""


def _cell(part: Part, mode: str) -> str:
    """Return rows or the kind of reason of one pair, with the published share."""
    rows = [f"`{row.id}`" for row in CATALOGUE if (row.part, row.mode) == (part.name, mode)]
    share = share_pct(part.name, mode)  # type: ignore[arg-type]
    shown = "" if share is None else f" {share}"
    if rows:
        return " ".join(rows) + shown
    reason = UNSHOWN[part.name, mode]  # type: ignore[index]
    if reason.startswith("as "):
        return "=" + shown
    return ("**not shown**" if reason.startswith("not shown") else "-") + shown


def _pairs() -> Iterator[tuple[str, ...]]:
    for part in PARTS:
        yield (part.name, *(_cell(part, mode) for mode in MODES))


def _expected(row: Fault) -> str:
    if row.allowed_ms is None:
        return EXPECTED[row.expect]
    return f"{EXPECTED[row.expect]} in {row.allowed_ms:g} ms"


def _who(row: Fault) -> str:
    return f"{row.acts}: {row.by}" if row.by else row.acts


def _shown_by(row: Fault) -> str:
    if row.level == "engine":
        return "engine"
    test = row.shown_by.rpartition("::")[2]
    return f"{row.level}: `{test}`"


def _rows(group: str) -> Iterator[tuple[str, ...]]:
    names = {part.name for part in PARTS if part.group == group}
    for row in CATALOGUE:
        if row.part in names:
            what = f"{row.part}, {row.mode}: {row.happens}"
            yield f"`{row.id}`", what, _expected(row), _who(row), row.guard, _shown_by(row)


def _sources(group: str) -> str:
    names = {part.name for part in PARTS if part.group == group}
    found: dict[str, list[str]] = {}
    for row in CATALOGUE:
        if row.part in names and row.source != Fault.source:
            found.setdefault(row.source, []).append(f"`{row.id}`")
    return "".join(f"\n{', '.join(ids)}: {source}.\n" for source, ids in found.items())


def _reasons() -> Iterator[tuple[str, str, str]]:
    for (part, mode), reason in UNSHOWN.items():
        yield part, mode, reason


def page() -> str:
    """Return the whole page."""
    levels = [row.level for row in CATALOGUE]
    heads = ("fault", "what breaks, how, what happens", "expected", "acts", "guard", "level")
    parts = [
        INTRO.format(
            rows=len(CATALOGUE),
            parts=len(PARTS),
            modes="\n".join(f"- *{mode}*: {meaning}" for mode, meaning in MODES.items()) + "\n",
            **{level: levels.count(level) for level in LEVELS},
        ),
        table(("part", *MODES), _pairs()),
        ROWS.format(levels="; ".join(f"*{name}*, {text}" for name, text in LEVELS.items()) + "."),
    ]
    for group in dict.fromkeys(part.group for part in PARTS):
        parts += [f"\n### {group}\n", table(heads, _rows(group)), _sources(group)]
    parts += [REASONS, table(("part", "mode", "why"), _reasons())]
    parts += [
        "\n## Published shares by kind of part [%]\n",
        table(
            ("kind", *MODES),
            ((kind, *(shares.get(mode, "") for mode in MODES)) for kind, shares in SHARES.items()),
        ),
    ]
    return "".join(parts)


if __name__ == "__main__":
    sys.exit(write_or_check(PAGE, page()))
