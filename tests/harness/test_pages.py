"""What README.md and docs/ci.md show of tests and workflows runs as it stands there."""

import os
import re
import shlex
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest
import yaml

from diodewright import cli
from harness.conftest import CACHE, Inner, write

pytest_plugins = ["pytester"]

ROOT = Path(__file__).parents[2]
#: Page -> the heading below which its examples stand.
SHOWN = {"README.md": "## In your own repository's tests", "docs/ci.md": "## As tests"}


def _fenced(text: str, language: str) -> list[str]:
    return re.findall(rf"^```{language}\n(.*?)^```$", text, re.MULTILINE | re.DOTALL)


def _section(page: str) -> str:
    text = (ROOT / page).read_text("utf-8").partition(f"\n{SHOWN[page]}\n")[2]
    return text if page.startswith("docs") else text.partition("\n## ")[0]


@pytest.mark.parametrize("page", SHOWN)
def test_the_examples_of_a_page_hold_as_they_stand_there(
    page: str, pytester: pytest.Pytester, inner: Inner
) -> None:
    (settings,) = _fenced(_section(page), "ini")
    (tests,) = _fenced(_section(page), "python")
    assert len(settings.splitlines()) == 2
    (pytester.path / "pytest.ini").write_text(settings)
    (pytester.path / "test_mine.py").write_text(tests)
    write(pytester.path / "my_lamp.toml", {})
    listed = inner("--collect-only", "-q").outlines
    assert "my_lamp.toml::stage-full-on@steady" in listed
    done = inner("test_mine.py")
    asked = sum(line.startswith("test_mine.py::") for line in listed)
    assert asked >= tests.count("def test_")
    done.assert_outcomes(passed=asked)


def test_the_table_of_settings_is_what_the_plugin_has(inner: Inner) -> None:
    table = re.findall(
        r"^\| `(diodewright_\w+)` \| (?:`(--\S+) \w+`)?", _section("docs/ci.md"), re.M
    )
    said = inner("--help").stdout.str()
    have = set(re.findall(r"^ +(diodewright_\w+) \(", said, re.MULTILINE))
    options = set(re.findall(r"^ +(--diodewright-[a-z]+)", said, re.MULTILINE))
    assert {name for name, _ in table} == have
    assert {option for _, option in table if option} == options


def _workflow() -> dict[str, Any]:
    (text,) = _fenced((ROOT / "docs" / "ci.md").read_text("utf-8"), "yaml")
    read: dict[str, Any] = yaml.safe_load(text)
    return read


def _commands() -> list[str]:
    (job,) = _workflow()["jobs"].values()
    return [step["run"] for step in job["steps"] if "run" in step]


def test_the_workflow_has_the_form_of_one_and_its_commands_are_understood() -> None:
    read = _workflow()
    # YAML 1.1 reads the bare word "on" as true
    assert set(read) == {"name", True, "jobs"}
    (job,) = read["jobs"].values()
    assert set(job) == {"runs-on", "env", "steps"}
    assert all(len({"run", "uses"} & set(step)) == 1 for step in job["steps"])
    install, test, rehearse = _commands()
    assert install == 'python -m pip install "$DIODEWRIGHT" pytest'
    assert test.startswith("python -m pytest ")
    verb, *words = shlex.split(rehearse)
    assert verb == "diodewright"
    top = cli.verbs.make_context(verb, list(words))
    name, command, rest = cli.verbs.resolve_command(top, list(words))
    assert command is not None
    command.make_context(name, rest, parent=top)
    kept = job["steps"][-1]["with"]["path"].split()
    assert kept == ["*.xml", "diodewright_failures", "my_lamp_rehearsal"]
    assert {"--junit rehearsal.xml", "--out my_lamp_rehearsal"} <= set(
        re.findall(r"--\w+ \S+", rehearse)
    )


def _run(command: str, folder: Path, pick: str = "") -> None:
    """Run a command of the workflow, in bash, with this Python's programs found first."""
    programs = folder / "programs"
    programs.mkdir(exist_ok=True)
    for name, words in (("python", ""), ("diodewright", "-m diodewright.cli ")):
        (programs / name).write_text(f'#!/bin/sh\nexec "{sys.executable}" {words}"$@"\n')
        (programs / name).chmod(0o755)
    env = os.environ | {
        "PATH": f"{programs}:{os.environ['PATH']}",
        "DIODEWRIGHT_CACHE": str(CACHE),
        "PYTEST_DISABLE_PLUGIN_AUTOLOAD": "1",
        "PYTEST_ADDOPTS": f"-p diodewright.pytest_plugin {pick}",
    }
    done = subprocess.run(
        ["bash", "-c", command], cwd=folder, env=env, capture_output=True, text=True, check=False
    )
    assert done.returncode == 0, done.stdout + done.stderr


def _builder(folder: Path) -> None:
    (folder / "pytest.ini").write_text("[pytest]\ndiodewright_builds = my_lamp.toml\n")
    write(folder / "my_lamp.toml", {})


def test_the_workflow_runs_the_tests(tmp_path: Path) -> None:
    _builder(tmp_path)
    _, test, _ = _commands()
    _run(test, tmp_path, "-k 'hazard or diode-open'")
    assert "diode-open@steady" in (tmp_path / "tests.xml").read_text("utf-8")


@pytest.mark.long
def test_the_workflow_runs_whole_and_leaves_what_it_keeps(tmp_path: Path) -> None:
    _builder(tmp_path)
    for command in _commands()[1:]:
        _run(command, tmp_path)
    left = {path.name for path in tmp_path.iterdir()}
    assert {"tests.xml", "rehearsal.xml", "my_lamp_rehearsal"} <= left
    assert "diodewright_failures" not in left
