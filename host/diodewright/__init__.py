"""diodewright: size, rehearse and judge a small battery-powered light around one diode."""

__version__ = "0.1.0"
