"""Stories over many ticks: whatever a builder does in whatever order, dark stays dark until it may.

Run on the compiled law, which the engines' tests hold against all others.
"""

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, initialize, rule

from desk import PLACES
from diodedriver import words
from episodes import HEALTHY, SHORT
from law_table import LIT
from recording import STATE, Recorder
from test_law_faults import ROWS

RULES = {row[0]: row[1] for row in words.FAULTS}
NEVER = 86_400_000
CURABLE = sorted(row for row in ROWS if RULES[row] != "service")
QUIET = settings(
    deadline=None, max_examples=60, derandomize=True, suppress_health_check=list(HealthCheck)
)


def _mend(desk: Recorder) -> None:
    """Take every cause away; the temperatures that a filter remembers fall by themselves."""
    desk.forced.clear()
    desk.skipped.clear()
    desk.dead_lamp = False
    desk.pins.discard("latch")
    desk.true.update(HEALTHY, mount_cK=30315, sink_cK=30315)
    desk.poke(STATE, "model", 0)


def _dark_for(desk: Recorder, ticks: int, cause: str) -> None:
    for _ in range(ticks):
        desk.tick()
        assert (desk.mode, desk.cause) in (("fault", cause), ("pack_low", cause))
        assert (desk.word("drive"), desk.word("duty"), desk.word("enable") & 3) == (0, 0, 0)


def _rise(desk: Recorder) -> list[int]:
    """Press, and return the drive at every tick from the first light to the end of the rise."""
    desk.press().tick()
    assert desk.mode == "delay"
    assert desk.until("start") >= desk.limit("delay_ticks")
    drives = []
    while desk.mode in ("start", "soft_start"):
        drives.append(desk.word("drive"))
        desk.tick()
    assert desk.mode in ("run", "limited"), desk.cause
    return drives


@QUIET
@given(
    row=st.sampled_from(CURABLE),
    insisting=st.lists(st.tuples(st.integers(1, 40), st.integers(1, 300)), min_size=1, max_size=3),
    patience=st.integers(0, 400),
)
def test_fault_stays_dark_through_insisting_until_its_stated_re_arm_then_rises_in_full(
    row: str, insisting: list[tuple[int, int]], patience: int
) -> None:
    desk = Recorder(SHORT)
    desk.tick(30).poke(STATE, "budget", 0)
    first = _rise(desk)
    desk.tick(patience)
    breaks, most = ROWS[row]
    breaks(desk)
    desk.until("fault", "pack_low", most=most + 1)
    assert desk.cause == row
    desk.forced.pop("current_mA", None)  # a dark diode draws nothing
    for released, pressed in insisting:
        _dark_for(desk.release(), released, row)
        _dark_for(desk.press(), pressed, row)
    _mend(desk)
    _dark_for(desk, 1400, row)  # a hot mount cools, a pack comes back; the trigger is held
    if RULES[row] == "interlock":
        for released, pressed in insisting:
            _dark_for(desk.release(), released, row)
            _dark_for(desk.press(), pressed, row)
        desk.pins.discard("interlock")
        _dark_for(desk.release(), 3, row)
        desk.pins.add("interlock")
    desk.release().tick(3 + desk.limit("rest_ticks"))
    assert (desk.mode, desk.cause) == ("dark", None)
    desk.poke(STATE, "budget", 0)
    again = _rise(desk)
    assert again[0] <= desk.limit("start_mA") << 6
    assert len(again) == len(first) >= desk.limit("ramp_ticks")


class Builder(RuleBasedStateMachine):
    """Press, release, open, close, break, mend and wait, in any order.

    At every tick: dark where anything is open, let go or latched; a row clears only by its rule,
    counted from when it latched; light comes only after a release and a press, the whole delay,
    and at the start level.
    """

    @initialize()
    def power_up(self) -> None:
        self.desk = Recorder(SHORT | {"auto_off_ticks": NEVER})
        self.latched: dict[str, set[str]] = {}  # row -> what happened since it latched
        self.released = False  # since it was last lit
        self.held = 0  # ticks of the present press
        self.healthy = 0  # ticks of delay in a row
        self._go(30)
        self.desk.poke(STATE, "budget", 0)

    def _go(self, ticks: int) -> None:
        for _ in range(ticks):
            before, drive = self.desk.mode, self.desk.word("drive")
            if before not in LIT:
                self.desk.forced.pop("current_mA", None)  # a dark diode draws nothing
            self.desk.tick()
            self._remember()
            self._check(before, drive)

    def _remember(self) -> None:
        pins = self.desk.pins
        pressed = "trigger" in pins
        self.held = self.held + 1 if pressed else 0
        self.released |= not pressed
        faults = self.desk.faults()
        for row in faults - self.latched.keys():
            self.latched[row] = set()
        for happened in self.latched.values():
            if not {"key", "interlock"} <= pins:
                happened.add("opened")
            elif "opened" in happened:
                happened.add("closed")
            if not pressed:
                happened.add("released")

    def _check(self, before: str, drive: int) -> None:
        desk = self.desk
        faults = desk.faults()
        lit = desk.mode in LIT
        dark = (desk.word("drive"), desk.word("duty"), desk.word("enable") & 3) == (0, 0, 0)
        assert lit or dark
        assert dark or {"trigger", "key", "interlock"} <= desk.pins
        assert dark or not faults
        for row in set(self.latched) - faults:
            happened = self.latched.pop(row)
            assert "trigger" not in desk.pins, row
            assert RULES[row] != "service", row
            assert RULES[row] != "interlock" or {"opened", "closed"} <= happened, row
            assert RULES[row] != "rest" or desk.reading("rest_mV") >= desk.limit("rearm_mV")
        if lit and before not in LIT:
            assert self.released
            assert self.held > desk.limit("delay_ticks")
            assert desk.word("drive") <= desk.limit("start_mA") << 6
        elif lit:
            assert desk.word("drive") - drive <= desk.limit("rise_q64")
        if lit:
            self.released = False

    @rule(ticks=st.sampled_from((1, 2, 3, 20, 60, 150)))
    def wait(self, ticks: int) -> None:
        self._go(ticks)

    @rule()
    def press(self) -> None:
        self.desk.press()
        self._go(1)

    @rule()
    def release(self) -> None:
        self.desk.release()
        self._go(1)

    @rule(pin=st.sampled_from(("key", "interlock")))
    def open_or_close(self, pin: str) -> None:
        self.desk.pins ^= {pin}
        self._go(1)

    @rule()
    def press_afresh_and_wait_for_light(self) -> None:
        self.desk.release()
        self._go(2)
        self.desk.press()
        self._go(130)

    @rule(row=st.sampled_from(CURABLE), ticks=st.sampled_from((1, 3, 40)))
    def breaks(self, row: str, ticks: int) -> None:
        ROWS[row][0](self.desk)
        self._go(ticks)

    @rule()
    def mend(self) -> None:
        _mend(self.desk)
        self.desk.state[PLACES[STATE]["budget"]] = 0
        self._go(1)


TestBuilder = Builder.TestCase
TestBuilder.settings = settings(QUIET, stateful_step_count=40, max_examples=60)
