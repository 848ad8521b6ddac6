"""Uneven codes: found where a converter has them, not where it has none; what reads near them."""

import random
from bisect import bisect_right
from collections.abc import Iterator
from pathlib import Path

import pytest

from diodewright.bench import BenchError
from diodewright.bench.calibrate_adc import codes_of, ramp, uneven, wide_codes
from diodewright.bench.line import Line
from diodewright.sim import Event
from diodewright.twin import Session
from serving import serve

DUMMY = "smoke_tunnel_dummy"
#: A common converter: spikes of some nine codes at these (its maker's erratum, from memory).
SPIKES = {512: 8.9, 1536: 8.9, 2560: 8.9, 3584: 8.9}


def ramped(low: int, high: int, count: int, seed: int, spikes: dict[int, float]) -> list[int]:
    """Return the codes of a slow even ramp with two codes of noise, of a converter with spikes."""
    chance = random.Random(seed)
    edges, at = [0.0], 0.0
    for code in range(4096):
        at += 1.0 + spikes.get(code, 0.0)
        edges.append(at)
    begin, end = edges[low], edges[high]
    found = (
        bisect_right(edges, begin + (end - begin) * place / count + chance.gauss(0, 2)) - 1
        for place in range(count)
    )
    return [min(max(code, 0), 4095) for code in found]


def test_the_wide_codes_of_a_common_converter_are_found_with_their_width() -> None:
    for seed in range(10):
        low, high, wide = wide_codes(ramped(300, 3900, 60_000, seed, SPIKES))
        assert [each.code for each in wide] == list(SPIKES)
        for each in wide:
            assert abs(each.extra_codes - 8.9) < 2 * each.extra_95_codes
        assert low < 310 and high > 3890


def test_an_even_converter_has_none() -> None:
    for seed in range(10):
        assert wide_codes(ramped(300, 3900, 60_000, seed, {}))[2] == ()


def test_a_wide_code_raises_the_tolerance_and_names_what_reads_there() -> None:
    # 6.25 V of the pack reads at code 2560; full_A at 3072
    done = uneven(DUMMY, ramped(2400, 3200, 12_000, 1, {2560: 8.9, 3072: 8.9}), "a ramp")
    assert [near.word for near in done.near] == ["level_0_mA"]
    assert 9 < done.keys["calibration.adc_uneven_codes"] < 13
    latch = next(band for band in done.bands if band.row == "overcurrent")
    assert latch.needed_after > latch.needed_before


def test_no_wide_code_leaves_the_tolerance_as_it_was() -> None:
    done = uneven(DUMMY, ramped(2400, 3200, 12_000, 1, {}), "a ramp")
    assert done.keys == {} and done.edits[0].diff == "" and done.words == ()


@pytest.mark.parametrize(
    ("codes", "said"),
    [
        ([], "passed 0 codes"),
        ([2000, 2001] * 5000, "passed 2 codes: at least 96"),
        (list(range(1000, 3000)), "1 readings a code, at least 8"),
    ],
)
def test_what_is_no_ramp_is_refused(codes: list[int], said: str) -> None:
    with pytest.raises(BenchError, match=said):
        wide_codes(codes)


def test_codes_of_a_file_are_those_of_twelve_bits(tmp_path: Path) -> None:
    file = tmp_path / "codes.csv"
    file.write_text("tick,code\n1,4095\n2,7\n")
    assert codes_of(file) == [4095, 7]
    for text, said in (("a\n1\n", "no column code"), ("code\n4096\n", "'4096' is no code")):
        file.write_text(text)
        with pytest.raises(BenchError, match=said):
            codes_of(file)


def test_a_ramp_at_the_twin_s_port_comes_over_whole(session: Session) -> None:
    high_V = 0.5

    class Ramped:
        """The board with its output's pin turned up a little at every tick."""

        def __init__(self) -> None:
            self.twin, self.place = session.twin, 0

        def step(self, data: bytes = b"") -> bytes:
            self.place += 1
            up_V = 0.1 + high_V * (self.place % 6000) / 6000
            return session.step(data, [Event(0, "plant.output_read_offset_V", up_V)])

    def client(port: str) -> list[int]:
        bursts: Iterator[bool] = iter((True, True, False))
        with Line(port) as line:
            return ramp(line, lambda _: next(bursts))

    codes = serve(Ramped(), client)  # type: ignore[arg-type]
    assert len(codes) == 12_000
    low, high, wide = wide_codes(codes)
    assert low < 150 and high > 800 and wide == ()
