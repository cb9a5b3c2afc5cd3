//! A drive: the simulation stepped in real time, with a hand on the lever and hands on the settings.

mod judge;

use easeoff_core::{Settings, TickRate};
use easeoff_sim::columns;
use easeoff_sim::hand::Motion;
use easeoff_sim::retune::Retune;
use easeoff_sim::run::{DEFAULT_STEP_S, Row, Simulation};
use easeoff_sim::scenario::{MOST_TICKS, Scenario};
use sha2::{Digest, Sha256};

use super::blind::Blind;
use super::bog::{Bog, Watch};
use super::exercise::{Attempt, Referee};
use super::lever::{Hands, Lever};
use super::load::Loaded;
use super::pace::Pace;
use super::scenes::SCENES;
use super::sheet::Sheet;
use super::trace::Traces;
use super::tunes::Tunes;

/// The latest time a hand's files may name \[s\].
const LAST_S: f64 = 3_600.0;

/// One person driving.
pub struct Session {
    /// What was loaded.
    loaded: Loaded,
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
    /// Why the tune on the bench is not in force.
    refused: Option<String>,
    traces: Traces,
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
}

impl Session {
    /// At rest at the course's start. The loaded hand gives only its radio and its steering.
    ///
    /// # Errors
    /// As [`Simulation::new`], in words.
    pub fn new(loaded: Loaded) -> Result<Self, String> {
        let tune = loaded.scenario.tune;
        let tunes = Tunes::new(Sheet::from(tune));
        let simulation = at_start(&loaded.scenario, 0, tune)?;
        Ok(Self {
            pace: Pace::new(loaded.scenario.rig.board.tick_hz),
            in_force: tune,
            loaded,
            scene: 0,
            simulation,
            lever: Lever::default(),
            tunes,
            refused: None,
            traces: Traces::default(),
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
    /// As [`Session::new`].
    pub fn reset(&mut self) -> Result<(), String> {
        self.enter(self.scene)
    }

    /// To the start of another course.
    ///
    /// # Errors
    /// As [`Session::new`]; everything is then as it was.
    pub fn enter(&mut self, scene: usize) -> Result<(), String> {
        let wish = self.tunes.now().settings();
        let tune = if self.check(&wish).is_ok() { wish } else { self.in_force };
        self.simulation = at_start(&self.loaded.scenario, scene, tune)?;
        (self.scene, self.in_force) = (scene, tune);
        (self.traces, self.watch, self.row) = (Traces::default(), Watch::default(), None);
        (self.frames_sent, self.ticks, self.digest) = (0, 0, Sha256::new());
        (self.running, self.over, self.transmits) = (true, None, true);
        self.referee = SCENES
            .get(scene)
            .and_then(|scene| scene.exercise.map(|exercise| Referee::new(exercise, scene.mark_m)));
        Ok(())
    }

    /// Moves on to `now_s` on a clock that never goes back.
    pub fn frame(&mut self, now_s: f64, hands: &Hands) {
        let passed_s = self.looked_s.map_or(0.0, |before_s| now_s - before_s);
        self.looked_s = Some(now_s);
        self.lever.step(hands, passed_s);
        self.put_in_force();
        if !self.running {
            self.pace.rest(now_s);
            return;
        }
        for _ in 0..self.pace.due(now_s) {
            self.tick();
        }
    }

    /// One controller tick; nothing once the drive is over.
    pub fn tick(&mut self) {
        if self.over.is_some() {
            return;
        }
        let sent = self.send();
        let tick_s = self.simulation.tick_s();
        let row = match self.simulation.tick() {
            Ok(row) => row,
            Err(error) => return self.end(format!("{error}")),
        };
        take(&mut self.digest, &row);
        self.ticks += 1;
        if let Some(pulse) = sent {
            self.watch.beside(|beside| push(beside, pulse), tick_s);
        } else {
            self.watch.beside(|_| {}, tick_s);
        }
        let (simulation, in_force) = (&self.simulation, self.in_force);
        self.watch.take(&row, tick_s, || {
            let mut open = simulation.clone();
            let tune = Settings { hold: None, ..in_force };
            let at_s = open.time_s();
            open.hand_mut().retunes.push(Retune { at_s, tune });
            Some(open)
        });
        self.traces.take(&row, self.watch.bog() == Bog::Hidden);
        self.row = Some(row);
        self.judge(&row, tick_s);
        if row.plant.now.place_m > self.simulation.plant.ground.end_m() {
            self.end("The end of the course. R drives it again.".into());
        } else if self.ticks as f64 >= MOST_TICKS {
            self.end("A drive has so many ticks at most. R begins another.".into());
        }
    }

    /// What the transmitter sends from this tick on, once per frame of the radio.
    fn send(&mut self) -> Option<[f64; 2]> {
        let time_s = self.simulation.time_s();
        let radio = &self.simulation.scenario().hand.radio;
        if time_s + 1.0e-9 < self.frames_sent as f64 * radio.frame_ms / 1_000.0 {
            return None;
        }
        self.frames_sent += 1;
        let pulse_us = libm::rint(radio.neutral_us + radio.travel_us * self.lever.position());
        let pulse = [time_s, pulse_us];
        push(&mut self.simulation, pulse);
        Some(pulse)
    }

    fn end(&mut self, why: String) {
        self.over = Some(why);
        self.running = false;
    }

    /// Gives the controller the tune on the bench, if it is another one and a good one.
    fn put_in_force(&mut self) {
        let tune = self.tunes.now().settings();
        if tune == self.in_force {
            self.refused = None;
            return;
        }
        match self.check(&tune) {
            Ok(()) => {
                self.refused = None;
                self.in_force = tune;
                let at_s = self.simulation.time_s();
                let retunes = &mut self.simulation.hand_mut().retunes;
                // Nothing was driven in between.
                retunes.retain(|retune| retune.at_s < at_s);
                retunes.push(Retune { at_s, tune });
                self.watch.retune(at_s, tune);
            }
            Err(why) => self.refused = Some(why),
        }
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
        let lost_s = &mut self.simulation.hand_mut().lost_s;
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

    /// The text of the course that is driven.
    pub fn course_text(&self) -> &str {
        SCENES.get(self.scene).and_then(|scene| scene.course).unwrap_or(&self.loaded.course)
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
    pub fn traces(&self) -> &Traces {
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
) -> Result<Simulation<'static>, String> {
    let scene = SCENES.get(scene).ok_or("there is no such scene")?;
    let mut scenario = loaded.clone();
    scenario.tune = tune;
    if let Some(course) = scene.read()? {
        scenario.course = course;
    }
    let hand = &mut scenario.hand;
    hand.duration_s = LAST_S;
    hand.motion = Motion::Recording(Vec::new());
    hand.lost_s.clear();
    hand.retunes.clear();
    Simulation::owning(scenario, DEFAULT_STEP_S).map_err(|error| error.to_string())
}

fn push(simulation: &mut Simulation<'static>, pulse: [f64; 2]) {
    if let Motion::Recording(pulses) = &mut simulation.hand_mut().motion {
        pulses.push(pulse);
    }
}

/// Takes every value of a row into a digest, in the order of `run.csv`.
pub fn take(digest: &mut Sha256, row: &Row) {
    columns::values(row).for_each(|value| digest.update(value.to_bits().to_le_bytes()));
}

/// As hexadecimal digits.
pub fn hex(bytes: &[u8]) -> String {
    bytes.iter().map(|byte| format!("{byte:02x}")).collect()
}
