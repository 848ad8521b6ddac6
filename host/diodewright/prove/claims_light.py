"""Claims about coming on: a fresh press, the indicator's delay, an empty output, and life."""

from diodewright.prove import terms
from diodewright.prove.obligation import Obligation
from diodewright.prove.terms import Bool, Int, add, all_of, any_of, eq, le, negate, sub
from diodewright.prove.view import MODE, View, above, greatest, implies, within

__all__ = ["LIGHT"]

#: Longer than any wait of one mode [ticks].
_STAGE = 200_000


def _enters(view: View, mode: str) -> Bool:
    code = MODE[mode]
    return all_of((eq(view.then("mode"), code), negate(eq(view.s("mode"), code))))


def _lights(view: View) -> Bool:
    return all_of((negate(view.lit()), view.lit(then=True)))


def _relight(view: View) -> Bool:
    """Return whether light is only reached by dark, delay, close, in that order."""
    pressed = all_of(
        (
            eq(view.s("mode"), MODE["dark"]),
            negate(eq(view.s("ready"), 0)),
            eq(view.then("ready"), 0),
            view.pin("trigger"),
        )
    )
    back = eq(view.s("mode"), MODE["close"])
    return all_of(
        (
            implies(_lights(view), eq(view.s("mode"), MODE["close"])),
            implies(_enters(view, "close"), eq(view.s("mode"), MODE["delay"])),
            implies(_enters(view, "delay"), any_of((pressed, back))),
        )
    )


def _relight_ready(view: View) -> Bool:
    begun = all_of((eq(view.s("ready"), 0), negate(eq(view.then("ready"), 0))))
    return implies(begun, negate(view.pin("trigger")))


def _relight_used(view: View) -> Bool:
    blocked = all_of((view.pin("trigger"), negate(eq(view.then("hard"), 0))))
    return implies(blocked, eq(view.then("ready"), 0))


def _relight_held(view: View) -> Bool:
    """Return whether letting go, or anything hard, ends even the way to the light."""
    on_the_way = within(view.then("mode"), MODE["delay"], MODE["limited"])
    stop = any_of((negate(view.pin("trigger")), negate(eq(view.then("hard"), 0))))
    return implies(stop, negate(on_the_way))


def _relight_drive(view: View) -> Bool:
    on = all_of((eq(view.s("drive"), 0), above(view.then("drive"), 0)))
    return implies(on, any_of((eq(view.s("mode"), MODE["close"]), view.lit())))


def _indicate(view: View) -> Bool:
    return implies(_lights(view), le(view.limit("delay_ticks"), view.then("lamp_ticks")))


def _indicate_on(view: View) -> Bool:
    on = within(view.then("mode"), MODE["delay"], MODE["limited"])
    return implies(any_of((on, above(view.then("drive"), 0))), view.enabled("indicator"))


def _indicate_counts(view: View) -> Bool:
    """Return whether the clock of the healthy indicator counts single ticks and starts over."""
    on = within(view.then("mode"), MODE["delay"], MODE["limited"])
    sick = any_of((view.row("suspect", "indicator"), negate(on)))
    return all_of(
        (
            implies(sick, eq(view.then("lamp_ticks"), 0)),
            le(view.then("lamp_ticks"), add(view.s("lamp_ticks"), 1)),
        )
    )


def _close(view: View) -> Bool:
    closes = all_of((negate(view.lit()), view.enabled("cutoff_a")))
    return implies(closes, le(view.r("output_mV"), view.limit("safe_mV")))


def _auto_off(view: View) -> Bool:
    over = all_of((view.lit(), le(view.limit("auto_off_ticks"), view.s("on_ticks"))))
    counts = implies(
        all_of((view.lit(), view.lit(then=True))),
        eq(view.then("on_ticks"), add(view.s("on_ticks"), 1)),
    )
    return all_of((implies(over, view.cut_off()), counts))


def _pulse(view: View) -> Bool:
    """Return whether the dynamic enable turns over in every lit tick and rests while dark."""
    turned = eq(view.then("pulse"), sub(1, view.s("pulse")))
    return terms.pick_truth(view.lit(then=True), turned, eq(view.then("pulse"), 0))


def _enabled(view: View) -> Bool:
    lit = view.lit(then=True)
    both = all_of((view.enabled("cutoff_a"), view.enabled("cutoff_b")))
    none = all_of((negate(view.enabled("cutoff_a")), negate(view.enabled("cutoff_b"))))
    reset = terms.pick_truth(
        eq(view.then("mode"), MODE["close"]),
        view.enabled("reset"),
        negate(view.enabled("reset")),
    )
    return all_of((terms.pick_truth(lit, both, none), reset))


def _left(view: View, then: bool) -> Int:
    """Return the measure of the way to the light: stages left, and ticks left of this one."""
    word = view.then if then else view.s
    waits: dict[str, Int] = {
        "dark": 0,
        "delay": greatest(0, sub(view.limit("delay_ticks"), word("lamp_ticks"))),
        "close": greatest(0, sub(1, word("mode_ticks"))),
        "start": greatest(0, sub(view.limit("stage_ticks"), word("mode_ticks"))),
        "soft_start": greatest(0, sub(view.limit("ramp_ticks"), word("ramp"))),
    }
    measure: Int = 0
    for stages, (mode, wait) in enumerate(reversed(waits.items()), start=1):
        at = eq(word("mode"), MODE[mode])
        measure = terms.ite(at, add(_STAGE * stages, wait), measure)
    return measure


def _healthy(view: View) -> Bool:
    return all_of(
        (
            eq(view.then("suspect"), 0),
            eq(view.s("suspect"), 0),
            eq(view.s("faults"), 0),
            eq(view.then("hard"), 0),
            above(view.limit("auto_off_ticks"), view.s("on_ticks")),
            implies(eq(view.s("mode"), MODE["dark"]), negate(eq(view.s("ready"), 0))),
            implies(
                eq(view.s("mode"), MODE["close"]),
                le(view.r("output_mV"), view.limit("safe_mV")),
            ),
        )
    )


def _live(view: View) -> Bool:
    under_way = within(view.s("mode"), MODE["dark"], MODE["soft_start"])
    there = within(view.then("mode"), MODE["run"], MODE["limited"])
    nearer = above(_left(view, then=False), _left(view, then=True))
    return implies(all_of((_healthy(view), under_way)), any_of((there, nearer)))


def _live_light(view: View) -> Bool:
    begins = any_of((_lights(view), eq(view.s("mode"), MODE["start"])))
    ready = all_of((begins, view.lit(then=True), eq(view.then("suspect"), 0)))
    return implies(ready, above(view.then("drive"), 0))


LIGHT = (
    Obligation(
        "relight",
        "cut-offs close only behind dark (a release seen, a fresh press that is used up), delay "
        "and close, in that order",
        _relight,
    ),
    Obligation("relight-ready", "only a released trigger makes ready", _relight_ready),
    Obligation(
        "relight-used",
        "a press that finds a hard reason to be dark is used up",
        _relight_used,
    ),
    Obligation(
        "relight-held",
        "a released trigger or any hard reason ends delay and close as well",
        _relight_held,
    ),
    Obligation(
        "relight-drive",
        "drive leaves 0 only out of mode close, or where the cut-offs were closed all along",
        _relight_drive,
    ),
    Obligation(
        "indicate",
        "cut-offs close only with the indicator on and healthy for at least the delay",
        _indicate,
    ),
    Obligation(
        "indicate-on",
        "from the delay on and whenever there is drive the indicator is on",
        _indicate_on,
    ),
    Obligation(
        "indicate-counts",
        "each tick adds one at most to the healthy indicator's clock; one sick tick starts it over",
        _indicate_counts,
    ),
    Obligation(
        "close", "cut-off A closes only onto an output at or below the safe voltage", _close
    ),
    Obligation(
        "enable",
        "both cut-offs are closed in lit modes and open in all others; the latch is reset in mode "
        "close alone",
        _enabled,
    ),
    Obligation(
        "pulse",
        "the dynamic enable turns over in every lit tick and rests while dark",
        _pulse,
    ),
    Obligation("auto-off", "light counts its ticks and ends with the longest use", _auto_off),
    Obligation(
        "live",
        "in health, with the trigger held, stages and ticks left fall at every tick until run or "
        "limited",
        _live,
    ),
    Obligation(
        "live-light", "in health there is drive in the very tick that closes A", _live_light
    ),
)
