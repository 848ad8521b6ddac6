"""Claims about words: converted rightly, in range whatever they were, small, and never written."""

from diodedriver import words
from diodewright.prove import terms
from diodewright.prove.bits import Bits, Value, equal, number
from diodewright.prove.conditions import CHANNELS, watching
from diodewright.prove.domain import KEPT
from diodewright.prove.obligation import Obligation, Setup
from diodewright.prove.terms import (
    Bool,
    Int,
    add,
    all_of,
    any_of,
    div,
    eq,
    ite,
    le,
    mod,
    mul,
    negate,
    scale,
    shr,
    sub,
)
from diodewright.prove.view import MODE, View, above, greatest, implies, least, within
from diodewright.prove.watched import KINDS
from diodewright.prove.whole import xor_words

__all__ = ["WORDS"]

_OLDEST = 65535
_STRAY_STATE = Setup(stray_state=True)
_STRAY_LIMITS = Setup(stray_limits=True)
_GUARD = Setup("guard", ("state", "limits", "readings"), stray_state=True)
_ANY = Setup(invariants=False)


def _convert(view: View) -> Bool:
    """Return whether current, output and the tick's own words are what the codes say."""
    code = greatest(0, sub(view.raw("current_code"), view.limit("current_zero_code")))
    return all_of(
        (
            eq(view.r("current_mA"), _of_4096(mul(code, view.limit("current_full_mA")))),
            eq(
                view.r("output_mV"),
                _of_4096(mul(view.raw("output_code"), view.limit("output_full_mV"))),
            ),
            *(
                eq(view.r(name), view.raw(name))
                for name in ("pins", "gap_ticks", "beat_ticks", "level")
            ),
        )
    )


def _of_4096(value: Int) -> Int:
    return div(value, 4096)


def _multiplexed(view: View) -> Bool:
    """Return whether the channel read is fresh and right, and all others are kept and older."""
    code, parts = view.raw("mux_code"), []
    for channel, name in enumerate(CHANNELS):
        reading = words.READINGS[2 + channel][0]
        here = eq(view.raw("mux_channel"), channel)
        older = least(_OLDEST, add(view.kept(f"{name}_age"), view.raw("gap_ticks")))
        parts.append(eq(view.r(f"{name}_age"), ite(here, 0, older)))
        if channel < 3:
            full = view.limit(reading.replace("_mV", "_full_mV").replace("_uA", "_full_uA"))
            fresh = eq(view.r(reading), _of_4096(mul(code, full)))
        else:
            fresh = _between_points(view, view.r(reading))
        parts.append(terms.pick_truth(here, fresh, eq(view.r(reading), view.kept(reading))))
    return all_of(parts)


def _between_points(view: View, value: Int) -> Bool:
    """Return whether a temperature lies between the table's points about its code.

    On a point it is the point; between two it is between them.
    """
    code = view.raw("mux_code")
    parts = []
    for place in range(words.NTC_POINTS - 1):
        low = view.limit(f"ntc_{place}_cK")
        high = view.limit(f"ntc_{place + 1}_cK")
        here = eq(div(code, 128), place)
        on = eq(mod(code, 128), 0)
        between = within(value, least(low, high), greatest(low, high))
        parts.append(implies(here, terms.pick_truth(on, eq(value, low), between)))
    return all_of(parts)


def _power(view: View) -> Bool:
    current = greatest(shr(view.s("drive"), 6), view.r("current_mA"))
    return eq(view.r("power_mW"), div(mul(current, view.r("output_mV")), 1000))


def _junction(view: View) -> Bool:
    """Return whether the junction's rise steps towards what the power settles at."""
    aim = scale(div(mul(view.r("power_mW"), view.limit("junction_cK_W")), 1000), 64)
    before = view.s("rise")
    step = shr(sub(aim, before), view.limit("junction_shift"))
    estimate = add(view.r("lead_cK"), shr(view.then("rise"), 6))
    booting = eq(view.s("mode"), MODE["boot"])
    return all_of(
        (
            eq(view.r("junction_cK"), estimate),
            any_of((booting, eq(view.then("rise"), add(before, step)))),
        )
    )


def _lead(view: View) -> Bool:
    """Return whether the compensated mount is never below the smoothed sensor, nor too hot."""
    smooth = shr(view.then("smooth"), 10)
    return within(view.r("lead_cK"), smooth, 60000)


def _budget_fills(view: View) -> Bool:
    """Return whether the budget takes in the power and leaks by its time constant."""
    cap = view.limit("budget_cap")
    first = ite(eq(view.s("mode"), MODE["boot"]), cap, view.s("budget"))
    leak = div(first, view.limit("budget_leak_s"))
    part = sub(add(view.s("budget_part"), view.r("power_mW")), leak)
    filled = add(first, div(part, 1024))
    return eq(view.then("budget"), least(cap, filled))


def _stale(view: View) -> Bool:
    old = any_of(above(view.r(f"{name}_age"), view.limit("age_ticks")) for name in CHANNELS)
    stranger = le(len(CHANNELS), view.raw("mux_channel"))
    kept = all_of(
        all_of(
            (
                eq(view.r(words.READINGS[2 + i][0]), view.kept(words.READINGS[2 + i][0])),
                eq(
                    view.r(f"{name}_age"),
                    least(_OLDEST, add(view.kept(f"{name}_age"), view.raw("gap_ticks"))),
                ),
            )
        )
        for i, name in enumerate(CHANNELS)
    )
    counts_as = implies(all_of((old, watching(view))), view.row("suspect", "stale"))
    return all_of((counts_as, implies(stranger, kept)))


def _comms(view: View) -> Bool:
    pairs = zip(view.before["limits"], view.after["limits"], strict=True)
    return all_of(eq(number(before), number(after)) for before, after in pairs)


def _broken(view: View) -> Bool:
    """Return whether some limit differs from its complement."""
    return any_of(
        negate(eq(view.limit(row[0]), xor_words(view.complement(row[0]), words.ONES)))
        for row in words.LIMITS
    )


def _copy(view: View) -> Bool:
    return implies(_broken(view), all_of((view.cut_off(), view.row("faults", "settings"))))


def _in_range(view: View, then: bool) -> list[Bool]:
    """Return for each state word and kept reading whether it is within its range."""
    memory = view.after if then else view.before
    parts = []
    for (_, _, low, high, _), value in zip(words.STATE, memory["state"], strict=True):
        parts.append(_held(value, low, high))
    for (name, _, low, high, _), value in zip(words.READINGS, memory["readings"], strict=True):
        if name in KEPT:
            parts.append(_held(value, low, high))
    return parts


def _held(value: Value, low: int, high: int) -> Bool:
    if isinstance(value, Bits) and low == 0 and high == (1 << len(value.bits)) - 1:
        return eq(value.high, 0)
    return within(number(value), low, high)


def _any_state(view: View) -> Bool:
    return all_of(_in_range(view, then=True))


def _any_guard(view: View) -> Bool:
    """Return whether the guard leaves all in range: untouched where it was, else dark."""
    sound = all_of(_in_range(view, then=False))
    names = [row[0] for row in words.STATE]
    after = dict(zip(names, view.after["state"], strict=True))
    pairs = zip(view.before["state"], view.after["state"], strict=True)
    same = all_of(equal(before, then) for before, then in pairs)
    kept = all_of(eq(view.r(name), view.kept(name)) for name in KEPT)
    told = eq(number(view.returned), 0)
    empty = {"mode": MODE["fault"], "trim": words.TRIM_BIAS}
    reset = [equal(after[name], empty.get(name, 0)) for name in names if name != "budget"]
    called = eq(number(view.returned), 2)
    cleared = all_of((*reset, *_in_range(view, then=True), called))
    return terms.pick_truth(sound, all_of((same, kept, told)), cleared)


def _any_dark(view: View) -> Bool:
    stray = negate(all_of(_in_range(view, then=False)))
    return implies(stray, all_of((view.cut_off(), view.row("faults", "state"))))


def _anywhere(view: View) -> Bool:
    """Return where what the translation noted must hold; see `Obligation.checks`."""
    return True


def _hotter(cool: View, hot: View) -> Bool:
    """Return whether a hotter mount is never allowed more (outside boot, nothing suspect)."""
    alike = all_of(
        (
            le(cool.r("mount_cK"), hot.r("mount_cK")),
            eq(cool.then("suspect"), 0),
            eq(hot.then("suspect"), 0),
            negate(eq(cool.s("mode"), MODE["boot"])),
        )
    )
    return implies(alike, le(hot.then("allowed"), cool.then("allowed")))


def _fuller(less: View, more: View) -> Bool:
    """Return whether a fuller budget is never allowed more."""
    alike = all_of(
        (
            le(less.s("budget"), more.s("budget")),
            eq(less.then("suspect"), 0),
            eq(more.then("suspect"), 0),
        )
    )
    return implies(alike, le(more.then("allowed"), less.then("allowed")))


def _weaker(strong: View, weak: View) -> Bool:
    """Return whether a lower pack estimate, at no more headroom, is never allowed more."""
    alike = all_of(
        (
            le(weak.kept("rest_mV"), strong.kept("rest_mV")),
            le(weak.kept("pack_mV"), strong.kept("pack_mV")),
            *(within(view.kept("rest_mV"), 0, 60000) for view in (strong, weak)),
            *(within(strong.kept(name), 0, 60000) for name in ("lead_cK", "output_mV")),
            within(strong.kept("junction_cK"), 0, 1100000),
            within(strong.kept("level"), 0, 3),
        )
    )
    return implies(alike, le(weak.then("allowed"), strong.then("allowed")))


_ALLOW = Setup(
    "allow",
    ("state", "limits", "readings"),
    invariants=False,
    own=("readings.rest_mV", "readings.pack_mV"),
)
_HOT = Setup(own=("raw.mux_code",), fixed=(("raw.mux_channel", 3),))
_FULL = Setup(own=("state.budget",), invariants=False)

WORDS = (
    Obligation(
        "convert", "current, output, pins, gap, heartbeat, level are what is read", _convert
    ),
    Obligation(
        "convert-channel",
        "the channel read is fresh and what its code says (a temperature: between the table's "
        "points about it); the others are kept and grow older",
        _multiplexed,
    ),
    Obligation(
        "stale",
        "a reading older than its allowed age is suspect; an unknown channel refreshes nothing",
        _stale,
    ),
    Obligation("observe-power", "power is that of the larger of asked and read current", _power),
    Obligation(
        "observe-junction",
        "the junction estimate steps towards what the power settles at, above the mount",
        _junction,
    ),
    Obligation(
        "observe-lead",
        "the compensated mount is never below the smoothed sensor, nor above its range",
        _lead,
    ),
    Obligation("observe-budget", "the budget takes in the power and leaks", _budget_fills),
    Obligation(
        "monotone-mount",
        "from the same state a hotter mount is not allowed more (nothing suspect, not in boot)",
        _hotter,
        (_HOT, _HOT),
    ),
    Obligation(
        "monotone-budget",
        "with all else the same a fuller budget is not allowed more (nothing suspect)",
        _fuller,
        (_FULL, _FULL),
    ),
    Obligation(
        "monotone-pack",
        "with all else the same a weaker pack, by its estimate, is not allowed more",
        _weaker,
        (_ALLOW, _ALLOW),
    ),
    Obligation("comms", "no tick writes a limit or its complement", _comms, (_ANY,)),
    Obligation(
        "copy",
        "a limit that differs from its complement, whatever both hold: drive 0, cut-offs open, row "
        "settings, in the same tick",
        _copy,
        (_STRAY_LIMITS,),
    ),
    Obligation(
        "copy-divisor",
        "with a limit that differs from its complement nothing is divided by less than 1 or "
        "shifted by an odd count, whatever all limits hold",
        _broken,
        (_STRAY_LIMITS,),
        checks=("divisor", "shift"),
    ),
    Obligation(
        "any-state-guard",
        "any int32 in state and kept readings: the guard leaves them as they are where all are in "
        "range, else everything in range, dark, empty, and calls the row state",
        _any_guard,
        (_GUARD,),
    ),
    Obligation(
        "any-state-dark",
        "a state word or kept reading out of range: drive 0, cut-offs open, row state, same tick",
        _any_dark,
        (_STRAY_STATE,),
    ),
    Obligation(
        "any-state",
        "from any int32 in state and kept readings a tick leaves every state word and kept reading "
        "in range: every counter saturates, every store fits",
        _any_state,
        (_STRAY_STATE,),
    ),
    Obligation(
        "arithmetic",
        "from any state in range every intermediate is below 2**30, every divisor above 0, every "
        "shift 0 to 30, every index inside its array, every store a non-negative int32",
        _anywhere,
        (_ANY,),
        checks=KINDS,
    ),
)
