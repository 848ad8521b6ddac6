"""Describe a build and size it: `new`, `parts`, `size`."""

from pathlib import Path

import click

from diodewright.cli.options import BUILD, JSON
from diodewright.report import completion

__all__ = ["new", "parts", "size"]


@click.command()
@click.argument("name")
@click.option("--write", is_flag=True, help="Write NAME.toml here instead of printing it.")
@click.option(
    "--from",
    "origin",
    metavar="BUILD",
    default="smoke_tunnel",
    show_default=True,
    shell_complete=completion.builds,
    help="Take the values of this shipped example or build file.",
)
def new(name: str, write: bool, origin: str) -> None:
    """Print a commented build file to start from."""
    from diodewright.build import template, write_whole
    from diodewright.report.terminal import print_text

    text = template(name, origin)
    if not write:
        print_text(text)
        return
    write_whole(Path(f"{name}.toml"), text)
    click.echo(f"{name}.toml written; next: diodewright size {name}.toml")


@click.command()
@click.argument("which", required=False)
@JSON
def parts(which: str | None, as_json: bool) -> None:
    """List the generic parts that a build file may name.

    WHICH shows one part with all its values, or checks and lists a file of your own parts.
    """
    from diodewright.report import screen

    screen.show_parts(as_json, which)


@click.command()
@BUILD
@JSON
@click.option("--packs", is_flag=True, help="The same load on usual packs instead, side by side.")
def size(build: str, as_json: bool, packs: bool) -> None:
    """Say what the build draws, gives and endures."""
    from diodewright.build import load
    from diodewright.report import screen

    show = screen.show_packs if packs else screen.show_size
    show(load(build), as_json)
