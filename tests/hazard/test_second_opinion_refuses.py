"""What the second opinion refuses, and where exactly its ranges end."""

import math
from collections.abc import Callable

import pytest

from hazard import second_opinion as second
from hazard.second_opinion import ael_W, class_of, led_risk_group, mpe_eye_W_m2, nohd_m

nan, inf = math.nan, math.inf
REFUSED: list[tuple[Callable[..., object], tuple[object, ...]]] = [
    *((mpe_eye_W_m2, (nm, 1)) for nm in (399.9, 1050.1, nan, -532)),
    *((mpe_eye_W_m2, (532, s)) for s in (4.9e-6, 30_001, 0, nan)),
    *((mpe_eye_W_m2, (532, 1, mrad)) for mrad in (-0.1, 3142, nan)),
    *((second.mpe_skin_W_m2, pair) for pair in ((399.9, 1), (1051, 1), (532, 9e-8), (532, 3.1e4))),
    *((second.c3, (nm,)) for nm in (399, 601)),
    *((function, (nm,)) for function in (second.c4, second.c7) for nm in (399, 1051)),
    *((function, (s,)) for function in (second.alpha_max_mrad, second.cone_mrad) for s in (0, 4e4)),
    *((function, (mrad,)) for function in (second.c6, second.t2_s) for mrad in (-1, 3142)),
    *((second.t1_s, (nm,)) for nm in (399, 601)),
    (ael_W, (532, "2M", 0.25)),
    (ael_W, (850, "2", 0.25)),
    *((ael_W, (nm, "3B", 100)) for nm in (399, 1051)),
    *((ael_W, (532, "2", s)) for s in (4e-6, 4e4)),
    *((ael_W, (532, "3B", 1, mrad)) for mrad in (-1, 3142)),
    *((class_of, (watts, 532)) for watts in (-1e-9, nan, inf)),
    (class_of, (1, 1100)),
    (class_of, (1, 390)),
    *((nohd_m, (watts, 10, 1, 1, 0, 0)) for watts in (-1, nan)),
    *((nohd_m, (1, limit, 1, 1, 0, 0)) for limit in (0, -1, nan)),
    *((nohd_m, (1, 10, x, y, 0, 0)) for x, y in ((0, 1), (1, 0), (-1, 1), (1, 4000), (nan, 1))),
    *((nohd_m, (1, 10, 1, 1, x, y)) for x, y in ((-1, 0), (0, -1))),
    *((second.full_width_1e, (width,)) for width in (-1, nan)),
    *((second.full_width_1e_of_half_maximum, (width,)) for width in (-1, nan)),
    *((second.diffuse_distance_m, (1, 10, share, 0)) for share in (-0.1, 1.01)),
    *((second.diffuse_distance_m, (1, 10, 1, deg)) for deg in (-1, 91)),
    *((second.diffuse_distance_m, (*pair, 1, 0)) for pair in ((-1, 10), (1, 0))),
    *((second.optical_density, values) for values in ((-1, 1, 10), (1, 0, 10), (1, 1, 0))),
    *((second.scale_number, values) for values in ((-1, 1), (1, 0), (8e4, 1))),
    *((second.luminous_efficacy_lm_W, (nm,)) for nm in (359, 831)),
    *((second.blue_weight, (nm,)) for nm in (399, 701, nan)),
    *((led_risk_group, values) for values in ((0, 1, 450), (1, 0, 450), (1, 1, 701))),
]


@pytest.mark.parametrize(("function", "values"), REFUSED)
def test_value_out_of_range_is_refused(
    function: Callable[..., object], values: tuple[object, ...]
) -> None:
    with pytest.raises(ValueError, match=r" = |outside"):
        function(*values)


ENDS: list[tuple[Callable[..., float], tuple[float, ...]]] = [
    *((mpe_eye_W_m2, (nm, s, mrad)) for nm in (400, 1050) for s, mrad in ((5e-6, 0), (3e4, 3141))),
    *((second.mpe_skin_W_m2, (nm, s)) for nm in (400, 1050) for s in (1e-7, 3e4)),
    *((second.blue_weight, (nm,)) for nm in (400, 700)),
]


@pytest.mark.parametrize(("function", "values"), ENDS)
def test_ends_of_a_range_belong_to_it(
    function: Callable[..., float], values: tuple[float, ...]
) -> None:
    assert 0 < function(*values) < math.inf
