"""The command line in a process of its own, as a person would run it."""

import os
import subprocess
import sys
from pathlib import Path

#: Beyond that it hangs [s]; a front of two wishes takes minutes on two cores that others use too.
_HANGS_S = 1800


def diodewright(*words: str, cwd: Path) -> subprocess.CompletedProcess[str]:
    """Run one verb in the folder `cwd`, 100 columns wide, and return how it ended."""
    return subprocess.run(
        [sys.executable, "-m", "diodewright.cli", *words],
        cwd=cwd,
        capture_output=True,
        text=True,
        timeout=_HANGS_S,
        check=False,
        env=os.environ | {"COLUMNS": "100"},
    )
