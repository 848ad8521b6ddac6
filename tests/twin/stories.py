"""What a person and a circuit do to a simulated board, in words that tests can read."""

from collections.abc import Iterable, Iterator

from diodewright.twin import Event, Look, Twin

#: Where the numbers of a journal entry stand in serial's answer.
ENTRY = {"boot": 1, "uptime_s": 2, "row": 4, "mode": 5, "tick": 6, "limit": 7, "reading": 8}
LIT = ("start", "soft_start", "run", "limited")


def modes(looks: list[Look]) -> list[str]:
    """Return the law's modes in the order in which they came."""
    found: list[str] = []
    for look in looks:
        if look.mode and (not found or found[-1] != look.mode):
            found.append(look.mode)
    return found


def lit_ticks(looks: list[Look], dark_A: float = 0.01) -> list[int]:
    """Return the ticks with true light: more current than the self-test's trickle."""
    return [look.tick for look in looks if look.diode_A > dark_A]


def until(twin: Twin, *modes: str, most: int = 8000) -> list[Look]:
    """Run until the law is in one of `modes`; fail where it does not get there."""
    looks: list[Look] = []
    while not looks or looks[-1].mode not in modes:
        assert len(looks) < most, f"no {modes} in {most} ms: {twin.look}, {twin.said()!r}"
        looks += twin.run(1)
    return looks


def press(twin: Twin) -> None:
    twin.strike(Event(0, "plant.trigger", 1))


def release(twin: Twin) -> None:
    twin.strike(Event(0, "plant.trigger", 0))


def lit(twin: Twin) -> Twin:
    """Bring a fresh board to light and return it."""
    until(twin, "dark")
    twin.run(50)
    press(twin)
    until(twin, "run", "limited")
    return twin


def decoded(levels: Iterable[int]) -> tuple[int, int]:
    """Return the code in a lamp's levels, one a millisecond: long ones, short ones.

    Read as a person does: what lies between two long pauses; above half a second is long.
    """
    lengths: list[tuple[int, int]] = []
    level, since, pauses = 0, 0, 0
    for now in levels:
        since += 1
        assert since < 5000 and len(lengths) < 120, "it does not blink with a pause"
        if now != level:
            lengths.append((level, since))
            pauses += level == 0 and since > 1000
            level, since = now, 0
        if pauses == 2:
            break
    ends = [i for i, (level, length) in enumerate(lengths) if level == 0 and length > 1000]
    between = [length for level, length in lengths[ends[0] + 1 : ends[1]] if level == 1]
    return sum(length > 500 for length in between), sum(length < 500 for length in between)


def blinked(twin: Twin) -> tuple[int, int]:
    """Return the code that the board's blinker shows."""

    def levels() -> Iterator[int]:
        while True:
            twin.run(1)
            yield twin.level("blink")

    return decoded(levels())


def power_cycle(twin: Twin) -> None:
    """Take the pack off until the chip is without power, and fit it again."""
    before = len(twin.resets)
    twin.strike(Event(0, "plant.pack_connected", 0))
    twin.run(500)
    assert [cause for _, cause in twin.resets[before:]] == [1]
    twin.strike(Event(0, "plant.pack_connected", 1))
    twin.run(400)


def ask(twin: Twin, line: str) -> str:
    """Send one line over serial and return the answer, without its end."""
    twin.said()
    twin.send(line.encode() + b"\n")
    answer = b""
    for _ in range(500):
        twin.run(1)
        answer += twin.said()
        if answer.endswith(b"\n"):
            return answer.decode().rstrip()
    raise AssertionError(f"no answer to {line}")


def tell(twin: Twin, line: str) -> int:
    """Send one line that asks nothing; return its error number, 0 for none."""
    errors = ask(twin, f"*CLS;{line};:SYST:ERR?")
    return int(errors.partition(",")[0])


def journal(twin: Twin) -> list[dict[str, object]]:
    """Return the journal's entries as serial tells them, newest first."""
    found: list[dict[str, object]] = []
    line = ask(twin, "JOUR:REW;:JOUR?")
    while line != '""':
        fields = line.split(",")[:-1]
        entry: dict[str, object] = {"kind": fields[0].strip('"'), "cause": fields[3].strip('"')}
        for name, place in ENTRY.items():
            entry[name] = int(fields[place])
        entry["seen"] = [int(field) for field in fields[9:]]
        found.append(entry)
        line = ask(twin, "JOUR?")
    return found
