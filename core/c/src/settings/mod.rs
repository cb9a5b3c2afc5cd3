//! All settings as C sees them, and both ways between them and the core's.

mod made;
mod translate;
mod wrong;

use easeoff_core::{CurveSettings, Knots, MOST_KNOTS, Settings};

use crate::pointer::put;
use crate::status::easeoff_status;
use wrong::Wrong;

pub use made::*;

/// The most knots of a curve.
pub const EASEOFF_KNOTS: usize = 9;

const _: () = assert!(EASEOFF_KNOTS == MOST_KNOTS);

impl easeoff_curve {
    /// Puts the knots in the place of the blend, if it is they that count.
    fn read(&self, curve: &mut CurveSettings, wrong: &mut Wrong) {
        if !wrong.flag("curve.kind", self.kind) {
            return;
        }
        let count = wrong.pick("curve.knot_count", self.knot_count, EASEOFF_KNOTS + 1);
        let knots = count.and_then(|count| self.knots.get(..count)).and_then(Knots::new);
        *curve = CurveSettings::Knots(knots.unwrap_or_default());
    }

    fn tell(&mut self, curve: &CurveSettings) {
        let CurveSettings::Knots(knots) = curve else { return };
        self.kind = 1;
        for (place, point) in self.knots.iter_mut().zip(knots.points()) {
            *place = *point;
            self.knot_count = self.knot_count.saturating_add(1);
        }
    }
}

/// Puts the default settings.
///
/// # Safety
/// The pointer is null or points to what it says.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn easeoff_settings_default(
    settings: *mut easeoff_settings,
) -> easeoff_status {
    // SAFETY: the caller's promise.
    unsafe { put(settings, Settings::default().into()) }.into()
}
