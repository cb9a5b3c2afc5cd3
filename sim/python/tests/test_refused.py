"""What is wrong is said in the program's words, every mistake of it, by one exception."""

import re

import easeoff
import pytest


def test_every_mistake_is_told_as_the_program_tells_it(program, tmp_path):
    program("new", "mine")
    tune, rig = tmp_path / "mine/tune.toml", tmp_path / "mine/rig.toml"
    tune.write_text(tune.read_text().replace("onset_ms = 330", "onset_ms = -3").replace("droop =", "drop ="))
    rig.write_text(re.sub(r"mass_kg = [\d.]+", "mass_kg = nan", rig.read_text(), count=1))
    said = program("drive", str(tmp_path / "mine"), code=2)
    with pytest.raises(easeoff.Refused) as caught:
        easeoff.load(tmp_path / "mine")
    mistakes = caught.value.mistakes
    assert said == f"{caught.value}\n\n{len(mistakes)} mistakes; nothing was written\n"
    assert len(mistakes) == 3 and {mistake.file for mistake in mistakes} == {str(tune), str(rig)}
    for mistake in mistakes:
        assert mistake.what in said and mistake.remedy in said and f"{mistake.file}:{mistake.line}:" in said
    lines = tune.read_text().splitlines()
    onset = next(mistake for mistake in mistakes if "onset_ms" in mistake.what)
    assert lines[onset.line - 1].startswith("onset_ms = -3")


SCENE = easeoff.demo("let-off")


@pytest.mark.parametrize(
    ("wrong", "says"),
    [
        (lambda: easeoff.demo("meadow"), "allowed is garden, let-off, snag"),
        (lambda: SCENE.change({"tune.drag.onset_ms": -1}), "allowed is 0 to 10000"),
        (lambda: SCENE.change({"tune.drag.onset_ms": float("nan")}), "write an ordinary number"),
        (lambda: SCENE.change({"tune.drag.onset": 1}), "did you mean onset_ms?"),
        (lambda: SCENE.change({"tun.drag.onset_ms": 1}), "did you mean tune?"),
        (lambda: SCENE.change({"tune.drag.onset_ms": None}), "None is no setting; allowed is a number"),
        (lambda: SCENE.sweep({"tune.drag.onset_ms": 3}, ["lurch"]), "give a list of numbers"),
        (lambda: SCENE.sweep({"tune.drag.onset_ms": [3, None]}, ["lurch"]), "give a list of numbers"),
        (lambda: SCENE.sweep({"tune.drag.onset_ms": []}, ["lurch"]), "give one or more"),
        (lambda: SCENE.sweep({"tune.drag.onset_ms": [3, 3.0]}, ["lurch"]), "3 stands twice"),
        (lambda: SCENE.sweep({"tune.drag.onset_ms": "0..900:1"}, ["lurch"]), "COUNT from 2"),
        (lambda: SCENE.sweep({"tune.drag.onset_ms": [3]}, ["lurhc"]), 'did you mean "lurch"?'),
        (lambda: SCENE.sweep({"tune.drag.onset_ms": [3]}, ["strain"]), '"strain" is now "utilisation"'),
        (lambda: SCENE.sweep({"tune.drag.onset_ms": [3]}, ["lurch", "lurch"]), "name each score once"),
        (lambda: SCENE.run(step_us=5), "step_us is 5; allowed is 10 to 1000"),
        (lambda: SCENE.trials(creep_slope_deg=50), "creep_slope_deg is 50; allowed is 0 to 45"),
    ],
)
def test_what_cannot_be_had_says_what_can(wrong, says):
    with pytest.raises(easeoff.Refused) as caught:
        wrong()
    assert says in str(caught.value)
    assert len(caught.value.mistakes) == 1 and caught.value.mistakes[0].what in str(caught.value)


def test_a_name_that_is_none_is_a_key_error():
    with pytest.raises(KeyError, match='did you mean "speed_m_s"'):
        SCENE.run()["sped_m_s"]
    with pytest.raises(KeyError, match="was not asked for"):
        SCENE.sweep({"tune.drag.onset_ms": [3]}, ["lurch"])["run-on"]


def test_a_run_that_cannot_be_finished_says_why(program):
    # A tenth of the demo's inductance: its time constant is shorter than the usual step.
    change = {"rig.motor.inductance_uh": 4}
    with pytest.raises(easeoff.RunFailed, match="too coarse"):
        SCENE.change(change).run()
