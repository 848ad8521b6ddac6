"""How the command line ends: exit codes, and what a mistake, a closed pipe or a full disk says."""

import errno
import os
import signal
import sys

import click

__all__ = ["ended"]

EXIT_FAILS = 1
EXIT_BAD_INPUT = 2
EXIT_INCOMPLETE = 3
EXIT_INTERNAL = 70
EXIT_INTERRUPTED = 130
#: What the system says where a disk, a quota or a limit is full.
NOT_STORED = {errno.ENOSPC, errno.EDQUOT, errno.EFBIG, errno.EROFS, errno.EIO}


def _refusals() -> tuple[type[Exception], ...]:
    """Return the exceptions that are a user's mistake: their text is the message."""
    from diodewright.bench import BenchError
    from diodewright.build import BuildErrors
    from diodewright.derive import DerivedError
    from diodewright.page import PageError
    from diodewright.prove import Refused, UnknownObligation
    from diodewright.rehearse import UnknownCase
    from diodewright.report.files import CannotWrite
    from diodewright.report.reading import BadDocument
    from diodewright.tune.problems import TuneError
    from diodewright.twin import BadRecording

    return (
        BadRecording,
        BenchError,
        BuildErrors,
        DerivedError,
        BadDocument,
        CannotWrite,
        PageError,
        Refused,
        TuneError,
        UnknownCase,
        UnknownObligation,
    )


def ended(verbs: click.Group) -> int:
    """Run `verbs` on the command line's words and return the exit code."""
    _prepare()
    code = _outcome(verbs)
    try:
        sys.stdout.flush()
    except OSError as error:
        code = _unwritten(error)
    return code


def _prepare() -> None:
    """Make the ends of a pipe and of a line ordinary events.

    A reader that goes away (``| head -1``) ends the process as it ends any other, by SIGPIPE: no
    exit code of ours may then pass for a verdict. A closed output is written to nowhere. A
    character that the terminal lacks becomes a mark.
    """
    signal.signal(signal.SIGPIPE, signal.SIG_DFL)
    # opened before anything else is, so that no file of ours takes the place of a closed output
    sys.stdout = sys.stdout or open(os.devnull, "w", encoding="utf-8")  # noqa: PTH123, SIM115
    sys.stderr = sys.stderr or open(os.devnull, "w", encoding="utf-8")  # noqa: PTH123, SIM115
    for stream in (sys.stdout, sys.stderr):
        stream.reconfigure(errors="replace")  # type: ignore[union-attr]


def _outcome(verbs: click.Group) -> int:
    """Run a verb and return the exit code."""
    try:
        verbs(standalone_mode=False)
    except SystemExit as end:
        return end.code if isinstance(end.code, int) else EXIT_INTERNAL
    except (click.exceptions.Abort, KeyboardInterrupt):
        return EXIT_INTERRUPTED
    except click.ClickException as error:
        error.show()
        return EXIT_BAD_INPUT
    except Exception as error:  # noqa: BLE001 the last line of defence: classify, never swallow
        return _classified(error)
    return 0


def _classified(error: Exception) -> int:
    from diodewright.bench import NotGrounded
    from diodewright.build.extras import Missing
    from diodewright.prove import Unprovable
    from diodewright.report.pdf import NoPdf
    from diodewright.sim import EngineError
    from diodewright.twin import Absent

    if isinstance(error, _refusals()):
        click.echo(str(error), err=True)
        return EXIT_BAD_INPUT
    if isinstance(error, NotGrounded):
        click.echo(f"FAILS: {error}", err=True)
        return EXIT_FAILS
    if isinstance(error, EngineError | Unprovable | Absent | NoPdf | Missing):
        click.echo(f"INCOMPLETE: {error}", err=True)
        return EXIT_INCOMPLETE
    if isinstance(error, OSError) and error.errno in NOT_STORED:
        return _unwritten(error)
    import traceback

    traceback.print_exc()
    click.echo("internal error: this is a fault of diodewright, not of your build", err=True)
    return EXIT_INTERNAL


def _unwritten(error: OSError) -> int:
    """Say that the output or a file of the engine could not be stored."""
    with open(os.devnull, "wb") as nowhere:  # noqa: PTH123
        # what is still held back would fail once more as Python ends
        os.dup2(nowhere.fileno(), sys.stdout.fileno())
    click.echo(f"{error.filename or 'the output'}: can't be written: {error.strerror}", err=True)
    return EXIT_BAD_INPUT
