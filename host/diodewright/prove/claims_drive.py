"""Claims about how much light: never above a cap, slow up, fast down, trim within its authority."""

from diodedriver import words
from diodewright.prove import terms
from diodewright.prove.obligation import Obligation, Setup
from diodewright.prove.terms import Bool, Int, add, all_of, any_of, eq, le, negate, scale, sub
from diodewright.prove.view import MODE, View, above, greatest, implies, least, within

__all__ = ["DRIVE"]


def _q64(current_mA: Int) -> Int:
    return scale(current_mA, 64)


def _free(view: View) -> Bool:
    """Return whether the light is on behind this tick, of a stage with a set input."""
    return all_of((view.lit(then=True), eq(view.limit("gate_mA"), 0)))


def _set_mA(view: View) -> Int:
    """Return what is asked for: the start level, on the rise the greater of it and the level."""
    start, level = view.limit("start_mA"), view.level()
    rising = terms.ite(eq(view.then("mode"), MODE["soft_start"]), greatest(start, level), level)
    return terms.ite(eq(view.then("mode"), MODE["start"]), start, rising)


def _max(view: View) -> Bool:
    falling = sub(view.s("drive"), view.limit("fall_q64"))
    asked = add(_set_mA(view), view.limit("authority_mA"))
    cap = _q64(least(view.then("allowed"), asked))
    return implies(_free(view), le(view.then("drive"), greatest(cap, falling)))


def _absolute(view: View) -> Bool:
    return le(view.then("drive"), _q64(view.limit("absolute_mA")))


def _fall(view: View) -> Bool:
    capped = above(view.s("drive"), _q64(view.then("allowed")))
    target = greatest(_q64(view.then("allowed")), sub(view.s("drive"), view.limit("fall_q64")))
    return implies(all_of((_free(view), capped)), le(view.then("drive"), target))


def _rise(view: View) -> Bool:
    step = terms.ite(eq(view.s("drive"), 0), _q64(view.limit("start_mA")), view.limit("rise_q64"))
    return le(view.then("drive"), add(view.s("drive"), step))


def _trim_mA(view: View) -> Bool:
    shift = sub(view.then("trim"), words.TRIM_BIAS)
    authority = _q64(view.limit("authority_mA"))
    return within(shift, scale(authority, -1), authority)


def _trim_dark(view: View) -> Bool:
    return implies(negate(view.lit(then=True)), eq(view.then("trim"), words.TRIM_BIAS))


def _trim_frozen(view: View) -> Bool:
    """Return whether the trim only moves in settled, unsuspicious light.

    A trim beyond its authority (of settings changed while dark) is brought back; that is no move.
    """
    authority = _q64(view.limit("authority_mA"))
    before = sub(view.s("trim"), words.TRIM_BIAS)
    kept = greatest(scale(authority, -1), least(authority, before))
    still = eq(view.then("trim"), add(kept, words.TRIM_BIAS))
    settled = all_of(
        (
            eq(view.then("mode"), MODE["run"]),
            eq(view.then("suspect"), 0),
            eq(view.s("drive"), add(_q64(view.level()), before)),
        )
    )
    return implies(view.lit(then=True), any_of((still, settled)))


def _trim_capped(view: View) -> Bool:
    """Return whether a light that runs and is capped is "limited", where the trim is frozen."""
    was = within(view.s("mode"), MODE["run"], MODE["limited"])
    capped = negate(eq(view.then("bound"), 0))
    return implies(
        all_of((was, view.lit(then=True), capped)), eq(view.then("mode"), MODE["limited"])
    )


def _bound(view: View) -> Bool:
    """Return whether "bound" tells exactly whether less is allowed than is asked for."""
    less = above(view.level(), view.then("allowed"))
    return eq(terms.ite(less, 0, 1), terms.ite(eq(view.then("bound"), 0), 1, 0))


def _allowed(view: View) -> Bool:
    return within(view.then("allowed"), 1, view.limit("top_mA"))


def _cap(view: View, reading: Int, hot: Int, left: str) -> Bool:
    return implies(le(hot, reading), le(view.then("allowed"), view.limit(left)))


def _caps(view: View) -> Bool:
    """Return whether each cap, where it ends, leaves no more than it says."""
    return all_of(
        (
            _cap(view, view.r("lead_cK"), view.limit("hot_cK"), "dim_mA"),
            _cap(view, view.r("junction_cK"), view.limit("junction_hot_cK"), "dim_mA"),
            _cap(view, view.limit("cutback_end_mV"), view.r("rest_mV"), "reserve_mA"),
            _cap(view, view.then("budget"), view.limit("budget_cap"), "sustain_mA"),
        )
    )


def _budget(view: View) -> Bool:
    return within(view.then("budget"), 0, view.limit("budget_cap"))


def _room(view: View) -> tuple[Int, Bool]:
    room = sub(view.r("pack_mV"), view.r("output_mV"))
    on = all_of((view.lit(), negate(eq(view.limit("headroom_mV"), 0))))
    return room, on


def _headroom(view: View) -> Bool:
    room, on = _room(view)
    short = above(scale(view.limit("headroom_mV"), 2), room)
    most = greatest(view.s("drive"), _q64(view.limit("start_mA")))
    return implies(all_of((on, short)), le(view.then("drive"), most))


def _headroom_floor(view: View) -> Bool:
    """Return whether the headroom alone never allows less than the start level."""
    held = eq(view.then("bound"), words.BOUNDS.index("headroom"))
    return implies(held, le(view.limit("start_mA"), view.then("allowed")))


def _gated(view: View) -> Bool:
    gate, start = view.limit("gate_mA"), view.limit("start_mA")
    fixed = any_of((eq(view.then("drive"), 0), eq(view.then("drive"), _q64(start))))
    lights = all_of((negate(view.lit()), view.lit(then=True)))
    enough = all_of(
        (
            implies(view.lit(then=True), le(gate, view.then("allowed"))),
            implies(lights, le(start, view.then("allowed"))),
        )
    )
    return implies(above(gate, 0), all_of((fixed, enough)))


def _restart(view: View) -> Bool:
    lights = all_of((negate(view.lit()), view.lit(then=True)))
    begins = all_of(
        (
            eq(view.then("mode"), MODE["start"]),
            le(view.then("drive"), _q64(view.limit("start_mA"))),
            eq(view.then("ramp"), 0),
        )
    )
    return implies(lights, begins)


def _rise_begins(view: View) -> Bool:
    rises = eq(view.then("mode"), MODE["soft_start"])
    begun = all_of((rises, negate(eq(view.s("mode"), MODE["soft_start"]))))
    first = all_of((eq(view.s("mode"), MODE["start"]), eq(view.then("ramp"), 1)))
    return implies(begun, first)


def _clamp(view: View) -> Bool:
    """Return whether 10 A is never passed; the two words of the duty are in their own range."""
    duty = all_of(
        within(view.limit(name), *words.LIMITS[words.index(words.LIMITS, name)][2:4])
        for name in ("duty_full_mA", "duty_top")
    )
    return implies(duty, within(view.then("drive"), 0, 64 * 10000))


DRIVE = (
    Obligation(
        "max",
        "drive is at most the least of what is allowed and the level asked for (on the rise the "
        "greater of it and the start level) plus the trim's authority, or falls by its fall step",
        _max,
    ),
    Obligation("max-absolute", "drive is at most the absolute maximum", _absolute),
    Obligation(
        "fall",
        "drive above what is allowed comes down to it, or by its fall step (a trip: see zero)",
        _fall,
    ),
    Obligation(
        "rise",
        "drive rises by its rise step at most, trim and cap release included; from 0 to the start "
        "level at most",
        _rise,
    ),
    Obligation("trim", "the trim stays within its authority for any reading", _trim_mA),
    Obligation("trim-dark", "the trim is 0 while dark", _trim_dark),
    Obligation(
        "trim-frozen",
        "the trim moves only in mode run, with nothing suspect and the drive exactly at level plus "
        "trim",
        _trim_frozen,
    ),
    Obligation(
        "trim-capped",
        "light in run or limited that is capped is in mode limited in the same tick (there the "
        "trim is frozen)",
        _trim_capped,
    ),
    Obligation("bound", "a bound is told exactly where less is allowed than is asked for", _bound),
    Obligation("allowed", "what is allowed is at least 1 mA and at most the top", _allowed),
    Obligation(
        "caps",
        "a mount or junction at its hot end, a pack at the end of its cutback and a full budget "
        "allow no more than dim, reserve and sustained current",
        _caps,
    ),
    Obligation("budget", "the heat budget stays between empty and full", _budget),
    Obligation(
        "headroom",
        "lit and short of twice the headroom: drive doesn't rise above what it is or the start "
        "level",
        _headroom,
    ),
    Obligation(
        "headroom-floor",
        "headroom alone never allows less than the start level",
        _headroom_floor,
    ),
    Obligation(
        "gated",
        "a gated stage is driven at 0 or its start level; lit only where its gate is allowed, "
        "lights only where its start level is",
        _gated,
    ),
    Obligation(
        "restart",
        "every light begins in mode start, at the start level at most, its ramp at its begin",
        _restart,
    ),
    Obligation(
        "restart-rise", "every rise begins behind mode start at its first step", _rise_begins
    ),
    Obligation(
        "copy-clamp",
        "whatever limits (but those of the duty) and state say, what is put out is 0 to 10 A",
        _clamp,
        (
            Setup(
                "put_out",
                ("state", "limits", "readings"),
                stray_state=True,
                stray_limits=True,
            ),
        ),
    ),
)
