"""A build file as pytest sees it: one item for each part of a rehearsal and each fault case."""

from collections.abc import Callable, Iterator
from functools import partial
from pathlib import Path
from typing import Any

import pytest

from diodewright.build import Build, BuildErrors
from diodewright.derive import DerivedError
from diodewright.harness.kept import folder_name
from diodewright.harness.lamp import Lamp, Lamps, NotReached, cases_of
from diodewright.harness.parts import PARTS, Judged, judged_case
from diodewright.sim import EngineError

__all__ = ["BuildFile", "BuildItem"]

Judge = Callable[[Lamp, Path], Judged]


class BuildFile(pytest.File):
    """One build file.

    Parameters
    ----------
    said : the file as it was named.
    lamps : where builds are loaded and run.
    failures : folder that failing cases leave their figures and Traces in.
    """

    build: Build

    def __init__(self, *, said: str, lamps: Lamps, failures: Path, **more: Any) -> None:
        super().__init__(**more)
        self.said, self.lamps = said, lamps
        parts = Path(said.removesuffix(".toml")).parts
        self.failures = failures.joinpath(*(folder_name(part) for part in parts))

    def collect(self) -> Iterator[pytest.Item]:
        """Yield the parts of a rehearsal, then every fault case that this build can have.

        Raises
        ------
        CollectError
            The build can't be used; says all that is wrong with it.
        """
        try:
            build = self.lamps.build(self.said)
        except (BuildErrors, DerivedError) as error:
            raise self.CollectError(str(error)) from None
        self.build = build
        judges: dict[str, Judge] = dict(PARTS)
        judges |= {case_id: partial(_case, case_id=case_id) for case_id in cases_of(build)}
        for name, judge in judges.items():
            yield BuildItem.from_parent(self, name=name, judge=judge, of=len(judges))


def _case(lamp: Lamp, folder: Path, case_id: str) -> Judged:
    return judged_case(lamp, case_id, folder)


class BuildItem(pytest.Item):
    """One part or fault case: an error where it can't be judged, a failure where it fails."""

    parent: BuildFile

    def __init__(self, *, judge: Judge, of: int, **more: Any) -> None:
        super().__init__(**more)
        self.judge = judge
        self.judged = Judged(missing="not run")
        self.add_marker("diodewright")
        self.user_properties += [
            ("diodewright_build", self.parent.said),
            ("diodewright_of", of),
        ]

    def setup(self) -> None:
        """Run and judge it; what was not judged is an error, for absent is not passed."""
        file = self.parent
        try:
            self.judged = self.judge(file.lamps.lamp(file.build), file.failures)
        except NotReached as error:
            self.user_properties.append(("diodewright_absent", True))
            pytest.skip(str(error))
        except EngineError as error:
            pytest.fail(f"INCOMPLETE  {file.said}: {self.name}: {error}", pytrace=False)
        for name in ("margin", "time_to_dark_ms"):
            value = getattr(self.judged, name)
            if value is not None:
                self.user_properties.append((f"diodewright_{name}", float(value)))
        if self.judged.missing and not self.judged.fails:
            pytest.fail(self.judged.missing, pytrace=False)

    def runtest(self) -> None:
        """Fail where it fails."""
        if self.judged.fails:
            told = filter(None, (self.judged.fails, self.judged.missing))
            pytest.fail("\n".join(told), pytrace=False)

    def reportinfo(self) -> tuple[Path, int, str]:
        """Return where it comes from and what it is called."""
        return self.path, 0, self.name
