"""Tune levels and limits: `tune`."""

import sys

import click

from diodewright.cli.options import BUILD, JSON, SEED

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
def tune(build: str, as_json: bool, seed: int, chosen: tuple[str, ...]) -> None:
    """Say what a choice of levels and limits gives, and what it must hold."""
    from concurrent.futures import ThreadPoolExecutor

    from diodewright.build import load
    from diodewright.report import screen
    from diodewright.tune import context_of, evaluate, parsed

    loaded = load(build)
    values = dict(parsed(loaded, text) for text in chosen)
    context = context_of(loaded, seed)
    with ThreadPoolExecutor(2) as pool:  # the engine runs without the interpreter's lock
        now, then = pool.map(lambda each: evaluate(context, each), ({}, values))
    sys.exit(screen.show_choice(loaded, now, then, as_json))
