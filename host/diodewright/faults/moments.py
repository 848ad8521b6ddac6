"""The moments of a use at which faults strike, as data; `rehearse.moments` finds them in a run."""

__all__ = ["CORE", "MOMENTS", "SLOW"]

#: Moment -> meaning, in the order of a use. A tenth of the soft-start that has a name of its own
#: (its half) keeps that.
MOMENTS: dict[str, str] = {
    "dark": "armed and dark, a second before the press",
    "delay": "half way through the emission delay",
    "start": "the stage just enabled, at its start level",
    "soft-start-0": "the first tick of the soft-start",
    "soft-start-1": "a tenth up the soft-start",
    "soft-start-2": "two tenths up",
    "soft-start-3": "three tenths up",
    "soft-start-4": "four tenths up",
    "soft-start": "half way up the soft-start",
    "soft-start-6": "six tenths up",
    "soft-start-7": "seven tenths up",
    "soft-start-8": "eight tenths up",
    "soft-start-9": "nine tenths up",
    "run-1": "the first tick at the level",
    "run-10": "ten ticks at the level",
    "warming": "ten seconds into steady light",
    "steady": "one minute into steady light",
    "cutback": "twenty seconds into thermal cutback",
    "level-step": "as the lowest level is chosen; the highest again two seconds later",
    "release": "as the trigger is let go",
    "released": "a second after that; pressed again a second later",
    "latched": "a second after the comparator latched; cleared and pressed again",
    "pack-cutback": "five seconds into the pack's cutback",
    "locked-out": "locked out by an empty pack; pressed again",
}
#: What shows itself only in minutes strikes at these: tenths of a second are the same to it.
SLOW = frozenset(("dark", "steady", "cutback", "pack-cutback"))
#: Moments at which pairs of faults strike as well: one of the rise, one of steady light.
CORE = ("soft-start", "steady")
