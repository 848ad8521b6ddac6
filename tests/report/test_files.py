"""Documents read back, reports written: whole or not at all, refused in one line."""

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from diodewright.rehearse import Rehearsal
from diodewright.report.files import CannotWrite, make_folder, write_report, write_together
from diodewright.report.reading import BadDocument, read_document

Values = dict[str, Any]
Edit = Callable[[Values], object]


def test_a_report_made_again_from_its_document_is_the_same_to_the_byte(
    holding: Rehearsal, tmp_path: Path
) -> None:
    first = write_report(holding, tmp_path / "new" / "first")
    again = write_report(read_document(first.with_name("rehearsal.json")), tmp_path / "again")
    assert first.name == "report.html"
    names = ["card.html", "label.svg", "rehearsal.json", "report.html"]
    assert sorted(each.name for each in first.parent.iterdir()) == names
    for name in names:
        assert first.with_name(name).read_bytes() == again.with_name(name).read_bytes()
    assert first.with_name("rehearsal.json").read_text("utf-8") == holding.as_json()


def _drop(*path: str | int) -> Edit:
    def edit(values: Values) -> None:
        inner: Any = values
        for key in path[:-1]:
            inner = inner[key]
        del inner[path[-1]]

    return edit


def _put(value: object, *path: str | int) -> Edit:
    def edit(values: Values) -> None:
        inner: Any = values
        for key in path[:-1]:
            inner = inner[key]
        inner[path[-1]] = value

    return edit


@pytest.mark.parametrize(
    ("edit", "names"),
    [
        (_put(2, "format"), "format 2, expected 1"),
        (_drop("faults"), "faults"),
        (_put("MAYBE", "verdict"), "$.verdict"),
        (_drop("hazard", "title"), "title"),
        (_drop("size", 3, "unit"), "$.size[3]"),
        (_put("1.5", "findings", 0, "value"), "$.findings[0].value"),
        (_put("magic", "faults", 2, "reaction"), "$.faults[2].reaction"),
        (_drop("traces", "use", "pack_V"), "traces.use: no column pack_V"),
        (_drop("traces", "rise"), "traces.rise"),
        (_put([0.0, 1.0], "traces", "rise", "drive_A"), "traces.rise"),
        (_put(False, "faults", 1, "survives"), "verdict HOLDS, but diode-open@steady"),
        (_put("not judged", "findings", 4, "status"), "verdict HOLDS, but light"),
        (_put(["eyes"], "hazard", "breaches"), "verdict HOLDS, but eyes"),
        (_put("FAILS", "verdict"), "without a reason"),
    ],
)
def test_a_document_that_is_none_is_refused_in_one_line_that_names_the_place(
    values: Values, tmp_path: Path, edit: Edit, names: str
) -> None:
    edit(values)
    path = tmp_path / "odd.json"
    path.write_text(json.dumps(values), encoding="utf-8")
    with pytest.raises(BadDocument) as refusal:
        read_document(path)
    text = str(refusal.value)
    assert text.startswith(f"{path}: ")
    assert names in text
    assert "\n" not in text


@pytest.mark.parametrize(
    ("content", "names"),
    [
        (b"", "not JSON"),
        (b"{", "not JSON"),
        (b"[1]", "no object"),
        (b'{"format": 1, "seed": NaN}', "NaN is no number"),
        (b"\xff\xfe", "not UTF-8"),
        (b"[" * 100_000, "not JSON"),
        (b'{"format": 1}', "missing"),
    ],
)
def test_a_file_that_is_no_document_is_refused_in_one_line(
    tmp_path: Path, content: bytes, names: str
) -> None:
    path = tmp_path / "odd.json"
    path.write_bytes(content)
    with pytest.raises(BadDocument) as refusal:
        read_document(path)
    assert names in str(refusal.value)
    assert "\n" not in str(refusal.value)


def test_a_folder_or_nothing_is_refused_in_one_line(tmp_path: Path) -> None:
    with pytest.raises(BadDocument, match=r"is a folder; give the rehearsal\.json in it"):
        read_document(tmp_path)
    with pytest.raises(BadDocument, match="no such file"):
        read_document(tmp_path / "absent.json")


def test_a_place_that_cannot_be_written_is_refused_in_one_line(
    holding: Rehearsal, tmp_path: Path
) -> None:
    file = tmp_path / "file"
    file.write_text("mine")
    for out in (file, file / "below"):
        with pytest.raises(CannotWrite) as refusal:
            write_report(holding, out)
        assert str(out) in str(refusal.value)
        assert "\n" not in str(refusal.value)
    assert file.read_text() == "mine"


def test_files_are_written_all_or_none(tmp_path: Path) -> None:
    (tmp_path / "a.txt").write_text("old")

    def fails(path: Path) -> None:
        path.write_text("half")
        raise OSError(28, "No space left on device")

    with pytest.raises(CannotWrite, match="No space left"):
        write_together(tmp_path, {"a.txt": lambda path: path.write_text("new"), "b.txt": fails})
    assert [each.name for each in tmp_path.iterdir()] == ["a.txt"]
    assert (tmp_path / "a.txt").read_text() == "old"


def test_a_folder_in_a_files_place_stops_all_files(tmp_path: Path) -> None:
    (tmp_path / "b.txt").mkdir()
    with pytest.raises(CannotWrite, match=r"b\.txt: a folder stands"):
        write_together(
            tmp_path,
            {name: lambda path: path.write_text("new") for name in ("a.txt", "b.txt")},
        )
    assert [each.name for each in tmp_path.iterdir()] == ["b.txt"]


def test_a_file_that_cannot_take_its_place_brings_the_other_ones_back(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (tmp_path / "a.txt").write_text("old")
    move = Path.replace

    def second_fails(path: Path, target: Path) -> Path:
        if path.name == "c.txt":
            raise OSError(28, "No space left on device")
        return move(path, target)

    monkeypatch.setattr(Path, "replace", second_fails)
    writers = {name: lambda path: path.write_text("new") for name in ("a.txt", "b.txt", "c.txt")}
    with pytest.raises(CannotWrite, match="No space left"):
        write_together(tmp_path, writers)
    assert {each.name: each.read_text() for each in tmp_path.iterdir()} == {"a.txt": "old"}


def test_a_folder_is_tried_before_long_work_and_left_empty(tmp_path: Path) -> None:
    make_folder(tmp_path / "there" / "below")
    assert list((tmp_path / "there" / "below").iterdir()) == []
    with pytest.raises(CannotWrite, match="can't write there"):
        make_folder(Path("/proc"))  # nobody may write there, the superuser neither


@pytest.mark.parametrize(
    ("edit", "names"),
    [
        (_put("diode-open\n", "faults", 0, "tightest", "unit"), "$.faults[0].tightest.unit"),
        (_put(6, "traces", "use", "bound", 7), "traces.use.bound: 6 is no code; allowed 0 to 5"),
        (_put(0.5, "traces", "rise", "mode", 7), "traces.rise.mode: 0.5 is no code"),
        (_put(-99.0, "traces", "use", "time_s", 7), "traces.use: time_s does not rise"),
        (_put("junction", "findings", 0, "id"), "findings: 'junction' stands there twice"),
        (_put("steady", "faults", 0, "at"), "faults: 'diode-open@steady' stands there twice"),
    ],
)
def test_what_a_page_could_not_show_is_refused(
    values: Values, tmp_path: Path, edit: Edit, names: str
) -> None:
    edit(values)
    path = tmp_path / "odd.json"
    path.write_text(json.dumps(values), encoding="utf-8")
    with pytest.raises(BadDocument) as refusal:
        read_document(path)
    assert names in str(refusal.value)
    assert "\n" not in str(refusal.value)
