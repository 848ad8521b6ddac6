"""The grammar of one line: headers, parameters, numbers with their units. Knows no command.

Integers only: a current is read to the milliampere without a float, so that 0.3 is 300 wherever
it is read. Sources: IEEE 488.2-1992, chapter 7 (program messages); SCPI-99, volume 1, chapters 6
(headers) and 7 (parameters).
"""

from binascii import unhexlify

MYPY = False
if MYPY:
    from collections.abc import Callable
    from typing import Any

    Row = tuple[Any, ...]
    Bound = Callable[[str], int]

FIRST_EXECUTION = -200
SYNTAX = -102
SEPARATOR = -103
DATA_TYPE = -104
NOT_ALLOWED = -108
MISSING = -109
TOO_LONG = -112
UNDEFINED = -113
BAD_NUMBER = -121
BAD_SUFFIX = -131
NO_SUFFIX = -138
OUT_OF_RANGE = -222
ILLEGAL_VALUE = -224

LONGEST_MNEMONIC = 12
OPTIONAL = 128
ASKS = 128
# beyond every range in any unit; keeps a long exponent from becoming a long integer
HUGE = 1 << 40

# unit of a parameter -> (suffix, power of ten to the integer that commands take)
UNITS = {
    "": (),
    "A": (("A", 3), ("MA", 0), ("UA", -3)),
    "S": (("S", 3), ("MS", 0)),
    "HZ": (("HZ", 0),),
}
EXTREMES = {"MIN": 3, "MINIMUM": 3, "MAX": 4, "MAXIMUM": 4, "DEF": 5, "DEFAULT": 5}
SWITCHES = {"ON": 1, "1": 1, "OFF": 0, "0": 0}
BASES = {"H": 16, "Q": 8, "B": 2}


class Wrong(Exception):
    """A line that can't be obeyed; `number` is SCPI's for why."""

    def __init__(self, number: int) -> None:
        super().__init__(number)
        self.number = number


def split(text: str, mark: str) -> "list[str]":
    """Cut `text` at every `mark` outside of quotes; raise Wrong where a quote stays open."""
    pieces = []
    start = 0
    quote = ""
    for place, char in enumerate(text):
        if quote:
            if char == quote:
                quote = ""
        elif char in "\"'":
            quote = char
        elif char == mark:
            pieces.append(text[start:place])
            start = place + 1
    if quote:
        raise Wrong(SYNTAX)
    pieces.append(text[start:])
    return pieces


# headers


def nodes(pattern: str) -> "list[tuple[str, int]]":
    """Return each node of a pattern in SCPI's notation, with OPTIONAL where it is in brackets."""
    found = []
    word = ""
    optional = 0
    for char in pattern + ":":
        if char not in "[]:?":
            word += char
            continue
        if word:
            found.append((word, optional))
            word = ""
        if char in "[]":
            optional = OPTIONAL if char == "[" else 0
    return found


def short(word: str) -> str:
    """Return the short form of a node: its capitals."""
    return "".join([char for char in word if not char.islower()])


class Headers:
    """Finds a row by its header, in little memory: each word is kept once, each node is a byte.

    A row is a byte of how many nodes there are, with ASKS for a question mark, then for each node
    the place of its word, with OPTIONAL.
    """

    def __init__(self, patterns: "list[str]") -> None:
        self.words: list[str] = []
        self.shorts = bytearray()  # length of each word's short form, which is its beginning
        rows = bytearray()
        for pattern in patterns:
            found = nodes(pattern)
            rows.append(len(found) | (ASKS if pattern.endswith("?") else 0))
            for word, optional in found:
                rows.append(self._place(word) | optional)
        self.rows = bytes(rows)

    def _place(self, word: str) -> int:
        # not by the short form: STATus and STATe share theirs
        long = word.upper()
        if long not in self.words:
            self.words.append(long)
            self.shorts.append(len(short(word)))
        return self.words.index(long)

    def find(self, names: "list[str]", asks: bool) -> int:
        """Return the row that these nodes name; raise Wrong where none does."""
        place = row = 0
        while place < len(self.rows):
            count = self.rows[place] & ~ASKS
            if bool(self.rows[place] & ASKS) == asks and self._fits(place + 1, count, names):
                return row
            place += 1 + count
            row += 1
        for name in names:
            _check_mnemonic(name)
        raise Wrong(UNDEFINED)

    def _fits(self, place: int, count: int, names: "list[str]") -> bool:
        at = 0
        for node in range(place, place + count):
            word = self.rows[node]
            if at < len(names) and self._is(names[at], word & ~OPTIONAL):
                at += 1
            elif not word & OPTIONAL:
                return False
        return at == len(names)

    def _is(self, name: str, place: int) -> bool:
        word = self.words[place]
        return name == word or (len(name) == self.shorts[place] and word.startswith(name))


def _check_mnemonic(name: str) -> None:
    if "," in name:
        raise Wrong(SEPARATOR)
    if not name:
        raise Wrong(SYNTAX)
    for char in name:
        if not (char.isalpha() or char.isdigit() or char in "_*"):
            raise Wrong(SYNTAX)
    if len(name) > LONGEST_MNEMONIC:
        raise Wrong(TOO_LONG)


# parameters


def parameters(text: str, wanted: "tuple[Row, ...]", bound: "Bound") -> "list[Any]":
    """Return the values of `text` for the rows `wanted`; raise Wrong where they don't fit them.

    ``bound`` gives the number for a range's end that is named rather than written.
    """
    given = [piece.strip() for piece in split(text, ",")] if text else []
    if len(given) > len(wanted):
        raise Wrong(NOT_ALLOWED)
    values = []
    for place, row in enumerate(wanted):
        if place >= len(given):
            if row[1] != "extreme":
                raise Wrong(MISSING)
            continue
        if not given[place]:
            raise Wrong(SYNTAX)
        values.append(_KINDS[row[1]](given[place], row, bound))
    return values


def _end(row: "Row", place: int, bound: "Bound") -> int:
    """Return the row's least, greatest or default value."""
    value = row[place]
    if value is None:
        raise Wrong(ILLEGAL_VALUE)
    return value if isinstance(value, int) else bound(value)


def _extreme(text: str, row: "Row", bound: "Bound") -> int:
    place = EXTREMES.get(text.upper(), 0)
    if not place:
        raise Wrong(DATA_TYPE if text[0] in "\"'" else ILLEGAL_VALUE)
    return _end(row, place, bound)


def _number(text: str, row: "Row", bound: "Bound") -> int:
    text = text.upper()
    if text in EXTREMES:
        return _end(row, EXTREMES[text], bound)
    value = number(text, UNITS[row[2]])
    low, high = row[3], row[4]
    # an end that is named moves: who owns it says whether the value is within
    if (isinstance(low, int) and value < low) or (isinstance(high, int) and value > high):
        raise Wrong(OUT_OF_RANGE)
    return value


def _switch(text: str, _row: "Row", _bound: "Bound") -> int:
    value = SWITCHES.get(text.upper(), -1)
    if value < 0:
        raise Wrong(DATA_TYPE if text[0] in "\"'" else ILLEGAL_VALUE)
    return value


def _text(text: str, row: "Row", _bound: "Bound") -> str:
    quote = text[0]
    if quote not in "\"'":
        raise Wrong(DATA_TYPE)
    if len(text) < 2 or text[-1] != quote:
        raise Wrong(SYNTAX)
    inner = text[1:-1].replace(quote + quote, quote)
    if not row[3] <= len(inner) <= row[4]:
        raise Wrong(OUT_OF_RANGE)
    return inner


def _hex(text: str, row: "Row", bound: "Bound") -> bytes:
    digits = _text(text, ("", "", "", 2 * row[3], 2 * row[4]), bound)
    try:
        return unhexlify(digits)
    except ValueError:
        raise Wrong(ILLEGAL_VALUE) from None


_KINDS = {"number": _number, "extreme": _extreme, "switch": _switch, "text": _text, "hex": _hex}


# numbers


def number(text: str, suffixes: "tuple[tuple[str, int], ...]") -> int:
    """Return <NRf> or #H, #Q, #B as an integer in the parameter's smallest step, rounded to it.

    ``suffixes`` are the units allowed; the first is meant where none is written.
    """
    if text[0] == "#":
        return _based(text)
    if not (text[0].isdigit() or text[0] in "+-."):
        raise Wrong(DATA_TYPE)
    digits, power, rest = _mantissa(text)
    rest = rest.strip()
    if rest and not rest[0].isalpha():
        raise Wrong(BAD_NUMBER)
    power += _power(rest, suffixes)
    value = _scaled(digits, power)
    return -value if text[0] == "-" else value


def _mantissa(text: str) -> "tuple[str, int, str]":
    """Return the digits without their point, the power of ten, and what stands behind both."""
    digits = ""
    power = 0
    point = False
    at = 1 if text[0] in "+-" else 0
    while at < len(text) and (text[at].isdigit() or (text[at] == "." and not point)):
        if text[at] == ".":
            point = True
        else:
            digits += text[at]
            power -= 1 if point else 0
        at += 1
    if not digits:
        raise Wrong(BAD_NUMBER)
    if at < len(text) and text[at] == "E":
        start = at = at + 1
        at += 1 if text[at : at + 1] in ("+", "-") else 0
        while at < len(text) and text[at].isdigit():
            at += 1
        if not text[at - 1].isdigit():
            raise Wrong(BAD_NUMBER)
        # six figures of an exponent are beyond any number already
        exponent = int(text[start : min(at, start + 6)])
        power += exponent
    return digits, power, text[at:]


def _power(suffix: str, suffixes: "tuple[tuple[str, int], ...]") -> int:
    if not suffix:
        return suffixes[0][1] if suffixes else 0
    if not suffixes:
        raise Wrong(NO_SUFFIX)
    for name, power in suffixes:
        if suffix == name:
            return power
    raise Wrong(BAD_SUFFIX)


def _scaled(digits: str, power: int) -> int:
    """Return digits * 10**power, rounded half up; HUGE where it is beyond every range."""
    digits = digits.lstrip("0")
    if not digits or len(digits) + power < 0:
        return 0
    if len(digits) + power > 12:
        return HUGE
    if power >= 0:
        return int(digits + "0" * power)
    unit = int("1" + "0" * -power)
    return (int(digits) + unit // 2) // unit


def _based(text: str) -> int:
    base = BASES.get(text[1:2], 0)
    if not base or not 3 <= len(text) <= 34:
        raise Wrong(BAD_NUMBER)
    for char in text[2:]:
        # `int` itself would take a sign, a space or an underscore
        if "0123456789ABCDEF".find(char) not in range(base):
            raise Wrong(BAD_NUMBER)
    return min(int(text[2:], base), HUGE)
