//! Closing the loop, and wind-up: our speed hold drives the published car.

use easeoff::draw::chart::{Panel, Series, colour};
use easeoff_core::{HoldSettings, Input, Settings, Speed};
use easeoff_sim::digits::digits;

use super::car::{VREF, acceleration, equilibrium_throttle, hill, rk4};
use super::{Made, slide, table};
use crate::stages::Failure;
use crate::stages::bench::{feed, throttle};

/// Time, speed and throttle of one millisecond.
struct Moment {
    t: f64,
    v: f64,
    u: f64,
}

fn line(run: &[Moment], name: &str, colour: colour::Colour, value: fn(&Moment) -> f64) -> Series {
    let points = run.iter().step_by(20).map(|moment| (moment.t, value(moment))).collect();
    Series { name: name.into(), points, colour }
}

/// The car at its set speed, then a hill from 5 s on, held by our loop with these gains
/// \[1/(m/s), 1/m\]; without any the throttle stays.
fn on_hill(degrees: f64, [kp, ki]: [f64; 2], seconds: f64) -> Result<Vec<Moment>, Failure> {
    let mut settings = Settings::default();
    let open = kp == 0.0 && ki == 0.0;
    settings.hold = (!open).then(|| HoldSettings {
        full_speed_rad_s: VREF as f32,
        // Without an integral the throttle of level ground comes with the demand.
        feed_forward: if ki == 0.0 { equilibrium_throttle() as f32 } else { 0.0 },
        gain: (kp * VREF) as f32,
        gain_per_s: (ki * VREF) as f32,
        droop: 0.0,
        authority: 1.0,
        fade_ms: 0.0,
        give_way: None,
    });
    settings.slew.rise_per_s = 1_000.0;
    settings.drag.strength = 0.0;
    // A minute to settle; the hill comes 5 s after it.
    let settle_s = 60.0;
    let mut v = VREF;
    let ticks = feed(&settings, settle_s + seconds, |moment| {
        let u = f64::from(moment.before.duty().to_f32());
        let t = moment.time_s - settle_s;
        if moment.time_s > 0.0 {
            [v] = rk4([v], t, 1.0e-3, |t, [v]| [acceleration(v, u, hill(degrees, t))]);
        }
        let pulse = throttle(if open { equilibrium_throttle() } else { 1.0 });
        Input { pulse, speed: Speed::new(v as f32), ..Input::default() }
    })?;
    let moment = |tick: &crate::stages::bench::Tick| Moment {
        t: tick.time_s - settle_s,
        v: tick.input.speed.map_or(0.0, |speed| speed.to_f32().into()),
        u: tick.output.command.duty().to_f32().into(),
    };
    Ok(ticks.iter().map(moment).filter(|moment| moment.t >= 0.0).collect())
}

fn last_speed(run: &[Moment]) -> f64 {
    run.last().map_or(0.0, |moment| moment.v)
}

/// Proportional gains, and the speed they leave on 4 degrees, computed from the source's model.
const PUBLISHED: [(f64, f64); 4] =
    [(0.1, 14.8062), (0.25, 17.9391), (0.5, 18.9680), (1.0, 19.4832)];

/// P is droop, PI hides the load.
pub(crate) fn closing_the_loop() -> Result<Made, Failure> {
    let kinds = [
        ("throttle held", [0.0, 0.0], colour::GREY),
        ("P, 0.25", [0.25, 0.0], colour::ORANGE),
        ("P, 0.5", [0.5, 0.0], colour::GREEN),
        ("PI, 0.5 and 0.1", [0.5, 0.1], colour::BLUE),
    ];
    let (mut speeds, mut duties) = (Vec::new(), Vec::new());
    for (name, gains, colour) in kinds {
        let run = on_hill(4.0, gains, 40.0)?;
        speeds.push(line(&run, name, colour, |moment| moment.v));
        duties.push(line(&run, "", colour, |moment| moment.u));
    }
    let mut speed = Panel::new("speed, m/s", speeds, 1.4);
    speed.y = 0.0..22.0;
    speed.marks = vec![(5.0, "hill begins".into())];
    let picture = slide(
        "P gives speed up and shows the load; PI gives none up and hides it",
        "the published car on a 4 degree hill, driven by our speed hold",
        vec![speed, Panel::new("throttle", duties, 1.0)],
        0.0..40.0,
        "time, s",
    );
    let rows = PUBLISHED.map(|(gain, published)| {
        let ours = on_hill(4.0, [gain, 0.0], 200.0).map_or(f64::NAN, |run| last_speed(&run));
        vec![gain.to_string(), format!("{published:.4}"), format!("{ours:.4}")]
    });
    let solution = PUBLISHED.map(|(gain, speed)| {
        // Droop: relative speed given up per throttle added.
        let added = on_hill(4.0, [gain, 0.0], 200.0).map_or(f64::NAN, |run| {
            run.last().map_or(0.0, |moment| moment.u) - equilibrium_throttle()
        });
        let lost = 1.0 - speed / VREF;
        vec![gain.to_string(), digits(lost / added), digits(1.0 / (gain * VREF))]
    });
    Ok(Made {
        name: "closing-the-loop",
        picture,
        tables: vec![
            (
                "",
                table(
                    &[
                        "gain of P, s/m",
                        "speed on the hill by the source's model, m/s",
                        "ours, m/s",
                    ],
                    &rows,
                ),
            ),
            (
                "-solution",
                table(
                    &[
                        "gain of P, s/m",
                        "speed given up / throttle added",
                        "1 / (gain * set speed)",
                    ],
                    &solution,
                ),
            ),
        ],
    })
}

/// The source's own PI law without anti-windup: `u = kp e + ki z, dz/dt = e`; the car clips it.
fn winding_up(degrees: f64, seconds: f64) -> Vec<Moment> {
    let law = |v: f64, z: f64| 0.5 * (VREF - v) + 0.1 * z;
    let mut x = [VREF, equilibrium_throttle() / 0.1];
    let steps = (seconds * 1_000.0) as usize;
    let mut run = Vec::with_capacity(steps);
    for step in 0..steps {
        let t = step as f64 * 1.0e-3;
        run.push(Moment { t, v: x[0], u: law(x[0], x[1]) });
        x = rk4(x, t, 1.0e-3, |t, [v, z]| [acceleration(v, law(v, z), hill(degrees, t)), VREF - v]);
    }
    run
}

/// Wind-up on a hill that is too steep.
pub(crate) fn wind_up() -> Result<Made, Failure> {
    let ours = on_hill(6.0, [0.5, 0.1], 60.0)?;
    let wound = winding_up(6.0, 60.0);
    let both = |value: fn(&Moment) -> f64, named: bool| {
        let name = |text: &'static str| if named { text } else { "" };
        vec![
            line(&wound, name("no anti-windup"), colour::VERMILION, value),
            line(&ours, name("ours"), colour::BLUE, value),
        ]
    };
    let mut speed = Panel::new("speed, m/s", both(|moment| moment.v, true), 1.2);
    speed.y = 18.6..20.6;
    speed.levels = vec![(VREF, "set speed".into())];
    let mut asked = Panel::new(
        "throttle asked for; the car takes 1 at most",
        both(|moment| moment.u, false),
        1.0,
    );
    asked.levels = vec![(1.0, String::new())];
    let picture = slide(
        "An integral that goes on summing at full throttle pays it back as overshoot",
        "the published car on a 6 degree hill, the throttle at its limit from about 10 s on",
        vec![speed, asked],
        0.0..60.0,
        "time, s",
    );
    let most = |run: &[Moment]| run.iter().map(|moment| moment.v).fold(0.0, f64::max);
    let least = |run: &[Moment]| run.iter().map(|moment| moment.v).fold(f64::INFINITY, f64::min);
    let row = |name: &str, published: [&str; 2], run: &[Moment]| {
        let [low, high] = [least(run), most(run)].map(|speed| format!("{speed:.4}"));
        vec![name.to_owned(), published[0].into(), low, published[1].into(), high]
    };
    let rows = [
        row("without anti-windup", ["18.9019", "20.3950"], &wound),
        row("easeoff's loop", ["-", "-"], &ours),
    ];
    let heads = ["", "slowest, published model", "here", "fastest, published model", "here"];
    let at_limit =
        |run: &[Moment]| run.iter().filter(|moment| moment.u >= 0.999).count() as f64 / 1_000.0;
    let solution = [
        vec!["without anti-windup".into(), digits(at_limit(&wound))],
        vec!["easeoff's loop".into(), digits(at_limit(&ours))],
    ];
    Ok(Made {
        name: "wind-up",
        picture,
        tables: vec![
            ("", table(&heads, &rows)),
            ("-solution", table(&["", "at full throttle, s"], &solution)),
        ],
    })
}
