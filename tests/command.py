"""The command line in a process of its own, as a person would run it."""

import os
import subprocess
import sys
from pathlib import Path


def diodewright(*words: str, cwd: Path) -> subprocess.CompletedProcess[str]:
    """Run one verb in the folder `cwd`, 100 columns wide, and return how it ended."""
    return subprocess.run(
        [sys.executable, "-m", "diodewright.cli", *words],
        cwd=cwd,
        capture_output=True,
        text=True,
        timeout=600,
        check=False,
        env=os.environ | {"COLUMNS": "100"},
    )
