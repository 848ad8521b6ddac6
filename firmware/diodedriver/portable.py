"""The few lines that let one file load in MicroPython and in CPython; its types: `portable.pyi`.

A file that is to run as viper machine code carries exactly this line, and no other import::

    from diodedriver.portable import const, micropython, ptr32

It decorates every function with the literal ``@micropython.viper`` (MicroPython's compiler knows
it by that spelling alone, ``@viper`` stays bytecode) and assigns every ``_NAME = const(...)``
itself: an imported constant is looked up at run time, one with the underscore is compiled in.
"""

try:
    import micropython
    from micropython import const
except ImportError:

    class micropython:
        @staticmethod
        def viper(function):
            return function

    def const(value):
        return value


# viper knows the word `ptr32` by itself; CPython evaluates the annotation and needs a name
ptr32 = None
