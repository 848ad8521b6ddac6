"""A scan: its places are evaluations, its forbidden region is theirs, its figure repeats."""

import json
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest

from diodewright.build import load
from diodewright.report.figure_scan import forbidden, scan_figure, scan_image
from diodewright.tune import Context, TuneError, context_of, evaluate
from diodewright.tune.scan import Scan, axis_of, scan


@pytest.fixture(scope="module")
def viewer() -> Context:
    return context_of(load("gel_viewer"))


@pytest.fixture(scope="module")
def over_warm(tunnel: Context) -> Scan:
    """Cutback's begin on either side of where 150 s before it are kept, and beyond its end."""
    axis = axis_of(tunnel, "mount_warm_degC=44:58", {}, 3)
    return scan(tunnel, [axis], {}, depth="use")


def test_places_rise_and_the_present_one_is_among_them(over_warm: Scan) -> None:
    assert over_warm.axes[0].values == (44.0, 46.0, 51.0, 58.0)
    assert [place.at for place in over_warm.places] == [(44.0,), (46.0,), (51.0,), (58.0,)]


def test_each_place_is_its_own_evaluation(tunnel: Context, over_warm: Scan) -> None:
    for place in over_warm.places:
        values = {} if place.at == (46.0,) else {"limits.mount_warm_degC": place.at[0]}
        assert place.seen == evaluate(tunnel, values, "use")


def test_what_is_against_a_place_is_named(over_warm: Scan) -> None:
    against = [place.binds for place in over_warm.places]
    assert against == ["use.before-cutback", "", "", "refused"]
    assert np.isnan(over_warm.figure("light_sustained_W")[3])
    assert np.isnan(over_warm.margins()[3]) and over_warm.margins()[0] < 0


def test_a_scan_without_ends_goes_as_far_as_the_build_bears(viewer: Context) -> None:
    """Cutback of the viewer ends above where it begins and below its trip."""
    axis = axis_of(viewer, "mount_hot_degC", {}, 5)
    limits = viewer.build.limits
    assert axis.values[0] == pytest.approx(limits.mount_warm_degC, abs=0.2)
    assert axis.values[-1] == pytest.approx(limits.mount_trip_degC, abs=0.2)
    for end in (axis.values[0], axis.values[-1]):
        assert not evaluate(viewer, {axis.key.path: end}, "bands").refusal


def test_a_key_of_many_decades_is_gone_through_by_ratio(tunnel: Context) -> None:
    axis = axis_of(tunnel, "limits.pack_rest_s=0.1:100", {}, 4)
    assert axis.by_ratio and axis.values == (0.1, 1.0, 5.0, 10.0, 100.0)


@pytest.mark.parametrize(
    ("asked", "said"),
    [
        ("mount_warm_degC=50:44", "LOW:HIGH, the lower end first"),
        ("mount_warm_degC=44", "LOW:HIGH"),
        ("mount_warm_degC=44:480", "out of range; allowed 0 to 200 degC"),
        ("sink_warm_degC", "did you mean mount_warm_degC?"),
        ("trigger", "is no number"),
    ],
)
def test_a_span_that_makes_no_sense_is_refused(tunnel: Context, asked: str, said: str) -> None:
    with pytest.raises(TuneError) as caught:
        axis_of(tunnel, asked, {}, 3)
    assert said in str(caught.value)


def test_forbidden_spans_meet_half_way_to_what_holds() -> None:
    x = np.array([1.0, 2.0, 4.0, 5.0])
    assert forbidden(x, [True, True, False, True]) == [(1.0, 3.0), (4.5, 5.0)]
    assert forbidden(x, [False] * 4) == []


def test_the_figure_of_a_scan_repeats_to_the_byte_and_says_its_curves(over_warm: Scan) -> None:
    drawn = scan_figure(over_warm, "light_first_minute_W")
    assert drawn == scan_figure(over_warm, "light_first_minute_W")
    assert "full level before cutback: from 133 to 260" in drawn
    assert scan_image(over_warm, "light_first_minute_W").startswith(b"\x89PNG")


def test_a_map_of_two_keys_tells_how_much_of_it_is_forbidden(tunnel: Context) -> None:
    """Where cutback's begin lies above its end, the build refuses: one corner of the map."""
    asked = ("mount_warm_degC=46:54", "mount_hot_degC=52:58")
    axes = [axis_of(tunnel, text, {}, 2) for text in asked]
    found = scan(tunnel, axes, {}, depth="bands")
    assert [place.binds for place in found.places] == ["", "", "", "refused", "", ""]
    drawn = scan_figure(found, "light_first_minute_W")
    assert "1 of 6 places forbidden" in drawn


def test_the_verb_writes_figure_and_table(
    tmp_path: Path, here: Callable[..., tuple[int, str, str]]
) -> None:
    given = ("tune", "gel_viewer", "--scan", "mount_trip_degC=60:64", "--points", "2", "--out")
    code, out, _ = here(*given, str(tmp_path), "--json")
    told = json.loads(out)
    assert code == 0 and told["keys"] == ["limits.mount_trip_degC"]
    assert {Path(name).suffix for name in told["files"]} == {".svg", ".png"}
    assert all(Path(name).exists() for name in told["files"])
    code, _, err = here(
        "tune", "gel_viewer", "--scan", "mount_trip_degC", "--figure", "light_first_W"
    )
    assert code == 2 and "did you mean light_first_minute_W?" in err
    code, _, err = here("tune", "gel_viewer", "--loops", "--out", str(tmp_path))
    assert code == 2 and "--out goes with --scan" in err
