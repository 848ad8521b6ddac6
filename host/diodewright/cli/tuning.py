"""Tune levels and limits: `tune`."""

import sys
from pathlib import Path

import click

from diodewright.cli.options import BUILD, FOLDER, JSON, SEED

__all__ = ["tune"]


@click.command()
@BUILD
@JSON
@SEED
@click.option(
    "--set",
    "chosen",
    multiple=True,
    metavar="KEY=VALUE",
    help="Evaluate the build with this value of a key; again for more keys.",
)
@click.option(
    "--scan",
    "scanned",
    multiple=True,
    metavar="KEY[=LOW:HIGH]",
    help="Go through a key's whole span, or this one; twice for a map of two.",
)
@click.option(
    "--points", type=click.IntRange(2, 101), help="Places a key: 21, or 9 of each of two."
)
@click.option(
    "--figure", default="light_first_minute_W", show_default=True, help="What a map of two shows."
)
@click.option("--out", type=FOLDER, help="Folder for the figure of a scan.")
@click.option("--loops", is_flag=True, help="How well the trim and the cutback are damped.")
def tune(
    build: str,
    as_json: bool,
    seed: int,
    chosen: tuple[str, ...],
    scanned: tuple[str, ...],
    points: int | None,
    figure: str,
    out: Path | None,
    loops: bool,
) -> None:
    """Say what a choice of levels and limits gives, and what it must hold."""
    from diodewright.cli import by_hand

    if len(scanned) > 2 or (scanned and loops):
        raise click.UsageError("--scan goes with one more --scan at most, and not with --loops")
    if out and not scanned:
        raise click.UsageError("--out goes with --scan")
    loaded, values = by_hand.chosen_of(build, chosen)
    if loops:
        sys.exit(by_hand.loops(loaded, values, seed, as_json))
    if scanned:
        sys.exit(by_hand.scan_of(loaded, values, seed, as_json, scanned, points, figure, out))
    sys.exit(by_hand.choice(loaded, values, seed, as_json))
