"""The verb at a board: a hidden weak diode on the twin, its light read by a SCPI meter."""

import os
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from cable import Cable
from patient import Patient
from scpi_meter import ScpiMeter

from diodewright.bench import BenchError, Line, sweep_run
from diodewright.bench.meters import open_meter
from diodewright.bench.sweep import Plan, Stop, Trail
from diodewright.bench.sweep_plan import planned
from diodewright.bench.sweep_run import frame_of, sweep_board
from diodewright.build import load
from diodewright.report.screen import Asked, show_characterise
from diodewright.twin import Event, Session
from serving import serve

LAMP = load("smoke_tunnel")
#: Quick for a test: wide steps, little rest.
QUICK = planned(LAMP, fine=0.025, settle_s=0.12, rest_s=0.05, readings=4, readings_most=8)
PRESS = [Event(0, "plant.trigger", 1.0)]


@pytest.fixture(autouse=True)
def patience(monkeypatch: pytest.MonkeyPatch) -> None:
    """Let the simulated board be slow on a busy machine."""
    monkeypatch.setattr(sweep_run, "SILENT_S", 60.0)


class Hidden(Patient):
    """The board with a diode that its build does not know: weaker by `factors`, with a knee.

    What the true mean current reaches is kept; at `damage_A` the diode goes dark, for good.
    """

    def __init__(
        self, session: Session, factors: dict[str, float], knee_A: float, loss: float
    ) -> None:
        super().__init__(session)
        self.knee_A, self.loss = knee_A, loss
        self.damage_A = knee_A / 0.8  # QUICK sees what begins 14 % below damage, and more
        self.highest_A = 0.0
        self.damaged = False
        events = [
            Event(0, f"plant.{name}", self.twin.given(name) * factor)
            for name, factor in factors.items()
        ]
        session.step(b"", events)
        self.threshold_A = self.twin.given("threshold_A")

    def step(self, data: bytes = b"") -> bytes:
        at_A = self.twin.true("diode_A")
        self.highest_A = max(self.highest_A, at_A)
        self.damaged = self.damaged or at_A >= self.damage_A
        self.twin.strike(Event(0, "plant.light_factor", self._left(at_A)))
        return super().step(data)

    def _left(self, at_A: float) -> float:
        if self.damaged:
            return 0.05
        if at_A <= self.knee_A:
            return 1.0
        return max(0.0, 1 - self.loss * (at_A - self.knee_A) / (at_A - self.threshold_A))


@pytest.fixture
def hidden(session: Session) -> Hidden:
    weak = Hidden(session, {"threshold_A": 1.2, "slope_W_A": 0.85}, 0.62, 0.7)
    session.step(b"", PRESS)
    return weak


@pytest.fixture
def meter(hidden: Hidden) -> Iterator[ScpiMeter]:
    """Return a power meter in the hidden diode's beam."""
    with ScpiMeter({"MEAS:POW?": lambda: f"{hidden.twin.true('light_W'):.5f}"}) as power:
        yield power


def run(hidden: Hidden, client: Callable[[str], object]) -> object:
    return serve(hidden, client)  # type: ignore[arg-type]


def sweep_with(
    hidden: Hidden, meter: Callable[[], float], plan: Plan = QUICK
) -> tuple[tuple[Trail, Stop], str, str]:
    """Return the sweep, what is asked for afterwards, and the limit."""

    def client(port: str) -> tuple[tuple[Trail, Stop], str, str]:
        with Line(port) as line:
            done = sweep_board(line, LAMP, meter, plan)
            return done, line.ask("CURR?"), line.ask("CURR:LIM?")

    return run(hidden, client)  # type: ignore[return-value]


def test_a_weak_diode_is_swept_to_its_knee_and_lives(
    hidden: Hidden, meter: ScpiMeter, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """The whole verb, over two real ports: board and meter."""
    asked = Asked(
        "smoke_tunnel",
        meter=f"visa:{meter.resource}",
        out=tmp_path,
        name="weak_one",
        step_pct=2.5,
        settle_s=0.12,
        rest_s=0.05,
    )

    def client(port: str) -> int:
        from dataclasses import replace

        return show_characterise(LAMP, replace(asked, port=port))

    assert run(hidden, client) == 0
    said = capsys.readouterr().out
    assert not hidden.damaged
    assert 0.62 < hidden.highest_A < 0.62 / 0.86
    assert hidden.twin.true("diode_A") < 0.11  # the start level again, the trigger still held
    assert said.index("eyewear") < said.index("plan") < said.index("HOLDS")
    assert "ended by kink" in said or "ended by roll-over" in said
    assert "can't see" in " ".join(said.split())
    assert {path.name for path in tmp_path.iterdir()} == {
        "sweep.csv",
        "sweep.svg",
        "characterise.json",
        "part.toml",
    }
    # the table alone gives the same answer
    again = Asked("smoke_tunnel", table=str(tmp_path / "sweep.csv"), step_pct=2.5, name="weak_one")
    assert show_characterise(LAMP, again) == 0
    told = capsys.readouterr().out
    for line in ("HOLDS  smoke_tunnel", "threshold ", "use  "):
        assert next(x for x in told.splitlines() if line in x) in said


def test_the_board_itself_refuses_more_than_the_bound(hidden: Hidden) -> None:
    plan = planned(LAMP, 0.3, fine=0.05, settle_s=0.1, rest_s=0.05, readings=2)

    def client(port: str) -> tuple[Stop, str]:
        with Line(port) as line:
            _, stop = sweep_board(line, LAMP, lambda: hidden.twin.true("light_W"), plan)
            with pytest.raises(BenchError, match="-222"):
                line.tell("CURR 0.31")
            return stop, line.ask("CURR:LIM?")

    stop, limit = run(hidden, client)  # type: ignore[misc]
    assert (stop.kind, float(limit)) == ("bound", plan.bound_A)
    assert hidden.highest_A < 0.3 * 1.001


@pytest.mark.parametrize("how", ["hand", "trigger", "meter"])
def test_a_sweep_that_ends_midway_asks_for_the_start_level(hidden: Hidden, how: str) -> None:
    """Ctrl-C, the trigger let go, and a meter that falls silent."""
    count = 0

    def meter() -> float:
        nonlocal count
        count += 1
        if count == 40:
            if how == "hand":
                raise KeyboardInterrupt
            if how == "meter":
                raise BenchError("visa:gone: no answer to MEAS:POW?")
            hidden.session.twin.strike(Event(0, "plant.trigger", 0.0))
        return hidden.twin.true("light_W")

    def client(port: str) -> tuple[str, float]:
        with Line(port) as line:
            try:
                _, stop = sweep_board(line, LAMP, meter, QUICK)
                kind = stop.kind
            except BenchError as error:
                kind = str(error)
            return kind, float(line.ask("CURR?"))

    kind, asked_A = run(hidden, client)  # type: ignore[misc]
    assert kind == {"hand": "ended", "trigger": "lost"}.get(
        how, "visa:gone: no answer to MEAS:POW?"
    )
    assert asked_A == 0.1
    assert not hidden.damaged


def test_a_meter_that_says_milliwatts_without_a_unit_ends_it(
    hidden: Hidden, meter: ScpiMeter
) -> None:
    meter.answers = {**meter.answers, "MEAS:POW?": lambda: f"{1000 * hidden.twin.true('light_W')}"}

    def client(port: str) -> Stop:
        with Line(port) as line, open_meter(f"visa:{meter.resource}", "light", "W") as power:
            return sweep_board(line, LAMP, power, QUICK)[1]

    stop = run(hidden, client)
    assert isinstance(stop, Stop) and stop.kind == "unit" and stop.at_A < 0.4
    assert "mW taken for W" in stop.why


def test_a_cable_that_is_pulled_midway_is_one_line(hidden: Hidden, tmp_path: Path) -> None:
    cable = Cable(tmp_path / "board")
    count = 0

    def meter() -> float:
        nonlocal count
        count += 1
        if count == 20:
            cable.unplug()
        return hidden.twin.true("light_W")

    def client(port: str) -> str:
        with Line(port) as line, pytest.raises(BenchError) as gone:
            sweep_board(line, LAMP, meter, QUICK)
        return str(gone.value)

    said = serve(hidden, client, cable)  # type: ignore[arg-type]
    assert "the port is gone" in said and "\n" not in said


def test_another_builds_board_is_refused_before_any_light(session: Session) -> None:
    other = load("cave_lamp")

    def client(port: str) -> str:
        with Line(port) as line, pytest.raises(BenchError) as refused:
            sweep_board(line, other, lambda: 0.0, planned(other))
        return str(refused.value)

    said = serve(session, client)
    assert "the bound would be another diode's" in said and "\n" not in said


def test_a_trigger_that_nobody_presses_is_one_line(session: Session) -> None:
    def client(port: str) -> str:
        with Line(port) as line, pytest.raises(BenchError) as refused:
            sweep_board(line, LAMP, lambda: 0.0, QUICK, press_s=0.5)
        return str(refused.value)

    assert "no light within 0.5 s (mode dark)" in serve(session, client)


def test_damaged_telemetry_is_left_out() -> None:
    assert frame_of("@run,1,2,3,00000000") is None
    assert frame_of("@barred") is None


def test_without_a_port_the_plan_is_told_and_nothing_else(
    capsys: pytest.CaptureFixture[str],
) -> None:
    assert show_characterise(LAMP, Asked("smoke_tunnel")) == 0
    said = " ".join(capsys.readouterr().out.split())
    assert "D 520 LB" in said and "beam stop" in said and "never alone" in said
    assert "from 0.100 to 1.483 A" in said and "5 % or more below damage" in said


@pytest.mark.parametrize(
    ("asked", "said"),
    [
        (Asked("smoke_tunnel", port="/dev/no-such-board"), "/dev/no-such-board: no such port"),
        (Asked("smoke_tunnel", port=os.devnull), os.devnull),
        (Asked("smoke_tunnel", port="x", meter="csv:no.csv"), "no.csv: no such file"),
        (Asked("smoke_tunnel", port="x", meter="photo"), "meter photo: write typed"),
        (Asked("smoke_tunnel", table="no.csv"), "no.csv: no such file"),
        (Asked("smoke_tunnel", bound_A=3.0), "bound 3 A: allowed"),
    ],
)
def test_what_can_not_be_used_is_one_line(asked: Asked, said: str) -> None:
    with pytest.raises(BenchError, match=said) as refused:
        show_characterise(LAMP, asked)
    assert "\n" not in str(refused.value)


@pytest.mark.parametrize(
    ("words", "code", "said"),
    [
        (("--from", "no.csv"), 2, "no.csv: no such file"),
        (("--from", "x.csv", "--port", "y"), 2, "--from judges a table"),
        (("--incoming",), 2, "--incoming asks a board: give its --port"),
        (("--bound", "1.55"), 2, "bound 1.55 A: allowed above 0.1 A"),
    ],
)
def test_the_command_line_ends_with_two_and_says_why(
    words: tuple[str, ...], code: int, said: str, here: Callable[..., tuple[int, str, str]]
) -> None:
    ended, _, told = here("characterise", "smoke_tunnel", *words)
    assert ended == code
    assert said in told and "Traceback" not in told
