"""Mutants of the law that no judge can kill, and why each behaves as the law does.

The name is function, line within it, and what became of what, as `mutants.py` gives it.
"""

_SAME = "where the two are equal, both branches leave the same value"
_UNUSED = "tick does not use what this function returns"
_ZERO = "row 'settings' is row 0: a shift by 0 is the same in both directions"
_NOT_ZERO = "a pack reading v and 20000 - v are never both 0, so 'stray' never is"

EQUIVALENT: dict[str, str] = {
    "convert+12: _CHANNELS -> _CHANNELS + 1": (
        "the sixth word is the reading 'pins', which is written further down; only where that word "
        "strays does its sum pass 2**30, by which the prover tells the two apart"
    ),
    "convert+14: _OLDEST -> _OLDEST - 1": _SAME,
    "convert+14: age > _OLDEST -> age >= _OLDEST": _SAME,
    "convert+32: 0 -> -1": _UNUSED,
    "convert+32: 0 -> 1": _UNUSED,
    "convert+7: 0 -> 1": _SAME,
    "convert+7: code < 0 -> code <= 0": _SAME,
    "fade+3: value >= end -> value > end": _SAME,
    "fade+5: value > begin -> value >= begin": _SAME,
    "first_look+10: 0 -> 1": _SAME,
    "first_look+10: rise < 0 -> rise <= 0": _SAME,
    "first_look+15: 0 -> -1": _UNUSED,
    "first_look+15: 0 -> 1": _UNUSED,
    "first_look+6: 0 -> 1": _SAME,
    "first_look+6: difference < 0 -> difference <= 0": _SAME,
    "guard+11: 0 -> 1": "of 'stray' only the sign is asked",
    "guard+10: 1 << _F_SETTINGS -> 1 >> _F_SETTINGS": _ZERO,
    "guard+20: 0 -> 1": _NOT_ZERO,
    "guard+20: stray >= 0 -> stray > 0": _NOT_ZERO,
    "hold_headroom+15: held < limits[_L_START_MA] -> held <= limits[_L_START_MA]": _SAME,
    "latch+13: row > _F_STATE -> row >= _F_STATE": (
        "row 'state' is only reported where the limits are sound, and then its count is 1"
    ),
    "observe_heat+25: smooth > slow -> smooth >= slow": _SAME,
    "observe_heat+27: _HOTTEST -> _HOTTEST - 1": _SAME,
    "observe_heat+27: lead > _HOTTEST -> lead >= _HOTTEST": _SAME,
    "observe_heat+35: 0 -> -1": _UNUSED,
    "observe_heat+35: 0 -> 1": _UNUSED,
    "observe_heat+8: asked > current -> asked >= current": _SAME,
    "observe_stores+21: asked < current -> asked <= current": _SAME,
    "observe_stores+27: _LARGEST_LOAD -> _LARGEST_LOAD - 1": _SAME,
    "observe_stores+27: load > _LARGEST_LOAD -> load >= _LARGEST_LOAD": _SAME,
    "observe_stores+34: 0 -> -1": _UNUSED,
    "observe_stores+34: 0 -> 1": _UNUSED,
    "regulate+11: trim > authority -> trim >= authority": _SAME,
    "regulate+13: trim < -authority -> trim <= -authority": _SAME,
    "tally_time+23: 0 -> -1": _UNUSED,
    "tally_time+23: 0 -> 1": _UNUSED,
    "unlatch+11: 0 -> -1": _UNUSED,
    "unlatch+11: 0 -> 1": _UNUSED,
    "unlatch+29: 0 -> -1": _UNUSED,
    "unlatch+29: 0 -> 1": _UNUSED,
    "watch_light+11: 0 -> -1": "follow_mA is at least 1, so an error of one is never judged",
    "watch_light+11: 0 -> 1": _SAME,
    "watch_light+11: error < 0 -> error <= 0": _SAME,
    "heading+14: wanted > most -> wanted >= most": _SAME,
    "heading+16: wanted < 0 -> wanted <= 0": _SAME,
    "heading+16: 0 -> 1": _SAME,
    "heading+16: 0 -> -1": "put_out, in the same tick, makes -1 a zero",
    "drive+8: 0 -> 1": _UNUSED,
    "drive+8: 0 -> -1": _UNUSED,
    "drive+11: wanted > now -> wanted >= now": _SAME,
    "drive+17: wanted > now + step -> wanted >= now + step": _SAME,
    "drive+19: wanted < now - limits[_L_FALL_Q64] -> wanted <= now - limits[_L_FALL_Q64]": _SAME,
    "put_out+4: wanted > limits[_L_ABSOLUTE_MA] << 6 -> wanted >= limits[_L_ABSOLUTE_MA] << 6": (
        _SAME
    ),
    "put_out+6: wanted > _HARD_MAX -> wanted >= _HARD_MAX": _SAME,
    "put_out+6: _HARD_MAX -> _HARD_MAX - 1": _SAME,
    "put_out+8: wanted < 0 -> wanted <= 0": _SAME,
    "put_out+8: 0 -> 1": _SAME,
    "put_out+12: duty > limits[_L_DUTY_TOP] -> duty >= limits[_L_DUTY_TOP]": _SAME,
    "tick+7: 1 << _F_SETTINGS -> 1 >> _F_SETTINGS": _ZERO,
    "tick+16: 1 << _F_SETTINGS -> 1 >> _F_SETTINGS": _ZERO,
}
