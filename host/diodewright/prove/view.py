"""What a claim speaks about: the words before and after one tick, by name.

A view's words are terms while a claim is proved and plain numbers while a case is replayed: the
same claim is asked of both.
"""

from dataclasses import dataclass

from diodedriver import words
from diodewright.prove import terms
from diodewright.prove.bits import Value, bit_list, number
from diodewright.prove.domain import place
from diodewright.prove.outcome import Memory
from diodewright.prove.terms import Bool, Int

__all__ = ["LIT", "MODE", "ROW", "View"]

MODE = {name: code for code, (name, _) in enumerate(words.MODES)}
ROW = {row[0]: code for code, row in enumerate(words.FAULTS)}
LIT = (MODE["start"], MODE["limited"])


@dataclass(frozen=True)
class View:
    """One tick: arrays before and after it.

    Names of words are those of `words.py`; `s` and `kept` speak of before the tick, `then` and
    `r` of after it.
    """

    before: Memory
    after: Memory
    returned: Value = 0

    def s(self, name: str) -> Int:
        """Return a state word before the tick."""
        return number(self.before["state"][place("state", name)])

    def then(self, name: str) -> Int:
        """Return a state word after the tick."""
        return number(self.after["state"][place("state", name)])

    def r(self, name: str) -> Int:
        """Return a reading as this tick made it."""
        return number(self.after["readings"][place("readings", name)])

    def kept(self, name: str) -> Int:
        """Return a reading as the tick found it."""
        return number(self.before["readings"][place("readings", name)])

    def raw(self, name: str) -> Int:
        """Return a raw code."""
        return number(self.before["raw"][place("raw", name)])

    def limit(self, name: str) -> Int:
        """Return a limit."""
        return number(self.before["limits"][place("limits", name)])

    def complement(self, name: str) -> Int:
        """Return the word that is stored as a limit's complement."""
        return number(self.before["limits"][len(words.LIMITS) + place("limits", name)])

    def bits(self, name: str, then: bool = False) -> tuple[Bool, ...]:
        """Return a state word's bits, before or after the tick."""
        width = words.STATE[place("state", name)][3].bit_length()
        words_now = self.after if then else self.before
        return bit_list(words_now["state"][place("state", name)], width)

    def pin(self, name: str) -> Bool:
        """Return whether a pin is high in this tick."""
        return bit_list(self.before["raw"][place("raw", "pins")], len(words.PINS))[
            words.PINS.index(name)
        ]

    def enabled(self, name: str, then: bool = True) -> Bool:
        """Return a bit of the word "enable", after the tick unless told otherwise."""
        return self.bits("enable", then)[words.ENABLES.index(name)]

    def row(self, word: str, row: str, then: bool = True) -> Bool:
        """Return a fault row's bit of "faults" or "suspect"."""
        return self.bits(word, then)[ROW[row]]

    def lit(self, then: bool = False) -> Bool:
        """Return whether the mode is one with its cut-offs closed."""
        return within(self.then("mode") if then else self.s("mode"), *LIT)

    def level(self) -> Int:
        """Return the current [mA] of the level asked for."""
        levels = [(i, self.limit(f"level_{i}_mA")) for i in range(4)]
        return terms.pick(self.raw("level"), levels)

    def cut_off(self) -> Bool:
        """Return whether the tick leaves no drive and both cut-offs open."""
        return terms.all_of(
            (
                terms.eq(self.then("drive"), 0),
                terms.negate(self.enabled("cutoff_a")),
                terms.negate(self.enabled("cutoff_b")),
            )
        )


def within(value: Int, low: Int, high: Int) -> Bool:
    """Return ``low <= value <= high``."""
    return terms.all_of((terms.le(low, value), terms.le(value, high)))


def implies(condition: Bool, claim: Bool) -> Bool:
    """Return whether `claim` holds wherever `condition` does."""
    return terms.any_of((terms.negate(condition), claim))


def word(memory: Memory, table: str, name: str) -> Value:
    """Return a word of `memory` by its table and name."""
    return memory[table][place(table, name)]


def above(value: Int, limit: Int) -> Bool:
    """Return ``value > limit``."""
    return terms.le(terms.add(limit, 1), value)


def greatest(a: Int, b: Int) -> Int:
    """Return the greater of two words."""
    return terms.ite(terms.le(b, a), a, b)


def least(a: Int, b: Int) -> Int:
    """Return the smaller of two words."""
    return terms.ite(terms.le(a, b), a, b)
