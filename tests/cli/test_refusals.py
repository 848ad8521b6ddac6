"""Whatever a verb is given: one message that says what to mend, exit 2, and not a file touched."""

import os
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import pytest

from diodewright import cli
from diodewright.rehearse import MOMENTS

Ended = tuple[int, str, str]

#: A file where a folder is expected fails for every user, the superuser as well; so does /proc.
BUILD_FILES = (
    ("utf16.toml", "utf16.toml:1: not UTF-8 text but UTF-16; save it as UTF-8"),
    ("utf32.toml", "utf32.toml:1: not UTF-8 text but UTF-32; save it as UTF-8"),
    ("latin.toml", "not UTF-8 text; save it as UTF-8"),
    ("zero.toml", "not text: holds a zero byte; save it as UTF-8"),
    ("empty.toml", "[pack]: section missing; it needs kind"),
    ("deep.toml", "not TOML"),
    ("huge.toml", "huge.toml: larger than 1000000 bytes"),
    ("loop.toml", "loop.toml: can't be read: its links lead round in a circle"),
    ("pipe.toml", "pipe.toml: is not a plain file"),
    ("folder.toml", "folder.toml: is a folder"),
    ("/dev/zero", "/dev/zero: is not a plain file"),
    ("file/lamp.toml", "something on the way to it is a file, not a folder"),
    ("x" * 300 + ".toml", "can't be read: its name is too long"),
    ("none.toml", "none.toml: no such file; `diodewright new` writes one to begin with"),
    ("smoke_tunnel.toml", "the shipped example is smoke_tunnel, without .toml"),
    ("smoke_tunel", "no such example; did you mean smoke_tunnel?"),
    ("", "no such example; examples: "),
    ("a\x1b[31m\nb", "a?[31m?b: no such example"),
    ("\udcff.toml", "?.toml: no such file"),
    ("nan.toml", "levels.full_A = nan: must be a finite number; allowed 0.001 to 10 A"),
    ("inf.toml", "levels.full_A = -inf: must be a finite number; allowed 0.001 to 10 A"),
    ("wide.toml", "out of range; allowed 0.001 to 10 A"),
    ("float.toml", "levels.full_A = inf: must be a finite number; allowed 0.001 to 10 A"),
    ("text.toml", "must be a number, not text; allowed 0.001 to 10 A; write full_A = 1.5"),
)
RESULT_FILES = (
    ("utf16.json", "utf16.json: not UTF-8 text but UTF-16; save it as UTF-8"),
    ("utf32.json", "not UTF-8 text but UTF-32"),
    ("latin.json", "not UTF-8 text; save it as UTF-8"),
    ("zero.json", "not text: holds a zero byte"),
    ("empty.json", "empty.json: not JSON"),
    ("deep.json", "not JSON: nested too deep"),
    ("huge.json", "huge.json: larger than 20000000 bytes"),
    ("loop.json", "its links lead round in a circle"),
    ("pipe.json", "pipe.json: is not a plain file"),
    ("folder.json", "is a folder; give the rehearsal.json in it"),
    ("none.json", "none.json: no such file"),
    ("nan.json", "not JSON: NaN is no number"),
    ("inf.json", "not JSON: -Infinity is no number"),
    ("wide.json", "(40 characters): out of range; allowed -1e+12 to 1e+12"),
    ("digits.json", "(5000 characters): out of range; allowed -1e+12 to 1e+12"),
    ("float.json", "1e400: out of range; allowed -1e+12 to 1e+12"),
    ("text.json", "Expected `float`, got `str` - at `$.hazard.classified_W`"),
    ("twice.json", "key 'title' stands twice in one object"),
    ("nested.json", "nested deeper than 20 levels"),
    ("half.json", "holds half a character"),
)
FOLDERS = (
    ("file", "file: can't write there: it is a file, not a folder"),
    ("file/below", "something on the way to it is a file, not a folder"),
    ("circle", "circle: can't write there: it is a link that leads nowhere"),
    ("/proc/there", "/proc/there: can't write there"),
    ("/proc", "/proc: can't write there"),
    ("x" * 300, "its name is too long"),
    ("", "'--out': names no folder; write . for this one"),
    ("pipe.json", "it is a file, not a folder"),
)
SEEDS = ("0", "-1", "1.5", "1e3", "nan", "inf", "", "2147483648", "9" * 30, "9" * 5000, "\x1b[31m")
CASES = (
    ("", "(nothing): no such fault; nearest: none (diodewright faults lists all)"),
    ("@", "no such fault"),
    ("@steady", "@steady: no such fault"),
    ("diode-opn@steady", "no such fault; nearest: diode-open"),
    ("diode-open", f"no moment; one of: {', '.join(MOMENTS)}; write diode-open@steady"),
    (
        "diode-open@stedy",
        f"no such moment; one of: {', '.join(MOMENTS)}; write diode-open@steady",
    ),
    ("diode-open@steady@steady", "no such moment"),
    ("DIODE-OPEN@steady", "no such fault"),
    ("x" * 100_000, "xxx...: no such fault"),
    ("a\x1b[31m\nb@steady", "a?[31m?b@steady: no such fault"),
    ("\udcff@steady", "?@steady: no such fault"),
)
NAMES = (
    ("", 'new: NAME = "": holds other characters than letters, digits, _ and -'),
    ("..", "allowed letters, digits, _ and -, at most 40"),
    ("a/b", "holds other characters"),
    ("a b", "holds other characters"),
    ("x" * 41, "too long; allowed 40 characters"),
    ("x" * 100_000, "too long; allowed 40 characters"),
    ("a\x1bb", "characters that can't be printed"),
    ("\udcff", "characters that can't be printed"),
)
MIXED = (
    (("good.toml", "good.json"), "good.toml: is a build, but good.json is the result"),
    (("good.json", "smoke_tunnel"), "smoke_tunnel: is a build, but good.json is the result"),
)

Row = tuple[tuple[str, ...], str]
#: Verbs of the bench, and what else each needs to get as far as its build file and its port.
BENCH: tuple[tuple[str, tuple[str, ...]], ...] = (
    ("calibrate", ("pack", "--accuracy", "0.1", "--port", "no-port")),
    ("characterise", ("--incoming", "--port", "no-port")),
    ("watch", ("--port", "no-port")),
    ("burst", ("--port", "no-port", "--out", "there.npz")),
    ("flash", ("--port", "no-port")),
    ("fit", ("smoke_tunnel_fit_heat", "--what", "thermal")),
    ("compare", ("smoke_tunnel_fit_heat",)),
    ("page", ()),
)

TABLE: tuple[Row, ...] = (
    *((("size", file), said) for file, said in BUILD_FILES),
    *((("rehearse", file), said) for file, said in BUILD_FILES[::4]),
    *((("case", file, "diode-open@steady"), said) for file, said in BUILD_FILES[::4]),
    *((("new", "mine", "--write", "--from", file), said) for file, said in BUILD_FILES),
    *((("diff", "smoke_tunnel", file), said) for file, said in BUILD_FILES),
    *((("diff", file, "smoke_tunnel"), said) for file, said in BUILD_FILES[::4]),
    *((("report", file, "--out", "there"), said) for file, said in RESULT_FILES),
    *((("diff", "good.json", file), said) for file, said in RESULT_FILES),
    *((("report", "good.json", "--out", folder), said) for folder, said in FOLDERS),
    *((("rehearse", "good.toml", "--out", folder), said) for folder, said in FOLDERS),
    *((("demo", "--out", folder), said) for folder, said in FOLDERS),
    *((("twin", "good.toml", "--out", folder), said) for folder, said in FOLDERS),
    *((("twin", file), said) for file, said in BUILD_FILES[::4]),
    (("twin", "good.toml", "--replay", "nothing.json"), "nothing.json: no such file"),
    (("twin", "good.toml", "--replay", "good.json"), "good.json: no recording of a session"),
    (("twin", "good.toml", "--replay", "deep.json"), "deep.json: no recording of a session"),
    (("twin", "good.toml", "--charge", "101"), "'--charge'"),
    (("twin", "good.toml", "--for", "0"), "'--for'"),
    *((("case", "good.toml", "diode-open@steady", "--out", f), said) for f, said in FOLDERS),
    *((("hazard", "good.toml", "--out", f), said) for f, said in FOLDERS[:2]),
    (("hazard", "good.toml", "--seed", "0"), "'--seed'"),
    (("hazard", "smoke_tunel"), "did you mean smoke_tunnel?"),
    (("hazard",), "Missing argument 'BUILD'"),
    *((("sheet", file), said) for file, said in BUILD_FILES[::8]),
    *((("tune", file, "--wish", "sustained"), said) for file, said in BUILD_FILES[::8]),
    (("tune", "good.toml", "--set", "mount_wrm_degC=48"), "mount_warm_degC"),
    *(((verb, file, *more), said) for verb, more in BENCH for file, said in BUILD_FILES[::8]),
    # calibrate and characterise say their cautions before they open anything
    (("watch", "good.toml", "--port", "no-port"), "no-port: no such port"),
    (("burst", "good.toml", "--port", "no-port", "--out", "a.npz"), "no-port: no such port"),
    (("fit", "good.toml", "nothing.npz", "--what", "thermal"), "nothing.npz"),
    (("compare", "good.toml", "nothing.npz"), "nothing.npz"),
    (("page", "good.toml", "--record", "nothing.npz"), "nothing.npz"),
    *((("rehearse", "good.toml", "--seed", seed), "'--seed'") for seed in SEEDS),
    *((("case", "good.toml", "diode-open@steady", "--seed", seed), "'--seed'") for seed in SEEDS),
    *((("demo", "--seed", seed), "'--seed'") for seed in SEEDS[:3]),
    *((("case", "good.toml", case), said) for case, said in CASES),
    *((("new", "--write", name), said) for name, said in NAMES),
    *((("diff", *files), said) for files, said in MIXED),
    (("new", "good", "--write"), "good.toml: exists already; choose another name"),
    (("new",), "Missing argument 'NAME'"),
    (("size",), "Missing argument 'BUILD'"),
    (("diff", "smoke_tunnel"), "Missing argument 'B'"),
    (("report", "good.json"), "Missing option '--out'"),
    (("case", "good.toml"), "Missing argument 'FAULT@MOMENT'"),
    (("rehearse", "good.toml", "--only", "lunch"), "'lunch' is not one of 'use', 'faults'"),
    (("rehearse", "good.toml", "--sed", "1"), "'--seed'"),
    (("parts", "mosfet", "more"), "unexpected extra argument"),
    (("faults", "more"), "unexpected extra argument"),
    (("prove", "smoke_tunel"), "did you mean smoke_tunnel?"),
    (("prove", "--only", "zero-hardd"), "no obligation 'zero-hardd'; nearest: zero-hard"),
    (("faults", "--jsn"), "'--json'"),
    (("rehears", "smoke_tunnel"), "rehearse"),
)


def _id(row: Row) -> str:
    return " ".join(word[:14] for word in row[0]).encode("ascii", "backslashreplace").decode()


def _kept(folder: Path) -> dict[str, tuple[int, int]]:
    """Return name -> size and time of the last change of all that stands in `folder`."""
    seen = {}
    for path in sorted(folder.rglob("*")):
        state = path.lstat()
        seen[str(path)] = state.st_size, state.st_mtime_ns
    return seen


@pytest.mark.parametrize(("words", "said"), TABLE, ids=[_id(row) for row in TABLE])
def test_bad_input_is_one_message_and_exit_2_and_leaves_every_file_alone(
    yard: Path, here: Callable[..., Ended], words: tuple[str, ...], said: str
) -> None:
    before = _kept(yard)
    code, out, err = here(*words)
    assert (code, out) == (2, "")
    assert said in err
    assert "Traceback" not in err
    assert all(line.isprintable() for line in err.splitlines())
    assert max(map(len, err.splitlines())) < 6000
    # click says how a verb is used as well, a build file's problems are told all at once
    told = err.strip().splitlines()
    of_a_build = any(word.endswith(".toml") and word != "good.toml" for word in words)
    assert len(told) == 1 or told[0].startswith("Usage: ") or of_a_build
    assert _kept(yard) == before


def test_the_table_asks_every_verb() -> None:
    assert {row[0][0] for row in TABLE} >= set(cli.verbs.commands)


def test_a_byte_order_mark_changes_nothing(yard: Path, here: Callable[..., Ended]) -> None:
    for ending in (".toml", ".json"):
        assert here("diff", f"good{ending}", f"bom{ending}")[0] == 0
    for name in ("good", "bom"):
        assert here("report", f"{name}.json", "--out", name)[0] == 0
    first, again = (yard / name / "rehearsal.json" for name in ("good", "bom"))
    assert first.read_bytes() == again.read_bytes()


#: What only a process of its own can show: what waits for ever, and names that are no text.
REAL: tuple[Row, ...] = (
    (("size", "pipe.toml"), "is not a plain file"),
    (("report", "pipe.json", "--out", "there"), "is not a plain file"),
    (("report", "/dev/zero", "--out", "there"), "is not a plain file"),
    (("diff", "./pipe.json", "pipe.json"), "is not a plain file"),
    (("new", "mine", "--from", "pipe.toml"), "is not a plain file"),
    (("case", "\udcff.toml", "\udcff"), "no such file"),
    (("report", "\udcff.json", "--out", "\udcfe"), "no such file"),
    (("rehearse", "good.toml", "--out", "file"), "it is a file, not a folder"),
    (("demo", "--out", "/proc"), "can't write there"),
)


def process(*words: str, **options: object) -> subprocess.CompletedProcess[str]:
    """Run the installed command as a process of its own."""
    return subprocess.run(  # type: ignore[call-overload,no-any-return]
        [sys.executable, "-m", "diodewright.cli", *words],
        capture_output=True,
        text=True,
        errors="surrogateescape",
        timeout=120,
        check=False,
        **options,
    )


@pytest.mark.parametrize(("words", "said"), REAL, ids=[_id(row) for row in REAL])
@pytest.mark.parametrize("encoding", ["utf-8:strict", "ascii:strict"])
def test_a_real_process_refuses_at_once_whatever_the_terminals_encoding(
    yard: Path, words: tuple[str, ...], said: str, encoding: str
) -> None:
    before = _kept(yard)
    done = process(*words, cwd=yard, env=os.environ | {"PYTHONIOENCODING": encoding})
    assert done.returncode == 2, done.stderr
    assert said in done.stderr
    assert "Traceback" not in done.stderr
    assert _kept(yard) == before


def test_a_new_file_in_a_folder_that_cannot_be_written_is_refused() -> None:
    done = process("new", "mine", "--write", cwd="/proc")
    assert done.returncode == 2
    assert done.stderr.startswith("mine.toml: can't be written: ")
    assert len(done.stderr.splitlines()) == 1
