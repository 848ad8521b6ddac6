"""The few lines that let one file load in MicroPython and in CPython."""

try:
    import micropython
    from micropython import const

    ptr32 = None
except ImportError:

    class micropython:
        @staticmethod
        def viper(function):
            return function

    def const(value):
        return value

    ptr32 = None
