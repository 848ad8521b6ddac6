"""Tell a result again, or what moved: `report`, `diff`."""

import sys
from pathlib import Path

import click

from diodewright.cli.options import FOLDER, JSON
from diodewright.report import completion

__all__ = ["diff", "report"]


@click.command()
@click.argument("document", type=click.Path(path_type=Path), shell_complete=completion.documents)
@click.option("--out", type=FOLDER, required=True, help="Folder to write to.")
@click.option("--pdf", is_flag=True, help="The page as PDF too, by a Chromium; none: INCOMPLETE.")
def report(document: Path, out: Path, pdf: bool) -> None:
    """Make page, card and label from a document that `rehearse --json` printed."""
    from diodewright.report.files import write_report
    from diodewright.report.pdf import write_pdf
    from diodewright.report.reading import read_document

    page = write_report(read_document(document), out)
    click.echo(str(page))
    if pdf:
        click.echo(str(write_pdf(page)))


@click.command()
@click.argument("a", shell_complete=completion.builds_and_documents)
@click.argument("b", shell_complete=completion.builds_and_documents)
@JSON
def diff(a: str, b: str, as_json: bool) -> None:
    """Say what moved between two builds, or between two results.

    A and B are two builds (files or shipped examples), or two documents that `rehearse --json`
    printed or a report keeps; never one of each. Exit codes: 0 nothing moved, 1 something moved,
    2 bad input.
    """
    from diodewright.report import screen

    sys.exit(screen.show_diff(a, b, as_json))
