"""Type-check the firmware as MicroPython sees it: its stubs and nothing else of this environment.

The stubs are installed loose among all other packages, where a type checker would take CPython's
libraries for the board's. Hence they are gathered into a folder of their own first.
"""

import os
import shutil
import subprocess
import sys
import tempfile
from importlib.metadata import files
from pathlib import Path

STUBS = ("micropython-rp2-rpi-pico-stubs", "micropython-stdlib-stubs")
CONFIG = Path(__file__).parents[1] / "firmware" / "mypy.ini"


def gather(into: Path) -> None:
    """Copy every file of the stub distributions below `into`."""
    for distribution in STUBS:
        for file in files(distribution) or ():
            if file.suffix == ".pyi" or file.name == "VERSIONS":
                place = into / file
                place.parent.mkdir(parents=True, exist_ok=True)
                shutil.copyfile(str(file.locate()), place)


def main() -> int:
    """Return mypy's exit code."""
    with tempfile.TemporaryDirectory(prefix="stubs-") as folder:
        gather(Path(folder))
        command = [sys.executable, "-m", "mypy", "--config-file", str(CONFIG), *sys.argv[1:]]
        return subprocess.run(
            command, env={**os.environ, "MICROPYTHON_STUBS": folder}, check=False
        ).returncode


if __name__ == "__main__":
    sys.exit(main())
