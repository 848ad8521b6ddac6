"""A build file becomes one frozen value; what the user did not give is listed."""

import dataclasses
import hashlib
import json
import math
import pickle
import tomllib
from collections.abc import Callable
from pathlib import Path

import pytest

from diodewright.build import KEYS, Build, BuildErrors, examples, load, load_text
from diodewright.build.loading import fingerprint


def test_every_value_of_the_example_stands_under_its_own_key(example: str) -> None:
    build = load("smoke_tunnel")
    seen = 0
    for section, content in tomllib.loads(example).items():
        keys = content if isinstance(content, dict) else {section: content}
        owner = getattr(build, section) if isinstance(content, dict) else build
        for key, value in keys.items():
            held = getattr(owner, key)
            if isinstance(value, list):
                assert [list(point) for point in held] == value, key
            else:
                assert held == value, key
            seen += 1
    assert seen > 75


def test_every_shipped_example_loads() -> None:
    assert "smoke_tunnel" in examples()
    for name in examples():
        assert load(name).name == name


def test_nothing_in_a_build_can_be_changed() -> None:
    build = load("smoke_tunnel")
    with pytest.raises(dataclasses.FrozenInstanceError):
        build.pack.series = 3  # type: ignore[misc]
    assert isinstance(hash(build.levels), int)


def test_a_path_and_an_example_are_told_apart_by_separator_or_ending(
    tmp_path: Path, example: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    (tmp_path / "mine.toml").write_text(example, encoding="utf-8")
    (tmp_path / "smoke_tunnel").write_text("format = 1", encoding="utf-8")
    monkeypatch.chdir(tmp_path)
    assert load("mine.toml").file == "mine.toml"
    assert load(tmp_path / "mine.toml").name == "smoke_tunnel"
    assert load("smoke_tunnel").file == "smoke_tunnel"
    with pytest.raises(BuildErrors, match="section missing"):
        load("./smoke_tunnel")


def test_windows_line_ends_and_byte_order_mark_change_nothing(tmp_path: Path, example: str) -> None:
    file = tmp_path / "mine.toml"
    file.write_bytes(b"\xef\xbb\xbf" + example.replace("\n", "\r\n").encode())
    assert load(file).fingerprint == load("smoke_tunnel").fingerprint


def test_fingerprint_ignores_comments_spaces_order_and_number_style(example: str) -> None:
    lines = [line.split("#")[0].rstrip() for line in example.splitlines()]
    head, *sections = "\n".join(line for line in lines if line).split("\n[")
    turned = []
    for section in reversed(sections):
        header, *keys = section.split("\n")
        turned.append("\n  [" + header + "\n\n" + "\n".join(reversed(keys)))
    text = "\n".join([head, *turned]).replace("= 30\n", "= 3e1\n").replace(" = ", "=")
    assert text != example
    assert load_text(text, "x").fingerprint == load("smoke_tunnel").fingerprint


def test_fingerprint_is_the_hash_of_canonical_json_whatever_the_order() -> None:
    values = {"b.x": 2.5, "a.y": True, "c": ((1.0, 2.0),), "d": None}
    canonical = json.dumps(values, sort_keys=True, separators=(",", ":"))
    assert fingerprint(values) == hashlib.sha256(canonical.encode()).hexdigest()


def test_fingerprint_changes_with_every_single_value(example: str) -> None:
    known = {load("smoke_tunnel").fingerprint}
    changes = 0
    for number, line in enumerate(example.splitlines()):
        key = line.split("=")[0].strip()
        if "_" not in key or "[" in line or '"' in line or "#" in key:
            continue
        value = line.split("=")[1].split("#")[0].strip()
        if value in ("true", "false"):
            continue
        lines = example.splitlines()
        lines[number] = f"{key} = {float(value) * (1 + 1e-6)!r}"
        try:
            build = load_text("\n".join(lines), "x")
        except BuildErrors:
            continue  # at the edge of a rule
        assert build.fingerprint not in known, key
        known.add(build.fingerprint)
        changes += 1
    assert changes > 50


def test_assumed_lists_exactly_what_the_example_leaves_out(example: str) -> None:
    build = load("smoke_tunnel")
    given = tomllib.loads(example)
    assumed = {each.key for each in build.assumed}
    for key in KEYS:
        if not key.section or key.kind == "levels":
            continue
        if key.name in given.get(key.section, {}):
            assert key.path not in assumed
            continue
        value = getattr(getattr(build, key.section), key.name)
        without = value is None or value != value or value == "" or value is False
        assert (key.path in assumed) is not without, key.path
    for each in build.assumed:
        assert each.source, each.key


def test_a_parts_value_is_assumed_with_the_parts_name_and_the_users_own_overrides_it(
    edit: Callable[..., str],
) -> None:
    build = load("smoke_tunnel")
    by_key = {each.key: each for each in build.assumed}
    assert by_key["cutoffs.a_rds_mohm"].value == build.cutoffs.a_rds_mohm == 20
    assert by_key["cutoffs.a_rds_mohm"].unit == "mohm"
    assert "mosfet_n_logic_20mohm" in by_key["cutoffs.a_rds_mohm"].source
    own = load_text(edit({"cutoffs.a_rds_mohm": "23"}), "x")
    assert own.cutoffs.a_rds_mohm == 23
    assert "cutoffs.a_rds_mohm" not in {each.key for each in own.assumed}


def test_a_default_that_follows_from_another_key_follows_it(edit: Callable[..., str]) -> None:
    build = load_text(edit({"pack.cell_resistance_mohm": "50", "pack.capacity_Ah": "3"}), "x")
    assert build.pack.resistance_min_mohm == 30
    # PyBaMM's ECM_Example: 0.6038 mohm in a 100 Ah cell, so 20.13 mohm in one of 3 Ah
    assert build.pack.polarisation_mohm == pytest.approx(0.6038 * 100 / 3, rel=1e-6)


def test_levels_are_attributes_and_sorted_by_current(edit: Callable[..., str]) -> None:
    levels = load("smoke_tunnel").levels
    assert levels.full_A == 1.5
    assert levels.by_current == (("full_A", 1.5), ("half_A", 0.75), ("reserve_A", 0.3))
    text = edit({"levels.half_A": None, "levels.a_A": "0.5", "levels.z_A": "1.0"})
    names = [name for name, _ in load_text(text, "x").levels.by_current]
    assert names == ["full_A", "z_A", "a_A", "reserve_A"]
    with pytest.raises(AttributeError, match="no level third_A"):
        _ = levels.third_A


def test_every_kind_of_pack_and_diode_loads(variant: str) -> None:
    build = load_text(variant, "x")
    assert isinstance(build, Build)


def test_what_does_not_apply_is_nan_and_never_assumed(variant: str) -> None:
    build = load_text(variant, "x")
    bench = build.pack.kind == "bench_supply"
    assert math.isnan(build.pack.capacity_Ah) is bench
    assert math.isnan(build.pack.supply_V) is not bench
    assert math.isnan(build.diode.threshold_T0_K) is (build.diode.kind != "laser_diode")
    for each in build.assumed:
        assert each.value == each.value, each.key
    if bench:
        assert build.pack.series == 1
        assert not [each for each in build.assumed if each.key.startswith("pack.")]


def test_a_build_survives_the_way_to_another_process(variant: str) -> None:
    build = load_text(variant, "x")
    again = pickle.loads(pickle.dumps(build))
    assert again.fingerprint == build.fingerprint
    assert again.levels.by_current == build.levels.by_current
    assert again.levels.by_current[0][1] == 1.5


def test_a_section_that_needs_nothing_may_be_left_out(example: str) -> None:
    head, tail = example.split("[criteria]")
    build = load_text(head + "[enclosure]" + tail.split("[enclosure]")[1], "x")
    assert build.criteria.light_min_W is None
    assert build.criteria.dark_within_ms == 50
    assert "criteria.dark_within_ms" in {each.key for each in build.assumed}
