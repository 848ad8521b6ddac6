"""What every test run needs once, and the command line without a new process."""

import sys
from collections.abc import Callable

import pytest


@pytest.hookimpl(tryfirst=True)
def pytest_sessionstart(session: pytest.Session) -> None:
    """Compile the engine before there are workers, which would each compile it at once."""
    starts_workers = bool(session.config.getoption("numprocesses", default=None))
    is_worker = hasattr(session.config, "workerinput")
    if starts_workers and not is_worker and not session.config.option.collectonly:
        from diodewright.sim import warm

        warm()


@pytest.fixture
def here(
    monkeypatch: pytest.MonkeyPatch, capfd: pytest.CaptureFixture[str]
) -> Callable[..., tuple[int, str, str]]:
    """Return a function that runs the command line in this process.

    It returns exit code, standard output and standard error.
    """
    # imported late: what is imported before coverage begins is not measured
    from diodewright import cli
    from diodewright.cli import ending

    def run(*words: str) -> tuple[int, str, str]:
        monkeypatch.setattr(sys, "argv", ["diodewright", *words])
        capfd.readouterr()
        code = ending._outcome(cli.verbs)
        sys.stdout.flush()
        return code, *capfd.readouterr()

    return run
