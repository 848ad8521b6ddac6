"""Random use of a simulated board, for hours: `python tests/twin/soak.py HOURS SEED [BUILD]`.

Everything is drawn from the seed: hand, key, interlock, what serial says, faults that clear,
resets. What must hold at every tick is asserted; what was reached is counted, and too little of
it fails as well. The claims:

- true light only while the trigger is pressed, key and interlock closed (`GRACE_MS` behind);
- no reset that was not injected, and no end of the program;
- the law's ticks are the clock's, but for those that flash held off;
- what is free of the heap, garbage collected, does not fall.
"""

import random
import shutil
import sys
import tempfile
from collections import Counter
from dataclasses import dataclass, field
from pathlib import Path

from diodedriver import words
from diodewright.build import load
from diodewright.sim import compiled
from diodewright.twin import Event, Twin
from diodewright.twin.provision import provision

HANDS = ("trigger", "key", "interlock")
#: The dynamic enable drops 4 to 10 ms behind its last edge; one tick to see the hand.
GRACE_MS = 11
LIT_A = 0.01
#: Faults that clear: what is changed, what it is when healthy.
FAULTS = (
    ("plant.mount_read_fault", 1, 0),
    ("plant.sink_read_fault", 2, 0),
    ("plant.indicator_open", 1, 0),
    ("plant.diode_open", 1, 0),
    ("chip.stride", 4, 1),
)
LINES = (
    "TEL 10", "TEL 50", "TEL 0", "MEAS:CURR?;:MEAS:VOLT:PACK?", "STAT:CAUS?", "JOUR:REW;:JOUR?",
    "JOUR?", "SYST:ERR?", "*CLS", "OUTP OFF", "OUTP ON", "OUTP ON", "STEP 0", "STEP 1", "STEP 2",
    "CURR 0.2", "CURR MAX", "CURR 99", "nonsense", "STAT:OPER:COND?;:STAT:QUES:COND?",
)  # fmt: skip
TICK = words.index(words.STATE, "tick")
CHECK_MS = 20_000
#: A heap's low-water may lie so much below the first half's [bytes].
HEAP_SLACK = 2048


@dataclass
class Soak:
    """One board in random use, and what came of it."""

    twin: Twin
    seed: int
    draw: random.Random = field(init=False)
    hands: dict[str, bool] = field(default_factory=lambda: dict.fromkeys(HANDS, True))
    open_since: int | None = 0
    broken: tuple[str, int, int] | None = None
    injected: int = 0
    begun: tuple[int, int, int] | None = None
    modes: Counter[str] = field(default_factory=Counter)
    causes: Counter[str] = field(default_factory=Counter)
    acts: Counter[str] = field(default_factory=Counter)
    heaps: list[int] = field(default_factory=list)
    compared: int = 0
    said_bytes: int = 0

    def __post_init__(self) -> None:
        self.draw = random.Random(self.seed)
        self.hands["trigger"] = False

    def run(self, ms: int) -> None:
        """Use the board for `ms`; AssertionError with seed and tick where a claim breaks."""
        until_ms = self.twin.now + ms
        next_check = self.twin.now + CHECK_MS
        while self.twin.now < until_ms:
            self._pass(self.draw.choice((20, 100, 400, 1500, 4000)))
            self._act()
            if self.twin.now >= next_check:
                self._check()
                next_check += CHECK_MS

    def _pass(self, ms: int) -> None:
        before = self.modes.total(), self.twin.look
        last_mode, last_cause = before[1].mode, before[1].cause
        for look in self.twin.run(ms):
            if look.mode != last_mode:
                self.modes[look.mode] += 1
            if look.cause and look.cause != last_cause:
                self.causes[look.cause] += 1
            last_mode, last_cause = look.mode, look.cause
            dark_for = look.tick - self.open_since if self.open_since is not None else 0
            assert look.diode_A < LIT_A or dark_for <= GRACE_MS, self._where("lit", look)
        assert len(self.twin.resets) == self.injected, self._where("reset", self.twin.resets[-1])
        assert self.twin.ended_at is None, self._where("ended", self.twin.said())
        self.said_bytes += len(self.twin.said())

    def _where(self, what: str, seen: object) -> str:
        return f"seed {self.seed}, tick {self.twin.now}: {what}: {seen}; {self.hands}"

    def _hand(self, name: str, on: bool) -> None:
        self.hands[name] = on
        self.twin.strike(Event(0, f"plant.{name}", on))
        shut = all(self.hands.values())
        if shut:
            self.open_since = None
        elif self.open_since is None:
            self.open_since = self.twin.now
        self.acts[name] += 1

    def _act(self) -> None:
        chance = self.draw.random()
        if chance < 0.2:
            self._use()
        elif chance < 0.45:
            self._hand("trigger", not self.hands["trigger"])
        elif chance < 0.55:
            name = self.draw.choice(("key", "interlock"))
            self._hand(name, not self.hands[name])
        elif chance < 0.63:
            for name in ("key", "interlock"):
                self._hand(name, True)
        elif chance < 0.92:
            line = self.draw.choice(LINES)
            self.twin.send(line.encode() + b"\n")
            self.acts[line] += 1
        elif chance < 0.96:
            self._break_or_mend()
        else:
            self._reset()

    def _use(self) -> None:
        """Use it as meant: mended, key and interlock turned, let go, then pressed into light."""
        if self.broken is not None:
            self._break_or_mend()
        self._hand("trigger", False)
        for on in (False, True):
            for name in ("key", "interlock"):
                self._hand(name, on)
            self._pass(300)
        self.twin.send(b"OUTP ON\n")
        self._pass(1000)
        self._hand("trigger", True)
        self._pass(self.draw.choice((2000, 6500, 9000)))
        self.acts["use"] += 1

    def _break_or_mend(self) -> None:
        self.begun = None
        if self.broken is None:
            self.broken = self.draw.choice(FAULTS)
            self.twin.strike(Event(0, self.broken[0], self.broken[1]))
            self.acts[self.broken[0]] += 1
            if self.broken[0] == "chip.stride":
                # for a second only: five of them starve the watchdog, as they should
                self._pass(1000)
                self._break_or_mend()
        else:
            self.twin.strike(Event(0, self.broken[0], self.broken[2]))
            self.broken = None

    def _reset(self) -> None:
        """Reset with the trigger let go, everything mended and charged: the self-test passes."""
        if self.broken is not None:
            self._break_or_mend()
        self.begun = None
        self.injected += 1
        self.acts["reset"] += 1
        self.twin.strike(Event(0, "chip.reset", self.draw.choice((1, 3))))
        self.twin.strike(Event(0, "true.soc", 1.0))
        for name in HANDS:
            self._hand(name, name != "trigger")
        self._pass(3000)

    def _check(self) -> None:
        """Compare clocks and heap; only where the law runs, in its own time."""
        if not self.twin.look.mode:
            return
        self.heaps.append(self.twin.free_bytes())
        tick = self.twin.part()[1][0][TICK]
        now, held = self.twin.now, self.twin.held_ms
        if self.begun is not None:
            then, was_held, was = self.begun
            gone = now - then - (held - was_held)
            assert tick - was == gone, self._where("ticks", (tick - was, gone))
            self.compared += gone
        if self.broken is None:
            self.begun = now, held, tick

    def verdict(self, hours: float) -> list[str]:
        """Return what is wrong, and what was reached too little; hours decide what is enough."""
        half = len(self.heaps) // 2
        low = [min(self.heaps[:half], default=0), min(self.heaps[half:], default=0)]
        wrong = []
        if half < 3 or low[1] < low[0] - HEAP_SLACK:
            wrong.append(f"heap: free at least {low[0]}, later {low[1]} bytes")
        wrong += [
            f"mode {mode} {self.modes[mode]} times"
            for mode in ("boot", "dark", "delay", "close", "start", "soft_start", "run", "fault")
            if self.modes[mode] < max(1, 12 * hours)
        ]
        if len(self.causes) < 3:
            wrong.append(f"causes {dict(self.causes)}")
        if self.injected < 6 * hours or self.compared < 600_000 * hours:
            wrong.append(f"{self.injected} resets, {self.compared} ticks compared")
        return wrong

    def told(self) -> str:
        """Return what was reached, in lines."""
        return "\n".join(
            (
                f"seed {self.seed}: {self.twin.now} ms, {self.injected} resets injected, "
                f"{self.compared} ticks compared, {self.said_bytes} bytes said",
                f"modes entered {dict(self.modes)}",
                f"first causes {dict(self.causes)}",
                f"acts {self.acts.total()}: {dict(self.acts)}",
                f"heap free {self.heaps[:3]} ... {self.heaps[-3:]}, least {min(self.heaps)}",
            )
        )


def main() -> int:
    """Soak as the command line says; return 1 where a claim breaks or too little was reached."""
    hours, seed = float(sys.argv[1]), int(sys.argv[2])
    build = load(sys.argv[3] if len(sys.argv) > 3 else "smoke_tunnel")
    folder = Path(tempfile.mkdtemp(prefix="soak-"))
    try:
        provision(build, folder / "flash.img")
        with Twin(build, compiled(), folder, seed) as twin:
            soak = Soak(twin, seed)
            while twin.now < hours * 3_600_000:
                soak.run(min(600_000, round(hours * 3_600_000) - twin.now))
                print(soak.told(), flush=True)
        wrong = soak.verdict(hours)
    finally:
        shutil.rmtree(folder)
    print("\n".join(wrong) or "holds")
    return 1 if wrong else 0


if __name__ == "__main__":
    sys.exit(main())
