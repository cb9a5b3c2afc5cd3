"""Lets FMPy check the FMU of the plant, drive it with the commands of a run, and compare every number.

Usage: python fmu.py PLANT.fmu RUN.csv [switched]    (the run of `easeoff drive` with the same rig and course)
`switched`: the rig resolves its PWM periods, so the figures of the bus are means of the step just done.
FMPy is an independent importer of FMUs, a package for Python.
"""

import csv
import shutil
import sys

from fmpy.fmi1 import FMICallException
from fmpy import extract, read_model_description
from fmpy.fmi3 import FMU3Slave
from fmpy.validation import validate_fmu

INPUTS = ["duty", "brake_share"]
MEANS = ["bus_a", "bus_v"]


def main(fmu, table, bridge="averaged"):
    late = MEANS if bridge == "switched" else []
    problems = validate_fmu(fmu)
    if problems:
        sys.exit("FMPy's checker: " + "; ".join(problems))
    print("FMPy's checker finds nothing")

    description = read_model_description(fmu)
    numbers = {v.name: v.valueReference for v in description.modelVariables}
    outputs = [v.name for v in description.modelVariables if v.causality == "output"]
    with open(table, newline="") as file:
        rows = [{name: float(cell or "nan") for name, cell in row.items()} for row in csv.DictReader(file)]
    missing = [name for name in outputs + INPUTS if name not in rows[0]]
    if missing:
        sys.exit(f"the run has no columns {missing}")

    folder = extract(fmu)
    slave = FMU3Slave(
        guid=description.guid,
        unzipDirectory=folder,
        modelIdentifier=description.coSimulation.modelIdentifier,
        instanceName="plant",
    )
    slave.instantiate()
    slave.enterInitializationMode()
    slave.exitInitializationMode()
    step_s = rows[1]["time_s"]
    worst = dict.fromkeys(outputs, 0.0)
    moved = 0.0
    now = [name for name in outputs if name not in late]

    def compare(names, row):
        for name, value in zip(names, slave.getFloat64([numbers[name] for name in names])):
            # run.csv writes what is below 1e-12 as 0.
            value = 0.0 if abs(value) < 1e-12 else value
            worst[name] = max(worst[name], abs(value - row[name]))

    for row in rows:
        slave.setFloat64([numbers[name] for name in INPUTS], [row[name] for name in INPUTS])
        compare(now, row)
        moved = max(moved, abs(row["place_m"]))
        slave.doStep(currentCommunicationPoint=row["time_s"], communicationStepSize=step_s)
        compare(late, row)
    # After a reset it begins anew.
    slave.reset()
    slave.enterInitializationMode()
    slave.exitInitializationMode()
    begins = slave.getFloat64([numbers["place_m"], numbers["speed_m_s"]])
    # What is out of range is refused.
    slave.setFloat64([numbers["duty"]], [1.5])
    try:
        slave.doStep(currentCommunicationPoint=0.0, communicationStepSize=step_s)
        sys.exit("a duty of 1.5 was taken")
    except FMICallException:
        pass
    slave.freeInstance()
    shutil.rmtree(folder, ignore_errors=True)
    print(f"{len(rows)} rows of {step_s} s, as far as {moved:.2f} m; largest difference:")
    for name, off in worst.items():
        print(f"  {name:20} {off:g}")
    if begins != [rows[0]["place_m"], rows[0]["speed_m_s"]]:
        sys.exit(f"after a reset it stands at {begins}")
    if moved < 1.0 or any(off != 0.0 for off in worst.values()):
        sys.exit("the FMU does not give the numbers of the run")


main(*sys.argv[1:])
