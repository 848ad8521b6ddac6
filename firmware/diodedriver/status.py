"""The two condition registers of SCPI, as sums of what the law and the program say.

Bits 0 to 8 and 13 upwards are SCPI-99's (volume 1, chapter 9, and volume 2, STATus); bits 9 to 12
are each device's own. Nothing here allocates: both are looked at in every turn of the main loop.
"""

from diodedriver import words

MYPY = False
if MYPY:
    from diodedriver.panel import Panel

OPERATION = (
    (1, "settling: indicator on, emission delay, cut-offs closing, or the rise"),
    (5, "waiting for the trigger: dark, and a fresh press would light"),
    (8, "lit"),
    (9, "held below the level asked for by a cap"),
    (10, "a burst is being kept"),
    (11, "the self-test runs"),
    (12, "held dark behind an end that was not clean, until the pack has rested"),
)
QUESTIONABLE = (
    (0, "voltage: a row about pack or output is latched"),
    (1, "current: a row about the diode's current is latched"),
    (2, "time: a late tick, an old heartbeat or an old reading is latched"),
    (4, "temperature: a row about a temperature is latched"),
    (8, "calibration: settings or the law's state are not to be trusted"),
    (9, "something is latched; STATus:CAUSe? says what came first"),
    (10, "light is impossible until the next boot; STATus:BARRed? says why"),
    (11, "the self-test failed"),
    (12, "the emission indicator is not healthy"),
)
# fault row -> bit of QUESTIONABLE, beside bit 9
FAULT_BITS = {
    "settings": 8,
    "state": 8,
    "latch": 1,
    "overcurrent": 1,
    "stuck": 1,
    "short": 0,
    "open": 0,
    "follow": 1,
    "hot": 4,
    "junction": 4,
    "heat": 4,
    "sensor": 4,
    "stale": 2,
    "indicator": 12,
    "pack_wrong": 0,
    "pack_min": 0,
    "pack_low": 0,
    "late": 2,
    "beat": 2,
    "charged": 0,
}
_ROW_BITS = bytes([FAULT_BITS[row[0]] for row in words.FAULTS])
# bits of OPERATION by the law's mode, in the order of words.MODES
_MODE_BITS = {"delay": 2, "close": 2, "start": 2 | 256, "soft_start": 2 | 256, "run": 256}
_MODE_BITS["limited"] = 256 | 512
_BY_MODE = tuple([_MODE_BITS.get(row[0], 0) for row in words.MODES])
_DARK = 1
_ALWAYS = 1 << 9


def operation(panel: "Panel") -> int:
    """Return what goes on, as bits of OPERATION."""
    bits = 1 << 11 if panel.testing() else 0
    if panel.live():
        mode = panel.mode_now()
        bits |= _BY_MODE[mode]
        if panel.held():
            bits |= 1 << 12
        elif mode == _DARK and panel.allowed():
            bits |= 1 << 5
    if panel.bursting():
        bits |= 1 << 10
    return bits


def questionable(panel: "Panel") -> int:
    """Return what is wrong, as bits of QUESTIONABLE."""
    faults = panel.faults_now()
    bits = _ALWAYS if faults else 0
    row = 0
    while faults:
        if faults & 1:
            bits |= 1 << _ROW_BITS[row]
        faults >>= 1
        row += 1
    if panel.barred_by():
        bits |= 1 << 10
    if panel.self_test() > 0:
        bits |= 1 << 11
    return bits
