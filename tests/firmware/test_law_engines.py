"""One source, five engines, one answer: every state word after every tick, compared."""

import ast
import subprocess
from collections import Counter
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest

import branches
import engines
import episodes
import replay
import tour
from diodedriver import law, words
from recording import Recorder, Recording, Words

REEL = 25_000  # ticks
FAST_REELS = 40
SLOW_SEEDS = range(4)
LEAST_SHARE = 0.02
LEAST_TIMES = 50


def _run(engine: str, recording: Recording) -> Words:
    try:
        return engines.ENGINES[engine](recording)
    except engines.Absent as absent:
        pytest.skip(str(absent))


def _agree(engine: str, seed: int, recording: Recording, ours: Words) -> None:
    said = engines.difference(recording, _run(engine, recording), ours, seed, engine)
    assert said is None, said


def _causes(states: Words) -> Counter[str]:
    """Return how often each row was a first cause."""
    cause = states[:, words.index(words.STATE, "cause")]
    first = cause[(cause != 0) & (np.concatenate(([0], cause[:-1])) == 0)]
    return Counter(words.FAULTS[row - 1][0] for row in first.tolist())


def _modes(states: Words) -> Counter[str]:
    return Counter(words.MODES[mode][0] for mode in states[:, 0].tolist())


def test_fast_engines_agree_over_a_million_ticks_that_reach_every_mode_and_cause() -> None:
    modes: Counter[str] = Counter()
    causes: Counter[str] = Counter()
    for seed in range(FAST_REELS):
        recording = episodes.record(seed, REEL)
        ours = engines.in_numba(recording)
        _agree("viper", seed, recording, ours)
        modes += _modes(ours)
        causes += _causes(ours)
    ticks = modes.total()
    print(f"{ticks} ticks, modes {dict(modes)}, first causes {dict(causes)}")
    assert ticks >= 1_000_000
    rare = {name: modes[name] for name, _ in words.MODES if modes[name] < LEAST_SHARE * ticks}
    assert not rare
    rare = {row[0]: causes[row[0]] for row in words.FAULTS if causes[row[0]] < LEAST_TIMES}
    assert not rare


@pytest.mark.parametrize("engine", ["cpython", "bytecode", "native", "small_ints"])
def test_slow_engine_agrees_over_a_hundred_thousand_ticks(engine: str) -> None:
    modes: Counter[str] = Counter()
    for seed in SLOW_SEEDS:
        recording = episodes.record(seed, REEL)
        ours = engines.in_numba(recording)
        _agree(engine, seed, recording, ours)
        modes += _modes(ours)
    print(f"{engine}: {modes.total()} ticks, modes {dict(modes)}")
    assert modes.total() >= 100_000
    assert all(modes[name] >= LEAST_SHARE * modes.total() for name, _ in words.MODES)


@pytest.mark.parametrize("engine", ["cpython", "bytecode", "native", "viper"])
def test_64_bit_engines_agree_on_stray_words_up_to_the_ends_of_int32(engine: str) -> None:
    recording = episodes.record(episodes.WIDE_SEED, REEL)
    ours = engines.in_numba(recording)
    strays = recording.pokes[abs(recording.pokes[:, 3].astype(np.int64)) >= 2**30]
    assert len(strays) > 5
    _agree(engine, episodes.WIDE_SEED, recording, ours)


def test_the_tour_takes_every_branch_and_both_answers_of_every_condition() -> None:
    recording = tour.tour()
    missed = branches.outcomes() - branches.taken(recording)
    print(f"{len(branches.outcomes())} answers over {len(recording.raws)} ticks")
    assert missed == branches.IMPOSSIBLE


@pytest.mark.parametrize("engine", engines.ENGINES)
def test_every_engine_takes_the_tour_alike(engine: str) -> None:
    recording = tour.tour()
    _agree(engine, -1, recording, engines.in_numba(recording))


def test_clocks_at_their_end_stay_small_integers() -> None:
    """One more than 2**30 - 1 needs the heap on 32 bits: after 12 days in one mode, say."""
    recorder = Recorder({})
    recorder.tick(40)
    for clock in episodes.CLOCKS:
        recorder.poke(0, clock, words.ONES)
    recorder.tick(5)
    recording = recorder.recording(45)
    ours = engines.in_numba(recording)
    assert ours[-1, words.index(words.STATE, "mode_ticks")] == words.ONES
    _agree("small_ints", 0, recording, ours)


def test_a_disagreement_names_tick_word_inputs_and_how_to_run_it_again() -> None:
    recording = episodes.record(1, 500)
    ours = engines.in_numba(recording)
    theirs = ours.copy()
    theirs[321:, 4] += 1
    said = engines.difference(recording, theirs, ours, 1, "viper")
    assert said is not None
    assert said.startswith(f"seed 1, tick 321: drive is {theirs[321, 4]} in viper")
    assert f"'mux_channel': {recording.raws[321, 3]}" in said
    assert said.endswith("again: python tests/firmware/engines.py 1 321")


@pytest.mark.parametrize("engine", engines.ENGINES)
def test_an_edited_law_differs_on_every_engine(
    engine: str, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    """The comparison sees the law that an engine runs, not another copy of ours."""
    if engine == "numba":
        pytest.skip("the others are compared with it; tests/sim edits the law under it")
    recording = episodes.record(1, 2000)
    ours = engines.in_numba(recording)
    package = tmp_path / "diodedriver"
    package.mkdir()
    for path in Path(law.__file__).parent.glob("*.py"):
        text = path.read_text(encoding="utf-8")
        (package / path.name).write_text(text.replace(">> 12", ">> 11"), encoding="utf-8")
    monkeypatch.setattr(engines, "FIRMWARE", tmp_path)
    monkeypatch.setattr(law.convert, "__code__", _edited_convert().__code__)
    assert (_run(engine, recording) != ours).any()


def _edited_convert() -> Callable[..., int]:
    text = Path(law.__file__).read_text(encoding="utf-8").replace(">> 12", ">> 11")
    names: dict[str, Callable[..., int]] = {}
    exec(compile(text, "edited law", "exec"), names)
    return names["convert"]


def test_recordings_are_laid_out_as_the_words_are() -> None:
    sizes = (2 * len(words.LIMITS), len(words.STATE), len(words.READINGS), len(words.RAW))
    assert sizes == (replay.LIMITS, replay.STATE, replay.READINGS, replay.RAW)


def test_constants_are_compiled_in_not_looked_up(tmp_path: Path) -> None:
    engines.lay_out(tmp_path, "@micropython.viper\n")
    try:
        micropython = engines.micropython()
    except engines.Absent as absent:
        pytest.skip(str(absent))
    done = subprocess.run(
        [micropython, "-c", "from diodedriver import law\nprint(hasattr(law, '_S_MODE'))"],
        env={"MICROPYPATH": str(tmp_path)},
        capture_output=True,
        text=True,
        timeout=60,
        check=True,
    )
    assert hasattr(law, "_S_MODE")
    assert done.stdout.strip() == "False"


def test_every_function_of_the_law_is_viper_and_returns_int() -> None:
    tree = ast.parse(Path(law.__file__).read_text(encoding="utf-8"))
    functions = [node for node in tree.body if isinstance(node, ast.FunctionDef)]
    assert functions
    for node in functions:
        assert [ast.unparse(d) for d in node.decorator_list] == ["micropython.viper"], node.name
        assert ast.unparse(node.returns) == "int", node.name
        assert not any(isinstance(n, ast.Raise | ast.Try | ast.Assert) for n in ast.walk(node))
        assert not any(
            isinstance(n, ast.Constant) and isinstance(n.value, float) for n in ast.walk(node)
        )
