//! The plant: the parts of the rig and the ground under it, coupled in one place.
//!
//! The parts know nothing of each other. [`Plant::flows`] is a pure function of the state and the
//! bridge's action; [`Plant::advance`] integrates it with a fixed step.

pub mod state;
pub mod pack;
pub mod bridge;
pub mod motor;
pub mod heat;
pub mod driveline;
pub mod tyre;
pub mod ground;
pub mod snag;

use crate::course::{Course, Snag};
use crate::rig::{Rig, Vehicle};
use bridge::{Action, Circuit};
use driveline::DriveLine;
use ground::Ground;
use heat::HeatPath;
use motor::Motor;
use pack::Pack;
use snag::Snagged;
use state::{SMOOTHING_S, State, rk4, soft_sign};
use tyre::Tyres;

/// Standard gravity \[m/s^2\] (ISO 80000-3).
pub const GRAVITY: f64 = 9.806_65;
/// Density of air \[kg/m^3\] at 15 degrees C and sea level (ISO 2533).
pub const AIR_DENSITY: f64 = 1.225;

/// Loads on front and rear axle at rest on the level \[N\].
pub fn level_loads_n(vehicle: &Vehicle) -> [f64; 2] {
    let weight = vehicle.mass_kg * GRAVITY;
    let front = weight * vehicle.front_share();
    [front, weight - front]
}

/// A rig on a course, made ready.
#[derive(Clone, Debug)]
#[expect(missing_docs, reason = "the parts, documented at their types")]
pub struct Plant {
    pub pack: Pack,
    pub motor: Motor,
    pub heat: HeatPath,
    pub line: DriveLine,
    pub tyres: Tyres,
    pub ground: Ground,
    snags: Vec<Snag>,
    mass_kg: f64,
    /// Share of the weight on the front axle at rest on the level.
    front_share: f64,
    /// Height of the centre of gravity over the wheelbase.
    cg_height_share: f64,
    drag_area_m2: f64,
    bridge_ohm: f64,
    synchronous: bool,
}

/// Continuous state and what else the plant remembers.
#[derive(Clone, Copy, Debug, Default)]
pub struct PlantState {
    /// The continuous state.
    pub now: State,
    snagged: Snagged,
}

/// What flows between the parts at one instant.
#[derive(Clone, Copy, Debug, Default)]
pub struct Flows {
    /// Rates of the continuous state.
    pub rates: State,
    /// Voltage at the bridge \[V\].
    pub bus_v: f64,
    /// Current from the pack \[A\].
    pub bus_a: f64,
    /// Heat in the winding \[W\].
    pub winding_w: f64,
    /// Torque the drive line puts on the wheels \[N m\].
    pub shaft_n_m: f64,
    /// Torque a snag puts against the wheels \[N m\].
    pub snag_n_m: f64,
    /// Force of the tyres on the body, forward \[N\].
    pub tyre_n: f64,
    /// Surface speed of the wheels less speed over ground \[m/s\].
    pub slip_m_s: f64,
    /// Load on the front axle \[N\], negative where the model would lift it.
    pub front_n: f64,
    /// Load on the rear axle \[N\].
    pub rear_n: f64,
}

impl Plant {
    /// From a rig and its course.
    pub fn new(rig: &Rig, course: &Course) -> Self {
        let mut snags = course.snags.clone();
        snags.sort_by(|a, b| a.at_m.total_cmp(&b.at_m));
        Self {
            pack: Pack::new(&rig.pack),
            motor: Motor::new(&rig.motor),
            heat: HeatPath::new(&rig.motor, &rig.vehicle),
            line: DriveLine::new(&rig.gears),
            tyres: Tyres::new(&rig.wheels),
            ground: Ground::new(course, rig),
            snags,
            mass_kg: rig.vehicle.mass_kg,
            front_share: rig.vehicle.front_share(),
            cg_height_share: rig.vehicle.cg_height_m / rig.vehicle.wheelbase_m,
            drag_area_m2: rig.vehicle.drag_area_m2,
            bridge_ohm: rig.bridge.resistance_ohm,
            synchronous: rig.bridge.synchronous,
        }
    }

    /// At rest at a place, cold, charged as the rig says.
    pub fn at_rest(&self, rig: &Rig, place_m: f64) -> PlantState {
        let now = State {
            place_m,
            charge: rig.pack.charge,
            winding_c: rig.vehicle.air_c,
            case_c: rig.vehicle.air_c,
            ..State::default()
        };
        PlantState { now, snagged: Snagged::at(&self.snags, place_m) }
    }

    /// Everything that flows, and the rates of the state.
    pub fn flows(&self, state: &PlantState, action: Action) -> Flows {
        self.flows_of(&state.now, &state.snagged, action)
    }

    /// Moves on by one step of `step_s`.
    pub fn advance(&self, state: &mut PlantState, action: Action, step_s: f64) {
        let snagged = state.snagged;
        let mut next = rk4(&state.now, step_s, |now| self.flows_of(now, &snagged, action).rates);
        next.current_a =
            bridge::settle(action, self.synchronous, state.now.current_a, next.current_a);
        state.now = next;
        state.snagged.settle(&self.snags, next.place_m, next.wheel_rad);
    }

    fn flows_of(&self, s: &State, snagged: &Snagged, action: Action) -> Flows {
        let constant = self.motor.constant_at(s.case_c);
        let winding_ohm = self.motor.resistance_at(s.winding_c);
        let motor_ohm = winding_ohm + self.bridge_ohm;
        let circuit = Circuit {
            open_v: self.pack.open_v(s.charge, s.delayed_v),
            pack_ohm: self.pack.resistance_ohm,
            motor_ohm,
            inductance_h: self.motor.inductance_h,
            emf_v: constant * s.motor_rad_s,
            synchronous: self.synchronous,
        };
        let electrical = circuit.flows(action, s.current_a);
        let (delayed_rate, charge_rate) = self.pack.rates(electrical.bus_a, s.delayed_v);
        let winding_w = electrical.heat_w * winding_ohm / motor_ohm;
        let (winding_rate, case_rate) = self.heat.rates(winding_w, s.winding_c, s.case_c);

        let twist_rate = s.motor_rad_s / self.line.ratio - s.wheel_rad_s;
        let shaft_n_m = self.line.shaft_torque(s.twist_rad, twist_rate);
        let inertia = self.motor.inertia_kg_m2;
        let load = self.line.motor_load(shaft_n_m, s.motor_rad_s, inertia);
        let torque = self.motor.torque(constant, s.current_a, s.motor_rad_s);

        let footing = self.ground.at(s.place_m);
        let cosine = (1.0 - footing.sine * footing.sine).sqrt();
        let weight_n = self.mass_kg * GRAVITY;
        let normal_n = weight_n * cosine;
        let radius = self.tyres.radius_m;
        let slip_m_s = radius * s.wheel_rad_s - s.speed_m_s;
        let (grip, bristle_rate) =
            self.tyres.grip(s.bristle_m, slip_m_s, footing.grip, footing.grip_sliding);
        let tyre_n = normal_n * grip;
        let rolling_n_m = footing.rolling * normal_n * radius;
        let rolling_width = (rolling_n_m / self.tyres.inertia_kg_m2 * SMOOTHING_S).max(2.0e-3);
        let snag_n_m = snagged.torque(&self.snags, s.wheel_rad);
        let wheel_n_m = shaft_n_m
            - tyre_n * radius
            - rolling_n_m * soft_sign(s.wheel_rad_s, rolling_width)
            - snag_n_m;

        let air_n = 0.5 * AIR_DENSITY * self.drag_area_m2 * s.speed_m_s * s.speed_m_s.abs();
        let along_n = tyre_n - weight_n * footing.sine - air_n;
        // Moments about the contact points: braking and climbing move load between the axles. Air
        // drag is taken at the ground.
        let moved_n = tyre_n * self.cg_height_share;

        Flows {
            rates: State {
                current_a: electrical.current_rate,
                motor_rad_s: (torque - load) / inertia,
                wheel_rad_s: wheel_n_m / self.tyres.inertia_kg_m2,
                wheel_rad: s.wheel_rad_s,
                twist_rad: twist_rate,
                speed_m_s: along_n / self.mass_kg,
                place_m: s.speed_m_s,
                bristle_m: bristle_rate,
                delayed_v: delayed_rate,
                charge: charge_rate,
                winding_c: winding_rate,
                case_c: case_rate,
            },
            bus_v: electrical.bus_v,
            bus_a: electrical.bus_a,
            winding_w,
            shaft_n_m,
            snag_n_m,
            tyre_n,
            slip_m_s,
            front_n: normal_n * self.front_share - moved_n,
            rear_n: normal_n * (1.0 - self.front_share) + moved_n,
        }
    }
}
