"""Lamps in a builder's own tests: uses, cases and scenarios, judged, and told where they fail."""

from pathlib import Path

import numpy as np
import pytest

from diodewright.build import BuildErrors
from diodewright.harness import lamp as lamp_module
from diodewright.harness.lamp import Lamp, Lamps, NotHeld
from diodewright.rehearse import NoHealthyStart, UnknownCase
from harness.conftest import Inner, write

pytest_plugins = ["pytester"]

#: A short that strikes five seconds into the light of a cave lamp.
SHORTED: list[dict[str, object]] = [
    {"at_s": 0, "do": "press"},
    {"at_s": 5, "do": "fault", "fault": "diode-short"},
    {"at_s": 8, "do": "end"},
]


def _lamp(root: Path, name: str) -> Lamp:
    lamps = Lamps(root, 1)
    return lamps.lamp(lamps.build(name))


@pytest.fixture(scope="module")
def cave(tmp_path_factory: pytest.TempPathFactory) -> Lamp:
    return _lamp(tmp_path_factory.mktemp("cave"), "cave_lamp")


def test_a_case_gives_verdict_findings_and_a_trace_with_units_in_its_columns(cave: Lamp) -> None:
    run = cave.case("diode-short@steady")
    run.must_hold()
    assert run.holds
    assert run.case is not None
    assert (run.case.survives, run.cause) == (True, "short")
    limit = run.finding("diode-current")
    assert limit.unit == "A"
    assert run["diode_A"].max() < limit.limit
    dark = run["time_s"] > run.zero[0] + 0.01
    assert np.all(run["diode_A"][dark] < 0.01)


def test_a_scenario_of_plain_steps_strikes_when_it_is_told_to(cave: Lamp) -> None:
    run = cave.run(SHORTED, ambient_degC=10)
    assert run.cause == "short"
    assert run.fails == ()
    assert run["mount_degC"][0] == pytest.approx(10, abs=0.1)
    time_s = run["time_s"] - run.zero[0]
    assert run["diode_A"][np.searchsorted(time_s, 4.999)] > 1
    assert run["diode_A"][time_s > 5.01].max() < 0.01
    # eight seconds of light can't show the light of a whole minute: absent is not passed
    assert not run.holds
    with pytest.raises(NotHeld, match="first minute: not judged"):
        run.must_hold()


def test_a_scenario_file_is_found_from_the_root_and_says_everything_itself(tmp_path: Path) -> None:
    lamp = _lamp(tmp_path, "cave_lamp")
    steps = '[[step]]\nat_s = 0\ndo = "press"\n\n[[step]]\nat_s = 3\ndo = "end"\n'
    (tmp_path / "short.toml").write_text(f'name = "a moment"\n\n{steps}')
    run = lamp.run("short.toml")
    assert run.name == "a moment"
    assert "--scenario" in run.again
    assert run["time_s"][-1] - run.zero[0] == pytest.approx(3, abs=0.03)
    with pytest.raises(TypeError, match="ambient_degC: only beside steps"):
        lamp.run("short.toml", ambient_degC=10)


def test_what_is_misspelt_is_refused_with_what_was_meant(cave: Lamp, tmp_path: Path) -> None:
    run = cave.case("diode-open@steady")
    with pytest.raises(KeyError, match="no column diode_mA; did you mean diode_A"):
        run["diode_mA"]
    with pytest.raises(KeyError, match="no finding diode-curent; did you mean diode-current"):
        run.finding("diode-curent")
    with pytest.raises(UnknownCase, match="diode-open"):
        cave.case("diode-opn@steady")
    with pytest.raises(BuildErrors, match=r"step 1: do = \"pres\"") as refused:
        cave.run([{"at_s": 0, "do": "pres"}])
    assert 'did you mean "press"?' in str(refused.value)
    with pytest.raises(BuildErrors, match="no such file"):
        Lamps(tmp_path, 1).build("nowhere.toml")


def test_snapshots_are_taken_once_for_a_build_and_again_for_another(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    taken: list[str] = []
    real = lamp_module.snapshots

    def counted(build, engine, seed):  # type: ignore[no-untyped-def]
        taken.append(build.fingerprint)
        return real(build, engine, seed)

    monkeypatch.setattr(lamp_module, "snapshots", counted)
    lamps = Lamps(tmp_path, 1)
    write(tmp_path / "one.toml", {})
    first = lamps.lamp(lamps.build("one.toml")).struck("diode-open@steady").finding
    assert lamps.lamp(lamps.build("one.toml")).struck("diode-open@steady").finding == first
    assert len(taken) == 1
    # an edited file is another build, also under the name of the one before
    write(tmp_path / "one.toml", {"comparator.delay_us": "5"})
    lamps.lamp(lamps.build("one.toml")).struck("diode-open@steady")
    assert len(set(taken)) == len(taken) == 2


def test_a_lamp_that_never_lights_says_so_each_time(tmp_path: Path) -> None:
    write(tmp_path / "dark.toml", {"stage.overshoot_pct": "30"}, "gel_viewer")
    lamp = _lamp(tmp_path, "dark.toml")
    for _ in range(2):
        with pytest.raises(NoHealthyStart, match="no light to inject faults into"):
            lamp.case("diode-open@steady")


def test_a_light_brighter_than_the_hazard_was_told_for_fails_its_case(
    cave: Lamp, monkeypatch: pytest.MonkeyPatch
) -> None:
    """With a bound that is far too low, a case that stays lit breaks it."""
    assert cave.case("pack-cold@steady").fails == ()
    low = lamp_module.worst_light
    monkeypatch.setattr(
        lamp_module,
        "worst_light",
        lambda build: lamp_module.dataclasses.replace(low(build), light_W=0.001),
    )
    run = cave.case("pack-cold@steady")
    assert any("the bound is wrong" in line for line in run.fails)
    assert any(label == "breach" for label, _ in run.story)


TESTS = """
import pytest

def test_dark_soon_enough(lamp):
    run = lamp("my_lamp.toml").case("stage-full-on@steady")
    run.must_hold()

def test_cool_enough(lamp):
    lamp("my_lamp.toml").case("diode-short@steady")
    run = lamp("my_lamp.toml").case("diode-open@steady")
    assert run["mount_degC"].max() < 20

def test_fine(lamp):
    assert lamp("my_lamp.toml").case("diode-open@steady").cause is not None

@pytest.mark.fault_cases("my_lamp.toml", like="diode-[os]*@steady")
def test_every_open_and_short(fault_case):
    assert fault_case["diode_A"].max() < 2
"""


def test_a_failed_test_tells_the_chain_of_causes_of_its_runs(
    repository: Path, pytester: pytest.Pytester, inner: Inner
) -> None:
    write(repository / "my_lamp.toml", {"comparator.delay_us": "5"})
    pytester.makepyfile(test_mine=TESTS)
    done = inner("--strict-markers", "-W", "error", "test_mine.py")
    done.assert_outcomes(failed=2, passed=3)
    soon = "diodewright_failures/test_mine.py_test_dark_soon_enough/stage-full-on@steady"
    cool = "diodewright_failures/test_mine.py_test_cool_enough/diode-open@steady"
    done.stdout.fnmatch_lines(
        [
            ">       run.must_hold()",
            "E       *NotHeld: stage-full-on@steady: true peak diode current stays below *",
            "-* diodewright: stage-full-on@steady -*",
            "exceeded  true peak diode current stays below *",
            f"figure    {soon}.png",
            "E       assert *",
            "-* diodewright: diode-open@steady -*",
            "HOLDS  my_lamp: diode-open@steady",
            "broken    diode: no path*",
            f"figure    {cool}.png",
        ]
    )
    done.stdout.no_fnmatch_line("*lamp.py:*")
    found = {str(path.relative_to(repository)) for path in repository.rglob("*.png")}
    assert found == {f"{soon}.png", f"{cool}.png"}


def test_a_mistake_in_a_test_is_shown_where_it_was_made_and_nowhere_else(
    pytester: pytest.Pytester, inner: Inner
) -> None:
    pytester.makepyfile(
        test_mine="""
        def test_step(lamp):
            lamp("cave_lamp").run([{"at_s": 0, "do": "pres"}])

        def test_case(lamp):
            lamp("cave_lamp").case("diode-opn@steady")

        def test_column(lamp):
            lamp("cave_lamp").case("diode-open@steady")["diode_mA"]
        """
    )
    done = inner()
    done.assert_outcomes(failed=3)
    done.stdout.fnmatch_lines(
        [
            'E       *BuildErrors: steps: step 1: do = "pres": no such word here*',
            "E       *UnknownCase: diode-opn@steady: no such fault; nearest: diode-open*",
            "E       KeyError: 'no column diode_mA; did you mean diode_A?'",
        ]
    )
    done.stdout.no_re_match_line(r"\S*(lamp|scenario_file|cases)\.py:\d+")


def test_cases_of_a_marker_have_their_ids_and_what_is_none_is_one_error(
    repository: Path, pytester: pytest.Pytester, inner: Inner
) -> None:
    pytester.makepyfile(test_mine=TESTS)
    listed = inner("--collect-only", "-q", "test_mine.py").outlines
    ids = [line.partition("[")[2] for line in listed if "every_open" in line]
    assert ids == ["diode-open@steady]", "diode-short@steady]"]
    (repository / "bad.toml").write_text("stage = 1\n")
    for said, words in (
        (
            '@pytest.mark.fault_cases("my_lamp.toml", like="diode-opn@steady")',
            "*diode-open@steady*",
        ),
        ('@pytest.mark.fault_cases("bad.toml")', "bad.toml:1: stage*"),
        ('@pytest.mark.fault_cases("my_lamp.toml", "*", "*")', "*fault_cases*"),
        ("", "fault_case: of which build? *"),
    ):
        pytester.makepyfile(test_mine=f"import pytest\n{said}\ndef test_it(fault_case): pass\n")
        done = inner("test_mine.py")
        done.assert_outcomes(errors=1)
        done.stdout.fnmatch_lines([words])
        done.stdout.no_fnmatch_line("*Traceback*")
        done.stdout.no_fnmatch_line("*pytest_plugin.py*")


def test_the_cases_of_a_lamp_that_never_lights_are_errors_with_the_reason(
    pytester: pytest.Pytester, inner: Inner
) -> None:
    write(pytester.path / "dark.toml", {"stage.overshoot_pct": "30"}, "gel_viewer")
    pytester.makepyfile(
        test_mine="""
        import pytest

        @pytest.mark.fault_cases("dark.toml", like="diode-open@steady")
        def test_it(fault_case):
            pass
        """
    )
    done = inner()
    done.assert_outcomes(errors=1)
    done.stdout.fnmatch_lines(["dark.toml: diode-open@steady: no light to inject faults into: *"])
    done.stdout.no_re_match_line(r"\S*(lamp|pytest_plugin)\.py:\d+")


def test_a_bad_build_fails_the_test_that_opens_it_in_one_line_a_mistake(
    pytester: pytest.Pytester, inner: Inner
) -> None:
    pytester.makepyfile(test_mine='def test_it(lamp):\n    lamp("./bad.toml")\n')
    (pytester.path / "bad.toml").write_text("stage = 1\n")
    done = inner()
    done.assert_outcomes(failed=1)
    done.stdout.fnmatch_lines(["bad.toml:1: stage*"])
    done.stdout.no_fnmatch_line("*pytest_plugin.py*")
