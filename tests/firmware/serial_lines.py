"""Lines for every row of the command table, at the ends of its parameters and beyond."""

from collections.abc import Iterator
from itertools import product

from desk_driver import DriverDesk
from diodedriver import grammar

OF_LINE = {"number": "MIN MAX DEF -1 1E30 0.0004 #HFFFFFFFF FOO", "switch": "ON OFF 0 1 2 MAX"}
#: what a step of the smallest unit is, in the unit that is meant where none is written
STEP = {"A": 0.001, "S": 0.001, "HZ": 1, "": 1}


def texts(desk: DriverDesk, parameter: tuple) -> list[str]:
    """Return what to write for one parameter: ends of its range, one beyond each, nonsense."""
    _, kind, unit, low, high, _ = parameter
    if kind == "switch":
        return OF_LINE["switch"].split()
    if kind == "extreme":
        return ["MIN", "MAX", "DEF", "3"]
    if kind in ("text", "hex"):
        mark = "a" if kind == "text" else "00"
        return [f'"{mark * length}"' for length in (low, high, high + 1)] + ['"', "a"]
    ends = [end if isinstance(end, int) else desk.port.bound(end) for end in (low, high)]
    near = {end + off for end in ends for off in (-1, 0, 1)}
    return [f"{value * STEP[unit]:.3f}" for value in sorted(near)] + OF_LINE["number"].split()


def head_of(row: tuple) -> str:
    """Return a row's header, written in full."""
    asks = "?" if row[0].endswith("?") else ""
    return ":".join(word for word, _ in grammar.nodes(row[0])) + asks


def lines(desk: DriverDesk, row: tuple) -> Iterator[str]:
    """Yield a row's lines: none of its parameters, all combinations of extremes, one too many."""
    head = head_of(row)
    yield head
    choices = [texts(desk, parameter) for parameter in row[1]]
    for chosen in product(*choices):
        if chosen:
            yield f"{head} {','.join(chosen)}"
    yield f"{head} {','.join(['1'] * (len(row[1]) + 1))}"
