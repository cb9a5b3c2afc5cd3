//! The driver who watches, at the throttle of the real controller: what a speed hold keeps from him.

use easeoff_core::HoldSettings;
use easeoff_sim::files::demo;
use easeoff_sim::files::driver::Motion;
use easeoff_sim::files::human::{Aim, HumanData};
use easeoff_sim::files::scenario::Scenario;
use easeoff_sim::run::{DEFAULT_STEP_S, Row, simulate};

const PACE_M_S: f64 = 1.0;

/// The snag demo with a driver: a bramble tightens up to 3 N m, beyond the rating.
fn driven(aim: Aim, hold: bool) -> Scenario {
    let mut scenario = demo::scenario("snag").unwrap();
    let authority = 0.5;
    scenario.tune.hold = hold.then(|| HoldSettings { authority, ..scenario.tune.hold.unwrap() });
    scenario.driver.motion = Motion::Human(HumanData {
        pace_m_s: vec![[0.0, PACE_M_S]],
        from_s: 1.0,
        crossover_rad_s: 2.0,
        delay_s: 0.2,
        weber: 0.07,
        full_speed_m_s: 3.3,
        lag_s: 0.3,
        aim,
    });
    scenario
}

fn spare() -> Aim {
    Aim::SpareRig { short: 0.2, rest_s: 1.0 }
}

fn rows(scenario: &Scenario) -> Vec<Row> {
    simulate(scenario, DEFAULT_STEP_S).unwrap().rows
}

fn most_n_m(rows: &[Row]) -> f64 {
    rows.iter().map(|row| row.flows.shaft_n_m).fold(0.0, f64::max)
}

/// On clear ground he comes to the pace and keeps it, within what he sees.
#[test]
fn a_driver_keeps_the_pace() {
    for hold in [false, true] {
        let mut scenario = driven(Aim::KeepPace, hold);
        scenario.course.snags.clear();
        let rows = rows(&scenario);
        let late = rows.iter().filter(|row| row.time_s > 6.0);
        let worst = late.fold(0.0, |most: f64, row| most.max((row.speed_m_s() - PACE_M_S).abs()));
        println!("hold {hold}: within {worst:.3} m/s");
        // He sees 7 % of the speed, and by 7 % more he may overshoot what he saw.
        assert!(worst < 0.14 * PACE_M_S, "{worst}");
    }
}

/// Told to spare the rig he lets go when it slows; a hold that keeps the speed keeps that from him, and the
/// parts take more than they stand.
#[test]
fn a_speed_hold_hides_the_snag_from_a_driver_who_would_let_go() {
    let scenario = driven(spare(), false);
    let rating = scenario.rig.gears.rating_n_m;
    // From the catch until he lets go; after that he may try again.
    let until_let_go = |scenario: &Scenario| {
        let rows = rows(scenario);
        let caught = rows.iter().position(|row| row.flows.snag_n_m > 0.0).unwrap();
        let lets_go = rows.iter().skip(caught).position(|row| row.seen.demand.is_neutral());
        let end = lets_go.map_or(rows.len(), |at| caught + at);
        (most_n_m(&rows[caught..end]), lets_go.is_some())
    };
    let open = until_let_go(&scenario);
    let held = until_let_go(&driven(spare(), true));
    let pressed = until_let_go(&driven(Aim::KeepPace, false));
    println!(
        "open loop {:.2} N m, held {:.2} N m, keeping the pace {:.2} N m, of {rating}",
        open.0, held.0, pressed.0
    );
    assert!(open.1 && open.0 < rating, "he lets go in time");
    assert!(!held.1 && held.0 > rating, "he never sees it");
    assert!(!pressed.1 && pressed.0 > rating, "he adds the throttle himself");
}
