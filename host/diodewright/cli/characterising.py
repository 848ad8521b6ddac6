"""Find out what a diode is, without killing it: `characterise`."""

import sys
from pathlib import Path

import click

from diodewright.cli.options import BUILD, FOLDER, JSON

__all__ = ["characterise"]


@click.command()
@BUILD
@JSON
@click.option("--port", help="Serial port of the board, or of the twin.")
@click.option("--meter", help="Light from: typed, csv:FILE, or visa:RESOURCE (SCPI). [typed]")
@click.option("--from", "table", metavar="CSV", help="Judge the table of an old sweep instead.")
@click.option("--incoming", is_flag=True, help="Only: dead, leaky, weak or fine?")
@click.option("--bound", "bound_A", type=click.FloatRange(0.001, 20), help="Highest current [A].")
@click.option("--step", "step_pct", type=click.FloatRange(0.5, 10), help="A step [%].")
@click.option(
    "--stop-slope",
    "stop_slope_pct",
    type=click.FloatRange(40, 95),
    help="Slope that counts as roll-over [% of its highest].",
)
@click.option("--settle", "settle_s", type=click.FloatRange(0.05, 60), help="Before reading [s].")
@click.option("--rest", "rest_s", type=click.FloatRange(0.05, 600), help="Between steps [s].")
@click.option(
    "--meter-error",
    "meter_pct",
    default=5.0,
    show_default=True,
    type=click.FloatRange(0, 50),
    help="What the power meter may be off by [%].",
)
@click.option("--out", type=FOLDER, help="Folder for table, figure and catalogue entry.")
@click.option("--name", help="Name of the catalogue entry.")
def characterise(
    build: str,
    as_json: bool,
    port: str | None,
    meter: str | None,
    table: str | None,
    incoming: bool,
    bound_A: float | None,
    step_pct: float | None,
    stop_slope_pct: float | None,
    settle_s: float | None,
    rest_s: float | None,
    meter_pct: float,
    out: Path | None,
    name: str | None,
) -> None:
    """Find threshold, slope, resistance, roll-over and a current to use, and kill nothing.

    Your hand holds the trigger; steps go up from the start level and end at the first sign of
    roll-over or a kink, or at the bound. Without --port or --from it prints the plan. Exit codes:
    0 found, 1 the diode is none of its class, 2 bad input, 3 INCOMPLETE: ended before an answer.
    """
    from diodewright.build import load
    from diodewright.report import screen

    if table is not None and (port or meter or incoming):
        raise click.UsageError("--from judges a table: without --port, --meter and --incoming")
    asked = screen.Asked(
        build,
        port,
        meter,
        table,
        out,
        name,
        bound_A,
        step_pct,
        stop_slope_pct,
        settle_s,
        rest_s,
        meter_pct,
        as_json,
    )
    show = screen.show_incoming if incoming else screen.show_characterise
    sys.exit(show(load(build), asked))
