//! Logs with a known truth: a rig driven by a list of commands, its signals sampled, noise laid over them.

use std::fmt::Write;

use easeoff_core::{Command, Duty, Strength};
use easeoff_plant::course::Surface;
use easeoff_plant::rig::Rig;
use easeoff_sim::files::demo;
use easeoff_sim::files::scenario::Scenario;
use easeoff_sim::run::columns::Column;
use easeoff_sim::run::{DEFAULT_STEP_S, Row, RunError, Simulation};
use rand_chacha::ChaCha8Rng;
use rand_chacha::rand_core::{Rng, SeedableRng};

/// The measured columns of a made log, with the value of each.
pub const SIGNALS: [Column<Row>; 3] = [
    Column { name: "wheel_speed_rad_s", value: |row| row.plant.now.wheel_rad_s },
    Column { name: "motor_a", value: |row| row.plant.mean_a() },
    Column { name: "bus_v", value: |row| row.flows.bus_v },
];

/// What is driven.
#[derive(Clone, Debug)]
pub struct MadeLog {
    /// The true rig.
    pub rig: Rig,
    /// Rolling resistance of the level ground.
    pub rolling: f64,
    /// Wheel speed at the beginning \[rad/s\].
    pub start_rad_s: f64,
    /// Each duty (positive) or brake share (negative), and until when it lasts \[s\]. 0 coasts.
    pub drive: Vec<(f64, f64)>,
    /// Time from row to row \[s\].
    pub every_s: f64,
}

/// One row: time, command, and the values of [`SIGNALS`].
#[derive(Clone, Copy, Debug)]
pub struct MadeRow {
    /// \[s\]
    pub time_s: f64,
    /// What the bridge was told from then on.
    pub command: Command,
    /// What a perfect instrument reads.
    pub exact: [f64; 3],
}

/// The rig on level ground, for a made log and for the fit of it.
///
/// # Panics
/// Never, in a program whose demos are good.
pub fn level(rig: Rig, rolling: f64) -> Scenario {
    let mut scenario = demo::scenario("let-off").unwrap();
    scenario.course.profile_m = vec![[0.0, 0.0], [1.0, 0.0]];
    scenario.course.rough = None;
    scenario.course.snags.clear();
    scenario.course.start_m = 0.0;
    scenario.course.surfaces = vec![Surface { rolling, ..Surface::default() }];
    Scenario { rig, ..scenario }
}

impl MadeLog {
    fn command(&self, time_s: f64) -> Command {
        let now = self.drive.iter().find(|(_, until_s)| time_s < *until_s - 1.0e-9);
        let share = now.map_or(0.0, |(share, _)| *share as f32);
        if share > 0.0 {
            Command::Drive { duty: Duty::new(share).unwrap_or_default() }
        } else if share < 0.0 {
            Command::Brake { strength: Strength::new(-share).unwrap_or_default() }
        } else {
            Command::Coast
        }
    }

    /// The rows, simulated at a step of `step_s`.
    ///
    /// # Errors
    /// When the run cannot be finished.
    pub fn rows(&self, step_s: f64) -> Result<Vec<MadeRow>, RunError> {
        let scenario = level(self.rig.clone(), self.rolling);
        let mut simulation = Simulation::new(&scenario, step_s)?;
        let now = &mut simulation.state.now;
        now.wheel_rad_s = self.start_rad_s;
        now.motor.motor_rad_s = self.start_rad_s * self.rig.gears.ratio();
        now.speed_m_s = self.start_rad_s * self.rig.wheels.radius_m;
        let last_s = self.drive.last().map_or(0.0, |(_, until_s)| *until_s);
        let stride = libm::round(self.every_s / simulation.tick_s()) as usize;
        let count = libm::round(last_s / simulation.tick_s()) as usize;
        let mut rows = Vec::new();
        for tick in 0..count {
            let command = self.command(tick as f64 * simulation.tick_s());
            let row = simulation.tick_by(|_, _, _| command)?;
            if tick % stride == 0 {
                let exact = SIGNALS.map(|signal| (signal.value)(&row));
                rows.push(MadeRow { time_s: row.time_s, command, exact });
            }
        }
        Ok(rows)
    }
}

/// White normal noise of these deviations, one for each of [`SIGNALS`]; `alike` is how much of each
/// deviation the next one keeps (0: white). Signals of which the deviation is NaN are left out.
#[derive(Clone, Copy, Debug)]
pub struct Noise {
    /// Standard deviations.
    pub deviations: [f64; 3],
    /// From sample to sample, 0 to below 1.
    pub alike: f64,
    /// Which of all noises.
    pub seed: u64,
}

/// The log as a file.
pub fn csv(rows: &[MadeRow], noise: Noise) -> String {
    let mut random = ChaCha8Rng::seed_from_u64(noise.seed);
    let mut even = move || ((random.next_u64() >> 11) as f64 + 0.5) / (1_u64 << 53) as f64;
    // Box and Muller 1958.
    let mut normal = move || {
        libm::sqrt(-2.0 * libm::log(even())) * libm::cos(2.0 * std::f64::consts::PI * even())
    };
    let used: Vec<usize> = (0..3).filter(|i| !noise.deviations[*i].is_nan()).collect();
    let mut text = String::from("time_s,duty,brake_share");
    for index in &used {
        let _ = write!(text, ",{}", SIGNALS[*index].name);
    }
    text.push('\n');
    let fresh = libm::sqrt(1.0 - noise.alike * noise.alike);
    let mut kept = [0.0; 3].map(|_: f64| normal());
    for row in rows {
        let (duty, brake) = (row.command.duty().to_f32(), row.command.braking().to_f32());
        let _ = write!(text, "{},{duty},{brake}", row.time_s);
        for index in &used {
            kept[*index] = noise.alike * kept[*index] + fresh * normal();
            let _ =
                write!(text, ",{}", row.exact[*index] + noise.deviations[*index] * kept[*index]);
        }
        text.push('\n');
    }
    text
}

/// A log of the demo's rig driven to and fro, a row every 10 ms, with some noise.
///
/// # Panics
/// Never, in a program whose demos are good.
pub fn lively_csv() -> String {
    let drive = vec![(0.3, 0.2), (0.7, 0.6), (0.0, 0.8), (-0.5, 1.0)];
    let rig = demo::rig().unwrap();
    let made = MadeLog { rig, rolling: 0.02, start_rad_s: 0.0, drive, every_s: 0.01 };
    let noise = Noise { deviations: [0.3, 0.3, 0.01], alike: 0.0, seed: 3 };
    csv(&made.rows(DEFAULT_STEP_S).unwrap(), noise)
}
