"""Tune levels and limits: `tune`."""

import sys
from pathlib import Path
from typing import Any

import click

from diodewright.cli.options import BUILD, FILE, FOLDER, JSON, SEED

__all__ = ["tune"]

_WISH = click.Choice(["first_minute", "sustained", "minutes", "gentle"])


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
@click.option("--out", type=FOLDER, help="Folder for what a scan or a front draws.")
@click.option("--loops", is_flag=True, help="How well the trim and the cutback are damped.")
@click.option("--wish", type=_WISH, help="What is wanted most; without it nothing is written.")
@click.option("--front", type=_WISH, help="A second wish: the trade-off of both, 20 settings.")
@click.option("--least-minutes", type=click.FloatRange(0), help="Least light from one full pack.")
@click.option("--touch-degC", "touch_degC", type=float, help="Sink's highest temperature.")
@click.option("--also", multiple=True, metavar="KEY", help="Search this key of the file as well.")
@click.option("--resume", type=FILE, help="File that keeps the search: goes on where it stopped.")
@click.option("--pick", metavar="NAME", help="Take this setting of the front in --out.")
@click.option("--write", is_flag=True, help="Write the result into BUILD, after the diff.")
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
    **asked: Any,
) -> None:
    """Find the best levels and limits for a wish, or say what a choice of them gives.

    Without --set, --scan or --loops it searches. Exit codes: 0 the result HOLDS, 1 it FAILS, 2 bad
    input, 3 INCOMPLETE, 130 stopped: what was seen is kept.
    """
    if not (chosen or scanned or loops):
        from diodewright.cli.searching import Search, searched

        sys.exit(searched(Search(build=build, seed=seed, out=out, as_json=as_json, **asked)))
    if any(asked.values()):
        raise click.UsageError("a wish is searched for: it goes without --set, --scan and --loops")
    from diodewright.cli import by_hand

    if len(scanned) > 2 or (scanned and loops):
        raise click.UsageError("--scan goes with one more --scan at most, and not with --loops")
    if out and not scanned:
        raise click.UsageError("--out goes with --scan, --front or --pick")
    loaded, values = by_hand.chosen_of(build, chosen)
    if loops:
        sys.exit(by_hand.loops(loaded, values, seed, as_json))
    if scanned:
        sys.exit(by_hand.scan_of(loaded, values, seed, as_json, scanned, points, figure, out))
    sys.exit(by_hand.choice(loaded, values, seed, as_json))
