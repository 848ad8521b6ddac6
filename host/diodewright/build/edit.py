"""A build file changed in place: comments, order and all else stay; the diff first, then the file.

What is written is checked as any build file is, before a byte of the old one is touched. The old
text stays beside it (`lamp.toml.before-1`, the next free number).
"""

import difflib
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

import tomlkit
from tomlkit import TOMLDocument
from tomlkit.items import Table

from diodewright.build.loading import load_text
from diodewright.build.model import Build
from diodewright.build.plain_file import replace_whole
from diodewright.build.problems import BuildErrors, Problem
from diodewright.build.source import fetch, is_path

__all__ = ["Edit", "edited"]


@dataclass(frozen=True)
class Edit:
    """A change of a build file that is thought out and not written yet.

    Attributes
    ----------
    file : the file as it was named, or a shipped example's name.
    before, after : its whole text.
    build : what the changed text says, checked.
    """

    file: str
    before: str
    after: str
    build: Build

    @property
    def diff(self) -> str:
        """Return what changes, as a unified diff; "" for nothing."""
        lines = difflib.unified_diff(
            self.before.splitlines(True),
            self.after.splitlines(True),
            self.file,
            f"{self.file}, changed",
            n=1,
        )
        return "".join(lines)

    def write(self) -> Path:
        """Put the changed text in the file's place; return where the old text is kept.

        Raises
        ------
        BuildErrors
            A shipped example, or the file says something else than when it was read.
        OSError
            The folder can't be written; the file is as it was.
        """
        if not is_path(self.file):
            _refuse(
                self.file,
                "a shipped example is not written to",
                f"diodewright new my_lamp --from {self.file} --write makes one of your own",
            )
        path = Path(self.file)
        if fetch(self.file)[0] != self.before:
            _refuse(self.file, "it was changed meanwhile", "look at it and begin again")
        kept = _free(path)
        replace_whole(kept, self.before)
        try:
            replace_whole(path, self.after)
        except BaseException:
            kept.unlink(missing_ok=True)
            raise
        return kept


def edited(
    path_or_example: str | Path, values: Mapping[str, object], note: str | Mapping[str, str] = ""
) -> Edit:
    """Return the build file with `values` in it, checked whole.

    Parameters
    ----------
    values : ``section.key`` -> value, as `with_values` takes them; a key of the top has no section.
    note : one line that says what changed and why; a comment on each changed line. Or one for
        each key of `values`.

    Raises
    ------
    BuildErrors
        The file is wrong as it is, or would be with these values.
    """
    before, file = fetch(path_or_example)
    load_text(before, file)
    document = tomlkit.parse(before)
    for path, value in values.items():
        _put(document, path, value, note if isinstance(note, str) else note.get(path, ""))
    after = tomlkit.dumps(document)
    return Edit(file, before, after, load_text(after, file))


def _put(document: TOMLDocument, path: str, value: object, note: str) -> None:
    """Set one key; its line's own comment stays, behind it the note."""
    section, _, name = path.rpartition(".")
    if section and section not in document:
        document.append(section, tomlkit.table())
    table = document[section] if section else document
    assert isinstance(table, Table | TOMLDocument)
    told = table[name].trivia.comment if name in table else ""
    item = tomlkit.item(_as_toml(value))
    said = "; ".join(part for part in (told.removeprefix("#").strip(), note) if part)
    if said:
        item.comment(said)
    table[name] = item


def _as_toml(value: object) -> object:
    return [_as_toml(each) for each in value] if isinstance(value, tuple) else value


def _free(path: Path) -> Path:
    number = 1
    while (kept := path.with_name(f"{path.name}.before-{number}")).exists():
        number += 1
    return kept


def _refuse(file: str, wrong: str, mend: str) -> None:
    raise BuildErrors((Problem(file, None, "", "", wrong, mend=mend),))
