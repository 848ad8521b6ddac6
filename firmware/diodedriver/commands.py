"""The table of commands: all that serial understands is a row here.

A row is (header, parameters, when, act, what it does). A header is in SCPI's notation: capitals
are the short form, brackets hold what may be left out, a question mark asks. A parameter is
(name, kind, unit, least, greatest, default) in the integer that `act` takes: mA for "A", ms for
"S"; an end that is a name moves, see `Port.bound`. `when`: ANY, or DARK: refused with -221 while
lit, about to light, or in the self-test.
"""

from diodedriver import acts

MYPY = False
if MYPY:
    from typing import Any

ANY = "any"
DARK = "dark"
# so that it fits a line, twice as long in hexadecimal
LONGEST_PIECE = 96

_BYTE = (("bits", "number", "", 0, 255, None),)
_WORD = (("bits", "number", "", 0, 65535, 0),)
_CURRENT = ("current", "number", "A", "start", "limit", "start")
_LIMIT = ("limit", "number", "A", "start", "highest", "highest")
_CURRENT_END = ("end", "extreme", "A", "start", "limit", "start")
_LIMIT_END = ("end", "extreme", "A", "start", "highest", "highest")
_PIECE = ("bytes", "hex", "", 1, LONGEST_PIECE, None)

COMMANDS: "tuple[tuple[Any, ...], ...]" = (
    ("*CLS", (), ANY, acts.clear, "empties the error queue and the event registers"),
    ("*ESE", _BYTE, ANY, acts.set_ese, "sets which events make bit 5 of the status byte"),
    ("*ESE?", (), ANY, acts.ese, "gives that"),
    ("*ESR?", (), ANY, acts.esr, "gives the standard event register and empties it"),
    ("*IDN?", (), ANY, acts.identity, "gives maker, build, this chip's number, version"),
    ("*OPC", (), ANY, acts.set_complete, "sets bit 0 of the standard event register"),
    ("*OPC?", (), ANY, acts.complete, "gives 1: every command is done before the next is read"),
    ("*RST", (), ANY, acts.reset, "output off, telemetry off, asks for the start level"),
    ("*SRE", _BYTE, ANY, acts.set_sre, "sets which bits make bit 6 of the status byte"),
    ("*SRE?", (), ANY, acts.sre, "gives that"),
    ("*STB?", (), ANY, acts.status_byte, "gives the status byte"),
    (
        "*TST?",
        (),
        ANY,
        acts.self_test,
        "gives the boot's self-test: 0 passed, else the step that failed, -1 never ended",
    ),
    ("*WAI", (), ANY, acts.wait, "does nothing: every command is done before the next is read"),
    ("SYSTem:ERRor[:NEXT]?", (), ANY, acts.next_error, "gives the oldest error and drops it"),
    ("SYSTem:VERSion?", (), ANY, acts.version, "gives the version of SCPI"),
    (
        "SYSTem:HOURs?",
        (),
        ANY,
        acts.hours,
        "gives lit time [s] and starts; neither counts what a power cut ended",
    ),
    ("SYSTem:MAINtenance", (), DARK, acts.maintain, "restarts into a boot that can't light"),
    (
        "SYSTem:SERVice",
        (("note", "text", "", 1, 64, None),),
        DARK,
        acts.service,
        "writes down that what a service fault showed was mended; in maintenance only",
    ),
    ("STATus:OPERation[:EVENt]?", (), ANY, acts.event(0), "gives what went on and empties it"),
    ("STATus:OPERation:CONDition?", (), ANY, acts.condition(0), "gives what goes on"),
    ("STATus:OPERation:ENABle", _WORD, ANY, acts.set_enable(0), "sets what makes bit 7"),
    ("STATus:OPERation:ENABle?", (), ANY, acts.enable(0), "gives that"),
    ("STATus:QUEStionable[:EVENt]?", (), ANY, acts.event(1), "gives what was wrong, empties it"),
    ("STATus:QUEStionable:CONDition?", (), ANY, acts.condition(1), "gives what is wrong"),
    ("STATus:QUEStionable:ENABle", _WORD, ANY, acts.set_enable(1), "sets what makes bit 3"),
    ("STATus:QUEStionable:ENABle?", (), ANY, acts.enable(1), "gives that"),
    ("STATus:PRESet", (), ANY, acts.preset, "empties both enable registers"),
    ("STATus:MODE?", (), ANY, acts.mode, "gives the law's mode, or `barred` or `testing`"),
    (
        "STATus:CAUSe?",
        (),
        ANY,
        acts.cause,
        "gives the first cause: row, name, clear rule, tick, reading, limit; row -1: none",
    ),
    ("STATus:BARRed?", (), ANY, acts.barred, "gives why light is impossible until the next boot"),
    (
        "MEASure[:SCALar]:CURRent[:DC]?",
        (),
        ANY,
        acts.measure("current_mA", acts.milli),
        "gives the diode's current [A]",
    ),
    (
        "MEASure[:SCALar]:VOLTage[:OUTPut][:DC]?",
        (),
        ANY,
        acts.measure("output_mV", acts.milli),
        "gives the stage's output [V]",
    ),
    (
        "MEASure[:SCALar]:VOLTage:PACK[:DC]?",
        (),
        ANY,
        acts.measure("pack_mV", acts.milli),
        "gives the pack's terminals [V]",
    ),
    (
        "MEASure[:SCALar]:VOLTage:KNEE[:DC]?",
        (),
        ANY,
        acts.knee,
        "gives the output with the boot's self-test trickle through the diode [V]",
    ),
    (
        "MEASure[:SCALar]:TEMPerature[:MOUNt]?",
        (),
        ANY,
        acts.measure("mount_cK", acts.celsius),
        "gives the diode's mount [degC]",
    ),
    (
        "MEASure[:SCALar]:TEMPerature:SINK?",
        (),
        ANY,
        acts.measure("sink_cK", acts.celsius),
        "gives the sink [degC]",
    ),
    (
        "MEASure[:SCALar]:TEMPerature:JUNCtion?",
        (),
        ANY,
        acts.measure("junction_cK", acts.celsius),
        "gives the law's estimate of the junction [degC], not a reading",
    ),
    (
        "[SOURce:]CURRent[:LEVel][:IMMediate][:AMPLitude]",
        (_CURRENT,),
        ANY,
        acts.set_current,
        "asks for a current; a lit diode moves there by the law's ramp, under all its caps",
    ),
    (
        "[SOURce:]CURRent[:LEVel][:IMMediate][:AMPLitude]?",
        (_CURRENT_END,),
        ANY,
        acts.current,
        "gives the current asked for [A], or an end of its range",
    ),
    (
        "[SOURce:]CURRent:LIMit",
        (_LIMIT,),
        ANY,
        acts.set_limit,
        "sets the highest current that serial may ask for: falls at any time, rises while dark",
    ),
    ("[SOURce:]CURRent:LIMit?", (_LIMIT_END,), ANY, acts.limit, "gives that [A]"),
    (
        "[SOURce:]STEP",
        (("number", "number", "", 0, 3, 0),),
        ANY,
        acts.set_level,
        "asks for a named level, where it is not above the limit",
    ),
    ("[SOURce:]STEP?", (), ANY, acts.level, "gives which named level is asked for"),
    (
        "OUTPut[:STATe]",
        (("state", "switch", "", 0, 1, None),),
        ANY,
        acts.allow,
        "OFF: dark at once. ON: the trigger may light, once it was let go; lights nothing itself",
    ),
    ("OUTPut[:STATe]?", (), ANY, acts.allowed, "gives 1 where the trigger may light"),
    (
        "OUTPut:PROTection:CLEar",
        (),
        ANY,
        acts.clear_protection,
        "is refused while a row is latched: each clears by an act at the light itself",
    ),
    ("OUTPut:PROTection:TRIPped?", (), ANY, acts.tripped, "gives 1 where a row is latched"),
    (
        "TELemetry[:RATE]",
        (("rate", "number", "HZ", 0, 50, 0),),
        ANY,
        acts.set_telemetry,
        "sends so many lines a second; 0: none",
    ),
    ("TELemetry[:RATE]?", (), ANY, acts.telemetry, "gives that [Hz]"),
    (
        "BURSt:STARt",
        (("length", "number", "S", 1, 6000, 6000),),
        ANY,
        acts.start_burst,
        "keeps every tick from now on; the first one since boot only while dark",
    ),
    ("BURSt:COUNt?", (), ANY, acts.burst, "gives ticks kept, ticks asked for"),
    ("BURSt:FIRSt:STATe?", (), DARK, acts.burst_first(0), "gives the state at the first tick"),
    ("BURSt:FIRSt:READing?", (), DARK, acts.burst_first(1), "gives the readings at that tick"),
    (
        "BURSt:ROWS?",
        (
            ("row", "number", "", 0, 5999, None),
            ("count", "number", "", 1, 32, None),
        ),
        DARK,
        acts.burst_rows,
        "gives row, count, so many ticks of 16 hexadecimal digits",
    ),
    ("JOURnal:REWind", (), DARK, acts.rewind, "begins at the newest entry again"),
    (
        "JOURnal[:NEXT]?",
        (),
        DARK,
        acts.next_entry,
        "gives the next older entry: kind, boot, uptime [s], reset cause, row, mode, tick, limit, "
        'reading, all readings seen; "" at the end',
    ),
    ("SETTings:FINGerprint?", (), ANY, acts.fingerprint, "gives the build they came from"),
    (
        "SETTings:ASBuilt?",
        (),
        ANY,
        acts.as_built,
        "gives what was flashed: the passport over build, law and settings, and despite what",
    ),
    (
        "SETTings:BEGin",
        (("size", "number", "", 1, 4096, None),),
        DARK,
        acts.begin_settings,
        "makes room for a record of so many bytes",
    ),
    ("SETTings:DATA", (_PIECE,), DARK, acts.more_settings, "takes the record's next bytes"),
    ("SETTings:COUNt?", (), ANY, acts.settings_taken, "gives how many bytes were taken"),
    (
        "SETTings:COMMit",
        (("crc", "number", "", 0, 0xFFFFFFFF, None),),
        DARK,
        acts.commit_settings,
        "checks the record whole and stores it; no light until a restart",
    ),
)
