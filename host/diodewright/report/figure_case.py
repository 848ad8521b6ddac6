"""The figure of one fault case: what truly happened and what the law saw, around the fault."""

from collections.abc import Callable, Mapping, Sequence

from matplotlib.axes import Axes

from diodewright.report.drawing import Limit, Line, Values, curves, event_marks, png, strip, svg
from diodewright.report.figures import CURRENT, MODES
from diodewright.sim import Trace

__all__ = ["case_figure", "case_picture", "shown_ms"]

#: What is shown before the fault [ms].
_BEFORE_MS = 20.0
#: A case this long or longer is drawn in seconds, with its temperatures [ms].
_LONG_MS = 2_000.0
#: Shown after the fault at least [ms].
_LEAST_MS = 40.0
#: The row of axes that carries the texts of events.
_TEXTS_IN = 1

Columns = Mapping[str, Values]
#: What `svg` and `png` take behind a figure's name: heights, drawers, label of the common axis.
_Laid = tuple[list[float], list[Callable[[Axes], None]], str]


def shown_ms(time_to_dark_ms: float | None, last_ms: float) -> float:
    """Return up to which time after the fault [ms] a case is drawn.

    Three times as long as it took to get dark, and at least 40 ms; the whole case where it stayed
    lit until the release.
    """
    if time_to_dark_ms is None:
        return last_ms
    return min(max(3 * time_to_dark_ms, _LEAST_MS), last_ms)


def _currents(axes: Axes, x: Values, of: Columns, limits: Sequence[Limit]) -> None:
    lines = [
        Line(of["drive_A"], "drive, asked by the law", "red", "drive"),
        Line(of["diode_A"], "diode, true", "blue"),
        Line(of["current_read_A"], "diode, sensed", "ink", "sensed"),
    ]
    curves(axes, x, lines, CURRENT, limits, held=True)
    axes.set_ylim(bottom=0)


def _light(axes: Axes, x: Values, of: Columns) -> None:
    curves(axes, x, [Line(of["light_W"], "light, true", "plum")], "light [W]", held=True)
    axes.set_ylim(bottom=0)


def _volts(axes: Axes, x: Values, of: Columns) -> None:
    lines = [
        Line(of["pack_V"], "pack, true", "green", "true", "s"),
        Line(of["pack_read_V"], "pack, sensed", "green", "sensed"),
        Line(of["output_V"], "output, true", "blue", "true", "o"),
        Line(of["output_read_V"], "output, sensed", "blue", "sensed"),
    ]
    curves(axes, x, lines, "voltage [V]", held=True)


def _temperatures(axes: Axes, x: Values, of: Columns) -> None:
    lines = [
        Line(of["junction_degC"], "junction, true", "red", "true", "o"),
        Line(of["junction_law_degC"], "junction, the law's estimate", "red", "law"),
        Line(of["mount_degC"], "mount, true", "blue", "true", "s"),
        Line(of["mount_read_degC"], "mount, sensed", "blue", "sensed"),
    ]
    curves(axes, x, lines, "temperature [°C]", held=True)


def _modes(axes: Axes, x: Values, of: Columns) -> None:
    strip(axes, x, of["mode"], MODES, "mode [name]")


def case_figure(
    trace: Trace, strike_s: float, time_to_dark_ms: float | None, limits: Sequence[Limit]
) -> str:
    """Return the case as SVG: current, light, voltages, mode; temperatures where it is long.

    Parameters
    ----------
    strike_s : when the fault struck, in the Trace's time [s].
    limits : at most two horizontal lines for the current [A].
    """
    laid = _laid_out(trace, strike_s, time_to_dark_ms, limits, "the fault")
    return svg("case", *laid, paper="white")


def case_picture(
    trace: Trace,
    zero_s: float,
    time_to_dark_ms: float | None,
    limits: Sequence[Limit],
    zero: str = "the fault",
) -> bytes:
    """Return what `case_figure` draws as PNG; `zero` says what happened at `zero_s` [s]."""
    return png("case", *_laid_out(trace, zero_s, time_to_dark_ms, limits, zero))


def _laid_out(
    trace: Trace,
    strike_s: float,
    time_to_dark_ms: float | None,
    limits: Sequence[Limit],
    zero: str,
) -> _Laid:
    end_ms = shown_ms(time_to_dark_ms, 1000 * (float(trace["time_s"][-1]) - strike_s))
    long = end_ms >= _LONG_MS
    scale = 1.0 if long else 1000.0
    time = scale * (trace["time_s"] - strike_s)
    before_ms = 0.05 * end_ms if long else _BEFORE_MS
    part = (time >= -before_ms * scale / 1000) & (time <= end_ms * scale / 1000)
    x = time[part]
    of = {name: values[part] for name, values in trace.columns.items()}
    marks = [(scale * (at - strike_s), text) for at, text in dict.fromkeys(trace.events)]

    def marked(row: int, draw: Callable[..., None], *more: object) -> Callable[[Axes], None]:
        def into(axes: Axes) -> None:
            draw(axes, x, of, *more)
            event_marks(axes, [(at, text if row == _TEXTS_IN else "") for at, text in marks])

        return into

    rows: list[tuple[float, Callable[..., None]]] = [(0.9, _light), (1.4, _volts)]
    rows += [(1.5, _temperatures)] if long else []
    rows += [(0.8, _modes)]
    return (
        [1.8, *(height for height, _ in rows)],
        [
            marked(0, _currents, limits),
            *(marked(row, draw) for row, (_, draw) in enumerate(rows, 1)),
        ],
        f"time from {zero} [{'s' if long else 'ms'}]",
    )
