"""A calibration: a line with an uncertainty that is true, safe words, and what it refuses."""

import io
import math
import sys
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import pytest
from hidden import HiddenBoard
from scipy import stats
from scpi_meter import ScpiMeter

from diodewright.bench import BenchError
from diodewright.bench.calibrate import Calibrated, calibrated
from diodewright.bench.calibrate_guide import Asked, guided
from diodewright.bench.calibrate_keys import as_line, back
from diodewright.bench.calibrate_line import COVER, Fitted, Point, straight_line
from diodewright.bench.calibrate_rows import ROWS
from diodewright.bench.calibrate_take import points_of
from diodewright.bench.calibrate_trip import STUDENT, tripped
from diodewright.build import load, template
from diodewright.derive import plant_values, settings
from diodewright.report.figure_calibrate import calibration_figure

DUMMY = "smoke_tunnel_dummy"
BUILD = load(DUMMY)
TRUES = {
    "current": (0.15, 0.6, 1.05, 1.5),
    "output": (3.0, 3.8, 4.6, 5.4),
    "pack": (6.0, 6.8, 7.6, 8.4),
    "mount": (0.0, 24.0, 50.0),
    "sink": (0.0, 24.0, 50.0),
}
#: A good bench meter, % of reading; a good thermometer, K.
ACCURACY = {"current": 0.05, "output": 0.02, "pack": 0.02, "mount": 0.1, "sink": 0.1}


def fit(quantity: str, points: list[Point]) -> Fitted:
    row = ROWS[quantity]
    straight = [
        replace(point, read=as_line(row, point.read), true=as_line(row, point.true))
        for point in points
    ]
    span, uneven = row.least_span(BUILD), row.uneven(BUILD)
    return straight_line(straight, span, uneven, row.unit, row.noun)


def test_the_line_is_that_of_the_guide_s_own_example() -> None:
    # JCGM 100:2008, H.3: a thermometer's correction over its reading, 11 points; results there:
    # intercept -0.1712 at 20 degC, s 0.0029; slope 0.00218, s 0.00067; at 30 degC -0.1494, s 0.0041
    read = (21.521, 22.012, 22.512, 23.003, 23.507, 23.999, 24.513, 25.002, 25.503, 26.010, 26.511)
    off = (-171, -169, -166, -159, -164, -165, -156, -157, -159, -161, -160)
    points = [Point(t, 0.0, t + b / 1000, 1e-4) for t, b in zip(read, off, strict=True)]
    line = straight_line(points, 1.0, 1.0, "degC", "thermometer")
    assert round(line.true(20.0) - 20.0, 4) == -0.1712
    assert round(line.slope - 1.0, 5) == 0.00218
    assert round(line.u(20.0), 4) == 0.0029
    assert round(line.slope_u, 5) == 0.00067
    assert round(line.true(30.0) - 30.0, 4) == -0.1494
    assert round(line.u(30.0), 4) == 0.0041


def coverage(quantity: str, seeds: int, accuracy: float) -> tuple[int, int]:
    """Return how often the interval of 95 % holds the true gain, and the truth at a new point."""
    row, gains, truths = ROWS[quantity], 0, 0
    meter = accuracy / math.sqrt(3.0)
    for seed in range(seeds):
        board = HiddenBoard(BUILD, seed)
        line = fit(quantity, board.points(quantity, TRUES[quantity], accuracy))
        at = 0.93 * TRUES[quantity][-1]
        read = as_line(row, board.mean(quantity, at, 1500)[0])
        if row.is_temperature:
            gains += 1
            u = math.hypot(line.u(read), meter)
        else:
            gain_u = math.hypot(line.slope_u, line.slope * meter / 100)
            gains += abs(line.slope - true_gain(quantity, board)) <= COVER * gain_u
            u = math.hypot(line.u(read), at * meter / 100)
        truths += abs(back(row, line.true(read)) - at) <= COVER * u
    return gains, truths


def true_gain(quantity: str, board: HiddenBoard) -> float:
    """Return truth per reading of a hidden board, from its parts."""
    reference_V = board.parameter("rail_nominal_V") * board.parameter("ref_gain")
    law = 4096 / 4095 * reference_V
    if quantity == "current":
        pin_V_A = board.parameter("monitor_ohm") * board.parameter("monitor_gain_V_V")
        return law / pin_V_A / (board.words["current_full_mA"] / 1000)
    ratio = board.parameter(f"{quantity}_ratio")
    return law / ratio / (board.words[f"{quantity}_full_mV"] / 1000)


@pytest.mark.parametrize("quantity", ["current", "pack", "output", "mount"])
def test_the_stated_interval_holds_the_hidden_truth(quantity: str) -> None:
    # a meter without error is the sharp case: nothing but the fit's own interval is left
    gains, truths = coverage(quantity, 20, 1e-4)
    assert gains >= 16 and truths >= 16


@pytest.mark.long
@pytest.mark.parametrize("accuracy", [1e-4, 0.1])
@pytest.mark.parametrize("quantity", ["current", "pack", "output", "mount"])
def test_of_a_hundred_calibrations_88_or_more_hold_the_truth(
    quantity: str, accuracy: float
) -> None:
    gains, truths = coverage(quantity, 100, accuracy)
    assert 88 <= gains <= 100 and 88 <= truths <= 100


def known(quantity: str, gain: float, zero: float = 0.0) -> list[Point]:
    """Return points of a board that reads (truth - zero) / gain."""
    return [
        Point((true - zero) / gain, 1e-4, true, 1e-4 * max(true, 1.0)) for true in TRUES[quantity]
    ]


def said_of(quantity: str, points: list[Point], accuracy: float | None = None) -> Calibrated:
    return calibrated(
        DUMMY, quantity, points, ACCURACY[quantity] if accuracy is None else accuracy, "a meter"
    )


@pytest.mark.parametrize(
    ("quantity", "word", "gain", "safe"),
    [
        ("current", "current_full_mA", 1.00733, math.ceil),
        ("current", "current_full_mA", 0.99121, math.ceil),
        ("output", "output_full_mV", 1.00416, math.ceil),
        ("pack", "pack_full_mV", 1.00416, math.floor),
        ("pack", "pack_full_mV", 0.99333, math.floor),
    ],
)
def test_each_word_is_rounded_to_its_safe_side(
    quantity: str, word: str, gain: float, safe: Callable[[float], int]
) -> None:
    done = said_of(quantity, known(quantity, gain))
    nominal = settings(BUILD)[word]
    assert settings(done.edits[0].build)[word] == safe(round(nominal * gain, 3))


def test_a_zero_that_reads_high_becomes_a_code_taken_off_rounded_to_read_high() -> None:
    done = said_of("current", known("current", 1.0, zero=-0.0037))  # reads 3.7 mA at nothing
    words = settings(done.edits[0].build)
    assert words["current_zero_code"] == math.floor(0.0037 / 2.0 * 4096)
    assert done.result.zero == pytest.approx(0.0037, abs=2e-5)
    assert plant_values(done.edits[0].build)["monitor_zero_V"] == pytest.approx(0.0055, abs=1e-4)


def test_a_zero_that_reads_low_is_told_for_no_word_can_hold_it() -> None:
    done = said_of("current", known("current", 1.0, zero=0.004))
    words = settings(done.edits[0].build)
    assert words["current_zero_code"] == 0
    assert "no word can hold" in done.result.notes[0]
    top_A = (1.5 - 0.004) * words["current_full_mA"] / 2000
    assert 1.5 <= top_A < 1.5015  # right, or a hair high, at the highest level
    assert done.result.keys["calibration.current_zero_off_mV"] >= 6.0


@pytest.mark.parametrize("quantity", ["current", "output", "pack", "mount"])
def test_calibrated_words_read_the_hidden_board_right_and_on_the_safe_side(quantity: str) -> None:
    low = {"pack": -1.0}.get(quantity, 1.0)
    for seed in range(6):
        board = HiddenBoard(BUILD, seed)
        done = said_of(quantity, board.points(quantity, TRUES[quantity], ACCURACY[quantity]))
        after = HiddenBoard(BUILD, seed, words_of=done.edits[0].build)
        true = TRUES[quantity][-1]
        error = after.mean(quantity, true, 400)[0] - true
        off = done.result.off if ROWS[quantity].is_temperature else done.result.off / 100 * true
        assert abs(error) < off
        # beside meter and noise the rounding itself goes to the safe side
        assert (
            low * error
            > -ACCURACY[quantity] * (1 if ROWS[quantity].is_temperature else true / 100) - 0.004
        )


def test_it_buys_distance_to_the_trip_and_says_how_much() -> None:
    done = said_of("current", known("current", 1.004))
    latch = next(band for band in done.bands if band.row == "latch")
    assert latch.needed_after < latch.needed_before
    assert latch.spare_after > latch.spare_before > 0
    assert ("current_full_mA", 2000, 2008) in done.words


def test_a_better_meter_buys_more_and_a_poor_one_nothing() -> None:
    good, fair = (said_of("current", known("current", 1.004), each) for each in (0.02, 0.2))
    assert good.result.off < fair.result.off < good.result.off_before
    with pytest.raises(BenchError, match="nothing is gained"):
        said_of("current", known("current", 1.004), 1.0)


def test_a_temperature_s_error_is_taken_out_of_the_one_table_by_the_mount() -> None:
    row = ROWS["mount"]
    shifted = [
        Point(back(row, as_line(row, true) + 0.6), 1e-3, true, 1e-3) for true in TRUES["mount"]
    ]
    done = said_of("mount", shifted)
    assert done.result.zero == pytest.approx(0.6, abs=0.01)
    assert done.result.keys["calibration.ntc_shift_K"] == pytest.approx(-0.6, abs=0.011)
    before, after = settings(BUILD), settings(done.edits[0].build)
    assert after["ntc_16_cK"] - before["ntc_16_cK"] in (-60, -61, -59)
    # the sink's thermistor, not measured, is off by that shift besides
    assert done.edits[0].build.calibration.sink_off_K is None
    heat = next(band for band in done.bands if band.row == "heat")
    assert heat.needed_after > heat.needed_before - 1.0


@pytest.mark.parametrize(
    ("points", "said"),
    [
        (known("current", 1.0)[:1], "1 point: a line takes two"),
        ([], "0 point"),
        (known("current", 1.0)[:2], "0.45 A apart by the meter, at least 0.6 A"),
        (
            [replace(point, read=0.5) for point in known("current", 1.0)],
            "another channel, a broken wire, or the meter is elsewhere",
        ),
        (
            [*known("current", 1.0), Point(0.8, 1e-4, 0.88, 1e-4)],
            "contradict each other: 0.88 A",
        ),
        (known("current", 2.02), "a resistor of half the value: sensors.monitor_shunt_mohm"),
        (known("current", 0.5), "a resistor of twice the value"),
        (known("current", 10.0), "a meter's range or unit"),
        (known("current", 0.1), "a meter's range or unit"),
        (known("current", -1.0), "the meter's leads are swapped"),
        (known("current", 1.05), "wired without its own taps"),
        (known("current", 1.0, zero=-0.05), "something beside the meter carries current"),
    ],
)
def test_what_is_no_calibration_is_refused_with_what_is_probably_wrong(
    points: list[Point], said: str
) -> None:
    with pytest.raises(BenchError, match=said) as refused:
        said_of("current", points)
    assert "\n" not in str(refused.value)


def test_uneven_codes_are_no_contradiction_yet() -> None:
    points = known("current", 1.0)
    points[1] = replace(points[1], read=points[1].read + 0.003)  # six codes
    line = fit("current", points)
    assert line.scatter > 1 and line.slope_u > fit("current", known("current", 1.0)).slope_u


def test_a_thermistor_of_another_curve_is_refused() -> None:
    with pytest.raises(BenchError, match="another one than the build file says"):
        said_of("mount", [Point(true * 1.1, 0.01, true, 0.01) for true in (0.0, 24.0, 60.0)])


def test_a_second_calibration_starts_from_the_first_one_s_words(tmp_path: Path) -> None:
    file = tmp_path / "lamp.toml"
    file.write_text(template("lamp", DUMMY))
    first = calibrated(str(file), "current", known("current", 1.008), 0.05, "a meter")
    first.edits[0].write()
    again = calibrated(str(file), "current", known("current", 1.0), 0.05, "a meter")
    assert again.result.gain == pytest.approx(1.008, abs=2e-4)
    assert dict(again.words) == {} or all(abs(a - b) <= 2 for _, a, b in again.words)


# trip


def test_student_s_t_is_that_of_the_tables() -> None:
    for free, factor in enumerate(STUDENT, start=1):
        assert factor == pytest.approx(stats.t.ppf(0.99865, free), rel=2e-3)


def test_a_trip_that_was_measured_narrows_its_band_and_buys_distance() -> None:
    done = tripped(DUMMY, [1.742, 1.743, 1.742, 1.744, 1.743, 1.742], 0.1, "a meter")
    low_A, high_A = done.band_A
    assert 1.70 < low_A < 1.742 and 1.744 < high_A < 1.79
    assert done.edits[0].build.comparator.trip_min_A == low_A
    latch = next(band for band in done.bands if band.row == "latch")
    assert latch.spare_after > latch.spare_before


@pytest.mark.parametrize(
    ("readings_A", "said"),
    [
        ([1.742, 1.743], "2 approaches, at least 3"),
        ([1.90, 1.91, 1.90], "lies outside of the parts' 1.68 to 1.82 A: R4's taps"),
        ([1.70, 1.74, 1.80], "nothing is gained"),
    ],
)
def test_a_trip_that_says_nothing_is_refused(readings_A: list[float], said: str) -> None:
    with pytest.raises(BenchError, match=said):
        tripped(DUMMY, readings_A, 0.1, "a meter")


# points of a file


def test_points_of_a_file_carry_their_scatter_or_the_board_s_own_step(tmp_path: Path) -> None:
    file = tmp_path / "points.csv"
    file.write_text(
        "# last week\nmeter_A,board_A,board_scatter_A\n0.1512,0.150,0.0002\n1512 mA,1.5,\n"
    )
    first, second = points_of(file, ROWS["current"], 0.1)
    assert (first.read, first.true, first.read_u) == (0.15, 0.1512, 0.0002)
    assert second.true == 1.512 and second.read_u == pytest.approx(0.001 / math.sqrt(12))


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("", "no column board_A; it needs board_A and meter_A"),
        ("board_A\n1\n", "no column meter_A"),
        ("board_A,meter_A\n0.1,9.9E37\n", "row 2: '9.9E37': overload"),
        ("board_A,meter_A\n0.1,0.1 V\n", "is in V, asked for A"),
        ("board_A,meter_A\n0.1\n", "is no number"),
    ],
)
def test_a_file_that_holds_no_points_is_one_line(tmp_path: Path, text: str, said: str) -> None:
    file = tmp_path / "points.csv"
    file.write_text(text)
    with pytest.raises(BenchError, match=said):
        points_of(file, ROWS["current"], 0.1)


# what goes wrong at the port: a board made of answers


@pytest.fixture
def lamp(tmp_path: Path) -> str:
    file = tmp_path / "lamp.toml"
    file.write_text(template("lamp", DUMMY))
    return str(file)


def asked(file: str, port: str, ask: Callable[[str], str]) -> Asked:
    return Asked(file, "pack", port, "typed", 0.1, None, (), False, ask, lambda _: None)


def board(lamp: str, reading: str) -> ScpiMeter:
    answers = {"SYST:ERR?": '0,"No error"', "MEAS:VOLT:PACK?": reading}
    return ScpiMeter(answers, f"diodewright,{load(lamp).fingerprint[:16]},e6,1")


@pytest.mark.parametrize(
    ("reading", "said"),
    [
        ("9.91E+37", "no reading yet: its law does not run"),
        ("seven", "MEAS:VOLT:PACK.: seven is no reading"),
        ("1.0,2.0", "is no reading"),
    ],
)
def test_garbage_from_a_board_is_one_line(lamp: str, reading: str, said: str) -> None:
    with board(lamp, reading) as bench, pytest.raises(BenchError, match=said) as refused:
        guided(asked(lamp, bench.port, lambda _: "\n"))
    assert "\n" not in str(refused.value)


def test_a_port_that_vanishes_between_two_points_is_one_line(
    lamp: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(sys, "stdin", io.StringIO("8.4\n7.4\n"))
    with board(lamp, "8.400") as bench:

        def pulled(text: str) -> str:
            if "point 2" in text:
                bench.pull()
            return "\n"

        with pytest.raises(BenchError, match="the port is gone"):
            guided(asked(lamp, bench.port, pulled))


def test_the_figure_says_its_residuals_in_words_and_repeats_to_the_byte() -> None:
    done = said_of("mount", HiddenBoard(BUILD, 2).points("mount", TRUES["mount"], 0.1))
    drawn = calibration_figure(done)
    assert drawn == calibration_figure(done)
    assert "off the line [K]: residuals" in drawn and "mount, by the meter" in drawn
