"""Every fault row: seen after its count, dark in that tick, first cause kept, cleared by rule."""

from collections.abc import Callable

import pytest

from desk import Desk
from diodedriver import words

Breaks = Callable[[Desk], None]


def _force(**readings: int) -> Breaks:
    return lambda desk: desk.forced.update(readings)


def _true(**values: int) -> Breaks:
    return lambda desk: desk.true.update(values)


def _pin(name: str) -> Breaks:
    return lambda desk: desk.pins.add(name)


def _limit(desk: Desk) -> None:
    desk.limits[words.index(words.LIMITS, "trip_cK")] ^= 1 << 7


def _state(desk: Desk) -> None:
    desk.state[words.index(words.STATE, "drive")] = 900_000


def _cold_sensor(desk: Desk) -> None:
    """The model says 6 K between mount and sink; the sensors say none."""
    desk.state[words.index(words.STATE, "model")] = 600 << 10


def _lamp(desk: Desk) -> None:
    desk.dead_lamp = True


def _skip(desk: Desk) -> None:
    desk.skipped.add("mount_cK")


# row -> (what breaks it while it runs, longest ticks to dark: count + filters + multiplexer)
ROWS: dict[str, tuple[Breaks, int]] = {
    "settings": (_limit, 1),
    "state": (_state, 1),
    "latch": (_pin("latch"), 1),
    "overcurrent": (_force(current_mA=1640), 3),
    "short": (_force(output_mV=300), 3),
    "open": (_force(current_mA=0), 3),
    "follow": (_force(current_mA=1200), 25),
    "hot": (_true(mount_cK=33600, sink_cK=33300), 20 + 5 + 1500),
    "heat": (_cold_sensor, 200),
    "sensor": (_true(mount_cK=41000), 15 + 5),
    "stale": (_skip, 20 + 5 + 5),
    "indicator": (_lamp, 30 + 5),
    "pack_wrong": (_true(pack_mV=9000), 50 + 5),
    "pack_min": (_true(pack_mV=5900), 100 + 5),
    "pack_low": (_true(pack_mV=6200), 500 + 5 + 1000),
    "late": (_true(gap_ticks=3), 1),
    "beat": (_true(beat_ticks=201), 1),
}
# rows that need another road than "while it runs", tested by name elsewhere in this folder
ELSEWHERE = {"stuck", "charged", "junction"}


def test_every_row_of_the_table_is_broken_somewhere() -> None:
    assert set(ROWS) | ELSEWHERE == {row[0] for row in words.FAULTS}


@pytest.mark.parametrize("row", ROWS)
def test_row_is_seen_in_time_and_dark_in_that_tick(row: str) -> None:
    breaks, most = ROWS[row]
    desk = Desk().lit()
    breaks(desk)
    spent = desk.until("fault", "pack_low", most=most + 1)
    assert spent <= most
    assert desk.cause == row
    assert (desk.drive_mA, desk.word("duty"), desk.word("enable") & 3) == (0, 0, 0)
    evidence = next(fault[2] for fault in words.FAULTS if fault[0] == row)
    if row != "state":
        assert desk.word(f"seen_{evidence}") == desk.reading(evidence)
        assert desk.word("cause_tick") == desk.word("tick") - 1


@pytest.mark.parametrize(
    ("row", "count", "breaks"),
    [
        ("overcurrent", 3, _force(current_mA=1640)),
        ("short", 3, _force(output_mV=300)),
        ("open", 3, _force(current_mA=0)),
        ("follow", 25, _force(current_mA=1200)),
    ],
)
def test_one_tick_less_than_the_count_latches_nothing(row: str, count: int, breaks: Breaks) -> None:
    desk = Desk().lit()
    breaks(desk)
    desk.tick(count - 1)
    before = desk.drive_mA
    assert desk.mode in ("run", "limited")
    assert desk.word(f"count_{row}") == count - 1
    desk.forced.clear()
    desk.tick()
    assert desk.word(f"count_{row}") == 0
    assert desk.drive_mA <= before + 270 / 64


def test_drive_never_rises_while_anything_is_suspect() -> None:
    desk = Desk().lit()
    desk.true["level"] = 2
    desk.tick(60)
    desk.true["level"] = 0
    desk.forced["current_mA"] = 160
    drives = [desk.tick().drive_mA for _ in range(20)]
    assert max(drives) <= 300 + 1


@pytest.mark.parametrize("row", ["latch", "overcurrent", "open", "sensor", "stale"])
def test_interlock_rows_stay_dark_through_insisting_until_the_interlock_is_remade(
    row: str,
) -> None:
    desk = Desk().lit()
    ROWS[row][0](desk)
    desk.until("fault")
    desk.forced.clear()
    desk.skipped.clear()
    desk.pins.discard("latch")
    desk.true.update(mount_cK=30315)
    for _ in range(3):
        desk.release().tick(30)
        desk.press().tick(700)
        assert desk.mode == "fault"
        assert desk.cause == row
    desk.pins.discard("interlock")
    desk.tick(5)
    assert desk.mode == "fault"
    desk.pins.add("interlock")
    desk.tick(5)
    assert desk.mode == "fault", "still held: the trigger was never released"
    desk.release().tick(2)
    assert (desk.mode, desk.cause) == ("dark", None)
    desk.press().tick(2)
    assert desk.mode == "delay"


def test_an_interlock_remade_before_the_fault_does_not_clear_it() -> None:
    desk = Desk().tick(30).press().tick(2)
    desk.pins.discard("interlock")
    desk.tick(2)
    desk.pins.add("interlock")
    desk.tick(2)
    desk.true["mount_cK"] = 41000
    desk.until("fault", most=25)
    desk.true["mount_cK"] = 30315
    desk.tick(30)
    desk.release().tick(30)
    assert (desk.mode, desk.cause) == ("fault", "sensor")


@pytest.mark.parametrize("row", ["settings", "state", "stuck"])
def test_service_rows_never_clear(row: str) -> None:
    desk = Desk()
    if row == "stuck":
        desk.tick(30).forced["current_mA"] = 60
        desk.tick(12)
        desk.forced.clear()
    else:
        desk.lit()
        ROWS[row][0](desk)
        desk.tick(2)
    assert desk.cause == row
    if row == "settings":
        _limit(desk)
    for pin in ("interlock", "key"):
        desk.release().tick(30)
        desk.pins.discard(pin)
        desk.tick(30)
        desk.pins.add(pin)
        desk.tick(6000)
        assert (desk.mode, desk.cause) == ("fault", row)


def test_hot_row_clears_only_when_cool_and_released() -> None:
    desk = Desk(warm_cK=31000).lit()
    desk.true.update(mount_cK=33600, sink_cK=33300)
    desk.until("fault")
    assert desk.cause == "hot"
    desk.release()
    desk.true.update(mount_cK=32000, sink_cK=31900)
    desk.tick(8000)
    assert desk.mode == "fault"
    desk.true.update(mount_cK=30315, sink_cK=30315)
    desk.tick(3000)
    assert desk.mode == "dark"


def test_junction_estimate_trips_on_power_that_the_mount_has_not_felt_yet() -> None:
    desk = Desk(junction_shift=8).lit()
    desk.forced["current_mA"] = 1600
    desk.forced["output_mV"] = 9000
    desk.limits = Desk(junction_cK_W=1000, open_mV=20000).limits
    desk.until("fault")
    assert desk.cause == "junction"
    assert desk.word("seen_junction_cK") >= 39315


def test_simultaneous_rows_lowest_is_the_cause_and_is_never_overwritten() -> None:
    desk = Desk().lit()
    desk.pins.add("latch")
    desk.true["gap_ticks"] = 5
    desk.tick()
    assert desk.faults() == {"latch", "late"}
    assert desk.cause == "latch"
    desk.true["beat_ticks"] = 900
    desk.tick(50)
    assert desk.cause == "latch"
    assert "beat" in desk.faults()


def test_any_int32_in_any_state_word_ends_in_range_or_dark_and_latched() -> None:
    desk = Desk().lit()
    healthy = desk.state[:]
    for place, (name, _, _, high, _) in enumerate(words.STATE):
        for value in (-1, -(2**31), high + 1, 2**31 - 1):
            desk.state[:] = healthy
            desk.state[place] = value
            desk.tick()
            assert desk.mode == "fault", (name, value)
            assert "state" in desk.faults(), (name, value)
            assert (desk.drive_mA, desk.word("enable") & 3) == (0, 0), (name, value)


def test_without_interlock_and_key_their_rows_clear_by_release_and_a_fresh_press() -> None:
    desk = Desk(interlock_fitted=0).lit()
    desk.forced["current_mA"] = 1640
    desk.until("fault")
    assert desk.cause == "overcurrent"
    desk.forced = {}
    desk.tick(50)
    assert desk.mode == "fault"
    desk.release().tick(2)
    assert (desk.mode, desk.cause) == ("dark", None)
    desk.press().until("run")
