"""`tune` on the command line: what it prints, and how it ends."""

import importlib.util
import json
from collections.abc import Callable
from functools import partial

import pytest

Ended = tuple[int, str, str]


@pytest.fixture
def tune(here: Callable[..., Ended]) -> Callable[..., Ended]:
    """Return a function that runs `tune` in this process."""
    return partial(here, "tune")


@pytest.mark.parametrize(
    ("given", "said"),
    [
        ("sink_warm_degC=48", "did you mean mount_warm_degC?"),
        ("mount_warm_degC=480", "out of range; allowed 0 to 200 degC"),
        ("mount_warm_degC=58", "cutback must begin below where it ends"),
        ("mount_warm_degC", "write KEY=VALUE"),
    ],
)
def test_a_mistake_is_one_line_and_exit_2(
    tune: Callable[..., Ended], given: str, said: str
) -> None:
    code, out, err = tune("smoke_tunnel", "--set", given)
    assert code == 2 and not out
    assert said in err and "Traceback" not in err and len(err.splitlines()) == 1


def test_a_choice_is_told_as_change_in_every_figure(tune: Callable[..., Ended]) -> None:
    code, out, _ = tune("smoke_tunnel", "--set", "mount_warm_degC=45", "--json")
    told = json.loads(out)
    assert code == 1 and told["verdict"] == "FAILS"  # 148 s before cutback, 150 asked
    changes = {row["id"]: row for row in told["changes"]}
    assert set(changes) == {row["id"] for row in told["now"]["figures"]}
    cut = changes["before_cutback_s"]
    assert cut["by"] == pytest.approx(cut["chosen"] - cut["now"]) and -25 < cut["by"] < -10
    failed = [row["id"] for row in told["chosen"]["constraints"] if not row["holds"]]
    assert failed == ["use.before-cutback"]
    assert told["now"]["holds"]


def test_a_choice_that_holds_ends_with_0_and_says_what_comes_next(
    tune: Callable[..., Ended],
) -> None:
    code, out, _ = tune("cave_lamp", "--set", "soft_start_ms=1000")
    assert code == 0 and out.startswith("HOLDS  cave_lamp with limits.soft_start_ms = 1000")
    assert "diodewright rehearse cave_lamp" in out


def test_loops_of_a_gated_stage_are_none(tune: Callable[..., Ended]) -> None:
    code, out, _ = tune("gel_viewer", "--loops")
    assert code == 0 and "it has no partial current and no loop" in out


def test_without_scipy_loops_are_incomplete_with_the_command(
    tune: Callable[..., Ended], monkeypatch: pytest.MonkeyPatch
) -> None:
    find = importlib.util.find_spec
    monkeypatch.setattr(
        importlib.util, "find_spec", lambda name: None if name == "scipy" else find(name)
    )
    code, out, err = tune("smoke_tunnel", "--loops")
    assert (code, out) == (3, "")
    assert "INCOMPLETE" in err and "pip install 'diodewright[tune]'" in err
