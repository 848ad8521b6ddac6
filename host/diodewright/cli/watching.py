"""Watch a board at its port: `watch`."""

import sys
from pathlib import Path

import click

from diodewright.cli.options import BUILD, FILE, JSON

__all__ = ["watch"]


@click.command()
@BUILD
@JSON
@click.option("--port", help="Serial port; left out: the one board that is plugged in.")
@click.option("--out", type=FILE, help="Recording to write, .npz or .csv.")
@click.option("--for", "for_s", type=click.FloatRange(0.1, 604_800), help="End after so long [s].")
@click.option(
    "--rate",
    default=20,
    show_default=True,
    type=click.IntRange(1, 50),
    help="Lines a second that the board sends [Hz].",
)
@click.option("--unit", default="", metavar="NUMBER", help="Only this chip, by its number.")
@click.option("--other-build", is_flag=True, help="Watch a board of another build too, marked so.")
@click.option(
    "--recover", is_flag=True, help="Make --out of the side file of one that was cut off."
)
def watch(
    build: str,
    as_json: bool,
    port: str | None,
    out: Path | None,
    for_s: float | None,
    rate: int,
    unit: str,
    other_build: bool,
    recover: bool,
) -> None:
    """Watch a board at its port, live, and record it; key o makes it dark, nothing here lights.

    The cable may go and come back: gaps are marked with their length, never filled. Exit codes: 0
    ended as asked, 2 no such board, another one, or no place to write.
    """
    from diodewright.build import load
    from diodewright.report import screen

    loaded = load(build)
    if recover:
        if out is None or port is not None:
            raise click.UsageError("--recover goes with --out, and with no --port")
        sys.exit(screen.recover_watch(loaded, out, as_json))
    sys.exit(screen.show_watch(loaded, port, out, for_s, rate, unit, other_build, as_json))
