"""The speed hold as a linear loop, with python-control.

    python3 tests/reference/loops.py FOLDER

reads what `cargo xtask reference FOLDER` wrote. The book's equations, as reference.py codes them, are
solved for the steady speed and linearised there by differences; the hold is the law in
docs/src/controls.md. python-control samples the plant with the duty held from tick to tick, closes the
loop, and says how it answers a step and where it begins to swing.

Exit code 0 when everything keeps its bound, 1 when something does not.
"""

import json
import sys
from pathlib import Path

import control
import numpy as np
from scipy.optimize import root

from bounds import mark, within
from reference import (BRIDGE, CASE, CHARGE, CURRENT, DELAYED, FRONT, MOTOR, MOTOR_Z, REAR, ROLL_Z, SPEED,
                       TWIST, WHEEL, WINDING, Rig)

# What moves within seconds: the tyres, on one surface, alike on both axles; the delayed voltage of the pack
# too, though it does not settle so soon.
QUICK = [CURRENT, MOTOR, WHEEL, TWIST, SPEED, FRONT]
MOVES = QUICK + [DELAYED]
SCALE = {CURRENT: 1.0, MOTOR: 100.0, WHEEL: 10.0, TWIST: 1e-3, SPEED: 1.0, FRONT: 1e-4, DELAYED: 1e-2}

# The worst differences allowed. The duty comes in 65,536ths: two of them, and what they make of the current
# (2 mA per ampere of it); the speed sensor's and the demand's grain.
STEADY = {"duty": 6e-5, "current_a": 1e-3, "motor_rad_s": 5e-5, "speed_m_s": 5e-5}
# As shares of each signal's range. Measured: 0.96 % after the step of speed, of which the tyres' law, which is
# bent, makes 0.8 (it is 0.14 % with a hundred times the grip); 0.92 % after the step of load, which moves the
# duty by no more than 300 of its 65,536ths.
STEP = 15e-3
# Gains are tried in steps of 0.5 %.
GAIN = 6e-3


class Loop:
    """Plant and hold around a steady speed on the flat."""

    def __init__(self, case):
        self.case, self.hold, self.tick_s = case, case["hold"], case["tick_s"]
        self.rig = Rig(case)
        self.y, self.duty = self.steady()
        self.plant = self.linear()

    def rates(self, y, duty):
        self.rig.action = "drive", duty
        y[REAR] = y[FRONT]
        return np.array(self.rig.rates(0.0, y))

    def steady(self):
        """The state, and the duty, at which nothing quick changes and the hold has no error left."""
        slow = self.case["slow"]
        wheel = self.case["demand"] * self.hold["full_speed_rad_s"]
        y = self.rig.start(self.case)
        y[DELAYED], y[CHARGE], y[WINDING] = slow["delayed_v"], slow["charge"], slow["winding_c"]
        y[CASE], y[BRIDGE] = slow["case_c"], slow["bridge_c"]
        y[MOTOR_Z] = y[ROLL_Z] = 1.0
        y[MOTOR], y[WHEEL], y[SPEED] = wheel * self.rig.ratio, wheel, wheel * self.rig.radius
        y[CURRENT], y[TWIST] = 3.0, 1.1 * self.rig.half_play
        free = [quick for quick in QUICK if quick != MOTOR]
        scale = np.array([SCALE[quick] for quick in free] + [1.0])

        def at(x):
            y[free] = x[:-1] * scale[:-1]
            return self.rates(y, x[-1])[QUICK]

        first = np.append(y[free], 0.5) / scale
        found = root(at, first, tol=1e-13)
        if np.max(np.abs(at(found.x)) / [SCALE[quick] for quick in QUICK]) > 1e-6:
            raise RuntimeError(f"no steady speed: {found.message}")
        return y.copy(), found.x[-1]

    def linear(self):
        """From duty and torque against the wheels to speed at the sensor, over full speed; and the rest."""
        def slope(of, step):
            return (of(step) - of(-step)) / (2 * step)

        def moved(position):
            def rates(step):
                y = self.y.copy()
                y[position] += step
                return self.rates(y, self.duty)[MOVES]
            return rates

        a = np.transpose([slope(moved(position), 1e-4 * SCALE[position]) for position in MOVES])
        by_duty = slope(lambda step: self.rates(self.y, self.duty + step)[MOVES], 1e-5)
        by_load = np.zeros(len(MOVES))
        by_load[MOVES.index(WHEEL)] = -1 / self.rig.wheel_inertia
        out = np.zeros((4, len(MOVES)))
        out[0, MOVES.index(MOTOR)] = 1 / self.rig.ratio / self.hold["full_speed_rad_s"]
        for row, position in enumerate((MOTOR, SPEED, CURRENT), start=1):
            out[row, MOVES.index(position)] = 1.0
        plant = control.ss(a, np.transpose([by_duty, by_load]), out, 0)
        return control.sample_system(plant, self.tick_s, "zoh")

    def law(self, factor=1.0):
        """From error to added duty: the integral takes in the tick's own error."""
        if self.hold["droop"]:
            raise RuntimeError("droop is not in this loop")
        gain, per_tick = factor * self.hold["gain"], factor * self.hold["gain_per_s"] * self.tick_s
        return control.ss([[1.0]], [[per_tick]], [[1.0]], [[gain + per_tick]], self.tick_s)

    def open(self, factor=1.0, delay=0):
        """Around once, from error to speed, the speed so many ticks late."""
        around = self.plant[0, 0] * self.law(factor)
        if delay:
            z = np.eye(delay, k=-1)
            first, last = np.eye(delay)[:, :1], np.eye(delay)[-1:]
            around = control.ss(z, first, last, 0, self.tick_s) * around
        return around

    def largest_pole(self, factor=1.0, delay=0):
        return np.max(np.abs(control.feedback(self.open(factor, delay)).poles()))

    def largest_stable(self, delay):
        """The largest factor on both gains with which nothing swings, to a millionth."""
        stable, unstable = 1.0, 100.0
        while unstable - stable > 1e-6:
            middle = (stable + unstable) / 2
            if self.largest_pole(middle, delay) > 1:
                unstable = middle
            else:
                stable = middle
        return stable

    def answer(self, demand, load):
        """All signals after the tick-by-tick demand and load."""
        # The law stands before the plant, fed forward beside; both add to the duty.
        feed = control.ss([], [], [], [[self.hold["feed_forward"]]], self.tick_s)
        parts = [
            control.ss(self.plant, name="plant", inputs=["duty", "load"],
                       outputs=["relative", "motor_rad_s", "speed_m_s", "current_a"]),
            control.ss(self.law(), name="law", inputs=["error"], outputs=["added"]),
            control.ss(feed, name="feed", inputs=["demand"], outputs=["fed"]),
            control.summing_junction(["fed", "added"], "duty", name="sum"),
            control.summing_junction(["demand", "-relative"], "error", name="less"),
        ]
        names = ["motor_rad_s", "speed_m_s", "current_a", "duty"]
        closed = control.interconnect(parts, inputs=["demand", "load"], outputs=names)
        out = control.forced_response(closed, inputs=np.array([demand, load]),
                                      timepts=self.tick_s * np.arange(len(demand)))
        return dict(zip(names, out.outputs))


def compare_steady(loop):
    kept = True
    for name, ours in {"duty": loop.duty, "current_a": loop.y[CURRENT], "motor_rad_s": loop.y[MOTOR],
                       "speed_m_s": loop.y[SPEED]}.items():
        theirs = loop.case["steady"][name]
        apart = abs(theirs / ours - 1)
        good = bool(apart <= STEADY[name])
        kept &= good
        print(f"  steady {name:12} {theirs:10.6g}  off by {100 * apart:.2g} % of {100 * STEADY[name]:.2g} %"
              f"{mark(good)}")
    return kept


def compare_steps(loop):
    kept = True
    for step in loop.case["steps"]:
        print(f"step of {step['name']}")
        count = len(step["load_n_m"])
        ours = loop.answer(step["demand"][:count], step["load_n_m"])
        for name, theirs in step["signals"].items():
            kept &= within(name, theirs[:count], ours[name], STEP, loop.tick_s)
    return kept


def margins(around):
    """All of python-control's margins. From the frequency response: polynomials of this order, with poles
    this close to 1, are too coarse."""
    rad_s = np.geomspace(1.0, np.pi / around.dt, 2000)
    return control.stability_margins(control.frd(around, rad_s, smooth=True), returnall=True)


def compare_gains(loop):
    """The gain from which on the simulator swings against the one from which on a pole leaves the circle."""
    kept = True
    for delay in (0, 1):
        runs = [run for run in loop.case["tried"] if run["delay"] == delay]
        died = max(run["factor"] for run in runs if not run["grows"])
        grew = min(run["factor"] for run in runs if run["grows"])
        most = loop.largest_stable(delay)
        good = most * (1 - GAIN) <= died < grew <= most * (1 + GAIN)
        print(f"  gain, {delay} ticks late: stable up to {most:.4f} times the demo's; the simulator dies out "
              f"up to {died:.4f} and grows from {grew:.4f}{mark(good)}")
        kept &= good
        # Told at once it swings from tick to tick, beyond the frequencies at which margins are sought.
        if delay:
            margin = min(margins(loop.open(1.0, delay))[0])
            good = bool(abs(margin / most - 1) <= 1e-4)
            print(f"  gain margin {margin:.4f}{mark(good)}")
            kept &= good
    return bool(kept)


def compare_delays(loop):
    """Every whole tick of delay: what swings there, what swings here, and the phase margin's word."""
    grows = {run["delay"]: run["grows"] for run in loop.case["tried"]}
    # The gain passes 1 three times: gears and tyres swing too.
    _, phases, _, _, at_rad_s, _ = margins(loop.open())
    ticks = np.radians(np.mod(phases, 360)) / at_rad_s / loop.tick_s
    first = int(np.argmin(ticks))
    kept = all(grown == (loop.largest_pole(1.0, delay) > 1) == (delay > ticks[first])
               for delay, grown in grows.items())
    print(f"  delay: phase margin {phases[first]:.2f} degrees at {at_rad_s[first]:.2f} rad/s, which is "
          f"{ticks[first]:.3f} ticks; of {len(grows)} tried the simulator grows with "
          f"{[delay for delay, grown in grows.items() if grown]}{mark(kept)}")
    return kept


def main():
    folder = Path(sys.argv[1])
    kept = []
    for name, compare in {"loop-steps": compare_steps, "loop-gain": compare_gains,
                          "loop-delay": compare_delays}.items():
        print(name)
        loop = Loop(json.loads((folder / f"{name}.json").read_text()))
        kept += [compare_steady(loop), compare(loop)]
    sys.exit(0 if all(kept) else 1)


if __name__ == "__main__":
    main()
