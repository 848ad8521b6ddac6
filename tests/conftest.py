"""What every test run needs once."""

import pytest


@pytest.hookimpl(tryfirst=True)
def pytest_sessionstart(session: pytest.Session) -> None:
    """Compile the engine before there are workers, which would each compile it at once."""
    starts_workers = bool(session.config.getoption("numprocesses", default=None))
    is_worker = hasattr(session.config, "workerinput")
    if starts_workers and not is_worker and not session.config.option.collectonly:
        from diodewright.sim import warm

        warm()
