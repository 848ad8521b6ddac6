"""`tune --wish`, `--front`, `--pick` on the command line; what is searched is a formula here."""

import json
from collections.abc import Callable
from functools import partial
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pytest

from diodewright import cli
from diodewright.build import Build, load
from diodewright.rehearse import Rehearsal
from diodewright.tune import job as jobs
from diodewright.tune.choice import STAGES, Choice, Look, Problem, Row
from diodewright.tune.verified import Verified

Ended = tuple[int, str, str]
Tune = Callable[..., Ended]
_KEPT = Path(__file__).parents[1] / "report" / "smoke_tunnel.json"
_SHIPPED = Path(cli.__file__).parents[1] / "examples" / "smoke_tunnel.toml"


class _Formula:
    """Light rises with the mount's warm threshold, up to 50 degC; minutes fall with it."""

    left = -1

    def __init__(self, problem: Problem, context: object, beside: tuple[Any, ...] = ()) -> None:
        self.problem, self.beside = problem, dict(beside)

    def __call__(self, choice: Choice, depth: str) -> Look:
        _Formula.left -= 1
        if _Formula.left == 0:
            raise KeyboardInterrupt
        at = {dial.path: value for dial, value in zip(self.problem.dials, choice, strict=True)}
        warm_degC = at["limits.mount_warm_degC"]
        sink = 0.02 * (5.0 - float(self.beside.get("heat.sink_air_K_W", 5.0)))
        light_W = 0.8 + 0.01 * (warm_degC - 46) + sink
        row = Row(
            "use.touch", 50.0 - warm_degC, 60.0, warm_degC, 50.0, "degC", "hot: all", "sink cool"
        )
        figures = {
            "light_first_minute_W": light_W,
            "light_first_minute_lm": 480 * light_W,
            "pack_min": 200.0 - 2 * (warm_degC - 46),
        }
        return Look(figures if STAGES[depth] > 1 else {}, (row,), STAGES[depth], simulations=1)


def _verified(verdict: str = "HOLDS") -> Verified:
    rehearsal = Rehearsal.from_dict(json.loads(_KEPT.read_text("utf-8")))
    return Verified(verdict, () if verdict == "HOLDS" else ("said why",), rehearsal, (3, 3))


@pytest.fixture
def judged(monkeypatch: pytest.MonkeyPatch) -> list[Build]:
    """Put the formula and a judge who lets everything pass in place; return what he heard."""
    heard: list[Build] = []

    def verify(build: Build, *_: object) -> Verified:
        heard.append(build)
        return _verified()

    monkeypatch.setattr(jobs, "BuildWork", _Formula)
    monkeypatch.setattr(jobs, "context_of", lambda *_: SimpleNamespace(engine=None))
    monkeypatch.setattr(jobs, "verify", verify)
    monkeypatch.setattr(_Formula, "left", -1)
    return heard


@pytest.fixture
def tune(monkeypatch: pytest.MonkeyPatch, here: Tune, tmp_path: Path) -> Tune:
    """Return a function that runs `tune` in a folder with ``lamp.toml`` in it."""
    monkeypatch.chdir(tmp_path)
    Path("lamp.toml").write_text(_SHIPPED.read_text("utf-8"), "utf-8")
    return partial(here, "tune")


def test_a_wish_is_written_after_its_diff_with_comments_kept_and_the_seed_said(
    tune: Tune, judged: list[Build]
) -> None:
    before = Path("lamp.toml").read_text("utf-8")
    code, out, _ = tune("lamp.toml", "--wish", "first_minute", "--seed", "7", "--write")
    assert code == 0
    after = Path("lamp.toml").read_text("utf-8")
    assert Path("lamp.toml.before-1").read_text("utf-8") == before
    (line,) = [row for row in after.splitlines() if row.startswith("mount_warm_degC")]
    assert load("lamp.toml").limits.mount_warm_degC == pytest.approx(50.0, abs=0.11)
    assert "cutback begins" in line
    assert "tuned for first_minute (diodewright tune, seed 7)" in line
    assert f"+{line}" in out
    # nothing else is another line than before
    changed = set(after.splitlines()) - set(before.splitlines())
    assert changed == {line}
    assert [build.limits.mount_warm_degC for build in judged] == [
        load("lamp.toml").limits.mount_warm_degC
    ]


def test_a_touch_temperature_that_was_asked_for_is_written_with_what_was_judged_by_it(
    tune: Tune, judged: list[Build]
) -> None:
    assert load("lamp.toml").heat.sink_touch_max_degC == 60.0
    words = ("lamp.toml", "--wish", "first_minute", "--touch-degC", "55", "--write")
    assert tune(*words)[0] == 0
    assert load("lamp.toml").heat.sink_touch_max_degC == 55.0
    assert judged[0].heat.sink_touch_max_degC == 55.0


def test_without_a_wish_one_is_assumed_and_told_and_nothing_is_written(
    tune: Tune, judged: list[Build]
) -> None:
    before = Path("lamp.toml").read_text("utf-8")
    code, out, _ = tune("lamp.toml")
    assert code == 0
    assert "first_minute is assumed, and nothing is written" in out
    assert "closed-loop simulations" in out
    assert Path("lamp.toml").read_text("utf-8") == before
    code, _, err = tune("lamp.toml", "--write")
    assert code == 2
    assert "say --wish" in err


def test_without_write_the_diff_is_told_and_the_file_stays(tune: Tune, judged: list[Build]) -> None:
    before = Path("lamp.toml").read_text("utf-8")
    code, out, _ = tune("lamp.toml", "--wish", "first_minute")
    assert code == 0
    assert "-mount_warm_degC = 46" in out
    assert Path("lamp.toml").read_text("utf-8") == before


def test_what_the_judges_do_not_let_pass_is_not_written(
    tune: Tune, judged: list[Build], monkeypatch: pytest.MonkeyPatch
) -> None:
    before = Path("lamp.toml").read_text("utf-8")
    for verdict, exit_code in (("FAILS", 1), ("INCOMPLETE", 3)):
        monkeypatch.setattr(jobs, "verify", lambda *_, said=verdict: _verified(said))
        code, out, _ = tune("lamp.toml", "--wish", "first_minute", "--write")
        assert code == exit_code
        assert verdict in out and "said why" in out
        assert Path("lamp.toml").read_text("utf-8") == before


def test_what_binds_is_told_with_its_corner_and_its_price_in_lumens(
    tune: Tune, judged: list[Build]
) -> None:
    code, out, _ = tune("lamp.toml", "--wish", "first_minute", "--json")
    told = json.loads(out)
    assert code == 0
    (price,) = told["binds"]
    assert (price["id"], price["where"], price["unit"]) == ("use.touch", "hot: all", "degC")
    assert price["gains_a_unit"] == pytest.approx(0.01, rel=0.01)
    (sink,) = [row for row in told["parts"] if row["path"] == "heat.sink_air_K_W"]
    assert sink["gains"] == pytest.approx(0.02 * 0.5, rel=0.01)
    _, out, _ = tune("lamp.toml", "--wish", "first_minute")
    assert "+0.01 W (+4.8 lm)" in " ".join(out.split())


def test_a_stopped_search_keeps_its_best_and_says_how_to_go_on(
    tune: Tune, judged: list[Build], monkeypatch: pytest.MonkeyPatch
) -> None:
    _, whole, _ = tune("lamp.toml", "--wish", "first_minute", "--json")
    monkeypatch.setattr(_Formula, "left", 70)
    code, out, err = tune("lamp.toml", "--wish", "first_minute")
    assert code == 130 and not out
    assert "best so far light_first_minute_W" in err
    line = err.splitlines()[-1].split()
    assert line[:3] == ["diodewright", "tune", "lamp.toml"]
    monkeypatch.setattr(_Formula, "left", -1)
    code, again, _ = tune(*line[2:], "--json")
    assert code == 0
    assert json.loads(again) == json.loads(whole)


def test_a_front_has_figure_and_document_and_a_point_of_it_is_picked_by_name(
    tune: Tune, judged: list[Build]
) -> None:
    code, out, _ = tune("lamp.toml", "--wish", "first_minute", "--front", "minutes", "--out", "f")
    assert code == 0
    assert "front-01" in out
    held = json.loads(Path("f/front.json").read_text("utf-8"))
    assert len(held["points"]) >= 20
    assert "<svg" in Path("f/front.svg").read_text("utf-8")
    assert not judged  # the judges hear the one that is picked
    point = held["points"][9]
    code, out, _ = tune("lamp.toml", "--pick", point["name"], "--out", "f", "--write")
    assert code == 0
    wanted = point["values"]["limits.mount_warm_degC"]
    assert load("lamp.toml").limits.mount_warm_degC == pytest.approx(wanted)
    assert len(judged) == 1
    # the file is another build now
    code, _, err = tune("lamp.toml", "--pick", point["name"], "--out", "f")
    assert code == 2 and "another build" in err


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("--front", "minutes"), "say --wish as well"),
        (("--wish", "minutes", "--front", "minutes"), "are the same"),
        (("--pick", "front-01"), "say its folder with --out"),
        (("--pick", "front-01", "--out", "none"), "no front there"),
        (("--wish", "minutes", "--front", "gentle", "--write"), "--pick one of its settings"),
        (("--wish", "minutes", "--set", "mount_warm_degC=45"), "goes without --set"),
        (("--wish", "minutes", "--also", "no_such_key"), "no_such_key"),
        (("--wish", "minutes", "--resume", "lamp.toml"), "not what a search keeps"),
        (("--wish", "minutes", "--touch-degC", "20"), "touch"),
    ],
)
def test_a_mistake_is_told_and_exits_2(
    tune: Tune, judged: list[Build], words: tuple[str, ...], said: str
) -> None:
    code, out, err = tune("lamp.toml", *words)
    assert code == 2 and not out
    assert said in err and "Traceback" not in err
