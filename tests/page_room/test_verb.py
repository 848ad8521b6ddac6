"""`page` on the command line: what it prints, refuses and warns of."""

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from diodewright.bench import BenchError
from diodewright.build import load
from diodewright.page import PageError
from diodewright.page import opening as opening_
from diodewright.page.opening import Wanted, show_page, source_of
from diodewright.page.serving import Place


@pytest.fixture
def printed(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> Callable[[Wanted, Place], str]:
    def show(wanted: Wanted, at: Place) -> str:
        monkeypatch.setattr(opening_, "serve", lambda app, at, ready: ready())
        show_page(wanted, at, opens=False)
        return capsys.readouterr().out

    return show


def test_the_address_comes_first_and_beyond_this_machine_it_warns(
    printed: Callable[..., str],
) -> None:
    wanted = Wanted(load("gel_viewer"), "gel_viewer")
    unused: Any = None
    here = printed(wanted, Place(unused, "127.0.0.1", 8080, "secret"))
    assert here.splitlines()[0] == "page http://127.0.0.1:8080/secret/"
    assert "warning" not in here
    beyond = printed(wanted, Place(unused, "192.0.2.7", 8080, "secret"))
    assert "warning" in beyond
    assert "unencrypted" in beyond


def test_a_recording_or_a_kept_run_that_is_none_is_told(tmp_path: Path) -> None:
    build = load("gel_viewer")
    wrong = tmp_path / "run.json"
    with pytest.raises(PageError, match=r"run\.json"):
        source_of(Wanted(build, "gel_viewer", replay=wrong))
    wrong.write_text('{"format": 1}')
    with pytest.raises(PageError, match="no kept run"):
        source_of(Wanted(build, "gel_viewer", replay=wrong))
    with pytest.raises(BenchError, match="no such file"):
        source_of(Wanted(build, "gel_viewer", record=tmp_path / "none.npz"))
    with pytest.raises(BenchError, match="no such port"):
        source_of(Wanted(build, "gel_viewer", board=str(tmp_path / "port")))
