"""The proof on the screen: obligation, meaning, verdict, seconds; and what refutes one."""

from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

from rich.console import Console

from diodedriver import words
from diodewright.build import Build
from diodewright.derive import settings
from diodewright.prove import Proof, Verdict, prove_source, save_case
from diodewright.prove.build_claims import BuildFigure, figures
from diodewright.report.files import make_folder
from diodewright.report.terminal import block, command, print_json, progress, screen, table
from diodewright.report.wording import number, unit_text
from diodewright.sim.engine import law_text

__all__ = ["show_proof"]

_LIMITS = (
    "one tick of the law for all settings that a board accepts, by induction for all ticks; not "
    "the circuit, not the sensors, and a junction's millisecond is the comparator's job"
)
_TABLES = {"state": words.STATE, "readings": words.READINGS, "raw": words.RAW}
_MOST_TOLD = 40
_PART = 3


def show_proof(build: Build | None, out: Path, as_json: bool, only: Sequence[str] = ()) -> int:
    """Prove the law, print the table, write a case for each refutation into `out`.

    Parameters
    ----------
    only : obligations by id; none for all.

    Returns
    -------
    int
        0 where every obligation is proved, 1 where one is not, 3 where only some were asked.

    Raises
    ------
    UnknownObligation
        There is no obligation of that id.
    Unprovable
        There is no solver here.
    Refused
        The law has a construct that the translator doesn't model.
    CannotWrite
        The folder can't be made or written.
    """
    source = law_text()
    own = settings(build) if build is not None else None
    with progress() as say:
        proof = prove_source(source, list(only) or None, say=say)
        told = figures(own, 1000 * build.diode.absolute_A) if build and own else ()
        named = [row.obligation for row in told if not only or row.obligation in only]
        sharper = prove_source(source, named, settings=own, say=say) if told else None
    written = _write(proof, sharper, out)
    if as_json:
        _as_json(build, proof, sharper, told, written)
    else:
        _as_text(build, proof, sharper, told, written)
    every = proof.all_proved and (sharper is None or not sharper.open())
    return (_PART if only else 0) if every else 1


def _write(proof: Proof, sharper: Proof | None, out: Path) -> list[Path]:
    refuted = [*proof.of("refuted"), *(sharper.of("refuted") if sharper else ())]
    if not refuted:
        return []
    make_folder(out)
    return [save_case(row.case, out) for row in refuted if row.case is not None]


def _as_json(
    build: Build | None,
    proof: Proof,
    sharper: Proof | None,
    told: tuple[BuildFigure, ...],
    written: list[Path],
) -> None:
    values: dict[str, Any] = {**proof.as_dict(), "cases": [str(path) for path in written]}
    if build is not None and sharper is not None:
        values["build"] = {
            "name": build.name,
            "fingerprint": build.fingerprint,
            "all_proved": not sharper.open(),
            "obligations": sharper.as_dict()["obligations"],
            "figures": [row.as_dict() for row in told],
        }
        values["all_proved"] = proof.all_proved and not sharper.open()
    print_json(values)


def _as_text(
    build: Build | None,
    proof: Proof,
    sharper: Proof | None,
    told: tuple[BuildFigure, ...],
    written: list[Path],
) -> None:
    out = screen()
    block(out, "law", [f"{proof.law_hash[:16]}, {proof.solver}"])
    rows = [(row.id, row.claim, row.status, f"{row.seconds:.1f}") for row in proof.obligations]
    table(out, ("obligation", "meaning", "status", "seconds"), rows, "seconds")
    for row in (*proof.obligations, *(sharper.obligations if sharper else ())):
        if row.status != "proved":
            _tell(out, row)
    block(out, "limits", [_LIMITS])
    if build is not None and sharper is not None:
        proved = len(sharper.of("proved"))
        count = len(sharper.obligations)
        block(out, "build", [f"{build.name}: {proved} of {count} proved for its own settings"])
        block(
            out, "", [f"{row.meaning}: {number(row.value)} {unit_text(row.unit)}" for row in told]
        )
    every = proof.all_proved and (sharper is None or not sharper.open())
    proved = len(proof.of("proved"))
    said = f"{proved} of {len(proof.obligations)} obligations proved"
    block(out, "verdict", [said], "bold green" if every else "bold red")
    for path in written:
        block(out, "case", [str(path)])
    block(out, "next", ["rehearse a build: the proof is carried in its verdict"])
    command(out, f"diodewright rehearse {build.name if build else 'BUILD'}")


def _tell(out: Console, row: Verdict) -> None:
    block(out, row.status, [f"{row.id}: {row.claim}", row.why], "bold red")
    if row.case is None:
        return
    for tick in row.case["ticks"]:
        for name, rows in _TABLES.items():
            block(out, "", [f"{name}: {_words(tick[name], rows)}"])
        block(out, "", [f"settings: {_words(tick['limits'], words.SETTINGS)}"])


def _words(values: Mapping[str, int], rows: tuple[tuple[str, str, int, int, str], ...]) -> str:
    """Return the words that are not at their lowest, with their units."""
    told = [
        f"{name} {values[name]} {unit}" for name, unit, low, _, _ in rows if values[name] != low
    ]
    more = len(told) - _MOST_TOLD
    return ", ".join(told[:_MOST_TOLD]) + (f" and {more} more in the case" if more > 0 else "")
