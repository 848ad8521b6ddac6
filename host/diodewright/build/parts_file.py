"""A builder's own parts: a TOML file of ``[[part]]`` tables, checked by the table of keys.

    format = 1

    [[part]]
    name = "drawer_cell"
    key = "pack.part"                 # which key of a build file takes it
    meaning = "18650 from my drawer"
    source = "measured on 3 May, 20 degC"
    chemistry = "lithium_ion"
    capacity_Ah = 2.9

Beside its four own keys a part holds keys of the section that takes it, with the same units,
ranges and near names. Its source is written beside every value that it fills in.
"""

from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from diodewright.build.catalogue import parts
from diodewright.build.check import Bad, check_value
from diodewright.build.keys import Key
from diodewright.build.model import KEYS, key_of
from diodewright.build.names import nearest, unknown_key
from diodewright.build.part import Part, Value, of_a_part
from diodewright.build.problems import BuildErrors, Problem, show
from diodewright.build.source import key_lines, parse, read_build_text, table_lines

__all__ = ["Shelf", "own_shelf", "read_parts"]

MOST_PARTS = 200

_TAKERS = tuple(key.path for key in KEYS if key.kind == "part")
#: What every part says of itself.
_OWN = {
    key.name: key
    for key in (
        Key("part", "name", "text", "what a build file writes", high=40),
        Key("part", "key", "choice", "which key of a build file takes it", choices=_TAKERS),
        Key("part", "meaning", "text", "what it is, for people", high=200),
        Key("part", "source", "text", "where its values are from", high=200),
    )
}


@dataclass
class Shelf:
    """The parts of one file, and what is wrong with them.

    Attributes
    ----------
    parts : every part with a good name and key, with its good values.
    problems : what is wrong.
    whole : False where a name that a build writes may be missing for a problem of the file.
    """

    parts: list[Part] = field(default_factory=list)
    problems: list[Problem] = field(default_factory=list)
    whole: bool = True


def read_parts(file: str) -> tuple[Part, ...]:
    """Return the parts of a builder's own file.

    Raises
    ------
    BuildErrors
        Everything that is wrong with it, one problem each.
    """
    shelf = _shelf(read_build_text(file), file)
    if shelf.problems:
        raise BuildErrors(tuple(shelf.problems))
    return tuple(shelf.parts)


def own_shelf(named: object, build_file: str, line: int | None) -> Shelf:
    """Return the shelf that a build file names in ``parts_file``, empty where it names none.

    A relative path counts from the build file's folder.
    """
    if not isinstance(named, str) or not named:
        return Shelf()
    file = str(Path(build_file).parent / named)
    try:
        text = read_build_text(file)
    except BuildErrors as errors:
        (cause,) = errors.problems
        mend = "" if cause.wrong != "no such file" else f"looked for as {file}"
        at = (build_file, line) if cause.line is None else (file, cause.line)
        problem = Problem(*at, "parts_file", show(named), cause.wrong, mend=mend)
        return Shelf(problems=[problem], whole=False)
    try:
        return _shelf(text, file)
    except BuildErrors as errors:
        return Shelf(problems=list(errors.problems), whole=False)


def _shelf(text: str, file: str) -> Shelf:
    shelf = Shelf()
    document = parse(text, file)
    lines = key_lines(text)
    for name, raw in document.items():
        if name in ("part", "format"):
            continue
        mend = "a file of parts holds format = 1 and [[part]] tables"
        key = f"[{name}]" if isinstance(raw, dict) else name
        value = "" if isinstance(raw, dict) else show(raw)
        shelf.problems.append(Problem(file, lines.get(key), key, value, "no such key", mend=mend))
    said = document.get("format", 1)
    if said is True or said != 1:
        wrong = "this version reads format 1 only"
        shelf.problems.append(
            Problem(file, lines.get("format"), "format", show(said), wrong, mend="write format = 1")
        )
    tables = document.get("part", [])
    if not isinstance(tables, list) or not all(isinstance(each, dict) for each in tables):
        wrong = "must be [[part]] tables, in doubled brackets"
        line = lines.get("[part]") or lines.get("part")
        shelf.problems.append(Problem(file, line, "part", show(tables), wrong))
        tables = []
        shelf.whole = False
    if len(tables) > MOST_PARTS:
        wrong, allowed = f"{len(tables)} parts", f"allowed {MOST_PARTS}"
        shelf.problems.append(Problem(file, None, "[[part]]", "", wrong, allowed))
    places = [*table_lines(text, "part"), *({} for _ in tables)]
    for table, place in zip(tables[:MOST_PARTS], places, strict=False):
        _Reader(file, table, place, shelf).read()
    return shelf


@dataclass
class _Reader:
    """Checks one ``[[part]]`` table and puts what is good on the shelf."""

    file: str
    table: dict[str, Any]
    lines: dict[str, int]
    shelf: Shelf

    def read(self) -> None:
        own = {name: self._own(key) for name, key in _OWN.items()}
        name, taker = own["name"], own["key"]
        if name is None or taker is None:
            self.shelf.whole = False
        values = self._values(taker, own["source"] or "") if taker else []
        if name is not None and taker is not None and not self._doubled(name):
            part = Part(name, taker, own["meaning"] or "", tuple(values))
            self.shelf.parts.append(part)

    def _problem(
        self, key: str, raw: object, wrong: str, allowed: str = "", mend: str = ""
    ) -> None:
        named = self.table.get("name")
        path = f"part {named}" if isinstance(named, str) and named.isprintable() else "[[part]]"
        path += f": {key}" if key else ""
        line = self.lines.get(key) or self.lines.get("")
        value = "" if raw is None else show(raw)
        self.shelf.problems.append(Problem(self.file, line, path, value, wrong, allowed, mend))

    def _own(self, key: Key) -> str | None:
        raw = self.table.get(key.name)
        if raw is None:
            self._problem(key.name, None, f"missing: {key.meaning}", key.allowed)
            return None
        try:
            if raw == "":
                raise Bad("is empty: " + key.meaning)
            return str(check_value(key, raw))
        except Bad as bad:
            self._problem(key.name, raw, bad.wrong, bad.allowed, bad.mend)
            return None

    def _doubled(self, name: str) -> bool:
        if any(part.name == name for part in parts()):
            self._problem("name", name, "a shipped part has this name", mend="choose another")
            return True
        if any(part.name == name for part in self.shelf.parts):
            self._problem("name", name, "another part of this file has this name")
            return True
        return False

    def _values(self, taker: str, source: str) -> list[Value]:
        good = {}
        for name, raw in self.table.items():
            if name in _OWN:
                continue
            row = self._row(taker, name, raw)
            if row is None:
                continue
            try:
                good[name] = check_value(row, raw)
            except Bad as bad:
                self._problem(name, raw, bad.wrong, bad.allowed, bad.mend)
        if len(self.table) == len(_OWN.keys() & self.table.keys()):
            able = ", ".join(key.name for key in KEYS if of_a_part(taker, key))
            self._problem("", None, "it fills in nothing", mend=f"it may fill in {able}")
        for name in [name for name in good if self._misplaced(taker, name, good)]:
            del good[name]
        return [Value(name, value, source) for name, value in good.items()]  # type: ignore[arg-type]

    def _row(self, taker: str, name: str, raw: object) -> Key | None:
        """Return the row of a key that such a part may fill in; else say what is wrong."""
        section = taker.partition(".")[0]
        row = key_of(f"{section}.{name}")
        if row is not None and of_a_part(taker, row):
            return row
        if row is not None and name != "others":
            self._problem(name, raw, "is not the part's but the build's", mend="leave it out")
            return None
        able = tuple(key for key in KEYS if of_a_part(taker, key))
        guess = unknown_key(section, name, raw, able)
        near = nearest(name, _OWN)
        mend = f"did you mean {near}?" if near else guess.mend
        self._problem(name, raw, guess.wrong, mend=mend)
        return None

    def _misplaced(self, taker: str, name: str, good: dict[str, object]) -> bool:
        """Say where a value goes with another kind than the part's own."""
        row = key_of(f"{taker.partition('.')[0]}.{name}")
        assert row is not None
        if row.when is None:
            return False
        path, words = row.when
        section, _, decider = path.partition(".")
        has = good.get(decider) if section == row.section else None
        if has is None or has in words:
            return False
        only = " or ".join(f'"{word}"' for word in words)
        self._problem(
            name,
            self.table[name],
            f'only with {decider} = {only}, not "{has}"',
            mend="leave it out",
        )
        return True
