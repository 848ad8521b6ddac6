"""A simulated board with the real firmware, flashed for a shipped build."""

import shutil
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from diodewright.build import load
from diodewright.sim import compiled
from diodewright.twin import Twin
from diodewright.twin.child import firmware_folder
from diodewright.twin.provision import provision
from marked import Edits, Marked
from serving import needs_micropython
from yielding import yielding_firmware

Board = Callable[..., Twin]


@pytest.fixture(scope="session")
def images(tmp_path_factory: pytest.TempPathFactory) -> Callable[[str], Path]:
    """Return a flash image for a build, made once."""
    needs_micropython()
    folder = tmp_path_factory.mktemp("images")

    def image(name: str) -> Path:
        path = folder / f"{name}.img"
        if not path.exists():
            provision(load(name), path)
        return path

    return image


@pytest.fixture
def board(images: Callable[[str], Path], tmp_path: Path) -> Iterator[Board]:
    """Return a maker of boards at power-on; all of them end with the test."""
    made: list[Twin] = []

    def make(name: str = "gel_viewer", fresh: bool = True, **values: object) -> Twin:
        folder = tmp_path / name
        if fresh or not folder.exists():
            folder.mkdir(exist_ok=True)
            shutil.copyfile(images(name), folder / "flash.img")
        twin = Twin(load(name), compiled(), folder, **values)
        made.append(twin)
        return twin

    yield make
    for twin in made:
        twin.close()


@pytest.fixture
def edited(tmp_path: Path) -> Callable[[str, str, str], Path]:
    """Return a maker of firmware folders in which one place of one file is another."""

    def edit(name: str, old: str, new: str) -> Path:
        folder = tmp_path / "firmware"
        if not folder.exists():
            shutil.copytree(firmware_folder(), folder)
        path = folder / "diodedriver" / name
        text = path.read_text()
        assert text.count(old) == 1, f"{name} has this {text.count(old)} times: {old}"
        path.write_text(text.replace(old, new))
        return folder

    return edit


@pytest.fixture
def yielding(images: Callable[[str], Path], tmp_path: Path) -> Iterator[Callable[..., Marked]]:
    """Return a maker of boards whose firmware lets ticks come between any two statements."""
    made: list[Marked] = []

    def make(seed: int, edits: Edits = (), name: str = "cave_lamp", **values: object) -> Marked:
        folder = tmp_path / str(len(made))
        folder.mkdir()
        shutil.copyfile(images(name), folder / "flash.img")
        source = shutil.copytree(firmware_folder(), folder / "source")
        for file, old, new in edits:
            path = source / "diodedriver" / file
            text = path.read_text()
            assert text.count(old) == 1, f"{file} has this {text.count(old)} times: {old}"
            path.write_text(text.replace(old, new))
        firmware = yielding_firmware(folder / "yields", seed, source=source, **values)
        made.append(Marked(folder, firmware, seed, name))
        return made[-1]

    yield make
    for twin in made:
        twin.close()
