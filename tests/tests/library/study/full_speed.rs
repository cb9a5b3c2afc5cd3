//! Full throttle means what rig, pack and gearing give, unless the tune says otherwise.

use easeoff_sim::files::folder::Folder;
use easeoff_sim::files::full_speed::{derived, misfit};
use easeoff_sim::files::mistake::Source;
use easeoff_sim::files::scenario::Scenario;
use easeoff_sim::files::{demo, tune, tune_text};
use easeoff_sim::run::{DEFAULT_STEP_S, simulate};

/// The demo's tune with these lines for `full_speed_rad_s`, none or one.
fn tune_text_with(line: &str) -> Source {
    let text = Folder::Embedded(demo::DEMOS[0].files).read("tune.toml").unwrap().text;
    let lines = text.lines().filter(|line| !line.contains("full_speed_rad_s"));
    let lines = lines.map(|one| match one.starts_with("[hold]") {
        true => format!("{one}\n{line}\n"),
        false => format!("{one}\n"),
    });
    Source::new("tune.toml", lines.collect::<String>())
}

/// Level ground, half throttle: the mean speed of the last second \[m/s\].
fn at_half_throttle(teeth: u32, line: &str) -> (Scenario, f64) {
    let mut scenario = demo::scenario("snag").unwrap();
    scenario.course.snags.clear();
    scenario.rig.gears.pinion_teeth = teeth;
    scenario.tune = tune::read(&tune_text_with(line), &scenario.rig).unwrap();
    // With all the authority the full speed alone decides; with little, the duty does.
    scenario.tune.hold.as_mut().unwrap().authority = 1.0;
    scenario.driver.duration_s = 5.0;
    scenario.driver.motion = easeoff_sim::files::driver::Motion::ByTime(vec![
        [0.0, 0.0],
        [0.8, 0.0],
        [1.2, 0.5],
        [5.0, 0.5],
    ]);
    let run = simulate(&scenario, DEFAULT_STEP_S).unwrap();
    let last = &run.rows[run.rows.len() - 1_000..];
    let mean = last.iter().map(easeoff_sim::run::Row::speed_m_s).sum::<f64>() / 1_000.0;
    (scenario, mean)
}

/// With a number in the tune 11 teeth were as fast as 16, and nothing said so.
#[test]
fn a_bigger_pinion_is_faster_with_the_speed_held() {
    let (_, small) = at_half_throttle(11, "");
    let (_, big) = at_half_throttle(16, "");
    let gain = big / small;
    assert!((gain / (16.0 / 11.0) - 1.0).abs() < 0.03, "{small} and {big} m/s");
    // A set one is used as it is, and is said not to fit.
    let set = "full_speed_rad_s = 57";
    let (slow, kept) = (at_half_throttle(11, set), at_half_throttle(16, set));
    assert!((kept.1 / slow.1 - 1.0).abs() < 0.001, "{} and {} m/s", slow.1, kept.1);
    let own = at_half_throttle(13, set);
    for (scenario, fits) in [(&slow.0, false), (&own.0, true), (&kept.0, false)] {
        assert_eq!(scenario.tune.hold.unwrap().full_speed_rad_s, 57.0);
        assert_eq!(misfit(&scenario.tune, &scenario.rig).is_none(), fits);
    }
}

#[test]
fn a_range_is_kept_and_what_follows_the_rig_is_not_written_as_a_number() {
    let rig = demo::rig().unwrap();
    for wrong in ["full_speed_rad_s = 0", "full_speed_rad_s = 0.5", "full_speed_rad_s = 3000"] {
        let refusal = tune::read(&tune_text_with(wrong), &rig).unwrap_err();
        assert_eq!(refusal.mistakes.len(), 1, "{}", refusal.render());
        assert!(refusal.mistakes[0].what.starts_with("hold.full_speed_rad_s is "));
    }
    let follows = tune::read(&tune_text_with(""), &rig).unwrap();
    assert_eq!(follows.hold.unwrap().full_speed_rad_s, derived(&rig));
    let sets = |text: String| text.lines().any(|line| line.starts_with("full_speed_rad_s"));
    assert!(!sets(tune_text::text(&follows, Some(&rig)).unwrap()));
    // Of another rig, or of none that is known, it is a number.
    assert!(sets(tune_text::text(&follows, None).unwrap()));
    let mut other = rig.clone();
    other.gears.pinion_teeth += 1;
    assert!(sets(tune_text::text(&follows, Some(&other)).unwrap()));
    assert!(tune::read(&Source::new("t", "[drag]\nonset_ms = 3\n"), &rig).unwrap().hold.is_none());
}
