"""The faults as the page shows them: a map of letters, tables of lost and tight cases, curves."""

import copy
from collections.abc import Callable
from typing import Any, cast

import pytest
from matplotlib.figure import Figure as Drawn

from diodewright.faults import MOMENTS, by_id
from diodewright.judge import CaseFinding, Finding
from diodewright.rehearse import Rehearsal, Stand
from diodewright.rehearse.faulted import Faulted
from diodewright.report.facts import CODES, letter, moment_of
from diodewright.report.fault_map import NO_CASE, fault_map
from diodewright.report.figure_closest import closest
from diodewright.report.shape import Case, Document, document_of
from report_page import read

Values = dict[str, Any]
PageOf = Callable[[Rehearsal], str]

#: Reaction and verdict of a case -> its letter.
LETTERS = {
    ("law dims", "law"): "D",
    ("law: short", "law"): "L",
    ("hardware: comparator latch", "hardware"): "H",
    ("controls", "harmless"): "C",
    ("none needed", "harmless"): "-",
    ("none needed", "latent"): "?",
    ("law: short", "latent"): "?",
    ("law: short", "missed"): "M",
    ("hardware: comparator latch", "damaged"): "X",
    # documents of before there were verdicts
    ("law: short", ""): "L",
}


def _struck(values: Values, at: str, reaction: str, verdict: str, **more: object) -> Values:
    """Return a case of the trimmed document at another moment, with another end."""
    case = copy.deepcopy(values["faults"][0])
    survives = verdict not in ("missed", "damaged")
    return (
        case
        | {
            "id": "diode-open",
            "at": at,
            "reaction": reaction,
            "verdict": verdict,
            "survives": survives,
        }
        | more
    )


@pytest.fixture
def struck(values: Values) -> Rehearsal:
    """Return today's form: 24 moments, one not reached, verdicts, pairs, what hardware is for."""
    values["moments"] = {
        at: {"meaning": said, "reached": at != "pack-cutback"} for at, said in MOMENTS.items()
    }
    ends = list(LETTERS)[:-1]
    places = [at for at in MOMENTS if at != "pack-cutback"]
    values["faults"] += [
        _struck(values, at, *end, id="rail-dip", why=f"came to its end at {at}")
        for at, end in zip(places, ends, strict=False)
    ]
    values["faults"] += [
        _struck(values, "steady~20", "law: short", "law"),
        _struck(values, "steady+3", "law: short", "missed", why="dark, but late"),
    ]
    values["pairs"] = [
        _struck(
            values, "steady", "none needed", "damaged", id="latch-dead,diode-open", why="molten"
        )
    ]
    values["bereft"] = [
        _struck(values, "steady", "none needed", "damaged", without="comparator", why="burnt up")
    ]
    known = {"id": "inductor-short", "part": "inductor", "happens": "no inductance", "by": ""}
    values["unsaved"] = [known]
    values |= {"verdict": "FAILS", "reasons": ["latch-dead,diode-open@steady: molten"]}
    return Rehearsal.from_dict(values)


@pytest.mark.parametrize(("end", "expected"), LETTERS.items())
def test_a_case_has_one_letter_that_says_who_acted_or_what_failed(
    values: Values, end: tuple[str, str], expected: str
) -> None:
    values["faults"] = [_struck(values, "steady", *end)]
    values |= {"verdict": "FAILS", "reasons": ["for this test"]}
    (case,) = document_of(Rehearsal.from_dict(values)).faults
    assert letter(case) == expected
    assert expected in CODES


def test_a_case_that_does_not_survive_never_shows_who_acted(failing: Rehearsal) -> None:
    lost = [case for case in document_of(failing).faults if not case.survives]
    assert [(case.verdict, letter(case)) for case in lost] == [("", "X")]


@pytest.mark.parametrize("at", ["soft-start-1", "soft-start-1+3", "soft-start-1~20"])
def test_phases_and_mendings_belong_to_their_moment(values: Values, at: str) -> None:
    values["faults"] = [_struck(values, at, "law dims", "law")]
    (case,) = document_of(Rehearsal.from_dict(values)).faults
    assert moment_of(case) == "soft-start-1"


def _held(document: Document) -> dict[tuple[str, str], list[Case]]:
    held: dict[tuple[str, str], list[Case]] = {}
    for case in document.faults:
        held.setdefault((case.id, moment_of(case)), []).append(case)
    return held


def test_every_case_is_counted_in_the_cell_of_its_fault_and_moment(struck: Rehearsal) -> None:
    document = document_of(struck)
    held = _held(document)
    found = fault_map(document)
    assert found.moments == tuple(MOMENTS)
    assert [name for name, _ in found.rows] == list(dict.fromkeys(c.id for c in document.faults))
    seen = 0
    for name, cells in found.rows:
        for at, cell in zip(found.moments, cells, strict=True):
            cases = held.get((name, at), [])
            seen += cell.cases
            assert cell.cases == len(cases)
            assert (cell.worst in cases) == bool(cases)
            assert cell.letter == (letter(cell.worst) if cell.worst else NO_CASE)
    assert seen == len(document.faults)


def test_a_cell_of_several_cases_shows_the_worst(struck: Rehearsal) -> None:
    rows = dict(fault_map(document_of(struck)).rows)
    cell = rows["diode-open"][list(MOMENTS).index("steady")]
    assert (cell.letter, cell.cases) == ("M", 3)
    assert cell.worst is not None and cell.worst.at == "steady+3"


def test_a_document_without_moments_or_cases_is_mapped_by_what_it_holds(
    holding: Rehearsal, partial: Callable[[str], Rehearsal]
) -> None:
    assert fault_map(document_of(holding)).moments == ("soft-start", "steady")
    assert fault_map(document_of(partial("use"))).rows == ()


def test_the_page_shows_every_cell_under_its_moment_by_its_fault(
    page_of: PageOf, struck: Rehearsal
) -> None:
    """Letters alone tell it: nothing rests on a colour."""
    (table,) = read(page_of(struck)).tables("Map of faults: each fault at each moment")
    head, *rows = table
    found = fault_map(document_of(struck))
    assert head == ["fault", *MOMENTS]
    assert rows == [[name, *(cell.letter for cell in cells)] for name, cells in found.rows]
    assert {letter for row in rows for letter in row[1:]} == {*CODES, NO_CASE}


def test_the_map_s_heads_say_which_way_they_lead(page_of: PageOf, struck: Rehearsal) -> None:
    page = page_of(struck)
    table = page.partition('<table class="map">')[2].partition("</table>")[0]
    assert table.count('<th scope="col"') == 1 + len(MOMENTS)
    assert table.count('<th scope="row"') == len(fault_map(document_of(struck)).rows)
    assert "<th>" not in table


def test_the_legend_explains_every_letter_and_the_empty_cell(
    page_of: PageOf, struck: Rehearsal
) -> None:
    text = " ".join(" ".join(read(page_of(struck)).text).split())
    for short, meaning in CODES.items():
        assert f"{short} {meaning}" in text
    assert f"{NO_CASE} no case" in text
    assert "This light never reaches: pack-cutback" in text


def test_every_case_and_pair_that_fails_is_among_the_lost_with_its_why(
    page_of: PageOf, struck: Rehearsal
) -> None:
    (table,) = read(page_of(struck)).tables("Cases that do not survive")
    rows = {row[0]: row[1:] for row in table[1:]}
    lost = [case for case in struck.faults + struck.pairs if not case["survives"]]
    assert len(rows) == len(lost) == 4
    for case in lost:
        cells = rows[f"{case['id']}@{case['at']}"]
        assert cells[0] == f"FAILS {'X' if case['verdict'] == 'damaged' else 'M'}"
        assert cells[2] == f"{case['peak_current_A']:.2f}"
        assert cells[-1].startswith(case["reaction"]) and case["why"] in cells[-1]
    damaged = [row[1] == "FAILS X" for row in table[1:]]
    assert damaged == sorted(damaged, reverse=True), "damage stands first"


def test_the_tightest_case_of_each_fault_stands_there_least_margin_first(
    page_of: PageOf, struck: Rehearsal
) -> None:
    (table,) = read(page_of(struck)).tables("The tightest cases")
    least: dict[str, float] = {}
    for case in struck.faults:
        if case["survives"]:
            margin = case["tightest"]["margin"]
            least[case["id"]] = min(margin, least.get(case["id"], margin))
    shown = [(row[0].partition("@")[0], row[5]) for row in table[1:]]
    assert dict(shown) == {name: f"{100 * margin:.1f}" for name, margin in least.items()}
    assert [float(margin) for _, margin in shown] == sorted(float(margin) for _, margin in shown)


def test_what_the_hardware_is_for_and_what_nothing_saves_from_are_told(
    page_of: PageOf, struck: Rehearsal
) -> None:
    reader = read(page_of(struck))
    (table,) = reader.tables("Without the part that acted")
    assert table[1] == ["diode-open", "comparator", "FAILS X", "burnt up"]
    text = " ".join(" ".join(reader.text).split())
    assert "inductor-short : inductor: no inductance." in text


NEAR = {
    "id": "diode-open",
    "at": "steady",
    "criterion": "diode-current",
    "limit": 2.0,
    "unit": "A",
    "peak": 1.9,
    "time_s": [-0.01, 0.0, 0.01, 0.02],
    "value": [1.5, 1.6, 1.9, 1.6],
    "drive_A": [1.5, 1.5, 1.4, 1.4],
}


@pytest.mark.parametrize(
    ("edit", "dark_ms", "at_ms"),
    [
        ({}, None, 10),
        ({}, 17.0, 10),
        # over within one step: no row of the curve shows it
        ({"value": [1.5, 0.0, 0.0, 0.0]}, 17.0, 17),
        ({"value": [9.0, 1.5, 1.6, 1.9]}, None, 20),
    ],
)
def test_the_cross_of_the_closest_stands_at_its_peak(
    values: Values,
    monkeypatch: pytest.MonkeyPatch,
    edit: Values,
    dark_ms: float | None,
    at_ms: float,
) -> None:
    seen: list[Drawn] = []
    save: Callable[..., None] = Drawn.savefig
    monkeypatch.setattr(Drawn, "savefig", lambda s, *a, **n: (save(s, *a, **n), seen.append(s)))
    values["faults"] = [_struck(values, "steady", "law: short", "law", time_to_dark_ms=dark_ms)]
    values["closest"] = [{**NEAR, **edit}, {**NEAR, "id": "junction", "unit": "degC"}]
    said = closest(document_of(Rehearsal.from_dict(values)))
    first, second = seen[0].axes
    lines = {str(line.get_label()): line for line in first.get_lines()}
    assert lines["_peak"].get_xydata().tolist() == [[pytest.approx(at_ms), 1.9]]  # type: ignore[union-attr]
    assert lines["diode-open@steady, A"].get_ydata().tolist() == {**NEAR, **edit}["value"]
    assert lines["_drive"].get_linestyle() == "--"
    assert first.get_ylabel() == "diode current [A]"
    assert "1.9 of 2 A" in first.get_title(loc="left")
    # a temperature is not drawn over what is asked of the stage
    assert "_drive" not in {line.get_label() for line in second.get_lines()}
    assert said is not None and "diode current [A]: diode-open@steady, A: from" in said


def test_no_closest_cases_no_figure(holding: Rehearsal) -> None:
    assert closest(document_of(holding)) is None


def _finding(at: str, survives: bool, why: str = "") -> CaseFinding:
    tight = Finding("junction", "holds", 90.0, 125.0, "degC", "at_most", 0.3, "junction", "")
    return CaseFinding(
        id="diode-open",
        at=at,
        level="engine",
        verdict="law" if survives else "damaged",
        reaction="law: open",
        cause="open",
        time_to_dark_ms=1.0,
        peak_current_A=1.0,
        peak_junction_degC=90.0,
        peak_light_W=0.5,
        survives=survives,
        why=why,
        tightest=tight,
    )


def test_what_was_broken_becomes_keys_of_the_document_that_the_report_reads(
    values: Values,
) -> None:
    known = {"id": "inductor-short", "part": "inductor", "happens": "no inductance", "by": ""}
    faulted = Faulted(
        cases=[_finding("steady", True)],
        pairs=[_finding("dark", False, "molten")],
        bereft=[("comparator", _finding("steady", False))],
        unsaved=[known],
        taken={"steady": cast("Stand", None)},
        closest=[NEAR],
    )
    told = faulted.as_dict()
    assert set(told) == {
        *("faults", "pairs", "bereft", "catalogue"),
        *("moments", "without", "closest", "unsaved"),
    }
    assert list(faulted.fails()) == ["diode-open@dark: molten"]
    values |= {"verdict": "FAILS", "reasons": list(faulted.fails())}
    document = document_of(Rehearsal.from_dict(values | told))
    (row,) = document.catalogue
    assert (row.id, row.by) == ("diode-open", by_id("diode-open").by)
    assert [at for at, moment in document.moments.items() if moment.reached] == ["steady"]
    assert list(document.moments) == list(MOMENTS)
    assert [case.without for case in document.bereft] == ["comparator"]
    assert document.faults[0].cause_words and document.faults[0].clears_by
    assert (document.pairs[0].verdict, document.closest[0].peak) == ("damaged", 1.9)


def test_where_nothing_was_broken_there_are_no_keys() -> None:
    assert Faulted(stopped=["no light to inject faults into"]).as_dict() == {}
