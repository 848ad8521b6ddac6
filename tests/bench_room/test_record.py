"""Telemetry becomes a Trace: units, gaps, restarts, damaged lines; and its files."""

import json
from collections.abc import Callable
from pathlib import Path
from zlib import crc32

import numpy as np
import pytest

from diodedriver import acts, words
from diodewright.bench import BenchError
from diodewright.bench.record import COLUMNS, Recorder, load, save, words_of
from diodewright.sim import Trace

#: One line in the words' units, by hand.
SAID = {
    "drive": 96_000,
    "trim": words.TRIM_BIAS - 640,
    "duty": 700,
    "enable": 7,
    "allowed": 1575,
    "bound": 1,
    "current_mA": 1498,
    "output_mV": 4700,
    "pack_mV": 7300,
    "rest_mV": 7480,
    "indicator_uA": 5000,
    "mount_cK": 30_000,
    "sink_cK": 27_215,
    "junction_cK": 35_000,
    "pins": 7,
    "level": 2,
}


def said(tick: int, mode: str = "run", **changed: int) -> str:
    """Return a line as a board sends it."""
    values = {"tick": tick, **SAID, **changed}
    text = ",".join(["@" + mode, *(str(values.get(name, 0)) for name, _ in acts.TELEMETRY)])
    return f"{text},{crc32(text.encode()):08X}"


def recorded(*lines: tuple[float, str]) -> Recorder:
    """Return what 10 lines a second left, each with the host's time [s]."""
    recorder = Recorder(10, {"build": "b"})
    for host_s, line in lines:
        recorder.take(line, host_s)
    return recorder


def test_words_become_columns_in_the_units_of_their_names() -> None:
    trace = recorded((5.0, said(1000)), (5.1, said(1100, "limited"))).trace()
    assert tuple(trace.columns) == COLUMNS
    first = {name: column[0] for name, column in trace.columns.items()}
    assert first == {
        "time_s": 0.0,
        "tick": 1000,
        "mode": 6,  # run, counted in words.MODES
        "current_read_A": 1.498,
        "output_read_V": 4.7,
        "pack_read_V": 7.3,
        "rest_law_V": 7.48,
        "mount_read_degC": 26.85,  # 300 K
        "sink_read_degC": -1.0,
        "junction_law_degC": 76.85,
        "drive_A": 1.5,  # 96000 sixty-fourths of a mA
        "trim_A": -0.01,
        "allowed_A": 1.575,
        "bound": 1,
        "indicator_read_A": 0.005,
        "faults": 0,
        "suspect": 0,
        "duty": 700,
        "enable": 7,
        "hard": 0,
        "pins": 7,
        "level": 2,
    }
    assert trace["time_s"].tolist() == [0.0, 0.1] and trace["mode"].tolist() == [6, 7]
    assert trace.provenance["gaps"] == 0 and trace.events == ()


def test_the_boards_tick_is_the_clock_and_not_the_hosts() -> None:
    trace = recorded((0.0, said(0)), (7.0, said(100)), (7.1, said(200))).trace()
    assert trace["time_s"].tolist() == [0.0, 0.1, 0.2]
    assert trace.events == ()


def test_a_gap_is_an_event_and_a_row_without_a_reading() -> None:
    trace = recorded((0.0, said(0)), (0.1, said(100)), (0.2, said(3300)), (0.3, said(3400))).trace()
    assert trace.events == ((0.2, "gap of 3.20 s"),)
    assert trace["time_s"].tolist() == [0.0, 0.1, 0.2, 3.3, 3.4]
    for name in set(COLUMNS) - {"time_s"}:
        assert np.isnan(trace[name]).tolist() == [False, False, True, False, False], name
    assert trace.provenance["gaps"] == 1


def test_a_single_lost_line_is_a_gap_and_a_line_a_little_late_is_none() -> None:
    trace = recorded((0.0, said(0)), (0.1, said(140)), (0.2, said(340))).trace()
    assert trace.events == ((0.24, "gap of 0.20 s"),)


@pytest.mark.parametrize(
    "broken",
    [
        said(100).replace("1498", "1499"),  # the sum
        said(100)[:-20],  # half a line
        "@run,1,2,7A2F0B11",
        "@barred",
        "no telemetry",
        said(100, "purple"),
        said(100, current_mA=10_001),  # beyond the word's range
        said(100, current_mA=-1),
    ],
)
def test_a_damaged_line_is_counted_and_leaves_a_gap(broken: str) -> None:
    trace = recorded((0.0, said(0)), (0.1, broken), (0.2, said(200))).trace()
    assert trace.provenance["damaged"] == 1
    assert trace.events == ((0.1, "gap of 0.20 s"),)
    assert len(trace) == 3


def test_ticks_that_begin_anew_are_a_restart_with_a_gap_by_the_hosts_clock() -> None:
    lines = ((0.0, said(60_000)), (0.1, said(60_100)), (4.6, said(200)), (4.7, said(300)))
    trace = recorded(*lines).trace()
    assert trace["time_s"].tolist() == [0.0, 0.1, 0.2, 4.6, 4.7]
    assert trace["tick"][3:].tolist() == [200, 300]
    assert [text for _, text in trace.events] == [
        "gap of about 4.5 s by the host's clock",
        "board restarted: its tick starts anew",
    ]
    assert (trace.provenance["gaps"], trace.provenance["restarts"]) == (1, 1)


def test_a_restart_is_believed_where_the_tick_alone_would_hide_it() -> None:
    recorder = recorded((0.0, said(0)), (0.1, said(100)))
    recorder.restarted(5.0)
    recorder.restarted(5.5)
    recorder.take(said(90_000), 100.1)
    trace = recorder.trace()
    assert trace["time_s"].tolist() == [0.0, 0.1, 0.2, 100.1]
    assert trace.provenance["restarts"] == 1


def test_a_tick_said_twice_is_kept_once() -> None:
    assert len(recorded((0.0, said(7)), (0.1, said(7)), (0.2, said(107))).trace()) == 2


def test_before_the_law_runs_there_is_no_row_and_in_boot_no_reading() -> None:
    text = "@testing"
    line = f"{text},{crc32(text.encode()):08X}"
    assert words_of(line) == ("testing", {})
    trace = recorded((0.0, line), (9.0, said(3, "boot")), (9.1, said(103, "dark"))).trace()
    assert trace["time_s"].tolist() == [0.0, 0.1]
    assert np.isnan(trace["mount_read_degC"]).tolist() == [True, False]
    assert trace["tick"].tolist() == [3, 103]


def test_a_recording_that_ends_without_its_board_ends_in_a_gap() -> None:
    recorder = recorded((0.0, said(0)), (0.1, said(100)))
    recorder.lost("the cable is out", 0.3)
    trace = recorder.trace()
    assert trace.events == ((0.2, "gap to the end"), (0.3, "the cable is out"))
    assert trace["time_s"].tolist() == [0.0, 0.1, 0.2] and np.isnan(trace["mode"][2])
    recorder.take(said(600), 0.6)  # it came back: one gap, with its length
    assert [text for _, text in recorder.trace().events] == ["gap of 0.50 s", "the cable is out"]


@pytest.mark.parametrize("ending", ["npz", "csv"])
def test_either_file_gives_back_every_bit(tmp_path: Path, ending: str) -> None:
    lines = ((0.0, said(0)), (0.1, said(100)), (2.0, said(2017)), (3.0, said(5)))
    trace = recorded(*lines).trace()
    trace.columns["drive_A"][:] /= 7  # digits that no short number has
    save(trace, tmp_path / f"r.{ending}")
    back = load(tmp_path / f"r.{ending}")
    assert back.events == trace.events and back.provenance == trace.provenance
    assert list(back.columns) == list(trace.columns)
    for name in COLUMNS:
        assert back[name].tobytes() == trace[name].tobytes(), name
    assert [path.name for path in tmp_path.iterdir()] == [f"r.{ending}"]


def _csv(text: str, head: str = '{"format": 1, "events": [], "provenance": {}}') -> bytes:
    return f"# {head}\n{text}".encode()


def _npz(path: Path, **arrays: object) -> None:
    head = np.array(json.dumps({"format": 1, "events": [], "provenance": {}}))
    np.savez(path, head=head, **arrays)  # type: ignore[arg-type]


#: file name, what makes it, what is said of it
WRONG: list[tuple[str, Callable[[Path], object], str]] = [
    ("a.txt", lambda p: p.write_text("x"), "a recording ends in .npz or .csv"),
    ("gone.npz", lambda p: None, "no such file"),
    ("folder.csv", lambda p: p.mkdir(), "is not a plain file"),
    ("a.npz", lambda p: p.write_bytes(b""), "no recording"),
    ("a.npz", lambda p: p.write_bytes(b"PK\x03\x04" + bytes(60)), "no recording"),
    ("a.npz", lambda p: np.savez(p, x=np.zeros(2)), "nothing in it is called 'head"),
    ("a.npz", lambda p: _npz(p, x=np.zeros(2)), "nothing in it is called 'time_s'"),
    ("a.npz", lambda p: _npz(p, time_s=np.zeros(2), x=np.zeros(3)), "differ in length"),
    ("a.npz", lambda p: _npz(p, time_s=np.zeros((2, 2))), "column time_s is no list of numbers"),
    ("a.npz", lambda p: _npz(p, time_s=np.array(["x"])), "column time_s is no list of numbers"),
    ("a.csv", lambda p: p.write_bytes(b"time_s\n1\n"), "line 1 is no comment"),
    ("a.csv", lambda p: p.write_bytes(b"# {\n"), "no recording"),
    ("a.csv", lambda p: p.write_bytes(_csv("", '{"format": 9}')), "line 1 says no format 1"),
    ("a.csv", lambda p: p.write_bytes(_csv("", '{"format": 1}')), "called 'events'"),
    ("a.csv", lambda p: p.write_bytes(_csv("time_s,x\n0,1\n1\n")), "line 4 has 1 values"),
    ("a.csv", lambda p: p.write_bytes(_csv("time_s,x\n0,one\n")), "line 3: could not convert"),
    ("a.csv", lambda p: p.write_bytes(_csv("time_s,time_s\n0,1\n")), "two columns have one name"),
    ("a.csv", lambda p: p.write_bytes(_csv("time_s\n0\n2\n1\n")), "time runs back behind 2 s"),
    ("a.csv", lambda p: p.write_bytes(_csv("time_s\nnan\n")), "a time is no number"),
    ("a.csv", lambda p: p.write_bytes(b"# \xff\xfe\n"), "no recording"),
]


@pytest.mark.parametrize(("name", "make", "message"), WRONG)
def test_a_file_that_is_no_recording_is_one_line(
    tmp_path: Path, name: str, make: Callable[[Path], object], message: str
) -> None:
    path = tmp_path / name
    make(path)
    with pytest.raises(BenchError) as refused:
        load(path)
    text = str(refused.value)
    assert text.startswith(f"{path}: ") and message in text and "\n" not in text


def test_half_a_recording_is_refused(tmp_path: Path) -> None:
    trace = recorded(*((at / 10, said(100 * at)) for at in range(200))).trace()
    save(trace, tmp_path / "whole.npz")
    data = (tmp_path / "whole.npz").read_bytes()
    for part in range(0, len(data) - 1, 97):
        (tmp_path / "half.npz").write_bytes(data[:part])
        with pytest.raises(BenchError, match="no recording"):
            load(tmp_path / "half.npz")


def test_a_simulated_trace_reads_back_as_well(tmp_path: Path) -> None:
    trace = Trace({"time_s": np.arange(3.0), "diode_A": np.array([0.1, np.inf, np.nan])})
    trace.save_csv(tmp_path / "t.csv")
    assert load(tmp_path / "t.csv")["diode_A"].tobytes() == trace["diode_A"].tobytes()


def test_what_can_not_be_written_leaves_what_stood_there(tmp_path: Path) -> None:
    trace = recorded((0.0, said(0))).trace()
    with pytest.raises(BenchError, match="can't be written: No such file or directory"):
        save(trace, tmp_path / "nowhere" / "r.csv")
    with pytest.raises(BenchError, match="a recording ends in"):
        save(trace, tmp_path / "r.txt")
    assert list(tmp_path.iterdir()) == []
