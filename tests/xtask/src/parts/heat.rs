//! Heat in winding, case and bridge.

use easeoff::draw::chart::{Panel, Series, Sheet, colour};
use easeoff_plant::parts::bridge::Bridge;
use easeoff_plant::parts::heat_path::HeatPath;
use easeoff_plant::rig::Rig;

use crate::stages::bench::{panel, sheet};

pub(crate) fn heat(rig: &Rig) -> Sheet {
    let limit_c = rig.motor.winding_limit_c;
    let shown = |label: &str, power: fn(f64) -> f64| -> Panel {
        let motor = HeatPath::new(&rig.motor, &rig.vehicle);
        let bridge = Bridge::new(&rig.bridge, &rig.vehicle);
        let air_c = rig.vehicle.air_c;
        let (mut winding, mut case, mut switches) = (air_c, air_c, air_c);
        let (mut of_winding, mut of_case, mut of_bridge) = (Vec::new(), Vec::new(), Vec::new());
        let step_s = 0.5;
        for step in 0..1_800 {
            let time_s = f64::from(step) * step_s;
            of_winding.push((time_s, winding));
            of_case.push((time_s, case));
            of_bridge.push((time_s, switches));
            let (a, b) = motor.rates(power(time_s), winding, case);
            switches += step_s * bridge.heating(0.1 * power(time_s), switches);
            (winding, case) = (winding + step_s * a, case + step_s * b);
        }
        let named = |name: &str, points, colour| Series { name: name.into(), points, colour };
        let lines = vec![
            named("winding", of_winding, colour::VERMILION),
            named("case", of_case, colour::BLUE),
            named("bridge", of_bridge, colour::GREEN),
        ];
        let mut panel = panel(label, lines, 1.0, 0.0..165.0);
        panel.levels = vec![(limit_c, "class B".into())];
        panel
    };
    sheet(
        "In bursts the winding gets hotter; the case hardly tells",
        "demo motor; 16 W in the winding steadily, then 64 W for 15 s of every minute; a tenth of it in the bridge",
        vec![
            shown("steady, degrees C", |_| 16.0),
            shown("in bursts, degrees C", |time_s| if time_s % 60.0 < 15.0 { 64.0 } else { 0.0 }),
        ],
        0.0..900.0,
        "time, s",
        620,
    )
}
