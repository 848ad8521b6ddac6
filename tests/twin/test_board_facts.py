"""What chips and MicroPython do, and what the firmware makes of it: one claim a fact.

The facts were read in MicroPython's sources or seen on an emulated chip; where they are tested:

- the end of a program, and Ctrl-C, leave pins and PWM running: `test_exits.py`, each way out;
  boot.py makes every output dark: here
- a soft reset keeps levels, and PWM on slices 4 to 7: the set PWM's slice, and the prompt: here
- an enable that were a PWM would run on: here
- flash stops interrupts, never while lit: `test_exits.py`
- a hard timer; nothing allocates in its callback; no more than three conversions in it: here
- an exception in it stops it for ever, and that stops the feed: `test_exits.py`
- the watchdog's longest time, and that maintenance never arms it: here
- the dynamic enable is an edge of completed ticks: here
- viper's arithmetic, stores that wrap: `prove`, `tests/firmware/test_law_engines.py`
- `read_u16` is ``raw << 4 | raw >> 8``: here
- integers beyond 30 bits take heap: the tick's own count, here
- the newer chip's pins: here

Not tested: times of statements on a chip, and the heap that is free there.
"""

import json
import os
import subprocess
from itertools import pairwise
from pathlib import Path

import pytest

from diodedriver.pins import BOARDS, INPUTS, OUTPUTS, RUNS_ON
from diodewright.build import load
from diodewright.derive import settings
from diodewright.twin import Absent, Event, Twin, micropython_path
from diodewright.twin.child import firmware_folder
from diodewright.twin.provision import put_files
from stories import ask, lit, lit_ticks, power_cycle, press, release, tell, until

HERE = Path(__file__).parent
CHIPS = {"RP2040": "rp2040", "RP2350": "rp2350"}
#: Pins with a converter: RP2040 data sheet, 4.9; RP2350 data sheet, 12.4, the larger package.
CONVERTERS = {"rp2040": range(26, 30), "rp2350": range(40, 48)}
LONGEST_WATCHDOG_MS = 8388


def spied(chip: str, what: str, argument: object = ""):
    """Return what a piece of the firmware asks of its chip: (what, pin or rate, value)."""
    try:
        program = micropython_path()
    except Absent as absent:
        pytest.skip(str(absent))
    done = subprocess.run(
        [program, str(HERE / "spied.py"), chip, what, str(argument)],
        env={**os.environ, "MICROPYPATH": f"{HERE / 'spy'}:{firmware_folder()}:.frozen"},
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 0, done.stdout + done.stderr
    return json.loads(done.stdout)


@pytest.mark.parametrize("table", BOARDS)
def test_a_pin_has_one_use_and_the_set_pwm_stops_at_a_soft_reset(table: str) -> None:
    pins = BOARDS[table]
    assert len(set(pins.values())) == len(pins), "two signals on one pin"
    assert set(pins) == {"current", "output", "mux", "set", *OUTPUTS, *INPUTS}
    # RP2040 data sheet, 4.5.2: two pins a slice, eight slices, and round again
    assert pins["set"] < 30 and (pins["set"] >> 1) % 8 <= 3
    assert pins["set"] not in RUNS_ON
    assert all(pins[name] in CONVERTERS[table] for name in ("current", "output", "mux"))


@pytest.mark.parametrize("chip", CHIPS)
def test_boot_py_drives_every_output_low(chip: str) -> None:
    notes = spied(chip, "boot", firmware_folder() / "diodedriver" / "rootfs" / "boot.py")
    pins = BOARDS[CHIPS[chip]]
    assert {tuple(note) for note in notes} == {("out", pins[name], 0) for name in (*OUTPUTS, "set")}


@pytest.mark.parametrize("chip", CHIPS)
def test_one_pwm_at_zero_a_hard_timer_and_a_watchdog_that_the_chip_has(chip: str) -> None:
    notes = spied(chip, "board")
    pins = BOARDS[CHIPS[chip]]
    assert [note[1:] for note in notes if note[0] == "pwm"] == [[pins["set"], 0]]
    assert [note[1] for note in notes if note[0] == "adc"] == [
        pins[name] for name in ("current", "output", "mux")
    ]
    assert [note[1:] for note in notes if note[0] == "timer"] == [[1000, 1]]
    [watchdog] = [note[1] for note in notes if note[0] == "wdt"]
    assert 400 < watchdog <= LONGEST_WATCHDOG_MS, "longer than the longest erase"


def test_a_tick_makes_three_conversions_in_every_phase(tmp_path: Path) -> None:
    values = tmp_path / "settings.json"
    values.write_text(json.dumps(settings(load("gel_viewer"))))
    pins = BOARDS["rp2040"]
    phases = spied("RP2040", "ticks", values)
    assert len(phases) == 3
    for notes in phases.values():
        read = [note[1] for note in notes if note[0] == "read"]
        assert read == [pins[name] for name in ("current", "output", "mux")]
        assert sum(note[0] == "duty" for note in notes) == 1, "the set PWM is written once"
    edges = {phase: ["level", pins["pulse"], 1] in notes for phase, notes in phases.items()}
    assert not edges["0"], "barred: no edge"


def test_every_code_of_the_converter_comes_back_from_its_sixteen_bits() -> None:
    assert spied("RP2040", "codes") == []


def test_the_count_of_ticks_stays_within_what_needs_no_heap() -> None:
    assert spied("RP2040", "uptime") == [0x3FFFFFFF, 0, 1]


def story(twin: Twin) -> str:
    """Take the tick through test, dark, rise, burst and fault; return why it is barred."""
    until(twin, "dark")
    assert tell(twin, "BURS:STAR 6 S") == 0
    press(twin)
    twin.run(1500)
    release(twin)
    twin.run(100)
    press(twin)
    twin.run(1500)
    twin.strike(Event(0, "plant.diode_open", 1))
    twin.run(3000)
    return ask(twin, "STAT:BARR?")


def test_a_tick_allocates_nothing(board) -> None:
    """The heap is locked in it; integers of more than 30 bits need none on this computer."""
    twin = board("gel_viewer")
    assert story(twin) == '""'
    assert twin.peak_A() > 0.5 and twin.look.cause and not twin.resets
    assert int(ask(twin, "BURS:COUN?").split(",")[0]) > 5000


def test_a_tick_that_allocates_is_found(board, edited) -> None:
    line = "        self.gaps = raw[5]\n"
    twin = board("gel_viewer", firmware=edited("driver.py", line, "        self.gaps = [raw[5]]\n"))
    twin.run(400)
    assert ask(twin, "STAT:BARR?") == '"crash"'


def edges(twin: Twin, ticks: int) -> int:
    levels = [twin.level("pulse") for _ in range(ticks + 1) if twin.run(1)]
    return sum(one != other for one, other in pairwise(levels))


def test_the_dynamic_enable_has_one_edge_a_tick_and_none_without_ticks(board) -> None:
    twin = lit(board("gel_viewer"))
    assert edges(twin, 100) == 100
    twin.strike(Event(0, "chip.timer_dead", 1))
    twin.run(2)
    assert edges(twin, 100) == 0
    assert twin.look.diode_A == 0


def test_a_tick_that_breaks_half_way_gives_no_edge(board, edited) -> None:
    line = "            board.put(duty_u16, state[_S_ENABLE], state[_S_PULSE])\n"
    broken = f"            if state[_S_ON] > 20:\n                raise ValueError\n{line}"
    firmware = edited("driver.py", line, broken)
    edited("driver.py", "_S_REST = ", '_S_ON = _STATE["on_ticks"]\n_S_REST = ')
    twin = board("gel_viewer", firmware=firmware)
    until(twin, "dark")
    press(twin)
    until(twin, "start")
    twin.run(5)
    levels = []
    while twin.level("enable_b"):
        twin.run(1)
        levels.append(twin.level("pulse"))
    assert all(one != other for one, other in pairwise(levels[:-1])) and len(levels) > 5
    assert levels[-1] == levels[-2], "the tick that broke"
    assert edges(twin, 100) == 0


def test_maintenance_arms_no_watchdog(board) -> None:
    twin = board("gel_viewer")
    twin.close()
    put_files(twin.flash, {"maintenance": b"1"})
    twin = board("gel_viewer", fresh=False)
    twin.run(400)
    assert ask(twin, "STAT:BARR?") == '"maintenance"'
    press(twin)
    twin.strike(Event(0, "chip.main_starved", 1))
    assert not lit_ticks(twin.run(LONGEST_WATCHDOG_MS + 1000))
    assert not twin.resets, "a long file copy would take so long"
    release(twin)
    power_cycle(twin)
    until(twin, "dark")


HOT = "import machine as m\rfor pin in (2, 6, 7, 16, 17, 18, 19, 20, 25): m.Pin(pin, 1, value=1)\r"


def test_a_soft_reset_at_the_prompt_is_dark_though_the_program_does_not_start(
    board, edited
) -> None:
    twin = board("gel_viewer", firmware=edited("scpi.py", "class Port:", "class Port(:"))
    twin.run(300)
    assert twin.ended_at is not None
    twin.send(HOT.encode())
    twin.run(20)
    outputs = ("enable_b", "pulse", "trickle", "inject", "reset", "indicator", "warn", "blink")
    assert all(twin.level(name) for name in outputs), "somebody played with the pins"
    twin.send(b"\x04")
    looks = twin.run(2)
    assert [cause for _, cause in twin.resets] == [0]
    looks += twin.run(300)
    assert not any(twin.level(name) for name in outputs)
    assert not lit_ticks(looks[20:])


def test_the_newer_chip_lights_with_its_own_pins(board) -> None:
    twin = lit(board("gel_viewer", chip="RP2350"))
    assert twin.look.diode_A == pytest.approx(0.7, abs=0.01)
