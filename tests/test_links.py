"""Every link of every page leads to a file, and to a heading where it names one."""

import re
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[1]
PAGES = sorted([*ROOT.glob("*.md"), *ROOT.glob("docs/*.md"), *ROOT.glob("hardware_notes/**/*.md")])
LINK = re.compile(r"\[[^\]]*\]\(([^)\s]+)\)")


def _anchors(page: Path) -> set[str]:
    """Return a page's headings as a repository viewer names them."""
    heads = re.findall(r"^#+ (.+)$", page.read_text("utf-8"), re.M)
    return {re.sub(r"[^\w -]", "", head.lower()).replace(" ", "-") for head in heads}


def broken_links(page: Path) -> list[str]:
    """Return the links of a page that lead nowhere; those to the web are not followed."""
    broken = []
    for link in LINK.findall(page.read_text("utf-8")):
        if re.match(r"\w+:", link):
            continue
        name, _, anchor = link.partition("#")
        target = page.parent / name if name else page
        if not target.exists() or (anchor and anchor not in _anchors(target)):
            broken.append(link)
    return broken


@pytest.mark.parametrize("page", PAGES, ids=lambda page: page.relative_to(ROOT).as_posix())
def test_every_link_of_a_page_leads_somewhere(page: Path) -> None:
    assert broken_links(page) == []


def test_a_link_to_nowhere_is_seen(tmp_path: Path) -> None:
    page = tmp_path / "page.md"
    page.write_text(
        "# One, two\n[a](#one-two) [b](#three) [c](none.md) ![d](no.svg) [e](page.md)\n"
    )
    assert broken_links(page) == ["#three", "none.md", "no.svg"]


def test_every_figure_and_page_of_the_notes_is_reached_from_their_entry() -> None:
    notes = ROOT / "hardware_notes"
    linked = {
        (page.parent / link.partition("#")[0]).resolve()
        for page in notes.glob("*.md")
        for link in LINK.findall(page.read_text("utf-8"))
    }
    made = [*notes.glob("*.md"), *notes.glob("figures/*"), *notes.glob("bills/*")]
    made = [*made, *notes.glob("netlists/*")]
    assert [path.name for path in made if path not in linked and path.name != "README.md"] == []
