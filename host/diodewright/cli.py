"""The command line: verbs in the order of the work, no logic.

Exit codes: 0 HOLDS, 1 FAILS, 2 bad input, 3 INCOMPLETE, 70 internal error. Heavy imports stand
inside the verbs, so that help is quick.
"""

import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

import click

__all__ = ["main"]

EXIT_BAD_INPUT = 2
EXIT_INCOMPLETE = 3
EXIT_INTERNAL = 70

BUILD = click.argument("build")
JSON = click.option("--json", "as_json", is_flag=True, help="Print one JSON document instead.")
SEED = click.option("--seed", default=1, show_default=True, type=click.IntRange(1, 2**31 - 1))


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
def new(name: str, write: bool) -> None:
    """Print a commented build file to start from."""
    from diodewright.build import template, write_whole

    text = template(name)
    if not write:
        click.echo(text, nl=False)
        return
    write_whole(Path(f"{name}.toml"), text)
    click.echo(f"{name}.toml written; next: diodewright size {name}.toml")


@verbs.command()
@JSON
def parts(as_json: bool) -> None:
    """List the generic parts that a build file may name."""
    from diodewright.report import screen

    screen.show_parts(as_json)


@verbs.command()
@BUILD
@JSON
def size(build: str, as_json: bool) -> None:
    """Say what the build draws, gives and endures."""
    from diodewright.build import load
    from diodewright.report import screen

    screen.show_size(load(build), as_json)


@verbs.command()
@BUILD
@JSON
@SEED
@click.option(
    "--only", type=click.Choice(["use", "faults", "proof"]), help="Only one part: INCOMPLETE."
)
@click.option("--out", type=click.Path(path_type=Path), help="Folder for report and document.")
def rehearse(build: str, as_json: bool, seed: int, only: str | None, out: Path | None) -> None:
    """Size, use and every fault, judged: one verdict. This is the main job."""
    sys.exit(_rehearse(build, as_json, seed, only, out))


def _rehearse(build: str, as_json: bool, seed: int, only: str | None, out: Path | None) -> int:
    from diodewright.build import load
    from diodewright.derive import settings
    from diodewright.rehearse import VERDICTS, rehearse
    from diodewright.report import screen
    from diodewright.report.files import make_folder, write_report

    loaded = load(build)
    settings(loaded)  # what the board would refuse is refused before a folder is made
    if out:
        make_folder(out)
    with screen.progress() as say:
        done = rehearse(loaded, seed, only, say)
    written = write_report(done, out) if out else None
    if as_json:
        click.echo(done.as_json(), nl=False)
    else:
        screen.show_rehearsal(done, build, written)
    return VERDICTS[done.verdict]


@verbs.command()
@BUILD
@click.argument("case_id", metavar="FAULT@MOMENT")
@JSON
@SEED
@click.option("--out", type=click.Path(path_type=Path), default=Path(), help="Folder to write to.")
def case(build: str, case_id: str, as_json: bool, seed: int, out: Path) -> None:
    """Run one fault case again and write its Trace and figure."""
    from diodewright.build import load
    from diodewright.report import screen

    sys.exit(screen.show_case(load(build), case_id, seed, out, as_json))


@verbs.command()
@click.argument("build", required=False)
@JSON
@click.option("--out", type=click.Path(path_type=Path), default=Path(), help="Folder for cases.")
@click.option("--only", multiple=True, metavar="ID", help="Only this obligation: INCOMPLETE.")
def prove(build: str | None, as_json: bool, out: Path, only: tuple[str, ...]) -> None:
    """Prove the law for all settings that a board accepts; with BUILD for its own as well."""
    from diodewright.build import load
    from diodewright.report import screen

    sys.exit(screen.show_proof(load(build) if build else None, out, as_json, only))


@verbs.command()
@JSON
def faults(as_json: bool) -> None:
    """List the catalogue of faults and the moments at which they strike."""
    from diodewright.report import screen

    screen.show_faults(as_json)


@verbs.command()
@click.argument("document", type=click.Path(path_type=Path))
@click.option("--out", type=click.Path(path_type=Path), required=True, help="Folder to write to.")
def report(document: Path, out: Path) -> None:
    """Make the report page again from a document that `rehearse --json` printed."""
    from diodewright.report.files import read_document, write_report

    click.echo(str(write_report(read_document(document), out)))


@verbs.command()
@SEED
@click.option("--out", type=click.Path(path_type=Path), default=Path("smoke_tunnel_rehearsal"))
def demo(seed: int, out: Path) -> None:
    """Rehearse the shipped example smoke_tunnel into a folder."""
    sys.exit(_rehearse("smoke_tunnel", False, seed, None, out))


def _refusals() -> tuple[type[Exception], ...]:
    """Return the exceptions that are a user's mistake: their text is the message."""
    from diodewright.build import BuildErrors
    from diodewright.derive import DerivedError
    from diodewright.prove import Refused, UnknownObligation
    from diodewright.rehearse import UnknownCase
    from diodewright.report.files import BadDocument, CannotWrite

    return (
        BuildErrors,
        DerivedError,
        BadDocument,
        CannotWrite,
        Refused,
        UnknownCase,
        UnknownObligation,
    )


def main(run: Callable[..., Any] = verbs) -> None:
    """Run the command line; a user's mistake is one message and exit 2, never a traceback."""
    try:
        run(standalone_mode=False)
    except click.exceptions.Abort:
        sys.exit(130)
    except click.ClickException as error:
        error.show()
        sys.exit(EXIT_BAD_INPUT)
    except Exception as error:  # noqa: BLE001 the last line of defence: classify, never swallow
        from diodewright.prove import Unprovable
        from diodewright.sim import EngineError

        if isinstance(error, _refusals()):
            click.echo(str(error), err=True)
            sys.exit(EXIT_BAD_INPUT)
        if isinstance(error, EngineError | Unprovable):
            click.echo(f"INCOMPLETE: {error}", err=True)
            sys.exit(EXIT_INCOMPLETE)
        import traceback

        traceback.print_exc()
        click.echo("internal error: this is a fault of diodewright, not of your build", err=True)
        sys.exit(EXIT_INTERNAL)


if __name__ == "__main__":
    main()
