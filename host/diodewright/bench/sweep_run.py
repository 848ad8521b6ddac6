"""A sweep at a board: steps by ``SOURce:CURRent``, light from a meter, the rest from telemetry.

The hand holds the trigger: serial can't light. The board's own current limit is set to the bound
first, so that it would refuse what this program must not ask for. Between two steps, and however
the sweep ends, the start level is asked for. Time at a step is the board's own: ticks of its
telemetry; the wall clock only decides when silence counts as such.

Limits. Rests are at the start level, not dark: a hand would have to let go and press again. The
board's limit stays where it is until it is dark and raised, or starts anew.
"""

import math
import time
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager, suppress
from dataclasses import dataclass

from diodedriver.acts import TELEMETRY
from diodedriver.selftest import STEPS
from diodewright.bench.line import Line, checked
from diodewright.bench.problems import BenchError
from diodewright.bench.sweep import Plan, Point, Step, Stop, Trail, next_step
from diodewright.build import Build
from diodewright.derive import settings
from diodewright.derive.electrics import parameters

__all__ = ["Frame", "Meter", "frame_of", "self_test_passed", "sweep_board"]

Meter = Callable[[], float]
_LIT = ("run", "limited")
_COMING = ("delay", "close", "start", "soft_start")
_HERTZ = 50
_PLACES = {name: at + 1 for at, (name, _) in enumerate(TELEMETRY)}
#: A meter that rises by more of the light than this within a step's readings has not settled.
_RISES = 0.004
_ROUNDS = 4
#: How long a trigger may take, and mount and heat budget between two steps [s].
PRESS_S = 120.0
PATIENCE_S = 300.0
#: Telemetry that fails for so long has ended [s].
SILENT_S = 5.0
_KELVIN_cK = 27315


@dataclass(frozen=True)
class Frame:
    """One line of telemetry: what a step needs of it."""

    mode: str
    tick: int
    current_A: float
    output_V: float
    mount_degC: float
    allowed_A: float

    @property
    def lit(self) -> bool:
        """Whether the law has the light on and its rise behind it."""
        return self.mode in _LIT


def frame_of(line: str) -> Frame | None:
    """Return what a line of telemetry says; None where it is damaged or the law does not run."""
    text = checked(line)
    words = [] if text is None else text.split(",")
    if len(words) != len(TELEMETRY) + 1:
        return None
    try:
        value = {name: int(words[at]) for name, at in _PLACES.items()}
    except ValueError:
        return None
    return Frame(
        words[0].lstrip("@"),
        value["tick"],
        value["current_mA"] / 1000,
        value["output_mV"] / 1000,
        (value["mount_cK"] - _KELVIN_cK) / 100,
        value["allowed"] / 1000,
    )


def self_test_passed(line: Line) -> None:
    """Raise BenchError where the board's self-test did not pass."""
    step = int(line.ask("*TST?"))
    if step < 0:
        raise BenchError(f"{line.name}: its self-test has not ended: key on, interlock closed?")
    if step > 0:
        name, points_to = STEPS[step - 1][0], STEPS[step - 1][4]
        raise BenchError(f"{line.name}: self-test failed at step {step}, {name}: {points_to}")


def sweep_board(
    line: Line,
    build: Build,
    meter: Meter,
    plan: Plan,
    say: Callable[[str], None] = lambda text: None,
    *,
    press_s: float = PRESS_S,
    patience_s: float = PATIENCE_S,
) -> tuple[Trail, Stop]:
    """Sweep the diode on the board behind `line`; return what was measured, and why it ended.

    Raises
    ------
    BenchError
        Another build's board, a failed self-test, no light, or port or meter gone; the start level
        was asked for first, where the port still takes it.
    """
    _same_build(line, build)
    self_test_passed(line)
    board = _Board(line, build, plan)
    with board.at_work():
        say(f"press the trigger and hold it: {plan.start_A:.3f} A")
        board.until_lit(press_s)
        board.wait(plan.settle_s)
        return board.sweep(meter, say, patience_s)


def _same_build(line: Line, build: Build) -> None:
    if line.identity.build != build.fingerprint[:16]:
        raise BenchError(
            f"{line.name}: flashed for build {line.identity.build}, {build.name} is "
            f"{build.fingerprint[:16]}: the bound would be another diode's; flash it first"
        )


class _Board:
    """One board during a sweep; `frames` are those of the step that runs."""

    def __init__(self, line: Line, build: Build, plan: Plan) -> None:
        self.line, self.plan = line, plan
        self.frames: list[Frame] = []
        self.last: Frame | None = None
        p = parameters(build)
        self.path_ohm = p.series_ohm + p.a_ohm
        self.start_A = settings(build)["start_mA"] / 1000
        self.first_degC: float | None = None

    @contextmanager
    def at_work(self) -> Iterator[None]:
        """Bound the board, ask for the start level, listen; and the same again at the end."""
        self.line.tell(f"CURR {self.start_A:.3f}")
        self.line.tell(f"CURR:LIM {max(self.plan.bound_A, self.start_A):.3f}")
        try:
            self.line.tell(f"TEL {_HERTZ}")
            yield
        finally:
            with suppress(BenchError):  # a port that is gone can't be asked; the first error counts
                self.line.tell(f"CURR {self.start_A:.3f}")
                self.line.tell("TEL 0")

    # time

    def _hear(self) -> None:
        """Take in what the board sent."""
        self.line.listen(0.01)
        while self.line.heard:
            frame = frame_of(self.line.heard.popleft())
            if frame is not None:
                self.frames.append(frame)
                self.last = frame

    def wait(self, for_s: float) -> None:
        """Let board time pass [s]; BenchError where it falls silent."""
        self.frames.clear()
        heard_s, until = time.monotonic(), None
        while True:
            count = len(self.frames)
            self._hear()
            if len(self.frames) > count:
                heard_s = time.monotonic()
                until = self.frames[0].tick + 1000 * for_s if until is None else until
                if self.frames[-1].tick >= until:
                    return
            elif time.monotonic() - heard_s > SILENT_S:
                raise BenchError(f"{self.line.name}: no telemetry for {SILENT_S:g} s")

    def until_lit(self, most_s: float) -> None:
        """Wait for the trigger, by wall clock: a hand has no other."""
        until_s = time.monotonic() + most_s
        while self.last is None or not self.last.lit:
            self._hear()
            if time.monotonic() > until_s:
                mode = self.last.mode if self.last else "silent"
                raise BenchError(
                    f"{self.line.name}: no light within {most_s:g} s (mode {mode}); begin again"
                )

    # steps

    def sweep(
        self, meter: Meter, say: Callable[[str], None], patience_s: float
    ) -> tuple[Trail, Stop]:
        trail = Trail()
        try:
            while True:
                found = next_step(trail, self.plan)
                if isinstance(found, Stop):
                    return trail, found
                self._cool(found, patience_s)
                trail = trail.after(self._measure(found, meter), self.plan)
                point = trail.points[-1]
                say(f"{point.asked_A:.3f} A  {point.volts_V:.3f} V  {point.light_W:.4f} W")
                self.line.tell(f"CURR {self.start_A:.3f}")
        except KeyboardInterrupt:
            at_A = trail.points[-1].asked_A if trail.points else 0.0
            return trail, Stop("ended", at_A, f"ended by hand behind {at_A:.3f} A")

    def _cool(self, step: Step, patience_s: float) -> None:
        """Rest at the start level until mount and heat budget are ready for `step`."""
        self.wait(self.plan.rest_s)
        waited_s = 0.0
        while waited_s < patience_s and not self._ready(step):
            self.wait(1.0)
            waited_s += 1.0

    def _ready(self, step: Step) -> bool:
        last = self.last
        if last is None or not last.lit:
            return True  # what is amiss will be told by the step
        if self.first_degC is None:
            self.first_degC = last.mount_degC
        cool = last.mount_degC <= self.first_degC + self.plan.warmer_K
        return cool and last.allowed_A >= step.asked_A

    def _measure(self, step: Step, meter: Meter) -> Point:
        self.line.tell(f"CURR {step.asked_A:.3f}")
        settle_s = self.plan.settle_s
        for _ in range(_ROUNDS):
            self.wait(settle_s)
            self.frames.clear()
            light = self._read(step, meter)
            while not self.frames:  # a quick meter was done before the board said anything
                self._hear()
            if not _rising(light):
                break
            settle_s *= 2
        lit = all(frame.lit for frame in self.frames)
        current_A = _mean([frame.current_A for frame in self.frames]) if lit else 0.0
        output_V = _mean([frame.output_V for frame in self.frames])
        return Point(
            step.asked_A,
            current_A,
            output_V - current_A * self.path_ohm,
            _mean(light),
            _error(light, self.plan),
            _mean([frame.mount_degC for frame in self.frames]),
            not _rising(light),
        )

    def _read(self, step: Step, meter: Meter) -> list[float]:
        """Repeat readings until the light is known well enough, or there are as many as may be."""
        light: list[float] = []
        while len(light) < self.plan.readings_most:
            light.append(meter())
            self._hear()
            if self.last is not None and not self.last.lit:
                break
            if len(light) >= self.plan.readings and _error(light, self.plan) <= step.error_W:
                break
        return light


def _mean(values: Sequence[float]) -> float:
    return sum(values) / len(values)


def _error(light: Sequence[float], plan: Plan) -> float:
    """Return the standard error of the mean [W]; of one reading what its meter is taken for."""
    if len(light) < 2:
        return plan.one_error * abs(light[0]) + 1e-4
    mean = _mean(light)
    square = sum((value - mean) ** 2 for value in light) / (len(light) - 1)
    return math.sqrt(square / len(light))


def _rising(light: Sequence[float]) -> bool:
    """Return whether the readings of one step still rise: then the meter lags."""
    half = len(light) // 2
    if half < 3:
        return False
    early, late = light[:half], light[-half:]
    scatter = math.sqrt(sum((v - _mean(part)) ** 2 for part in (early, late) for v in part))
    error = scatter / math.sqrt(max(2 * half - 2, 1)) * math.sqrt(2 / half)
    return _mean(late) - _mean(early) > max(4 * error, _RISES * abs(_mean(late)))
