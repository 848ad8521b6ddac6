"""The command line: verbs in the order of the work, no logic.

Exit codes: 0 HOLDS, 1 FAILS, 2 bad input, 3 INCOMPLETE, 70 internal error. Heavy imports stand
inside the verbs, so that help is quick.
"""

import sys

import click

from diodewright.cli.calibrating import calibrate, sheet
from diodewright.cli.characterising import characterise
from diodewright.cli.describing import new, parts, size
from diodewright.cli.ending import ended
from diodewright.cli.fitting import burst, compare, fit
from diodewright.cli.flashing import flash
from diodewright.cli.paging import page
from diodewright.cli.rehearsing import case, demo, faults, hazard, prove, rehearse
from diodewright.cli.telling import diff, report
from diodewright.cli.tuning import tune
from diodewright.cli.twinning import twin
from diodewright.cli.watching import watch

__all__ = ["main", "verbs"]

#: The order of the work.
VERBS = (
    new,
    parts,
    size,
    rehearse,
    case,
    prove,
    tune,
    hazard,
    faults,
    report,
    twin,
    sheet,
    flash,
    calibrate,
    characterise,
    watch,
    burst,
    compare,
    fit,
    diff,
    page,
    demo,
)


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


for verb in VERBS:
    verbs.add_command(verb)


def main() -> None:
    """Run the command line; a user's mistake is one message and exit 2, never a traceback."""
    sys.exit(ended(verbs))
