"""A sweep is the program's sweep."""

import os
import signal
import subprocess
import sys
import threading
import time

import easeoff
import numpy as np
import pytest
from conftest import numbers, same_bits

VARY = {"tune.drag.onset_ms": "0..900:4", "tune.drag.law": "duty,current"}


def swept(program, scene, vary, scores):
    words = [word for key, values in vary.items() for word in ("--vary", f"{key}={values}")]
    program("sweep", *scene, *words, "--scores", ",".join(scores), "--out", "out")


def test_the_arrays_have_the_bits_of_the_table(program, table):
    scores = ["lurch", "run-on", "creep", "masking", "heat time"]
    swept(program, ["--demo", "let-off"], VARY, scores)
    cells = table("out/sweep.csv")
    sweep = easeoff.demo("let-off").sweep(VARY, scores)
    assert list(sweep.axes) == list(VARY) and list(sweep.scores) == scores and sweep.failed == {}
    for name, score in sweep.scores.items():
        assert sweep[name] is score.value and score.value.shape == (4, 2)
        assert same_bits(score.value.ravel(), numbers(cells[f"{name} [{score.unit}]"])), name
    # Each axis runs along its own dimension, as in numpy.meshgrid with indexing="ij".
    for grid, key in zip(np.meshgrid(*sweep.axes.values(), indexing="ij"), VARY, strict=True):
        assert [str(value) for value in grid.ravel()] == list(cells[key])
    assert np.isinf(sweep["heat time"]).any() and np.isnan(sweep["masking"]).all()


def test_threads_lists_and_ranges_change_no_bit():
    scene = easeoff.demo("let-off")
    sweep = scene.sweep(VARY, ["lurch"])
    lists = {"tune.drag.onset_ms": np.linspace(0, 900, 4), "tune.drag.law": ["duty", "current"]}
    again = scene.sweep(lists, ["lurch"], threads=1)
    assert same_bits(again["lurch"], sweep["lurch"])
    assert again.axes["tune.drag.onset_ms"].tolist() == [0, 300, 600, 900]
    # A place in the array is the run with those values, let off where the scene itself does.
    one = scene.change({"tune.drag.onset_ms": 600, "tune.drag.law": "duty"}).run()
    assert abs(sweep["lurch"][2, 0] / one.scores["lurch"].value - 1) < 5e-3
    own = scene.sweep({"tune.drag.onset_ms": [330, 600]}, ["lurch"])
    assert own["lurch"][0] == scene.run().scores["lurch"].value


def test_what_only_goes_wrong_together_has_its_reason(program, table):
    # Either value is good beside the demo's 3.4 V and 3.1 V; the fade cannot begin below its end.
    vary = {"tune.limits.derate_from_v": "3.2,3.4", "tune.limits.derate_to_v": "3.1,3.3"}
    swept(program, ["--demo", "let-off"], vary, ["run-on"])
    sweep = easeoff.demo("let-off").sweep(vary, ["run-on"])
    assert list(sweep.failed) == [(0, 1)]
    reasons = np.array(table("out/sweep.csv")["failed"]).reshape(2, 2)
    assert sweep.failed[0, 1].replace("\n", ";") == reasons[0, 1] != ""
    assert np.isnan(sweep["run-on"]).tolist() == [[False, True], [False, False]]


def test_others_run_meanwhile():
    seen = []
    done = threading.Event()

    def count():
        while not done.is_set():
            seen.append(time.perf_counter())
            time.sleep(0.002)

    thread = threading.Thread(target=count)
    thread.start()
    try:
        begin = time.perf_counter()
        easeoff.demo("let-off").sweep({"tune.drag.onset_ms": "0..900:60"}, ["lurch"])
        end = time.perf_counter()
    finally:
        done.set()
        thread.join()
    within = [at for at in seen if begin < at < end]
    assert end - begin > 0.1 and len(within) > 20, (end - begin, len(within))


@pytest.mark.skipif(os.name != "posix", reason="signals are sent as POSIX has them")
def test_ctrl_c_ends_it():
    # What a shell starts in the background ignores the signal, and its children with it.
    program = (
        "import signal, easeoff\n"
        "signal.signal(signal.SIGINT, signal.default_int_handler)\n"
        "scene = easeoff.demo('garden')\n"
        "print('begins', flush=True)\n"
        "scene.sweep({'tune.drag.onset_ms': '0..900:300', 'tune.drag.delay_ms': '0..900:300'}, ['lurch'])\n"
    )
    child = subprocess.Popen([sys.executable, "-c", program], stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True)
    assert child.stdout.readline() == "begins\n"
    time.sleep(0.5)
    child.send_signal(signal.SIGINT)
    try:
        _, said = child.communicate(timeout=20)
    finally:
        child.kill()
    assert "KeyboardInterrupt" in said and child.returncode != 0
