//! When the next frame is due: sixty a second on the clock, however long each takes to draw.
//!
//! A delay from frame to frame would add the time of drawing to each period. A screen that is slower than this
//! paces the window itself; then a frame is always due at once.

/// As long a frame is shown \[s\].
pub const FRAME_S: f64 = 1.0 / 60.0;

/// The grid of frames on a clock.
#[derive(Clone, Copy, Debug, Default)]
pub struct Frames {
    due_s: f64,
}

impl Frames {
    /// How long to wait at `now_s` for the next frame \[s\].
    pub fn wait_s(&mut self, now_s: f64) -> f64 {
        self.due_s += FRAME_S;
        // After a stop, or when it cannot keep up, there is nothing to catch up with.
        if !(now_s - FRAME_S..=now_s + FRAME_S).contains(&self.due_s) {
            self.due_s = now_s.max(0.0);
        }
        (self.due_s - now_s).max(0.0)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Frames in ten seconds that each take `work_s`, the clock waking a little late.
    fn drawn(work_s: f64) -> u32 {
        let (mut frames, mut now_s, mut count) = (Frames::default(), 100.0, 0);
        while now_s < 110.0 {
            count += 1;
            now_s += work_s;
            now_s += frames.wait_s(now_s) + 0.000_4;
        }
        count
    }

    #[test]
    fn drawing_takes_nothing_from_sixty_a_second_until_it_takes_all_of_it() {
        for work_s in [0.000_1, 0.004, 0.012, 0.016] {
            assert!(drawn(work_s).abs_diff(600) <= 2, "{work_s}: {}", drawn(work_s));
        }
        // Slower than that it draws without a pause.
        let slow = drawn(0.025);
        assert!(slow.abs_diff((10.0 / 0.025_4) as u32) <= 2, "{slow}");
        let mut frames = Frames::default();
        frames.wait_s(5.0);
        assert!(frames.wait_s(5.001) <= FRAME_S);
        assert_eq!(frames.wait_s(65.0), 0.0, "a minute away is not caught up with");
        assert!(frames.wait_s(f64::NAN) >= 0.0);
    }
}
