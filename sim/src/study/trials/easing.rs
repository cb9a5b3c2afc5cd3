//! Letting go of the throttle, on the level and downhill.

use super::stage::{LETS_GO_S, Subject};
use super::{Shown, Trial, Tried};
use crate::run::RunError;
use crate::score::{
    CREEPS_ON, LURCH, PEAK_DECELERATION, ROLLED_BACK, RUN_ON, SLIP, STOP_JERK, STOP_JOLT,
    STOP_TIME, ScoreRow, TIP_MARGIN, smooth_acceleration,
};

const TAKEN: [&ScoreRow; 10] = [
    &STOP_JERK,
    &LURCH,
    &STOP_JOLT,
    &PEAK_DECELERATION,
    &RUN_ON,
    &ROLLED_BACK,
    &CREEPS_ON,
    &STOP_TIME,
    &SLIP,
    &TIP_MARGIN,
];

const SLOWING: Shown = Shown {
    label: "acceleration, m/s\u{b2}, low-pass filtered at 10 Hz",
    values: |tried| smooth_acceleration(&tried.run),
    level: |_| None,
    bottom: None,
    least_span: None,
    from_start: false,
};

/// On the level.
pub(super) const LEVEL: Trial = Trial {
    name: "Let-off on the level",
    file: "let-off-level",
    asks: "How gently, and how soon, does it stop when the throttle is let go?",
    how: |_| "Level ground, at speed with half throttle, let go within 20 ms.".into(),
    shown: SLOWING,
    run: |subject| let_off(subject, 0.0),
};

/// Downhill.
pub(crate) const DOWNHILL: Trial = Trial {
    name: "Let-off downhill",
    file: "let-off-downhill",
    asks: "Does it stop downhill, and what does that take?",
    how: |subject| format!("The same, {} degrees downhill.", subject.method.creep_slope_deg),
    shown: SLOWING,
    run: |subject| let_off(subject, -subject.method.creep_slope_deg),
};

fn let_off(subject: &Subject<'_>, slope_deg: f64) -> Result<Tried, RunError> {
    let lets_go_s = subject.begins_s() + subject.settles_s();
    let duration_s = lets_go_s + 5.0;
    // At half speed a second away.
    let ground = subject.ground(0.5 * subject.top_m_s(), slope_deg, duration_s);
    let mut throttle = subject.pulled(0.5);
    throttle.extend([[lets_go_s, 0.5], [lets_go_s + LETS_GO_S, 0.0]]);
    let tried = subject.tried(subject.scenario(ground, throttle, duration_s), &TAKEN)?;
    Ok(Tried { shown_s: Some(lets_go_s - 0.5..lets_go_s + 2.0), ..tried })
}
