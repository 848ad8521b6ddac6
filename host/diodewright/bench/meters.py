"""A reading from a meter: typed at a prompt, the next line of a CSV, or asked of a SCPI meter.

``open_meter`` takes a spec and gives what returns one reading at a call:

- ``typed``: a person reads the meter and types; ``0.512``, ``512 mA`` and ``0.512 A`` are the same.
- ``csv:FILE``: one line a reading; of several columns the one that is called ``quantity_unit``.
- ``visa:RESOURCE``: any SCPI meter through PyVISA, such as ``visa:TCPIP::10.0.0.7::INSTR``; behind
  a comma another query than the quantity's own, such as ``visa:ASRL/dev/ttyUSB1::INSTR,READ?``.

Source. Queries ``MEASure:...?``, numbers, 9.9E37 for infinity and 9.91E37 for "not a number":
SCPI-99, volume 1, 7.2.1 and volume 2, 3.

Limits. A meter that is set to another range, burden or function is believed; only what it says in
its reply (a number that none of its kind can be, another unit, an overload) is refused. A meter
that does not answer ``UNIT:TEMPerature?`` is taken to speak degC.
"""

import contextlib
import math
import re
import sys
from abc import ABC, abstractmethod
from collections.abc import Callable, Iterator, Mapping
from importlib.util import find_spec
from types import TracebackType
from typing import Any, Self

from diodewright.bench.problems import BenchError
from diodewright.bench.tables import rows_of
from diodewright.build.extras import Missing
from diodewright.build.plain_file import printable

__all__ = ["QUERIES", "Meter", "Reading", "number_in", "open_meter"]

#: One reading, in the unit that was asked for.
Reading = float

#: Quantity -> what a SCPI meter is asked.
QUERIES: Mapping[str, str] = {
    "current": "MEAS:CURR:DC?",
    "voltage": "MEAS:VOLT:DC?",
    "pack": "MEAS:VOLT:DC?",
    "output": "MEAS:VOLT:DC?",
    "trip": "MEAS:CURR:DC?",
    "temperature": "MEAS:TEMP?",
    "mount": "MEAS:TEMP?",
    "sink": "MEAS:TEMP?",
    "light": "MEAS:POW?",
}
#: Unit -> how else it may be written, and what that is of it.
UNITS: Mapping[str, Mapping[str, float]] = {
    "A": {"A": 1.0, "mA": 1e-3, "uA": 1e-6},
    "V": {"V": 1.0, "mV": 1e-3, "uV": 1e-6, "VDC": 1.0},
    "W": {"W": 1.0, "mW": 1e-3, "uW": 1e-6},
    "degC": {"degC": 1.0, "C": 1.0, "CEL": 1.0, "°C": 1.0},
}
#: What no meter at this bench can truly read, by unit.
SPANS: Mapping[str, tuple[float, float]] = {
    "A": (-100.0, 100.0),
    "V": (-1000.0, 1000.0),
    "W": (-100.0, 1000.0),
    "degC": (-100.0, 300.0),
}
INFINITY = 9.9e37
_NUMBER = re.compile(r"\s*([+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d+)?)\s*([^\d\s.,;]*)\s*")
_MOST_BYTES = 10_000_000
_ANSWER_MS = 5000
_TRIES = 3
_SHOWN = 40
_WITHOUT = "PyVISA with its backend pyvisa-py, which speaks to meters,"


def number_in(text: str, unit: str) -> float:
    """Return the number in `text` in `unit`; a unit behind it may be another size of the same.

    Raises
    ------
    ValueError
        No number, a decimal comma, another unit, an overload, or what no meter can truly read.
    """
    shown = printable(text.strip())[:_SHOWN]
    found = _NUMBER.fullmatch(text)
    if found is None:
        mend = "; write a decimal point" if re.match(r"[+-]?\d+,\d+\b", text.strip()) else ""
        raise ValueError(f"{shown!r} is no number{mend}")
    size = _size(found[2], unit)
    if size is None:
        raise ValueError(f"{shown!r} is in {printable(found[2])}, asked for {unit}")
    value = float(found[1])
    if abs(value) >= INFINITY or not math.isfinite(value):
        raise ValueError(f"{shown!r}: overload, or no reading")
    low, high = SPANS.get(unit, (-math.inf, math.inf))
    if not low <= value * size <= high:
        raise ValueError(f"{shown!r}: no meter here reads that, allowed {low:g} to {high:g} {unit}")
    return value * size


def _size(said: str, unit: str) -> float | None:
    """Return what a unit as it was said is of `unit`; None for another one.

    SCPI writes in capitals, where ``MA`` is milliampere (SCPI-99, volume 1, 7.3): so do we read it.
    """
    if not said:
        return 1.0
    known = UNITS.get(unit, {unit: 1.0})
    if said in known:
        return known[said]
    return next((size for name, size in known.items() if name.upper() == said.upper()), None)


class Meter(ABC):
    """What gives a reading at a call; closed by `close` or as a context."""

    #: What the readings are from, in words, for the record.
    name = "typed by hand"
    #: Whether a point is worth one reading only: a person or a file gives no second one.
    single = True

    @abstractmethod
    def __call__(self) -> Reading:
        """Return the next reading; BenchError where there is none that can be used."""

    def all(self) -> list[Reading]:
        """Return all readings that are left; of a file, that is its end."""
        return [self()]

    def close(self) -> None:  # noqa: B027 what a person or a file needs: nothing
        """Let the instrument go."""

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self.close()


class Typed(Meter):
    """A person reads the meter; the prompt goes to stderr, so that stdout stays a document."""

    def __init__(self, quantity: str, unit: str) -> None:
        self.quantity, self.unit = quantity, unit

    def __call__(self) -> Reading:
        for _ in range(_TRIES):
            print(f"{self.quantity} by the meter [{self.unit}]: ", end="", file=sys.stderr)
            sys.stderr.flush()
            line = sys.stdin.readline()
            if not line:
                raise BenchError(f"{self.quantity}: no reading was typed")
            try:
                return number_in(line, self.unit)
            except ValueError as error:
                print(f"{error}: once more", file=sys.stderr)
        raise BenchError(f"{self.quantity}: {_TRIES} times no reading in {self.unit}")


class FromFile(Meter):
    """The lines of a CSV, one a call."""

    def __init__(self, file: str, quantity: str, unit: str) -> None:
        self.name = printable(file)
        self.unit = unit
        self._rows = _column(file, quantity, unit)

    def __call__(self) -> Reading:
        line, text = next(self._rows, (0, None))
        if text is None:
            raise BenchError(f"{self.name}: no reading is left in it")
        return self._number(line, text)

    def _number(self, line: int, text: str) -> Reading:
        try:
            return number_in(text, self.unit)
        except ValueError as error:
            raise BenchError(f"{self.name}: line {line}: {error}") from None

    def all(self) -> list[Reading]:
        """Return all readings that are left."""
        return [self._number(line, text) for line, text in self._rows]


def _column(file: str, quantity: str, unit: str) -> Iterator[tuple[int, str]]:
    """Return the cells of the one column that holds the readings, with their lines."""
    shown = printable(file)
    lines = rows_of(file, _MOST_BYTES)
    if not lines:
        raise BenchError(f"{shown}: holds no readings")
    head = lines[0][1]
    wanted = f"{quantity}_{unit}"
    if wanted in head:
        at, lines = head.index(wanted), lines[1:]
    elif len(head) == 1 and _NUMBER.fullmatch(head[0]):
        at = 0
    else:
        columns = printable(", ".join(head))[:_SHOWN]
        raise BenchError(f"{shown}: no column {wanted}; it has {columns}")
    return ((number, row[at] if at < len(row) else "") for number, row in lines)


class Scpi(Meter):
    """A meter that speaks SCPI, by PyVISA's own backend."""

    single = False

    def __init__(self, resource: str, query: str, unit: str) -> None:
        self.resource, self.query, self.unit = printable(resource), query, unit
        self._shift = 0.0
        try:
            import pyvisa
        except ImportError:
            raise Missing(_WITHOUT) from None
        if find_spec("pyvisa_py") is None:  # the backend, which PyVISA finds by name
            raise Missing(_WITHOUT)
        self._errors: tuple[type[Exception], ...] = (pyvisa.Error, OSError, ValueError)
        try:
            self._manager = pyvisa.ResourceManager("@py")
        except self._errors as error:
            raise self._said(error) from None
        try:
            self._session: Any = self._manager.open_resource(
                resource, timeout=_ANSWER_MS, read_termination="\n"
            )
        except self._errors as error:
            self._manager.close()
            raise self._said(error) from None
        try:
            self._greet()
        except BaseException:
            self.close()
            raise

    def _greet(self) -> None:
        self._do("*CLS")
        said = self._ask("*IDN?")
        if said is None:
            raise BenchError(f"{self.resource}: nothing answers *IDN?: no SCPI meter, or off")
        if said.startswith("diodewright,"):
            raise BenchError(f"{self.resource}: that is a board itself, no meter")
        self.name = printable(said)[:80]
        if self.unit == "degC":
            self._shift = self._degrees()

    def _degrees(self) -> float:
        """Return what to add to the meter's reading for degC: it may be set to kelvin."""
        said = self._ask("UNIT:TEMP?")
        if said is None or said.upper() in ("C", "CEL"):
            self._do("*CLS")  # a meter of one unit only has an error to say now
            return 0.0
        if said.upper() == "K":
            return -273.15
        raise BenchError(f"{self.resource}: set to {printable(said)[:_SHOWN]}, asked for degC")

    def __call__(self) -> Reading:
        said = self._ask(self.query)
        if said is None:
            raise BenchError(
                f"{self.resource}: no answer to {self.query}: does it measure that? is it busy?"
            )
        try:
            return self._checked(said)
        except ValueError as error:
            raise BenchError(f"{self.resource}: {self.query}: {error}") from None

    def _checked(self, said: str) -> float:
        if not self._shift:
            return number_in(said, self.unit)
        return number_in(f"{number_in(said, 'K') + self._shift:.9g}", self.unit)

    def _do(self, command: str) -> None:
        try:
            self._session.write(command)
        except self._errors as error:
            raise self._said(error) from None

    def _ask(self, query: str) -> str | None:
        """Return the reply; None where none comes in time."""
        import pyvisa

        try:
            return str(self._session.query(query)).strip()
        except pyvisa.VisaIOError as error:
            if error.error_code == pyvisa.constants.StatusCode.error_timeout:
                return None
            raise self._said(error) from None
        except UnicodeDecodeError:
            raise BenchError(f"{self.resource}: {query}: it answers no text") from None
        except self._errors as error:
            raise self._said(error) from None

    def _said(self, error: Exception) -> BenchError:
        first = str(error).strip().splitlines() or [type(error).__name__]
        return BenchError(printable(f"{self.resource}: {first[0]}"))

    def close(self) -> None:
        """Let the meter go, which may be gone already."""
        for end in (self._session.close, self._manager.close):
            with contextlib.suppress(*self._errors):
                end()


def _visa(where: str, quantity: str, unit: str) -> Meter:
    resource, _, query = where.partition(",")
    if not query and quantity not in QUERIES:
        raise BenchError(f"visa:{printable(where)}: name the query for {quantity} behind a comma")
    return Scpi(resource, query or QUERIES[quantity], unit)


_KINDS: Mapping[str, Callable[[str, str, str], Meter]] = {
    "csv": FromFile,
    "visa": _visa,
}


def open_meter(spec: str, quantity: str, unit: str) -> Meter:
    """Return what gives one reading of `quantity` in `unit` at a call.

    Parameters
    ----------
    spec : ``typed``, ``csv:FILE`` or ``visa:RESOURCE``; see the module.
    quantity : what is read, for prompt, column and query: a key of `QUERIES`, or another word.
    unit : A, V, W or degC.

    Raises
    ------
    BenchError
        No such spec, file, column or meter, or one that does not answer.
    Missing
        PyVISA is not installed.
    """
    if spec == "typed":
        return Typed(quantity, unit)
    kind, _, where = spec.partition(":")
    if kind not in _KINDS or not where:
        raise BenchError(f"meter {printable(spec)}: write typed, csv:FILE or visa:RESOURCE")
    return _KINDS[kind](where, quantity, unit)
