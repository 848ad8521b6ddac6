"""Completion as the shells ask for it: click's own protocol, in a process of its own."""

import os
import shlex
import subprocess
import sys
from pathlib import Path

import pytest

from diodewright import cli
from diodewright.build import examples
from diodewright.faults import CORE, ENGINE, MOMENTS

#: The console script of the wheel is these two lines.
SCRIPT = "import sys; sys.argv[0] = 'diodewright'; from diodewright.cli import main; main()"
SHELLS = ("bash", "zsh", "fish")


def _ask(what: str, cwd: Path, **env: str) -> str:
    done = subprocess.run(
        [sys.executable, "-c", SCRIPT],
        cwd=cwd,
        env=os.environ | {"_DIODEWRIGHT_COMPLETE": what, **env},
        capture_output=True,
        text=True,
        timeout=60,
        check=False,
    )
    assert done.stderr == ""
    return done.stdout


def _offered(shell: str, line: str, cwd: Path) -> list[str]:
    """Return what `shell` is offered at the end of `line`, as its own protocol carries it."""
    words = line.split(" ")
    if shell == "fish":
        # fish sends the words before the cursor, and the begun word by itself
        out = _ask("fish_complete", cwd, COMP_WORDS=line, COMP_CWORD=words[-1])
        return [row.split(",", 1)[1].split("\t")[0] for row in out.splitlines() if row]
    out = _ask(f"{shell}_complete", cwd, COMP_WORDS=line, COMP_CWORD=str(len(words) - 1))
    if shell == "zsh":
        rows = out.splitlines()
        return [value.replace("\\:", ":") for value in rows[1::3]]
    return [row.split(",", 1)[1] for row in out.splitlines() if row]


@pytest.fixture
def desk(tmp_path: Path) -> Path:
    """Return a folder with builds and documents, here and one folder down."""
    (tmp_path / "lamps").mkdir()
    (tmp_path / "folder.toml").mkdir()
    for name in ("mine.toml", "my lamp.toml", "lamps/torch.toml", "one.json", "notes.txt"):
        (tmp_path / name).touch()
    return tmp_path


BUILDS = {*examples(), "mine.toml", "my lamp.toml", "lamps/torch.toml"}


@pytest.mark.parametrize("shell", SHELLS)
@pytest.mark.parametrize(
    ("line", "offered"),
    [
        ("diodewright ", set(cli.verbs.commands)),
        ("diodewright re", {"rehearse", "report"}),
        ("diodewright size ", BUILDS),
        ("diodewright size m", {"mine.toml", "my lamp.toml"}),
        ("diodewright size lamps/", {"lamps/torch.toml"}),
        (
            "diodewright rehearse smoke_t",
            {"smoke_tunnel", "smoke_tunnel_bench", "smoke_tunnel_dummy"},
        ),
        ("diodewright rehearse mine.toml --only ", {"use", "faults", "margins", "proof"}),
        ("diodewright rehearse --o", {"--only", "--out"}),
        ("diodewright new lamp --from ", BUILDS),
        ("diodewright report ", {"one.json"}),
        ("diodewright diff ", BUILDS | {"one.json"}),
        ("diodewright diff mine.toml ", BUILDS),
        ("diodewright diff one.json ", {"one.json"}),
        (
            "diodewright case mine.toml diode-",
            {f"{row.id}@{at}" for row in ENGINE if row.part == "diode" for at in CORE},
        ),
        ("diodewright case mine.toml diode-open@ste", {"diode-open@steady"}),
        ("diodewright case mine.toml none", set()),
        ("diodewright size /proc/none/", set()),
    ],
)
def test_each_shell_is_offered_what_there_is(
    desk: Path, shell: str, line: str, offered: set[str]
) -> None:
    found = _offered(shell, line, desk)
    if line.endswith("diode-"):
        assert offered <= set(found)
        assert all(name.startswith("diode-") for name in found)
    else:
        assert set(found) == offered
    assert len(found) == len(set(found))


@pytest.mark.parametrize("shell", SHELLS)
def test_each_shell_gets_a_script_that_asks_this_command(tmp_path: Path, shell: str) -> None:
    script = _ask(f"{shell}_source", tmp_path)
    assert f"_DIODEWRIGHT_COMPLETE={shell}_complete" in script
    assert "diodewright" in script


def test_bash_itself_completes_after_sourcing_the_script(desk: Path) -> None:
    command = desk / "bin" / "diodewright"
    command.parent.mkdir()
    command.write_text(
        f'#!/bin/sh\nexec {shlex.quote(sys.executable)} -c {shlex.quote(SCRIPT)} "$@"\n'
    )
    command.chmod(0o755)
    readme = (Path(__file__).parents[2] / "README.md").read_text("utf-8")
    (switch,) = [line.strip() for line in readme.splitlines() if "=bash_source" in line]
    lines = [
        switch,
        "COMP_WORDS=(diodewright case smoke_tunnel diode-open@s)",
        "COMP_CWORD=3",
        "_diodewright_completion diodewright",
        'printf "%s\\n" "${COMPREPLY[@]}"',
        "complete -p diodewright",
    ]
    done = subprocess.run(
        ["bash", "-c", "\n".join(lines)],
        cwd=desk,
        env=os.environ | {"PATH": f"{command.parent}:{os.environ['PATH']}"},
        capture_output=True,
        text=True,
        timeout=60,
        check=True,
    )
    assert done.stderr == ""
    *replies, registered = done.stdout.splitlines()
    assert replies == [f"diode-open@{at}" for at in MOMENTS if at.startswith("s")]
    assert len(replies) == 12
    assert "_diodewright_completion diodewright" in registered


def test_completing_loads_no_engine_and_no_plots(tmp_path: Path) -> None:
    code = (
        "import atexit, sys\n"
        "atexit.register(lambda: print([n for n in ('numba', 'matplotlib') if n in sys.modules]))\n"
        + SCRIPT.replace("; ", "\n")
    )
    for words, count in (("diodewright case x d", 3), ("diodewright size s", 2)):
        done = subprocess.run(
            [sys.executable, "-c", code],
            cwd=tmp_path,
            env=os.environ
            | {
                "_DIODEWRIGHT_COMPLETE": "bash_complete",
                "COMP_WORDS": words,
                "COMP_CWORD": str(count),
            },
            capture_output=True,
            text=True,
            check=True,
        )
        assert done.stdout.splitlines()[-1] == "[]"
