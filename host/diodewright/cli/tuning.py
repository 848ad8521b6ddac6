"""Tune levels and limits: `tune`."""

import sys
from typing import TYPE_CHECKING

import click

from diodewright.cli.options import BUILD, JSON, SEED

if TYPE_CHECKING:
    from diodewright.build import Build

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
@click.option("--loops", is_flag=True, help="How well the trim and the cutback are damped.")
def tune(build: str, as_json: bool, seed: int, chosen: tuple[str, ...], loops: bool) -> None:
    """Say what a choice of levels and limits gives, and what it must hold."""
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
