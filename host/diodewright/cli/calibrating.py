"""Make a board's readings true, and know what it should read: `calibrate`, `sheet`."""

import sys
from pathlib import Path

import click

from diodewright.cli.options import BUILD, FILE, FOLDER, JSON
from diodewright.report import completion

__all__ = ["calibrate", "sheet"]

QUANTITIES = ("current", "output", "pack", "mount", "sink", "trip", "adc")


@click.command()
@BUILD
@click.argument("quantity", type=click.Choice(QUANTITIES))
@click.option("--port", help="The board's serial port; not needed for --points and for trip.")
@click.option(
    "--meter",
    "spec",
    default="typed",
    show_default=True,
    help="typed, csv:FILE or visa:RESOURCE (behind a comma its query, if another).",
)
@click.option(
    "--accuracy",
    type=click.FloatRange(0, 20),
    help="The meter's accuracy, from its data sheet: % of its reading; K for temperatures.",
)
@click.option(
    "--points",
    "points_file",
    type=click.Path(path_type=Path),
    help="A CSV instead: columns board_UNIT and meter_UNIT; for trip meter_A, for adc code.",
)
@click.option(
    "--also",
    multiple=True,
    metavar="BUILD",
    shell_complete=completion.builds,
    help="A further build file of this very circuit, which gets the same; may be repeated.",
)
@click.option("--real-diode", is_flag=True, help="The diode itself is fitted, not a dummy load.")
@click.option("--write", is_flag=True, help="Write the build file; the old one stays beside it.")
@click.option("--out", type=FOLDER, help="Folder for the figure of the residuals.")
@JSON
def calibrate(
    build: str,
    quantity: str,
    port: str | None,
    spec: str,
    accuracy: float | None,
    points_file: Path | None,
    also: tuple[str, ...],
    real_diode: bool,
    write: bool,
    out: Path | None,
    as_json: bool,
) -> None:
    """Make one reading of a board true: measure points, fit, say what it buys, show the diff.

    QUANTITY is current, output, pack, mount, sink, trip or adc. Without --write nothing is written.
    Exit codes: 0 done, 2 bad input, a meter's or a board's fault, or nothing gained, 3 INCOMPLETE:
    no PyVISA here.
    """
    from diodewright.bench.calibrate_guide import Asked, guided
    from diodewright.report.screen_calibrate import show_calibration, write_figure

    if accuracy is None and quantity != "adc":
        raise click.UsageError(
            "--accuracy: the meter's, from its data sheet; nothing holds without"
        )
    asked = Asked(
        build, quantity, port, spec, accuracy or 0.0, points_file, also, real_diode, _ask, _say
    )
    done = guided(asked)
    figure = write_figure(done, out) if out else None
    show_calibration(done, as_json, write, figure)


def _say(text: str) -> None:
    click.echo(text, err=True)


def _ask(text: str) -> str:
    """Return what a person answers; the prompt goes to stderr."""
    click.echo(f"{text} ", err=True, nl=False)
    return sys.stdin.readline()


@click.command()
@BUILD
@click.option("--out", type=FILE, help="To this file: a page to print if .html, else Markdown.")
@JSON
def sheet(build: str, out: Path | None, as_json: bool) -> None:
    """List what each probe point must read at each step of bring-up, and what a wrong one means."""
    from diodewright.bench.sheet import sheet_of
    from diodewright.build import load
    from diodewright.report.screen_sheet import show_sheet

    show_sheet(sheet_of(load(build)), as_json, out)
