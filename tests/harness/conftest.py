"""A builder's repository, and pytest run in it with the plugin active."""

import os
from collections.abc import Callable
from pathlib import Path

import pytest

from diodewright.build.source import fetch
from diodewright.harness.kept import keep
from diodewright.harness.lamp import Lamps
from diodewright.sim.engine import cache_root
from edits import Edits, edited_text

#: Runs pytest with these words; `apart` in a process of its own.
Inner = Callable[..., pytest.RunResult]

#: Taken before a test's own home is set: what is compiled there is found from everywhere.
CACHE = cache_root()


@pytest.fixture(scope="session")
def _loaded(tmp_path_factory: pytest.TempPathFactory) -> None:
    """Load all that a run imports, which an inner run in this process would drop again."""
    folder = tmp_path_factory.mktemp("loaded")
    lamps = Lamps(folder, 1)
    lamp = lamps.lamp(lamps.build("smoke_tunnel"))
    keep(lamp, lamp.case("diode-open@steady"), folder)


@pytest.fixture
def repository(pytester: pytest.Pytester) -> Path:
    """Return the repository of a builder: a build file, and two lines."""
    pytester.makefile(".ini", pytest="[pytest]\ndiodewright_builds = my_lamp.toml\n")
    write(pytester.path / "my_lamp.toml", {})
    return pytester.path


def write(path: Path, edits: Edits, example: str = "smoke_tunnel") -> None:
    """Write an example, edited, as a builder's file."""
    named = {"name": f'"{path.stem}"'}
    path.write_text(edited_text(fetch(example)[0], named | dict(edits)), encoding="utf-8")


@pytest.fixture
def inner(pytester: pytest.Pytester, monkeypatch: pytest.MonkeyPatch, _loaded: None) -> Inner:
    """Return what runs pytest in the repository, with the plugin and nobody else's."""
    monkeypatch.setenv("PYTEST_DISABLE_PLUGIN_AUTOLOAD", "1")
    monkeypatch.setenv("DIODEWRIGHT_CACHE", os.fspath(CACHE))
    plugin = ("-p", "diodewright.pytest_plugin", "-p", "no:cacheprovider")

    def run(*words: str, apart: bool = False) -> pytest.RunResult:
        if apart:
            return pytester.runpytest_subprocess(*plugin, *words)
        return pytester.runpytest_inprocess(*plugin, *words)

    return run
