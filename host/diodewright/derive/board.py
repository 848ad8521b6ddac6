"""Fixed values of the reference board that no build file states."""

#: Controller rail [V].
RAIL_V = 3.3
#: Known voltage that checks the ADC's reference [V].
CHECK_V = 1.25
#: Emission indicator: its current [A] and the resistor that senses it [ohm].
INDICATOR_A = 0.005
INDICATOR_SENSE_OHM = 200.0
#: Set PWM counts at full duty: 125 MHz / 100 kHz.
DUTY_TOP = 1250
