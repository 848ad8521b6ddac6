"""The translation is the law: the same words as CPython, and nothing skipped silently."""

from pathlib import Path

import numpy as np
import pytest

import ticks
from diodedriver import law, words
from diodewright.prove import Refused, domain
from diodewright.prove.evaluate import evaluate
from diodewright.prove.source import read_law
from diodewright.prove.translate import run

TEXT = Path(law.__file__).read_text(encoding="utf-8")
ARRAYS = ["state", "limits", "readings", "raw"]


def differences(columns: ticks.Columns, **domain_of: bool) -> tuple[list[str], set[str]]:
    """Return where translation and CPython differ, and the modes that CPython reached."""
    memory = domain.arrays(**domain_of)
    outcome = run(read_law(TEXT), "tick", memory, ARRAYS)
    count = len(columns["state"])
    flat = [(name, i) for name in ARRAYS for i in range(len(memory[name]))]
    roots = [outcome.memory[name][i] for name, i in flat]
    found = evaluate([*roots, outcome.value], ticks.inputs_of(memory, columns))
    after = {name: np.empty_like(columns[name]) for name in ARRAYS}
    returned = np.empty(count, dtype=np.int64)
    for k in range(count):
        arrays = [columns[name][k].tolist() for name in ARRAYS]
        returned[k] = law.tick(*arrays)
        for name, values in zip(ARRAYS, arrays, strict=True):
            after[name][k] = values
    wrong = [
        f"{name}[{i}] in {int(np.sum(column != after[name][:, i]))} ticks"
        for (name, i), column in zip(flat, found[:-1], strict=True)
        if np.any(column != after[name][:, i])
    ]
    wrong += ["value"] if np.any(found[-1] != returned) else []
    return wrong, {words.MODES[code][0] for code in np.unique(after["state"][:, 0])}


def test_translation_agrees_with_cpython_on_5000_ticks_of_episodes_in_every_mode() -> None:
    wrong, modes = differences(ticks.of_episodes(5000, 12))
    assert wrong == []
    assert modes == {name for name, _ in words.MODES}


@pytest.mark.parametrize(
    ("columns", "domain_of"),
    [
        (ticks.in_range, {}),
        (ticks.stray, {"stray_state": True}),
        (ticks.strange_limits, {"stray_limits": True}),
    ],
    ids=["in range", "any state", "any limits"],
)
def test_translation_agrees_with_cpython_on_2000_random_ticks(columns, domain_of) -> None:
    drawn = columns(np.random.default_rng(7), 2000)
    if "stray_limits" in domain_of:
        # the law computes nothing of limits that it doesn't trust, but for this nothing else may
        # be computed of them either: only ticks whose limits are broken
        ones = words.ONES
        half = len(words.LIMITS)
        sound = (drawn["limits"][:, :half] ^ drawn["limits"][:, half:] ^ ones) == 0
        drawn = {name: values[~sound.all(axis=1)] for name, values in drawn.items()}
        assert len(drawn["state"]) > 1000
    wrong, _ = differences(drawn, **domain_of)
    assert wrong == []


HEAD = "from diodedriver.portable import const, micropython, ptr32\n"
BODY = "@micropython.viper\ndef tick(s: ptr32, x: int) -> int:\n"


def translated(text: str) -> None:
    x = domain.terms.var("x", 0, 9)
    run(read_law(text), "tick", {"s": [1, 2, 3]}, ["s", x])


@pytest.mark.parametrize(
    ("body", "line", "said"),
    [
        ("    while x > 0:\n        x -= 1\n    return x", 4, "While"),
        ("    return x / 2", 4, "Div"),
        ("    return x ** 2", 4, "Pow"),
        ("    return 1.5", 4, "Constant"),
        ("    return abs(x)", 4, "a call of abs"),
        ("    return s[0] if x else 0", 4, "IfExp"),
        ("    x, y = 1, 2\n    return x", 4, "Tuple"),
        ("    x = y = 1\n    return x", 4, "several targets"),
        ("    for i in s:\n        x += i\n    return x", 4, "over something else"),
        ("    for i in range(x):\n        x += i\n    return x", 4, "not constant"),
        ("    for i in range(3):\n        break\n    return x", 5, "Break"),
        ("    for i in range(4000):\n        x += i\n    return x", 4, "4000 turns"),
        ("    if x > 0:\n        y = 1\n    return y", 6, "not set on every path"),
        ("    if x > 0:\n        return 1", 3, "without a return"),
        ("    return tick(s, x)", 4, "calls itself"),
        ("    try:\n        x = 1\n    except ValueError:\n        x = 2\n    return x", 4, "Try"),
        ("    assert x\n    return x", 4, "Assert"),
        ("    global y\n    return x", 4, "Global"),
        ("    return s[0:2]", 4, "Slice"),
        ("    return 1 << x", 4, "count is not constant"),
        ("    return x % x", 4, "divisor is not a constant"),
        ("    x and s[0]\n    return x", 4, "alone"),
        ("    return x is 1", 4, "Compare"),
        ("    if x is 1:\n        x = 2\n    return x", 4, "Is"),
        ("    return lambda: x", 4, "Lambda"),
        ("    return s", 4, "no word"),
        ("    return x[0]", 4, "no array"),
        ("    return s[40]", 4, "never inside"),
        ("    def inner() -> int:\n        return 1\n    return x", 4, "FunctionDef"),
        ("    return f(x=1)", 4, "keyword"),
        ("    return", 4, "without a value"),
        ("    return True", 4, "Constant"),
        ("    x: int = 3\n    return x", 4, "AnnAssign"),
    ],
)
def test_what_is_not_modelled_is_refused_by_line(body: str, line: int, said: str) -> None:
    with pytest.raises(Refused, match=said) as refused:
        translated(HEAD + BODY + body + "\n")
    assert refused.value.line == line


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("A = 5\n", "not const"),
        ("_A = const(x)\n", "not a constant"),
        ("_A = const(1)\n_A = const(2)\n", "defined twice"),
        ("import math\n", "Import"),
        ("def f(x: int) -> int:\n    return x\n", "decorator"),
        ("@micropython.viper\ndef f(x) -> int:\n    return x\n", "neither int nor ptr32"),
        ("@micropython.viper\ndef f(x: int):\n    return x\n", "does not return int"),
        ("@micropython.viper\ndef f(x: int = 1) -> int:\n    return x\n", "plain arguments"),
        ("class A:\n    pass\n", "ClassDef"),
        ("if 1:\n    pass\n", "If"),
        ("def (:\n", "not Python"),
    ],
)
def test_what_is_no_law_at_the_top_level_is_refused(text: str, said: str) -> None:
    with pytest.raises(Refused, match=said):
        read_law(text)


def test_what_is_never_reached_is_refused_as_well() -> None:
    body = "    if 1 > 2:\n        while x:\n            x = 1\n    return x\n"
    with pytest.raises(Refused, match="While"):
        read_law(HEAD + BODY + body)
