"""A build file read, checked and made into a `Build`, or refused with all its problems."""

import hashlib
from collections.abc import Mapping
from pathlib import Path
from typing import Any

import msgspec

from diodewright.build.model import KEYS, SECTIONS, Build, applies, value_of
from diodewright.build.problems import BuildErrors
from diodewright.build.resolve import Resolved, resolve
from diodewright.build.rules import broken
from diodewright.build.source import fetch, key_lines, parse

__all__ = ["changed", "fingerprint", "load", "load_text", "with_value", "with_values"]


def load(path_or_example: str | Path) -> Build:
    """Return the build that a file or a shipped example describes.

    Parameters
    ----------
    path_or_example : a path if it holds a path separator or ends in ``.toml``, else the name of
        a shipped example.

    Raises
    ------
    BuildErrors
        Everything that is wrong with it, one problem each.
    """
    text, name = fetch(path_or_example)
    return load_text(text, name)


def load_text(text: str, name: str) -> Build:
    """Return the build that the TOML text describes; `name` stands for the file in errors.

    Raises
    ------
    BuildErrors
        Everything that is wrong with it, one problem each.
    """
    return _checked(resolve(parse(text, name), name, key_lines(text)))


def with_value(build: Build, key: str, value: object) -> Build:
    """Return `build` as if its file had given `value` at `key` as well; what follows from it moves.

    Raises
    ------
    BuildErrors
        The value is out of range, or contradicts what the build says.
    """
    return with_values(build, {key: value})


def with_values(build: Build, values: Mapping[str, object]) -> Build:
    """Return `build` as if its file had given `values`, key to value, as well.

    Raises
    ------
    BuildErrors
        A value is out of range, or they contradict what the build says.
    """
    return _checked(resolve(changed(build, values), build.file, {}))


def changed(build: Build, values: Mapping[str, object]) -> dict[str, Any]:
    """Return the document of `build` with `values` in it, not checked."""
    document = _given(build)
    for key, value in values.items():
        section, _, name = key.rpartition(".")
        (document[section] if section else document)[name] = _as_toml(value)
    return document


def _given(build: Build) -> dict[str, Any]:
    """Return the document that gives all that `build` did not assume."""
    assumed = {row.key for row in build.assumed}
    document: dict[str, Any] = {name: {} for name in SECTIONS if name}
    for key in KEYS:
        value = None if key.kind == "levels" else value_of(build, key.path)
        if value is not None and key.path not in assumed and applies(build, key):
            (document[key.section] if key.section else document)[key.name] = _as_toml(value)
    if build.stage.kind != "gated":
        document["levels"].update(build.levels.others)
    return document


def _as_toml(value: object) -> object:
    """Return a value as a parsed file holds it: lists for tuples."""
    return [_as_toml(each) for each in value] if isinstance(value, tuple) else value


def _checked(result: Resolved) -> Build:
    _judge(result)
    if result.problems:
        name = result.file
        in_order = sorted(result.problems, key=lambda each: (each.file != name, each.line or 0))
        raise BuildErrors(tuple(in_order))
    return _build(result)


def _judge(result: Resolved) -> None:
    values = dict(result.values)
    if result.levels:
        values["levels"] = result.levels
    for each in broken(values):
        at = f"[{each.key}]" if each.key in SECTIONS else each.key
        value = result.given.get(each.key)
        assumed = value is None and each.key in result.values
        result.problem(
            at,
            result.values[each.key] if assumed else value,
            f"(assumed) {each.wrong}" if assumed else each.wrong,
            mend=each.mend,
            rule=each.rule,
        )


def _build(result: Resolved) -> Build:
    made: dict[str, Any] = {}
    for name, of in SECTIONS.items():
        fields = {key.name: result.values[key.path] for key in KEYS if key.section == name}
        if name:
            made[name] = of(**fields)
        else:
            made.update(fields)
    return Build(
        **made,
        assumed=tuple(result.assumed),
        fingerprint=fingerprint({k: v for k, v in result.values.items() if _counts(k, v)}),
        file=result.file,
    )


def _counts(path: str, value: object) -> bool:
    """Return whether a value makes a build another one.

    Where parts are kept says nothing about the build: their values do. What was not calibrated
    says nothing either: such a build is what it was before there was a key for it.
    """
    return path != "parts_file" and not (path.startswith("calibration.") and value is None)


def fingerprint(values: dict[str, Any]) -> str:
    """Return SHA-256 over the values as canonical JSON: keys sorted, shortest numbers.

    A value that does not apply (NaN) is null.
    """
    canonical = msgspec.json.encode(values, order="sorted")
    return hashlib.sha256(canonical).hexdigest()
