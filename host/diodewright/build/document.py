"""The documentation of the build file, made from its tables."""

from itertools import groupby

from diodewright.build.catalogue import filled_by
from diodewright.build.keys import ByWord, Computed, Key
from diodewright.build.model import KEYS
from diodewright.build.problems import show
from diodewright.build.rules import RULES

__all__ = ["keys_as_markdown", "rules_as_markdown"]


def keys_as_markdown() -> str:
    """Return every key as Markdown, one table a section."""
    lines: list[str] = []
    for section, keys in groupby(KEYS, key=lambda key: key.section):
        lines += [f"### `[{section}]`" if section else "### Top of the file", ""]
        lines += ["| key | meaning | allowed | if left out |", "|---|---|---|---|"]
        lines += [f"| {' | '.join(_cells(key))} |" for key in keys]
        lines.append("")
    return "\n".join(lines)


def _cells(key: Key) -> tuple[str, str, str, str]:
    name = "<name>_A" if key.kind == "levels" else key.name
    only = ""
    if key.when:
        only = f"; only with `{key.when[0]}` = " + " or ".join(key.when[1])
    allowed = key.allowed.removeprefix("allowed ")
    return f"`{name}`", key.meaning + only, allowed or "text", _default(key)


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
    if isinstance(key.default, ByWord):
        rows = (
            f"`{word}`: {_value(default, key)} ({source})"
            for word, (default, source) in key.default.rows.items()
        )
        return "; ".join(rows)
    shown = _value(key.default, key)
    return f"{shown} ({key.source})" if key.source else shown


def _value(default: object, key: Key) -> str:
    if isinstance(default, Computed):
        return default.text
    return f"{show(default)} {key.unit}".rstrip()


def rules_as_markdown() -> str:
    """Return the contradictions as Markdown: which keys, and how to mend them."""
    lines = ["| rule | looks at | mend |", "|---|---|---|"]
    for rule in RULES:
        looks = ", ".join(f"`{name}`" for name in rule.keys)
        lines.append(f"| {rule.rule} | {looks} | {rule.mend} |")
    return "\n".join(lines) + "\n"
