//! A minute with everything in it: a hand, a load, sensors that come and go, and a vehicle of a few
//! lines that answers to the core's command.

pub(crate) mod tunes;

use easeoff_core::{Amp, Celsius, Command, Input, Microseconds, Settings, Speed, Volt};

/// Everything that is not the vehicle's answer, from `from_s` on.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Scene {
    pub(crate) from_s: f64,
    /// `None`: silence.
    pub(crate) pulse_us: Option<f64>,
    /// Torque at the wheels against forward \[N m\].
    pub(crate) load_nm: f64,
    /// Nothing moves beyond this friction \[N m\].
    pub(crate) friction_nm: f64,
    pub(crate) sees_speed: bool,
    pub(crate) sees_current: bool,
    /// The pack's EMF \[V\].
    pub(crate) pack_v: f64,
    /// Where the temperature tends \[degrees C\].
    pub(crate) toward_c: f64,
}

const CALM: Scene = Scene {
    from_s: 0.0,
    pulse_us: Some(1_500.0),
    load_nm: 0.0,
    friction_nm: 0.1,
    sees_speed: true,
    sees_current: true,
    pack_v: 12.3,
    toward_c: 30.0,
};

/// The story: what happens, and the scenes by which it does.
#[rustfmt::skip]
pub(crate) fn story() -> Vec<Scene> {
    let at = |from_s: f64, pulse_us: f64| Scene { from_s, pulse_us: Some(pulse_us), ..CALM };
    vec![
        // Arms, drives off, eases off slowly and abruptly.
        CALM, at(1.0, 1_731.0), at(3.0, 1_660.0), at(3.5, 1_590.0), at(4.0, 1_500.0), at(6.0, 2_000.0),
        at(8.0, 1_500.0),
        // Asks for reverse while rolling, drives backward, brakes out of it.
        at(9.0, 1_870.0), at(11.0, 1_200.0), at(14.5, 1_640.0), at(16.5, 1_500.0),
        // Holds its speed uphill and downhill.
        at(17.5, 1_700.0),
        Scene { load_nm: 0.9, ..at(19.0, 1_700.0) }, Scene { load_nm: -0.4, ..at(20.5, 1_700.0) },
        // A snag: gives way, then comes free.
        Scene { friction_nm: 2.7, ..at(21.5, 1_700.0) }, at(24.5, 1_700.0),
        // Stalls; is let go; drives again.
        Scene { friction_nm: 9.0, ..at(26.0, 1_610.0) }, Scene { friction_nm: 9.0, ..at(29.5, 1_500.0) },
        at(30.0, 1_750.0),
        // A weak pack, which empties, and recovers in two steps.
        Scene { pack_v: 9.9, ..at(31.0, 1_750.0) }, Scene { pack_v: 8.7, ..at(32.5, 1_750.0) },
        Scene { pack_v: 9.4, ..at(33.5, 1_500.0) }, Scene { pack_v: 9.7, ..at(34.0, 1_800.0) },
        Scene { pack_v: 10.6, ..at(35.0, 1_800.0) },
        // Heat, and cooling.
        Scene { toward_c: 140.0, ..at(36.5, 1_800.0) }, at(38.5, 1_800.0),
        // No speed sensor for a while, with the estimate and, coasting and braking, without.
        Scene { sees_speed: false, ..at(41.0, 1_800.0) }, Scene { sees_speed: false, load_nm: 0.7, ..at(42.0, 1_720.0) },
        Scene { sees_speed: false, ..at(43.5, 1_500.0) }, Scene { sees_speed: false, ..at(45.0, 1_200.0) },
        Scene { sees_speed: false, sees_current: false, ..at(46.5, 1_900.0) },
        Scene { sees_speed: false, sees_current: false, ..at(47.5, 1_500.0) },
        // A lost signal at speed; arms again.
        at(48.5, 1_900.0), Scene { pulse_us: None, ..at(50.0, 0.0) }, at(50.7, 1_900.0), at(51.2, 1_500.0),
        // Comes to rest on a slope and is held there.
        at(52.0, 1_780.0), at(53.5, 1_500.0), Scene { load_nm: 0.25, friction_nm: 0.02, ..at(54.0, 1_500.0) },
        Scene { load_nm: 0.25, friction_nm: 0.02, ..at(57.5, 1_660.0) }, at(59.0, 1_500.0),
    ]
}

/// A motor, a gear, one inertia, and a pack with a resistance; explicit Euler at the tick, semi-implicit in the speed.
#[derive(Clone, Debug)]
pub(crate) struct Vehicle {
    k_nm_per_a: f64,
    resistance_ohm: f64,
    pub(crate) speed: f64,
    current: f64,
    bus_v: f64,
    pub(crate) celsius: f64,
}

const INERTIA_KG_M2: f64 = 0.012;
const PACK_OHM: f64 = 0.02;

impl Vehicle {
    pub(crate) fn new(tune: &Settings) -> Self {
        let k = 60.0 / (2.0 * std::f64::consts::PI * f64::from(tune.motor.kv_rpm_per_v));
        Self {
            k_nm_per_a: k * f64::from(tune.motor.gear_ratio),
            // Warmer than the controller believes.
            resistance_ohm: 1.08 * f64::from(tune.motor.resistance_ohm),
            speed: 0.0,
            current: 0.0,
            bus_v: CALM.pack_v,
            celsius: CALM.toward_c,
        }
    }

    pub(crate) fn step(&mut self, tick_s: f64, scene: &Scene, command: Command) {
        let duty = f64::from(command.duty().to_bits()) / 65_536.0;
        let braking = f64::from(command.braking().to_bits()) / 65_536.0;
        let (k, r) = (self.k_nm_per_a, self.resistance_ohm);
        // Volts and back-EMF share while the windings are connected; what the EMF damps is implicit.
        let driven = matches!(command, Command::Drive { .. });
        let share = if driven { 1.0 } else { braking };
        let damping = share * k * k / r;
        let push = duty * self.bus_v * k / r - scene.load_nm;
        let free =
            (self.speed + tick_s * push / INERTIA_KG_M2) / (1.0 + tick_s * damping / INERTIA_KG_M2);
        let rub =
            tick_s * scene.friction_nm / INERTIA_KG_M2 / (1.0 + tick_s * damping / INERTIA_KG_M2);
        self.speed = free.signum() * (free.abs() - rub).max(0.0);
        self.current = (duty * self.bus_v - share * k * self.speed) / r;
        self.bus_v = scene.pack_v - PACK_OHM * (duty * self.current);
        self.celsius += (scene.toward_c - self.celsius) * tick_s / 0.8;
    }
}

/// A word of noise per call: SplitMix64 (Steele, Lea, Flood, OOPSLA 2014).
#[derive(Clone, Debug)]
pub(crate) struct Noise(pub(crate) u64);

impl Noise {
    /// -1 to 1.
    pub(crate) fn next(&mut self) -> f64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        ((z ^ (z >> 31)) >> 32) as f64 / f64::from(u32::MAX) * 2.0 - 1.0
    }
}

/// The hand and the sensors: noisy, with a frame of pulses every 20 ms, some of them glitches.
#[derive(Clone, Debug)]
pub(crate) struct Board {
    noise: Noise,
    frames: u32,
    next_frame_s: f64,
}

impl Board {
    pub(crate) fn new() -> Self {
        Self { noise: Noise(1), frames: 0, next_frame_s: 0.0 }
    }

    pub(crate) fn look(&mut self, now_s: f64, scene: &Scene, vehicle: &Vehicle) -> Input {
        let fixed = |value: f64| (value * 65_536.0).round() as i32;
        let mut pulse = None;
        if now_s >= self.next_frame_s {
            self.next_frame_s += 0.02;
            self.frames += 1;
            let jitter = 3.0 * self.noise.next();
            pulse = scene.pulse_us.map(|us| match self.frames % 97 {
                // Out of the window, and a lone jump.
                31 => 150.0,
                53 => us - 450.0,
                _ => us + jitter,
            });
        }
        let wobble = [0.05, 0.2, 0.03, 0.3].map(|size| size * self.noise.next());
        Input {
            pulse: pulse.map(|us| Microseconds::from_bits(fixed(us))),
            speed: scene.sees_speed.then(|| Speed::from_bits(fixed(vehicle.speed + wobble[0]))),
            current: scene.sees_current.then(|| Amp::from_bits(fixed(vehicle.current + wobble[1]))),
            voltage: Some(Volt::from_bits(fixed(vehicle.bus_v + wobble[2]))),
            temperature: Some(Celsius::from_bits(fixed(vehicle.celsius + wobble[3]))),
        }
    }
}
