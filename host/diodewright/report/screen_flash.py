"""Flashing on a screen: cautions first, what was done, and what the board now enforces."""

import dataclasses
import sys
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import UTC, datetime
from functools import partial
from pathlib import Path
from typing import Any

from rich.text import Text

from diodewright.bench import BenchError
from diodewright.bench.boards import chosen
from diodewright.bench.enforced import enforced
from diodewright.bench.flash import Cargo, Flashed, compare, flash
from diodewright.bench.ground import excused
from diodewright.bench.passport import as_built
from diodewright.bench.problems import NotGrounded
from diodewright.bench.shop import PROOF_TEST, PROOF_TEST_DAYS, log_unit, overdue, try_log
from diodewright.build import Build
from diodewright.derive import settings
from diodewright.rehearse import Rehearsal
from diodewright.rehearse.hazards import cautions_of
from diodewright.report.files import make_folder, write_together
from diodewright.report.page import render_card
from diodewright.report.reading import DOCUMENT, read_document
from diodewright.report.screen_rehearsal import STYLES
from diodewright.report.shape import document_of
from diodewright.report.terminal import block, json_text, print_json, screen, table
from diodewright.report.terminal import progress as shown_progress

__all__ = ["Shop", "show_flash", "show_flash_check"]

HOLDS, FAILS, BAD, INCOMPLETE = 0, 1, 2, 3
#: Common practice, no source.
CAUTIONS = (
    "Dummy load before diode: first current of a new board goes into a string of rectifier diodes.",
    "Static: a strap through its resistor of about 1 Mohm, before you touch the diode's leads.",
    "Cells: fused at the pack, out of the holder while you solder; never alone in the room.",
)
_LEAVES_OUT = (
    "flashing was tried with real MicroPython on a simulated board, never on silicon",
    "the self-test asks the circuit, not the light: see the bring-up steps before first light",
)


@dataclass(frozen=True)
class Shop:
    """What is kept of a flash on this machine; nothing where both are None.

    Attributes
    ----------
    log : CSV with a line for each unit.
    folder : where each unit's as-built record and card go.
    batch : all boards that are here, one behind the other.
    """

    log: Path | None = None
    folder: Path | None = None
    batch: bool = False


def _cargo(build: Build, rehearsal: Path | None, despite: Sequence[str]) -> tuple[Cargo, Rehearsal]:
    """Return what is to be flashed and the rehearsal that it rests on.

    Raises
    ------
    NotGrounded
        There is none that holds.
    """
    values = settings(build)
    file = rehearsal or Path(f"{build.name}_rehearsal") / DOCUMENT
    if rehearsal is None and not file.exists():
        raise NotGrounded(
            f"no rehearsal at {file}: diodewright rehearse BUILD --out {build.name}_rehearsal, or "
            "name its document with --rehearsal"
        )
    done = read_document(file)
    cargo = Cargo(build, values, excused(build, done, despite, str(file)))
    as_built(cargo.passport, cargo.despite)
    return cargo, done


def show_flash(
    build: Build,
    ports: Sequence[str],
    rehearsal: Path | None,
    despite: Sequence[str],
    shop: Shop,
    as_json: bool,
) -> int:
    """Flash the board, or all of them with `shop.batch`; return the exit code, the worst one.

    Raises
    ------
    BenchError, Missing, NotGrounded, BadDocument, CannotWrite
        See there; in a batch a board's own failure is logged and told, and the next board follows.
    """
    cargo, done = _cargo(build, rehearsal, despite)
    if shop.log is not None:
        try_log(shop.log)
    if shop.folder is not None:
        make_folder(shop.folder)
    found = chosen(ports, shop.batch)
    if not as_json:
        block(screen(), "caution", [*CAUTIONS, *cautions_of(build)])
    ended = [_one(port, cargo, done, shop, as_json) for port in found]
    if as_json:
        print_json({"units": [row for row, _ in ended]})
    elif shop.log is not None:
        _tell_overdue(shop.log)
    return max((code for _, code in ended), key=(HOLDS, INCOMPLETE, FAILS, BAD).index)


def _one(
    port: str, cargo: Cargo, done: Rehearsal, shop: Shop, as_json: bool
) -> tuple[dict[str, Any], int]:
    """Flash one board, log it, tell it; return its row and exit code."""
    log = partial(log_unit, shop.log, port, cargo, now=datetime.now(UTC)) if shop.log else None
    try:
        with _telling() as say:
            unit = flash(port, cargo, say)
    except BenchError as error:
        if log:
            log(None, str(error))
        if not shop.batch:
            raise
        print(error, file=sys.stderr)
        return {"port": port, "outcome": str(error)}, BAD
    row = _row(unit, cargo)
    if log:
        log(unit, "flashed")
    if shop.folder is not None:
        _keep(shop.folder, row, cargo, done)
    if not as_json:
        _tell(unit, cargo)
    return row, _code(unit)


@contextmanager
def _telling() -> Iterator[Callable[[str], None]]:
    """Yield where progress goes; on Ctrl-C say what became of the board."""
    try:
        with shown_progress() as say:
            yield say
    except KeyboardInterrupt as stop:
        for note in getattr(stop, "__notes__", ["stopped; nothing was written"]):
            print(note, file=sys.stderr)
        raise


def _code(unit: Flashed) -> int:
    if unit.self_test == 0 and not unit.barred:
        return HOLDS
    return INCOMPLETE if unit.self_test < 0 and not unit.barred else FAILS


def _row(unit: Flashed, cargo: Cargo) -> dict[str, Any]:
    return {
        "build": cargo.build.name,
        "fingerprint": cargo.build.fingerprint,
        **dataclasses.asdict(unit),
        "passport": cargo.passport,
        "despite": list(cargo.despite),
        "enforces": dict(enforced(cargo.values)),
        "settings": cargo.values,
        "proof_test_days": PROOF_TEST_DAYS,
    }


def _keep(folder: Path, row: dict[str, Any], cargo: Cargo, done: Rehearsal) -> None:
    """Write the unit's as-built record, and its card with what it was flashed despite."""
    carried = [f"Unit {row['unit']}, passport {cargo.passport}."]
    carried += [f"Flashed despite what fails: {name}." for name in cargo.despite]
    card = render_card(document_of(dataclasses.replace(done, cautions=carried + done.cautions)))
    texts = {
        f"as_built_{row['unit']}.json": json_text(row),
        f"card_{row['unit']}.html": card,
    }
    write_together(folder, {name: partial(_write, text=text) for name, text in texts.items()})


def _write(path: Path, text: str) -> None:
    path.write_bytes(text.encode())


def _tell(unit: Flashed, cargo: Cargo) -> None:
    out = screen()
    verdict = {HOLDS: "HOLDS", FAILS: "FAILS", INCOMPLETE: "INCOMPLETE"}[_code(unit)]
    said = "nothing differed" if unit.written == 0 else f"{unit.written} files written, verified"
    out.print(Text(f"{verdict}  {cargo.build.name} on {unit.port}", STYLES[verdict]))
    block(out, "unit", [f"{unit.unit}, MicroPython {unit.release}; {said}"])
    block(out, "passport", [f"{cargo.passport}  (build file, law and settings)"])
    if cargo.despite:
        block(out, "despite", cargo.despite, "bold red")
    block(out, "selftest", [_self_test_said(unit)])
    block(out, "lit", [f"{unit.lit_s} s in {unit.starts} starts, as far as it has counted"])
    table(out, ("enforced", "limit"), enforced(cargo.values))
    block(out, "by hand", [f"every {PROOF_TEST_DAYS} days: {step}" for step in PROOF_TEST])
    block(out, "limits", _LEAVES_OUT)


def _self_test_said(unit: Flashed) -> str:
    if unit.self_test > 0 or unit.barred:
        return f"no light until the next boot: {unit.barred or f'step {unit.self_test} failed'}"
    if unit.self_test < 0:
        return "it waits: close interlock and key, let go of the trigger"
    return f"passed; mode {unit.mode}"


def _tell_overdue(log: Path) -> None:
    rows = overdue(log, datetime.now(UTC).date())
    if rows:
        block(screen(), "due", [f"unit {unit}: proof test since {day}" for unit, day in rows])


def show_flash_check(
    build: Build,
    ports: Sequence[str],
    rehearsal: Path | None,
    despite: Sequence[str],
    as_json: bool,
) -> int:
    """Say what on the board differs from what would be flashed; 0 nothing, 1 something.

    Raises
    ------
    BenchError, Missing, NotGrounded, BadDocument
        As in `show_flash`.
    """
    cargo, _ = _cargo(build, rehearsal, despite)
    (port,) = chosen(ports, False)
    with _telling() as say:
        found = compare(port, cargo, say)
    if as_json:
        print_json({"port": port, "passport": cargo.passport, "differs": found})
    else:
        out = screen()
        block(out, "passport", [cargo.passport])
        block(out, "differs", found or ["nothing: files, settings and both slots are these"])
    return FAILS if found else HOLDS
