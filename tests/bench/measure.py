"""Measure the compiled engine against its judges and write `measured.md` beside this file.

    python tests/bench/measure.py

All figures come from one run on one machine. Times are processor time of the process that does
the work (a busy machine shows less in it than on the clock), the least of several interleaved
rounds; only starts and the second core are taken by the clock. Exit 1 where an engine that models
the same thing disagrees by more than 0.5 %, or C in a single bit.
"""

import os
import platform
import resource
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import llvmlite
import numba
import numpy as np
import scipy

import averaged
import c_engine
import growth
import lsoda
import story
from diodewright.sim import compiled, law_hash, machine, plain

FILE = Path(__file__).with_name("measured.md")
ROUNDS = 7
USE_TICKS = 600_000
#: LSODA and CPython are timed on so many lit ticks, the rest is scaled.
DARK_TICKS = story.lit_from_tick() - story.PRESS_TICK + 100
LIT_TICKS = 1_400
COMPARED_s = 30.0
AGREE = 5e-3
CASES = (1, 10, 100, 1_000, 10_000)
#: So many cases are run on one core and on two, turn by turn.
PAIRED_CASES, PAIRED_ROUNDS = 1_000, 5


@dataclass(frozen=True)
class Row:
    """One engine: what was run, how long it took, what it found."""

    name: str
    ran: str
    simulated_s: float
    cpu_s: float
    found: story.Ran
    against: story.Ran

    def apart(self) -> float:
        """Return by how much its peaks differ from ours."""
        return max(
            abs(self.found.peak_A / self.against.peak_A - 1),
            abs(self.found.junction_degC / self.against.junction_degC - 1),
        )


def _say(text: str) -> None:
    print(text, file=sys.stderr, flush=True)


def _timed(work: Callable[[], story.Ran]) -> tuple[float, story.Ran]:
    begin_s = time.process_time()
    found = work()
    return time.process_time() - begin_s, found


def _child_s() -> float:
    used = resource.getrusage(resource.RUSAGE_CHILDREN)
    return used.ru_utime + used.ru_stime


def _bits(of: machine.Machine) -> bytes:
    return np.asarray(of.x.flat).tobytes() + of.state.tobytes()


def _interleaved(folder: Path) -> tuple[list[Row], bool]:
    """Return the compiled engine and C in two ways, round by round, and whether the bits agree."""
    flags = {
        "C, gcc -O2": (),
        "C, gcc -O3 -march=native": ("-O3", "-march=native"),
    }
    engines = {"compiled (Numba), ours": compiled()}
    if c_engine.compiler():
        for name, more in flags.items():
            (folder / str(len(engines))).mkdir()
            engines[name] = c_engine.in_c(folder / str(len(engines)), *more)
    least = dict.fromkeys(engines, float("inf"))
    found: dict[str, story.Ran] = {}
    bits: dict[str, bytes] = {}
    for number in range(ROUNDS):
        for name, engine in engines.items():
            _say(f"round {number + 1} of {ROUNDS}: {name}")
            start = story.awake(engine)
            took_s, found[name] = _timed(lambda start=start: story.run(start, USE_TICKS))
            least[name] = min(least[name], took_s)
            bits[name] = _bits(start)
    ours = next(iter(found.values()))
    whole = "the whole use"
    rows = [Row(name, whole, USE_TICKS / 1000, least[name], found[name], ours) for name in engines]
    return rows, len(set(bits.values())) == 1


def _cpython() -> Row:
    _say("CPython")
    lit = story.awake(compiled())
    story.run(lit, DARK_TICKS + 1_000)
    _, law, numbers, now, substeps = lit.__reduce__()[1]
    slow = machine._arrived(plain().name, law, numbers, now, substeps)
    took_s, found = _timed(lambda: story.run(slow, LIT_TICKS))
    ours = story.run(lit, LIT_TICKS)
    return Row("CPython, ours", f"{LIT_TICKS} lit ticks", LIT_TICKS / 1000, took_s, found, ours)


def _lsoda() -> Row:
    _say("LSODA")
    dark_s, _ = _timed(lambda: lsoda.run(DARK_TICKS))
    whole_s, found = _timed(lambda: lsoda.run(DARK_TICKS + LIT_TICKS))
    ours = story.run(story.awake(compiled()), DARK_TICKS + LIT_TICKS)
    ran = f"law at each of {LIT_TICKS} lit ticks"
    return Row("SciPy LSODA", ran, LIT_TICKS / 1000, whole_s - dark_s, found, ours)


def _ngspice(folder: Path) -> Row:
    _say("ngspice")
    before_s = _child_s()
    found = averaged.run(folder, USE_TICKS / 1000, COMPARED_s)
    took_s = _child_s() - before_s
    ticks = story.lit_from_tick() - story.PRESS_TICK + round(1000 * COMPARED_s)
    ours = story.run(story.awake(compiled()), ticks)
    ran = f"averaged circuit, steps to 5 ms; peaks of {COMPARED_s:.0f} s"
    return Row("ngspice", ran, USE_TICKS / 1000, took_s, found, ours)


def _started(code: str, cache: Path) -> tuple[float, float]:
    """Return seconds by the clock and of processor time of a Python that runs `code`."""
    begin_s, before_s = time.perf_counter(), _child_s()
    env = {**os.environ, "DIODEWRIGHT_CACHE": str(cache)}
    subprocess.run([sys.executable, "-c", code], env=env, check=True)
    return time.perf_counter() - begin_s, _child_s() - before_s


def _starts(folder: Path) -> list[str]:
    _say("starts")
    warm = "from diodewright.sim import warm; warm()"
    bare = min(_started("pass", folder) for _ in range(3))
    cold = _started(warm, folder)
    again = min(_started(warm, folder) for _ in range(3))
    lines = ["| start | s by the clock | s of processor time |", "|---|---|---|"]
    for name, (clock_s, cpu_s) in (
        ("Python alone", bare),
        ("engine, nothing compiled yet", cold),
        ("engine, found compiled", again),
    ):
        lines.append(f"| {name} | {clock_s:.2f} | {cpu_s:.2f} |")
    return lines


def _growth() -> list[str]:
    lines = ["| cases | ms of processor time a case | highest memory MB |", "|---|---|---|"]
    for count in CASES:
        _say(f"{count} cases")
        found = growth.grown(count)
        each_ms = 1000 * found["cpu_s"] / count
        lines.append(f"| {count} | {each_ms:.2f} | {found['most_MB']:.0f} |")
    kinds = {"serial": 1, "threads": 2, "processes": 2}
    rounds: dict[str, list[dict[str, float]]] = {kind: [] for kind in kinds}
    for number in range(PAIRED_ROUNDS):
        for kind, workers in kinds.items():
            _say(f"{PAIRED_CASES} cases, {kind}, round {number + 1} of {PAIRED_ROUNDS}")
            rounds[kind].append(growth.grown(PAIRED_CASES, kind, workers))
    lines += [
        "",
        f"{PAIRED_CASES} cases, least of {PAIRED_ROUNDS} rounds turn by turn; *free* is the time",
        "by the clock less what the mean worker stood ready while other work had its core.",
        "",
        "| on | s, free | times one core | s by the clock |",
        "|---|---|---|---|",
    ]
    least = {kind: min(each["free_s"] for each in found) for kind, found in rounds.items()}
    for kind, workers in kinds.items():
        clock_s = min(each["wall_s"] for each in rounds[kind])
        gain = least["serial"] / least[kind]
        name = "one core" if workers == 1 else f"{workers} {kind}"
        lines.append(f"| {name} | {least[kind]:.2f} | {gain:.2f} | {clock_s:.2f} |")
    return lines


def _figure(value: float) -> str:
    """Return three figures, without an exponent."""
    return f"{value:.0f}" if value >= 100 else f"{value:.3g}"


def _engines(rows: list[Row]) -> list[str]:
    ours_s = rows[0].cpu_s / rows[0].simulated_s
    lines = [
        "| engine | what ran | simulated s | s of processor time | x real time "
        "| time against ours | peak A | junction degC | apart from ours |",
        "|---|---|---|---|---|---|---|---|---|",
    ]
    for row in rows:
        each_s = row.cpu_s / row.simulated_s
        cells = [
            row.name,
            row.ran,
            f"{row.simulated_s:g}",
            f"{row.cpu_s:.3f}",
            _figure(1 / each_s),
            _figure(each_s / ours_s),
            f"{row.found.peak_A:.4f}",
            f"{row.found.junction_degC:.2f}",
            f"{100 * row.apart():.3f} %",
        ]
        lines.append(f"| {' | '.join(cells)} |")
    return lines


def _page(engines: list[str], same_bits: bool, starts: list[str], grown: list[str]) -> str:
    load = os.getloadavg()[0]
    gcc = c_engine.version() if c_engine.compiler() else "no gcc"
    bits = "the same bits in every state word" if same_bits else "OTHER BITS"
    return "\n".join(
        [
            "# Measured",
            "",
            "Written by `python tests/bench/measure.py`; not edited by hand. It says what is",
            "counted and how.",
            "",
            f"- {platform.machine()}, {os.cpu_count()} cores, load {load:.1f} at the end",
            f"- Python {platform.python_version()}, Numba {numba.__version__}, "
            f"llvmlite {llvmlite.__version__}, NumPy {np.__version__}, SciPy {scipy.__version__}",
            f"- {gcc}; law {law_hash()[:12]}",
            "",
            "## Closed loop",
            "",
            "600 s use of `smoke_tunnel`: law, plant in 4 sub-steps a tick, sensors, at 1 kHz.",
            f"Least of {ROUNDS} rounds for the compiled engine and C. C and the compiled engine:",
            f"{bits}. CPython and LSODA are timed on lit ticks and scaled. Peaks are",
            "compared with our own over the same stretch; ngspice models the same thing until",
            "the law's first cap, its controller is a formula, and it has no sensors and no law.",
            "",
            *engines,
            "",
            "## Start",
            "",
            *starts,
            "",
            "## Growth",
            "",
            f"Fault cases of {growth.SHORT_s:g} s, each under its own noise, in one process a row.",
            "",
            *grown,
            "",
        ]
    )


def main() -> int:
    """Measure, write the page, and return the exit code."""
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        rows, same_bits = _interleaved(folder)
        rows += [_cpython(), _lsoda()]
        if averaged.program():
            rows.append(_ngspice(folder))
        starts = _starts(folder / "cache")
    text = _page(_engines(rows), same_bits, starts, _growth())
    FILE.write_text(text, encoding="utf-8")
    print(text)
    return 0 if same_bits and all(row.apart() <= AGREE for row in rows) else 1


if __name__ == "__main__":
    sys.exit(main())
