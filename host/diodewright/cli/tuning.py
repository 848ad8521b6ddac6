"""Tune levels and limits: `tune`."""

import sys
from pathlib import Path
from typing import TYPE_CHECKING

import click

from diodewright.cli.options import BUILD, FILE, FOLDER, JSON, SEED

if TYPE_CHECKING:
    from diodewright.build import Build

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
@click.option("--loops", is_flag=True, help="How well the trim and the cutback are damped.")
@click.option("--wish", type=_WISH, help="What is wanted most; without it nothing is written.")
@click.option("--front", type=_WISH, help="A second wish: the trade-off of both, 20 settings.")
@click.option("--least-minutes", type=click.FloatRange(0), help="Least light from one full pack.")
@click.option("--touch-degC", "touch_degC", type=float, help="Sink's highest temperature.")
@click.option("--also", multiple=True, metavar="KEY", help="Search this key of the file as well.")
@click.option("--resume", type=FILE, help="File that keeps the search: goes on where it stopped.")
@click.option("--out", type=FOLDER, help="Folder for a front's figure and document.")
@click.option("--pick", metavar="NAME", help="Take this setting of the front in --out.")
@click.option("--write", is_flag=True, help="Write the result into BUILD, after the diff.")
def tune(
    build: str,
    as_json: bool,
    seed: int,
    chosen: tuple[str, ...],
    loops: bool,
    wish: str | None,
    front: str | None,
    least_minutes: float | None,
    touch_degC: float | None,
    also: tuple[str, ...],
    resume: Path | None,
    out: Path | None,
    pick: str | None,
    write: bool,
) -> None:
    """Find levels and limits: the best for a wish, or what a choice of them gives.

    Without --set or --loops it searches. Exit codes: 0 the result HOLDS, 1 it FAILS, 2 bad input,
    3 INCOMPLETE, 130 stopped (what was seen is kept).
    """
    if not chosen and not loops:
        from diodewright.cli.searching import Search, searched

        limits = (least_minutes, touch_degC, also, seed)
        sys.exit(searched(Search(build, wish, front, *limits, resume, out, pick, write, as_json)))
    from diodewright.build import load
    from diodewright.tune import parsed

    loaded = load(build)
    values = dict(parsed(loaded, text) for text in chosen)
    if loops:
        sys.exit(_loops(loaded, values, seed, as_json))
    sys.exit(_choice(loaded, values, seed, as_json))


def _choice(build: "Build", values: dict[str, object], seed: int, as_json: bool) -> int:
    from concurrent.futures import ThreadPoolExecutor

    from diodewright.report import screen
    from diodewright.tune import context_of, evaluate

    context = context_of(build, seed)
    with ThreadPoolExecutor(2) as pool:  # the engine runs without the interpreter's lock
        now, then = pool.map(lambda each: evaluate(context, each), ({}, values))
    return screen.show_choice(build, now, then, as_json)


def _loops(build: "Build", values: dict[str, object], seed: int, as_json: bool) -> int:
    from diodewright.build import with_values
    from diodewright.tune import context_of, needs_scipy

    needs_scipy()
    from diodewright.report.screen_loops import show_loops
    from diodewright.tune.loops import loops_of, mend_of

    context = context_of(with_values(build, values) if values else build, seed)
    found = loops_of(context)
    mends = tuple(mend_of(context, row) for row in found if row.hunts)
    return show_loops(context.build, found, mends, as_json)
