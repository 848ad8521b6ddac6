"""Replay a recording through the law, in any Python: every state word at every tick comes out.

Runs in CPython and, as a program, in MicroPython of any width: ``replay.py RECORDING`` writes the
state array after each tick to standard output; ``replay.py RECORDING STATES`` compares it with
what stands in that file, and stops at the first that differs. The heap is locked around each tick
where it can be. What a recording holds: ``recording.py``.
"""

import sys
from array import array

LIMITS, STATE, READINGS, RAW, POKE = 386, 69, 20, 8, 4
CHUNK = 256 * RAW


def _nothing():
    pass


def _ints(file, count):
    held = array("i", bytes(4 * count))
    file.readinto(held)
    return held


def replay(tick, file, put, lock=_nothing, unlock=_nothing):
    """Run `tick` over the recording in `file`; give the state array to `put` after each tick.

    A tick that raises (out of a locked heap, say) ends it with the tick's number on stderr.
    """
    ticks, pokes = _ints(file, 2)
    limits, state, readings = _ints(file, LIMITS), _ints(file, STATE), _ints(file, READINGS)
    arrays = (state, limits, readings)
    poke = _ints(file, POKE * pokes)
    raw, chunk = array("i", bytes(4 * RAW)), array("i", bytes(4 * CHUNK))
    place, last = 0, POKE * pokes
    now = 0
    try:
        for now in range(ticks):
            at = now * RAW % CHUNK
            if at == 0:
                file.readinto(chunk)
            while place < last and poke[place] == now:
                arrays[poke[place + 1]][poke[place + 2]] = poke[place + 3]
                place += POKE
            for i in range(RAW):
                raw[i] = chunk[at + i]
            lock()
            try:
                mode = tick(state, limits, readings, raw)
            finally:
                unlock()
            if mode != state[0]:
                raise ValueError("tick returned " + str(mode))
            put(state)
    except BaseException:
        sys.stderr.write("in tick " + str(now) + "\n")
        raise


def comparer(file):
    """Return what raises at a state array that isn't the next one in `file`."""
    expected = array("i", bytes(4 * STATE))

    def compare(state):
        file.readinto(expected)
        if state != expected:
            raise ValueError("another state")

    return compare


def main(path, expected=None):
    """Replay the recording at `path` under a locked heap, states to standard output."""
    import gc

    import micropython

    from diodedriver import law

    gc.disable()  # the 32-bit build corrupts what its collector touches; nothing here needs one
    with open(path, "rb") as file:  # noqa: PTH123 - MicroPython has no pathlib
        put = comparer(open(expected, "rb")) if expected else sys.stdout.buffer.write  # noqa: PTH123, SIM115
        replay(law.tick, file, put, micropython.heap_lock, micropython.heap_unlock)


if __name__ == "__main__":
    main(*sys.argv[1:])
