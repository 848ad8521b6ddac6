"""The map of faults that streams in is that of a rehearsal, and leaves off where nobody waits."""

import pytest

from diodewright.build import load
from diodewright.faults import by_id
from diodewright.page import beside
from diodewright.page.beside import Beside, LeftOff
from diodewright.rehearse.cases import cases_of, run_case
from diodewright.rehearse.moments import snapshots
from diodewright.report.facts import letter
from diodewright.sim import compiled
from diodewright.tune import context_of


def test_a_row_of_the_map_has_the_letters_of_a_rehearsal_with_those_settings(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """The process's own functions, called here: a changed setting reaches the cases."""
    build = load("gel_viewer")
    context = context_of(build)
    monkeypatch.setattr("os.nice", lambda by: by)
    beside._here.begin(context)
    moments = beside._stand({})
    stands = snapshots(build, compiled(), 1)
    assert moments == tuple(stands)
    fault = by_id("diode-short")
    row = beside._fault_row(fault.id)
    wanted = {
        at.moment: letter(run_case(build, stands[at.moment], fault, at, 1).finding)
        for at in cases_of(build, fault, stands)
    }
    assert row.letters == "".join(wanted.get(at, ".") for at in moments)
    assert row.cases == len(wanted)
    beside._stand({"limits.mount_trip_degC": 70})
    assert beside._here.build.limits.mount_trip_degC == 70


def test_what_nobody_waits_for_is_left_off_and_the_process_ends() -> None:
    working = Beside(context_of(load("gel_viewer")))
    processes = working._pool
    try:
        with pytest.raises(LeftOff):
            list(working.spans(["limits.mount_trip_degC"], {}, lambda: False))
        process = next(iter((processes._processes or {}).values()))
    finally:
        working.close()
    process.join(20)
    assert not process.is_alive()
