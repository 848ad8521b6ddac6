"""From a recording to the model and back: `burst`, `compare`, `fit`."""

import sys
from pathlib import Path

import click

from diodewright.cli.options import BUILD, FOLDER, JSON

__all__ = ["burst", "compare", "fit"]

_RECORD = click.argument("record", type=click.Path(path_type=Path))
_WRITE = click.option("--write", is_flag=True, help="Change the build file; the diff comes first.")
_OUT = click.option("--out", type=FOLDER, help="Folder for figure and document.")
_FROM = click.option("--from", "from_s", type=float, help="Only from here on [s].")
_TO = click.option("--to", "to_s", type=float, help="Only up to here [s].")


@click.command()
@BUILD
@click.option("--port", required=True, help="The board's serial port.")
@click.option(
    "--out",
    required=True,
    type=click.Path(dir_okay=False, path_type=Path),
    help="File to write: .npz or .csv.",
)
@click.option(
    "--for",
    "length_s",
    default=6.0,
    show_default=True,
    type=click.FloatRange(0.001, 6.0),
    help="How long [s].",
)
@click.option("--from-mode", default="", help="Begin where the law enters this mode.")
@click.option(
    "--after",
    "after_s",
    default=0.0,
    type=click.FloatRange(0, 3600),
    help="Begin so much later [s].",
)
@click.option(
    "--wait",
    "wait_s",
    default=120.0,
    show_default=True,
    type=click.FloatRange(0.1, 86_400),
    help="Longest wait for that mode, and for the dark in which a burst is fetched [s].",
)
@JSON
def burst(
    build: str,
    port: str,
    out: Path,
    length_s: float,
    from_mode: str,
    after_s: float,
    wait_s: float,
    as_json: bool,
) -> None:
    """Have the board keep every reading of every tick, and fetch them while dark.

    Begin while dark; the hand at the trigger lights, never this program.
    """
    from diodewright.build import load
    from diodewright.report import screen

    sys.exit(
        screen.show_burst(load(build), port, out, length_s, from_mode, after_s, wait_s, as_json)
    )


@click.command()
@BUILD
@_RECORD
@_WRITE
@_OUT
@JSON
@click.option(
    "--band",
    "band_pct",
    default=5.0,
    show_default=True,
    type=click.FloatRange(0.1, 100),
    help="What temperatures and pack may differ by, of what the model itself moves [%].",
)
@click.option(
    "--air",
    "air_degC",
    type=click.FloatRange(-60, 120),
    help="The air while it was recorded [°C], where it does not begin at rest.",
)
@_FROM
@_TO
def compare(
    build: str,
    record: Path,
    write: bool,
    out: Path | None,
    as_json: bool,
    band_pct: float,
    air_degC: float | None,
    from_s: float | None,
    to_s: float | None,
) -> None:
    """Hold a recording against law and model: what differs, and what may be behind it.

    Exit codes: 0 agrees, 1 differs beyond the band, 2 bad input, 3 INCOMPLETE: not judged.
    """
    from diodewright.build import load
    from diodewright.report import screen

    part_s = (from_s, to_s)
    loaded = load(build)
    sys.exit(
        screen.show_against(loaded, record, write, out, as_json, band_pct / 100, air_degC, part_s)
    )


@click.command()
@BUILD
@_RECORD
@click.option(
    "--what",
    required=True,
    type=click.Choice(["thermal", "pack"]),
    help="Heat ladder from a heat-up and cool-down, or pack from a pulse.",
)
@_WRITE
@_OUT
@JSON
@_FROM
@_TO
def fit(
    build: str,
    record: Path,
    what: str,
    write: bool,
    out: Path | None,
    as_json: bool,
    from_s: float | None,
    to_s: float | None,
) -> None:
    """Find heat ladder or pack in a recording, with uncertainty, and suggest build keys."""
    from diodewright.build import load
    from diodewright.report import screen

    sys.exit(screen.show_fit(load(build), record, what, write, out, as_json, (from_s, to_s)))
