# The controller of hold.py as one writes it for a board with MicroPython: no classes, no objects made
# per tick beyond the line itself, and a step() that does not know where its numbers come from. On a
# board, serve() would read pins and set a PWM instead of lines.
#
# Run: easeoff drive --controller-cmd "micropython hold_micropython.py"

import sys

FULL_RAD_S = 57.0
GAIN = 1.0
GAIN_PER_S = 6.0
AUTHORITY = 0.1
ONSET_S = 0.3
LOST_S = 0.1

COAST, DRIVE, BRAKE = 0, 1, 2
NAMES = ("coast", "drive", "brake")

hz = 1000
pulse = 0.0
silent = 0
integral = 0.0
brake = 0.0
amount = 0.0


def bounded(value, low, high):
    return low if value < low else high if value > high else value


def step(pulse_us, speed_rad_s):
    """pulse_us: 0 when none ended in this tick. Returns the command; its amount is in `amount`."""
    global pulse, silent, integral, brake, amount
    silent += 1
    if pulse_us > 0:
        pulse = pulse_us
        silent = 0
    if pulse == 0 or silent > LOST_S * hz:
        integral = brake = amount = 0.0
        return COAST
    throttle = (pulse - 1500.0) / 500.0
    if throttle < 0.04:
        integral = 0.0
        brake = amount = bounded(brake + 1.0 / (ONSET_S * hz), 0.0, 1.0)
        return BRAKE
    brake = 0.0
    error = throttle - speed_rad_s / FULL_RAD_S
    integral = bounded(integral + GAIN_PER_S * error / hz, -AUTHORITY, AUTHORITY)
    added = bounded(GAIN * error + integral, -AUTHORITY, AUTHORITY)
    amount = bounded(throttle + added, 0.0, 1.0)
    return DRIVE


def say(line):
    sys.stdout.write(line + "\n")
    if hasattr(sys.stdout, "flush"):
        sys.stdout.flush()


def serve():
    global hz
    greeting = sys.stdin.readline().strip().split(",")
    if greeting[:2] != ["easeoff", "1"]:
        sys.exit(1)
    hz = int(greeting[2])
    sys.stdin.readline()  # the names of the fields
    say("ready,1,hold in MicroPython,integral")
    while True:
        line = sys.stdin.readline()
        if not line:
            return
        cells = line.split(",")
        command = step(float(cells[2] or 0), float(cells[3] or 0))
        say("%s,%s,%r,%r" % (cells[0], NAMES[command], amount, integral))


serve()
