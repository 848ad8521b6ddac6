"""Record the telemetry of a simulated board: a trigger held, let go, and what befalls it meanwhile.

    python tools/record_twin.py smoke_tunnel --rest 1200 --press 0 --release 420 --for 480 \
        --rate 4 --out FILE.npz

Time counts from the first reading behind the rest; `--event 60 plant.ambient_degC 35` lets
something happen. The same build, firmware, seed and words give the same file, bit for bit: no wall
clock has a part in it. Its provenance has all that it takes to make it again.
"""

import argparse
import sys
from collections.abc import Iterable, Iterator
from pathlib import Path

from diodewright.bench.line import Identity
from diodewright.bench.record import Recorder, provenance_of, save
from diodewright.build import Build, load
from diodewright.sim import Trace
from diodewright.twin import Session
from diodewright.twin.twin import Event, is_target

#: Boot and self-test are over by then [ms].
BOOTED_MS = 3000
#: The recording that is shipped: from the press of a rested light until heat has cut it back.
SHIPPED = ("smoke_tunnel", "heat_up")
SHIPPED_WORDS = "smoke_tunnel --seed 7 --rest 1800 --press 2 --release 400 --for 480 --rate 4"


def journey(
    build: Build,
    seed: int,
    rate_Hz: int,
    for_s: float,
    events: Iterable[tuple[float, str, float]],
    rest_s: float = 0.0,
    charge_pct: float = 100.0,
) -> Trace:
    """Return what a board of `build` tells in `for_s`, behind a rest of `rest_s` in the dark.

    Parameters
    ----------
    events : (time from the first reading [s], target, value), see `diodewright.twin.Event`.
    """
    due = sorted((round(1000 * at), target, value) for at, target, value in events)
    with Session(build, seed, charge_pct) as session:
        for _ in range(BOOTED_MS + round(1000 * rest_s)):
            session.step()
        recorder = Recorder(rate_Hz, _provenance(build, session, rate_Hz, rest_s, due))
        begin = session.twin.now
        lines = _lines(session, f"TEL {rate_Hz}\n".encode(), begin, due, round(1000 * for_s))
        for host_s, line in lines:
            recorder.take(line, host_s)
        return recorder.trace()


def _provenance(
    build: Build, session: Session, rate_Hz: int, rest_s: float, due: list[tuple[int, str, float]]
) -> dict[str, object]:
    session.step(b"*IDN?\n")
    said = b""
    while not said.endswith(b"\n"):
        said += session.step()
    _, fingerprint, unit, version = said.decode().strip().split(",")
    record = session.record
    return {
        **provenance_of(build, Identity(fingerprint, unit, version), rate_Hz),
        "made_by": "the twin: a simulated board, no real one",
        "seed": record.seed,
        "charge_pct": record.charge_pct,
        "rest_s": rest_s,
        "events": [[at / 1000, target, value] for at, target, value in due],
        "firmware_hash": record.firmware,
    }


def _lines(
    session: Session, first: bytes, begin: int, due: list[tuple[int, str, float]], until: int
) -> Iterator[tuple[float, str]]:
    """Yield (time [s], whole line) of what the board says until tick `begin` + `until`."""
    waiting, data = b"", first
    while (now := session.twin.now - begin) < until:
        happening = [Event(0, target, value) for at, target, value in due if at <= now]
        due = due[len(happening) :]
        waiting += session.step(data, happening)
        data = b""
        *whole, waiting = waiting.split(b"\n")
        for line in whole:
            yield now / 1000, line.decode()


def asked(arguments: list[str]) -> argparse.Namespace:
    """Return what the words of a command line ask for."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("build")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--rate", type=int, default=4, choices=range(1, 51), metavar="HZ")
    parser.add_argument("--charge", type=float, default=100.0, metavar="PCT")
    parser.add_argument("--rest", type=float, default=0.0, metavar="S")
    parser.add_argument("--for", dest="for_s", type=float, required=True, metavar="S")
    parser.add_argument("--press", type=float, action="append", default=[], metavar="S")
    parser.add_argument("--release", type=float, action="append", default=[], metavar="S")
    parser.add_argument("--event", nargs=3, action="append", default=[], metavar=("S", "T", "V"))
    parser.add_argument("--out", type=Path)
    return parser.parse_args(arguments)


def made(words: argparse.Namespace) -> Trace:
    """Return the recording that `words` ask for."""
    events = [(at, "plant.trigger", 1.0) for at in words.press]
    events += [(at, "plant.trigger", 0.0) for at in words.release]
    events += [(float(at), target, float(value)) for at, target, value in words.event]
    unknown = [target for _, target, _ in events if not is_target(target)]
    if unknown:
        raise SystemExit(f"nothing is called {unknown[0]} here")
    build = load(words.build)
    return journey(build, words.seed, words.rate, words.for_s, events, words.rest, words.charge)


def main() -> int:
    """Write the recording that the command line asks for; without words the one that is shipped."""
    words = asked(sys.argv[1:] or SHIPPED_WORDS.split())
    folder = Path(__file__).parents[1] / "host" / "diodewright" / "examples"
    path = words.out or folder / "{}_{}.npz".format(*SHIPPED)
    save(made(words), path)
    sys.stdout.write(f"{path}: {path.stat().st_size} bytes\n")
    return 0


if __name__ == "__main__":
    sys.exit(main())
