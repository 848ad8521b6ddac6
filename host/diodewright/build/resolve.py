"""From a parsed document to complete, checked values: what was given, a part's, or a default."""

import re
from dataclasses import dataclass, field, replace
from typing import Any

from diodewright.build.catalogue import Part, filled_by, find, parts
from diodewright.build.check import Bad, check_number, check_value
from diodewright.build.keys import REQUIRED, ByWord, Computed, Key, When
from diodewright.build.model import KEYS, SECTIONS, Assumed, key_of
from diodewright.build.names import Guess, nearest, unknown_key, unknown_section
from diodewright.build.part import IDENTITY
from diodewright.build.parts_file import Shelf, own_shelf
from diodewright.build.problems import Problem, show

__all__ = ["Resolved", "resolve"]

MOST_LEVELS = 4

_LEVEL = re.compile(r"[a-z][a-z0-9_]{0,15}_A")


@dataclass
class Resolved:
    """Everything found in one document.

    `values` holds path -> value of every good key, those that do not apply included; what is
    missing or wrong is absent from it and has a row in `problems`. `meant` holds the keys that
    were most likely meant by unknown ones: they are not called missing as well. `given` holds
    good keys as the file writes them. `shelf` holds the builder's own parts.
    """

    file: str
    lines: dict[str, int]
    shelf: Shelf = field(default_factory=Shelf)
    values: dict[str, Any] = field(default_factory=dict)
    given: dict[str, Any] = field(default_factory=dict)
    levels: dict[str, float] = field(default_factory=dict)
    assumed: list[Assumed] = field(default_factory=list)
    problems: list[Problem] = field(default_factory=list)
    meant: set[str] = field(default_factory=set)

    def problem(
        self,
        path: str,
        raw: object,
        wrong: str,
        allowed: str = "",
        mend: str = "",
        rule: str = "",
    ) -> None:
        """Note a problem at `path`; `raw` None means that the file says nothing there."""
        section = path.split(".")[0]
        line = self.lines.get(path) or self.lines.get(f"[{section.strip('[]')}]")
        value = "" if raw is None else show(raw)
        self.problems.append(Problem(self.file, line, path, value, wrong, allowed, mend, rule))


def resolve(document: dict[str, Any], file: str, lines: dict[str, int]) -> Resolved:
    """Check every key of the document and fill in what it leaves out."""
    result = Resolved(file, lines)
    if "format" in document and document["format"] is not True and document["format"] != 1:
        result.problem(
            "format",
            document["format"],
            "this version reads format 1 only",
            mend="write format = 1",
        )
        return result
    result.shelf = own_shelf(document.get("parts_file"), file, lines.get("parts_file"))
    result.problems += result.shelf.problems
    sections = _sections(document, result)
    for name in SECTIONS:
        given = sections.get(name)
        if given is None:
            _missing_section(name, result)
        else:
            _unknown_keys(name, given, result)
        _section(name, given, result)
    return result


def _sections(document: dict[str, Any], result: Resolved) -> dict[str, dict[str, Any]]:
    """Return name -> table of the known sections; the top of the file is the section ""."""
    top: dict[str, Any] = {}
    sections = {"": top}
    for name, content in document.items():
        if name in SECTIONS and name:
            if isinstance(content, dict):
                sections[name] = content
            else:
                result.problem(name, content, "is a section, not a key", mend=f"write [{name}]")
                sections[name] = {}
        elif isinstance(content, dict):
            near = unknown_section(name, (known for known in SECTIONS if known))
            result.problem(f"[{name}]", None, "no such section", mend=near)
        else:
            top[name] = content
    return sections


def _missing_section(name: str, result: Resolved) -> None:
    own = [key for key in KEYS if key.section == name]
    needed = [
        key.name
        for key in own
        if (key.required and _applies(key, result) and not filled_by(name, key.name))
        or any(filled_by(name, other.name) == key.name for other in own)
    ]
    more = " and more by kind" if any(key.required and key.when for key in own) else ""
    if needed:
        mend = f"it needs {', '.join(needed)}{more}"
        result.problem(f"[{name}]", None, "section missing", mend=mend)


def _unknown_keys(section: str, given: dict[str, Any], result: Resolved) -> None:
    for name, raw in given.items():
        path = f"{section}.{name}" if section else name
        if key_of(path) is not None and name != "others":
            continue
        if section == "levels" and _LEVEL.fullmatch(name):
            continue
        guess = unknown_key(section, name, raw, KEYS)
        if section == "levels" and name.endswith("_A"):
            guess = Guess("no name for a level", "small letters, digits and _, at most 16, then _A")
        result.problem(path, raw, guess.wrong, mend=guess.mend)
        result.meant.update(guess.meant)


def _section(name: str, given: dict[str, Any] | None, result: Resolved) -> None:
    """Resolve the section's keys in the order of the table; None: the section is missing.

    What one wrong part, or a missing section, leaves open is not listed key by key.
    """
    part: Part | None = None
    unsure = False
    for key in (key for key in KEYS if key.section == name):
        if key.kind == "levels":
            _levels(key, given or {}, result)
            continue
        raw = (given or {}).get(key.name)
        applies = _applies(key, result)
        if raw is not None:
            _given(key, raw, applies, part, result)
        elif applies is False:
            result.values[key.path] = key.absent
        elif applies:
            quiet = given is None or (unsure and bool(filled_by(name, key.name)))
            _fill(key, part, result, quiet=quiet)
        if key.kind == "part" and raw is not None:
            part = find(key.path, str(result.values.get(key.path)), result.shelf.parts)
            unsure = part is None or (part in result.shelf.parts and bool(result.shelf.problems))


def _applies(key: Key, result: Resolved) -> bool | None:
    """Return whether the key is asked for; None where the deciding key itself is wrong."""
    if key.when is None:
        return True
    path, words = key.when
    return result.values[path] in words if path in result.values else None


def _asked_for(key: Key, result: Resolved) -> When:
    """Return what decides that `key` is not asked for: its decider, or what decides about that."""
    assert key.when is not None
    decider = key_of(key.when[0])
    assert decider is not None
    return _asked_for(decider, result) if _applies(decider, result) is False else key.when


def _given(
    key: Key, raw: object, applies: bool | None, part: Part | None, result: Resolved
) -> None:
    if applies is False:
        path, words = _asked_for(key, result)
        only = " or ".join(f'"{word}"' for word in words)
        has = result.values[path]
        result.problem(
            key.path, raw, f'only with {path} = {only}, not "{has}"', mend="leave it out"
        )
        return
    try:
        value = check_value(key, raw)
    except Bad as bad:
        result.problem(key.path, raw, bad.wrong, bad.allowed, bad.mend)
        return
    if key.kind == "part" and find(key.path, str(value), result.shelf.parts) is None:
        if result.shelf.whole:
            _no_such_part(key, raw, result)
        return
    fixed = part.value(key.name) if part and key.path in IDENTITY else None
    if part and fixed and fixed.value != value:
        wrong = f'{part.name} is "{fixed.value}"'
        result.problem(key.path, raw, wrong, mend="leave it out, or choose another part")
        return
    result.values[key.path] = value
    result.given[key.path] = raw


def _no_such_part(key: Key, raw: object, result: Resolved) -> None:
    every = parts(own=result.shelf.parts)
    known = [part.name for part in every if part.key == key.path]
    other = next((part.key for part in every if part.name == raw), None)
    near = nearest(str(raw), known, 0.5)
    mend = f"it is a part of {other}; " if other else f"did you mean {near}? " if near else ""
    result.problem(key.path, raw, "no such part", mend=mend + "parts: " + ", ".join(known))


def _fill(key: Key, part: Part | None, result: Resolved, *, quiet: bool) -> None:
    """Take the part's value, else the default, else note that the key is missing."""
    filled = part.value(key.name) if part else None
    if part and filled:
        value = float(filled.value) if key.kind == "number" else filled.value  # type: ignore[arg-type]
        source = f"{part.name}: {filled.source}"
    elif key.default is REQUIRED:
        if not quiet and key.path not in result.meant:
            by = filled_by(key.section, key.name)
            mend = f"write it, or name a part in {by}" if by else ""
            result.problem(key.path, None, f"missing: {key.meaning}", key.allowed, mend)
        return
    else:
        found = _default(key, result)
        if found is None:
            return
        value, source = found
    result.values[key.path] = value
    # a default without a source is a label or a permission: nothing is assumed about the build
    if value is not None and source:
        result.assumed.append(Assumed(key.path, value, key.unit, source))


def _default(key: Key, result: Resolved) -> tuple[Any, str] | None:
    """Return default and source; None where it follows from a key that has no good value."""
    default, source = key.default, key.source
    if isinstance(default, ByWord):
        word = result.values.get(f"{key.section}.{default.decider}")
        if word is None:
            return None
        default, source = default.rows[word]
    if not isinstance(default, Computed):
        return default, source
    needs = [result.values.get(f"{key.section}.{need}") for need in default.needs]
    if None in needs:
        return None
    value = float(f"{default.rule(*needs):.12g}")
    return value, f"{default.text}: {source}"


def _levels(key: Key, given: dict[str, Any], result: Resolved) -> None:
    """Check every named level; all of them together count, so that rules see them only whole."""
    if result.values.get("stage.kind") == "gated":
        _one_level(key, given, result)
        return
    named = [name for name in given if _LEVEL.fullmatch(name)]
    good: dict[str, float] = {}
    whole = "levels.reserve_A" in result.values and len(named) == len(given)
    for name in named:
        try:
            good[name] = check_number(replace(key, name=name), given[name])
        except Bad as bad:
            whole = False
            if name != "reserve_A":
                result.problem(f"levels.{name}", given[name], bad.wrong, bad.allowed, bad.mend)
    if len(good) > MOST_LEVELS:
        result.problem("[levels]", None, f"{len(good)} levels", f"allowed 1 to {MOST_LEVELS}")
    if whole:
        result.levels = good
    result.values[key.path] = tuple(
        sorted((name, level_A) for name, level_A in good.items() if name != "reserve_A")
    )


def _one_level(key: Key, given: dict[str, Any], result: Resolved) -> None:
    """Take the one level of a gated stage from where the stage names it."""
    for name, raw in given.items():
        if name != "reserve_A":
            mend = "leave it out: stage.module_A is the level"
            result.problem(f"levels.{name}", raw, "a gated stage has one current only", mend=mend)
    module_A = result.values.get("stage.module_A")
    if module_A is not None:
        result.levels = {"module_A": module_A}
        result.values[key.path] = (("module_A", module_A),)
