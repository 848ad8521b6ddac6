"""What each command does: one function each, called with the port and the line's parameters.

A reply is text; a number is 0 for done, or SCPI's for why not.
"""

from binascii import crc32

from diodedriver import status, words

MYPY = False
if MYPY:
    from collections.abc import Callable

    from diodedriver.scpi import Port

    Asked = Callable[[Port], str | int]

OUT_OF_RANGE = -222
OPERATION_COMPLETE = 1
# SCPI-99's "not a number", volume 1, 7.2.1.5: there is no reading
NOT_A_NUMBER = "9.91E+37"
ZERO_cK = 27315
BOOT = 0
MOST_ENTRIES = 1000
# bits of an enable register that can be set: SCPI-99 keeps bit 15 at 0, 488.2 bit 6 of *SRE
STATUS_BITS = 0x7FFF
NOT_MSS = 0xBF

# how replies are written


def milli(value: int) -> str:
    """Return thousandths as a decimal number."""
    return f"{value // 1000}.{value % 1000:03d}"


def celsius(value_cK: int) -> str:
    """Return a temperature in hundredths of a kelvin as one in degrees Celsius."""
    value = value_cK - ZERO_cK
    sign = "-" if value < 0 else ""
    return f"{sign}{abs(value) // 100}.{abs(value) % 100:02d}"


def quoted(text: str) -> str:
    """Return text as string response data: printable ASCII, its quotes doubled."""
    clean = "".join([char if " " <= char <= "~" else "?" for char in text])
    return '"' + clean.replace('"', '""') + '"'


def sealed(text: str) -> str:
    """Return text, a comma, and its CRC-32 (ISO-HDLC, as in IEEE 802.3) in hexadecimal."""
    return f"{text},{crc32(text.encode()):08X}"


# IEEE 488.2


def clear(port: "Port") -> int:
    port.clear()
    return 0


def set_ese(port: "Port", bits: int) -> int:
    port.ese = bits
    return 0


def ese(port: "Port") -> str:
    return str(port.ese)


def esr(port: "Port") -> str:
    text = str(port.esr)
    port.esr = 0
    return text


def identity(port: "Port") -> str:
    return port.panel.identity()


def set_complete(port: "Port") -> int:
    port.esr |= OPERATION_COMPLETE
    return 0


def complete(_port: "Port") -> str:
    return "1"


def reset(port: "Port") -> int:
    panel = port.panel
    panel.allow(False)
    panel.telemetry(0)
    panel.set_current(panel.limit("start_mA"))  # refused while there is no level to change
    return 0


def set_sre(port: "Port", bits: int) -> int:
    port.sre = bits & NOT_MSS
    return 0


def sre(port: "Port") -> str:
    return str(port.sre)


def status_byte(port: "Port") -> str:
    return str(port.status_byte())


def self_test(port: "Port") -> str:
    return str(port.panel.self_test())


def wait(_port: "Port") -> int:
    return 0


# SCPI's own


def next_error(port: "Port") -> str:
    return port.next_error()


def version(_port: "Port") -> str:
    return "1999.0"


def preset(port: "Port") -> int:
    port.enables[0] = port.enables[1] = 0
    return 0


def event(which: int) -> "Asked":
    def act(port: "Port") -> str:
        port.watch()
        text = str(port.events[which])
        port.events[which] = 0
        return text

    return act


def condition(which: int) -> "Asked":
    def act(port: "Port") -> str:
        port.watch()
        return str(port.conditions[which])

    return act


def set_enable(which: int) -> "Callable[[Port, int], int]":
    def act(port: "Port", bits: int) -> int:
        port.enables[which] = bits & STATUS_BITS
        return 0

    return act


def enable(which: int) -> "Asked":
    def act(port: "Port") -> str:
        return str(port.enables[which])

    return act


# why it is dark


def mode(port: "Port") -> str:
    return quoted(port.panel.mode_name())


def cause(port: "Port") -> str:
    row, tick, reading, limit = port.panel.cause()
    name, rule = words.FAULTS[row][:2] if row >= 0 else ("", "")
    return f"{row},{quoted(name)},{quoted(rule)},{tick},{reading},{limit}"


def barred(port: "Port") -> str:
    return quoted(port.panel.barred_by())


# readings


def measure(name: str, write: "Callable[[int], str]") -> "Asked":
    def act(port: "Port") -> str:
        panel = port.panel
        if not panel.live() or panel.mode_now() == BOOT:
            return NOT_A_NUMBER
        panel.snapshot()
        return write(panel.reading(name))

    return act


def knee(port: "Port") -> str:
    mV = port.panel.knee()
    return NOT_A_NUMBER if mV < 0 else milli(mV)


# the level asked for, and the trigger's gate


def set_current(port: "Port", asked_mA: int) -> int:
    return port.panel.set_current(asked_mA)


def current(port: "Port", end_mA: int = -1) -> str:
    return milli(port.panel.current() if end_mA < 0 else end_mA)


def set_limit(port: "Port", asked_mA: int) -> int:
    return port.panel.set_current_limit(asked_mA)


def limit(port: "Port", end_mA: int = -1) -> str:
    return milli(port.panel.current_limit() if end_mA < 0 else end_mA)


def set_level(port: "Port", number: int) -> int:
    return port.panel.set_level(number)


def level(port: "Port") -> str:
    return str(port.panel.level())


def allow(port: "Port", on: int) -> int:
    return port.panel.allow(bool(on))


def allowed(port: "Port") -> str:
    return "1" if port.panel.allowed() else "0"


def clear_protection(port: "Port") -> int:
    return port.panel.clear_protection()


def tripped(port: "Port") -> str:
    return "1" if port.panel.faults_now() else "0"


# telemetry and burst

# (word, table); the host finds unit and meaning of each in the word tables
TELEMETRY = (
    ("tick", "state"),
    ("drive", "state"),
    ("trim", "state"),
    ("duty", "state"),
    ("enable", "state"),
    ("allowed", "state"),
    ("bound", "state"),
    ("hard", "state"),
    ("suspect", "state"),
    ("faults", "state"),
    ("current_mA", "reading"),
    ("output_mV", "reading"),
    ("pack_mV", "reading"),
    ("rest_mV", "reading"),
    ("indicator_uA", "reading"),
    ("mount_cK", "reading"),
    ("sink_cK", "reading"),
    ("junction_cK", "reading"),
    ("pins", "reading"),
    ("level", "reading"),
)


def telemetry_text(port: "Port") -> str:
    """Return one line of telemetry: the mode, then the words of TELEMETRY while the law runs."""
    panel = port.panel
    panel.snapshot()
    text = "@" + panel.seen_mode_name()
    if panel.live():
        for name, table in TELEMETRY:
            text += f",{panel.word(name) if table == 'state' else panel.reading(name)}"
    return sealed(text)


def set_telemetry(port: "Port", hertz: int) -> int:
    return port.panel.telemetry(hertz)


def telemetry(port: "Port") -> str:
    return str(port.panel.hertz)


def start_burst(port: "Port", ticks: int) -> int:
    return port.panel.burst_start(ticks)


def burst(port: "Port") -> str:
    kept, asked = port.panel.burst_state()
    return f"{kept},{asked}"


def burst_first(which: int) -> "Asked":
    def act(port: "Port") -> "str | int":
        first = port.panel.burst_begin()
        if first is None:
            return OUT_OF_RANGE
        return sealed(",".join([str(word) for word in first[which]]))

    return act


def burst_rows(port: "Port", row: int, count: int) -> "str | int":
    panel = port.panel
    if row + count > panel.burst_state()[0]:
        return OUT_OF_RANGE
    text = f"{row},{count}"
    for place in range(row, row + count):
        first, second = panel.burst_read(place)
        text += f",{first:08X}{second:08X}"
    return sealed(text)


# journal, settings, service


def rewind(port: "Port") -> int:
    port.entries = iter(port.panel.journal_entries(MOST_ENTRIES))
    return 0


def next_entry(port: "Port") -> str:
    if port.entries is None:
        rewind(port)
    for entry in port.entries or ():
        return sealed(_flat(entry))
    port.entries = None
    return '""'


def _flat(value: object) -> str:
    """Return text quoted, numbers as they are, and what holds several of them one by one."""
    if isinstance(value, (list, tuple)):
        return ",".join([_flat(part) for part in value])
    return quoted(value) if isinstance(value, str) else str(value)


def fingerprint(port: "Port") -> str:
    return quoted(port.panel.settings_fingerprint())


def as_built(port: "Port") -> str:
    return quoted(port.panel.as_built())


def begin_settings(port: "Port", size: int) -> int:
    return port.panel.settings_begin(size)


def more_settings(port: "Port", piece: bytes) -> int:
    return port.panel.settings_data(piece)


def settings_taken(port: "Port") -> str:
    return str(port.panel.got)


def commit_settings(port: "Port", checksum: int) -> int:
    return port.panel.settings_commit(checksum)


def maintain(port: "Port") -> int:
    return port.panel.maintenance()


def hours(port: "Port") -> str:
    lit_s, starts = port.panel.hours()
    return f"{lit_s},{starts}"


def service(port: "Port", text: str) -> int:
    return port.panel.service_done(text)


WATCHED = (status.operation, status.questionable)
