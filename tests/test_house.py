"""The rules of the house, as tests. Lists of exceptions only shrink: one without need fails too."""

import ast
import re
import shutil
import subprocess
import sys
from collections.abc import Iterator
from functools import cache
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[1]
FOLDERS = ("host", "firmware", "tests", "tools", "docs", "hardware_notes", ".ci")
TEXTS = {".py", ".pyi", ".md", ".toml", ".ini", ".j2", ".csv", ".cir", ""}

LONGEST = 400
LONGER = {
    "firmware/diodedriver/law.py": "MicroPython inlines constants only where they are assigned",
}

UNITS = """
A mA A2 A2s V mV eV W J K degC s ms us minutes ohm mohm kohm H uH F uF Hz kHz Ah nm mm mm2 m m2
mrad deg sr lm pct codes lsb um dB
"""
#: why a field, parameter or function may go without a unit: which ones do
UNITLESS = {
    "any unit; which one stands beside it in the same row or call": """
        a accuracy amount as_line at_read at_true away b back band bias built_in built_in_after
        built_in_before by check_number chosen corner difference drawn_quantile drawn_worst
        drift error figure given healthy high larger least least_span level_u likely limit low
        middle needed needed_after needed_before nominal now number_in of off_before on_line
        peak peek read read_u reading rms spare_after spare_before spread start step threshold
        total towards true true_u u uneven value variance worst worst_of zero zero_95
        a_unit at gains left merit misses radius room scale snapped span""",
    "a pure number": """
        arrhenius blue_weighting buck_duty cap_tolerance chance charge_for_volts coarse
        cold_factor confidence constant convert couple covered_share current_gain cutoff decay
        diffuse duty eats_share exp_near explains factor fall_share fine fuse_over gain gain_95
        hang_together held ideality_min in_key kink log_near margin margin_nominal margin_of
        margin_worst mirrored ntc_beta_gain off ohm_tolerance one_error optical_density
        output_divider output_gain output_ratio pack_divider pack_gain pack_ratio placed
        quantile_share ratio reflectance rise_share scatter sees_from set_gain share
        share_through slope slope_from slope_there slope_u soc speed start_charge stop_slope
        store swing_share systematic tail_charge thermal_share threshold_from threshold_there
        trim_gain weighting widened z""",
    "the name is the unit, or the symbol of a published formula": """
        amperes c3 c4 c6 c7 celsius lumens lumens_bands lumens_spectrum seconds volts""",
    "a switch or code, kept in a record of floats": "cause fault",
    "gives back the unit it was given": """
        band_mean derived faded gaussian_mean larger preferred preferred_above preferred_below
        rounded width width_from_1_e2 width_from_half_maximum""",
    "has a unit and ought to carry it": "knee noise solve_lit solve_open",
}

#: Places on one machine, and where packages come from on it: neither belongs in the project.
MACHINE_WORDS = re.compile(
    r"/(?:tmp|work|root|mnt|home/\w+|Users/\w+)/|[\w.-]*\bpypi\.|pythonhosted|"
    r"\b(?:index-url|trusted-host|PIP_\w+)\b|\blocalhost:\d"
)
UNFINISHED_WORDS = re.compile(r"\b(?:TODO|FIXME|XXX|HACK|NotImplementedError)\b")


def _files() -> Iterator[Path]:
    """Yield every text file of the project but this one, which spells the words out."""
    places = [path for name in FOLDERS for path in (ROOT / name).rglob("*")]
    for path in sorted([*ROOT.iterdir(), *places]):
        made = {"__pycache__", ".ruff_cache", ".hypothesis", ".coverage"} & set(path.parts)
        if path.is_file() and path.suffix in TEXTS and not made and path != Path(__file__):
            yield path


def _name(path: Path) -> str:
    return path.relative_to(ROOT).as_posix()


@cache
def _text(path: Path) -> str:
    return path.read_text(encoding="utf-8")


def test_modules_stay_below_400_lines() -> None:
    modules = [path for path in _files() if path.suffix == ".py"]
    assert len(modules) > 50
    too_long = {
        _name(path): len(_text(path).splitlines())
        for path in modules
        if len(_text(path).splitlines()) >= LONGEST
    }
    assert too_long.keys() - LONGER.keys() == set(), too_long
    assert LONGER.keys() - too_long.keys() == set(), "no longer an exception"


def _is_number(annotation: ast.expr | None) -> bool:
    return annotation is not None and ast.unparse(annotation) in {"float", "float | None"}


def _numbers(body: list[ast.stmt]) -> Iterator[str]:
    """Yield the names of public float fields, float parameters and functions returning float."""
    for node in body:
        if isinstance(node, ast.ClassDef):
            yield from _numbers(node.body)
        elif isinstance(node, ast.AnnAssign) and _is_number(node.annotation):
            yield ast.unparse(node.target)
        elif isinstance(node, ast.FunctionDef) and not node.name.startswith("_"):
            arguments = node.args.posonlyargs + node.args.args + node.args.kwonlyargs
            yield from (each.arg for each in arguments if _is_number(each.annotation))
            if _is_number(node.returns):
                yield node.name


def test_public_numbers_carry_their_unit_in_their_name() -> None:
    units = set(UNITS.split())
    excused = {name for names in UNITLESS.values() for name in names.split()}
    bare: dict[str, set[str]] = {}
    counted = 0
    for path in sorted((ROOT / "host").rglob("*.py")):
        for name in _numbers(ast.parse(_text(path)).body):
            counted += 1
            if "_" not in name or name.rpartition("_")[2] not in units:
                bare.setdefault(name, set()).add(_name(path))
    assert counted > 200
    unexplained = {name: places for name, places in bare.items() if name not in excused}
    assert not unexplained, "give it a unit, or say in UNITLESS why it has none"
    assert excused - bare.keys() == set(), "no longer an exception"


@pytest.mark.parametrize("words", [MACHINE_WORDS, UNFINISHED_WORDS], ids=["machine", "unfinished"])
def test_no_file_names_a_machine_or_unfinished_work(words: re.Pattern[str]) -> None:
    found = [
        f"{_name(path)}:{number}: {match[0]}"
        for path in _files()
        for number, line in enumerate(_text(path).splitlines(), start=1)
        if (match := words.search(line))
    ]
    assert found == []


def test_ci_runs_the_two_commands_of_the_readme_as_written() -> None:
    start = "python3 -m venv .venv && "
    told = [line.strip() for line in _text(ROOT / "README.md").splitlines() if start in line]
    run = [line.strip() for line in _text(ROOT / ".ci" / "run").splitlines() if start in line]
    assert [line.rpartition("/")[2] for line in told] == ["diodewright demo", "python -m pytest"]
    assert run == told


def test_rooms_call_downwards_only() -> None:
    beside = Path(sys.executable).with_name("lint-imports")
    checker = beside if beside.exists() else shutil.which("lint-imports")
    assert checker, "import-linter belongs to the test extra"
    command = [str(checker), "--no-cache", "--no-logo"]
    done = subprocess.run(command, cwd=ROOT, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stdout + done.stderr
    assert "0 broken" in done.stdout
