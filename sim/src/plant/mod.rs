//! The plant: the parts of the rig and the ground under it, coupled in one place.
//!
//! The parts know nothing of each other. [`Plant::flows`] is a pure function of the state and the
//! bridge's action; [`Plant::advance`] integrates it with a fixed step.

pub mod state;
pub mod pack;
pub mod bridge;
pub mod friction;
pub mod motor;
pub mod heat;
pub mod driveline;
pub mod tyre;
pub mod ground;
pub mod snag;
pub mod ledger;

use crate::course::{Course, Snag};
use crate::rig::{Rig, Vehicle};
use bridge::{Action, Circuit};
use driveline::DriveLine;
use friction::{Bristle, DryFriction};
use ground::{Footing, Ground};
use heat::HeatPath;
use motor::Motor;
use pack::Pack;
use snag::Snagged;
use state::{State, rk4};
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
    motor_dry: DryFriction,
    rolling_dry: DryFriction,
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
    remembered: Remembered,
}

/// What stays as it is within a step and is settled after it.
#[derive(Clone, Copy, Debug, Default)]
struct Remembered {
    snagged: Snagged,
    motor: Bristle,
    rolling: Bristle,
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
        let mut snags = course.snags.clone();
        snags.sort_by(|a, b| a.at_m.total_cmp(&b.at_m));
        let (motor, line) = (Motor::new(&rig.motor), DriveLine::new(&rig.gears));
        let motor_dry_n_m = motor.friction_n_m + line.loss_n_m(rig.gears.rating_n_m);
        let tyres = Tyres::new(&rig.wheels);
        let rolling = course.surfaces.iter().fold(0.0, |most: f64, on| most.max(on.rolling));
        let rolling_n_m = rolling * rig.vehicle.mass_kg * GRAVITY * tyres.radius_m;
        Self {
            pack: Pack::new(&rig.pack),
            motor_dry: DryFriction::new(motor_dry_n_m, motor.inertia_kg_m2),
            rolling_dry: DryFriction::new(rolling_n_m, tyres.inertia_kg_m2),
            motor,
            heat: HeatPath::new(&rig.motor, &rig.vehicle),
            line,
            tyres,
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
        let snagged = Snagged::at(&self.snags, place_m);
        PlantState { now, remembered: Remembered { snagged, ..Remembered::default() } }
    }

    /// Everything that flows, and the rates of the state.
    pub fn flows(&self, state: &PlantState, action: Action) -> Flows {
        self.flows_of(&state.now, &state.remembered, action)
    }

    /// Moves on by one step of `step_s`.
    pub fn advance(&self, state: &mut PlantState, action: Action, step_s: f64) {
        let held = state.remembered;
        let mut before = state.now;
        // Once for a bridge that has just been switched, once for what this step did.
        let switched_a = before.current_a;
        self.interrupt(&mut before, action, switched_a);
        let mut next = rk4(&before, step_s, |now| self.flows_of(now, &held, action).rates);
        self.interrupt(&mut next, action, before.current_a);
        state.now = next;
        let remembered = &mut state.remembered;
        remembered.snagged.settle(&self.snags, next.place_m, next.wheel_rad);
        self.motor_dry.settle(&mut remembered.motor, step_s * next.motor_rad_s);
        self.rolling_dry.settle(&mut remembered.rolling, next.wheel_rad - before.wheel_rad);
    }

    /// What an open bridge or a diode interrupts ends as heat there.
    fn interrupt(&self, now: &mut State, action: Action, before_a: f64) {
        let flowed_a = now.current_a;
        let emf_v = self.motor.constant_at(now.case_c) * now.motor_rad_s;
        now.current_a = bridge::settle(action, self.synchronous, emf_v, before_a, flowed_a);
        now.copper_j += self.motor.stored_j(flowed_a) - self.motor.stored_j(now.current_a);
    }

    fn flows_of(&self, s: &State, held: &Remembered, action: Action) -> Flows {
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
        let [pack_w, pack_heat_w] =
            self.pack.powers_w(electrical.bus_a, circuit.open_v, s.delayed_v);
        let winding_w = electrical.heat_w * winding_ohm / motor_ohm;
        let (winding_rate, case_rate) = self.heat.rates(winding_w, s.winding_c, s.case_c);

        let driven_rad_s = s.motor_rad_s / self.line.ratio;
        let twist_rate = driven_rad_s - s.wheel_rad_s;
        let shaft_n_m = self.line.shaft_torque(s.twist_rad, twist_rate);
        let load_n_m = self.line.motor_load(shaft_n_m, held.motor);
        let drag_n_m = self.motor.drag_n_m(&self.motor_dry, held.motor, s.motor_rad_s);
        let motor_n_m = constant * s.current_a - drag_n_m - load_n_m;

        let footing = self.ground.at(s.place_m);
        let contact = self.contact(s, &footing);
        let radius = self.tyres.radius_m;
        let rolling_n_m =
            self.rolling_dry.against(held.rolling, contact.rolling_n * radius, s.wheel_rad_s);
        let snag_n_m = held.snagged.torque(&self.snags, s.wheel_rad);
        let wheel_n_m = shaft_n_m - contact.tyre_n * radius - rolling_n_m - snag_n_m;

        let air_n = 0.5 * AIR_DENSITY * self.drag_area_m2 * s.speed_m_s * s.speed_m_s.abs();
        let along_n = contact.tyre_n - self.mass_kg * GRAVITY * footing.sine - air_n;
        let [front_rate, rear_rate] = contact.bristle_rates;

        Flows {
            rates: State {
                current_a: electrical.current_rate,
                motor_rad_s: motor_n_m / self.motor.inertia_kg_m2,
                wheel_rad_s: wheel_n_m / self.tyres.inertia_kg_m2,
                wheel_rad: s.wheel_rad_s,
                twist_rad: twist_rate,
                speed_m_s: along_n / self.mass_kg,
                place_m: s.speed_m_s,
                front_bristle_m: front_rate,
                rear_bristle_m: rear_rate,
                delayed_v: delayed_rate,
                charge: charge_rate,
                winding_c: winding_rate,
                case_c: case_rate,
                pack_j: pack_w,
                pack_heat_j: pack_heat_w,
                copper_j: electrical.heat_w,
                motor_friction_j: drag_n_m * s.motor_rad_s,
                gears_j: load_n_m * s.motor_rad_s - shaft_n_m * driven_rad_s,
                shaft_j: shaft_n_m * twist_rate,
                tyre_j: contact.tyre_n * contact.slip_m_s,
                rolling_j: rolling_n_m * s.wheel_rad_s,
                air_j: air_n * s.speed_m_s,
                snag_j: snag_n_m * s.wheel_rad_s,
            },
            bus_v: electrical.bus_v,
            bus_a: electrical.bus_a,
            winding_w,
            shaft_n_m,
            snag_n_m,
            tyre_n: contact.tyre_n,
            slip_m_s: contact.slip_m_s,
            height_m: footing.height_m,
            front_n: contact.loads_n[0],
            rear_n: contact.loads_n[1],
        }
    }

    /// The shortest time in which one part changes by its own measure \[s\], and which it is: a step
    /// must not be longer. `L/R`, `1/sqrt(k (1/J_w + 1/(J_m G^2)))`, and the like for damping and tyres.
    pub fn quickest_s(&self) -> (f64, &'static str) {
        let winding_s = self.motor.inductance_h / (self.motor.resistance_ohm + self.bridge_ohm);
        let turned = self.motor.inertia_kg_m2 * self.line.ratio * self.line.ratio;
        let wheels = 1.0 / self.tyres.inertia_kg_m2;
        let both = wheels + 1.0 / turned;
        let radius = self.tyres.radius_m;
        let normal_n = self.mass_kg * GRAVITY;
        let tyres = normal_n * (radius * radius * wheels + 1.0 / self.mass_kg);
        let [spring, damping] = self.line.stiff().map(|each| each * both);
        let [grip, grip_damping] = self.tyres.stiff().map(|each| each * tyres);
        let found = [
            (winding_s, "the motor's winding (L/R)"),
            (1.0 / spring.sqrt(), "the drive line's spring"),
            (1.0 / damping, "the drive line's damping"),
            (1.0 / grip.sqrt(), "the tyres' stiffness"),
            (1.0 / grip_damping, "the tyres' damping"),
        ];
        found.into_iter().fold(found[0], |least, one| if one.0 < least.0 { one } else { least })
    }

    /// Energy of motion \[J\].
    fn motion_j(&self, s: &State) -> f64 {
        let turning = self.tyres.inertia_kg_m2 * s.wheel_rad_s * s.wheel_rad_s
            + self.motor.inertia_kg_m2 * s.motor_rad_s * s.motor_rad_s;
        0.5 * (self.mass_kg * s.speed_m_s * s.speed_m_s + turning)
    }

    /// Height of the body on its way \[m\].
    fn height_m(&self, s: &State) -> f64 {
        self.ground.at(s.place_m).height_m
    }

    /// Energy in electrical fields \[J\].
    fn fields_j(&self, s: &State) -> f64 {
        self.motor.stored_j(s.current_a) + self.pack.delayed_j(s.delayed_v)
    }

    /// Where tyres and ground meet. Both axles turn together, each on its own ground.
    ///
    /// The tyres' force moves load between the axles (moments about the contact points; air drag is
    /// taken at the ground), and the loads make the force: two equations, linear, solved at once.
    /// An axle that would pull on the ground has lifted: it carries nothing, the other one everything.
    fn contact(&self, s: &State, footing: &Footing) -> Contact {
        let cosine = (1.0 - footing.sine * footing.sine).sqrt();
        let normal_n = self.mass_kg * GRAVITY * cosine;
        let slip_m_s = self.tyres.radius_m * s.wheel_rad_s - s.speed_m_s;
        let [front, rear] = footing.axles;
        let (front_grip, front_rate) = self.tyres.grip(s.front_bristle_m, slip_m_s, front);
        let (rear_grip, rear_rate) = self.tyres.grip(s.rear_bristle_m, slip_m_s, rear);
        let still_n = normal_n * self.front_share;
        let both = front_grip * still_n + rear_grip * (normal_n - still_n);
        let moved_n = self.cg_height_share * both
            / (1.0 - self.cg_height_share * (rear_grip - front_grip)).max(0.1);
        let front_n = (still_n - moved_n).max(0.0).min(normal_n);
        let rear_n = normal_n - front_n;
        Contact {
            loads_n: [front_n, rear_n],
            tyre_n: front_n * front_grip + rear_n * rear_grip,
            slip_m_s,
            bristle_rates: [front_rate, rear_rate],
            rolling_n: front_n * front.rolling + rear_n * rear.rolling,
        }
    }
}

/// What happens between tyres and ground.
struct Contact {
    loads_n: [f64; 2],
    tyre_n: f64,
    slip_m_s: f64,
    bristle_rates: [f64; 2],
    /// Rolling resistance of both axles.
    rolling_n: f64,
}
