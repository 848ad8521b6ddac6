"""Put a build onto a board: `flash`."""

import sys
from pathlib import Path

import click

from diodewright.cli.options import BUILD, FILE, FOLDER, JSON

__all__ = ["flash"]


@click.command()
@BUILD
@JSON
@click.option("--port", "ports", multiple=True, help="Serial port; needed where two boards are.")
@click.option(
    "--rehearsal",
    type=FILE,
    help="Document of the rehearsal that holds; else NAME_rehearsal/rehearsal.json here.",
)
@click.option(
    "--despite",
    multiple=True,
    metavar="FINDING",
    help="Flash although this finding fails; board, journal and card then carry it.",
)
@click.option("--check", is_flag=True, help="Only say what differs; the board restarts, unchanged.")
@click.option("--batch", is_flag=True, help="All boards that are here, or every --port.")
@click.option("--log", type=FILE, help="CSV to which a line for each unit is added.")
@click.option("--out", type=FOLDER, help="Folder for each unit's as-built record and card.")
def flash(
    build: str,
    as_json: bool,
    ports: tuple[str, ...],
    rehearsal: Path | None,
    despite: tuple[str, ...],
    check: bool,
    batch: bool,
    log: Path | None,
    out: Path | None,
) -> None:
    """Put firmware and settings of a rehearsed build onto a board, dark until the last step.

    Exit codes: 0 flashed and its self-test passed (with --check: nothing differs), 1 no rehearsal
    that holds, the self-test failed, or something differs, 2 bad input or port, 3 INCOMPLETE: the
    self-test waits, or the extra `bench` is missing.
    """
    from diodewright.build import load
    from diodewright.report import screen

    if check and (batch or log or out):
        raise click.UsageError("--check writes nothing: not with --batch, --log or --out")
    loaded = load(build)
    if check:
        sys.exit(screen.show_flash_check(loaded, ports, rehearsal, despite, as_json))
    shop = screen.Shop(log, out, batch)
    sys.exit(screen.show_flash(loaded, ports, rehearsal, despite, shop, as_json))
