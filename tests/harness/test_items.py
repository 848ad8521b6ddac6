"""Two lines in a builder's repository: every fault case of a build file is a test."""

import os
import sys
import tomllib
from itertools import islice
from pathlib import Path
from types import SimpleNamespace

import pytest

from diodewright.build import load
from diodewright.harness.lamp import cases_of
from diodewright.harness.parts import PARTS
from diodewright.harness.summary import verdict_lines
from diodewright.rehearse import MOMENTS, snapshots
from diodewright.rehearse.case_id import parse_case
from diodewright.rehearse.matrix import case_ids, pairs, singles
from diodewright.sim import Trace, compiled, law_hash
from edits import Edits
from harness.conftest import Inner, write

pytest_plugins = ["pytester"]

ROOT = Path(__file__).parents[2]
#: A comparator so slow that a stage stuck full on kills the diode (tests/rehearse/test_unsafe.py).
SLOW: Edits = {"comparator.delay_us": "5"}
STUCK = "stage-full-on and warming"


@pytest.mark.parametrize("example", ["gel_viewer", "smoke_tunnel_dummy"])
def test_a_build_has_the_cases_of_a_rehearsal_and_those_its_light_may_not_reach(
    example: str,
) -> None:
    build = load(example)
    taken = snapshots(build, compiled(), 1)
    rehearsed = case_ids(build, taken)
    beyond = [name for name in cases_of(build) if parse_case(name)[1].moment not in taken]
    assert [name for name in cases_of(build) if name not in beyond] == list(rehearsed)
    assert (len(beyond) == 0) == (set(taken) == set(MOMENTS))
    # and these are what a rehearsal runs: the first of the faults, and the first of the pairs
    for run in (singles, pairs):
        first = [f"{case.id}@{case.at}" for case in islice(run(build, taken, 1), 5)]
        begin = rehearsed.index(first[0])
        assert list(rehearsed[begin : begin + 5]) == first


def test_two_lines_make_every_part_and_every_case_a_test(repository: Path, inner: Inner) -> None:
    done = inner("--collect-only", "-q")
    names = [*PARTS, *cases_of(load(repository / "my_lamp.toml"))]
    assert [line for line in done.outlines if "::" in line] == [
        f"my_lamp.toml::{name}" for name in names
    ]


@pytest.mark.long
def test_a_build_that_holds_passes_whole_and_is_called_so(repository: Path, inner: Inner) -> None:
    done = inner()
    of = len(PARTS) + len(cases_of(load(repository / "my_lamp.toml")))
    done.assert_outcomes(passed=of)
    assert done.ret == 0
    done.stdout.fnmatch_lines([f"my_lamp.toml: HOLDS: {of} of {of} judged, none failed; tightest*"])
    assert not (repository / "diodewright_failures").exists()


def test_the_header_says_seed_law_and_engine(repository: Path, inner: Inner) -> None:
    done = inner("-k", "hazard", "--diodewright-seed", "7")
    hashed = law_hash()[:12]
    done.stdout.fnmatch_lines([f"diodewright: seed 7, law {hashed}, engine numba: my_lamp.toml"])


def test_a_part_that_did_not_run_is_not_passed(repository: Path, inner: Inner) -> None:
    done = inner("-k", "hazard or edges")
    assert done.ret == 0
    done.stdout.fnmatch_lines(["my_lamp.toml: INCOMPLETE: 2 of * judged, none failed; tightest*"])


def test_a_moment_that_the_light_never_reaches_is_no_case_of_it(
    repository: Path, inner: Inner
) -> None:
    """A module has no rise of the law's: `rehearse` has no such case either, and says HOLDS."""
    write(repository / "my_lamp.toml", {}, "gel_viewer")
    done = inner("-k", "hazard or (diode-open and soft-start-1)", "-rs")
    rest = len(PARTS) + len(cases_of(load("gel_viewer"))) - 2
    done.assert_outcomes(passed=1, skipped=1, deselected=rest)
    done.stdout.fnmatch_lines(["*the light of my_lamp never reaches soft-start-1"])
    of = rest + 1
    done.stdout.fnmatch_lines([f"my_lamp.toml: INCOMPLETE: 1 of {of} judged, none failed*; 1 at *"])


def test_what_no_build_has_does_not_make_a_verdict_incomplete() -> None:
    def report(name: str, **more: object) -> SimpleNamespace:
        said = {"diodewright_build": "my_lamp.toml", "diodewright_of": 2, **more}
        return SimpleNamespace(nodeid=f"my_lamp.toml::{name}", user_properties=[*said.items()])

    passed, absent = [report("use")], [report("other", diodewright_absent=True)]
    (line,) = verdict_lines({"passed": passed, "skipped": absent})
    assert line.startswith("my_lamp.toml: HOLDS: 1 of 1 judged")
    (line,) = verdict_lines({"passed": passed, "skipped": [report("other")]})
    assert line.startswith("my_lamp.toml: INCOMPLETE: 1 of 2 judged")


def test_a_part_that_was_skipped_is_not_passed(
    repository: Path, pytester: pytest.Pytester, inner: Inner
) -> None:
    pytester.makeconftest(
        """
        import pytest

        def pytest_collection_modifyitems(items):
            for item in items:
                if item.name == "edges":
                    item.add_marker(pytest.mark.skip)
        """
    )
    done = inner("-k", "hazard or edges")
    done.assert_outcomes(
        passed=1, skipped=1, deselected=len(PARTS) + len(cases_of(load("smoke_tunnel"))) - 2
    )
    done.stdout.fnmatch_lines(["my_lamp.toml: INCOMPLETE: 1 of * judged, none failed"])


def test_a_case_that_kills_the_diode_tells_its_chain_of_causes_and_keeps_its_figure(
    repository: Path, inner: Inner
) -> None:
    write(repository / "my_lamp.toml", SLOW)
    done = inner("-k", STUCK, "--diodewright-seed", "7")
    assert done.ret == 1
    done.assert_outcomes(failed=1, deselected=len(PARTS) + len(cases_of(load("smoke_tunnel"))) - 1)
    kept = "diodewright_failures/my_lamp/stage-full-on@warming"
    done.stdout.fnmatch_lines(
        [
            "FAILS  my_lamp: stage-full-on@warming: true peak diode current stays below *",
            "broken    stage switch: shorted*",
            "expected  dark within 1 ms; by: hardware",
            "law saw   latch: the comparator latch is set",
            "acted     hardware: comparator latch; dark at once",
            "when      0.00 ms after the fault: stage-full-on",
            "          1.00 ms: law latches: latch",
            "exceeded  true peak diode current stays below the absolute maximum: 2.* A, at most 2*",
            "mend      a faster comparator*",
            f"figure    {kept}.png",
            f"trace     {kept}.npz",
            "again     diodewright case my_lamp.toml stage-full-on@warming --seed 7",
            f"ran with  seed 7, law {law_hash()[:12]}, engine numba",
            "my_lamp.toml: FAILS: 1 of *",
        ]
    )
    done.stdout.no_fnmatch_line("*Traceback*")
    assert (repository / f"{kept}.png").read_bytes().startswith(b"\x89PNG\r\n")
    trace = Trace.load_npz(repository / f"{kept}.npz")
    assert trace.provenance["case"] == "stage-full-on@warming"
    assert trace.provenance["seed"] == 7


def test_a_case_that_holds_again_takes_its_old_figure_away(repository: Path, inner: Inner) -> None:
    write(repository / "my_lamp.toml", SLOW)
    assert inner("-k", STUCK).ret == 1
    kept = repository / "diodewright_failures" / "my_lamp"
    (kept / "mine.txt").write_text("mine")
    assert len([*kept.iterdir()]) == 3
    write(repository / "my_lamp.toml", {})
    assert inner("-k", STUCK).ret == 0
    assert [path.name for path in kept.iterdir()] == ["mine.txt"]


def test_two_builds_of_one_name_keep_their_figures_apart(repository: Path, inner: Inner) -> None:
    for name in ("a/lamp.toml", "a_lamp.toml"):
        (repository / name).parent.mkdir(exist_ok=True)
        write(repository / name, SLOW)
    done = inner("-o", "diodewright_builds=a/lamp.toml a_lamp.toml", "-k", STUCK)
    done.assert_outcomes(
        failed=2, deselected=2 * (len(PARTS) + len(cases_of(load("smoke_tunnel"))) - 1)
    )
    kept = sorted((repository / "diodewright_failures").rglob("*.png"))
    assert [
        path.parent.relative_to(repository / "diodewright_failures").as_posix() for path in kept
    ] == [
        "a/lamp",
        "a_lamp",
    ]


def test_edges_that_fail_say_each_limit_with_its_mend(repository: Path, inner: Inner) -> None:
    write(repository / "my_lamp.toml", SLOW)
    done = inner("-k", "edges")
    done.assert_outcomes(failed=1, deselected=len(PARTS) + len(cases_of(load("smoke_tunnel"))) - 1)
    done.stdout.fnmatch_lines(
        [
            "FAILS  my_lamp: edges: stage stuck full on: trip, delay and ripple*beyond)",
            "mend      a faster comparator, a larger inductor or a lower trip",
            "again     diodewright rehearse my_lamp.toml --only faults",
        ]
    )


def test_a_use_that_fails_keeps_its_figure(repository: Path, inner: Inner) -> None:
    write(repository / "my_lamp.toml", {"criteria.light_min_W": "2.0"})
    done = inner("-k", "use", "--diodewright-failures", "there")
    assert done.ret == 1
    done.stdout.fnmatch_lines(
        ["exceeded  light at the end of the first minute: *", "figure    there/my_lamp/use.png"]
    )
    assert (repository / "there" / "my_lamp" / "use.npz").exists()


def test_a_lamp_that_never_lights_fails_every_case_with_the_reason(
    repository: Path, inner: Inner
) -> None:
    write(repository / "my_lamp.toml", {"stage.overshoot_pct": "30"}, "gel_viewer")
    done = inner("-k", "diode-open")
    every = cases_of(load("gel_viewer"))
    failed = sum("diode-open" in name for name in every)
    assert failed > 0
    done.assert_outcomes(failed=failed, deselected=len(PARTS) + len(every) - failed)
    done.stdout.fnmatch_lines(["FAILS  my_lamp: diode-open@*: no light to inject faults into: *"])


def test_a_bad_build_is_one_error_that_names_every_mend(repository: Path, inner: Inner) -> None:
    text = (repository / "my_lamp.toml").read_text("utf-8")
    text = text.replace("delay_us", "delai_us").replace("\nfull_A = 1.5", "\nfull_A = 1500")
    (repository / "my_lamp.toml").write_text(text, "utf-8")
    done = inner()
    assert done.ret == pytest.ExitCode.INTERRUPTED
    done.assert_outcomes(errors=1)
    done.stdout.fnmatch_lines(
        [
            "*ERROR collecting my_lamp.toml*",
            "my_lamp.toml:*: comparator.delai_us = *: no such key; did you mean delay_us?",
            "my_lamp.toml:*: levels.full_A = 1500: out of range; allowed 0.001 to 10 A",
        ]
    )
    done.stdout.no_fnmatch_line("*Traceback*")
    done.stdout.no_fnmatch_line("*.py:*")


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (
            ("-o", "diodewright_builds=my_lmp.toml"),
            "*diodewright_builds: my_lmp.toml: no such file in *; did you mean my_lamp.toml?",
        ),
        (("--diodewright-seed", "0"), "*diodewright_seed: '0': not a seed; allowed 1 to *"),
        (("--diodewright-seed", "x"), "*diodewright_seed: 'x': not a seed; allowed 1 to *"),
    ],
    ids=["file", "zero", "word"],
)
@pytest.mark.usefixtures("repository")
def test_what_cannot_be_asked_is_refused_before_anything_runs(
    inner: Inner, words: tuple[str, ...], said: str
) -> None:
    done = inner(*words)
    assert done.ret == pytest.ExitCode.USAGE_ERROR
    done.stderr.fnmatch_lines([said])
    assert done.outlines == []


def test_a_build_is_run_beside_testpaths_but_not_where_something_else_is_asked_for(
    repository: Path, inner: Inner
) -> None:
    (repository / "checks").mkdir()
    (repository / "checks" / "test_one.py").write_text("def test_one(): pass\n")
    both = inner("-o", "testpaths=checks", "--collect-only", "-q")
    assert {"my_lamp.toml::edges", "checks/test_one.py::test_one"} <= set(both.outlines)
    assert [line for line in inner("checks", "--collect-only", "-q").outlines if "::" in line] == [
        "checks/test_one.py::test_one"
    ]
    case = "my_lamp.toml::diode-open@steady"
    assert [line for line in inner(case, "--collect-only", "-q").outlines if "::" in line] == [case]


def test_workers_find_the_same_and_leave_the_same(repository: Path, inner: Inner) -> None:
    write(repository / "my_lamp.toml", SLOW)
    words = ("-k", f"({STUCK}) or (stage-full-on and run) or edges")
    alone = inner(*words)
    (repository / "diodewright_failures").rename(repository / "alone")
    done = inner("-p", "xdist", "-n", "2", *words, apart=True)
    assert (alone.ret, done.ret) == (1, 1)
    of = len(PARTS) + len(cases_of(load("smoke_tunnel")))
    alone.assert_outcomes(failed=4, deselected=of - 4)
    done.assert_outcomes(failed=4)
    verdict = [line for line in alone.outlines if line.startswith("my_lamp.toml: FAILS")]
    assert verdict == [line for line in done.outlines if line.startswith("my_lamp.toml: FAILS")]
    for kind in ("png", "npz"):
        name = f"my_lamp/stage-full-on@warming.{kind}"
        first = repository / "alone" / name
        again = repository / "diodewright_failures" / name
        assert again.read_bytes() == first.read_bytes()


def test_without_an_engine_nothing_passes(repository: Path, inner: Inner) -> None:
    (repository / "conftest.py").write_text("import sys\nsys.modules['numba'] = None\n")
    done = inner("-k", f"({STUCK}) or hazard", apart=True)
    assert done.ret == 1
    done.assert_outcomes(errors=2, deselected=len(PARTS) + len(cases_of(load("smoke_tunnel"))) - 2)
    done.stdout.fnmatch_lines(
        [
            "diodewright: seed 1, law *, engine none: numba is not installed: my_lamp.toml",
            "INCOMPLETE  my_lamp.toml: stage-full-on@warming: no compiled engine: *",
            "my_lamp.toml: INCOMPLETE: 0 of * judged, none failed",
        ]
    )


def test_the_plugin_alone_loads_nothing_that_coverage_must_see(
    pytester: pytest.Pytester, inner: Inner
) -> None:
    pytester.makepyfile(
        """
        import sys

        def test_nothing_heavy():
            heavy = ("numba", "numpy", "matplotlib", "z3", "diodedriver.law", "diodewright.sim")
            assert "diodewright.pytest_plugin" in sys.modules
            assert [name for name in heavy if name in sys.modules] == []
        """
    )
    inner(apart=True).assert_outcomes(passed=1)


def test_the_entry_point_of_the_wheel_is_all_that_it_takes(
    repository: Path,
    pytester: pytest.Pytester,
    monkeypatch: pytest.MonkeyPatch,
    tmp_path: Path,
) -> None:
    points = tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))["project"]["entry-points"]
    told = tmp_path / "diodewright_told-1.dist-info"
    told.mkdir()
    (told / "METADATA").write_text("Metadata-Version: 2.1\nName: diodewright-told\nVersion: 1\n")
    lines = [f"{name} = {value}" for name, value in points["pytest11"].items()]
    (told / "entry_points.txt").write_text("\n".join(["[pytest11]", *lines]) + "\n")
    monkeypatch.setenv("PYTHONPATH", os.pathsep.join([str(tmp_path), *sys.path]))
    done = pytester.runpytest_subprocess("--collect-only", "-q", "-p", "no:xdist")
    assert "my_lamp.toml::edges" in done.outlines
