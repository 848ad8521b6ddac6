"""Words that are looked at bit by bit: truths, lowest first, and what stands above them.

A word of `n` known bits is ``sum(bit_i * 2**i) + high * 2**n``: any int32 can be written so, and
the law's masks never reach what is above.
"""

from collections.abc import Callable
from dataclasses import dataclass

from diodewright.prove import terms
from diodewright.prove.terms import Bool, Int, Node
from diodewright.prove.whole import or_words, xor_words

__all__ = [
    "Bits",
    "Value",
    "bit_list",
    "bits_and",
    "bits_or",
    "bits_xor",
    "choose",
    "equal",
    "number",
    "truth",
]

_MOST_BITS = 31


@dataclass(frozen=True, eq=False)
class Bits:
    """A word by its bits."""

    bits: tuple[Bool, ...]
    high: Int = 0

    def number(self) -> Int:
        """Return the word as a number."""
        value = terms.scale(self.high, 1 << len(self.bits))
        for place, bit in enumerate(self.bits):
            value = terms.add(value, terms.ite(bit, 1, 0), 1 << place)
        return value

    def any(self) -> Bool:
        """Return whether the word is not 0."""
        return terms.any_of((*self.bits, terms.negate(terms.eq(self.high, 0))))

    def shifted(self, count: int) -> "Value":
        """Return the word shifted left (up) by `count`, or right (down) where it is negative."""
        if count >= 0:
            return Bits((False,) * count + self.bits, self.high)
        if -count >= len(self.bits):
            return terms.shr(self.high, -count - len(self.bits))
        return Bits(self.bits[-count:], self.high)

    def to(self, width: int) -> "Bits":
        """Return the same word with at least `width` bits known; only where nothing is above."""
        if len(self.bits) >= width:
            return self
        if self.high == 0:
            return Bits(self.bits + (False,) * (width - len(self.bits)))
        more = _of_number(self.high, width - len(self.bits))
        return Bits(self.bits + more.bits, more.high)


Value = int | Node | Bits


def number(value: Value) -> Int:
    """Return any word as a number."""
    return value.number() if isinstance(value, Bits) else value


def truth(value: Value) -> Bool:
    """Return whether a word is not 0."""
    if isinstance(value, Bits):
        return value.any()
    return terms.negate(terms.eq(value, 0))


def _of_number(value: Int, width: int) -> Bits:
    if isinstance(value, int):
        bits: tuple[Bool, ...] = tuple(bool(value >> i & 1) for i in range(width))
        return Bits(bits, value >> width)
    parts = [terms.eq(terms.mod(terms.div(value, 1 << i), 2), 1) for i in range(width)]
    return Bits(tuple(parts), terms.div(value, 1 << width))


def _as_bits(value: Value, width: int) -> Bits:
    return value.to(width) if isinstance(value, Bits) else _of_number(value, width)


_SPLIT: dict[Node, Value] = {}


def _split(value: Value) -> Value:
    """Return a choice between constants by its bits; any other word as it is."""
    if not isinstance(value, Node) or value.op != "ite":
        return value
    if value not in _SPLIT:
        _SPLIT[value] = _split_choice(value)
    return _SPLIT[value]


def _split_choice(value: Node) -> Value:
    asked, one, other = value.args
    ends = [_split(each) for each in (one, other)]
    if any(isinstance(each, Node) or (isinstance(each, int) and each < 0) for each in ends):
        return value
    width = max(_bits_needed(each) for each in ends)
    first, second = (_as_bits(each, width) for each in ends)
    bits = [terms.pick_truth(asked, x, y) for x, y in zip(first.bits, second.bits, strict=True)]
    return Bits(tuple(bits))


def bits_and(a: Value, b: Value) -> Value:
    """Return ``a & b``."""
    if isinstance(a, int) and isinstance(b, int):
        return a & b
    if isinstance(a, int):
        a, b = b, a
    a = _split(a)
    if isinstance(b, int) and b >= 0:
        if isinstance(a, Node) and b & (b + 1) == 0:
            return terms.mod(a, b + 1)
        known = _as_bits(a, b.bit_length())
        kept = [bit if b >> i & 1 else False for i, bit in enumerate(known.bits)]
        return _trimmed(kept[: b.bit_length()])
    if isinstance(b, int):
        raise ValueError("a mask below 0")
    if not (isinstance(a, Bits) or isinstance(b, Bits)):
        raise ValueError("& of two numbers, neither a mask")
    width = max(len(word.bits) for word in (a, b) if isinstance(word, Bits))
    first, second = _as_bits(a, width), _as_bits(b, width)
    pairs = zip(first.bits, second.bits, strict=True)
    bits = [terms.all_of(pair) for pair in pairs]
    if first.high == 0 or second.high == 0:
        return _trimmed(bits)
    if first.high is second.high:
        return Bits(tuple(bits), first.high)
    raise ValueError("& of two words that both reach beyond their known bits")


def _trimmed(bits: list[Bool]) -> Value:
    while bits and bits[-1] is False:
        bits.pop()
    if all(isinstance(bit, bool) for bit in bits):
        return sum(1 << i for i, bit in enumerate(bits) if bit)
    return Bits(tuple(bits))


def _merged(
    a: Value, b: Value, whole: Callable[[Int, Int], Int], each: Callable[[Bool, Bool], Bool]
) -> Value:
    """Return `a` and `b` joined bit by bit; as whole words where neither is known by its bits."""
    a, b = _split(a), _split(b)
    if not isinstance(a, Bits) and not isinstance(b, Bits):
        return whole(a, b)
    try:
        width = max(_bits_needed(a), _bits_needed(b))
    except ValueError:
        return whole(number(a), number(b))
    first, second = _as_bits(a, width), _as_bits(b, width)
    bits = [each(x, y) for x, y in zip(first.bits, second.bits, strict=True)]
    if second.high == 0:
        high = first.high
    elif first.high == 0:
        high = second.high
    else:
        return whole(number(a), number(b))
    return _trimmed(bits) if high == 0 else Bits(tuple(bits), high)


def _bits_needed(value: Value) -> int:
    if isinstance(value, Bits):
        return len(value.bits)
    low, high = terms.bounds(value)
    if low < 0 or high.bit_length() > _MOST_BITS:
        raise ValueError("a number that may be negative beside bits")
    return high.bit_length()


def bits_or(a: Value, b: Value) -> Value:
    """Return ``a | b``."""
    return _merged(a, b, or_words, lambda x, y: terms.any_of((x, y)))


def bits_xor(a: Value, b: Value) -> Value:
    """Return ``a ^ b``."""
    return _merged(a, b, xor_words, lambda x, y: terms.pick_truth(x, terms.negate(y), y))


def choose(asked: Bool, one: Value, other: Value) -> Value:
    """Return `one` where `asked` holds, else `other`."""
    if isinstance(asked, bool):
        return one if asked else other
    if one is other:
        return one
    if isinstance(one, Bits) or isinstance(other, Bits):
        try:
            width = max(_bits_needed(one), _bits_needed(other))
        except ValueError:
            return terms.ite(asked, number(one), number(other))
        first, second = _as_bits(one, width), _as_bits(other, width)
        bits = [terms.pick_truth(asked, x, y) for x, y in zip(first.bits, second.bits, strict=True)]
        return Bits(tuple(bits), terms.ite(asked, first.high, second.high))
    return terms.ite(asked, one, other)


def equal(a: Value, b: Value) -> Bool:
    """Return whether two words are equal, bit by bit where one is known by its bits."""
    if isinstance(b, Bits):
        a, b = b, a
    if not isinstance(a, Bits) or isinstance(b, Node):
        return terms.eq(number(a), number(b))
    width = max(len(a.bits), len(b.bits) if isinstance(b, Bits) else b.bit_length())
    if isinstance(b, int) and b < 0:
        return terms.eq(a.number(), b)
    first, second = a.to(width), _as_bits(b, width)
    same = [
        terms.pick_truth(x, y, terms.negate(y))
        for x, y in zip(first.bits, second.bits, strict=True)
    ]
    return terms.all_of((*same, terms.eq(first.high, second.high)))


def bit_list(value: Value, width: int) -> tuple[Bool, ...]:
    """Return the lowest `width` bits of a word as truths."""
    if isinstance(value, Bits):
        return value.to(width).bits[:width]
    if isinstance(value, int):
        return tuple(bool(value >> i & 1) for i in range(width))
    node: Node = value
    return tuple(terms.eq(terms.mod(terms.div(node, 1 << i), 2), 1) for i in range(width))
