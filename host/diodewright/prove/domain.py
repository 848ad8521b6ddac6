"""What the prover assumes: exactly what the word tables allow and the board enforces.

Arrays of terms for one tick. Settings: every value within its range; `order` gives the relations
that settings validation demands. Complements of limits are exact unless a claim is about them.
"""

from collections.abc import Mapping

from diodedriver import words
from diodewright.prove import terms
from diodewright.prove.bits import Bits, Value, number
from diodewright.prove.outcome import INT32, Memory
from diodewright.prove.terms import Bool, Int

__all__ = ["KEPT", "arrays", "bit_width", "order", "place"]

#: Readings that are kept from tick to tick, with the highest that the guard lets through.
KEPT: Mapping[str, int] = {name: high for name, _, _, high, _ in words.READINGS[2:12]}
_LOWEST = -INT32 - 1


def place(table: str, name: str) -> int:
    """Return a word's place in its table ("state", "limits", "readings", "raw")."""
    return words.index(_TABLES[table], name)


_TABLES = {
    "state": words.STATE,
    "limits": words.LIMITS,
    "readings": words.READINGS,
    "raw": words.RAW,
}


def bit_width(unit: str, high: int) -> int:
    """Return how many bits a word of bits has, 0 where it is a number."""
    return high.bit_length() if unit == "bits" else 0


def _word(name: str, unit: str, low: int, high: int) -> Value:
    width = bit_width(unit, high)
    if width:
        return Bits(tuple(terms.bool_var(f"{name}.{i}") for i in range(width)))
    return terms.var(name, low, high)


def _any_word(name: str, unit: str, high: int) -> Value:
    """Return a word that may be any int32; of bits: its known bits and what is above."""
    width = bit_width(unit, high)
    if width:
        bits = tuple(terms.bool_var(f"{name}.{i}") for i in range(width))
        return Bits(bits, terms.var(f"{name}.above", _LOWEST >> width, INT32 >> width))
    return terms.var(name, _LOWEST, INT32)


def _limits(settings: Mapping[str, int] | None, stray: bool) -> list[Value]:
    values: list[Value] = []
    for name, _, low, high, _ in words.LIMITS:
        if stray:
            values.append(terms.var(f"limits.{name}", _LOWEST, INT32))
        elif settings is not None and name in settings:
            values.append(settings[name])
        else:
            values.append(terms.var(f"limits.{name}", low, high))
    if stray:
        return values + [
            terms.var(f"complement.{name}", _LOWEST, INT32) for name, *_ in words.LIMITS
        ]
    return values + [terms.sub(words.ONES, number(value)) for value in values]


def arrays(
    fixed: Mapping[str, int] | None = None,
    settings: Mapping[str, int] | None = None,
    stray_limits: bool = False,
    stray_state: bool = False,
    own: tuple[str, ...] = (),
    twin: int = 0,
) -> Memory:
    """Return state, limits, readings and raw before a tick.

    Parameters
    ----------
    fixed : words ("state.mode") that have one value.
    settings : the limits where they are fixed, else any that are accepted.
    stray_limits : limits and complements are any int32.
    stray_state : state words and kept readings are any int32.
    own : words ("raw.mux_code") that are a twin's own; it shares all others with the first.
    """

    def named(word: str) -> str:
        return f"{word}'" if twin and word in own else word

    given = fixed or {}

    def word(table: str, name: str, unit: str, low: int, high: int, stray: bool) -> Value:
        full = named(f"{table}.{name}")
        if f"{table}.{name}" in given:
            return given[f"{table}.{name}"]
        return _any_word(full, unit, high) if stray else _word(full, unit, low, high)

    state = [word("state", *row[:4], stray_state) for row in words.STATE]
    readings = [
        word("readings", *row[:4], stray_state or row[0] not in KEPT) for row in words.READINGS
    ]
    raw = [word("raw", *row[:4], False) for row in words.RAW]
    return {
        "state": state,
        "limits": _limits(settings, stray_limits),
        "readings": readings,
        "raw": raw,
    }


def order(limits: Mapping[str, Int]) -> list[Bool]:
    """Return what must hold between settings for them to be accepted (`words.ORDER`)."""
    return [
        terms.le(terms.add(limits[lower], least), limits[higher])
        for lower, higher, least in words.ORDER
    ]
