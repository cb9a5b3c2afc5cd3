//! First power, step by step, with the numbers to expect of this rig.

use easeoff_plant::heating::Temperatures;
use easeoff_plant::steady::{Pull, Steady};

use super::Subject;
use crate::digits::digits;

/// The steps, in their order.
pub fn steps(subject: &Subject<'_>) -> Vec<String> {
    let (rig, tune) = (subject.rig(), &subject.scenario.tune);
    let (steady, cold) = (Steady::new(rig), Temperatures::cold(rig));
    let free = |duty: f64| {
        let point = steady.under(duty, &cold, |_| 0.0)?;
        let turns = point.wheel_rad_s * 30.0 / std::f64::consts::PI;
        Some(format!("{} turns a minute at {} A", digits(turns), digits(point.motor_a)))
    };
    let expected = |duty: f64| free(duty).unwrap_or_else(|| "nothing".into());
    let volts = steady.at_speed(0.0, 0.0, &cold, Pull::AtOnce).bus_v;
    vec![
        "Wheels off the ground on a stand that cannot tip; nothing near gears and tyres; hair, sleeves and \
         wires away."
            .into(),
        "Eye protection. The pack within reach, its connector free to pull; a place where a burning pack does \
         no harm."
            .into(),
        "Pack out: turn the wheels by hand through a whole turn of the spur gear. No tight spot, no bare wire, \
         polarity right at both ends."
            .into(),
        format!(
            "Radio first, throttle let go. Then the pack through a fuse, or a current-limited supply, which must \
             not be fed back: no hard braking on it. At a charge of {} expect {} V at the bridge.",
            digits(rig.pack.charge),
            digits(volts)
        ),
        format!(
            "Wait {} s for it to arm. Nothing may turn. If it does: pull the pack, set calibration.neutral_us.",
            digits(f64::from(tune.mode.arm_ms) / 1_000.0)
        ),
        "A touch of throttle: the wheels turn forward. If not, and the controller drives forward: swap the \
         motor's two leads. If it drives backward: set calibration.reversed. One of both, never both."
            .into(),
        format!(
            "Half duty, wheels free: about {}. Much more current: the mesh binds or the motor is damaged.",
            expected(0.5)
        ),
        format!("Full duty, for a moment only: about {}.", expected(1.0)),
        "Let go: the brake comes in as set, and does not drive backward.".into(),
        format!(
            "Switch the radio off while the wheels turn slowly: within {} ms they must be in the safe state.",
            digits(f64::from(tune.pulse.loss_after_ms))
        ),
        "Touch nothing hot: hold the back of the hand near motor, bridge, wire and connectors after a minute."
            .into(),
        "Then on level ground, slowly, away from people, animals, roads and water; last of all on a slope."
            .into(),
    ]
}
