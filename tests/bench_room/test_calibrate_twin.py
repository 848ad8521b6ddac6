"""A board that reads wrong, calibrated over its port against a meter at another port."""

from collections import deque
from collections.abc import Iterable, Iterator
from pathlib import Path

import pytest
from scpi_meter import ScpiMeter

from diodewright.bench import BenchError, Line
from diodewright.bench.calibrate import board_build, steps_A
from diodewright.bench.calibrate_guide import Asked, guided
from diodewright.build import load, template
from diodewright.derive import settings
from diodewright.sim import Event
from diodewright.twin import Session
from serving import needs_micropython, serve

BOOTED_MS = 3000
LIT_MS = 6500
#: The hidden board: its monitor reads so much too high, its dividers so much too low.
CURRENT_GAIN, PACK_GAIN = 1.012, 0.994
SET_A = (0.15, 0.6, 1.05, 1.5)


class Steered(Session):
    """A board whose surroundings another thread may change: what waits happens in its next tick."""

    def __init__(self, file: str, seed: int, plant: dict[str, float]) -> None:
        super().__init__(load(file), seed)
        self.waiting = deque[Event]()
        given = self.twin.given
        for name, share in plant.items():
            self.waiting.append(Event(0, f"plant.{name}", given(name) * share))
        self.pass_ms(BOOTED_MS)

    def step(self, data: bytes = b"", events: Iterable[Event] = ()) -> bytes:
        happened = [*events]
        while self.waiting:
            happened.append(self.waiting.popleft())
        return super().step(data, happened)

    def pass_ms(self, ticks: int) -> None:
        for _ in range(ticks):
            self.step()


@pytest.fixture
def file(tmp_path: Path, request: pytest.FixtureRequest) -> str:
    """Return a build file of one's own: a dummy string on cells, or what the test names."""
    path = tmp_path / "lamp.toml"
    path.write_text(template("lamp", getattr(request, "param", "smoke_tunnel_dummy")))
    return str(path)


@pytest.fixture
def board(file: str) -> Iterator[Steered]:
    """Return its board, booted, whose monitor reads high and whose dividers read low."""
    needs_micropython()
    hidden = {"monitor_gain_V_V": CURRENT_GAIN, "pack_ratio": PACK_GAIN}
    with Steered(file, 3, hidden) as session:
        yield session


def lit(board: Steered) -> None:
    """Press the trigger and wait until it is lit; minutes of dark went before that."""
    board.waiting += [Event(0, "law.budget", 0.0), Event(0, "plant.trigger", 1.0)]
    board.pass_ms(LIT_MS)
    assert board.twin.look.mode == "run"


def asked(file: str, quantity: str, port: str, meter: str, **more: object) -> Asked:
    answers = more.pop("answers", None)
    said: list[str] = []

    def answer(text: str) -> str:
        said.append(text)
        return next(answers, "") if answers is not None else "\n"  # type: ignore[call-overload]

    values: dict[str, object] = {
        "file": file,
        "quantity": quantity,
        "port": port,
        "meter": meter,
        "accuracy": 0.02,
        "points_file": None,
        "also": (),
        "real_diode": False,
        "ask": answer,
        "say": said.append,
    }
    return Asked(**(values | more))  # type: ignore[arg-type]


def test_the_current_of_a_board_that_reads_high_is_found_and_put_right(
    board: Steered, file: str
) -> None:
    lit(board)
    said: list[str] = []
    with ScpiMeter({"MEAS:CURR:DC?": lambda: f"{board.twin.true('diode_A'):.6E}"}) as meter:

        def client(port: str) -> object:
            return guided(asked(file, "current", port, f"visa:{meter.resource}", say=said.append))

        done = serve(board, client, in_turns=True)
    assert "Dummy load before diode" in said[0]
    assert [round(point.true, 1) for point in done.points] == [0.1, 0.6, 1.0, 1.5]
    # taken at rest: the set points' tails are over, a milliampere of them would show
    assert [point.read for point in done.points] == pytest.approx(SET_A, abs=0.001)
    # 4096/4095: the law's full scale against the converter's
    assert abs(done.result.gain - 4096 / 4095 / CURRENT_GAIN) < done.result.gain_95 < 0.002
    board.pass_ms(200)
    assert board.twin.look.diode_A < 0.001  # it goes dark behind the last point
    assert Path(file).read_text() == done.edits[0].before  # nothing is written


@pytest.mark.parametrize("file", ["smoke_tunnel_bench"], indirect=True)
def test_the_pack_s_reading_is_calibrated_dark_point_by_point(board: Steered, file: str) -> None:
    volts = iter((8.4, 7.7, 7.0, 6.3))

    def set_next(text: str) -> str:
        if "point" in text and (next_V := next(volts, None)) is not None:
            board.waiting.append(Event(0, "plant.bench_V", next_V))
            return "\n"
        return "e\n"

    with ScpiMeter({"MEAS:VOLT:DC?": lambda: f"{board.twin.true('pack_V'):.6E}"}) as meter:

        def client(port: str) -> object:
            return guided(asked(file, "pack", port, f"visa:{meter.resource}", ask=set_next))

        done = serve(board, client, in_turns=True)
    assert abs(done.result.gain - 4096 / 4095 / PACK_GAIN) < done.result.gain_95 < 0.002
    # what is left of the dividers' own tolerance; uneven codes keep it from being less
    assert done.result.off < done.result.off_before / 2
    after = settings(done.edits[0].build)["pack_full_mV"]
    board.pass_ms(10)
    for point in done.points:  # read low, and by no more than is said to be left
        read_V = point.read * after / 10_000
        assert 0 <= (point.true - read_V) / point.true * 100 + 0.05 < done.result.off


@pytest.mark.parametrize("file", ["smoke_tunnel_bench"], indirect=True)
def test_points_that_nobody_set_apart_are_refused(board: Steered, file: str) -> None:
    with ScpiMeter({"MEAS:VOLT:DC?": lambda: f"{board.twin.true('pack_V'):.6E}"}) as meter:

        def client(port: str) -> str:
            answers = iter(("\n", "\n", "e\n"))
            spec = f"visa:{meter.resource}"
            with pytest.raises(BenchError) as refused:
                guided(asked(file, "pack", port, spec, answers=answers))
            return str(refused.value)

        assert "points too close together" in serve(board, client)


def test_a_meter_that_overloads_leaves_the_board_dark_and_the_file_alone(
    board: Steered, file: str
) -> None:
    lit(board)
    before = Path(file).read_text()
    with ScpiMeter({"MEAS:CURR:DC?": "9.9E37"}) as meter:

        def client(port: str) -> str:
            with pytest.raises(BenchError) as refused:
                guided(asked(file, "current", port, f"visa:{meter.resource}"))
            return str(refused.value)

        assert "overload" in serve(board, client)
    board.pass_ms(200)
    assert board.twin.look.diode_A < 0.001
    assert Path(file).read_text() == before


def test_a_board_of_another_build_and_a_dark_one_are_refused(
    board: Steered, file: str, tmp_path: Path
) -> None:
    other = tmp_path / "other.toml"
    other.write_text(template("other", "smoke_tunnel_dummy").replace("= 7.0", "= 7.1"))

    def client(port: str) -> tuple[str, str]:
        said = []
        for path in (str(other), file):
            with pytest.raises(BenchError) as refused:
                guided(asked(path, "current", port, "typed"))
            said.append(str(refused.value))
        return said[0], said[1]

    of_other, dark = serve(board, client)
    assert "neither of" in of_other and "diodewright flash" in of_other
    assert "no light (dark" in dark


def test_a_board_flashed_before_the_last_calibration_is_read_by_the_kept_file(
    board: Steered, file: str
) -> None:
    from diodewright.build.edit import edited

    edited(file, {"calibration.current_gain": 1.01}).write()

    def client(port: str) -> object:
        with Line(port) as line:
            return board_build(line, file)

    assert serve(board, client).calibration.current_gain is None


def test_a_real_diode_is_not_lit_for_a_calibration_unless_said_so(tmp_path: Path) -> None:
    with pytest.raises(BenchError, match="dummy string first"):
        guided(asked("smoke_tunnel", "current", "/dev/null", "typed"))


def test_steps_keep_off_the_codes_where_a_common_converter_is_uneven() -> None:
    build = load("smoke_tunnel_dummy")
    steps = steps_A(build)
    assert steps[0] == 0.15 and steps[-1] == 1.5 and len(steps) == 4
    for at_A in steps:
        code = at_A * 1.5 / 3.0 * 4095
        assert min(abs(code - bad) for bad in (512, 1536, 2560, 3584)) >= 19
