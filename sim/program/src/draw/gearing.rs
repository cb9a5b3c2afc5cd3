//! The picture: speed, torque and heat over teeth.

use easeoff_plant::rig::Rig;
use easeoff_sim::digits::digits;
use easeoff_sim::study::gearing::choice::faults;
use easeoff_sim::study::gearing::row::{Pinion, Trial};
use easeoff_sim::study::gearing::words::verdict;

use crate::draw::chart::{Column, Panel, Series, Sheet, colour};

/// The picture of all pinions; `chosen` is the number of teeth to take.
pub fn sheet(
    rig: &Rig,
    pinions: &[Pinion],
    trial: &Trial,
    wanted_m_s: Option<f64>,
    chosen: Option<&Pinion>,
) -> Sheet {
    let good: Vec<bool> = pinions.iter().map(|pinion| faults(rig, pinion).is_empty()).collect();
    let lines = |name: &str, colour, value: &dyn Fn(&Pinion) -> f64| {
        let points = pinions.iter().map(|pinion| (f64::from(pinion.teeth), value(pinion)));
        by_verdict(name, colour, points.collect(), &good)
    };
    let level = |pinion: &Pinion| pinion.level_m_s.unwrap_or(0.0);
    let climb = |pinion: &Pinion| pinion.climb.speed_m_s.unwrap_or(0.0);
    let mut speeds = lines("on the level", colour::BLUE, &level);
    speeds.extend(lines("up the grade", colour::GREEN, &climb));
    let mut speed = Panel::new("speed at full throttle, m/s", speeds, 1.2);
    let wanted = wanted_m_s.map(|wanted| (wanted, format!("wanted, {} m/s", digits(wanted))));
    speed.levels.extend(wanted);
    let launch = lines("at launch", colour::BLUE, &|pinion| pinion.launch_n_m);
    let mut torque = Panel::new("torque at the wheels, N m", launch, 1.0);
    if let Some(first) = pinions.first() {
        torque.levels.push((first.grade_n_m, "what the grade takes".into()));
    }
    let limit_c = rig.motor.winding_limit_c;
    let warm = lines("up the grade", colour::GREEN, &|pinion| pinion.climb.winding_c);
    let mut heat = Panel::new("winding in the end, degrees C", warm, 1.0);
    heat.levels.push((limit_c, format!("limit, {} degrees C", digits(limit_c))));
    let mut panels = vec![speed, torque, heat];
    for panel in &mut panels {
        let highest = panel.levels.iter().fold(panel.y.end, |top, level| top.max(level.0 * 1.15));
        panel.y.end = highest;
    }
    let own = rig.gears.pinion_teeth;
    let [first, last] = match pinions {
        [first, .., last] => [first.teeth, last.teeth],
        [only] => [only.teeth, only.teeth],
        [] => [own, own],
    };
    let shown = f64::from(first) - 0.5..f64::from(last) + 0.5;
    // Panels in turn: two marks may stand close together.
    let take = chosen.map(|chosen| chosen.teeth);
    for (index, panel) in panels.iter_mut().enumerate() {
        if index == 1 {
            let now =
                (first..=last).contains(&own).then(|| (own.into(), format!("{own} teeth now")));
            panel.marks.extend(now);
        } else {
            panel.marks.extend(take.map(|teeth| (teeth.into(), format!("{teeth} teeth"))));
        }
    }
    Sheet {
        title: verdict(pinions, trial, wanted_m_s, chosen),
        subtitle: format!(
            "{} rpm/V, {} cells, {} teeth on the spur gear; up a grade of {} degrees, rolling resistance {}. \
             Grey: has a fault",
            rig.motor.kv_rpm_per_v,
            rig.pack.cells,
            rig.gears.spur_teeth,
            digits(trial.grade_deg),
            digits(trial.rolling)
        ),
        columns: vec![Column { header: String::new(), panels, bars: Vec::new() }],
        x: shown,
        x_label: "teeth of the pinion".into(),
        size: (1_000, 760),
    }
}

/// A line over the pinions, grey beside those that have a fault.
fn by_verdict(
    name: &str,
    colour: colour::Colour,
    points: Vec<(f64, f64)>,
    good: &[bool],
) -> Vec<Series> {
    let mut lines: Vec<(bool, Vec<(f64, f64)>)> = Vec::new();
    // One pinion alone is a short stroke.
    if let ([(teeth, value)], [good]) = (points.as_slice(), good) {
        lines.push((*good, vec![(teeth - 0.2, *value), (teeth + 0.2, *value)]));
    }
    for index in 1..points.len() {
        let both = good[index - 1] && good[index];
        match lines.last_mut().filter(|(is, _)| *is == both) {
            Some((_, line)) => line.push(points[index]),
            None => lines.push((both, vec![points[index - 1], points[index]])),
        }
    }
    // The name goes with the first coloured line, or with the first of all.
    let named = lines.iter().position(|(good, _)| *good).unwrap_or(0);
    lines
        .into_iter()
        .enumerate()
        .map(|(index, (good, points))| Series {
            name: if index == named { name.into() } else { String::new() },
            points,
            colour: if good { colour } else { colour::GREY },
        })
        .collect()
}
