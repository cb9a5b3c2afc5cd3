"""The simulator's rig once more, from the equations in docs/src/model.md alone.

    python3 tests/reference/reference.py FOLDER

reads every case that `cargo xtask reference FOLDER` wrote, integrates it with SciPy, and compares. The
simulator steps with Runge-Kutta at a fixed step and settles what switches after it; here the step is the
solver's, the bristles of dry friction are states like the others, and switches are events. Both roll on
the same slopes; `ground.py` finds the way that they belong to once more.

Exit code 0 when every signal of every case keeps its bound, 1 when one does not.
"""

import json
import sys
import time
from bisect import bisect_right
from math import pi, sin
from pathlib import Path

import numpy as np
from scipy.integrate import solve_ivp
from scipy.interpolate import PchipInterpolator

import ground
from bounds import within

GRAVITY = 9.80665
AIR_DENSITY = 1.225
STRIBECK_M_S = 0.3
BRISTLE_RAD_S = 2000.0
COGGING_RAD_S = 2000.0

# Positions in the state.
(CURRENT, MOTOR, WHEEL, ANGLE, TWIST, SPEED, PLACE, FRONT, REAR, DELAYED, CHARGE, WINDING, CASE,
 MOTOR_Z, ROLL_Z, BRIDGE) = range(16)
# What is too small to matter, one for each.
SMALL = np.array([1e-6, 1e-4, 1e-6, 1e-7, 1e-9, 1e-7, 1e-7, 1e-10, 1e-10, 1e-8, 1e-9, 1e-8, 1e-8,
                  1e-7, 1e-7, 1e-8])
RELATIVE = 1e-8
# A or V past nothing before a diode changes over, so that it does not do so on the solver's noise.
SURELY = 1e-5


def sign(x):
    return int(x > 0) - int(x < 0)


def clamp(x, most):
    return -most if x < -most else most if x > most else x


class Rig:
    """The rig on its ground, and what the bridge does at the moment."""

    def __init__(self, case):
        rig = case["rig"]
        vehicle, wheels, gears = rig["vehicle"], rig["wheels"], rig["gears"]
        motor, pack = rig["motor"], rig["pack"]
        # Body and wheels.
        self.mass, self.radius = vehicle["mass_kg"], wheels["radius_m"]
        self.front_share = vehicle["cg_ahead_of_rear_m"] / vehicle["wheelbase_m"]
        self.lever = vehicle["cg_height_m"] / vehicle["wheelbase_m"]
        self.air = AIR_DENSITY * vehicle["drag_area_m2"] / 2
        self.wheel_inertia = wheels["inertia_kg_m2"]
        self.sigma = wheels["tyre_stiffness_per_m"], wheels["tyre_damping_s_per_m"]
        # Gears.
        self.ratio = gears["spur_teeth"] / gears["pinion_teeth"] * gears["internal_ratio"]
        self.spring, self.damping = gears["stiffness_n_m_per_rad"], gears["damping_n_m_s_per_rad"]
        self.half_play = gears["backlash_deg"] * pi / 180 / 2
        driving, back = 1 / gears["efficiency_driving"], gears["efficiency_driven_back"]
        self.share, self.loss = (driving + back) / 2, (driving - back) / 2
        rated_loss = gears["rating_n_m"] / self.ratio * self.loss
        # Motor, bridge and heat.
        self.k20 = 60 / (2 * pi * motor["kv_rpm_per_v"])
        bridge = rig["bridge"]
        self.r20, self.bridge20 = motor["resistance_ohm"], bridge["resistance_ohm"]
        self.synchronous, self.bridge_per_k = bridge["synchronous"], bridge["resistance_per_k"]
        self.bridge_heat = (bridge["heat_j_per_k"], bridge["to_air_k_per_w"])
        self.cogging, self.detents = motor["cogging_n_m"], motor["cogging_per_turn"]
        self.inductance = motor["inductance_uh"] * 1e-6
        free_rad_s = (motor["no_load_v"] - self.r20 * motor["no_load_a"]) / self.k20
        free_n_m = self.k20 * motor["no_load_a"]
        self.dry = free_n_m * (1 - motor["viscous_share"])
        self.viscous = free_n_m * motor["viscous_share"] / free_rad_s
        self.rotor_inertia = motor["rotor_inertia_kg_m2"]
        # Reaches of the bristles: set once, by the largest usual friction.
        self.rotor_reach = (self.dry + rated_loss) / (self.rotor_inertia * BRISTLE_RAD_S ** 2)
        roughest = max(surface["rolling"] for surface in case["surfaces"])
        self.roll_reach = (roughest * self.mass * GRAVITY * self.radius
                           / (self.wheel_inertia * BRISTLE_RAD_S ** 2))
        self.heat = (motor["winding_j_per_k"], motor["winding_to_case_k_per_w"],
                     motor["case_j_per_k"], motor["case_to_air_k_per_w"], vehicle["air_c"])
        # Pack.
        self.cells, self.capacity = pack["cells"], pack["capacity_ah"] * 3600
        self.cell_ohm, self.leads = pack["resistance_ohm_per_cell"], pack["leads_ohm"]
        self.delayed_ohm, self.delayed_s = pack["delayed_ohm_per_cell"], pack["delayed_s"]
        curve = PchipInterpolator(*np.transpose(pack["ocv_v"]))
        self.ocv_at, self.ocv = curve.x.tolist(), curve.c.T.tolist()
        # Ground.
        given = case["ground"]
        self.from_m, self.step_m, self.sines = given["from_m"], given["step_m"], given["sine"]
        on = [(s["grip"], s["grip_sliding"], s["rolling"]) for s in case["surfaces"]]
        under = list(zip(given["front"], given["rear"]))
        changes = [0] + [i for i in range(1, len(under)) if under[i] != under[i - 1]]
        self.edges = [self.from_m + i * self.step_m for i in changes]
        self.under = [tuple(on[axle] for axle in under[i]) for i in changes]
        self.snags = sorted(case["snags"], key=lambda snag: snag["at_m"])
        self.caught, self.from_rad, self.dragging = None, 0.0, False
        # The moment's switches.
        self.patch, self.action, self.blocked, self.way = 0, ("coast", 0.0), False, 0
        self.met_s = []

    def start(self, case):
        y = np.zeros(16)
        y[PLACE], y[CHARGE] = case["start_m"], case["rig"]["pack"]["charge"]
        y[WINDING] = y[CASE] = y[BRIDGE] = self.heat[4]
        self.patch = bisect_right(self.edges, y[PLACE]) - 1
        return y

    def shaft(self, twist, rate):
        """Torque on the wheels: a spring and a damper beyond the play, never pulling back."""
        if twist > self.half_play:
            return max(self.spring * (twist - self.half_play) + self.damping * rate, 0.0)
        if twist < -self.half_play:
            return min(self.spring * (twist + self.half_play) + self.damping * rate, 0.0)
        return 0.0

    def constant(self, case_c):
        return self.k20 * (1 - 0.0011 * (case_c - 20))

    def open_v(self, charge, delayed):
        charge = min(max(charge, self.ocv_at[0]), self.ocv_at[-1])
        piece = min(max(bisect_right(self.ocv_at, charge) - 1, 0), len(self.ocv) - 1)
        x, (a, b, c, d) = charge - self.ocv_at[piece], self.ocv[piece]
        return self.cells * (((a * x + b) * x + c) * x + d - delayed)

    def snag(self, angle):
        if self.caught is None:
            return 0.0
        if self.dragging:
            return self.caught["break_n_m"]
        return max(self.caught["stiffness_n_m_per_rad"] * (angle - self.from_rad), 0.0)

    def sine(self, place):
        steps = (place - self.from_m) / self.step_m
        index = min(max(int(steps), 0), len(self.sines) - 2)
        return self.sines[index] + (self.sines[index + 1] - self.sines[index]) * (steps - index)

    def dry_torque(self, most, inertia, z, speed):
        """Torque against the motion."""
        return clamp(most * z + inertia * BRISTLE_RAD_S * speed * (1 - z * z), most)

    def tyre(self, slip, bristle, grip, sliding):
        """Force per newton of load, and how fast the bristle bends."""
        slow = 1 / (1 + (slip / STRIBECK_M_S) ** 2)
        g = sliding + (grip - sliding) * slow
        rate = slip - self.sigma[0] * abs(slip) * bristle / g
        return self.sigma[0] * bristle + self.sigma[1] * slow * rate, rate

    def bus(self, kind, share, current, charge, delayed):
        current = share * current if kind == "drive" else 0.0
        ohm = self.cells * self.cell_ohm + self.leads
        return current, self.open_v(charge, delayed) - current * ohm

    def push(self, y):
        """What the bridge puts across inductance and resistance: signed as the current."""
        kind, share = self.action
        _, volts = self.bus(kind, share, y[CURRENT], y[CHARGE], y[DELAYED])
        return share * volts - self.constant(y[CASE]) * y[MOTOR]

    def rates(self, _t, y):
        (current, motor, wheel, angle, twist, speed, place, front_z, rear_z, delayed, charge,
         winding, case_c, motor_z, roll_z, bridge_c) = y.tolist()
        # Current.
        kind, share = self.action
        k = self.constant(case_c)
        copper = self.r20 * (1 + 0.00393 * (winding - 20))
        ohm = copper + self.bridge20 * (1 + self.bridge_per_k * (bridge_c - 20))
        bus_a, bus_v = self.bus(kind, share, current, charge, delayed)
        if kind == "drive" and not self.blocked:
            current_rate = (share * bus_v - ohm * current - k * motor) / self.inductance
            heat = ohm * current * current
        elif kind == "brake":
            current_rate = (-ohm * current - share * k * motor) / self.inductance
            heat = ohm * current * current - (1 - share) * k * motor * current
        else:
            current_rate = heat = 0.0
        # Drive line.
        twist_rate = motor / self.ratio - wheel
        torque = self.shaft(twist, twist_rate)
        at_motor = torque / self.ratio
        friction = self.dry_torque(self.dry, self.rotor_inertia, motor_z, motor)
        load = at_motor * self.share + abs(at_motor) * self.loss * motor_z
        passing = self.detents * motor / COGGING_RAD_S
        cogging = self.cogging / (1 + passing ** 4) * sin(self.detents * self.ratio * (angle + twist))
        drag = friction + self.viscous * motor + cogging
        motor_rate = (k * current - drag - load) / self.rotor_inertia
        motor_z_rate = (motor - abs(motor) * motor_z) / self.rotor_reach
        # Tyres and loads: F = N_f f_f + N_r f_r with N_f = N share - F lever, N_r = N - N_f.
        (front_on, rear_on) = self.under[self.patch]
        sine = self.sine(place)
        weight = self.mass * GRAVITY
        load = weight * (1 - sine * sine) ** 0.5
        slip = wheel * self.radius - speed
        front_f, front_rate = self.tyre(slip, front_z, front_on[0], front_on[1])
        rear_f, rear_rate = self.tyre(slip, rear_z, rear_on[0], rear_on[1])
        force = load * (self.front_share * front_f + (1 - self.front_share) * rear_f)
        force /= 1 + self.lever * (front_f - rear_f)
        front = load * self.front_share - force * self.lever
        if front < 0:
            front, force = 0.0, load * rear_f
        elif front > load:
            front, force = load, load * front_f
        rolling = (front * front_on[2] + (load - front) * rear_on[2]) * self.radius
        roll = self.dry_torque(rolling, self.wheel_inertia, roll_z, wheel)
        roll_z_rate = (wheel - abs(wheel) * roll_z) / self.roll_reach
        wheel_rate = (torque - force * self.radius - roll - self.snag(angle)) / self.wheel_inertia
        speed_rate = (force - weight * sine - self.air * speed * abs(speed)) / self.mass
        # Heat and pack.
        winding_j, to_case, case_j, to_air, air_c = self.heat
        bridge_j, bridge_to_air = self.bridge_heat
        flow = (winding - case_c) / to_case
        return [
            current_rate, motor_rate, wheel_rate, wheel, twist_rate, speed_rate, speed, front_rate,
            rear_rate, (bus_a * self.delayed_ohm - delayed) / self.delayed_s,
            -bus_a / self.capacity, (heat * copper / ohm - flow) / winding_j,
            (flow - (case_c - air_c) / to_air) / case_j, motor_z_rate, roll_z_rate,
            (heat * (1 - copper / ohm) - (bridge_c - air_c) / bridge_to_air) / bridge_j,
        ]

    def begin(self, action, y):
        """The bridge changes over. An open one and a diode that blocks carry no current; a partial brake
        ends one that still drives."""
        self.action = kind, share = tuple(action)
        diode = kind == "drive" and not self.synchronous
        # Without duty the current runs out the way it flows.
        self.way = sign(share) or sign(y[CURRENT])
        self.blocked = False
        if kind == "coast" or (diode and y[CURRENT] * self.way <= 0):
            y[CURRENT] = 0.0
            self.blocked = diode and self.push(y) * sign(share) <= 0
        if kind == "brake" and share < 1 and y[CURRENT] * y[MOTOR] > 0:
            y[CURRENT] = 0.0

    def events(self):
        """What ends a stretch: pairs of a function's zero, its direction, and what it does."""
        kind, share = self.action
        if kind == "drive" and not self.synchronous:
            if self.blocked:
                if share:
                    yield lambda y: self.push(y) * sign(share) - SURELY, 1, self.unblock
            else:
                yield lambda y: y[CURRENT] * self.way + SURELY, -1, self.block
        # Where gears meet, the damping sets in at once.
        yield lambda y: abs(y[TWIST]) - self.half_play, 1, self.meet
        if self.patch + 1 < len(self.edges):
            edge = self.edges[self.patch + 1]
            yield lambda y: y[PLACE] - edge, 1, lambda y: self.step_patch(1)
        if self.patch > 0:
            edge_back = self.edges[self.patch]
            yield lambda y: y[PLACE] - edge_back, -1, lambda y: self.step_patch(-1)
        if self.snags:
            at = self.snags[0]["at_m"]
            yield lambda y: y[PLACE] - at, 1, self.catch
        if self.dragging:
            yield lambda y: y[WHEEL], -1, self.turn_back
        elif self.caught:
            torn_rad = self.from_rad + self.stretch()
            yield lambda y: y[ANGLE] - torn_rad, 1, self.tear

    def stretch(self):
        return self.caught["break_n_m"] / self.caught["stiffness_n_m_per_rad"]

    def meet(self, y):
        # Surely beyond the play, so that the same meeting is not found again.
        y[TWIST] = (self.half_play + 1e-8) * sign(y[TWIST])

    def block(self, y):
        self.blocked, y[CURRENT] = True, 0.0

    def unblock(self, _y):
        self.blocked = False

    def step_patch(self, by):
        self.patch += by

    def catch(self, y):
        self.caught, self.from_rad, self.dragging = self.snags.pop(0), y[ANGLE], False

    def tear(self, _y):
        self.dragging = self.caught["then"] == "stays"
        if not self.dragging:
            self.caught = None

    def turn_back(self, y):
        self.dragging, self.from_rad = False, y[ANGLE] - self.stretch()


def stretches(actions):
    """Ticks in a row with the same command, as pairs of first tick and count."""
    first = 0
    for tick in range(1, len(actions) + 1):
        if tick == len(actions) or actions[tick] != actions[first]:
            yield first, tick - first
            first = tick


def integrate(case, method="LSODA", relative=RELATIVE):
    """States at the start of every tick, one row each."""
    rig = Rig(case)
    y, tick_s = rig.start(case), case["tick_s"]
    actions = case["actions"]
    rows = np.empty((len(actions), len(y)))
    for first, count in stretches(actions):
        rows[first] = y
        rig.begin(actions[first], y)
        now, end = first * tick_s, (first + count) * tick_s
        times = (first + np.arange(1, count + 1)) * tick_s
        done = 0
        while done < count:
            watched = []
            meanings = []
            for zero, direction, then in rig.events():
                def event(_t, at, zero=zero):
                    return zero(at)
                event.terminal, event.direction = True, direction
                watched.append(event)
                meanings.append(then)
            out = solve_ivp(rig.rates, (now, end), y, method, times[done:], events=watched,
                            rtol=relative, atol=SMALL * relative / RELATIVE)
            if out.status < 0:
                raise RuntimeError(f"{case['name']}: at {now} s: {out.message}")
            got = len(out.t)
            if got:
                at = first + 1 + done
                rows[at:at + got] = out.y.T[:len(rows) - at]
            done += got
            if out.status == 1:
                hit = next(i for i, t in enumerate(out.t_events) if len(t))
                now, y = out.t_events[hit][0], out.y_events[hit][0].copy()
                if meanings[hit] == rig.meet:
                    rig.met_s.append(now)
                meanings[hit](y)
            else:
                y = out.y[:, -1].copy()
    return rig, rows


def signals(rig, rows):
    """What is compared."""
    rate = rows[:, MOTOR] / rig.ratio - rows[:, WHEEL]
    return {
        "speed_m_s": rows[:, SPEED],
        "wheel_rad_s": rows[:, WHEEL],
        "motor_rad_s": rows[:, MOTOR],
        "current_a": rows[:, CURRENT],
        "place_m": rows[:, PLACE],
        "shaft_n_m": np.array([rig.shaft(*pair) for pair in zip(rows[:, TWIST], rate)]),
        "winding_c": rows[:, WINDING],
        "bridge_c": rows[:, BRIDGE],
    }


# The worst differences allowed, as shares of each signal's range. At the fine step, the shaft being stiff ...
FINE, FINE_SHAFT = 0.3e-3, 1e-3
# ... and at the program's own, in which the bristles of dry friction stand still: shaft and wheels swing a
# little otherwise when gears meet hard or a bristle turns over.
OWN, OWN_BY_NAME = 1.5e-3, {"shaft_n_m": 15e-3, "wheel_rad_s": 7.5e-3}


def compared(rig, name, count, tick_s):
    """Which samples: where gears meet the shaft's torque jumps, and a sample may fall between both programs'
    moments of that. So not the two beside a meeting."""
    taken = np.ones(count, bool)
    if name == "shaft_n_m":
        for met_s in rig.met_s:
            taken &= np.abs(np.arange(count) * tick_s - met_s) > tick_s
    return taken


def compare(case):
    began = time.monotonic()
    kept = ground.compare(case)
    rig, rows = integrate(case)
    ours = signals(rig, rows)
    finest = min(run["step_s"] for run in case["runs"])
    for run in case["runs"]:
        print(f"{case['name']}, step {run['step_s'] * 1e6:.0f} us")
        for name, theirs in run["signals"].items():
            if run["step_s"] > finest:
                bound = OWN_BY_NAME.get(name, OWN)
            else:
                bound = FINE_SHAFT if name == "shaft_n_m" else FINE
            taken = compared(rig, name, len(theirs), case["tick_s"])
            kept &= within(name, np.where(taken, theirs, ours[name]), ours[name], bound, case["tick_s"])
    print(f"  {time.monotonic() - began:.1f} s", flush=True)
    return kept


CASES = ("let-off", "creep", "snag", "rough", "changes", "changes-synchronous")


def main():
    files = [Path(sys.argv[1]) / f"{name}.json" for name in CASES]
    kept = [compare(json.loads(file.read_text())) for file in files]
    sys.exit(0 if all(kept) else 1)


if __name__ == "__main__":
    main()
