//! A drive: the simulation stepped in real time, with a hand on the lever and hands on the settings.

mod drive;
mod judge;

use easeoff_core::{Settings, TickRate};
use easeoff_sim::files::driver::Motion;
use easeoff_sim::files::scenario::Scenario;
use easeoff_sim::run::{DEFAULT_STEP_S, Row, Simulation, columns};
use sha2::{Digest, Sha256};

use super::blind::{Blind, USUAL_DRIVES};
use super::bog::Watch;
use super::exercise::{Attempt, Referee};
use super::lever::Lever;
use super::load::{CourseText, Loaded};
use super::off::laid_out;
use super::pace::Pace;
use super::scenes::SCENES;
use super::trace::Past;
use super::tunes::Tunes;

/// The latest time a driver's files may name \[s\].
const LAST_S: f64 = 3_600.0;

/// One person driving.
pub struct Session {
    /// What was loaded.
    loaded: Loaded,
    step_s: f64,
    scene: usize,
    simulation: Simulation<'static>,
    /// Real time.
    pub pace: Pace,
    /// The throttle.
    pub lever: Lever,
    /// The tunes on the bench.
    pub tunes: Tunes,
    /// The tune that the controller has.
    in_force: Settings,
    /// The tune that this drive is under, until another one comes into force on the way.
    since_start: Option<Settings>,
    /// Why the tune on the bench is not in force.
    refused: Option<String>,
    traces: Past,
    watch: Watch,
    row: Option<Row>,
    frames_sent: u64,
    ticks: u64,
    digest: Sha256,
    running: bool,
    over: Option<String>,
    transmits: bool,
    looked_s: Option<f64>,
    referee: Option<Referee>,
    /// The attempts at exercises that came to their end.
    pub attempts: Vec<Attempt>,
    /// The series of blind drives, while there is one.
    blind: Option<Blind>,
    /// The series that are over.
    pub series: Vec<Blind>,
    /// So many drives make the next series.
    pub series_of: u32,
}

impl Session {
    /// At rest at the course's start, in the simulator's usual step.
    ///
    /// # Errors
    /// As [`Session::stepping`].
    pub fn new(loaded: Loaded) -> Result<Self, String> {
        Self::stepping(loaded, DEFAULT_STEP_S)
    }

    /// As [`Session::new`], in steps of at most `step_s`. The loaded driver gives only its radio and its steering.
    ///
    /// # Errors
    /// As [`Simulation::new`], in words.
    pub fn stepping(loaded: Loaded, step_s: f64) -> Result<Self, String> {
        let scenario = &loaded.scenario;
        let tune = scenario.tune;
        let tunes = Tunes::new(laid_out(tune, &loaded.tune, &scenario.rig));
        let simulation = at_start(scenario, 0, tune, step_s)?;
        Ok(Self {
            step_s,
            since_start: Some(tune),
            series: Vec::new(),
            series_of: USUAL_DRIVES,
            pace: Pace::new(loaded.scenario.rig.board.tick_hz),
            in_force: tune,
            loaded,
            scene: 0,
            simulation,
            lever: Lever::default(),
            tunes,
            refused: None,
            traces: Past::default(),
            watch: Watch::default(),
            row: None,
            frames_sent: 0,
            ticks: 0,
            digest: Sha256::new(),
            running: true,
            over: None,
            transmits: true,
            looked_s: None,
            referee: None,
            attempts: Vec::new(),
            blind: None,
        })
    }

    /// Back to the start of the course, cold, with a full pack, under the tune on the bench.
    ///
    /// # Errors
    /// As [`Session::enter`].
    pub fn reset(&mut self) -> Result<(), String> {
        self.enter(self.scene)
    }

    /// To the start of another course. An exercise that was under way is given up.
    ///
    /// # Errors
    /// As [`Session::new`]; everything is then as it was.
    pub fn enter(&mut self, scene: usize) -> Result<(), String> {
        self.give_up();
        self.begin(scene)
    }

    fn begin(&mut self, scene: usize) -> Result<(), String> {
        let wish = self.tunes.now().settings();
        let tune = if self.check(&wish).is_ok() { wish } else { self.in_force };
        self.simulation = at_start(&self.loaded.scenario, scene, tune, self.step_s)?;
        (self.scene, self.in_force, self.since_start) = (scene, tune, Some(tune));
        (self.traces, self.watch, self.row) = (Past::default(), Watch::default(), None);
        (self.frames_sent, self.ticks, self.digest) = (0, 0, Sha256::new());
        (self.running, self.over, self.transmits) = (true, None, true);
        self.referee = SCENES
            .get(scene)
            .and_then(|scene| scene.exercise.map(|exercise| Referee::new(exercise, scene.mark_m)));
        Ok(())
    }

    fn check(&self, tune: &Settings) -> Result<(), String> {
        let rate =
            TickRate::new(self.loaded.scenario.rig.board.tick_hz).ok_or("no such tick rate")?;
        tune.prepare(rate).map(|_| ()).map_err(|errors| errors.to_string())
    }

    /// Stops or goes on. A drive that is over stays over.
    pub fn run(&mut self, on: bool) {
        self.running = on && self.over.is_none();
    }

    /// Switches the transmitter on or off.
    pub fn transmit(&mut self, on: bool) {
        if on == self.transmits {
            return;
        }
        self.transmits = on;
        let time_s = self.simulation.time_s();
        let lost_s = &mut self.simulation.driver_mut().lost_s;
        if on {
            if let Some(last) = lost_s.last_mut() {
                last[1] = time_s;
            }
        } else {
            lost_s.push([time_s, LAST_S]);
        }
    }

    /// Whether the transmitter is on.
    pub fn transmits(&self) -> bool {
        self.transmits
    }

    /// Whether time goes on.
    pub fn running(&self) -> bool {
        self.running
    }

    /// Why the drive is over.
    pub fn over(&self) -> Option<&str> {
        self.over.as_deref()
    }

    /// Why the tune on the bench is not in force.
    pub fn refused(&self) -> Option<&str> {
        self.refused.as_deref()
    }

    /// The tune that the controller has.
    pub fn in_force(&self) -> &Settings {
        &self.in_force
    }

    /// What was loaded.
    pub fn loaded(&self) -> &Loaded {
        &self.loaded
    }

    /// The course that is driven, as text.
    ///
    /// # Errors
    /// As [`Scene::text`](super::scenes::Scene::text).
    pub fn course_text(&self) -> Result<CourseText, String> {
        let rating_n_m = self.loaded.scenario.rig.gears.rating_n_m;
        let text = SCENES.get(self.scene).map(|scene| scene.text(rating_n_m)).transpose()?;
        Ok(match text.flatten() {
            Some(text) => CourseText { text, profile: None },
            None => self.loaded.course.clone(),
        })
    }

    /// The simulation's longest step \[s\].
    pub fn step_s(&self) -> f64 {
        self.step_s
    }

    /// What is driven, with everything the hand did so far.
    pub fn scenario(&self) -> &Scenario {
        self.simulation.scenario()
    }

    /// The simulation.
    pub fn simulation(&self) -> &Simulation<'static> {
        &self.simulation
    }

    /// Which of [`SCENES`].
    pub fn scene(&self) -> usize {
        self.scene
    }

    /// The place that is marked on this course, and its words.
    pub fn mark(&self) -> Option<(f64, String)> {
        let place_m = SCENES.get(self.scene)?.mark_m?;
        Some((place_m, format!("{place_m} m")))
    }

    /// The last tick.
    pub fn row(&self) -> Option<&Row> {
        self.row.as_ref()
    }

    /// The last minute.
    pub fn traces(&self) -> &Past {
        &self.traces
    }

    /// The load that is pulling, or the last one.
    pub fn watch(&self) -> &Watch {
        &self.watch
    }

    /// Ticks since the drive began.
    pub fn ticks(&self) -> u64 {
        self.ticks
    }

    /// A digest of every value of every tick since the drive began, in the order of `run.csv`.
    pub fn digest(&self) -> [u8; 32] {
        self.digest.clone().finalize().into()
    }
}

fn at_start(
    loaded: &Scenario,
    scene: usize,
    tune: Settings,
    step_s: f64,
) -> Result<Simulation<'static>, String> {
    let scene = SCENES.get(scene).ok_or("there is no such scene")?;
    let mut scenario = loaded.clone();
    scenario.tune = tune;
    if let Some(course) = scene.read(loaded.rig.gears.rating_n_m)? {
        scenario.course = course;
    }
    let driver = &mut scenario.driver;
    driver.duration_s = LAST_S;
    driver.motion = Motion::Recording(Vec::new());
    driver.lost_s.clear();
    driver.retunes.clear();
    Simulation::owning(scenario, step_s).map_err(|error| error.to_string())
}

/// Takes every value of a row into a digest, in the order of `run.csv`.
pub fn take(digest: &mut Sha256, row: &Row) {
    columns::values(row).for_each(|value| digest.update(value.to_bits().to_le_bytes()));
}
