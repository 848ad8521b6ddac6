"""The words of the bring-up page and of the acceptance sheet; their numbers come from builds."""

INTRO = """# Build it, bring it up

Written by `tools/write_bring_up_doc.py`; every band is worked out from the shipped build files.
Your own build has other values: put it into a build file first. Read the
[cautions](README.md#cautions) and [cells.md](cells.md) before anything has power.

**The diode comes last.** It is fitted when every check above it was seen good, and every guard
was seen to act, on a dummy.

## Assembly

One group at a time, checked before the next; a check that fails ends the day's soldering. Marks:
[circuit.md](circuit.md).
"""

ORDER = """
## First current, first light

Eyes: from step 3 on behind the closed, interlocked cover, eyewear on. Each step ends with every
level read, key, interlock and trigger each seen to make dark, and each comparator tripped once.

1. **Bench supply, dummy string.** {supply_V} V, current limit 0.1 A until the self-test passes
   (its number: below), then {limit_A} A: above the comparator's {trip_A} A, or a shorted stage
   stays unseen by it. The string stands where the diode will, on the diode's mount: rectifiers in
   series of {string_V} V at {string_A} A, any one of them rated for twice the trip.
2. **Cell pack, dummy string.** The same readings; plug the pack in ten times, look at F1 and at
   the contact.
3. **Bench supply, real diode.** Short its leads with a clip until they are joined; take the clip
   off with the power off. First the start level, {start_A} A, then one level after the other. The
   indicator is on for {delay_s} s before any light.
4. **Cell pack, real diode.**

What each level reads, for any diode within its data sheet's spread, cold to warm:
"""

BUILD = """
The build files of these steps: `smoke_tunnel_bench`, `smoke_tunnel_dummy`, `smoke_tunnel`. Step 1
feeds the string of the second from the supply of the first. Another light goes the same way:
"""

AFTER = """
A current that is right with a voltage that is too low: a shorted die or rectifier. Too high: a
joint, or a diode turned round. A supply current far above the band: the stage, not the diode.

## What the self-test says

It runs at every start and lights nothing. `*TST?` over serial gives 0, or the step that failed;
so do the blinks, five long and as many short as the number.
"""

WIRING = """
## Wiring

- **The diode's loop**: C2, R4, diode, A, back to C2. {loop_m} m there and back at most, its two
  wires twisted or one above the other: its inductance is what A has to take, and 1 uH/m is what
  leads have (CP).
- C1 and the stage's switches close the loop of the fast edges: millimetres, no wire.
- Shunts by their own taps. A's source, both shunts' grounds and the logic's ground meet in one
  point.
- Thermistors' pairs away from the inductor and from the diode's pair.
- Strain relief at every lead that moves. A lead that breaks must not touch the mount.

## Static

Wrist strap through **1 Mohm**, mat and iron on the same ground; a laser diode stays in its foam,
leads shorted, until it is joined. Its reverse limit is some 2 V: never an ohmmeter, never a
hot-air gun's bare tip. D3 is fitted before the diode.

## Heat, and a small tube
"""

HEAT = """
- **What may share the diode's sink:** the diode, and a linear stage's pass MOSFET through a pad
  of its own (its heat is counted there). **What may not:** inductor, buck switches, regulator,
  cells. Cells sit behind an air gap, never against the mount: 60 degC ends them.
- **Contact.** Flat, clean, thin paste or an insulating pad under even pressure; a press fit wants
  the whole length. Check: the mount's thermistor follows the sink's within the table's difference
  at the highest level, after ten minutes. Twice that difference: take it apart.
- **Thermistor.** RT1 in a hole of the mount itself, within 5 mm of the diode, in thermal epoxy;
  tug at it. RT2 on the sink's far end. Tape lets go when warm: a thermistor that comes off reads
  cold.
- **Insulation.** A case that is the cathode on a bare mount that touches ground bypasses cut-off
  A: such a build is refused. Measure above 1 Mohm from mount to ground where the build says
  insulated.
- **Order in the tube**, from the front: window, diode and mount, sink, driver board with A next
  to the diode, cells, switch. The diode's loop stays short; the pack's leads may be long.
"""

SHEET = """# Acceptance sheet

Written by `tools/write_bring_up_doc.py`. Print the light's own table; a light is accepted when
every line has its reading and its tick. Instruments: voltmeter, two-channel oscilloscope of 50
MHz, current-limited supply, thermometer.

Built by: ____________________  Serial: __________  Date: __________  Accepted by: ____________
"""
