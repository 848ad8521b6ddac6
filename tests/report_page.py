"""A page of the report as its reader meets it: text, tables, ids and links."""

from collections import Counter
from html.parser import HTMLParser

__all__ = ["Reader", "read"]


class Reader(HTMLParser):
    """Keeps ids, rows, tables and text; complains where an element is closed out of turn."""

    VOID = frozenset({"meta", "br"})

    def __init__(self) -> None:
        super().__init__()
        self.open: list[str] = []
        self.ids: Counter[str] = Counter()
        self.links: list[str] = []
        self.rows: list[list[str]] = []
        self.text: list[str] = []
        self._region = ""
        self._tables: list[tuple[str, int, int]] = []

    def tables(self, region: str) -> list[list[list[str]]]:
        """Return the tables of the region of that name: their rows of cells, the head first."""
        return [
            [[" ".join(cell.split()) for cell in row] for row in self.rows[begin:end]]
            for name, begin, end in self._tables
            if name == region
        ]

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        if tag not in self.VOID:
            self.open.append(tag)
        if tag == "tr":
            self.rows.append([])
        if tag in ("td", "th"):
            self.rows[-1].append("")
        if tag == "table":
            self._tables.append((self._region, len(self.rows), len(self.rows)))
        for name, value in attrs:
            if name == "aria-label":
                self._region = value or ""
            if name == "id":
                self.ids[value or ""] += 1
            if name == "href":
                self.links.append(value or "")

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.handle_starttag(tag, attrs)
        self.handle_endtag(tag)

    def handle_endtag(self, tag: str) -> None:
        assert self.open, f"</{tag}> closes nothing"
        assert self.open.pop() == tag
        if tag == "table":
            self._tables[-1] = (*self._tables[-1][:2], len(self.rows))

    def handle_data(self, data: str) -> None:
        if self.open and self.open[-1] == "style":
            return
        self.text.append(data)
        if "tr" in self.open:
            self.rows[-1][-1:] = ["".join(self.rows[-1][-1:]) + data]


def read(page: str) -> Reader:
    """Return what stands in `page`, which is well-formed."""
    reader = Reader()
    reader.feed(page)
    reader.close()
    assert reader.open == []
    return reader
