"""A controller in Python: throttle is duty with a bounded speed hold; let go, a brake ramps in.

Run: easeoff drive --controller-cmd "python3 hold.py"
"""

import sys

FULL_RAD_S = 57.0  # wheel speed that full throttle means
GAIN = 1.0  # duty per error, both as parts of full
GAIN_PER_S = 6.0  # and per second
AUTHORITY = 0.1  # the most duty it may add or take away
ONSET_S = 0.3  # how long the brake takes to come in
LOST_S = 0.1  # without a pulse for so long there is no signal


def number(cell):
    """An empty cell is a sensor that is not there, or no pulse in this tick."""
    return float(cell) if cell else None


def bounded(value, low, high):
    return max(low, min(high, value))


class Hold:
    def __init__(self, hz):
        self.hz = hz
        self.pulse_us = None
        self.silent = 0
        self.integral = 0.0
        self.brake = 0.0

    def step(self, pulse_us, speed_rad_s):
        self.silent += 1
        if pulse_us is not None:
            self.pulse_us, self.silent = pulse_us, 0
        if self.pulse_us is None or self.silent > LOST_S * self.hz:
            self.integral, self.brake = 0.0, 0.0
            return "coast", 0.0
        throttle = (self.pulse_us - 1500.0) / 500.0
        if throttle < 0.04:
            self.integral = 0.0
            self.brake = min(1.0, self.brake + 1.0 / (ONSET_S * self.hz))
            return "brake", self.brake
        self.brake = 0.0
        error = throttle - (speed_rad_s or 0.0) / FULL_RAD_S
        # Bounded, so that it does not wind up.
        self.integral = bounded(
            self.integral + GAIN_PER_S * error / self.hz, -AUTHORITY, AUTHORITY
        )
        added = bounded(GAIN * error + self.integral, -AUTHORITY, AUTHORITY)
        return "drive", bounded(throttle + added, 0.0, 1.0)


def main():
    protocol, version, hz = sys.stdin.readline().split(",")
    if (protocol, version) != ("easeoff", "1"):
        sys.exit("this controller speaks easeoff,1")
    sys.stdin.readline()  # the names of the fields
    print("ready,1,hold in Python,integral", flush=True)
    hold = Hold(int(hz))
    for line in sys.stdin:
        tick, _time_s, pulse_us, speed_rad_s, *_others = line.rstrip("\n").split(",")
        command, amount = hold.step(number(pulse_us), number(speed_rad_s))
        print(f"{tick},{command},{amount!r},{hold.integral!r}", flush=True)


main()
