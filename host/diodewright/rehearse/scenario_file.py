"""A builder's own scenario: a TOML file of what a person does and what breaks, checked whole.

    format = 1
    name = "two bursts with a pause"
    start_charge_pct = 100            # else as the build says
    ambient_degC = 10                 # else as the build says
    rest_s = 1800                     # at rest with the controller on, before step time 0

    [[step]]
    at_s = 0
    do = "press"

    [[step]]
    at_s = 60
    do = "level"
    level = "half_A"

    [[step]]
    at_s = 700
    do = "end"

Times count from the end of the rest and are taken to the nearest millisecond, the law's tick.
Steps of one time happen in the order of the file.
"""

from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from diodewright.build import Build, BuildErrors, Key, Problem
from diodewright.build.check import Bad, check_value
from diodewright.build.keys import REQUIRED
from diodewright.build.names import nearest, unknown_key
from diodewright.build.problems import show
from diodewright.build.source import fetch, key_lines, parse, table_lines
from diodewright.faults import ENGINE, Fault, by_id
from diodewright.rehearse.cases import lacks
from diodewright.rehearse.use import REST_S

__all__ = ["ENDING", "Scenario", "Step", "read_scenario", "scenario_of"]

#: What a shipped scenario's file ends in.
ENDING = ".scenario.toml"
LONGEST_S = 86_400
MOST_STEPS = 200
#: From the first press to the end, at least [s]: less shows nothing of a light.
LEAST_S = 1.0
MOST_NAME = 60

#: What a step may do -> the parameter it writes, its value, and how people say it.
SWITCHED: dict[str, tuple[str, float, str]] = {
    "press": ("trigger", 1.0, "trigger pressed"),
    "release": ("trigger", 0.0, "trigger released"),
    "key_off": ("key", 0.0, "key off"),
    "key_on": ("key", 1.0, "key on"),
    "open_interlock": ("interlock", 0.0, "interlock opened"),
    "close_interlock": ("interlock", 1.0, "interlock closed"),
}
_DOES = (*SWITCHED, "level", "fault", "end")
_AT_FIRST = {"trigger": 0.0, "key": 1.0, "interlock": 1.0}
#: Steps with a key of their own, which has the step's name.
_NAMED = ("level", "fault")

_STEP = (
    Key("step", "at_s", "number", "time from the end of the rest", low=0, high=LONGEST_S),
    Key("step", "do", "choice", "what happens", choices=_DOES),
    Key("step", "level", "text", "which level of the build", high=40, default=None),
    Key("step", "fault", "text", "which fault of the catalogue", high=80, default=None),
)


@dataclass(frozen=True)
class Step:
    """One step.

    Attributes
    ----------
    at_s : from the end of the rest [s].
    do : a word of the table above.
    level : key of the level asked for; None unless `do` is "level".
    fault : id of the fault that strikes; None unless `do` is "fault".
    """

    at_s: float
    do: str
    level: str | None = None
    fault: str | None = None

    @property
    def said(self) -> str:
        """The step in words."""
        if self.do in SWITCHED:
            return SWITCHED[self.do][2]
        return " ".join(word for word in (self.do, self.level, self.fault) if word)


@dataclass(frozen=True)
class Scenario:
    """One scenario, complete and possible for its build.

    Attributes
    ----------
    name : what its builder calls it.
    file : the file or shipped example it was read from.
    start_charge_pct : of the pack [%].
    ambient_degC : air [degC].
    rest_s : before the first step, with the controller on [s].
    steps : in order; the last one is "end".
    """

    name: str
    file: str
    start_charge_pct: float
    ambient_degC: float
    rest_s: float
    steps: tuple[Step, ...]

    @property
    def end_s(self) -> float:
        """Length from the end of the rest [s]."""
        return self.steps[-1].at_s

    @property
    def faults(self) -> tuple[Fault, ...]:
        """The faults that strike, in order."""
        return tuple(by_id(step.fault) for step in self.steps if step.fault)


def read_scenario(path_or_example: str | Path, build: Build) -> Scenario:
    """Return the scenario of a file, or the shipped one of that name, checked for `build`.

    Raises
    ------
    BuildErrors
        Everything that is wrong with it or that `build` can't do, one problem each.
    """
    text, name = fetch(path_or_example, ENDING)
    places = [*table_lines(text, "step")]
    return _checked(_Reader(name, build, parse(text, name), key_lines(text), places))


def scenario_of(document: dict[str, Any], build: Build, name: str) -> Scenario:
    """Return the scenario of a parsed document; `name` stands for the file in errors.

    Raises
    ------
    BuildErrors
        As `read_scenario` raises them.
    """
    return _checked(_Reader(name, build, document, {}, []))


def _checked(reader: "_Reader") -> Scenario:
    values = reader.top()
    steps = reader.steps()
    if reader.problems:
        raise BuildErrors(tuple(sorted(reader.problems, key=lambda each: each.line or 0)))
    return Scenario(name=str(values.pop("name")), file=reader.file, steps=tuple(steps), **values)


def _top_keys(build: Build) -> tuple[Key, ...]:
    """Return the keys above the steps, with the ranges that this build leaves them."""
    heat, pack = build.heat, build.pack
    low_degC, high_degC = heat.ambient_min_degC, heat.ambient_max_degC
    charge_pct = 100.0 if pack.kind == "bench_supply" else pack.start_charge_pct
    return (
        Key("scenario", "format", "whole", "version of this format", low=1, high=1, default=1),
        Key("scenario", "name", "text", "what you call it", high=MOST_NAME),
        Key(
            *("scenario", "start_charge_pct", "number", "state of charge at the start"),
            low=1,
            high=100,
            default=charge_pct,
        ),
        Key(
            *("scenario", "ambient_degC", "number", "air"),
            low=low_degC,
            high=high_degC,
            default=heat.ambient_degC,
        ),
        Key(
            *("scenario", "rest_s", "number", "at rest before the first step"),
            low=0,
            high=LONGEST_S,
            default=float(REST_S),
        ),
    )


@dataclass
class _Reader:
    """Checks one parsed document and gathers everything that is wrong with it."""

    file: str
    build: Build
    document: dict[str, Any]
    lines: dict[str, int]
    places: list[dict[str, int]]
    problems: list[Problem] = field(default_factory=list)

    def top(self) -> dict[str, Any]:
        """Return the values above the steps."""
        keys = _top_keys(self.build)
        values: dict[str, Any] = {}
        given = {name: raw for name, raw in self.document.items() if name != "step"}
        known = {key.name for key in keys}
        for name in (name for name in given if name not in known):
            self._unknown("scenario", name, given[name], keys, self.lines.get(name))
        for key in keys:
            values[key.name] = self._value(key, given, key.name, self.lines)
        if self.build.pack.kind == "bench_supply" and "start_charge_pct" in given:
            wrong = "a bench supply has no charge"
            self._problem("start_charge_pct", given["start_charge_pct"], wrong, "", "leave it out")
        values.pop("format")
        return values

    def steps(self) -> list[Step]:
        """Return the good steps, checked against each other as well where all are good."""
        tables = self.document.get("step", [])
        if not isinstance(tables, list) or not all(isinstance(each, dict) for each in tables):
            line = self.lines.get("[step]") or self.lines.get("step")
            wrong = "must be [[step]] tables, in doubled brackets"
            self._problem("step", tables, wrong, line=line)
            return []
        if len(tables) > MOST_STEPS:
            wrong, allowed = f"{len(tables)} steps", f"allowed {MOST_STEPS}"
            self._problem("[[step]]", None, wrong, allowed)
            tables = tables[:MOST_STEPS]
        found = [self._step(place, table) for place, table in enumerate(tables)]
        if None not in found:
            self._together([step for step in found if step])
        return [step for step in found if step]

    def _problem(
        self,
        key: str,
        raw: object,
        wrong: str,
        allowed: str = "",
        mend: str = "",
        line: int | None = None,
    ) -> None:
        value = "" if raw is None else show(raw)
        line = line or self.lines.get(key)
        self.problems.append(Problem(self.file, line, key, value, wrong, allowed, mend))

    def _value(
        self, key: Key, given: dict[str, Any], said: str, lines: dict[str, int]
    ) -> object | None:
        """Return a key's value or its default; None where it is missing or wrong."""
        raw = given.get(key.name)
        line = lines.get(key.name) or lines.get("")
        if raw is None:
            if key.default is REQUIRED:
                self._problem(said, None, f"missing: {key.meaning}", key.allowed, line=line)
                return None
            return key.default
        try:
            return check_value(key, raw)
        except Bad as bad:
            self._problem(said, raw, bad.wrong, bad.allowed, bad.mend, line)
            return None

    def _unknown(
        self, section: str, name: str, raw: object, keys: tuple[Key, ...], line: int | None
    ) -> None:
        """Say what was meant by a key that is none; a build file's words do not count here."""
        guess = unknown_key(section, name, raw, keys)
        own = {key.path for key in keys}
        mend = guess.mend
        if not own.issuperset(guess.meant):
            mend = "keys: " + ", ".join(key.name for key in keys)
        said = name if section == "scenario" else f"{section}: {name}"
        self._problem(said, raw, guess.wrong, mend=mend, line=line)

    def _lines_of(self, place: int) -> dict[str, int]:
        return self.places[place] if place < len(self.places) else {}

    def _step(self, place: int, table: dict[str, Any]) -> Step | None:
        lines, before = self._lines_of(place), len(self.problems)
        known = {key.name for key in _STEP}
        for name in (name for name in table if name not in known):
            self._unknown("step", name, table[name], _STEP, lines.get(name) or lines.get(""))
        at_s, do, level, fault = (
            self._value(key, table, f"step {place + 1}: {key.name}", lines) for key in _STEP
        )
        named = {"level": level, "fault": fault}
        for name in _NAMED:
            self._named(place, name, str(do), table, named[name])
        if len(self.problems) > before:
            return None
        assert isinstance(at_s, float)
        return Step(at_s, str(do), *(None if v is None else str(v) for v in named.values()))

    def _named(
        self, place: int, name: str, do: str, table: dict[str, Any], value: object | None
    ) -> None:
        """Check the key that only a step of its own name has."""
        lines, said = self._lines_of(place), f"step {place + 1}: {name}"
        line = lines.get(name) or lines.get("")
        if do != name:
            if name in table and do in _DOES:
                wrong = f'only with do = "{name}", not "{do}"'
                self._problem(said, table[name], wrong, mend="leave it out", line=line)
            return
        known = [key for key, _ in self.build.levels.by_current]
        if name == "fault":
            known = [row.id for row in ENGINE]
        listed = ", ".join(known) if name == "level" else "`diodewright faults` lists them"
        if name not in table:
            self._problem(said, None, f"missing: which {name}", mend=listed, line=line)
        elif value is not None and value not in known:
            near = nearest(str(value), known, 0.4)
            mend = (f"did you mean {near}? " if near else "") + listed
            self._problem(said, value, f"no such {name} here", mend=mend, line=line)
        elif name == "fault" and value is not None and lacks(self.build, by_id(str(value))):
            why = f"{self.build.name} {lacks(self.build, by_id(str(value)))} to fail in this way"
            self._problem(said, value, why, mend="leave the step out", line=line)

    def _together(self, steps: list[Step]) -> None:
        """Check what steps say of each other."""
        for place, wrong, mend in _contradictions(steps, self.build):
            step, lines = steps[place], self._lines_of(place)
            key = "at_s" if wrong.startswith("before") else "do"
            raw = step.at_s if key == "at_s" else step.do
            line = lines.get(key) or lines.get("")
            self._problem(f"step {place + 1}: {key}", raw, wrong, mend=mend, line=line)
        done = [step.do for step in steps]
        for do, why in (("press", "nothing would light"), ("end", "it would run for ever")):
            if do not in done:
                mend = f'a [[step]] with do = "{do}"'
                self._problem("[[step]]", None, f"no {do}: {why}", mend=mend)


def _contradictions(steps: list[Step], build: Build) -> Iterator[tuple[int, str, str]]:
    """Yield place, what is wrong and the mend of each step that the steps before it rule out."""
    stands, struck = dict(_AT_FIRST), set[str]()
    pressed_s: float | None = None
    ended = False
    for place, step in enumerate(steps):
        if place and step.at_s < steps[place - 1].at_s:
            yield place, f"before step {place}, at {steps[place - 1].at_s:g} s", "order the steps"
        if ended:
            yield place, "after the end", "the end is the last step"
        if step.do in SWITCHED:
            what, value, said = SWITCHED[step.do]
            if what != "trigger" and not getattr(build.controls, what):
                yield place, f"{build.name} has no {what}", "leave the step out"
            elif stands[what] == value:
                yield place, f"{said} already", "leave the step out"
            stands[what] = value
        if step.fault and step.fault in struck:
            yield place, f"{step.fault} has struck already", "each fault once"
        struck |= {step.fault} if step.fault else set()
        if step.do == "press" and pressed_s is None:
            pressed_s = step.at_s
        if step.do == "end" and pressed_s is not None and step.at_s < pressed_s + LEAST_S:
            yield place, f"less than {LEAST_S:g} s after the first press", "let it run"
        ended = ended or step.do == "end"
