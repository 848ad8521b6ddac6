"""The Trace keeps true and sensed apart, and survives its files."""

import json

import numpy as np
import pytest

from diodewright.sim import Trace
from diodewright.sim.trace import COLUMNS


def _trace() -> Trace:
    rows = np.arange(3.0 * len(COLUMNS)).reshape(3, len(COLUMNS)) / 7
    return Trace.from_rows(rows, ((0.5, "diode-open"),), {"build": "b", "seed": 1})


def test_true_and_sensed_are_different_columns_with_units() -> None:
    names = [name for name, _, _ in COLUMNS]
    assert len(set(names)) == len(names)
    for true, sensed in (
        ("diode_A", "current_read_A"),
        ("output_V", "output_read_V"),
        ("pack_V", "pack_read_V"),
        ("mount_degC", "mount_read_degC"),
        ("sink_degC", "sink_read_degC"),
    ):
        assert {true, sensed} <= set(names)


def test_npz_gives_back_columns_events_and_provenance_to_the_bit(tmp_path) -> None:
    trace = _trace()
    trace.save_npz(tmp_path / "t.npz")
    back = Trace.load_npz(tmp_path / "t.npz")
    assert back.events == trace.events
    assert back.provenance == trace.provenance
    for name in trace.columns:
        assert np.array_equal(back[name], trace[name])
    assert [path.name for path in tmp_path.iterdir()] == ["t.npz"]


def test_csv_reads_back_with_an_independent_reader(tmp_path) -> None:
    trace = _trace()
    trace.save_csv(tmp_path / "t.csv")
    head, names, *_ = (tmp_path / "t.csv").read_text().splitlines()
    assert json.loads(head[2:])["provenance"] == {"build": "b", "seed": 1}
    values = np.genfromtxt(tmp_path / "t.csv", delimiter=",", skip_header=2)
    assert names.split(",") == list(trace.columns)
    assert np.array_equal(values[:, 1], trace["diode_A"])


def test_other_format_is_refused(tmp_path) -> None:
    np.savez(tmp_path / "t.npz", head=np.array(json.dumps({"format": 9})))
    with pytest.raises(ValueError, match="format 9, expected 1"):
        Trace.load_npz(tmp_path / "t.npz")
