"""Words joined as a whole, as the guard joins them: looked at for their sign and for being 0."""

from diodewright.prove.nodes import Int, Node, bounds, made
from diodewright.prove.terms import add, mod

__all__ = ["or_words", "xor_words"]


def _width(*values: Int) -> int:
    return max(max(abs(low), abs(high)).bit_length() for low, high in map(bounds, values))


def or_words(a: Int, b: Int) -> Int:
    """Return ``a | b`` of whole words; only its sign and its being 0 are ever looked at."""
    if isinstance(a, int) and isinstance(b, int):
        return a | b
    words: dict[Int, None] = {}
    for word in (a, b):
        parts = word.args if isinstance(word, Node) and word.op == "or" else (word,)
        words.update(dict.fromkeys(parts))
    words.pop(0, None)
    if len(words) == 1:
        return next(iter(words))
    most = (1 << _width(*words)) - 1
    least = -most - 1 if any(bounds(word)[0] < 0 for word in words) else 0
    return made("or", tuple(words), least, most)


def xor_words(a: Int, b: Int) -> Int:
    """Return ``a ^ b`` of whole words; exact where one is a mask of ones, else only its being 0."""
    if isinstance(a, int) and isinstance(b, int):
        return a ^ b
    if isinstance(a, int):
        a, b = b, a
    if isinstance(b, int) and b >= 0 and b & (b + 1) == 0:
        if isinstance(a, Node) and a.op == "xor":
            # (x ^ y) ^ ones is 0 where x equals y ^ ones
            first, second = a.args
            return xor_words(first, xor_words(second, b))
        return add(add(a, mod(a, b + 1), -2), b)  # the low bits turned over
    if a is b:
        return 0
    together = add(a, b)
    if isinstance(together, int) and together >= 0 and together & (together + 1) == 0:
        low, high = bounds(a)
        if low >= 0 and high <= together:
            return together  # a word and its complement
    most = (1 << _width(a, b)) - 1
    least = -most - 1 if min(*bounds(a), *bounds(b)) < 0 else 0
    return made("xor", (a, b), least, most)
