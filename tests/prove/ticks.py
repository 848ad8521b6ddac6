"""Arrays before a tick, for the translator's check: random ones, stray ones, and episodes'."""

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

import episodes
from desk import SETTINGS
from diodedriver import words
from diodewright.prove.bits import Bits
from diodewright.prove.outcome import Memory
from diodewright.prove.terms import Node
from diodewright.sim import compiled

Columns = dict[str, NDArray[np.int64]]
TABLES = {
    "state": words.STATE,
    "limits": words.LIMITS,
    "readings": words.READINGS,
    "raw": words.RAW,
}


def accepted(rng: np.random.Generator) -> list[int]:
    """Return limits that settings validation accepts: the desk's, some words drawn anew."""
    while True:
        drawn = dict(SETTINGS)
        for name, _, low, high, _ in words.SETTINGS:
            if rng.random() < 0.1:
                drawn[name] = int(rng.integers(low, high + 1))
        try:
            return words.assemble(drawn)
        except ValueError:
            continue


def _drawn(rng: np.random.Generator, table: Sequence[tuple], count: int) -> NDArray[np.int64]:
    columns = []
    for _, _, low, high, _ in table:
        values = rng.integers(low, high + 1, count)
        edge = rng.random(count)
        values[edge < 0.1] = low
        values[edge > 0.9] = high
        columns.append(values)
    return np.stack(columns, axis=1).astype(np.int64)


def in_range(rng: np.random.Generator, count: int) -> Columns:
    """Return random arrays within their tables, mostly without faults and with good pins."""
    limits = [accepted(rng) for _ in range(40)]
    found = {
        "state": _drawn(rng, words.STATE, count),
        "limits": np.array([limits[i % 40] for i in range(count)], dtype=np.int64),
        "readings": _drawn(rng, words.READINGS, count),
        "raw": _drawn(rng, words.RAW, count),
    }
    calm = rng.random(count) < 0.8
    found["state"][calm, words.index(words.STATE, "faults")] = 0
    found["raw"][calm, 4] = 7
    found["raw"][calm, 5] = 1
    found["raw"][calm, 6] = 0
    return found


def stray(rng: np.random.Generator, count: int) -> Columns:
    """Return the same with any int32 in some words of the state and the readings."""
    found = in_range(rng, count)
    for table in ("state", "readings"):
        hit = rng.random(found[table].shape) < 0.01
        wild = rng.integers(-(2**31), 2**31, found[table].shape)
        found[table] = np.where(hit, wild, found[table])
    return found


def of_episodes(count: int, every: int) -> Columns:
    """Return the arrays before every `every`-th tick of a recorded episode, of sound ones only.

    Flipped limits and stray words have a domain and a drawing of their own.
    """
    made = episodes.record(2, count * every)
    arrays = [made.state.copy(), made.limits.copy(), made.readings.copy()]
    pokes: dict[int, list[list[int]]] = {}
    for now, *poke in made.pokes.tolist():
        pokes.setdefault(now, []).append(poke)
    tick = compiled().tick
    rows: dict[str, list[list[int]]] = {name: [] for name in TABLES}
    for now, raw in enumerate(made.raws):
        for which, place, value in pokes.get(now, ()):
            arrays[which][place] = value
        if now % every == 0 and _sound(*arrays):
            for name, values in zip(TABLES, (*arrays, raw), strict=True):
                rows[name].append(values.tolist())
        tick(*arrays, raw.copy())
    return {name: np.array(values, dtype=np.int64) for name, values in rows.items()}


def _sound(
    state: NDArray[np.int32], limits: NDArray[np.int32], readings: NDArray[np.int32]
) -> bool:
    half = len(limits) // 2
    within = (state >= 0) & (state <= [row[3] for row in words.STATE])
    kept = (readings >= 0) & (readings <= [row[3] for row in words.READINGS])
    return bool(np.all(limits[:half] ^ limits[half:] == words.ONES) and within.all() and kept.all())


def inputs_of(memory: Memory, columns: Columns) -> dict[str, NDArray[np.int64]]:
    """Return the value of every variable of `memory` for these arrays."""
    inputs = {}
    for name, values in memory.items():
        for place, value in enumerate(values):
            column = columns[name][:, place]
            if isinstance(value, Bits):
                for i, bit in enumerate(value.bits):
                    inputs[str(bit.args[0])] = (column >> i) & 1
                if isinstance(value.high, Node):
                    inputs[str(value.high.args[0])] = column >> len(value.bits)
            elif isinstance(value, Node) and value.op == "var":
                inputs[str(value.args[0])] = column
    return inputs


def strange_limits(rng: np.random.Generator, count: int) -> Columns:
    """Return ticks whose limits and complements are any int32 here and there."""
    found = in_range(rng, count)
    hit = rng.random(found["limits"].shape) < 0.003
    wild = rng.integers(-(2**31), 2**31, found["limits"].shape)
    found["limits"] = np.where(hit, wild, found["limits"])
    return found
