"""A new build file: commented, complete, loadable; written whole or not at all."""

import os
import tomllib
from pathlib import Path

import pytest

from diodewright.build import KEYS, BuildErrors, examples, load, load_text, template, write_whole


@pytest.mark.parametrize("example", examples())
def test_a_new_file_loads_to_the_example_but_for_its_name(example: str) -> None:
    build = load_text(template("my-lamp_2", example), "x")
    origin = load(example)
    assert build.name == "my-lamp_2"
    assert load_text(template(example, example), "x").fingerprint == origin.fingerprint
    assert build.assumed == origin.assumed


def test_a_new_file_shows_every_key_that_applies_and_its_meaning() -> None:
    text = template("mine")
    flat = " ".join(text.replace("\n# ", " ").split())
    for key in KEYS:
        if key.when and key.when[1] in (("bench_supply",), ("beta",), ("linear",), ("gated",)):
            continue
        if key.when and key.when[1] in (("led",), ("narrow",), ("white",)):
            continue
        if key.kind != "levels":
            assert f"{key.name} =" in text, key.path
            assert key.meaning in flat, key.path


def test_what_is_assumed_is_commented_out_with_its_source() -> None:
    text = template("mine")
    assert "\n#cold_factor = 3\n" in text
    assert "assumed: typical, no source" in text
    assert "cold_factor" not in tomllib.loads(text)["pack"]
    own = load_text(text.replace("#cold_factor = 3", "cold_factor = 3"), "x")
    assert "pack.cold_factor" not in {each.key for each in own.assumed}


def test_no_line_of_a_new_file_is_wider_than_a_page() -> None:
    assert max(map(len, template("mine").splitlines())) <= 100


def test_a_name_that_names_no_file_is_refused() -> None:
    with pytest.raises(BuildErrors, match="holds other characters"):
        template("../mine")
    with pytest.raises(BuildErrors, match="no such example"):
        template("mine", "no_such")


def test_a_file_is_written_whole_and_never_over_another(tmp_path: Path) -> None:
    file = tmp_path / "mine.toml"
    write_whole(file, template("mine"))
    assert load(file).name == "mine"
    with pytest.raises(BuildErrors, match="exists already; choose another name"):
        write_whole(file, "other")
    assert load(file).name == "mine"
    assert [path.name for path in tmp_path.iterdir()] == ["mine.toml"]


def test_a_dangling_link_is_not_written_through(tmp_path: Path) -> None:
    link = tmp_path / "mine.toml"
    link.symlink_to(tmp_path / "elsewhere.toml")
    with pytest.raises(BuildErrors, match="exists already"):
        write_whole(link, "x")
    assert not (tmp_path / "elsewhere.toml").exists()


def test_a_failed_write_leaves_nothing(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def full(_: int) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "fsync", full)
    with pytest.raises(BuildErrors, match="can't be written: No space left"):
        write_whole(tmp_path / "mine.toml", "x")
    assert list(tmp_path.iterdir()) == []
    with pytest.raises(BuildErrors, match="can't be written"):
        write_whole(tmp_path / "no" / "mine.toml", "x")
