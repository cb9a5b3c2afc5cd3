"""A fit of a log once more: SciPy's least_squares over the plant that reference.py has.

    python3 tests/reference/fit.py FOLDER

reads what `cargo xtask reference FOLDER` wrote. Plant, solver and statistics are others than the simulator's;
the measured values, the noise of each signal and the guesses are the same.

Exit code 0 when values and intervals agree, 1 when one does not.
"""

import copy
import json
import sys
from pathlib import Path

import numpy as np
from scipy.optimize import least_squares
from scipy.stats import t

from bounds import mark
from reference import CURRENT, WHEEL, integrate

COLUMNS = {"wheel_speed_rad_s": WHEEL, "motor_a": CURRENT}
# As shares of half the interval. Measured: see docs/src/fit.md.
VALUE, HALF = 0.05, 0.05


def simulated(case, values):
    changed = copy.deepcopy(case)
    for unknown, value in zip(case["unknowns"], values):
        table, key = unknown["name"].split(".")
        changed["rig"][table][key] = float(value)
    _, rows = integrate(changed, relative=1e-6)
    return [rows[case["ticks"], COLUMNS[signal["name"]]] for signal in case["signals"]]


def main():
    case = json.loads((Path(sys.argv[1]) / "fit.json").read_text())
    guesses = np.array([unknown["guess"] for unknown in case["unknowns"]])

    def deviations(x):
        theirs = simulated(case, guesses * np.exp(x - 1))
        return np.concatenate([(ours - np.array(signal["measured"])) / signal["rms"]
                               for ours, signal in zip(theirs, case["signals"])])

    # From 1, so that SciPy's relative step is one of the logarithm.
    found = least_squares(deviations, np.ones(len(guesses)), jac="3-point", diff_step=4e-3, ftol=1e-6)
    freedom = len(found.fun) - len(guesses)
    noise = 2 * found.cost / freedom
    halves = t.ppf(0.975, freedom) * np.sqrt(np.diag(np.linalg.inv(found.jac.T @ found.jac)) * noise)
    good = found.success
    print(f"fit: {found.message} {found.nfev} evaluations; {freedom} degrees of freedom, there {case['freedom']:.0f}")
    for unknown, value, half in zip(case["unknowns"], guesses * np.exp(found.x - 1), halves):
        apart = abs(np.log(value / unknown["value"])) / half
        wider = abs(unknown["half"] / half - 1)
        kept = bool(apart <= VALUE and wider <= HALF)
        good &= kept
        print(f"  {unknown['name']:22} SciPy {value:.6g} +- {100 * half:.3g} %, there {unknown['value']:.6g} +- "
              f"{100 * unknown['half']:.3g} %: apart by {100 * apart:.2g} % of half the interval{mark(kept)}")
    sys.exit(0 if good else 1)


if __name__ == "__main__":
    main()
