"""docs/serial.md says what the command table says today."""

from pathlib import Path

from diodedriver import grammar, status, words
from diodedriver.commands import ANY, COMMANDS, DARK

ROOT = Path(__file__).parents[2]


def test_the_page_names_every_command_and_every_fault_row() -> None:
    text = (ROOT / "docs" / "serial.md").read_text(encoding="utf-8")
    words_only = " ".join(text.split())
    missing = [row[0] for row in COMMANDS if f"| `{row[0]}` |" not in text]
    assert not missing
    assert not [row[0] for row in words.FAULTS if f"`{row[0]}` bit " not in words_only]


def test_every_row_has_its_five_columns_and_every_fault_row_its_bit() -> None:
    for _, parameters, when, act, does in COMMANDS:
        assert when in (ANY, DARK) and callable(act) and does
        assert all(len(parameter) == 6 for parameter in parameters)
    for row in COMMANDS:
        for word, _ in grammar.nodes(row[0]):
            assert word.startswith(grammar.short(word)), "a short form is the long one's beginning"
    assert [row[0] for row in words.FAULTS] == list(status.FAULT_BITS)
