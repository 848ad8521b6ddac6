"""A flash image as flashing leaves it: settings of a build, bound to one unit."""

import subprocess
import tempfile
from importlib import resources
from pathlib import Path

from diodedriver import settings as slots
from diodewright.build import Build
from diodewright.derive import settings
from diodewright.twin.child import FLASH_BLOCKS, blank_flash, micropython_path
from diodewright.twin.chip import UNIT

__all__ = ["provision", "put_files"]


def put_files(flash: Path, files: dict[str, bytes]) -> None:
    """Write `files` (name to content) onto the flash image, by MicroPython's own littlefs.

    A name may begin with one folder, which is made where it is missing.

    Raises
    ------
    Absent
        No MicroPython here.
    """
    script = resources.files("diodewright.twin").joinpath("shim/provision.py")
    with tempfile.TemporaryDirectory(prefix="flash-") as folder:
        command = [micropython_path(), str(script), str(flash), str(FLASH_BLOCKS)]
        for number, (name, content) in enumerate(files.items()):
            source = Path(folder) / str(number)
            source.write_bytes(content)
            command += [name, str(source)]
        subprocess.run(command, check=True, capture_output=True)


def provision(build: Build, flash: Path, unit: str = UNIT) -> None:
    """Make `flash` the image of a board that was flashed for `build`."""
    blank_flash(flash)
    record = slots.pack(settings(build), unit, build.fingerprint[:16], "twin", 1)
    put_files(flash, {"settings.0": record, "settings.1": record})
