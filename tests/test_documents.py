"""What the pages say is so: made from the tables, and every command in them works as written."""

import re
import shlex
from collections.abc import Iterator
from importlib import util
from pathlib import Path
from types import ModuleType

import click
import pytest

from command import diodewright
from diodewright import cli
from diodewright.build import KEYS, RULES, examples
from diodewright.build.keys import ByWord, Computed
from diodewright.build.problems import show
from diodewright.build.rule import QUANTITIES

ROOT = Path(__file__).parents[1]
PAGES = sorted([*ROOT.glob("*.md"), *ROOT.glob("docs/*.md"), *ROOT.glob("hardware_notes/*.md")])
#: Verbs that run the engine for long; and what reads what they wrote.
SLOW = {"rehearse", "case", "demo", "tune"}
ENDS = {"diff": {0, 1}, "compare": {0, 1}}


def _tool() -> ModuleType:
    spec = util.spec_from_file_location("write_docs", ROOT / "tools" / "write_docs.py")
    assert spec is not None
    assert spec.loader is not None
    module = util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


def test_the_pages_are_what_the_tables_say() -> None:
    assert _tool().main(["--check"]) == 0, "run tools/write_docs.py"


def test_a_stale_page_is_told_and_written_again(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    tool = _tool()
    assert tool.main(["--check"], tmp_path / "docs") == 1
    assert not (tmp_path / "docs").exists()
    assert tool.main([], tmp_path / "docs") == 0
    assert tool.main(["--check"], tmp_path / "docs") == 0
    page = tmp_path / "docs" / "build_file.md"
    page.write_text(page.read_text("utf-8").replace("a whole number |", "some number |"))
    assert tool.main(["--check"], tmp_path / "docs") == 1
    assert "docs/build_file.md: stale; run tools/write_docs.py" in capsys.readouterr().out


def test_the_page_gives_each_keys_meaning_range_default_and_source() -> None:
    page = (ROOT / "docs" / "build_file.md").read_text("utf-8")
    for key in KEYS:
        name = "<name>_A" if key.kind == "levels" else key.name
        heading = f"### `[{key.section}]`" if key.section else "### Top of the file"
        section = page.split(heading, 1)[1].split("\n### ", 1)[0].split("\n## ", 1)[0]
        (row,) = [line for line in section.splitlines() if line.startswith(f"| `{name}` |")]
        _, _, meaning, allowed, left_out, _ = re.split(r"(?<!\\)\|", row)
        assert key.meaning in meaning
        assert key.source in left_out
        assert allowed.strip(), key.path
        if key.kind in ("number", "whole", "levels"):
            assert key.span in allowed
        assert all(f'"{word}"' in allowed for word in key.words)
        assert all(reason in allowed for _, reason in key.refused)
        assert not key.when or all(word in meaning for word in (key.when[0], *key.when[1]))
        if isinstance(key.default, Computed):
            assert key.default.text in left_out
        elif isinstance(key.default, ByWord):
            for word, (value, source) in key.default.rows.items():
                assert f"`{word}`" in left_out
                assert source in left_out
                assert (value.text if isinstance(value, Computed) else f"{value:g}") in left_out
        elif key.required:
            assert "required" in left_out
        elif key.default not in (None, ()):
            assert show(key.default) in left_out


def test_the_page_tells_every_contradiction_without_a_mark_for_a_value() -> None:
    page = (ROOT / "docs" / "build_file.md").read_text("utf-8")
    for rule in RULES:
        (row,) = [line for line in page.splitlines() if line.startswith(f"| {rule.rule} |")]
        assert all(f"`{name}`" in row for name in rule.keys)
        assert all(cell.strip() for cell in row.split("|")[1:-1])
        for name in rule.keys:
            assert name not in QUANTITIES or f"\n| `{name}` | {QUANTITIES[name].text} |" in page
    assert not re.search(r"\{\d", page)


def _blocks(page: Path) -> Iterator[str]:
    """Yield the lines of the page's code blocks: indented or fenced, and not inside a list."""
    fenced = False
    for line in page.read_text("utf-8").splitlines():
        if line.startswith("```"):
            fenced = not fenced
        elif fenced or line.startswith("    "):
            yield line.strip()


def _commands(page: Path) -> list[list[str]]:
    """Return the words of every line of a code block that calls a verb."""
    lines = [line for line in _blocks(page) if line.startswith("diodewright ")]
    return [shlex.split(line, comments=True)[1:] for line in lines]


def _spans(page: Path) -> list[list[str]]:
    """Return the words of every command inside a sentence."""
    found = re.findall(r"`diodewright ([^`]+)`", page.read_text("utf-8"))
    return [shlex.split(words) for words in found]


def _parsed(words: list[str]) -> str:
    """Return the verb after reading its options and arguments as the command line does."""
    top = cli.verbs.make_context("diodewright", list(words))
    name, verb, rest = cli.verbs.resolve_command(top, list(words))
    assert verb is not None
    verb.make_context(name, rest, parent=top)
    return verb.name or ""


EVERY = [(page.name, words) for page in PAGES for words in (*_commands(page), *_spans(page))]


@pytest.mark.parametrize(("page", "words"), EVERY, ids=[f"{p}-{' '.join(w)}" for p, w in EVERY])
def test_every_command_of_every_page_is_understood(page: str, words: list[str]) -> None:
    assert _parsed(words) in cli.verbs.commands


def test_a_command_that_is_none_would_be_seen() -> None:
    for words in (["sice", "x"], ["size", "x", "--jsn"], ["case", "x"], ["diff", "x"]):
        with pytest.raises(click.UsageError):
            _parsed(words)


def test_the_readme_shows_every_verb() -> None:
    text = (ROOT / "README.md").read_text("utf-8")
    listed = re.findall(r"^\| `(\w+)[^`]*` \|", text, re.MULTILINE)
    # the shipped builds stand in a table above; a verb may have a row for each of its uses
    verbs = [name for name in listed if name not in examples()]
    assert list(dict.fromkeys(verbs)) == list(cli.verbs.commands)


def _run(words: list[str], folder: Path) -> None:
    done = diodewright(*words, cwd=folder)
    assert done.returncode in ENDS.get(words[0], {0}), f"{words}: {done.stdout}{done.stderr}"
    assert "Traceback" not in done.stderr


def _run_here(page: Path) -> list[list[str]]:
    """Return the commands that need no board and no browser.

    tests/bench_room and tests/page_room run the others.
    """
    return [words for words in _commands(page) if "PORT" not in words and words[0] != "page"]


def _quick(words: list[str]) -> bool:
    return words[0] not in SLOW and not any(word.endswith(".json") for word in words)


RUN = [page for page in PAGES if _run_here(page)]


@pytest.mark.parametrize("page", RUN, ids=[page.name for page in RUN])
def test_the_quick_commands_of_a_page_run_as_written_one_after_the_other(
    page: Path, tmp_path: Path
) -> None:
    commands = [words for words in _run_here(page) if _quick(words)]
    assert len(commands) >= 2
    for words in commands:
        _run(words, tmp_path)


@pytest.mark.long
@pytest.mark.parametrize("page", RUN, ids=[page.name for page in RUN])
def test_all_commands_of_a_page_run_as_written_one_after_the_other(
    page: Path, tmp_path: Path
) -> None:
    for words in _run_here(page):
        _run(words, tmp_path)
