"""The shop's log: a line a unit, whole or not at all, and whose proof test is due."""

from datetime import UTC, date, datetime
from pathlib import Path

import pytest
from flash_board import cargo

from diodewright.bench import BenchError, shop
from diodewright.bench.flash import Flashed
from diodewright.bench.shop import log_unit, overdue, try_log

MAY = datetime(2026, 5, 1, 12, tzinfo=UTC)


def unit(number: str) -> Flashed:
    return Flashed("/dev/a", number, "1.29.0", "0123456789abcdef", 20, 0, "dark", "", 70, 3)


def test_each_unit_is_a_line_and_a_failure_is_one_too(tmp_path: Path) -> None:
    log = tmp_path / "log.csv"
    try_log(log)
    log_unit(log, "/dev/a", cargo(), unit("aa"), "flashed", MAY)
    log_unit(log, "/dev/b", cargo(), None, "/dev/b: the port is gone, and more", MAY)
    try_log(log)
    header, first, second = log.read_text().splitlines()
    assert header == ",".join(shop.COLUMNS)
    assert first.startswith("2026-05-01T12:00:00Z,/dev/a,aa,smoke_tunnel,")
    assert second.endswith('"/dev/b: the port is gone, and more"')


def test_the_proof_test_is_due_half_a_year_behind_the_newest_line(tmp_path: Path) -> None:
    log = tmp_path / "log.csv"
    for number, day in (("aa", MAY), ("bb", MAY), ("aa", datetime(2026, 9, 1, tzinfo=UTC))):
        log_unit(log, "/dev/a", cargo(), unit(number), "flashed", day)
    log_unit(log, "/dev/b", cargo(), None, "the port is gone", MAY)
    assert overdue(log, date(2026, 10, 29)) == []
    assert overdue(log, date(2026, 10, 30)) == [("bb", date(2026, 10, 30))]
    assert [name for name, _ in overdue(log, date(2027, 9, 1))] == ["aa", "bb"]


@pytest.mark.parametrize(
    ("content", "said"),
    [("a,b\n1,2\n", "its columns are not"), (None, "can't write there")],
)
def test_a_log_that_is_none_or_can_t_be_written_is_refused_first(
    tmp_path: Path, content: str | None, said: str
) -> None:
    log = tmp_path / "log.csv" if content else tmp_path / "absent" / "log.csv"
    if content:
        log.write_text(content)
    with pytest.raises(BenchError, match=said):
        try_log(log)
    if content:
        assert log.read_text() == content


def test_a_line_that_a_full_disk_cuts_short_is_taken_back(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    log = tmp_path / "log.csv"
    log_unit(log, "/dev/a", cargo(), unit("aa"), "flashed", MAY)
    before = log.read_bytes()

    def full(_: int) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(shop.os, "fsync", full)
    with pytest.raises(BenchError, match="the line is not written: No space left"):
        log_unit(log, "/dev/a", cargo(), unit("bb"), "flashed", MAY)
    assert log.read_bytes() == before
