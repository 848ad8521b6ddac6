"""What the ADC's pins see, which is never the truth: lags, dividers, amplifiers, their faults.

Equations. Monitor: first-order filter, then ``zero + I R gain``. Dividers: ratio, loaded by the
ADC's input resistance at their source resistance. NTC temperature: first-order lag of the mount
or sink, exact over the sub-step; a detached NTC follows the air with a lag of its own. NTC
resistance: Beta, ``R = R25 exp(B (1/T - 1/298.15 K))``, or the inverse of Steinhart-Hart,
``1/T = A + B ln R + C ln^3 R``: with ``y = (A - 1/T)/C`` and ``z = sqrt((B/3C)^3 + y^2/4)``,
``ln R = cbrt(z - y/2) - cbrt(z + y/2)``. The NTC hangs from a pull-up at the rail, the ADC's
input resistance across it. ADC: 12 bits, ``code = V / Vref * 4095``, rounded, saturated.

Source. Steinhart-Hart and Beta as in IEC 60539-1 and thermistor practice; checked against
published tables. ADC 12 bits, 100 kOhm least input resistance: RP2040 data sheet.

Validity. NTC -55 to +150 degC. Left out: an NTC's self-heating (about 0.1 K), uneven ADC codes
(near 512, 1536, 2560, 3584), aliasing of ripple, the multiplexer's settling. Pins are held
between 0 V and the rail. A fault acts on the reading only: an open or shorted shunt that also
changes the circuit is a change of `monitor_ohm` or `diode_open` besides.

Every reading keeps its last voltage (``..._held_V``): that is what a frozen one goes on showing.
"""

import math

from diodewright.plant.factors import faded
from diodewright.plant.kernel import Record, kernel

KELVIN_0_degC = 273.15
NTC_REF_K = 298.15
NTC_MIN_K = 200.0
ADC_TOP = 4095
LCG_FACTOR = 1664525
LCG_ADD = 1013904223
LCG_SPAN = 4294967296
TRIANGLE_RMS = 2.449489742783178


@kernel
def follow_sensors(p: Record, x: Record) -> None:
    """Move the lags of monitor and NTCs by a sub-step."""
    x.monitor_A = faded(x.diode_A + (x.monitor_A - x.diode_A) * p.monitor_decay)
    mount_degC = p.ambient_degC if p.mount_read_fault == 4.0 else x.mount_degC
    x.mount_ntc_degC = mount_degC + (x.mount_ntc_degC - mount_degC) * p.mount_ntc_decay
    sink_degC = p.ambient_degC if p.sink_read_fault == 4.0 else x.sink_degC
    x.sink_ntc_degC = sink_degC + (x.sink_ntc_degC - sink_degC) * p.sink_ntc_decay


@kernel
def pin_V(
    rail_V: float, true_V: float, gain: float, offset_V: float, fault: float, held_V: float
) -> float:
    """Return the voltage [V] of a pin that should show `true_V` [V], with its faults."""
    if fault == 3.0:
        return held_V
    volts = true_V * gain + offset_V
    if fault == 1.0:
        volts = 0.0
    elif fault == 2.0:
        volts = rail_V
    if volts > rail_V:
        volts = rail_V
    if volts < 0.0:
        volts = 0.0
    return volts


@kernel
def divided_V(true_V: float, ratio: float, source_ohm: float, adc_ohm: float) -> float:
    """Return a divider's voltage [V], loaded by the ADC's input resistance [ohm]."""
    return true_V * ratio * adc_ohm / (adc_ohm + source_ohm)


@kernel
def current_pin_V(p: Record, x: Record) -> float:
    """Return the pin voltage [V] that shows the diode current."""
    true_V = p.monitor_zero_V + x.monitor_A * p.monitor_ohm * p.monitor_gain_V_V
    x.current_held_V = pin_V(
        x.rail_V,
        true_V,
        p.current_read_gain,
        p.current_read_offset_V,
        p.current_read_fault,
        x.current_held_V,
    )
    return float(x.current_held_V)


@kernel
def output_pin_V(p: Record, x: Record) -> float:
    """Return the pin voltage [V] that shows the output voltage."""
    true_V = divided_V(x.output_V, p.output_ratio, p.output_source_ohm, p.adc_ohm)
    x.output_held_V = pin_V(
        x.rail_V,
        true_V,
        p.output_read_gain,
        p.output_read_offset_V,
        p.output_read_fault,
        x.output_held_V,
    )
    return float(x.output_held_V)


@kernel
def pack_pin_V(p: Record, x: Record) -> float:
    """Return the pin voltage [V] that shows the pack voltage."""
    true_V = divided_V(x.pack_V, p.pack_ratio, p.pack_source_ohm, p.adc_ohm)
    x.pack_held_V = pin_V(
        x.rail_V, true_V, p.pack_read_gain, p.pack_read_offset_V, p.pack_read_fault, x.pack_held_V
    )
    return float(x.pack_held_V)


@kernel
def check_pin_V(p: Record, x: Record) -> float:
    """Return the pin voltage [V] of the known voltage that checks the ADC's reference."""
    x.check_held_V = pin_V(
        x.rail_V,
        p.check_V,
        p.check_read_gain,
        p.check_read_offset_V,
        p.check_read_fault,
        x.check_held_V,
    )
    return float(x.check_held_V)


@kernel
def indicator_pin_V(p: Record, x: Record) -> float:
    """Return the pin voltage [V] that shows the indicator's current."""
    true_V = x.indicator_lit * p.indicator_A * p.indicator_sense_ohm
    x.indicator_held_V = pin_V(
        x.rail_V,
        true_V,
        p.indicator_read_gain,
        p.indicator_read_offset_V,
        p.indicator_read_fault,
        x.indicator_held_V,
    )
    return float(x.indicator_held_V)


@kernel
def ntc_ohm(p: Record, ntc_degC: float) -> float:
    """Return the resistance [ohm] of the NTC at `ntc_degC` [degC], by Beta or Steinhart-Hart."""
    kelvin = ntc_degC + KELVIN_0_degC
    if kelvin < NTC_MIN_K:
        kelvin = NTC_MIN_K
    if p.ntc_kind == 0.0:
        return float(p.ntc_25_ohm * math.exp(p.ntc_beta_K * (1.0 / kelvin - 1.0 / NTC_REF_K)))
    y = (p.ntc_sh_A - 1.0 / kelvin) / p.ntc_sh_C
    third = p.ntc_sh_B / (3.0 * p.ntc_sh_C)
    z = math.sqrt(third * third * third + 0.25 * y * y)
    high = math.exp(math.log(z - 0.5 * y) / 3.0)
    low = math.exp(math.log(z + 0.5 * y) / 3.0)
    return math.exp(high - low)


@kernel
def ntc_pin_V(
    p: Record,
    x: Record,
    ntc_degC: float,
    gain: float,
    offset_V: float,
    fault: float,
    held_V: float,
) -> float:
    """Return the pin voltage [V] of an NTC at `ntc_degC` [degC]; open and shorted in the divider.

    `gain` multiplies its resistance. An open NTC leaves the ADC's input resistance: it reads
    cold, the dangerous way round.
    """
    low_ohm = p.adc_ohm
    if fault == 2.0:
        low_ohm = 0.0
    elif fault != 1.0:
        own_ohm = ntc_ohm(p, ntc_degC) * gain
        low_ohm = own_ohm * p.adc_ohm / (own_ohm + p.adc_ohm)
    true_V = x.rail_V * low_ohm / (low_ohm + p.ntc_pull_ohm)
    frozen = 3.0 if fault == 3.0 else 0.0
    return pin_V(x.rail_V, true_V, 1.0, offset_V, frozen, held_V)


@kernel
def mount_pin_V(p: Record, x: Record) -> float:
    """Return the pin voltage [V] of the mount's NTC."""
    x.mount_held_V = ntc_pin_V(
        p,
        x,
        x.mount_ntc_degC,
        p.mount_read_gain,
        p.mount_read_offset_V,
        p.mount_read_fault,
        x.mount_held_V,
    )
    return float(x.mount_held_V)


@kernel
def sink_pin_V(p: Record, x: Record) -> float:
    """Return the pin voltage [V] of the sink's NTC."""
    x.sink_held_V = ntc_pin_V(
        p,
        x,
        x.sink_ntc_degC,
        p.sink_read_gain,
        p.sink_read_offset_V,
        p.sink_read_fault,
        x.sink_held_V,
    )
    return float(x.sink_held_V)


@kernel
def ref_V(p: Record, x: Record) -> float:
    """Return the ADC's reference [V]; it sags with the rail."""
    return float(x.rail_V * p.ref_gain + p.ref_offset_V)


@kernel
def noise_lsb(p: Record, x: Record) -> float:
    """Return the next reading's noise [LSB]: triangular, `adc_noise_lsb` rms, own generator.

    Linear congruential, modulus 2^32 (factor and addend as in Numerical Recipes, from memory),
    in whole numbers so that both engines draw the same.
    """
    if p.adc_noise_lsb <= 0.0:
        return 0.0
    first = (int(x.noise_state) * LCG_FACTOR + LCG_ADD) % LCG_SPAN
    second = (first * LCG_FACTOR + LCG_ADD) % LCG_SPAN
    x.noise_state = float(second)
    triangle = float(first + second) / LCG_SPAN - 1.0
    return float(p.adc_noise_lsb * TRIANGLE_RMS * triangle)


@kernel
def adc_code(volts: float, reference_V: float, noise: float) -> int:
    """Return the 12-bit code of `volts` [V] at `reference_V` [V] with `noise` [LSB], saturated."""
    if reference_V <= 0.0:
        return 0
    level = volts / reference_V * ADC_TOP + noise + 0.5
    if level <= 0.0:
        return 0
    if level >= ADC_TOP:
        return ADC_TOP
    return int(level)
