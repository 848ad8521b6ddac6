"""A board that is watched: the live view, plain lines without a terminal, and what it came to."""

import signal
import sys
import time
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path

from rich.live import Live
from rich.table import Table
from rich.text import Text

from diodewright.bench import BenchError, Line
from diodewright.bench.boards import chosen
from diodewright.bench.keeping import Keeper, recovered
from diodewright.bench.outlook import LIMITS, Outlook
from diodewright.bench.record import Heard, provenance_of
from diodewright.bench.watch import Watch, other_build, refuse_unit, run_watch, serial_of
from diodewright.build import Build
from diodewright.derive import settings
from diodewright.report.keyboard import keys_pressed
from diodewright.report.terminal import block, screen
from diodewright.report.watch_summary import print_summary
from diodewright.report.watch_words import (
    NO_LINE,
    bound_words,
    cause_lines,
    mode_words,
    prospect_words,
    span,
)

__all__ = ["recover_watch", "show_watch"]

_KEYS = "o make dark (OUTPut OFF)    q end"
#: Without a terminal a line comes so often, and at once where the mode or a fault changes.
_PLAIN_S = 5.0
_FPS = 8


def show_watch(
    build: Build,
    port: str | None,
    path: Path | None,
    for_s: float | None,
    rate_Hz: int,
    unit: str = "",
    other: bool = False,
    as_json: bool = False,
) -> int:
    """Watch a board until a key, Ctrl-C or `for_s` [s] ends it; save what was heard; return 0.

    Parameters
    ----------
    port : None for the one board that is plugged in.
    unit : number of the chip that is meant; "" for any.
    other : watch a board of another build too, and say so all the time.

    Raises
    ------
    BenchError
        No such board, another one, or the recording can't be written.
    """
    where = chosen([port] if port else [], False)[0]
    limits = settings(build)
    line = Line(where)
    try:
        differs = _difference(build, unit, line, other)
        provenance = provenance_of(build, line.identity, rate_Hz)
        provenance["started"] = datetime.now(UTC).isoformat(timespec="seconds")
        keeper = Keeper(rate_Hz, provenance, path)
    except BaseException:
        line.close()
        raise
    for ending in (signal.SIGTERM, signal.SIGHUP):
        signal.signal(ending, signal.default_int_handler)
    watch = None
    try:
        watch = Watch(line, keeper, Outlook(limits), rate_Hz, serial_of(where))
        view = _View(build, limits, differs, watch)
        with keys_pressed() as keys, _shown(view, as_json) as show:
            run_watch(watch, keys, show, for_s)
    except KeyboardInterrupt:
        pass
    finally:
        if watch is not None:
            watch.end()
        saved = keeper.finish()
    print_summary(build, keeper.recorder.trace(), saved, as_json)
    if watch is not None and watch.over:
        raise BenchError(f"{where}: {watch.over}: that is another recording")
    return 0


def recover_watch(build: Build, path: Path, as_json: bool) -> int:
    """Make the recording at `path` of its side file, whose watching was cut off; return 0."""
    print_summary(build, recovered(path).trace(), path, as_json)
    return 0


def _difference(build: Build, unit: str, line: Line, other: bool) -> str:
    """Return how the board's build differs from `build`; BenchError where that is not taken."""
    try:
        refuse_unit(unit, line.identity)
        differs = other_build(build, line.identity)
        if differs and not other:
            raise BenchError(f"{differs}: name that build, flash this one, or use --other-build")
    except BenchError as error:
        raise BenchError(f"{line.name}: {error}") from None
    return differs


@dataclass
class _View:
    """What is shown of one watch."""

    build: Build
    limits: Mapping[str, int]
    differs: str
    watch: Watch

    def rows(self) -> list[tuple[str, str]]:
        """Return (label, text), the most urgent first; a label that is empty goes on."""
        watch = self.watch
        found = [("board", self._board())]
        if self.differs:
            found.append(("CAUTION", f"{self.differs}: limits and times below are not the board's"))
        if watch.lost:
            away_s = watch.clock() - watch.lost_at_s
            found.append(("NO LINE", f"for {away_s:.0f} s: {watch.lost}; waiting for this unit"))
            found.append(("", NO_LINE))
        else:
            found += _labelled("mode", mode_words(watch))
            if watch.seen is not None and watch.seen.words:
                found += self._readings(watch.seen)
        found += _labelled("record", self._record())
        return [*found, ("keys", _KEYS)]

    def _board(self) -> str:
        watch = self.watch
        return (
            f"{self.build.name} {self.build.fingerprint[:16]}, unit {watch.identity.unit}, "
            f"firmware {watch.identity.version}, {watch.port}"
        )

    def _readings(self, seen: Heard) -> list[tuple[str, str]]:
        def read(column: str, digits: int) -> str:
            return "-" if seen.mode == "boot" else f"{seen.value(column):.{digits}f}"

        return [
            ("current", f"{read('current_read_A', 3)} A; asked {read('drive_A', 3)} A, "
             f"allowed {read('allowed_A', 3)} A: {bound_words(seen)}"),
            ("volts", f"output {read('output_read_V', 2)} V, pack {read('pack_read_V', 2)} V, "
             f"at rest about {read('rest_law_V', 2)} V"),
            ("", f"pack dims from {self._volts('cutback_mV')} V, dark at "
             f"{self._volts('lockout_mV')} V, loaded at {self._volts('loaded_min_mV')} V"),
            ("heat", f"mount {read('mount_read_degC', 1)} °C, sink {read('sink_read_degC', 1)} °C, "
             f"junction about {read('junction_law_degC', 1)} °C"),
            ("", f"mount dims from {self._celsius('warm_cK')} to {self._celsius('hot_cK')} °C, "
             f"dark at {self._celsius('trip_cK')} °C"),
            ("cutback", prospect_words(self.watch.outlook.cutback())),
            ("lockout", prospect_words(self.watch.outlook.lockout())),
            *_labelled("fault", cause_lines(seen, self.watch.cause)),
        ]  # fmt: skip

    def _volts(self, word: str) -> str:
        return f"{self.limits[word] / 1000:.2f}"

    def _celsius(self, word: str) -> str:
        return f"{(self.limits[word] - 27_315) / 100:.0f}"

    def _record(self) -> list[str]:
        keeper, recorder = self.watch.keeper, self.watch.keeper.recorder
        text = (
            f"{span(recorder.length_s)}, {len(recorder) - recorder.gaps} readings, "
            f"gaps {recorder.gaps}, damaged lines {recorder.damaged}"
        )
        lines = [f"{keeper.path.name}: {text}" if keeper.path else f"not kept (no --out): {text}"]
        if keeper.stopped:
            lines.append(f"side file stopped, {keeper.stopped}: kept in memory alone until the end")
        return [*lines, *self.watch.said]

    def short(self) -> str:
        """Return one line for a log."""
        watch = self.watch
        seen = watch.seen
        if watch.lost or seen is None:
            return f"no line: {watch.lost or 'nothing heard yet'}; {NO_LINE}"
        parts = [f"{seen.time_s:.1f} s", mode_words(watch)[0]]
        if seen.words:
            parts += [text for label, text in self._readings(seen) if label in _SHORT]
            parts += cause_lines(seen, watch.cause) if seen.words["faults"] else []
            parts.append(f"cutback {prospect_words(watch.outlook.cutback())}")
            parts.append(f"lockout {prospect_words(watch.outlook.lockout())}")
        return "; ".join([*parts, *mode_words(watch)[1:]])

    def state(self) -> tuple[object, ...]:
        """Return what is told at once when it changes."""
        seen = self.watch.seen
        return (
            bool(self.watch.lost),
            seen.mode if seen else "",
            seen.words.get("faults", 0) if seen else 0,
            self.watch.gate,
            tuple(self.watch.said),
        )


_SHORT = {"current", "volts", "heat"}


def _labelled(label: str, lines: list[str]) -> list[tuple[str, str]]:
    return [(label if place == 0 else "", line) for place, line in enumerate(lines)]


def _drawn(view: _View) -> Table:
    drawn = Table(box=None, show_header=False, pad_edge=False, padding=(0, 1, 0, 0))
    drawn.add_column(min_width=8, no_wrap=True)
    drawn.add_column(overflow="fold")
    for label, text in view.rows():
        drawn.add_row(Text(label, "bold"), Text(text))
    return drawn


@contextmanager
def _shown(view: _View, as_json: bool) -> Iterator[Callable[[Watch], None]]:
    """Yield what shows the board's state: a live view, lines without a terminal, or nothing."""
    if as_json:
        yield lambda watch: None
        return
    out = screen()
    if sys.stdout.isatty():
        block(out, "limits", [LIMITS])
        with Live(_drawn(view), console=out, refresh_per_second=_FPS) as live:
            yield lambda watch: live.update(_drawn(view))
        return
    block(out, "board", [view.rows()[0][1], *([f"CAUTION {view.differs}"] if view.differs else [])])
    block(out, "limits", [LIMITS])
    yield _Plain(view)


class _Plain:
    """Prints a line every few seconds, and at once where something changes."""

    def __init__(self, view: _View) -> None:
        self._view = view
        self._state: tuple[object, ...] = ()
        self._at_s = 0.0

    def __call__(self, watch: Watch) -> None:
        state, now_s = self._view.state(), time.monotonic()
        if state == self._state and now_s - self._at_s < _PLAIN_S:
            return
        self._state, self._at_s = state, now_s
        said = f" [{'; '.join(watch.said)}]" if watch.said else ""
        sys.stdout.write(self._view.short() + said + "\n")
        sys.stdout.flush()
