"""A new file from any build: values kept, comments made anew."""

import re
from collections.abc import Callable
from pathlib import Path

import pytest

from diodewright.build import BuildErrors, load, load_text, template


def test_a_file_from_ones_own_keeps_every_value_and_what_is_assumed(
    tmp_path: Path, variant: str
) -> None:
    (tmp_path / "mine.toml").write_text(variant, encoding="utf-8")
    own = load(tmp_path / "mine.toml")
    again = load_text(template("smoke_tunnel", tmp_path / "mine.toml"), "x")
    assert again.fingerprint == own.fingerprint
    assert again.assumed == own.assumed
    assert load_text(template("other", tmp_path / "mine.toml"), "x").name == "other"


def test_levels_names_and_odd_texts_of_ones_own_are_kept(
    tmp_path: Path, edit: Callable[..., str]
) -> None:
    purpose = 'quotes " and \\ and µ # no comment'
    text = edit({"levels.half_A": None, "levels.low_2_A": "0.6125", "purpose": f"'{purpose}'"})
    (tmp_path / "mine.toml").write_text(text, encoding="utf-8")
    build = load_text(template("lamp", tmp_path / "mine.toml"), "x")
    assert build.purpose == purpose
    assert dict(build.levels.by_current) == {"full_A": 1.5, "low_2_A": 0.6125, "reserve_A": 0.3}


def test_comments_are_made_anew_and_say_where_the_values_are_from(
    tmp_path: Path, example: str
) -> None:
    file = tmp_path / "my\nown = 1\x1b.toml"  # a name that is no comment would be a key
    file.write_text("# my private note\n" + example, encoding="utf-8")
    text = template("lamp", file)
    assert "private" not in text
    assert "# The values are those of my?own = 1?.toml: put in your own.\n" in text
    shipped = template("lamp")
    assert "# The values are those of the shipped example smoke_tunnel" in shipped
    strip = re.compile(r"^# The values.*\n", re.MULTILINE)
    assert strip.sub("", text) == strip.sub("", shipped)


def test_no_line_is_wider_than_a_page_whatever_the_files_name(tmp_path: Path, example: str) -> None:
    file = tmp_path / f"{'long ' * 30}.toml"
    file.write_text(example, encoding="utf-8")
    assert max(map(len, template("lamp", file).splitlines())) <= 100


def test_problems_of_the_file_are_told_as_its_own(tmp_path: Path, edit: Callable[..., str]) -> None:
    file = tmp_path / "mine.toml"
    file.write_text(edit({"pack.series": "9"}), encoding="utf-8")
    with pytest.raises(BuildErrors, match=r"mine\.toml:\d+: pack\.series = 9: out of range"):
        template("lamp", file)


def test_a_bad_name_is_told_before_anything_is_read() -> None:
    with pytest.raises(BuildErrors, match=r'^new: NAME = "a b": .* at most 40$'):
        template("a b", "no_such")
