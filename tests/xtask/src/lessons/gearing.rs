//! Gearing: speed, torque and heat over the teeth of the pinion.

use easeoff::draw::chart::Sheet;
use easeoff::draw::gearing::sheet;
use easeoff_plant::rig::Rig;
use easeoff_sim::files::demo;
use easeoff_sim::study::gearing::choice::{choose, pinions, remarks};
use easeoff_sim::study::gearing::mesh::{Pair, involute, least_by_rack, least_with_gear};
use easeoff_sim::study::gearing::row::{Pinion, Trial};
use easeoff_sim::study::gearing::strength::{form, stress_mpa};

use super::published::{Held, alongside};
use super::{Made, cell, table};
use crate::stages::Failure;

/// A number of a pinion's.
type Value = fn(&Pinion) -> f64;

const GRADE_DEG: f64 = 25.0;
const WANTED_M_S: f64 = 4.0;

/// The demo rig with every pinion, up a grade.
pub(crate) fn gearing() -> Result<Made, Failure> {
    let garden = demo::scenario("garden").ok_or("the demo garden is broken")?;
    let rig = &garden.rig;
    let trial = Trial::of(&garden, Some(GRADE_DEG));
    let tried = pinions(rig, 6..=36, &trial);
    let chosen = choose(rig, &tried, Some(WANTED_M_S)).ok_or("no pinion is good")?;
    let drawn = sheet(rig, &tried, &trial, Some(WANTED_M_S), Some(chosen));
    let picture = Sheet {
        title: "A larger pinion: faster on the level, weaker at launch, hotter on the hill".into(),
        size: (1_280, 720),
        ..drawn
    };
    let shown = tried.iter().filter(|pinion| [9, 13, 18, 24, 32].contains(&pinion.teeth));
    let rows: Vec<Vec<String>> = shown.map(|pinion| row(rig, pinion)).collect();
    let heads = [
        "teeth",
        "level, m/s",
        "launch, N m",
        "climb, A",
        "winding, W",
        "ends at, \u{b0}C",
        "against it",
    ];
    let now = tried.iter().find(|pinion| pinion.teeth == rig.gears.pinion_teeth);
    let now = now.ok_or("the rig's own pinion was not tried")?;
    let compared: [(&str, Value); 3] = [
        ("level, m/s", |pinion| pinion.level_m_s.unwrap_or(0.0)),
        ("climb, A", |pinion| pinion.climb.motor_a),
        ("winding, W", |pinion| pinion.climb.winding_w),
    ];
    let compared = compared.map(|(what, value)| {
        let (before, after) = (value(now), value(chosen));
        let numbers = [before, after, after / before].map(|number| cell(Some(number)));
        [vec![what.to_owned()], numbers.to_vec()].concat()
    });
    let teeth = |pinion: &Pinion| format!("{} teeth", pinion.teeth);
    let solution = table(&["", &teeth(now), &teeth(chosen), "ratio"], &compared);
    Ok(Made {
        name: "gearing",
        picture,
        tables: vec![
            ("", table(&heads, &rows)),
            ("-published", published()?),
            ("-solution", solution),
        ],
    })
}

fn row(rig: &Rig, pinion: &Pinion) -> Vec<String> {
    let climb = &pinion.climb;
    let against = remarks(rig, pinion).join("; ");
    vec![
        format!("{}", pinion.teeth),
        cell(pinion.level_m_s),
        cell(Some(pinion.launch_n_m)),
        cell(Some(climb.motor_a)),
        cell(Some(climb.winding_w)),
        cell(Some(climb.winding_c)),
        if against.is_empty() { "-".into() } else { against },
    ]
}

/// Teeth, distances and stress of published examples.
fn published() -> Result<String, Failure> {
    let twenty = 20.0_f64.to_radians();
    let pair =
        |module_mm, pinion, spur| Pair { module_mm, pressure_rad: twenty, teeth: [pinion, spur] };
    let held = |what: &str, published, ours, within, source| Held {
        what: what.into(),
        published,
        ours,
        within,
        source,
    };
    let touching = pair(1.0, 21, 28);
    let inch = pair(0.5, 16, 40);
    // Pitch 8, face 1.5 inch, 16 teeth at 1200 rpm, 10 kpsi: the force along the pitch circle.
    let (module_mm, face_mm) = (25.4 / 8.0, 38.1);
    let speed_m_s = std::f64::consts::PI * 16.0 * module_mm * 1.0e-3 * 20.0;
    let lewis = form(16, 20.0).ok_or("16 teeth have no form factor")?;
    let one_n_mpa = stress_mpa(1.0, speed_m_s, face_mm, module_mm, lewis);
    let allowed_lbf = 10.0 * 6.894_757 / one_n_mpa / 4.448_222;
    let shigley = "Shigley, second hand";
    alongside(&[
        held("least teeth, rack, 20 degrees", "17.10", least_by_rack(twenty), 0.01, shigley),
        held("least pinion, gear 1 to 1", "12.32", least_with_gear(twenty, 1.0), 0.01, shigley),
        held("least pinion, gear 4 to 1", "15.44", least_with_gear(twenty, 4.0), 0.01, shigley),
        held("involute of 20 degrees", "0.014904", involute(twenty), 1e-6, "any table"),
        held(
            "pairs that touch, 21 on 28 teeth",
            "1.604",
            touching.contact_ratio(touching.centre_mm()),
            5e-4,
            "Shigley, problem 13-4, second hand",
        ),
        held(
            "16 and 40 teeth 1/4 inch too far apart work at, degrees",
            "22.56",
            inch.working_rad(14.25).to_degrees(),
            0.05,
            "Shigley, example 13-1, from memory; printed from rounded radii",
        ),
        held("form factor, 16 teeth", "0.295", lewis, 1e-9, "PyPI's gearpy 1.3.1, read"),
        held("the same", "0.296", lewis, 2e-3, "Shigley, table 14-2, second hand"),
        held(
            "force 16 teeth may bear, lbf",
            "365",
            allowed_lbf,
            2.0,
            "Shigley, example 14-1, second hand",
        ),
    ])
}
