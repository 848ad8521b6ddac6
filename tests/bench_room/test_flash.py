"""Flashing a board that is blank, that runs, and that holds something else."""

from collections.abc import Iterator
from pathlib import Path

import pytest
from flash_board import NAME, Verb, board, cargo, differs, document, flashed, serve

from diodewright.bench import BenchError, Line, reach
from diodewright.bench import flash as flashing
from diodewright.bench.flash import Cargo
from diodewright.bench.image import SCRIPTS, sources
from diodewright.bench.passport import halves, read_as_built
from diodewright.bench.transport import Prompt
from diodewright.build import load
from diodewright.derive import settings
from diodewright.twin import Event, Session
from diodewright.twin.provision import put_files
from stories import until

OTHER = "smoke_tunnel_dummy"


@pytest.fixture(scope="module")
def flashed_board() -> Iterator[Session]:
    """Return a board that was blank and is flashed; tests leave it flashed."""
    with board() as session:
        done = flashed(session, cargo())
        assert (done.self_test, done.barred, done.mode) == (0, "", "dark")
        assert done.written == len(sources()) + 1, "every file, and the settings"
        yield session


def test_a_blank_board_runs_its_law_from_the_files_that_were_copied(
    flashed_board: Session,
) -> None:
    assert flashed_board.twin.look.mode == "dark"

    def names(port: str) -> list[str]:
        from diodewright.bench.reach import at_prompt

        with at_prompt(port, lambda _: None) as prompt:
            found = sorted(prompt.hashes("diodedriver", SCRIPTS))
            prompt.reset()
        return found

    found = serve(flashed_board, names)
    assert "diodedriver/law.mpy" in found and not [name for name in found if "law.py" in name]
    until(flashed_board.twin, "dark")


def test_flashed_once_more_nothing_is_written_and_check_finds_nothing(
    flashed_board: Session,
) -> None:
    assert differs(flashed_board, cargo()) == []
    assert flashed(flashed_board, cargo()).written == 0


def test_the_board_tells_its_passport_and_its_journal_that_it_was_flashed(
    flashed_board: Session,
) -> None:
    what = cargo()

    def told(port: str) -> tuple[str, list[str]]:
        with Line(port) as line:
            line.tell("JOUR:REW")
            entries = []
            while (entry := line.ask("JOUR?")) != '""':
                entries.append(entry)
            return line.ask("SETT:ASB?"), entries

    text, entries = serve(flashed_board, told)
    assert read_as_built(text.strip('"')) == (what.passport, ())
    first, second = halves(what.passport)
    (entry,) = [entry for entry in entries if entry.startswith('"flashed"')]
    assert f'"holds",-1,0,0,{first},{second}' in entry


def test_the_passport_moves_with_build_law_and_settings(monkeypatch: pytest.MonkeyPatch) -> None:
    from diodewright.bench import passport

    what = cargo()
    seen = {
        what.passport,
        Cargo(load(OTHER), what.values).passport,
        Cargo(what.build, what.values | {"trip_cK": what.values["trip_cK"] - 1}).passport,
    }
    monkeypatch.setattr(passport, "law_hash", lambda: "another law")
    assert len(seen | {what.passport}) == 4


def test_check_names_what_differs_and_the_board_runs_on_as_it_was(flashed_board: Session) -> None:
    what = cargo()
    other = Cargo(what.build, what.values | {"trip_cK": what.values["trip_cK"] - 100})
    found = differs(flashed_board, other)
    assert [row for row in found if row.startswith("trip_cK: ")]
    assert not [row for row in found if "missing" in row or "different" in row]
    until(flashed_board.twin, "dark")
    assert flashed(flashed_board, what).written == 0


def test_other_settings_are_stored_whole_and_only_they(flashed_board: Session) -> None:
    what = cargo()
    other = Cargo(what.build, what.values | {"trip_cK": what.values["trip_cK"] - 100})
    assert flashed(flashed_board, other).passport == other.passport
    assert differs(flashed_board, other) == []
    assert flashed(flashed_board, what).self_test == 0


def test_a_lit_board_is_not_flashed_and_goes_on(flashed_board: Session) -> None:
    twin = flashed_board.twin
    flashed_board.step(events=[Event(0, "plant.trigger", 1.0)])
    until(twin, "run", "limited", most=20_000)
    try:
        with pytest.raises(BenchError, match="not while it is lit or about to light"):
            flashed(flashed_board, cargo())
        assert twin.true("diode_A") > 0.1
    finally:
        flashed_board.step(events=[Event(0, "plant.trigger", 0.0)])
        until(twin, "dark")


def test_a_self_test_that_waits_for_the_key_is_said_to_wait(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(flashing, "_SELF_TEST_S", 0.5)
    monkeypatch.setattr(reach, "_SELF_TEST_S", 0.5)
    with board() as session:
        session.step(events=[Event(0, "plant.key", 0.0)])
        done = flashed(session, cargo())
        assert (done.self_test, done.mode) == (-1, "testing")
        with pytest.raises(BenchError, match="its self-test waits: close interlock and key"):
            flashed(session, cargo())


def test_somebody_elses_program_is_not_overwritten() -> None:
    with board() as session:
        put_files(session.twin.flash, {"main.py": b"print('mine')\n"})
        with pytest.raises(BenchError, match=r"main\.py of somebody else's"):
            flashed(session, cargo())

        def kept(port: str) -> bytes:
            with Prompt(port) as prompt:
                return prompt.read("main.py")

        assert serve(session, kept) == b"print('mine')\n"


def test_the_verb_flashes_despite_a_named_finding_and_board_record_and_card_carry_it(
    tmp_path: Path, flashed_board: Session, verb: Verb
) -> None:
    build = load(NAME)
    file = document(
        build,
        tmp_path / "r.json",
        verdict="INCOMPLETE",
        reasons=["proof: ranges: no solver"],
    )
    log, out = tmp_path / "log.csv", tmp_path / "out"
    words = ("--rehearsal", str(file), "--log", str(log), "--out", str(out))
    code, _, said = verb(flashed_board, *words)
    assert code == 1 and "proof:ranges: proof: ranges: no solver" in said
    assert not log.exists()
    code, said, wrong = verb(flashed_board, *words, "--despite", "proof:ranges")
    assert code == 0, wrong
    assert "despite  proof:ranges" in said and "Dummy load before diode" in said
    despite = cargo(despite=("proof:ranges",))
    assert differs(flashed_board, despite) == []
    unit = flashed_board.twin.unit
    assert '"proof:ranges"' in (out / f"as_built_{unit}.json").read_text()
    assert "Flashed despite what fails: proof:ranges" in (out / f"card_{unit}.html").read_text()
    header, line = log.read_text().splitlines()
    assert unit in line and "proof:ranges" in line and line.endswith("flashed")
    assert header.startswith("date_utc,port,unit,build")


def test_a_batch_goes_on_behind_a_board_that_fails_and_logs_both(
    tmp_path: Path, flashed_board: Session, verb: Verb
) -> None:
    file, log = document(load(NAME), tmp_path / "r.json"), tmp_path / "log.csv"
    words = ("--rehearsal", str(file), "--log", str(log), "--batch", "--port", "/dev/no-board")
    code, _, wrong = verb(flashed_board, *words)
    assert code == 2 and "/dev/no-board: no such port" in wrong
    _, *lines = log.read_text().splitlines()
    assert len(lines) == 2
    assert sorted(line.rpartition(",")[2] for line in lines) == [
        "/dev/no-board: no such port",
        "flashed",
    ]


def test_limits_on_the_screen_are_the_settings_words() -> None:
    from diodewright.bench.enforced import enforced

    values = settings(load(NAME)) | {"trip_cK": 33315, "absolute_mA": 1650, "delay_ticks": 5000}
    said = dict(enforced(values))
    assert said["mount: trip"] == "60.0 degC"
    assert said["never asked for above"] == "1.65 A"
    assert said["emission delay"] == "5 s"
