"""The board's `time`, of the twin: the plant's clock."""

import machine

_WRAP = 0x3FFFFFFF
_HALF = 0x20000000


def ticks_us():
    return machine._now_ms * 1000 & _WRAP


def ticks_ms():
    return machine._now_ms & _WRAP


def ticks_diff(later, earlier):
    return ((later - earlier + _HALF) & _WRAP) - _HALF


def sleep_ms(ms):
    for _ in range(ms):
        machine.idle()
