"""What is drawn of a stream: no peak is lost between two pixels, and no gap is bridged."""

from collections.abc import Callable
from typing import Any

import numpy as np
import pytest

_DRAWN = """async ([columns, seconds, frames]) => {
    const { Bins } = await import(new URL('file/bins.js', document.baseURI));
    const bins = new Bins(columns);
    bins.setWindow(seconds);
    const places = bins.low[0].length;
    for (const [count, values] of frames) {
        bins.add(count, Float64Array.from(values, v => v === null ? NaN : v));
    }
    return [bins.drawn(columns.map((_, at) => at).slice(1)), places, bins.low[0].length, bins.gaps];
}"""


def _drawn(page: Any, seconds: float, *frames: np.ndarray) -> Any:
    """Return times and values as drawn; each frame has the time in its first row."""
    columns = [f"column_{at}" for at in range(len(frames[0]))]
    sent = [
        [frame.shape[1], [None if np.isnan(v) else float(v) for v in frame.ravel()]]
        for frame in frames
    ]
    (times, *values), before, after, gaps = page.evaluate(_DRAWN, [columns, seconds, sent])
    assert before == after, "what is kept has grown"
    return times, values, gaps


@pytest.mark.parametrize("seconds", [0.5, 20.0, 600.0])
def test_the_highest_and_the_lowest_of_the_window_are_drawn(
    serve: Callable[..., Any], look: Callable[..., Any], seconds: float
) -> None:
    """Held against NumPy: 30 s of every tick in frames of 50, a peak of one tick among them."""
    page = look(serve())
    time_s = np.arange(30_000) / 1000
    value = np.random.default_rng(3).normal(size=time_s.size)
    value[29_950] = 50.0
    rows = np.array([time_s, value])
    times, (drawn,), gaps = _drawn(page, seconds, *np.split(rows, 600, axis=1))
    assert gaps == 0
    assert times == sorted(times)
    assert len(times) <= 1202
    inside = value[time_s >= times[0] - 1e-9]
    known = [each for each in drawn if each is not None]
    assert max(known) == pytest.approx(inside.max())
    assert min(known) == pytest.approx(inside.min())


def test_a_gap_is_drawn_as_nothing(serve: Callable[..., Any], look: Callable[..., Any]) -> None:
    page = look(serve())
    rows = np.array([[0.0, 0.1, 0.2, 5.0, 5.1], [1.0, 1.0, np.nan, 2.0, 2.0]])
    times, (drawn,), gaps = _drawn(page, 20.0, rows)
    assert gaps == 1
    at = [each for each, value in zip(times, drawn, strict=True) if value is None]
    assert at == [pytest.approx(0.2, abs=0.04)] * 2


def test_a_gap_that_shares_a_bin_with_readings_breaks_the_line_all_the_same(
    serve: Callable[..., Any], look: Callable[..., Any]
) -> None:
    """Ten minutes on the screen: a bin is a second wide, the gap but a tenth of one."""
    page = look(serve())
    rows = np.array([[1.0, 2.1, 2.2, 2.9, 4.0], [1.0, 1.0, np.nan, 1.0, 1.0]])
    _, (drawn,), _ = _drawn(page, 600.0, rows)
    assert drawn == [1.0, 1.0, None, None, 1.0, 1.0]
