"""Power cut, port gone or Ctrl-C while a board is flashed: dark, and the next flash mends it."""

import hashlib
import json
import os
import shutil
import struct
import subprocess
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import pytest
from flash_board import board, cargo, differs, flashed

from diodewright.bench import BenchError
from diodewright.bench.flash import Cargo
from diodewright.bench.image import image, sources
from diodewright.bench.transport import Prompt
from diodewright.build import load
from diodewright.twin import Event, Session, micropython_path
from diodewright.twin.provision import provision, put_files

TESTS = Path(__file__).parents[1]
FIRMWARE = next(iter(sources().values())).parents[1]
SEED = 20261127
X64 = 0x0B06
BLOCK = 4096


def digests(files: dict[str, bytes]) -> dict[str, str]:
    return {path: hashlib.sha256(data).hexdigest() for path, data in files.items()}


@dataclass
class Recorded:
    """All that reached the flash while a board was flashed."""

    folder: Path
    before: Path
    log: Path
    old: dict[str, str]
    new: dict[str, str]
    cargo: Cargo

    def operations(self) -> list[tuple[int, bytes]]:
        data, found, place = self.log.read_bytes(), [], 0
        while place < len(data):
            start, count = struct.unpack_from("<II", data, place)
            found.append((start, data[place + 8 : place + 8 + count]))
            place += 8 + count
        return found

    def cut(self, whole: int, path: Path) -> None:
        """Write the image as it is after so many operations, half of the next one done."""
        held = bytearray(self.before.read_bytes())
        operations = self.operations()
        for start, data in operations[:whole]:
            held[start : start + (len(data) or BLOCK)] = data or b"\xff" * BLOCK
        if whole < len(operations):
            start, data = operations[whole]
            half = data[: len(data) // 2] or b"\xff" * (BLOCK // 2)
            held[start : start + len(half)] = half
        path.write_bytes(held)


def old_program() -> dict[str, bytes]:
    """Return an older firmware that a board may hold: sources, one of them with a line more."""
    files = {path: source.read_bytes() for path, source in sources().items()}
    files["diodedriver/run.py"] += b"# an older one\n"
    return files


def record(folder: Path, older: bool) -> Recorded:
    what = cargo()
    old = old_program() if older else {}
    with board() as session:
        session.twin.close()
        flash = session.twin.flash
        if older:
            provision(load("smoke_tunnel_dummy"), flash, session.twin.unit)
            put_files(flash, old)
        for _ in range(3000):
            session.step()
        shutil.copyfile(flash, folder / "before.img")
        # from here on all is kept: the board that runs goes on without, so it is started anew
        Path(f"{flash}.log").touch()
        session.twin.reset()
        for _ in range(3000):
            session.step()
        flashed(session, what)
        shutil.copyfile(f"{flash}.log", folder / "log")
    new = digests(image("board", X64))
    made = Recorded(folder, folder / "before.img", folder / "log", digests(old), new, what)
    (folder / "old.json").write_text(json.dumps(made.old))
    (folder / "new.json").write_text(json.dumps(made.new))
    return made


@pytest.fixture(scope="module", params=["blank", "older"])
def recorded(
    request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory
) -> Iterator[Recorded]:
    return record(tmp_path_factory.mktemp(request.param), request.param == "older")


def half(recorded: Recorded, stride: int, erase_cuts: int) -> dict[str, int]:
    """Cut everywhere; return how often which program is left."""
    path = ":".join(str(place) for place in (TESTS / "firmware", FIRMWARE))
    names = ("before.img", "log", "old.json", "new.json")
    done = subprocess.run(
        [
            micropython_path(),
            "-X",
            "heapsize=32M",
            str(TESTS / "bench_room" / "flash_half.py"),
            *(str(recorded.folder / name) for name in names),
            "0011223344556677",
            str(SEED),
            str(stride),
            str(erase_cuts),
        ],
        env={**os.environ, "MICROPYPATH": f"{path}:.frozen"},
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 0, done.stdout + done.stderr
    counts: dict[str, int] = json.loads(done.stdout)
    print(counts)
    return counts


def test_power_cut_anywhere_leaves_the_old_program_none_or_the_whole_new(
    recorded: Recorded,
) -> None:
    counts = half(recorded, 256, 3)
    assert counts["none"] > 500 and counts["new"] >= 1
    assert bool(counts["old"]) == bool(recorded.old)


@pytest.mark.by_hand
def test_power_cut_at_every_byte_leaves_the_old_program_none_or_the_whole_new(
    recorded: Recorded,
) -> None:
    assert half(recorded, 1, 24)["none"] > 50_000


def dark_then_mended(recorded: Recorded, whole: int) -> None:
    with board() as session:
        recorded.cut(whole, session.twin.flash)
        for tick in range(2500):
            session.step(events=[Event(0, "plant.trigger", 1.0)] if tick == 1500 else ())
        if session.twin.ended_at is not None:  # no whole program: the prompt
            assert session.twin.peak_A() < 1e-3
        session.step(events=[Event(0, "plant.trigger", 0.0)])
        for _ in range(300):
            session.step()
        assert flashed(session, recorded.cargo).self_test == 0
        assert differs(session, recorded.cargo) == []


def test_a_board_cut_off_stays_dark_at_power_on_and_the_next_flash_mends_it(
    recorded: Recorded,
) -> None:
    dark_then_mended(recorded, len(recorded.operations()) // 3)


@pytest.mark.by_hand
def test_a_board_cut_off_at_any_write_stays_dark_and_the_next_flash_mends_it(
    recorded: Recorded,
) -> None:
    for whole in range(len(recorded.operations())):
        dark_then_mended(recorded, whole)


def pulled_at(session: Session, monkeypatch: pytest.MonkeyPatch, step: int) -> str:
    """Flash with the cable pulled at this exchange with the prompt; return what is said."""
    count = [0]
    spoken = Prompt._spoken

    def torn(self: Prompt, otherwise: str):  # type: ignore[no-untyped-def]
        count[0] += 1
        if count[0] == step:
            self._board.serial.close()
        return spoken(self, otherwise)

    with monkeypatch.context() as patch:
        patch.setattr(Prompt, "_spoken", torn)
        try:
            flashed(session, cargo())
        except BenchError as error:
            return str(error)
    return ""


@pytest.mark.parametrize("step", [9, pytest.param(24, marks=pytest.mark.by_hand)])
def test_a_cable_pulled_in_the_midst_is_one_line_and_the_next_flash_mends_it(
    monkeypatch: pytest.MonkeyPatch, step: int
) -> None:
    with board() as session:
        said = pulled_at(session, monkeypatch, step)
        assert "stays dark: flash it again" in said and "\n" not in said
        for _ in range(500):
            session.step()
        assert session.twin.peak_A() < 1e-3
        assert flashed(session, cargo()).self_test == 0


def test_ctrl_c_says_what_became_of_the_board_and_the_next_flash_mends_it() -> None:
    def stop(text: str) -> None:
        if "law.mpy" in text:
            raise KeyboardInterrupt

    with board() as session:
        with pytest.raises(KeyboardInterrupt) as stopped:
            flashed(session, cargo(), stop)
        assert "stays dark: flash it again" in stopped.value.__notes__[0]
        assert session.twin.look.mode == ""
        assert flashed(session, cargo()).self_test == 0
