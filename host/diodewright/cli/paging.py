"""A live page of a light: `page`."""

from pathlib import Path

import click

from diodewright.cli.options import BUILD, SEED

__all__ = ["page"]

_RECORD = click.Path(dir_okay=False, path_type=Path)


@click.command()
@BUILD
@SEED
@click.option("--port", "board", metavar="PORT", help="Watch the board at this serial port.")
@click.option("--record", type=_RECORD, help="Watch this recording instead.")
@click.option("--replay", type=_RECORD, help="Begin with a run that the page kept (run.json).")
@click.option(
    "--http-port", default=0, type=click.IntRange(0, 65535), help="Default: any free one."
)
@click.option(
    "--bind",
    "address",
    default="127.0.0.1",
    show_default=True,
    help="Another address of this machine, to be reached from others: warns.",
)
@click.option("--open", "opens", is_flag=True, help="Open it in this machine's browser.")
def page(
    build: str,
    seed: int,
    board: str | None,
    record: Path | None,
    replay: Path | None,
    http_port: int,
    address: str,
    opens: bool,
) -> None:
    """Serve a live page: try the light, break its parts, tune it, or watch a board.

    Prints its address, which holds a secret, and serves until Ctrl-C (exit 130). Without --port
    the light is simulated; with --port nothing on the page can light the board. Exit codes: 2 bad
    input, 3 INCOMPLETE: a library is absent.
    """
    if sum(given is not None for given in (board, record, replay)) > 1:
        raise click.UsageError("one of --port, --record and --replay at a time")
    from diodewright.page.serving import needed, place

    needed()
    from diodewright.build import load
    from diodewright.page.opening import Wanted, show_page

    loaded = load(build)
    at = place(address, http_port)
    show_page(Wanted(loaded, build, seed, board, record, replay), at, opens)
