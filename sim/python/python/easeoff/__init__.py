"""easeoff's simulator: throttle and drag brake of a small electric vehicle.

    import easeoff

    run = easeoff.demo("let-off").change({"tune.drag.onset_ms": 900}).run()
    run["speed_m_s"], run.scores["run-on"].value

It reads the files that the program `easeoff` reads, and gives the numbers that the program gives, to the bit.
A simulation is not a guarantee: try every new tune with the wheels off the ground first.
"""

from ._native import Mistake, Refused, Run, RunFailed, Scene, Score, Sweep, demo, load

__all__ = ["Mistake", "Refused", "Run", "RunFailed", "Scene", "Score", "Sweep", "demo", "load"]
