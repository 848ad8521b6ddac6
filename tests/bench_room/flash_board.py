"""A blank board to flash, what is flashed onto it, and a rehearsal that holds for it."""

import dataclasses
import json
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any, TypeVar

from diodewright.bench.flash import Cargo, Flashed, compare, flash
from diodewright.build import Build, load
from diodewright.derive import settings
from diodewright.report.reading import read_document
from diodewright.sim import law_hash
from diodewright.twin import Session
from serving import needs_micropython
from serving import serve as served

T = TypeVar("T")
#: Runs the verb against a board, or against none; gives exit code, output and errors.
Verb = Callable[..., tuple[int, str, str]]
RESULT = Path(__file__).parents[1] / "report" / "smoke_tunnel.json"
NAME = "smoke_tunnel"


def cargo(name: str = NAME, despite: tuple[str, ...] = ()) -> Cargo:
    build = load(name)
    return Cargo(build, settings(build), despite)


@contextmanager
def board(**values: Any) -> Iterator[Session]:
    """Return a blank board; skip where there is no MicroPython."""
    needs_micropython()
    with Session(load(NAME), seed=1, blank=True, **values) as session:
        yield session


def serve(session: Session, client: Callable[[str], T]) -> T:
    """Serve a client that may take a minute to begin: an idle board's hour passes meanwhile."""
    return served(session, client, most_ms=3_600_000)


def quiet(_: str) -> None:
    """Say nothing."""


def flashed(session: Session, what: Cargo, say: Callable[[str], None] = quiet) -> Flashed:
    return serve(session, lambda port: flash(port, what, say))


def differs(session: Session, what: Cargo) -> list[str]:
    return serve(session, lambda port: compare(port, what, quiet))


def document(build: Build, path: Path, **changes: Any) -> Path:
    """Write a rehearsal of `build` as it would be where it holds, with `changes` of its keys.

    Its figures are those of another rehearsal: only what flashing asks of a document is true here.
    """
    done = read_document(RESULT)
    named = {"name": build.name, "purpose": build.purpose, "fingerprint": build.fingerprint}
    values = {"build": named, "law_hash": law_hash()} | changes
    path.write_text(json.dumps(dataclasses.replace(done, **values).as_dict()), "utf-8")
    return path
