"""A `machine` that does nothing and notes everything that the firmware asks of it."""

notes = []
PWRON_RESET = 1
WDT_RESET = 3
# what every conversion gives
code_u16 = 0


class Pin:
    IN = 0
    OUT = 1
    PULL_UP = 1
    PULL_DOWN = 2

    def __init__(self, number, mode=IN, pull=0, value=None):
        self.number = number
        if mode == self.OUT:
            notes.append(("out", number, value))

    def value(self, level=None):
        if level is not None:
            notes.append(("level", self.number, level))
        return 0


class PWM:
    def __init__(self, pin, freq=0, duty_u16=0):
        self.number = pin.number
        notes.append(("pwm", pin.number, duty_u16))

    def duty_u16(self, duty):
        notes.append(("duty", self.number, duty))


class ADC:
    def __init__(self, pin):
        self.number = pin.number
        notes.append(("adc", pin.number, 0))

    def read_u16(self):
        notes.append(("read", self.number, code_u16))
        return code_u16


class Timer:
    def __init__(self, number, freq=0, hard=False, callback=None):
        notes.append(("timer", freq, 1 if hard else 0))


class WDT:
    def __init__(self, timeout):
        notes.append(("wdt", timeout, 0))


def disable_irq():
    return 0


def enable_irq(_before):
    return None
