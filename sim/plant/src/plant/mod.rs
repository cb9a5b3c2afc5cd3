//! The plant: the parts of the rig and the ground under it, coupled in one place.
//!
//! The parts know nothing of each other. [`Plant::flows`] is a pure function of the state and the
//! bridge's action; [`Plant::advance`] integrates it with a fixed step (`advance.rs`), [`Plant::over`] over a
//! stretch of time (`stretch.rs`).

mod advance;
mod contact;
pub mod ledger;
mod stretch;

use std::sync::Arc;

use crate::course::{Course, Snag};
use crate::ground::Ground;
use crate::ground::snag::Snagged;
use crate::parts::bridge::{Action, Bridge, Circuit};
use crate::parts::cogging::Cogging;
use crate::parts::driveline::DriveLine;
use crate::parts::friction::{Bristle, DryFriction};
use crate::parts::heat_path::HeatPath;
use crate::parts::motor_kind::{AnyMotor, Machine, MotorState};
use crate::parts::pack::Pack;
use crate::parts::servo::{Servo, ServoState};
use crate::parts::switching::Switching;
use crate::parts::time_constant::TimeConstant;
use crate::parts::tyre_kind::{AnyTyre, Tyre};
use crate::rig::{Rig, Vehicle};
use crate::state::State;

pub use stretch::{DEFAULT_STEP_S, steps_in};

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

/// Drag of the air against a speed \[N\]: `rho / 2 * c A * v |v|`.
pub fn air_n(drag_area_m2: f64, speed_m_s: f64) -> f64 {
    0.5 * AIR_DENSITY * drag_area_m2 * speed_m_s * speed_m_s.abs()
}

/// A rig on a course, made ready.
#[derive(Clone, Debug)]
#[expect(missing_docs, reason = "the parts, documented at their types")]
pub struct Plant {
    pub pack: Pack,
    pub motor: AnyMotor,
    pub heat: HeatPath,
    pub line: DriveLine,
    pub tyres: AnyTyre,
    pub ground: Arc<Ground>,
    pub bridge: Bridge,
    pub cogging: Cogging,
    switching: Option<Switching>,
    servo: Option<Servo>,
    motor_dry: DryFriction,
    rolling_dry: DryFriction,
    snags: Vec<Snag>,
    mass_kg: f64,
    /// Rolling radius of the wheels.
    radius_m: f64,
    /// Inertia of all wheels.
    wheels_kg_m2: f64,
    /// Share of the weight on the front axle at rest on the level.
    front_share: f64,
    /// Height of the centre of gravity over the wheelbase.
    cg_height_share: f64,
    drag_area_m2: f64,
}

/// Continuous state and what else the plant remembers.
#[derive(Clone, Copy, Debug, Default)]
pub struct PlantState {
    /// The continuous state.
    pub now: State,
    remembered: Remembered,
}

impl PlantState {
    /// The motor's current without the ripple of a switched bridge \[A\].
    pub fn mean_a(&self) -> f64 {
        self.remembered.mean_a
    }

    /// Servo, supply and receiver.
    pub fn servo(&self) -> &ServoState {
        &self.remembered.servo
    }

    /// Where the steering is told to be, -1 to 1.
    pub fn steer(&mut self, wish: f64) {
        self.remembered.servo.wish = wish;
    }
}

/// What stays as it is within a step and is settled after it.
#[derive(Clone, Copy, Debug, Default)]
struct Remembered {
    snagged: Snagged,
    motor: Bristle,
    rolling: Bristle,
    /// Which way a current flows that diodes must not stop before it has run out; 0 except within a step.
    way: f64,
    servo: ServoState,
    /// Mean of the motor's current over the last step \[A\].
    mean_a: f64,
    /// What the pack gives while the bridge's capacitor makes up the difference \[A\].
    feed_a: f64,
    /// Time since the PWM period began \[s\].
    phase_s: f64,
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
    /// Heat in the bridge's switches \[W\].
    pub bridge_w: f64,
    /// Torque the drive line puts on the wheels \[N m\].
    pub shaft_n_m: f64,
    /// Torque a snag puts against the wheels \[N m\].
    pub snag_n_m: f64,
    /// Force of the tyres on the body, forward \[N\].
    pub tyre_n: f64,
    /// Surface speed of the wheels less speed over ground \[m/s\].
    pub slip_m_s: f64,
    /// Height of the body's way \[m\].
    pub height_m: f64,
    /// Load on the front axle \[N\]; 0 where it has lifted.
    pub front_n: f64,
    /// Load on the rear axle \[N\]; 0 where it has lifted.
    pub rear_n: f64,
}

impl Plant {
    /// From a rig and its course.
    pub fn new(rig: &Rig, course: &Course) -> Self {
        Self::on(Arc::new(Ground::new(course, rig)), rig, course)
    }

    /// From a rig and its course, whose ground has been made ready for this rig before: it is the dearest part to
    /// make, and many runs may share it.
    pub fn on(ground: Arc<Ground>, rig: &Rig, course: &Course) -> Self {
        let mut snags = course.snags.clone();
        snags.sort_by(|a, b| a.at_m.total_cmp(&b.at_m));
        let (motor, line) = (AnyMotor::new(&rig.motor), DriveLine::new(&rig.gears));
        let motor_dry_n_m = motor.friction_n_m() + line.loss_n_m(rig.gears.rating_n_m);
        let rolling_n_m =
            course.most_rolling() * rig.vehicle.mass_kg * GRAVITY * rig.wheels.radius_m;
        Self {
            pack: Pack::new(&rig.pack),
            motor_dry: DryFriction::new(motor_dry_n_m, motor.inertia_kg_m2()),
            rolling_dry: DryFriction::new(rolling_n_m, rig.wheels.inertia_kg_m2),
            motor,
            heat: HeatPath::new(&rig.motor, &rig.vehicle),
            line,
            tyres: AnyTyre::new(&rig.wheels),
            ground,
            snags,
            mass_kg: rig.vehicle.mass_kg,
            radius_m: rig.wheels.radius_m,
            wheels_kg_m2: rig.wheels.inertia_kg_m2,
            front_share: rig.vehicle.front_share(),
            cg_height_share: rig.vehicle.cg_height_m / rig.vehicle.wheelbase_m,
            drag_area_m2: rig.vehicle.drag_area_m2,
            bridge: Bridge::new(&rig.bridge, &rig.vehicle),
            cogging: Cogging::new(&rig.motor),
            switching: rig.bridge.switched_hz.map(|hz| Switching::new(hz, &rig.bridge)),
            servo: rig.steering.as_ref().map(Servo::new),
        }
    }

    /// At rest at a place, cold, charged as the rig says.
    pub fn at_rest(&self, rig: &Rig, place_m: f64) -> PlantState {
        let now = State {
            place_m,
            charge: rig.pack.charge,
            winding_c: rig.vehicle.air_c,
            case_c: rig.vehicle.air_c,
            bridge_c: rig.vehicle.air_c,
            ..State::default()
        };
        let snagged = Snagged::at(&self.snags, place_m);
        let open_v = self.pack.open_v(now.charge, now.delayed_v);
        let servo = self.servo.map(|servo| servo.at_rest(open_v)).unwrap_or_default();
        PlantState { now, remembered: Remembered { snagged, servo, ..Remembered::default() } }
    }

    /// Takes all snags away, also the one that has caught the rig: what it would do without them.
    pub fn clear_snags(&mut self, state: &mut PlantState) {
        self.snags.clear();
        state.remembered.snagged = Snagged::default();
    }

    /// Everything that flows, and the rates of the state.
    pub fn flows(&self, state: &PlantState, action: Action) -> Flows {
        self.flows_of(&state.now, &state.remembered, action)
    }

    fn flows_of(&self, s: &State, held: &Remembered, action: Action) -> Flows {
        let MotorState { current_a, motor_rad_s } = s.motor;
        let circuit = self.circuit(s, held);
        let electrical = if held.way == 0.0 {
            circuit.flows(action, current_a)
        } else {
            circuit.conducting(action, current_a, held.way)
        };
        let (delayed_rate, charge_rate) = self.pack.rates(electrical.bus_a, s.delayed_v);
        let [pack_w, pack_heat_w] =
            self.pack.powers_w(electrical.bus_a, circuit.open_v, s.delayed_v);
        let [winding_w, bridge_w] = self.shared_w(s, electrical.heat_w);
        let (winding_rate, case_rate) = self.heat.rates(winding_w, s.winding_c, s.case_c);

        let driven_rad_s = motor_rad_s / self.line.ratio;
        let twist_rate = driven_rad_s - s.wheel_rad_s;
        let shaft_n_m = self.line.shaft_torque(s.twist_rad, twist_rate);
        let load_n_m = self.line.motor_load(shaft_n_m, held.motor);
        let drag_n_m = self.motor.drag_n_m(&self.motor_dry, held.motor, motor_rad_s);
        let motor_rad = (s.wheel_rad + s.twist_rad) * self.line.ratio;
        let cogging_n_m = self.cogging.against(motor_rad, motor_rad_s);
        let against_n_m = [drag_n_m, cogging_n_m, load_n_m];
        let motor_rates =
            self.motor.rates(&s.motor, electrical.current_rate, s.case_c, against_n_m);

        let footing = self.ground.at(s.place_m);
        let contact = self.contact(s, &footing);
        let radius = self.radius_m;
        let rolling_n_m =
            self.rolling_dry.against(held.rolling, contact.rolling_n * radius, s.wheel_rad_s);
        let snag_n_m = held.snagged.torque(&self.snags, s.wheel_rad);
        let wheel_n_m = shaft_n_m - contact.tyre_n * radius - rolling_n_m - snag_n_m;

        let air_n = air_n(self.drag_area_m2, s.speed_m_s);
        let along_n = contact.tyre_n - self.mass_kg * GRAVITY * footing.sine - air_n;

        Flows {
            rates: State {
                motor: motor_rates,
                wheel_rad_s: wheel_n_m / self.wheels_kg_m2,
                wheel_rad: s.wheel_rad_s,
                twist_rad: twist_rate,
                speed_m_s: along_n / self.mass_kg,
                place_m: s.speed_m_s,
                tyres: contact.tyre_rates,
                delayed_v: delayed_rate,
                charge: charge_rate,
                winding_c: winding_rate,
                case_c: case_rate,
                bridge_c: self.bridge.heating(bridge_w, s.bridge_c),
                pack_j: pack_w,
                pack_heat_j: pack_heat_w,
                copper_j: electrical.heat_w,
                motor_friction_j: drag_n_m * motor_rad_s,
                cogging_j: cogging_n_m * motor_rad_s,
                servo_j: circuit.beside_a * electrical.bus_v,
                gears_j: load_n_m * motor_rad_s - shaft_n_m * driven_rad_s,
                shaft_j: shaft_n_m * twist_rate,
                tyre_j: contact.tyre_n * contact.slip_m_s,
                rolling_j: rolling_n_m * s.wheel_rad_s,
                air_j: air_n * s.speed_m_s,
                snag_j: snag_n_m * s.wheel_rad_s,
            },
            bus_v: electrical.bus_v,
            bus_a: electrical.bus_a,
            winding_w,
            bridge_w,
            shaft_n_m,
            snag_n_m,
            tyre_n: contact.tyre_n,
            slip_m_s: contact.slip_m_s,
            height_m: footing.height_m,
            front_n: contact.loads_n[0],
            rear_n: contact.loads_n[1],
        }
    }

    /// The electrical side as it is at a state.
    fn circuit(&self, s: &State, held: &Remembered) -> Circuit {
        Circuit {
            open_v: self.pack.open_v(s.charge, s.delayed_v),
            pack_ohm: self.pack.resistance_ohm,
            motor_ohm: self.motor.resistance_at(s.winding_c)
                + self.bridge.resistance_at(s.bridge_c),
            inductance_h: self.motor.inductance_h(),
            emf_v: self.motor.emf_v(&s.motor, s.case_c),
            synchronous: self.bridge.synchronous,
            beside_a: held.servo.bus_a,
            feed_a: self.switching.map(|_| held.feed_a),
        }
    }

    /// Whether the bridge resolves its PWM periods, so that what flows at one instant tells little.
    pub fn switches(&self) -> bool {
        self.switching.is_some()
    }

    /// The heat of one current in winding and bridge, by resistance.
    fn shared_w(&self, s: &State, heat_w: f64) -> [f64; 2] {
        let winding_ohm = self.motor.resistance_at(s.winding_c);
        let winding_w =
            heat_w * winding_ohm / (winding_ohm + self.bridge.resistance_at(s.bridge_c));
        [winding_w, heat_w - winding_w]
    }

    /// The shortest time in which one part changes by its own measure: a step must not be longer.
    pub fn quickest(&self) -> TimeConstant {
        let motor_kg_m2 = self.motor.inertia_kg_m2();
        // A force at the ground turns the wheels one way and moves the body the other.
        let per_wheels = 1.0 / self.wheels_kg_m2;
        let slip_per_n_s = self.radius_m * self.radius_m * per_wheels + 1.0 / self.mass_kg;
        self.cogging
            .quickest(motor_kg_m2)
            .least(self.motor.quickest(self.bridge.resistance_at(20.0)))
            .least(self.line.quickest(motor_kg_m2, self.wheels_kg_m2))
            .least(self.tyres.quickest(self.mass_kg * GRAVITY, slip_per_n_s))
    }

    /// Energy of motion \[J\].
    fn motion_j(&self, s: &State) -> f64 {
        let turning = self.wheels_kg_m2 * s.wheel_rad_s * s.wheel_rad_s
            + self.motor.inertia_kg_m2() * s.motor.motor_rad_s * s.motor.motor_rad_s;
        0.5 * (self.mass_kg * s.speed_m_s * s.speed_m_s + turning)
    }

    /// Height of the body on its way \[m\].
    fn height_m(&self, s: &State) -> f64 {
        self.ground.at(s.place_m).height_m
    }

    /// Energy in electrical fields \[J\].
    fn fields_j(&self, state: &PlantState) -> f64 {
        let s = &state.now;
        let bus_v = self.circuit(s, &state.remembered).flows(Action::Coast, 0.0).bus_v;
        let capacitor_j = self.switching.map_or(0.0, |switching| switching.stored_j(bus_v));
        self.motor.stored_j(s.motor.current_a) + self.pack.delayed_j(s.delayed_v) + capacitor_j
    }
}
