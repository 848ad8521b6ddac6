"""Fixed values of the reference board that no build file states."""

#: Controller rail [V].
RAIL_V = 3.3
#: Known voltage that checks the ADC's reference [V].
CHECK_V = 1.25
#: Emission indicator: its current [A] and the resistor that senses it [ohm].
INDICATOR_A = 0.005
INDICATOR_SENSE_OHM = 200.0
#: The self-test's trickle is clamped at this share of the over-voltage trip: above every diode's
#: knee (see `open_mV`), below the trip.
TRICKLE_SHARE = 0.96
#: The self-test's injected trip is a pulse: so much above the trip's highest, so many times the
#: comparator's delay long. A comparator that has drifted up or become slow does not answer to it.
INJECT_OVER_TRIP = 1.05
INJECT_OVER_DELAY = 2.0
#: Set PWM counts at full duty: 125 MHz / 100 kHz.
DUTY_TOP = 1250
#: Lowest input of the controller's regulator [V]; one that boosts as well.
REGULATOR_MIN_V = 2.5
#: What an undriven pin may source [A]: erratum E9 of a common controller (RP2350 data sheet).
PIN_LEAK_A = 120e-6
#: Controller's supply: drop of the ideal diode ahead of its hold-up capacitor [V]; efficiency of
#: its regulator. Typical, no source.
SUPPLY_DROP_V = 0.03
REGULATOR_EFFICIENCY = 0.9
#: What a pin is sure to give when high, and the least of its own pull resistor [ohm] (RP2040 data
#: sheet, table of pin characteristics).
PIN_HIGH_V = 2.62
PIN_PULL_MIN_OHM = 50e3
