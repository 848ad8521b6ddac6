"""Write the pages that are made from tables; `--check` only says which are stale."""

import argparse
import sys
from pathlib import Path

from diodewright.build import build_file_as_markdown

DOCS = Path(__file__).parents[1] / "docs"


def pages() -> dict[str, str]:
    """Return file name -> text of every page that is made from tables."""
    return {"build_file.md": build_file_as_markdown()}


def main(words: list[str] | None = None, docs: Path = DOCS) -> int:
    """Write the pages into `docs`, or with `--check` return 1 where one is stale."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--check", action="store_true", help="write nothing; exit 1 where stale")
    check = parser.parse_args(words).check
    stale = []
    for name, text in pages().items():
        path = docs / name
        if not path.exists() or path.read_text(encoding="utf-8") != text:
            stale.append(name)
            if not check:
                docs.mkdir(exist_ok=True)
                path.write_text(text, encoding="utf-8", newline="\n")
    for name in stale:
        print(f"docs/{name}: {'stale; run tools/write_docs.py' if check else 'written'}")
    return 1 if check and stale else 0


if __name__ == "__main__":
    sys.exit(main())
