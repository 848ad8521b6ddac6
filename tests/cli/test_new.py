"""`new NAME --from BUILD --write`, as a builder starts from a build that works."""

from collections.abc import Callable
from pathlib import Path

import pytest

from diodewright.build import load

Ended = tuple[int, str, str]


@pytest.mark.usefixtures("yard")
def test_new_from_a_file_writes_what_it_prints_and_it_loads_with_the_same_values(
    here: Callable[..., Ended],
) -> None:
    own = Path("good.toml").read_text("utf-8").replace("delay_s = 5 ", "delay_s = 6 ")
    assert own.count("delay_s = 6 ") == 1
    Path("own.toml").write_text(own, encoding="utf-8")
    code, printed, err = here("new", "copy", "--from", "own.toml")
    assert (code, err) == (0, "")
    assert not Path("copy.toml").exists()
    code, said, _ = here("new", "copy", "--from", "own.toml", "--write")
    assert (code, said) == (0, "copy.toml written; next: diodewright size copy.toml\n")
    assert Path("copy.toml").read_text("utf-8") == printed
    assert load("copy.toml").limits.delay_s == 6
    assert here("diff", "own.toml", "copy.toml")[0] == 1  # the name
    assert here("size", "copy.toml")[0] == 0


@pytest.mark.usefixtures("yard")
def test_new_writes_with_the_permissions_of_any_file_and_leaves_nothing_beside_it(
    here: Callable[..., Ended],
) -> None:
    before = set(Path().iterdir())
    assert here("new", "lamp", "--write")[0] == 0
    assert set(Path().iterdir()) - before == {Path("lamp.toml")}
    Path("plain").touch()
    assert Path("lamp.toml").stat().st_mode == Path("plain").stat().st_mode


@pytest.mark.usefixtures("yard")
def test_new_never_writes_over_a_file(here: Callable[..., Ended]) -> None:
    before = Path("good.toml").read_bytes()
    code, _, err = here("new", "good", "--from", "smoke_tunnel", "--write")
    assert (code, err) == (
        2,
        "good.toml: exists already; choose another name; nothing was written\n",
    )
    assert Path("good.toml").read_bytes() == before
