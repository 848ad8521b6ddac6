"""Rehearse a build, whole or a part of it."""

import sys
from pathlib import Path
from typing import Any

import click

from diodewright.cli.options import BUILD, FILE, FOLDER, JSON, SEED
from diodewright.report import completion

__all__ = ["case", "demo", "faults", "hazard", "prove", "rehearse"]


@click.command()
@BUILD
@JSON
@SEED
@click.option(
    "--only",
    type=click.Choice(["use", "faults", "margins", "proof"]),
    help="Only one part: INCOMPLETE.",
)
@click.option(
    "--builds",
    type=click.IntRange(1, 100_000),
    help="True builds that the margins draw: 24, or 1000 with --only margins.",
)
@click.option("--out", type=FOLDER, help="Folder for report and document.")
@click.option("--scenario", help="With --only use: your own use, a file or a shipped one's name.")
@click.option("--all", "every", is_flag=True, help="Every phase, mending and pair of the faults.")
@click.option(
    "--without",
    multiple=True,
    type=click.Choice(["comparator", "dynamic-enable", "cutoff-A"]),
    help="Leave a part of the circuit out, to see what it is for: INCOMPLETE at best.",
)
@click.option("--junit", type=FILE, help="File for the findings as JUnit XML, for build servers.")
def rehearse(
    build: str,
    as_json: bool,
    seed: int,
    only: str | None,
    builds: int | None,
    out: Path | None,
    scenario: str | None,
    every: bool,
    without: tuple[str, ...],
    junit: Path | None,
) -> None:
    """Size, use, every fault and margins, judged: one verdict. This is the main job."""
    if scenario is not None and only != "use":
        raise click.UsageError("--scenario goes with --only use")
    if (every or without) and only not in (None, "faults"):
        raise click.UsageError(f"--all and --without are about faults: not with --only {only}")
    if builds is not None and only not in (None, "margins"):
        raise click.UsageError("--builds goes with margins: alone with --only margins, or with all")
    more = {"every": every, "without": without, "builds": builds}
    sys.exit(_rehearse(build, as_json, seed, only, out, scenario, junit, more))


def _rehearse(
    build: str,
    as_json: bool,
    seed: int,
    only: str | None,
    out: Path | None,
    scenario: str | None = None,
    junit: Path | None = None,
    more: dict[str, Any] | None = None,
) -> int:
    from diodewright.build import load
    from diodewright.derive import settings
    from diodewright.rehearse import VERDICTS, read_scenario, rehearse
    from diodewright.report import screen
    from diodewright.report.files import make_folder, write_report
    from diodewright.report.junit import told_as_junit
    from diodewright.report.terminal import print_text

    loaded = load(build)
    settings(loaded)  # what the board would refuse is refused before a folder is made
    own = None if scenario is None else read_scenario(scenario, loaded)
    if out:
        make_folder(out)
    with screen.progress() as say, told_as_junit(junit, build) as tell:
        done = rehearse(loaded, seed, only, say, scenario=own, **(more or {}))
        tell(done)
    written = write_report(done, out) if out else None
    if as_json:
        print_text(done.as_json())
    else:
        screen.show_rehearsal(done, build, written)
    return VERDICTS[done.verdict]


@click.command()
@BUILD
@click.argument("case_id", metavar="FAULT@MOMENT", shell_complete=completion.cases)
@JSON
@SEED
@click.option("--out", type=FOLDER, default=Path(), help="Folder to write to.")
def case(build: str, case_id: str, as_json: bool, seed: int, out: Path) -> None:
    """Run one fault case again and write its Trace and figure."""
    from diodewright.build import load
    from diodewright.report import screen

    sys.exit(screen.show_case(load(build), case_id, seed, out, as_json))


@click.command()
@click.argument("build", required=False, shell_complete=completion.builds)
@JSON
@click.option("--out", type=FOLDER, default=Path(), help="Folder for cases.")
@click.option("--only", multiple=True, metavar="ID", help="Only this obligation: INCOMPLETE.")
def prove(build: str | None, as_json: bool, out: Path, only: tuple[str, ...]) -> None:
    """Prove the law for all settings that a board accepts; with BUILD for its own as well."""
    from diodewright.build import load
    from diodewright.report import screen

    sys.exit(screen.show_proof(load(build) if build else None, out, as_json, only))


@click.command()
@BUILD
@JSON
@SEED
@click.option("--out", type=FOLDER, help="Folder for figure and document.")
def hazard(build: str, as_json: bool, seed: int, out: Path | None) -> None:
    """Say how dangerous the light is to eye and skin, and what that asks of the build.

    Exit codes: 0 all that it asks for and a build file can state is there, 1 something lacks, 2
    bad input, 3 INCOMPLETE: something was not judged.
    """
    from diodewright.build import load
    from diodewright.report import screen

    sys.exit(screen.show_hazard(load(build), seed, out, as_json))


@click.command()
@JSON
def faults(as_json: bool) -> None:
    """List the catalogue of faults and the moments at which they strike."""
    from diodewright.report import screen

    screen.show_faults(as_json)


@click.command()
@SEED
@click.option("--out", type=FOLDER, default=Path("smoke_tunnel_rehearsal"))
def demo(seed: int, out: Path) -> None:
    """Rehearse the shipped example smoke_tunnel into a folder."""
    sys.exit(_rehearse("smoke_tunnel", False, seed, None, out))
