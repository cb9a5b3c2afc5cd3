"""Motors of the simulator once more, as MuJoCo's actuator `dcmotor`.

    python3 tests/reference/motors.py FOLDER

reads motors.json, which `cargo xtask reference FOLDER` wrote. MuJoCo steps by Euler's method, whose
error is a straight line over the step: two runs give the value at no step at all.

Exit code 0 when everything keeps its bound, 1 when something does not.
"""

import json
import sys
from math import pi
from pathlib import Path

import mujoco
import numpy as np

from bounds import mark, within

# Copper at 20 degrees C, as docs/src/model.md has it.
COPPER_PER_K = 0.00393
# So stiff that friction is whole after this; the bench's is at once.
FRICTION_REACH_RAD = 1e-5

# The worst differences allowed, as shares of each signal's range: two to three times what was measured.
BOUNDS = {
    # Nothing but the two methods: 6e-11.
    "tutorial's motor, 1 V": 2e-10,
    # Friction sets in over its reach, whenever the rotor turns round: 2.7e-5, and more with more reach.
    "demo's motor, 6 V, -4 V, shorted": 6e-5,
    # The current's first microseconds, to MuJoCo one step: 1e-5, a quarter at half the step.
    "small motor, shorted": 3e-5,
    # Ours fade out with speed, by 4e-4 of themselves at the fastest here: 1.2e-5.
    "demo's motor with detents, shorted": 3e-5,
    # The plant's rotor still quivers in its gears when the comparison begins: 4e-5.
    "demo's motor held fast, 2 V": 1e-4,
}
# A torque at one instant: rounding.
TORQUE = 1e-12


def model(motor, step_s, **more):
    """One rotor on a hinge with the actuator on it."""
    inertia = more.pop("inertia_kg_m2", motor["inertia_kg_m2"])
    attributes = {"motorconst": motor["constant"], "resistance": motor["resistance_ohm"], **more}
    if motor["friction_n_m"]:
        friction = motor["friction_n_m"]
        attributes["lugre"] = f"{friction / FRICTION_REACH_RAD} 0 {friction} {friction} 1"
    told = " ".join(f'{name}="{value}"' for name, value in attributes.items())
    return mujoco.MjModel.from_xml_string(f"""
        <mujoco>
          <option timestep="{step_s}" gravity="0 0 0"/>
          <worldbody>
            <body>
              <joint name="shaft" type="hinge" axis="0 0 1" damping="{motor["viscous_n_m_s"]}"/>
              <inertial pos="0 0 0" mass="1" diaginertia="{inertia} {inertia} {inertia}"/>
            </body>
          </worldbody>
          <actuator><dcmotor joint="shaft" {told}/></actuator>
        </mujoco>""")


def bench(case, finer):
    """Current, speed and angle at every sample."""
    steps = round(case["sample_s"] / 1e-5) * finer
    more = {"inductance": case["motor"]["inductance_h"]}
    if case["cogging"]:
        # Its torque is forward, ours backward.
        more["cogging"] = f"{case['cogging']['n_m']} {case['cogging']['per_turn']} {pi}"
    m = model(case["motor"], case["sample_s"] / steps, **more)
    d = mujoco.MjData(m)
    d.qpos[0], d.qvel[0] = case["start"]["rotor_rad"], case["start"]["motor_rad_s"]
    rows = [(d.act[-1], d.qvel[0], d.qpos[0])]
    for volts, seconds in case["stretches"]:
        d.ctrl[0] = volts
        for _ in range(round(seconds / case["sample_s"])):
            mujoco.mj_step(m, d, steps)
            rows.append((d.act[-1], d.qvel[0], d.qpos[0]))
    return np.array(rows)


def at_no_step(run):
    return 2 * run(2) - run(1)


def compare(case, run):
    print(case["name"])
    ours = at_no_step(lambda finer: run(case, finer))
    kept = [within(name, theirs, ours[:, column], BOUNDS[case["name"]], case["sample_s"])
            for column, (name, theirs) in enumerate(case["signals"].items())]
    return all(kept)


def compare_held(case):
    m = model(case["motor"], 1e-4)
    d = mujoco.MjData(m)
    d.qvel[0] = case["motor_rad_s"]
    mujoco.mj_forward(m, d)
    torque = d.qfrc_actuator[0]
    apart = abs(case["n_m"] / torque - 1)
    kept = bool(apart <= TORQUE)
    print(f"shorted at {case['motor_rad_s']} rad/s: {torque:.6g} N m, off by {apart:.1g} of it{mark(kept)}")
    return kept


def heated(case, finer):
    """Current and winding temperature at every sample, the rotor too heavy to turn. From the first one
    on: until then the plant's rotor takes up the play in its gears."""
    steps = round(case["sample_s"] / 5e-3) * finer
    # Thermal resistance, capacity, no time constant instead, copper, its reference, the air.
    thermal = (f"{case['winding_to_case_k_per_w']} {case['winding_j_per_k']} 0 {COPPER_PER_K} 20 "
               f"{case['air_c']}")
    motor = {**case["motor"], "friction_n_m": 0}
    m = model(motor, case["sample_s"] / steps, inductance=motor["inductance_h"], thermal=thermal,
              inertia_kg_m2=1e9)
    d = mujoco.MjData(m)
    currents, windings = case["signals"]["current_a"], case["signals"]["winding_c"]
    d.ctrl[0], d.act[:] = case["volts"], (windings[0] - case["air_c"], currents[0])
    rows = [(currents[0], windings[0])]
    for _ in currents[1:]:
        mujoco.mj_step(m, d, steps)
        rows.append((d.act[1], d.act[0] + case["air_c"]))
    return np.array(rows)


def main():
    cases = json.loads((Path(sys.argv[1]) / "motors.json").read_text())
    kept = [compare(case, bench) for case in cases["benches"]]
    kept += [compare_held(case) for case in cases["held"]]
    kept.append(compare(cases["stalled"], heated))
    sys.exit(0 if all(kept) else 1)


if __name__ == "__main__":
    main()
