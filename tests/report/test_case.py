"""One case on the real engine: told in order, drawn, written, judged by its exit code."""

import csv
import dataclasses
import io
import json
from collections.abc import Callable
from pathlib import Path
from xml.etree import ElementTree

import matplotlib.image as mpimg
import numpy as np
import pytest
from matplotlib.colors import to_rgb

from diodewright.build import Build, load
from diodewright.derive import criteria, settings
from diodewright.faults import by_id
from diodewright.rehearse import CaseRun, Stand, UnknownCase, rehearse, run_case, snapshots
from diodewright.report import screen_case
from diodewright.report.drawing import COLOURS
from diodewright.report.figure_case import case_figure, case_picture, shown_ms
from diodewright.report.files import CannotWrite, write_report
from diodewright.report.reading import read_document
from diodewright.report.screen import show_case
from diodewright.report.screen_case import limits_A
from diodewright.report.story import case_story, laid_out
from diodewright.report.timeline import seen_by_law, strike_s, timeline
from diodewright.sim import Trace, compiled

RunOf = Callable[[str], CaseRun]


@pytest.fixture(scope="module")
def build() -> Build:
    return load("smoke_tunnel")


@pytest.fixture(scope="module")
def taken(build: Build) -> dict[str, Stand]:
    return snapshots(build, compiled(), 1, ("soft-start", "steady"))


@pytest.fixture(scope="module")
def run_of(build: Build, taken: dict[str, Stand]) -> RunOf:
    return lambda fault: run_case(build, taken["steady"], by_id(fault), "steady", 1, traced=True)


@pytest.fixture
def _at_once(taken: dict[str, Stand], monkeypatch: pytest.MonkeyPatch) -> None:
    """Branch from snapshots that were taken before: the same ones, only sooner."""
    monkeypatch.setattr(screen_case, "snapshots", lambda *_: taken)


def test_a_case_writes_trace_and_figure_and_returns_zero_where_it_survives(
    build: Build, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    out = tmp_path / "new"
    assert show_case(build, "diode-short@steady", 1, out, False) == 0
    names = sorted(each.name for each in out.iterdir())
    assert names == [f"diode-short@steady.{kind}" for kind in ("csv", "npz", "svg")]
    trace = Trace.load_npz(out / "diode-short@steady.npz")
    assert trace.provenance["case"] == "diode-short@steady"
    with (out / "diode-short@steady.csv").open(encoding="utf-8") as file:
        assert json.loads(next(file)[2:])["provenance"]["seed"] == 1
        assert len(list(csv.DictReader(file))) == len(trace)
    assert ElementTree.parse(out / "diode-short@steady.svg").getroot().tag.endswith("svg")
    text = capsys.readouterr().out
    assert text.startswith("SURVIVES  diode-short@steady on smoke_tunnel")
    for word in ("broken", "law saw", "acted", "tightest", "limits", "written", "next"):
        assert f"\n{word}" in text
    assert "of 2 A" in text
    assert all(str(out / name) in text for name in names)


@pytest.mark.usefixtures("_at_once")
def test_the_json_of_a_case_is_one_document(
    build: Build, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert show_case(build, "stage-full-on@soft-start", 1, tmp_path, True) == 0
    told = json.loads(capsys.readouterr().out)
    assert told["format"] == 1
    assert told["verdict"] == "HOLDS"
    assert told["finding"]["peak_current_A"] < 2.0
    assert told["provenance"]["law_hash"] == compiled().law_hash
    assert all(Path(name).exists() for name in told["files"])


@pytest.mark.usefixtures("_at_once")
def test_a_case_that_kills_the_diode_returns_one_and_says_why_and_what_mends_it(
    build: Build, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """A stage stuck full on climbs past a diode whose absolute maximum is below the trip."""
    frail = dataclasses.replace(build, diode=dataclasses.replace(build.diode, absolute_A=1.7))
    assert show_case(frail, "stage-full-on@steady", 1, tmp_path, False) == 1
    flat = " ".join(capsys.readouterr().out.split())
    assert flat.startswith("DOES NOT SURVIVE stage-full-on@steady")
    assert "why true peak diode current stays below the absolute maximum: got 1.8" in flat
    mend = next(row.mend for row in criteria(frail) if row.id == "diode-current")
    assert f"mend {mend}" in flat
    assert "% beyond" in flat


def test_a_lamp_that_never_lights_is_a_failure_without_files(
    build: Build,
    tmp_path: Path,
    capsys: pytest.CaptureFixture[str],
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    from diodewright.rehearse import NoHealthyStart

    def never(*_: object) -> None:
        raise NoHealthyStart("no light to inject faults into: indicator")

    monkeypatch.setattr(screen_case, "snapshots", never)
    assert show_case(build, "diode-open@steady", 1, tmp_path, False) == 1
    assert "FAILS (exit 1): no light" in capsys.readouterr().out
    assert show_case(build, "diode-open@steady", 1, tmp_path, True) == 1
    assert json.loads(capsys.readouterr().out)["verdict"] == "FAILS"
    assert list(tmp_path.iterdir()) == []


@pytest.mark.usefixtures("_at_once")
def test_unknown_cases_and_places_that_cannot_be_written_are_refused(
    build: Build, tmp_path: Path
) -> None:
    with pytest.raises(UnknownCase, match="diode-open"):
        show_case(build, "diode-opn@steady", 1, tmp_path, False)
    (tmp_path / "file").write_text("mine")
    with pytest.raises(CannotWrite, match="file"):
        show_case(build, "diode-open@steady", 1, tmp_path / "file", False)


def test_the_law_latches_a_short_when_its_count_is_full(build: Build, run_of: RunOf) -> None:
    """The row latches on its n-th tick in a row: that many milliseconds after the fault."""
    told = {moment.text: moment.at_ms for moment in timeline(run_of("diode-short"))}
    first = next(at for text, at in told.items() if text.startswith("law suspects: short"))
    count = settings(build)["count_short"]
    assert told["law latches: short"] - first == pytest.approx(count - 1)
    assert told["dark after 3 ms"] == pytest.approx(3.0)
    assert told["diode-short"] == 0


def test_what_the_law_saw_is_beyond_the_limit_that_it_names(build: Build, run_of: RunOf) -> None:
    why, sensed = seen_by_law(run_of("diode-short"), settings(build))
    limit_V = settings(build)["short_mV"] / 1000
    assert why.startswith("short: current with too little voltage: ")
    assert float(why.split(": ")[-1].split()[0]) < limit_V
    assert why.endswith(f"limit {limit_V:.3g} V")
    assert "current 1.5 A" in sensed


@pytest.mark.parametrize("fault", ["stage-full-on", "diode-short", "pack-cold"])
def test_a_timeline_is_in_order_and_tells_the_release_once(run_of: RunOf, fault: str) -> None:
    told = timeline(run_of(fault))
    assert [moment.at_ms for moment in told] == sorted(moment.at_ms for moment in told)
    assert [moment.text for moment in told].count("trigger released") == 1
    assert [moment.text for moment in told].count(fault) == 1


def test_a_law_that_latches_nothing_saw_nothing(run_of: RunOf) -> None:
    assert seen_by_law(run_of("pack-cold"), {}) == ("nothing that latches",)


def test_a_case_figure_spans_the_fault_in_milliseconds(run_of: RunOf) -> None:
    run = run_of("diode-short")
    assert run.trace is not None
    text = case_figure(run.trace, strike_s(run.trace, "diode-short"), 3.0, [])
    words = "".join(ElementTree.fromstring(text).itertext())
    for label in ("current [A]", "light [W]", "voltage [V]", "mode [name]"):
        assert label in words
    assert "time from the fault [ms]" in words
    assert "temperature" not in words
    assert text == case_figure(run.trace, strike_s(run.trace, "diode-short"), 3.0, [])


def test_a_case_as_a_picture_is_the_same_figure_to_the_byte(run_of: RunOf) -> None:
    run = run_of("diode-short")
    assert run.trace is not None
    zero_s = strike_s(run.trace, "diode-short")
    picture = case_picture(run.trace, zero_s, 3.0, [])
    assert picture == case_picture(run.trace, zero_s, 3.0, [])
    image = mpimg.imread(io.BytesIO(picture))
    figure = ElementTree.fromstring(case_figure(run.trace, zero_s, 3.0, []))
    width_pt, height_pt = (float(figure.attrib[side][:-2]) for side in ("width", "height"))
    assert image.shape[1] / image.shape[0] == pytest.approx(width_pt / height_pt, rel=0.01)
    for colour in ("blue", "green", "plum"):
        drawn = np.abs(image[..., :3] - to_rgb(COLOURS[colour])).max(axis=-1) < 0.01
        assert drawn.any(), colour
    assert picture != case_picture(run.trace, zero_s, 3.0, [], "the press")


def test_the_name_of_the_upper_limit_stands_above_that_of_the_lower(build: Build) -> None:
    above, below = limits_A(build, 2.2)
    assert (above.value, below.name) == (2.2, "absolute maximum 2 A")
    above, below = limits_A(build, 1.6)
    assert (above.name, below.value) == ("absolute maximum 2 A", 1.6)
    assert [limit.value for limit in limits_A(build, 0.0)] == [2.0]


def test_a_story_goes_from_the_part_that_broke_to_what_was_exceeded(
    build: Build, run_of: RunOf
) -> None:
    run = run_of("diode-short")
    labels = [*dict.fromkeys(label for label, _ in case_story(build, by_id("diode-short"), run))]
    assert labels == ["broken", "expected", "law saw", "acted", "when", "tightest"]
    # what was expected and did not happen is told where no criterion tells it
    finding = dataclasses.replace(run.finding, survives=False, why="expected dark, still lit")
    late = case_story(build, by_id("diode-short"), dataclasses.replace(run, finding=finding))
    assert ("missed", "expected dark, still lit") in late


def test_a_story_is_laid_out_under_its_labels_and_breaks_no_path() -> None:
    path = "a_folder/" + "x" * 120 + ".png"
    text = laid_out([("when", "one"), ("when", "two"), ("figure", path), ("mend", "word " * 40)])
    lines = text.splitlines()
    assert lines[:3] == ["when      one", "          two", f"figure    {path}"]
    assert len(lines) == 6
    assert all(len(line) <= 100 for line in lines if path not in line)


def test_a_slow_case_is_drawn_in_seconds_with_its_temperatures(run_of: RunOf) -> None:
    run = run_of("mount-ntc-detached")
    assert run.trace is not None
    zero_s = strike_s(run.trace, "mount-ntc-detached")
    words = case_figure(run.trace, zero_s, run.finding.time_to_dark_ms, [])
    assert "time from the fault [s]" in words
    assert "temperature [°C]" in words


@pytest.mark.parametrize(
    ("time_to_dark_ms", "end_ms"), [(0.0, 40.0), (50.0, 150.0), (900.0, 2000.0), (None, 2000.0)]
)
def test_a_case_is_drawn_well_past_its_darkness(
    time_to_dark_ms: float | None, end_ms: float
) -> None:
    assert shown_ms(time_to_dark_ms, 2000.0) == end_ms


def test_a_trace_without_the_fault_is_refused() -> None:
    with pytest.raises(ValueError, match="no event diode-open"):
        strike_s(Trace({"time_s": np.zeros(2)}), "diode-open")


def test_todays_rehearsal_makes_a_page_and_reads_back(tmp_path: Path) -> None:
    done = rehearse(load("smoke_tunnel"), 3, "use")
    page = write_report(done, tmp_path)
    assert read_document(tmp_path / "rehearsal.json") == done
    assert "only use was rehearsed" in page.read_text("utf-8")
