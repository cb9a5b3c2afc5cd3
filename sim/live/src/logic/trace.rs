//! What the traces show: the last minute, a point every hundredth of a second.

use std::collections::{VecDeque, vec_deque};

use easeoff_sim::run::Row;

/// So long a past is kept \[s\].
pub const KEPT_S: f64 = 60.0;
/// From point to point \[s\].
pub const POINT_S: f64 = 0.01;
const MOST: usize = (KEPT_S / POINT_S) as usize;

/// One point; of what jumps about within a hundredth of a second, the largest.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
#[expect(missing_docs, reason = "quantities with their units")]
pub struct Point {
    pub time_s: f64,
    pub wheel_m_s: f64,
    pub body_m_s: f64,
    pub throttle: f64,
    pub duty: f64,
    pub brake: f64,
    pub motor_a: f64,
    pub drive_line_n_m: f64,
    pub winding_c: f64,
    pub bridge_c: f64,
    /// A load is hidden from the driver.
    pub hidden: bool,
}

/// The last minute.
#[derive(Clone, Debug, Default)]
pub struct Past {
    points: VecDeque<Point>,
    growing: Option<Point>,
}

impl Past {
    /// The points, the oldest first.
    pub fn points(&self) -> vec_deque::Iter<'_, Point> {
        self.points.iter()
    }

    /// The last point.
    pub fn last(&self) -> Option<&Point> {
        self.points.back()
    }

    /// The points of a stretch of time, with the one before it, from which its line comes.
    pub fn between(&self, from_s: f64, to_s: f64) -> vec_deque::Iter<'_, Point> {
        let from = self.points.partition_point(|point| point.time_s < from_s).saturating_sub(1);
        let to = self.points.partition_point(|point| point.time_s <= to_s);
        self.points.range(from..to.max(from))
    }

    /// The point at a time: the last one that is not later, or the first.
    pub fn at(&self, time_s: f64) -> Option<&Point> {
        let after = self.points.partition_point(|point| point.time_s <= time_s);
        self.points.get(after.saturating_sub(1))
    }

    /// Takes a row in; one with anything that is no number is left out.
    pub fn take(&mut self, row: &Row, hidden: bool) {
        let point = Point {
            time_s: row.time_s,
            wheel_m_s: row.wheel_speed_m_s(),
            body_m_s: row.speed_m_s(),
            throttle: row.seen.demand.to_f32().into(),
            duty: row.command.duty().to_f32().into(),
            brake: row.command.braking().to_f32().into(),
            motor_a: row.plant.mean_a(),
            drive_line_n_m: row.flows.shaft_n_m,
            winding_c: row.plant.now.winding_c,
            bridge_c: row.plant.now.bridge_c,
            hidden,
        };
        let Point {
            time_s, wheel_m_s, body_m_s, motor_a, drive_line_n_m, winding_c, bridge_c, ..
        } = point;
        let numbers = [time_s, wheel_m_s, body_m_s, motor_a, drive_line_n_m, winding_c, bridge_c];
        if numbers.iter().any(|number| !number.is_finite()) {
            return;
        }
        let Some(growing) = &mut self.growing else {
            self.growing = Some(point);
            return;
        };
        if point.time_s - growing.time_s < POINT_S - 1.0e-9 {
            let larger = |a: f64, b: f64| if b.abs() > a.abs() { b } else { a };
            growing.motor_a = larger(growing.motor_a, point.motor_a);
            growing.drive_line_n_m = larger(growing.drive_line_n_m, point.drive_line_n_m);
            growing.hidden |= hidden;
            return;
        }
        if self.points.len() == MOST {
            self.points.pop_front();
        }
        self.points.push_back(*growing);
        *growing = point;
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use easeoff_sim::files::demo;
    use easeoff_sim::run::{DEFAULT_STEP_S, simulate};

    #[test]
    fn peaks_are_kept_what_is_no_number_is_not_and_a_minute_is_enough() {
        let rows = simulate(&demo::scenario("garden").unwrap(), DEFAULT_STEP_S).unwrap().rows;
        let mut traces = Past::default();
        rows.iter().for_each(|row| traces.take(row, false));
        let most = |of: &dyn Fn(&Row) -> f64| rows.iter().map(of).fold(0.0, f64::max);
        let shown = traces.points().map(|point| point.drive_line_n_m).fold(0.0, f64::max);
        assert_eq!(shown, most(&|row| row.flows.shaft_n_m));
        assert!((traces.points().len() as f64 - 1_600.0).abs() <= 1.0);
        let some: Vec<f64> = traces.between(1.0, 1.05).map(|point| point.time_s).collect();
        assert!(some[0] < 1.0 && some[1] >= 1.0 && *some.last().unwrap() <= 1.05, "{some:?}");
        assert!((some.len() as f64 - 6.5).abs() <= 1.0, "{some:?}");
        assert_eq!(
            traces.at(1.02).unwrap().time_s,
            some[some.iter().rposition(|t| *t <= 1.02).unwrap()]
        );
        assert_eq!(traces.at(-5.0), traces.points().next());
        assert!(traces.between(90.0, 80.0).len() <= 1);
        let mut bad = rows[0];
        bad.time_s = 16.0;
        bad.flows.shaft_n_m = f64::NAN;
        traces.take(&bad, false);
        let mut late = rows[0];
        for n in 0..200_000_u32 {
            late.time_s = 20.0 + f64::from(n) * 1.0e-3;
            traces.take(&late, true);
        }
        assert_eq!(traces.points().len(), MOST);
        assert!(traces.points().all(|point| point.hidden && point.drive_line_n_m.is_finite()));
    }
}
