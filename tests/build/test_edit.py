"""A build file changed in place: what stays, what is refused, what is kept."""

from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from diodewright.build import BuildErrors, examples, load, template
from diodewright.build.edit import edited


@pytest.fixture
def lamp(tmp_path: Path) -> Path:
    path = tmp_path / "lamp.toml"
    path.write_text(template("lamp", "smoke_tunnel"))
    return path


def test_only_the_lines_of_changed_keys_change_and_comments_stay(lamp: Path) -> None:
    change = edited(lamp, {"limits.mount_warm_degC": 44.5}, "tuned, seed 3")
    before, after = change.before.splitlines(), change.after.splitlines()
    moved = [(a, b) for a, b in zip(before, after, strict=True) if a != b]
    assert len(moved) == 1
    assert moved[0][1].startswith("mount_warm_degC = 44.5")
    assert moved[0][1].endswith("tuned, seed 3")
    assert moved[0][0].partition("#")[2].strip() in moved[0][1]
    assert change.build.limits.mount_warm_degC == 44.5


def test_nothing_is_written_until_write_and_the_old_text_is_kept(lamp: Path) -> None:
    text = lamp.read_text()
    change = edited(lamp, {"limits.delay_s": 7})
    assert lamp.read_text() == text
    kept = change.write()
    assert kept.read_text() == text
    assert load(lamp).limits.delay_s == 7
    again = edited(lamp, {"limits.delay_s": 8}).write()
    assert again != kept and load(again.rename(lamp.with_name("old.toml"))).limits.delay_s == 7


@pytest.mark.parametrize(
    ("values", "said"),
    [
        ({"limits.mount_warm_degC": 900.0}, "mount_warm_degC"),
        ({"limits.mount_warm_degC": 58.0}, "mount_hot_degC"),
        ({"limits.no_such_key": 1}, "no such key"),
        ({"no_such_section.key": 1}, "no_such_section"),
    ],
)
def test_a_value_that_the_file_may_not_have_is_refused(lamp: Path, values, said: str) -> None:
    text = lamp.read_text()
    with pytest.raises(BuildErrors, match=said):
        edited(lamp, values)
    assert lamp.read_text() == text and list(lamp.parent.iterdir()) == [lamp]


def test_a_shipped_example_is_never_written_to() -> None:
    with pytest.raises(BuildErrors, match="a shipped example is not written to"):
        edited("smoke_tunnel", {"limits.delay_s": 7}).write()


def test_a_file_that_somebody_changed_meanwhile_is_left_alone(lamp: Path) -> None:
    change = edited(lamp, {"limits.delay_s": 7})
    lamp.write_text(lamp.read_text() + "\n# mine\n")
    with pytest.raises(BuildErrors, match="changed meanwhile"):
        change.write()
    assert lamp.read_text().endswith("# mine\n") and len(list(lamp.parent.iterdir())) == 1


@given(
    example=st.sampled_from(examples()),
    delay_s=st.floats(5.0, 10.0),
    soft_ms=st.integers(300, 900),
)
def test_the_file_says_what_with_values_says(example: str, delay_s: float, soft_ms: int) -> None:
    """One meaning of a change, on paper and in the file."""
    from diodewright.build import with_values

    build = load(example)
    values = {"limits.delay_s": delay_s}
    if build.stage.kind != "gated":
        values["limits.soft_start_ms"] = soft_ms
    try:
        wanted = with_values(build, values).fingerprint
    except BuildErrors:
        with pytest.raises(BuildErrors):
            edited(example, values)
        return
    assert edited(example, values).build.fingerprint == wanted
