"""The sheet of expected readings: as Markdown, as a page to print, or for machines."""

from collections.abc import Iterable, Iterator
from dataclasses import asdict
from pathlib import Path

from diodewright.bench.sheet import Sheet
from diodewright.report.files import CannotWrite, write_together
from diodewright.report.page import environment
from diodewright.report.terminal import print_json, print_text

__all__ = ["sheet_as_html", "sheet_as_markdown", "show_sheet"]


def show_sheet(sheet: Sheet, as_json: bool, out: Path | None) -> None:
    """Print the sheet, or write it to `out`: a page where that ends in .html, else Markdown.

    Raises
    ------
    CannotWrite
        The file can't be written.
    """
    if out is not None:
        page = out.suffix == ".html"
        text = sheet_as_html(sheet) if page else sheet_as_markdown(sheet)
        if out.name in ("", ".", ".."):
            raise CannotWrite(f"{out}: names no file")
        write_together(out.parent, {out.name: lambda path: path.write_bytes(text.encode())})
    if as_json:
        print_json(asdict(sheet))
    elif out is None:
        print_text(sheet_as_markdown(sheet))
    else:
        print_text(f"{out}\n")


def sheet_as_html(sheet: Sheet) -> str:
    """Return a page of one file, to be printed and filled in."""
    return environment().get_template("sheet.html.j2").render(sheet=sheet)


def sheet_as_markdown(sheet: Sheet) -> str:
    """Return the sheet as Markdown, an empty column to write in."""
    return "".join(_lines(sheet))


def _lines(sheet: Sheet) -> Iterator[str]:
    yield f"# {sheet.build}: expected readings\n\n"
    yield f"Step {sheet.place} of 4: {sheet.feed}. Build `{sheet.fingerprint[:16]}`. "
    yield "Bands hold the parts' tolerances at their worst.\n\n"
    yield from (f"- {line}\n" for line in sheet.cautions)
    for step in sheet.steps:
        yield f"\n## {step.name[:1].upper()}{step.name[1:]}\n\n{step.do}\n"
        head = ("point", "with, or what to do", "must read", "measured", "a wrong reading means")
        rows = ((row.point, row.read, row.band, "", row.means) for row in step.rows)
        yield from _table(head, rows)
    yield "\n## Jumpers and probe points\n"
    yield from _table(("point", "where", "for"), sheet.points)


def _table(head: tuple[str, ...], rows: Iterable[tuple[str, ...]]) -> Iterator[str]:
    yield "\n"
    for line in (head, ("---",) * len(head), *rows):
        cells = " | ".join(cell.replace("|", "\\|") for cell in line)
        yield f"| {cells} |\n"
