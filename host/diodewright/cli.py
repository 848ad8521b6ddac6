"""The command line: verbs in the order of the work, no logic.

Exit codes: 0 HOLDS, 1 FAILS, 2 bad input, 3 INCOMPLETE, 70 internal error. Heavy imports stand
inside the verbs, so that help is quick.
"""

import sys
from pathlib import Path
from typing import Any

import click

from diodewright.cli_end import ended
from diodewright.report import completion

__all__ = ["main"]


BUILD = click.argument("build", shell_complete=completion.builds)
JSON = click.option("--json", "as_json", is_flag=True, help="Print one JSON document instead.")
SEED = click.option("--seed", default=1, show_default=True, type=click.IntRange(1, 2**31 - 1))


class _Place(click.Path):
    """A folder or file to write to; an empty name is a shell variable without a value."""

    def __init__(self, what: str, mend: str = "") -> None:
        super().__init__(file_okay=what == "file", dir_okay=what == "folder", path_type=Path)
        self.what, self.mend = what, mend

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> Path:
        """Return the path; whether it can be made is found out where it is."""
        if value == "":
            self.fail(f"names no {self.what}{self.mend}", param, ctx)
        return Path(value)


FOLDER = _Place("folder", "; write . for this one")
FILE = _Place("file")


class _InOrder(click.Group):
    """Lists verbs in the order in which they are defined: the order of the work."""

    def list_commands(self, ctx: click.Context) -> list[str]:
        return list(self.commands)


@click.group(cls=_InOrder, context_settings={"help_option_names": ["-h", "--help"]})
@click.version_option(package_name="diodewright")
def verbs() -> None:
    """Build a battery-powered light source around a diode that is easy to kill.

    BUILD is a build file (a path, or anything ending in .toml) or the name of a shipped example.
    """


@verbs.command()
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


@verbs.command()
@click.argument("which", required=False)
@JSON
def parts(which: str | None, as_json: bool) -> None:
    """List the generic parts that a build file may name.

    WHICH shows one part with all its values, or checks and lists a file of your own parts.
    """
    from diodewright.report import screen

    screen.show_parts(as_json, which)


@verbs.command()
@BUILD
@JSON
@click.option("--packs", is_flag=True, help="The same load on usual packs instead, side by side.")
def size(build: str, as_json: bool, packs: bool) -> None:
    """Say what the build draws, gives and endures."""
    from diodewright.build import load
    from diodewright.report import screen

    show = screen.show_packs if packs else screen.show_size
    show(load(build), as_json)


@verbs.command()
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


@verbs.command()
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


@verbs.command()
@click.argument("build", required=False, shell_complete=completion.builds)
@JSON
@click.option("--out", type=FOLDER, default=Path(), help="Folder for cases.")
@click.option("--only", multiple=True, metavar="ID", help="Only this obligation: INCOMPLETE.")
def prove(build: str | None, as_json: bool, out: Path, only: tuple[str, ...]) -> None:
    """Prove the law for all settings that a board accepts; with BUILD for its own as well."""
    from diodewright.build import load
    from diodewright.report import screen

    sys.exit(screen.show_proof(load(build) if build else None, out, as_json, only))


@verbs.command()
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


@verbs.command()
@JSON
def faults(as_json: bool) -> None:
    """List the catalogue of faults and the moments at which they strike."""
    from diodewright.report import screen

    screen.show_faults(as_json)


@verbs.command()
@click.argument("document", type=click.Path(path_type=Path), shell_complete=completion.documents)
@click.option("--out", type=FOLDER, required=True, help="Folder to write to.")
@click.option("--pdf", is_flag=True, help="The page as PDF too, by a Chromium; none: INCOMPLETE.")
def report(document: Path, out: Path, pdf: bool) -> None:
    """Make page, card and label from a document that `rehearse --json` printed."""
    from diodewright.report.files import write_report
    from diodewright.report.pdf import write_pdf
    from diodewright.report.reading import read_document

    page = write_report(read_document(document), out)
    click.echo(str(page))
    if pdf:
        click.echo(str(write_pdf(page)))


@verbs.command()
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
    sys.exit(screen.show_twin(loaded, seed, charge_pct, speed, for_s, out))


@verbs.command()
@click.argument("a", shell_complete=completion.builds_and_documents)
@click.argument("b", shell_complete=completion.builds_and_documents)
@JSON
def diff(a: str, b: str, as_json: bool) -> None:
    """Say what moved between two builds, or between two results.

    A and B are two builds (files or shipped examples), or two documents that `rehearse --json`
    printed or a report keeps; never one of each. Exit codes: 0 nothing moved, 1 something moved,
    2 bad input.
    """
    from diodewright.report import screen

    sys.exit(screen.show_diff(a, b, as_json))


@verbs.command()
@SEED
@click.option("--out", type=FOLDER, default=Path("smoke_tunnel_rehearsal"))
def demo(seed: int, out: Path) -> None:
    """Rehearse the shipped example smoke_tunnel into a folder."""
    sys.exit(_rehearse("smoke_tunnel", False, seed, None, out))


def main() -> None:
    """Run the command line; a user's mistake is one message and exit 2, never a traceback."""
    sys.exit(ended(verbs))


if __name__ == "__main__":
    main()
