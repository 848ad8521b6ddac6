"""Write hardware_notes/values.md and the bills of materials, from the shipped builds.

``python tools/write_values_doc.py``; with ``--check`` it only says what is stale.
"""

import csv
import io
import sys
from pathlib import Path

ROOT = Path(__file__).parents[1]
sys.path[:0] = [str(ROOT / "tools")]

from bill import GROUPS, bill  # noqa: E402
from bill_item import Item  # noqa: E402
from page import table, write_or_check  # noqa: E402

from diodewright.build import load  # noqa: E402

NOTES = ROOT / "hardware_notes"
PAGE = NOTES / "values.md"
#: A stage's build -> its variants for bring-up.
BUILDS = {
    "smoke_tunnel": ("smoke_tunnel_bench", "smoke_tunnel_dummy"),
    "cave_lamp": (),
    "gel_viewer": (),
}
INTRO = """# The values of the reference circuit

Written by `tools/write_values_doc.py` from the shipped builds; every number is worked out by
`derive/parts.py` and `derive/edges.py`, which tests hold to closed forms and to the netlists.
Where a bring-up build differs from its light, it stands behind it. Requirements are generic: any
part that keeps them will do. The marks in the figures: [circuit.md](circuit.md). How sources are
marked: [README.md](README.md#how-sources-are-marked); "build" is a key of the build file.

Bills of materials, with counts and reasons: {bills}.

**Change a value, and change the build file first**: the rehearsal then judges it.
"""


def _key(item: Item) -> tuple[str, str]:
    return item.ref, item.part


def _cell(name: str, key: tuple[str, str]) -> str:
    """Return a part's value in a light's build, and in its variants where they differ."""
    values = [
        {_key(item): item.value for item in bill(load(each))} for each in (name, *BUILDS[name])
    ]
    own = values[0].get(key, "-")
    others = [
        f"{each.removeprefix(name + '_')}: {found[key]}"
        for each, found in zip(BUILDS[name], values[1:], strict=True)
        if found.get(key, "-") != own
    ]
    return "; ".join([own, *others])


def _group(group: str) -> str:
    """Return one group's two tables: values, then how they are worked out."""
    found: dict[tuple[str, str], Item] = {}
    for name in BUILDS:
        for item in bill(load(name)):
            if item.group == group:
                found.setdefault(_key(item), item)
    values = [
        (item.ref, item.part, *(_cell(name, key) for name in BUILDS)) for key, item in found.items()
    ]
    reasons = [(item.ref, item.part, item.how, item.mark) for item in found.values() if item.how]
    return (
        f"\n## {GROUPS[group]}\n"
        + table(("", "part", *BUILDS), values)
        + table(("", "part", "worked out as", ""), reasons)
    )


def _bill(name: str) -> str:
    """Return the bill of materials of one build as CSV."""
    text = io.StringIO()
    writer = csv.writer(text, lineterminator="\n")
    writer.writerow(("mark", "count", "part", "value", "requirement", "reason", "source"))
    for item in bill(load(name)):
        writer.writerow(
            (item.ref, item.count, item.part, item.value, item.needs, item.how, item.mark)
        )
    return text.getvalue()


def pages() -> dict[Path, str]:
    """Return every file that this tool writes, with its text."""
    bills = {NOTES / "bills" / f"{name}.csv": _bill(name) for name in BUILDS}
    links = ", ".join(f"[{path.stem}](bills/{path.name})" for path in bills)
    text = INTRO.format(bills=links) + "".join(_group(group) for group in GROUPS)
    return {PAGE: text, **bills}


if __name__ == "__main__":
    sys.exit(max(write_or_check(path, text) for path, text in pages().items()))
