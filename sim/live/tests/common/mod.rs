//! A drive that needs no window, and a random hand.
#![allow(dead_code, reason = "each test program uses its part of this")]
#![allow(unreachable_pub, reason = "a module of several programs")]

use easeoff_live::logic::lever::Hands;
use easeoff_live::logic::load::Loaded;
use easeoff_live::logic::session::Session;

/// As long as a frame takes [s].
pub const FRAME_S: f64 = 1.0 / 60.0;

/// A demo's drive.
pub fn session(demo: &str) -> Session {
    Session::new(Loaded::demo(demo).unwrap()).unwrap()
}

/// xorshift64* (Vigna 2016, "An experimental exploration of Marsaglia's xorshift generators").
pub struct Dice(pub u64);

impl Dice {
    /// Evenly from 0 to 1.
    pub fn even(&mut self) -> f64 {
        self.0 ^= self.0 >> 12;
        self.0 ^= self.0 << 25;
        self.0 ^= self.0 >> 27;
        (self.0.wrapping_mul(0x2545_f491_4f6c_dd1d) >> 11) as f64 / (1_u64 << 53) as f64
    }

    /// One of so many.
    pub fn pick(&mut self, count: usize) -> usize {
        ((self.even() * count as f64) as usize).min(count - 1)
    }
}

/// Drives for so long from `now_s`, with the same hands; returns when it ends.
pub fn drive(session: &mut Session, mut now_s: f64, seconds: f64, hands: &Hands) -> f64 {
    let end_s = now_s + seconds;
    while now_s < end_s {
        now_s += FRAME_S;
        session.frame(now_s, hands);
    }
    now_s
}

/// The lever held here.
pub fn held(position: f64) -> Hands {
    Hands { held: Some(position), ..Hands::default() }
}

/// The garden demo in a folder of its own.
pub fn folder() -> (tempfile::TempDir, Loaded) {
    let place = tempfile::tempdir().unwrap();
    for (name, text) in easeoff_sim::files::demo::DEMOS[0].files {
        std::fs::write(place.path().join(name), text).unwrap();
    }
    let loaded = Loaded::folder(place.path()).unwrap();
    (place, loaded)
}
