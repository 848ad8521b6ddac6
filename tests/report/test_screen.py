"""The screens: a verdict on one screen, the same in colour and without."""

import dataclasses
import io
import json
import re
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from diodewright.build import BuildErrors, parts
from diodewright.faults import CATALOGUE
from diodewright.rehearse import MOMENTS, Rehearsal
from diodewright.rehearse.leaves_out import LEAVES_OUT, subject
from diodewright.report import screen

Screen = Callable[..., str]
Partial = Callable[[str], Rehearsal]


@pytest.fixture
def shown(capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch) -> Screen:
    """Return a function that gives what a screen prints at a width."""

    def show(print_it: Callable[[], object], columns: int = 100, **environment: str) -> str:
        monkeypatch.setenv("COLUMNS", str(columns))
        for name, value in environment.items():
            monkeypatch.setenv(name, value)
        print_it()
        out, err = capsys.readouterr()
        assert err == ""
        return out

    return show


def _rehearsal(done: Rehearsal, build: str = "smoke_tunnel") -> Callable[[], None]:
    return lambda: screen.show_rehearsal(done, build, None)


def _commands(text: str) -> list[str]:
    return [line.strip() for line in text.splitlines() if line.strip().startswith("diodewright ")]


def test_the_first_screen_fits_forty_lines_of_a_hundred_columns(
    shown: Screen, holding: Rehearsal, failing: Rehearsal
) -> None:
    for done in (holding, failing):
        lines = shown(_rehearsal(done)).splitlines()
        assert len(lines) <= 42
        assert max(len(line) for line in lines) <= 100


def test_at_eighty_columns_only_commands_are_longer(shown: Screen, failing: Rehearsal) -> None:
    for line in shown(_rehearsal(failing, "a/long/way/off/the/path.toml"), 80).splitlines():
        assert len(line) <= 80 or line.strip().startswith("diodewright ")


def test_sections_come_in_the_order_of_the_verdict(shown: Screen, holding: Rehearsal) -> None:
    lines = shown(_rehearsal(holding)).splitlines()
    assert lines[0].startswith("HOLDS  smoke_tunnel: ")
    assert lines[1] == f"caution  {holding.hazard['title']}"
    labels = [line.split()[0] for line in lines[1:] if not line.startswith(" ")]
    assert labels == (
        "caution size use proof faults assumed limits verdict report next".split()  # noqa: SIM905
    )


def test_transients_stand_behind_the_faults_and_a_broken_one_in_full(
    shown: Screen, holding: Rehearsal
) -> None:
    row = {**holding.findings[0], "id": "edge-trip", "meaning": "a trip's true peak"}
    broken = {**row, "id": "edge-reverse", "status": "fails", "value": 3.0, "limit": 2.0}
    broken |= {"unit": "V", "margin": -0.5, "meaning": "the ring stays small", "mend": "a diode"}
    rows = [row, broken]
    told = dataclasses.replace(holding, edges=rows, verdict="FAILS", reasons=["edge: broken"])
    lines = shown(_rehearsal(told)).splitlines()
    labels = [line.split()[0] for line in lines[1:] if not line.startswith(" ")]
    assert labels[labels.index("faults") + 1] == "edges"
    text = "\n".join(lines)
    assert "edges    1 of 2 transients hold" in text
    assert "FAILS: the ring stays small: 3 V, at most 2" in text


def test_a_holding_screen_shows_the_tightest_case_and_its_command(
    shown: Screen, holding: Rehearsal
) -> None:
    text = shown(_rehearsal(holding))
    margins = {f"{c['id']}@{c['at']}": c["tightest"]["margin"] for c in holding.faults}
    tightest = min(margins, key=lambda name: margins[name])
    assert f"diodewright case smoke_tunnel {tightest}" in _commands(text)
    assert f"{100 * margins[tightest]:.1f} % left" in text
    assert f"{len(holding.faults)} of {len(holding.faults)} cases survive" in text
    assert "verdict  HOLDS (exit 0): " in text
    assert "103 of 103 obligations proved for all settings (z3 4.13.0.0)" in text
    assert f"assumed, not yours: {len(holding.assumed)} values, not weighed (listed in" in text


def test_assumed_values_that_matter_are_counted_and_named_those_untold_counted(
    shown: Screen, weighed: Rehearsal
) -> None:
    lines = shown(_rehearsal(weighed)).splitlines()
    (place,) = [i for i, line in enumerate(lines) if line.startswith("assumed ")]
    counted = "5 values, 1 matter, 2 could not be told"
    assert lines[place].split(None, 1)[1] == f"assumed, not yours: {counted} (listed in the report)"
    assert lines[place + 1].strip() == "what matters: pack.cell_full_V (light)"
    assert lines[place + 2].startswith("limits ")
    assert lines[0].startswith("HOLDS "), "the verdict does not change by it"


def test_the_screen_names_everything_that_the_models_leave_out(
    shown: Screen, holding: Rehearsal
) -> None:
    now = dataclasses.replace(holding, leaves_out=list(LEAVES_OUT))
    text = shown(_rehearsal(now))
    flat = " ".join(text.split())
    assert len(text.splitlines()) <= 42
    for line in LEAVES_OUT:
        assert subject(line) in flat
        assert len(subject(line)) < 60 and len(line) > len(subject(line)) + 20
    none = shown(_rehearsal(dataclasses.replace(holding, leaves_out=[])))
    assert not any(line.startswith("limits ") for line in none.splitlines())


def test_a_scenario_is_named_with_its_steps_in_place_of_the_one_use(
    shown: Screen, described: Rehearsal
) -> None:
    flat = " ".join(shown(_rehearsal(described)).split())
    assert "0 s trigger pressed, 90.5 s fault air-blocked, 700 s end" in flat
    assert "two bursts: 700 s: lit" in flat
    assert "light of a whole first minute not asked for" in flat
    assert "time to heat's cutback not seen" in flat
    assert "first latched: heat" in flat
    assert "rested lamp" not in flat


def test_a_case_that_does_not_survive_is_listed_with_why_and_its_command(
    shown: Screen, failing: Rehearsal
) -> None:
    text = shown(_rehearsal(failing, "my lamps/tunnel.toml"))
    flat = " ".join(text.split())
    assert text.startswith("FAILS  ")
    assert (
        "FAILS X stage-full-on@steady: true peak diode current stays below the absolute maximum: "
        "got 3.1 A, limit 2 A (dark at once)"
    ) in flat
    assert f"{len(failing.faults) - 1} of {len(failing.faults)} cases survive" in flat
    assert "FAILS: light at the end of the first minute: 0.74999 W, at least 0.75" in flat
    assert "verdict FAILS (exit 1): stage-full-on@steady:" in flat
    assert "and 1 more above and in the report" in flat
    assert "diodewright case 'my lamps/tunnel.toml' stage-full-on@steady --seed 7" in _commands(
        text
    )


@pytest.mark.parametrize(("only", "absent"), [("use", "faults"), ("faults", "use")])
def test_a_part_left_out_is_said_and_incomplete(
    shown: Screen, partial: Partial, only: str, absent: str
) -> None:
    text = shown(_rehearsal(partial(only)))
    assert f"{absent:<9}not rehearsed" in text.splitlines()
    assert f"verdict  INCOMPLETE (exit 3): only {only} was rehearsed" in text
    assert "HOLDS" not in text


def test_the_report_is_named_where_one_was_written(shown: Screen, holding: Rehearsal) -> None:
    page = Path("out") / "report.html"
    text = shown(lambda: screen.show_rehearsal(holding, "smoke_tunnel", page))
    assert f"report   {page}" in text.splitlines()
    assert "--out" not in text


def test_a_latch_with_nothing_broken_is_said_loudly(shown: Screen, values: dict[str, Any]) -> None:
    values["use"] |= {"cause": "follow", "lit_s": 0.0}
    text = shown(_rehearsal(Rehearsal.from_dict(values)))
    assert "NEVER LIT" in text
    assert "LATCHED with nothing broken: follow" in text


def test_colour_adds_no_word_and_carries_no_meaning(shown: Screen, failing: Rehearsal) -> None:
    plain = shown(_rehearsal(failing))
    coloured = shown(_rehearsal(failing), FORCE_COLOR="1", TERM="xterm-256color")
    assert "\x1b[" not in plain
    assert "\x1b[" in coloured
    assert re.sub(r"\x1b\[[0-9;]*m", "", coloured) == plain


def test_a_terminal_without_our_characters_gets_marks_not_a_crash(
    holding: Rehearsal, monkeypatch: pytest.MonkeyPatch
) -> None:
    ascii_out = io.TextIOWrapper(io.BytesIO(), encoding="ascii")
    monkeypatch.setattr(sys, "stdout", ascii_out)
    screen.show_rehearsal(holding, "smoke_tunnel", None)
    ascii_out.flush()
    raw = ascii_out.buffer
    assert isinstance(raw, io.BytesIO)
    assert b"verdict  HOLDS (exit 0)" in raw.getvalue()


def test_progress_says_nothing_in_a_pipe_even_where_colour_is_forced(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("FORCE_COLOR", "1")
    with screen.progress() as say:
        say("diode-open@steady")
    assert capsys.readouterr() == ("", "")


class _Terminal(io.StringIO):
    def isatty(self) -> bool:
        return True


def test_progress_shows_one_line_on_a_terminals_stderr_and_clears_it(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    terminal = _Terminal()
    monkeypatch.setenv("TERM", "xterm")
    monkeypatch.setattr(sys, "stderr", terminal)
    with screen.progress() as say:
        say("diode-open@steady")
    text = terminal.getvalue()
    assert "diode-open@steady" in text
    assert text.count("\n") <= 1
    assert "\x1b[2K" in text.rpartition("diode-open@steady")[2]
    assert capsys.readouterr().out == ""


@pytest.mark.parametrize("columns", [80, 120])
def test_parts_lists_every_part_by_kind_with_its_values_and_their_sources(
    shown: Screen, columns: int
) -> None:
    text = shown(lambda: screen.show_parts(False), columns)
    lines = text.splitlines()
    assert max(map(len, lines)) <= columns
    heads = [line for line in lines if line.endswith("part") and ": " in line]
    assert heads == [
        "Cells: pack.part",
        "MOSFETs: cutoffs.a_part",
        "Diodes: diode.part",
        "Thermistors: sensors.ntc_part",
    ]
    flat = " ".join(text.split())
    for part in parts():
        (row,) = [line for line in lines if line.startswith(f"{part.name} ")]
        key = {"pack.part": "capacity_Ah", "cutoffs.a_part": "a_rds_mohm"}.get(part.key)
        if key:
            assert f" {part.value(key).value:g} " in row
        mark = re.search(r"\[(\d+)\]", row)[0]
        assert f"{mark} " in flat
        assert (part.meaning.split()[0] in row.split()) or columns < 100
    # the figures that a data sheet of a 450 nm diode has, and the marks of their sources
    assert re.search(r"laser_blue_450_1W6 +\[\d+\] +450 +1\.2 +4\.8 \[\d+\] +1\.6 \[", text)
    for source in {value.source for value in parts()[0].values} - {"by name"}:
        assert source in flat


def test_every_mark_of_the_list_of_parts_leads_to_one_source(shown: Screen) -> None:
    for block in shown(lambda: screen.show_parts(False), 120).split("\n\n"):
        rows = [line for line in block.splitlines() if not line.startswith("[")]
        used = {mark for line in rows for mark in re.findall(r"\[\d+\]", line)}
        told = [line.split()[0] for line in block.splitlines() if line.startswith("[")]
        assert sorted(used) == sorted(told)


def test_one_part_is_shown_with_all_values_each_with_its_source(shown: Screen) -> None:
    for part in parts():
        flat = " ".join(shown(lambda part=part: screen.show_parts(False, part.name), 200).split())
        assert f"{part.name}: {part.meaning}" in flat
        assert flat.endswith(f'{part.key.partition(".")[2]} = "{part.name}"')
        for value in part.values:
            assert value.key in flat
            assert value.source in flat
    points = shown(lambda: screen.show_parts(False, "laser_blue_450_1W6"), 200)
    assert "[0.2, 4.15], [0.6, 4.45], [1.2, 4.8], [1.5, 4.96]" in points


def test_parts_as_a_document_hold_values_and_sources(shown: Screen) -> None:
    listed = json.loads(shown(lambda: screen.show_parts(True)))
    assert listed["format"] == 1
    assert [part["name"] for part in listed["parts"]] == [part.name for part in parts()]
    assert all(value["source"] for part in listed["parts"] for value in part["values"])
    (one,) = json.loads(shown(lambda: screen.show_parts(True, "ntc_10k")))["parts"]
    assert one["name"] == "ntc_10k"


def test_a_part_that_is_not_there_is_refused_with_the_nearest_name() -> None:
    with pytest.raises(BuildErrors, match=r"ntc_10: no such part; did you mean ntc_10k\?"):
        screen.show_parts(False, "ntc_10")


def test_a_file_of_own_parts_is_listed_or_refused_whole(shown: Screen, tmp_path: Path) -> None:
    file = tmp_path / "mine.toml"
    text = '[[part]]\nname = "drawer"\nkey = "pack.part"\nmeaning = "a cell"\nsource = "measured"\n'
    file.write_text(text + "capacity_Ah = 2.9\n", encoding="utf-8")
    listed = shown(lambda: screen.show_parts(False, str(file)))
    assert re.search(r"drawer +\[1\] +2.9 +- +- +-", listed)
    assert "[1]      measured" in listed
    file.write_text(text + "capacity_mAh = 2900\n", encoding="utf-8")
    with pytest.raises(BuildErrors, match=r"mine\.toml:6: .*write capacity_Ah = 2\.9"):
        screen.show_parts(False, str(file))


def test_faults_lists_every_fault_and_moment(shown: Screen) -> None:
    for columns in (60, 80, 100):
        text = shown(lambda: screen.show_faults(False), columns)
        firsts = [line.split(" ")[0] for line in text.splitlines()]
        assert [name for name in firsts if name in {f.id for f in CATALOGUE}] == [
            fault.id for fault in CATALOGUE
        ]
        assert all(
            f"{name}: {meaning}" in " ".join(text.split()) for name, meaning in MOMENTS.items()
        )
    listed = json.loads(shown(lambda: screen.show_faults(True)))
    assert list(listed["moments"]) == list(MOMENTS)
    assert [row["id"] for row in listed["faults"]] == [fault.id for fault in CATALOGUE]
    assert {row["allowed_ms"] for row in listed["faults"]} == {f.allowed_ms for f in CATALOGUE}
