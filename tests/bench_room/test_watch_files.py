"""A recording that must not be lost: a full disk, a killed program, a name that stands there."""

import resource
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import numpy as np
import pytest
from test_record import said

from diodewright.bench import BenchError
from diodewright.bench.keeping import Keeper, recovered, side_of
from diodewright.bench.record import load
from diodewright.sim import Trace

PROVENANCE = {"build": "b", "unit": "u"}


def kept(path: Path, lines: int) -> Keeper:
    """Return a keeper that took so many lines, a gap, a note and a restart."""
    keeper = Keeper(10, PROVENANCE, path)
    for at in range(lines):
        keeper.take(said(100 * at, "run", current_mA=at), at / 10)
    keeper.note("made dark: OUTPut OFF", lines / 10)
    keeper.take("noise", lines / 10)
    keeper.restarted(lines / 10 + 1)
    keeper.take(said(5), lines / 10 + 4)
    return keeper


def same(one: Trace, other: Trace) -> bool:
    return one.events == other.events and all(
        one[name].tobytes() == other[name].tobytes() for name in one.columns
    )


def test_a_whole_recording_leaves_no_side_file(tmp_path: Path) -> None:
    keeper = kept(tmp_path / "r.npz", 20)
    assert side_of(tmp_path / "r.npz").exists() and not (tmp_path / "r.npz").exists()
    assert keeper.finish() == tmp_path / "r.npz"
    assert [path.name for path in tmp_path.iterdir()] == ["r.npz"]
    assert same(load(tmp_path / "r.npz"), keeper.recorder.trace())


def test_the_side_file_alone_gives_the_same_recording(tmp_path: Path) -> None:
    keeper = kept(tmp_path / "r.csv", 20)
    keeper.close()
    text = side_of(tmp_path / "r.csv").read_text()  # as a program that was killed leaves it
    (tmp_path / "cut.csv.lines").write_text(text + "12.3\tline\t@run,1,2")  # half a line
    trace = recovered(tmp_path / "cut.csv").trace()
    keeper.recorder.lost("cut off here: made of the side file", 6.0)
    assert same(trace, keeper.recorder.trace())
    assert same(load(tmp_path / "cut.csv"), trace)
    assert trace.provenance == keeper.recorder.trace().provenance
    assert {"cut off here: made of the side file", "gap to the end"} <= {
        text for _, text in trace.events
    }
    assert not (tmp_path / "cut.csv.lines").exists()


def test_every_cut_of_a_side_file_gives_what_was_whole_in_it(tmp_path: Path) -> None:
    kept(tmp_path / "r.csv", 4).close()
    data = side_of(tmp_path / "r.csv").read_bytes()
    head = data.index(b"\n") + 1
    for length in range(head, len(data), 7):
        side_of(tmp_path / "c.csv").write_bytes(data[:length])
        rows = len(recovered(tmp_path / "c.csv"))
        assert rows >= min(data[head:length].count(b"\tline\t@run"), 4) - 1
        (tmp_path / "c.csv").unlink()


@contextmanager
def room_for(most_bytes: int) -> Iterator[None]:
    """Let no file grow beyond so many bytes, as a full disk would."""
    soft, hard = resource.getrlimit(resource.RLIMIT_FSIZE)
    resource.setrlimit(resource.RLIMIT_FSIZE, (most_bytes, hard))
    try:
        yield
    finally:
        resource.setrlimit(resource.RLIMIT_FSIZE, (soft, hard))


def test_a_disk_that_is_full_for_a_while_loses_nothing(tmp_path: Path) -> None:
    with room_for(2000):
        keeper = kept(tmp_path / "r.npz", 50)
    assert keeper.stopped == "File too large"
    keeper.finish()
    assert np.nanmax(load(tmp_path / "r.npz")["current_read_A"][:50]) == 0.049
    assert [path.name for path in tmp_path.iterdir()] == ["r.npz"]


def test_a_disk_that_is_full_at_the_end_leaves_the_side_file_and_says_so(tmp_path: Path) -> None:
    path = tmp_path / "r.csv"
    with room_for(3000):
        keeper = kept(path, 50)
        with pytest.raises(BenchError) as told:
            keeper.finish()
    text = str(told.value)
    assert text.startswith(f"{path}: can't be written: File too large; make room, then use")
    assert f"{side_of(path)} has it up to where File too large" in text and "\n" not in text
    assert [each.name for each in tmp_path.iterdir()] == ["r.csv.lines"]
    assert 10 < len(recovered(path)) < 50


def test_what_stands_there_is_never_written_over(tmp_path: Path) -> None:
    path = tmp_path / "r.npz"
    path.write_text("mine")
    with pytest.raises(BenchError, match="stands there already"):
        Keeper(10, PROVENANCE, path)
    with pytest.raises(BenchError, match="stands there already"):
        recovered(path)
    assert path.read_text() == "mine"


def test_two_recordings_never_share_a_name(tmp_path: Path) -> None:
    first = kept(tmp_path / "r.npz", 3)
    with pytest.raises(BenchError, match="is being made right now"):
        Keeper(10, PROVENANCE, tmp_path / "r.npz")
    with pytest.raises(BenchError, match="is being made right now"):
        recovered(tmp_path / "r.npz")
    first.finish()
    side_of(tmp_path / "x.npz").write_text("left behind\n")
    with pytest.raises(BenchError, match="was cut off: save it first, with --recover"):
        Keeper(10, PROVENANCE, tmp_path / "x.npz")


@pytest.mark.parametrize(
    ("text", "message"),
    [
        (None, "nothing was cut off"),
        ("", "no side file of a recording"),
        ("noise\n", "no side file of a recording"),
        ('{"format": 9}\n', "format 9, expected 1"),
        ('{"format": 1, "rate_Hz": 10, "provenance": {}}\n1.0\tdance\tx\n', "line 2 says 'dance'"),
        ('{"format": 1, "rate_Hz": 10, "provenance": {}}\nnow\tline\tx\n', "could not convert"),
    ],
)
def test_a_side_file_that_is_none_is_one_line(
    tmp_path: Path, text: str | None, message: str
) -> None:
    path = tmp_path / "r.csv"
    if text is not None:
        side_of(path).write_text(text)
    with pytest.raises(BenchError, match=message) as refused:
        recovered(path)
    assert str(refused.value).startswith(str(side_of(path)))
    assert not path.exists() and side_of(path).exists() == (text is not None)


def test_no_place_to_write_is_found_out_before_anything_is_recorded(tmp_path: Path) -> None:
    for path, message in (
        (tmp_path / "nowhere" / "r.npz", "can't be written: No such file or directory"),
        (tmp_path / "r.txt", "a recording ends in .npz or .csv"),
    ):
        with pytest.raises(BenchError, match=message):
            Keeper(10, PROVENANCE, path)
    assert list(tmp_path.iterdir()) == []
