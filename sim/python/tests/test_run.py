"""A run is the program's run."""

import json

import easeoff
import numpy as np
import pytest
from conftest import numbers, same_bits


def same_as_table(run, cells):
    assert list(run.columns) == list(run.units) == list(cells)
    for name, column in run.columns.items():
        assert same_bits(column, numbers(cells[name])), name


def same_as_record(run, scene, record):
    assert scene.settings_sha256 == record["settings_sha256"]
    assert list(run.scores) == [score["name"] for score in record["scores"]]
    seldom = {"never": np.inf, "not-in-this-run": np.nan}
    for score in record["scores"]:
        ours, value = run.scores[score["name"]], score["value"]
        due = value["is"] if isinstance(value, dict) else seldom[value]
        assert same_bits(np.array([ours.value]), np.array([float(due)])), score
        assert (ours.unit, ours.definition) == (score["unit"], score["definition"])


@pytest.mark.parametrize("demo", ["garden", "let-off", "snag"])
def test_a_demo_gives_the_bits_of_drive(demo, program, table, tmp_path):
    program("drive", "--demo", demo, "--out", "out")
    records = json.loads((tmp_path / "out/run.json").read_text())["runs"]
    scenes = easeoff.demo(demo).variants()
    assert list(scenes) == [record["name"] for record in records]
    assert len(scenes) == {"garden": 1}.get(demo, 3)
    for (name, scene), record in zip(scenes.items(), records, strict=True):
        # The program's driver eases off once the snag shows; Python's scene holds the throttle.
        if demo == "snag" and len(record["settings"]["driver"]["motion"]["by-time"]) > 4:
            assert scene.settings_sha256 != record["settings_sha256"]
            continue
        folder = "-".join(name.replace("%", " ").split())
        run = scene.run()
        same_as_table(run, table("out/run.csv" if len(scenes) == 1 else f"out/{folder}/run.csv"))
        same_as_record(run, scene, record)


def test_changed_values_are_those_of_a_changed_file(program, table, tmp_path):
    program("new", "mine", "--demo", "snag")
    tune = tmp_path / "mine/tune.toml"
    old = tune.read_text()
    scene = easeoff.load(tmp_path / "mine").change(
        {"tune.hold.authority": 0.05, "tune.drag.shape": "smooth", "tune.hold.on": False}
    )
    assert tune.read_text() == old, "files on disk stay"
    new = old.replace("authority = 0.10", "authority = 0.05").replace('"linear"', '"smooth"', 1)
    on, off = "[hold]                           # holding the speed\non = true", "[hold]\non = false"
    assert on in new
    tune.write_text(new.replace(on, off))
    program("drive", "mine", "--step-us", "100", "--creep-slope-deg", "20", "--out", "out")
    run = scene.run(step_us=100, creep_slope_deg=20)
    same_as_table(run, table("out/run.csv"))
    same_as_record(run, scene, json.loads((tmp_path / "out/run.json").read_text())["runs"][0])
    # Another file in the place of the demo's is the same change.
    assert easeoff.demo("snag", tune=tune).settings_sha256 == scene.settings_sha256


def test_a_list_of_values_and_numpys_numbers_are_settings_too():
    scene = easeoff.demo("let-off")
    by_numpy = scene.change(
        {"tune.drag.onset_ms": np.int64(900), "tune.drag.follow": np.float64(0.5), "tune.hold.on": np.True_}
    )
    plain = scene.change({"tune.drag.onset_ms": 900, "tune.drag.follow": 0.5, "tune.hold.on": True})
    assert by_numpy.settings_sha256 == plain.settings_sha256 != scene.settings_sha256
    steeper = scene.change({"course.profile_m": [[-1, 0], [2.0, 0], [12.0, -3.64]]})
    assert steeper.run()["place_m"][-1] > scene.run()["place_m"][-1]


def test_columns_have_their_units_and_fit_each_other():
    run = easeoff.demo("let-off").run()
    assert run.units["speed_m_s"] == "m/s" and run.units["bus_v"] == "V" and run.units["duty"] == "-"
    time_s = run["time_s"]
    assert time_s.flags.writeable and np.allclose(np.diff(time_s), run.tick_s)
    # The way is the speed's integral: the trapezoid rule, its error here far below a millimetre.
    way_m = np.trapezoid(run["speed_m_s"], time_s)
    assert way_m == pytest.approx(run["place_m"][-1] - run["place_m"][0], abs=1e-3)


def test_what_happened_fits_the_hand_and_the_scores():
    run = easeoff.demo("let-off").run()
    happened = {words: time_s for time_s, words in run.events}
    # The demo's driver.toml lets go from 3.18 s to 3.2 s.
    assert happened["lets go"] == pytest.approx(3.2, abs=0.005)
    assert happened["stops"] - happened["lets go"] == pytest.approx(run.scores["stop time"].value)
    assert run.end == "duration"
    assert run.scores["lurch"].less_is_better is True
    assert run.scores["tip margin"].less_is_better is False
    assert run.scores["speed drop"].less_is_better is None
    assert run.scores["run-on"].label == "run-on [m]"


def test_trials_are_the_programs(program, tmp_path):
    program("trials", "--demo", "garden", "--out", "out")
    trials = json.loads((tmp_path / "out/run.json").read_text())["trials"]
    runs = easeoff.demo().trials()
    assert list(runs) == [trial["trial"] for trial in trials] and len(runs) == 10
    for trial in trials:
        scores = runs[trial["trial"]].scores
        for score in trial["results"][0]["scores"]:
            if isinstance(score["value"], dict):
                assert scores[score["name"]].value == score["value"]["is"], score


def test_a_run_that_never_moved_says_why():
    scene = easeoff.demo("snag").change({"driver.duration_s": 3})
    assert scene.run().never_moved is None
    reason = scene.change({"tune.mode.arm_ms": 5000}).run().never_moved
    assert "never armed" in reason and "Remedy: " in reason
