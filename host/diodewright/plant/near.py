"""Exponential and logarithm, continued from where they were last evaluated.

From one sub-step to the next temperatures and currents hardly move; a few products then take the
place of the C library's functions, which are evaluated anew where something has moved by more
than `NEAR_SHARE`.

Equations. ``exp(a + u) = exp(a) (1 + u + u^2/2 + u^3/6 + u^4/24)`` and, for z = a (1 + u),
``ln z = ln a + u - u^2/2 + u^3/3 - u^4/4``.

Source. Taylor's series.

Validity. |u| up to `NEAR_SHARE`: the first term left out is below 3e-16 of the exponential and
below 7e-15 in the logarithm. Left out: nothing else; what moved further is evaluated anew.
"""

from diodewright.plant.kernel import kernel

NEAR_SHARE = 0.002
THIRD = 0.3333333333333333
SIXTH = 0.16666666666666666
TWENTY_FOURTH = 0.041666666666666664


@kernel
def is_near(share: float) -> bool:
    """Return whether the series are good at `share` []."""
    return share >= -NEAR_SHARE and share <= NEAR_SHARE


@kernel
def exp_near(share: float) -> float:
    """Return exp(share) [] for a `share` that `is_near` 0."""
    return 1.0 + share * (1.0 + share * (0.5 + share * (SIXTH + share * TWENTY_FOURTH)))


@kernel
def log_near(share: float) -> float:
    """Return ln(1 + share) [] for a `share` that `is_near` 0."""
    return share * (1.0 - share * (0.5 - share * (THIRD - share * 0.25)))
