"""A burst taken from a board and stored: what is in it, and what to do with it."""

from collections import Counter
from pathlib import Path

from diodedriver import words
from diodewright.bench import Line
from diodewright.bench.burst import take
from diodewright.bench.record import refuse_ending, save
from diodewright.build import Build
from diodewright.report.terminal import block, command, print_json, progress, screen

__all__ = ["show_burst"]


def show_burst(
    build: Build,
    port: str,
    out: Path,
    length_s: float,
    from_mode: str,
    after_s: float,
    wait_s: float,
    as_json: bool,
) -> int:
    """Take a burst over `port`, store it in `out`, say what is in it; return 0.

    Raises
    ------
    BenchError
        As `bench.burst.take` and `bench.record.save` say; then nothing is written.
    """
    refuse_ending(out)
    with progress() as say, Line(port) as line:
        trace = take(line, build, length_s, from_mode, after_s, wait_s, say)
    save(trace, out)
    named = Counter(words.MODES[int(code)][0] for code in trace["mode"])
    if as_json:
        print_json(
            {
                "build": build.name,
                "fingerprint": build.fingerprint,
                "file": str(out),
                "ticks": len(trace),
                "ended_early": trace.provenance["ended_early"],
                "ticks_by_mode": dict(named),
            }
        )
        return 0
    console = screen()
    console.print(f"BURST  {len(trace)} ticks of {build.name} in {out}", style="bold")
    block(console, "modes", [", ".join(f"{name} {count}" for name, count in named.items())])
    if trace.provenance["ended_early"]:
        block(console, "ended", ["early: a tick came late or the main loop stood still"])
    block(console, "next", ["run the law again over it, to the bit, and the plant beside:"])
    command(console, f"diodewright compare {build.file} {out}")
    return 0
