"""The documentation of the build file, made from its tables."""

import re
from itertools import groupby

from diodewright.build.catalogue import filled_by
from diodewright.build.keys import Computed, Key
from diodewright.build.model import KEYS
from diodewright.build.problems import show
from diodewright.build.rule import QUANTITIES, Rule
from diodewright.build.rules import RULES

__all__ = ["build_file_as_markdown", "keys_as_markdown", "rules_as_markdown"]

_PAGE = """\
# The build file

One TOML file in UTF-8 describes a build; everything else is derived from it. This page is written
by `tools/write_docs.py` from the very tables that check a file: do not edit it.

    diodewright new my_lamp --write
    diodewright size my_lamp.toml

- **Units** end the names of keys (`delay_s`, `shunt_mohm`); numbers stand without units. A wrong or
  missing unit is refused with the name to write.
- **Nothing is clipped**: a value outside its range, a word that is not listed, an unknown key and a
  contradiction are each refused in a line that names file, line, key, value, range and mend, all
  at once; exit code 2.
- **What is left out** is filled in by the part that the section names (`diodewright parts` lists
  them), else by the default given here. Both are listed as assumed, with their source. "No source"
  means just that.
- A key that another key decides about ("only with") is refused elsewhere.
- A file larger than a million bytes, a pipe, a device or another encoding is not read.

## Keys

{keys}
## Contradictions

What keys may not say together, each value being in its range. A rule is judged wherever all that it
looks at is known.

{rules}
Rules look at some quantities that follow from keys:

{quantities}"""
#: Marks in a rule's texts that stand for values: after a name, in brackets, and by themselves.
_VALUE_BEHIND_NAME = re.compile(r" = \{\d[^}]*\}|\s\(\{\d[^}]*\}[^)]*\)")
_VALUE = re.compile(r"\{(\d)[^}]*\}(?: (?:A|V|%|nm)(?!\w))?")


def build_file_as_markdown() -> str:
    """Return the page about the build file: what to know, every key, every contradiction."""
    quantities = ["| quantity | what it is | follows from |", "|---|---|---|"]
    for name, quantity in QUANTITIES.items():
        needs = ", ".join(f"`{need}`" for need in quantity.needs)
        quantities.append(f"| `{name}` | {quantity.text} | {needs} |")
    return _PAGE.format(
        keys=keys_as_markdown(),
        rules=rules_as_markdown(),
        quantities="\n".join(quantities) + "\n",
    )


def keys_as_markdown() -> str:
    """Return every key as Markdown, one table a section."""
    lines: list[str] = []
    for section, keys in groupby(KEYS, key=lambda key: key.section):
        lines += [f"### `[{section}]`" if section else "### Top of the file", ""]
        lines += ["| key | meaning | allowed | if left out |", "|---|---|---|---|"]
        lines += [f"| {' | '.join(_cells(key))} |" for key in keys]
        lines.append("")
    return "\n".join(lines)


def _cells(key: Key) -> tuple[str, ...]:
    name = "<name>_A" if key.kind == "levels" else key.name
    only = ""
    if key.when:
        only = f"; only with `{key.when[0]}` = " + " or ".join(key.when[1])
    allowed = key.allowed.removeprefix("allowed ") or _text_allowed(key)
    for value, reason in key.refused:
        allowed += f"; refused: {show(value)} ({reason})"
    cells = (f"`{name}`", key.meaning + only, allowed, _default(key))
    return tuple(cell.replace("|", "\\|") for cell in cells)


def _text_allowed(key: Key) -> str:
    return "a part's name" if key.kind == "part" else f"text, at most {key.high:g} characters"


def _default(key: Key) -> str:
    if key.required:
        by = filled_by(key.section, key.name)
        return f"required, or by `{by}`" if by else "required"
    if key.kind == "levels":
        return "none"
    if key.kind == "part":
        return "no part"
    if key.default is None:
        return key.source or "derived"
    if isinstance(key.default, Computed):
        return f"{key.default.text} ({key.source})"
    shown = f"{show(key.default)} {key.unit}".rstrip()
    return f"{shown} ({key.source})" if key.source else shown


def rules_as_markdown() -> str:
    """Return the contradictions as Markdown: what is refused, which keys, how to mend them."""
    lines = ["| rule | looks at | refused where | mend |", "|---|---|---|---|"]
    for rule in RULES:
        looks = ", ".join(f"`{name}`" for name in rule.keys)
        wrong = _without_values(rule, rule.wrong) or "the points are no diode's curve"
        lines.append(f"| {rule.rule} | {looks} | {wrong} | {_without_values(rule, rule.mend)} |")
    return "\n".join(lines) + "\n"


def _without_values(rule: Rule, text: str) -> str:
    """Return a rule's text with names in the place of values."""

    def named(mark: re.Match[str]) -> str:
        name = rule.keys[int(mark[1])]
        return QUANTITIES[name].text if name in QUANTITIES else name

    return _VALUE.sub(named, _VALUE_BEHIND_NAME.sub("", text))
