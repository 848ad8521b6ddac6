"""Run the firmware itself: `twin`."""

import sys
from pathlib import Path

import click

from diodewright.cli.options import BUILD, FOLDER, SEED

__all__ = ["twin"]


@click.command()
@BUILD
@SEED
@click.option(
    "--charge",
    "charge_pct",
    default=100.0,
    show_default=True,
    type=click.FloatRange(0, 100),
    help="Charge of the pack [%].",
)
@click.option(
    "--speed",
    default=1.0,
    show_default=True,
    type=click.FloatRange(0, 1000),
    help="Simulated over real time; 0: as fast as it goes.",
)
@click.option("--for", "for_s", type=click.FloatRange(0.001, 86_400), help="End after so long [s].")
@click.option("--out", type=FOLDER, help="Folder to keep the session in, for --replay.")
@click.option("--blank", is_flag=True, help="A board with MicroPython alone, for `flash`.")
@click.option(
    "--replay",
    "recording",
    type=click.Path(dir_okay=False, path_type=Path),
    help="Run a kept session again and compare every answer.",
)
def twin(
    build: str,
    seed: int,
    charge_pct: float,
    speed: float,
    for_s: float | None,
    out: Path | None,
    blank: bool,
    recording: Path | None,
) -> None:
    """Run the firmware itself on a simulated board, with a serial port for any program.

    Keys press trigger, key and interlock and inject faults. Exit codes: 0 ended as asked, 1 a
    replay differs, 2 bad input, 3 INCOMPLETE: no MicroPython here.
    """
    from diodewright.build import load
    from diodewright.report import screen

    loaded = load(build)
    if recording is not None:
        sys.exit(screen.replay_twin(loaded, recording))
    sys.exit(screen.show_twin(loaded, seed, charge_pct, speed, for_s, out, blank))
