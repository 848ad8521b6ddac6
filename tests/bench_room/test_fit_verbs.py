"""`fit`, `compare` and `burst` on the command line: what they print, write and refuse."""

import json
import shutil
import sys
import time
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
from made import SMOKE, made

from diodewright.bench.against_law import judged_law
from diodewright.bench.fit_thermal import fit_thermal
from diodewright.bench.record import load as load_record
from diodewright.bench.span import Record, opened
from diodewright.build import load, template
from diodewright.report.figure_bench import against_figure, fit_figure
from diodewright.sim import Trace, compiled
from diodewright.twin import Event, Session
from serving import serve
from tooling import tool

HEAT, PULSE, BURST = "smoke_tunnel_fit_heat", "smoke_tunnel_fit_pulse", "smoke_tunnel_burst"
Ended = tuple[int, str, str]


@pytest.fixture
def here(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capfd: pytest.CaptureFixture[str]
) -> Callable[..., Ended]:
    """Return what runs the command line in this process, in a folder with a lamp of one's own."""
    from diodewright import cli
    from diodewright.cli import ending

    monkeypatch.chdir(tmp_path)
    monkeypatch.setattr(ending, "_prepare", lambda: None)
    Path("lamp.toml").write_text(template("smoke_tunnel"), encoding="utf-8")

    def run(*words: str) -> Ended:
        monkeypatch.setattr(sys, "argv", ["diodewright", *words])
        with pytest.raises(SystemExit) as end:
            cli.main()
        out, err = capfd.readouterr()
        assert isinstance(end.value.code, int)
        return end.value.code, out, err

    return run


def of_lamp(name: str, **changes: object) -> Path:
    """Return a shipped recording in this folder, as one of ``lamp.toml``."""
    trace = opened(Path(name), SMOKE).trace
    lamp = load("lamp.toml")
    said = {**trace.provenance, "build": lamp.name, "fingerprint": lamp.fingerprint, **changes}
    path = Path(f"{name}.npz")
    Trace(trace.columns, trace.events, said).save_npz(path)
    return path


# shipped recordings


@pytest.mark.parametrize("name", [HEAT, PULSE, BURST])
def test_a_shipped_recording_is_what_its_tool_makes_and_says_what_it_is(name: str) -> None:
    shipped = opened(Path(name), SMOKE).trace
    assert "simulated" in str(shipped.provenance["origin"]) and shipped.provenance["seed"] == 2026
    again = tool("make_bench_records").MADE[name]()
    assert json.loads(json.dumps(again.provenance)) == shipped.provenance
    assert list(again.columns) == list(shipped.columns)
    for column, values in again.columns.items():
        assert np.array_equal(values, shipped[column], equal_nan=True), column


def test_the_shipped_recordings_give_what_the_tool_hid(here: Callable[..., Ended]) -> None:
    hidden = tool("make_bench_records").HIDDEN
    code, out, _ = here("fit", "smoke_tunnel", HEAT, "--what", "thermal", "--json")
    found = {row["key"]: row for row in json.loads(out)["suggested"]}
    assert code == 0
    air = found["heat.sink_air_K_W"]
    assert abs(air["value"] - hidden["sink_air_K_W"]) < 2 * air["scatter"] < air["uncertainty"]
    code, out, _ = here("fit", "smoke_tunnel", PULSE, "--what", "pack", "--json")
    document = json.loads(out)
    assert document["format"] == 1
    cell = {row["key"]: row for row in document["suggested"]}["pack.cell_resistance_mohm"]
    assert abs(cell["value"] - 1000 * hidden["cell_R0_ohm"]) < 2 * cell["scatter"]
    assert set(document["numbers"]) == {"cell_C1_F", "pack_dc_mohm", "cell_dc_mohm"}


def test_the_shipped_burst_agrees_law_and_plant(here: Callable[..., Ended]) -> None:
    code, out, _ = here("compare", "smoke_tunnel", BURST)
    assert code == 0, out
    assert "AGREES (exit 0)" in out
    assert "the same mode and drive at each of 6000 ticks" in " ".join(out.split())


# the build file


def test_write_shows_the_diff_changes_the_file_and_the_same_recording_then_agrees(
    here: Callable[..., Ended],
) -> None:
    record = of_lamp(HEAT)
    before = Path("lamp.toml").read_text("utf-8")
    code, out, _ = here("fit", "lamp.toml", str(record), "--what", "thermal")
    assert code == 0 and "+sink_air_K_W = 5.7" in out and "nothing; with --write" in out
    assert Path("lamp.toml").read_text("utf-8") == before

    code, out, _ = here("compare", "lamp.toml", str(record), "--out", "seen")
    assert code == 1 and "contact from mount to sink is worse" in " ".join(out.split())
    assert sorted(path.name for path in Path("seen").iterdir()) == [
        "smoke_tunnel_against_bench.json",
        "smoke_tunnel_against_bench.svg",
    ]

    code, out, _ = here("compare", "lamp.toml", str(record), "--write")
    assert code == 1 and "+interface_K_W" in out and "lamp.toml.before-1" in out
    assert Path("lamp.toml.before-1").read_text("utf-8") == before
    assert load("lamp.toml").heat.sink_air_K_W == pytest.approx(5.8, rel=0.02)

    # the recording is of the text before; it is still that lamp's, and its model now agrees
    code, out, _ = here("compare", "lamp.toml", str(record))
    assert code == 0, out
    assert "recorded with the earlier text lamp.toml.before-1" in " ".join(out.split())


def test_a_shipped_example_is_not_written_to(here: Callable[..., Ended]) -> None:
    code, _, err = here("fit", "smoke_tunnel", PULSE, "--what", "pack", "--write")
    assert code == 2 and "a shipped example is not written to" in err


def test_figures_are_the_same_bytes_again_and_say_what_they_show() -> None:
    from diodewright.bench.against import against

    record = made(SMOKE, {"mount_sink_K_W": 2.0}, 5, until_s=420)
    first, second = (fit_figure(fit_thermal(record)) for _ in range(2))
    assert first == second
    assert "mount, recorded less fitted: from" in first
    figure = against_figure(against(record))
    assert figure == against_figure(against(record))
    assert "mount, bench: from" in figure and ">mount +" in figure  # where it is furthest


# refusals


def _damaged(path: Path) -> None:
    data = bytearray(path.read_bytes())
    data[len(data) // 2] ^= 0xFF
    path.write_bytes(bytes(data))


def _other(name: str) -> None:
    record = of_lamp(HEAT, build="other", fingerprint="ab" * 32)
    record.rename(name)


@pytest.mark.parametrize("verb", [("fit", "--what", "thermal"), ("compare",)])
def test_what_is_no_recording_of_this_lamp_is_one_line_and_exit_2(
    here: Callable[..., Ended], verb: tuple[str, ...]
) -> None:
    record = of_lamp(HEAT)
    shutil.copy(record, "damaged.npz")
    _damaged(Path("damaged.npz"))
    Path("empty.npz").write_bytes(b"")
    Path("words.csv").write_text("time_s,mode\n1,2\n", encoding="utf-8")
    Path("folder.npz").mkdir()
    _other("other.npz")
    of_lamp(PULSE, fingerprint="").rename("nobody.npz")
    fingerprint = load("lamp.toml").fingerprint[:12]
    for name, said in (
        ("none.npz", "no such file"),
        ("damaged.npz", "no recording"),
        ("empty.npz", "no recording"),
        ("words.csv", "line 1 is no comment"),
        ("folder.npz", "is not a plain file"),
        ("lamp.toml", "a recording ends in .npz or .csv"),
        ("other.npz", f"build other (abababababab); this is smoke_tunnel ({fingerprint})"),
        ("nobody.npz", "does not say of which build"),
    ):
        before = Path("lamp.toml").read_bytes()
        code, out, err = here(verb[0], "lamp.toml", name, *verb[1:], "--write", "--out", "seen")
        assert (code, out) == (2, ""), (name, code, out, err)
        assert said in err and err.count("\n") == 1, err
        assert Path("lamp.toml").read_bytes() == before and not Path("seen").exists()


def test_a_fit_of_what_is_not_in_it_writes_nothing(here: Callable[..., Ended]) -> None:
    burst = of_lamp(BURST)
    code, out, err = here("fit", "lamp.toml", str(burst), "--what", "thermal", "--out", "seen")
    assert (code, out) == (2, "") and "too short: lit for" in err
    assert not list(Path("seen").glob("*"))


def test_a_missing_library_is_incomplete_and_says_how_to_get_it(
    here: Callable[..., Ended], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setitem(sys.modules, "lmfit", None)
    code, _, err = here("fit", "smoke_tunnel", PULSE, "--what", "pack")
    assert code == 3 and "INCOMPLETE: lmfit" in err and "diodewright[bench]" in err


# a burst by the verb


def test_the_verb_takes_a_burst_over_a_port_that_then_agrees(
    session: Session, here: Callable[..., Ended]
) -> None:
    class Pressed:
        """A board whose trigger is pressed after 0.2 s and let go at 20 s."""

        twin = session.twin
        begun = session.twin.now

        def step(self, data: bytes = b"") -> bytes:
            time.sleep(0 if data else 0.0002)  # a busy host must find the time to answer
            at = {200: 1.0, 20_000: 0.0}.get(self.twin.now - self.begun)
            return session.step(data, [] if at is None else [Event(0, "plant.trigger", at)])

    def client(port: str) -> Ended:
        words = ("burst", "smoke_tunnel", "--port", port, "--out", "b.npz", "--for", "1")
        return here(*words, "--from-mode", "delay")

    code, out, err = serve(Pressed(), client)  # type: ignore[arg-type]
    assert (code, err) == (0, ""), err
    assert "BURST  1000 ticks of smoke_tunnel in b.npz" in out
    record = Record("b.npz", load_record(Path("b.npz")), SMOKE, SMOKE)
    assert judged_law(record, compiled()).first is None


def test_a_burst_that_can_not_be_taken_leaves_no_file(here: Callable[..., Ended]) -> None:
    for name, said in (("b.npz", "no such port"), ("b.txt", "a recording ends in")):
        code, out, err = here("burst", "smoke_tunnel", "--port", "/dev/none", "--out", name)
        assert (code, out) == (2, "") and said in err
        assert not Path(name).exists()
