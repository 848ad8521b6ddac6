"""A page of docs/ that a tool makes: its tables, and how it is written or found stale."""

import sys
from collections.abc import Iterable
from pathlib import Path


def table(head: Iterable[object], rows: Iterable[Iterable[object]]) -> str:
    """Return a Markdown table behind an empty line."""
    names = tuple(head)
    lines = [names, ("---",) * len(names), *rows]
    cells = (" | ".join(str(cell).replace("|", "\\|") for cell in line) for line in lines)
    return "\n" + "".join(f"| {line} |\n" for line in cells)


def write_or_check(page: Path, text: str) -> int:
    """Write `text` as `page`, or with ``--check`` only compare; return 1 where it is stale."""
    tool = Path(sys.argv[0]).name
    if "--check" in sys.argv[1:]:
        stale = not page.exists() or page.read_text(encoding="utf-8") != text
        print(f"{page.name} is {f'stale: run tools/{tool}' if stale else 'up to date'}")
        return int(stale)
    page.parent.mkdir(exist_ok=True)
    page.write_text(text, encoding="utf-8", newline="\n")
    return 0
