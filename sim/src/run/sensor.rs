//! What the board measures: the plant's state through the sensors the board has, with their noise.
//!
//! - speed by counted edges: the time between edges, taken by a timer, gives the speed; while none
//!   comes the speed is at most what the wait allows, and 0 after half a second;
//! - voltage and current through a converter of n bits with white noise before it;
//! - temperature behind a first-order lag;
//! - the radio's pulses with jitter, some frames missing.
//!
//! All noise is drawn from ChaCha8 with the rig's seed: the same run gives the same numbers.

use std::f64::consts::TAU;

use easeoff_core::{Amp, Celsius, Input, Microseconds, Speed, Volt};
use easeoff_plant::PlantState;
use easeoff_plant::interpolate::straight;
use easeoff_plant::rig::SensorData;
use rand_chacha::ChaCha8Rng;
use rand_chacha::rand_core::{Rng, SeedableRng};

use crate::files::driver::Motion;
use crate::files::human::{Human, HumanState};
use crate::files::scenario::Scenario;

/// Wheels without an edge for this long stand \[s\].
const STANDS_AFTER_S: f64 = 0.5;

/// The board's sensors at work.
#[derive(Clone, Debug)]
pub struct Sensors {
    random: ChaCha8Rng,
    /// The second of a pair of normal numbers.
    spare: Option<f64>,
    tick_s: f64,
    frames_sent: u64,
    driver: Option<(Human, HumanState)>,
    edges: Edges,
    lagging_c: Option<f64>,
}

/// What arrives in one tick.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Sensed {
    /// For the controller.
    pub input: Input,
    /// For the steering servo, -1 to 1; `None`: no frame arrived, and the servo keeps its last wish.
    pub steer: Option<f64>,
}

impl Sensors {
    /// At power-on.
    pub fn new(scenario: &Scenario, tick_s: f64) -> Self {
        let data = &scenario.rig.sensors;
        Self {
            random: ChaCha8Rng::seed_from_u64(data.seed.into()),
            spare: None,
            tick_s,
            frames_sent: 0,
            driver: match &scenario.driver.motion {
                Motion::Human(data) => Some((Human::new(data, tick_s), HumanState::default())),
                _ => None,
            },
            edges: Edges::new(data.speed_edges_per_turn),
            lagging_c: None,
        }
    }

    /// What the board measures in tick `tick`, with `bus_v` at the bridge, and what the radio brings.
    pub fn sense(
        &mut self,
        scenario: &Scenario,
        tick: u64,
        plant: &PlantState,
        bus_v: f64,
    ) -> Sensed {
        let (board, data) = (&scenario.rig.board, &scenario.rig.sensors);
        let time_s = tick as f64 * self.tick_s;
        let pulse_us = self.pulse_us(scenario, time_s, plant);
        let now = &plant.now;
        // The sensor sits on the motor's side of the shaft, seen from the wheels.
        let speed = self.edges.speed(now.wheel_rad + now.twist_rad, time_s, self.tick_s);
        let exact = now.motor.motor_rad_s / scenario.rig.gears.ratio();
        let amp = self.converted(data, plant.mean_a(), data.noise_a, data.adc_full_a);
        let volt = self.converted(data, bus_v, data.noise_v, data.adc_full_v);
        let celsius = self.lagging(data, now.winding_c);
        let input = Input {
            pulse: pulse_us.and_then(|us| Microseconds::new(us as f32)),
            speed: board.speed_sensor.then(|| Speed::new(speed.unwrap_or(exact) as f32)).flatten(),
            current: board.current_sensor.then(|| Amp::new(amp as f32)).flatten(),
            temperature: board.temperature_sensor.then(|| Celsius::new(celsius as f32)).flatten(),
            voltage: Volt::new(volt as f32),
        };
        // One frame carries both channels.
        Sensed { input, steer: pulse_us.map(|_| straight(&scenario.driver.steer, time_s)) }
    }

    /// A pulse once per radio frame; `None` between frames, where one is missing, and while the receiver
    /// is gone.
    fn pulse_us(&mut self, scenario: &Scenario, time_s: f64, plant: &PlantState) -> Option<f64> {
        let (radio, now) = (&scenario.driver.radio, &plant.now);
        let driven = self
            .driver
            .as_mut()
            .map_or(0.0, |(driver, mind)| driver.step(mind, time_s, now.place_m, now.speed_m_s));
        if time_s + 1.0e-9 < self.frames_sent as f64 * radio.frame_ms / 1_000.0 {
            return None;
        }
        self.frames_sent += 1;
        let sent = scenario.driver.pulse_us(time_s, now.place_m, driven);
        if radio.missing_share > 0.0 && self.even() < radio.missing_share {
            return None;
        }
        let jitter = if radio.jitter_us > 0.0 { radio.jitter_us * self.normal() } else { 0.0 };
        let arrived = sent.filter(|_| plant.servo().receiver_runs());
        arrived.map(|us| us + jitter)
    }

    fn converted(&mut self, data: &SensorData, exact: f64, noise: f64, full: f64) -> f64 {
        let noisy = if noise > 0.0 { exact + noise * self.normal() } else { exact };
        if data.adc_bits == 0 {
            return noisy;
        }
        let step = full / f64::from(1_u32 << data.adc_bits);
        (libm::rint(noisy / step) * step).clamp(-full, full)
    }

    fn lagging(&mut self, data: &SensorData, exact_c: f64) -> f64 {
        let before = self.lagging_c.unwrap_or(exact_c);
        let now =
            before + (exact_c - before) * self.tick_s / (data.temperature_lag_s + self.tick_s);
        self.lagging_c = Some(now);
        now
    }

    /// Evenly from 0 to 1, 53 bits.
    fn even(&mut self) -> f64 {
        (self.random.next_u64() >> 11) as f64 / (1_u64 << 53) as f64
    }

    /// Normally distributed, mean 0 and deviation 1 (Box and Muller 1958); they come in pairs.
    fn normal(&mut self) -> f64 {
        if let Some(second) = self.spare.take() {
            return second;
        }
        let (radius, turn) = (1.0 - self.even(), self.even());
        let radius = libm::sqrt(-2.0 * libm::log(radius));
        let (sine, cosine) = libm::sincos(TAU * turn);
        self.spare = Some(radius * sine);
        radius * cosine
    }
}

/// A wheel with edges that a timer sees pass.
#[derive(Clone, Debug)]
struct Edges {
    /// \[rad\]; `None`: an ideal sensor.
    spacing_rad: Option<f64>,
    /// Angle and time of the tick before.
    before: Option<f64>,
    last_edge_s: f64,
    speed: f64,
}

impl Edges {
    fn new(per_turn: u32) -> Self {
        let spacing_rad = (per_turn > 0).then(|| TAU / f64::from(per_turn));
        Self { spacing_rad, before: None, last_edge_s: f64::NEG_INFINITY, speed: 0.0 }
    }

    /// The speed as counted; `None` for an ideal sensor.
    fn speed(&mut self, angle_rad: f64, time_s: f64, tick_s: f64) -> Option<f64> {
        let spacing = self.spacing_rad?;
        let before = self.before.replace(angle_rad).unwrap_or(angle_rad);
        let (from, to) = (libm::floor(before / spacing), libm::floor(angle_rad / spacing));
        let passed = to - from;
        if passed == 0.0 {
            // No faster than one edge in the time since the last.
            let most = spacing / (time_s - self.last_edge_s).max(tick_s);
            let stands = time_s - self.last_edge_s > STANDS_AFTER_S;
            self.speed = if stands { 0.0 } else { self.speed.clamp(-most, most) };
            return Some(self.speed);
        }
        // Within the tick the wheel turns evenly; the last edge passed is the one behind it.
        let edge_rad = spacing * if passed > 0.0 { to } else { to + 1.0 };
        let edge_s = time_s - tick_s * (angle_rad - edge_rad) / (angle_rad - before);
        let waited_s = edge_s - self.last_edge_s;
        self.speed = if waited_s > STANDS_AFTER_S {
            // The first edge after a stand: there was no time to compare with.
            passed.signum() * spacing / STANDS_AFTER_S
        } else {
            passed * spacing / waited_s.max(1.0e-6)
        };
        self.last_edge_s = edge_s;
        Some(self.speed)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::files::demo;
    use easeoff_plant::Plant;
    use easeoff_plant::parts::bridge::Action;

    #[test]
    fn counted_edges_give_the_speed_and_fall_to_nothing() {
        let mut edges = Edges::new(12);
        let tick_s = 1.0e-3;
        let mut measured = 0.0;
        for tick in 0..2_000_u32 {
            let time_s = f64::from(tick) * tick_s;
            measured = edges.speed(-7.3 * time_s, time_s, tick_s).unwrap();
        }
        assert!((measured + 7.3).abs() < 1e-6, "{measured}");
        // It stops: the reading falls as the wait grows, and is 0 in the end.
        let stop = -7.3 * 1.999;
        let mut before = measured;
        for tick in 2_000..2_600_u32 {
            let now = edges.speed(stop, f64::from(tick) * tick_s, tick_s).unwrap();
            assert!(now >= before && now <= 0.0);
            before = now;
        }
        assert_eq!(before, 0.0);
        assert_eq!(Edges::new(0).speed(1.0, 1.0, tick_s), None);
    }

    #[test]
    fn noise_has_the_deviation_it_should_and_the_seed_decides() {
        let mut scenario = demo::scenario("garden").unwrap();
        let sensors = &mut scenario.rig.sensors;
        (sensors.noise_v, sensors.noise_a, sensors.seed) = (0.2, 1.5, 9);
        scenario.driver.radio.jitter_us = 3.0;
        scenario.driver.motion = Motion::ByTime(vec![[0.0, 0.0], [1.0, 0.0]]);
        let run = |scenario: &Scenario| {
            let mut sensors = Sensors::new(scenario, 1.0e-3);
            let now = PlantState::default();
            (0..40_000)
                .map(|tick| sensors.sense(scenario, tick, &now, 10.0).input)
                .collect::<Vec<_>>()
        };
        let inputs = run(&scenario);
        assert_eq!(inputs, run(&scenario));
        let deviation = |values: Vec<f64>| {
            let mean = values.iter().sum::<f64>() / values.len() as f64;
            let sum: f64 = values.iter().map(|value| (value - mean).powi(2)).sum();
            [mean, (sum / values.len() as f64).sqrt()]
        };
        let of = |value: fn(&Input) -> Option<f32>| {
            deviation(inputs.iter().filter_map(value).map(f64::from).collect())
        };
        for ([mean, rms], [mean_due, due]) in [
            (of(|input| input.voltage.map(Volt::to_f32)), [10.0, 0.2]),
            (of(|input| input.current.map(Amp::to_f32)), [0.0, 1.5]),
        ] {
            assert!(
                (mean - mean_due).abs() < 0.03 * due && (rms / due - 1.0).abs() < 0.02,
                "{rms}"
            );
        }
        let [mean, rms] = of(|input| input.pulse.map(Microseconds::to_f32));
        assert!((mean - 1_500.0).abs() < 0.3 && (rms / 3.0 - 1.0).abs() < 0.06, "{mean} {rms}");
        scenario.rig.sensors.seed = 10;
        assert_ne!(inputs, run(&scenario));
    }

    #[test]
    fn a_frame_carries_the_steering_and_a_dark_receiver_none() {
        let mut scenario = demo::scenario("garden").unwrap();
        scenario.driver.steer = vec![[0.0, 0.25], [1.0, 0.25]];
        scenario.driver.lost_s = vec![[0.5, 0.6]];
        let mut sensors = Sensors::new(&scenario, 1.0e-3);
        let now = PlantState::default();
        for tick in 0..1_000 {
            let Sensed { input, steer } = sensors.sense(&scenario, tick, &now, 11.0);
            assert_eq!(steer, input.pulse.map(|_| 0.25), "tick {tick}");
            assert!(steer.is_none() || !(500..600).contains(&tick), "tick {tick}");
        }
    }

    #[test]
    fn a_converter_has_steps_and_a_range_and_frames_may_be_missing() {
        let mut scenario = demo::scenario("garden").unwrap();
        let sensors = &mut scenario.rig.sensors;
        (sensors.adc_bits, sensors.adc_full_v, sensors.adc_full_a) = (10, 20.48, 5.12);
        scenario.driver.radio.missing_share = 0.25;
        let mut sensors = Sensors::new(&scenario, 1.0e-3);
        // Standing, half the pack's voltage drives far more than that.
        let plant = Plant::new(&scenario.rig, &scenario.course);
        let mut now = plant.at_rest(&scenario.rig, 0.0);
        for _ in 0..40 {
            plant.advance(&mut now, Action::Drive(0.5), 0.25e-3);
        }
        let mut pulses = 0;
        for tick in 0..20_000 {
            let Sensed { input, .. } = sensors.sense(&scenario, tick, &now, 11.129);
            assert!((input.voltage.unwrap().to_f32() - 11.12).abs() < 1e-4);
            assert!((input.current.unwrap().to_f32() - 5.12).abs() < 1e-3);
            pulses += u32::from(input.pulse.is_some());
        }
        // 1,000 frames, a quarter of them missing.
        assert!((700..800).contains(&pulses), "{pulses}");
    }
}
