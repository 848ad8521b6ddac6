"""The plugin for pytest: a builder's build files as tests, and lamps for tests of their own.

Two lines in a builder's repository::

    [pytest]
    diodewright_builds = my_lamp.toml

make every part of a rehearsal and every fault case of that build a test item. What takes part in
a simulation is imported where it is first needed: an import here would come before any coverage
is measured, and would cost every test run of a machine that this package is installed on.
"""

from collections.abc import Callable, Generator
from dataclasses import dataclass, field
from difflib import get_close_matches
from fnmatch import fnmatchcase
from importlib.util import find_spec
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest

if TYPE_CHECKING:
    from diodewright.harness.lamp import Lamp, LampRun, Lamps

__all__ = ["fault_case", "lamp"]

_FOLDER = "diodewright_failures"
_LARGEST_SEED = 2**31 - 1
_MARKERS = (
    "diodewright: a part or fault case of a build file",
    'fault_cases(build, like="*"): runs the test with each fault case of the build as `fault_case`;'
    " `like` picks some by a pattern",
)


@dataclass
class _Asked:
    """What was asked of the plugin in this run.

    Attributes
    ----------
    root : what relative paths start from.
    seed : of the sensors' noise.
    failures : folder for figures and Traces.
    builds : place of each build file -> how it was named.
    """

    root: Path
    seed: int
    failures: Path
    builds: dict[Path, str]
    _lamps: "list[Lamps]" = field(default_factory=list)

    @property
    def lamps(self) -> "Lamps":
        """The lamps of this process, made where they are first asked for."""
        if not self._lamps:
            from diodewright.harness.lamp import Lamps

            self._lamps.append(Lamps(self.root, self.seed))
        return self._lamps[0]


_ASKED = pytest.StashKey[_Asked]()
_RUNS = pytest.StashKey["list[tuple[Lamp, LampRun]]"]()


def pytest_addoption(parser: pytest.Parser) -> None:
    """Add the plugin's options and settings."""
    parser.addini(
        "diodewright_builds",
        "build files, from the root folder: each part of a rehearsal and each fault case is a test",
        type="args",
        default=[],
    )
    parser.addini("diodewright_seed", "of the sensors' noise", default="1")
    parser.addini("diodewright_failures", "folder for figures and Traces of failures", default="")
    group = parser.getgroup("diodewright", "fault cases of a build")
    group.addoption("--diodewright-seed", metavar="N", help="seed of the sensors' noise (1)")
    group.addoption(
        "--diodewright-failures",
        metavar="DIR",
        help=f"folder for figures and Traces of failures ({_FOLDER})",
    )


def pytest_configure(config: pytest.Config) -> None:
    """Name the markers."""
    for line in _MARKERS:
        config.addinivalue_line("markers", line)


@pytest.hookimpl(tryfirst=True)
def pytest_sessionstart(session: pytest.Session) -> None:
    """Read what is asked, and make sure that named builds are collected and the engine is there.

    Raises
    ------
    UsageError
        A file that is not there, or no seed.
    """
    config = session.config
    asked = _of(config)
    sources = (config.ArgsSource.TESTPATHS, config.ArgsSource.INVOCATION_DIR)
    if config.args_source in sources and config.invocation_params.dir == asked.root:
        config.args += [str(place) for place in asked.builds]
    starts_workers = bool(config.getoption("numprocesses", default=None))
    if asked.builds and starts_workers and not config.option.collectonly:
        _warm()


def _warm() -> None:
    """Compile before there are workers, which would each compile at once."""
    from diodewright.sim import EngineError, warm

    try:
        warm()
    except EngineError:
        return  # each item says so


def _option(config: pytest.Config, name: str) -> str:
    return str(config.getoption(f"--{name.replace('_', '-')}") or config.getini(name))


def _of(config: pytest.Config) -> _Asked:
    """Return what was asked, read once; also where somebody collects without a session's start."""
    if _ASKED not in config.stash:
        config.stash[_ASKED] = _asked(config)
    return config.stash[_ASKED]


def _asked(config: pytest.Config) -> _Asked:
    root = config.rootpath
    said = _option(config, "diodewright_seed")
    if not said.isdecimal() or not 1 <= int(said) <= _LARGEST_SEED:
        raise pytest.UsageError(
            f"diodewright_seed: {said!r}: not a seed; allowed 1 to {_LARGEST_SEED}"
        )
    builds = {_place(root, name): name for name in config.getini("diodewright_builds")}
    return _Asked(
        root, int(said), root / (_option(config, "diodewright_failures") or _FOLDER), builds
    )


def _place(root: Path, name: str) -> Path:
    place = (root / name).resolve()
    if place.is_file():
        return place
    near = get_close_matches(name, [path.name for path in root.glob("*.toml")], 1)
    mend = f"did you mean {near[0]}?" if near else "`diodewright new NAME --write` writes one"
    raise pytest.UsageError(f"diodewright_builds: {name}: no such file in {root}; {mend}")


def pytest_report_header(config: pytest.Config) -> list[str]:
    """Say with what builds are run, where any are."""
    asked = _of(config)
    if not asked.builds:
        return []
    from diodewright.sim import law_hash

    engine = "numba" if find_spec("numba") else "none: numba is not installed"
    builds = ", ".join(asked.builds.values())
    return [f"diodewright: seed {asked.seed}, law {law_hash()[:12]}, engine {engine}: {builds}"]


def pytest_collect_file(file_path: Path, parent: pytest.Collector) -> pytest.Collector | None:
    """Take the build files that are named."""
    asked = _of(parent.config)
    said = asked.builds.get(file_path.resolve()) if asked.builds else None
    if said is None:
        return None
    from diodewright.harness.items import BuildFile

    return BuildFile.from_parent(
        parent, path=file_path, said=said, lamps=asked.lamps, failures=asked.failures
    )


def _mistakes() -> tuple[type[Exception], ...]:
    from diodewright.build import BuildErrors
    from diodewright.derive import DerivedError

    return (BuildErrors, DerivedError)


def pytest_generate_tests(metafunc: pytest.Metafunc) -> None:
    """Give `fault_case` the cases that the marker ``fault_cases`` asks for."""
    if "fault_case" not in metafunc.fixturenames:
        return
    mark = metafunc.definition.get_closest_marker("fault_cases")
    if mark is None:
        pytest.fail(
            'fault_case: of which build? @pytest.mark.fault_cases("my_lamp.toml")', pytrace=False
        )
    asked = _of(metafunc.config)
    try:
        name, like = _said(*mark.args, **mark.kwargs)
    except TypeError as error:
        pytest.fail(f"fault_cases: {error}", pytrace=False)
    ids = _marked(asked, name, like)
    metafunc.parametrize("fault_case", [(name, each) for each in ids], ids=ids, indirect=True)


def _said(build: str, like: str = "*") -> tuple[str, str]:
    return build, like


def _marked(asked: _Asked, build: str, like: str) -> list[str]:
    from diodewright.harness.lamp import cases_of

    try:
        known = cases_of(asked.lamps.build(build))
    except _mistakes() as error:
        pytest.fail(str(error), pytrace=False)
    ids = [each for each in known if fnmatchcase(each, like)]
    if not ids:
        near = get_close_matches(like, known, 3, 0.4)
        pytest.fail(f"no fault case like {like}; near: {', '.join(near) or 'none'}", pytrace=False)
    return ids


@pytest.fixture
def lamp(request: pytest.FixtureRequest) -> "Callable[[str | Path], Lamp]":
    """Return a function that opens a build: ``lamp("my_lamp.toml").case("diode-open@steady")``.

    Where the test fails, the runs that do not hold (or the last one) are told with it.
    """
    from diodewright.sim import EngineError, compiled

    asked = _of(request.config)
    runs = request.node.stash.setdefault(_RUNS, [])
    try:
        compiled()
    except EngineError as error:
        pytest.fail(f"INCOMPLETE: {error}", pytrace=False)

    def opened(name: str | Path) -> "Lamp":
        try:
            build = asked.lamps.build(name)
        except _mistakes() as error:
            pytest.fail(str(error), pytrace=False)
        found = asked.lamps.lamp(build, lambda run: runs.append((found, run)))
        return found

    return opened


@pytest.fixture
def fault_case(request: pytest.FixtureRequest, lamp: "Callable[[str | Path], Lamp]") -> "LampRun":
    """Return the run of one fault case of the build that the marker ``fault_cases`` names."""
    from diodewright.rehearse import NoHealthyStart

    name, case_id = request.param
    try:
        return lamp(name).case(case_id)
    except NoHealthyStart as error:
        pytest.fail(f"{name}: {case_id}: {error}", pytrace=False)


@pytest.hookimpl(wrapper=True)
def pytest_runtest_makereport(
    item: pytest.Item, call: pytest.CallInfo[None]
) -> "Generator[None, pytest.TestReport, pytest.TestReport]":
    """Add to a failed test the chain of causes of its runs, and keep their figures and Traces."""
    report = yield
    runs = item.stash.get(_RUNS, [])
    if runs and call.when == "call":
        from diodewright.harness.kept import folder_name, forget, told_run

        folder = _of(item.config).failures / folder_name(item.nodeid)
        broken = [each for each in runs if not each[1].holds] or runs[-1:]
        for where, run in broken if report.failed else ():
            report.sections.append((f"diodewright: {run.name}", told_run(where, run, folder)))
        for _, run in () if report.failed else runs:
            forget(folder, run.name)
        runs.clear()  # a Trace takes some megabytes, and pytest keeps items to the end
    return report


def pytest_terminal_summary(terminalreporter: Any) -> None:
    """Say the verdict on each build."""
    from diodewright.harness.summary import verdict_lines

    lines = [*verdict_lines(terminalreporter.stats)]
    if lines:
        terminalreporter.section("diodewright")
        for line in lines:
            terminalreporter.write_line(line)
