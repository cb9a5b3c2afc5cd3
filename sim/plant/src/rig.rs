//! The rig: everything physical that is carried along, as the file gives it.

use serde::{Deserialize, Serialize};

/// Everything physical that is carried along.
#[derive(Clone, Debug, PartialEq, Deserialize, Serialize)]
#[expect(missing_docs, reason = "the tables of the rig file, documented at their types")]
pub struct Rig {
    pub vehicle: Vehicle,
    pub wheels: Wheels,
    pub gears: Gears,
    pub mesh: Option<Mesh>,
    pub motor: MotorData,
    pub bridge: BridgeData,
    pub pack: PackData,
    pub steering: Option<Steering>,
    pub board: Board,
    pub sensors: SensorData,
}

/// Body and air.
#[derive(Clone, Debug, PartialEq, Deserialize, Serialize)]
pub struct Vehicle {
    /// Whole mass, wheels and all \[kg\].
    pub mass_kg: f64,
    /// Distance between the axles \[m\].
    pub wheelbase_m: f64,
    /// Height of the centre of gravity above the ground \[m\].
    pub cg_height_m: f64,
    /// Distance of the centre of gravity ahead of the rear axle \[m\].
    pub cg_ahead_of_rear_m: f64,
    /// Drag coefficient times frontal area \[m^2\].
    pub drag_area_m2: f64,
    /// Temperature of the air, and of everything at the start \[degrees C\].
    pub air_c: f64,
}

/// All wheels together; both axles are driven and turn together.
#[derive(Clone, Debug, PartialEq, Deserialize, Serialize)]
pub struct Wheels {
    /// Rolling radius \[m\].
    pub radius_m: f64,
    /// Inertia of all wheels and axles \[kg m^2\].
    pub inertia_kg_m2: f64,
    /// Tyre bristle stiffness per normal load \[1/m\] (LuGre sigma0).
    pub tyre_stiffness_per_m: f64,
    /// Tyre bristle damping per normal load \[s/m\] (LuGre sigma1).
    pub tyre_damping_s_per_m: f64,
}

/// The teeth a pinion may have.
pub const PINION_TEETH: std::ops::RangeInclusive<u32> = 5..=200;

/// From the motor's shaft to the wheels.
#[derive(Clone, Debug, PartialEq, Deserialize, Serialize)]
pub struct Gears {
    /// Teeth of the pinion on the motor.
    pub pinion_teeth: u32,
    /// Teeth of the spur gear it drives.
    pub spur_teeth: u32,
    /// Ratio of everything behind the spur gear.
    pub internal_ratio: f64,
    /// Share of power that arrives when the motor drives.
    pub efficiency_driving: f64,
    /// Share of power that arrives when the wheels drive the motor.
    pub efficiency_driven_back: f64,
    /// Torsional stiffness of the drive line seen from the wheels \[N m/rad\].
    pub stiffness_n_m_per_rad: f64,
    /// Its damping \[N m s/rad\].
    pub damping_n_m_s_per_rad: f64,
    /// Free play seen from the wheels \[degrees\].
    pub backlash_deg: f64,
    /// Torque at the wheels that the weakest part stands \[N m\].
    pub rating_n_m: f64,
}

/// Where pinion and spur gear meet: what `easeoff gearing` needs of their teeth.
#[derive(Clone, Copy, Debug, PartialEq, Deserialize, Serialize)]
pub struct Mesh {
    /// Module \[mm\].
    pub module_mm: f64,
    /// Pressure angle \[degrees\].
    pub pressure_angle_deg: f64,
    /// Width of the narrower of both \[mm\].
    pub face_width_mm: Option<f64>,
    /// Stress that the pinion's teeth stand \[MPa\].
    pub pinion_allowable_mpa: Option<f64>,
    /// Stress that the spur gear's teeth stand \[MPa\].
    pub spur_allowable_mpa: Option<f64>,
    /// How far beyond the exact centre distance the motor is set, for some backlash \[mm\].
    pub centre_extra_mm: f64,
    /// Least and greatest centre distance that the motor's slots allow \[mm\].
    pub slot_mm: Option<[f64; 2]>,
}

/// The motor and its heat.
#[derive(Clone, Debug, PartialEq, Deserialize, Serialize)]
pub struct MotorData {
    /// Speed constant \[rpm/V\].
    pub kv_rpm_per_v: f64,
    /// Winding resistance at 20 degrees C \[ohm\].
    pub resistance_ohm: f64,
    /// Winding inductance \[uH\].
    pub inductance_uh: f64,
    /// Current running free \[A\] ...
    pub no_load_a: f64,
    /// ... at this voltage \[V\].
    pub no_load_v: f64,
    /// Share of the free-running torque that grows with speed; the rest is dry friction.
    pub viscous_share: f64,
    /// Rotor inertia \[kg m^2\].
    pub rotor_inertia_kg_m2: f64,
    /// Heat capacity of the winding \[J/K\].
    pub winding_j_per_k: f64,
    /// Thermal resistance from winding to case \[K/W\].
    pub winding_to_case_k_per_w: f64,
    /// Heat capacity of the case \[J/K\].
    pub case_j_per_k: f64,
    /// Thermal resistance from case to air \[K/W\].
    pub case_to_air_k_per_w: f64,
    /// Temperature the winding's insulation stands \[degrees C\].
    pub winding_limit_c: f64,
    /// Temperature that the magnets stand \[degrees C\].
    pub magnet_limit_c: Option<f64>,
    /// Current that its maker allows for long \[A\].
    pub rated_a: Option<f64>,
    /// Torque by which the magnets hold the rotor in its detents, at most \[N m\].
    pub cogging_n_m: f64,
    /// Detents per turn of the rotor.
    pub cogging_per_turn: u32,
}

/// The bridge.
#[derive(Clone, Debug, PartialEq, Deserialize, Serialize)]
pub struct BridgeData {
    /// Resistance of the two switches in the path at 20 degrees C \[ohm\].
    pub resistance_ohm: f64,
    /// By which share of it the resistance rises per kelvin \[1/K\].
    pub resistance_per_k: f64,
    /// Heat capacity of switches and heat sink \[J/K\].
    pub heat_j_per_k: f64,
    /// Thermal resistance from there to the air \[K/W\].
    pub to_air_k_per_w: f64,
    /// Temperature the switches stand \[degrees C\].
    pub limit_c: f64,
    /// Voltage that it stands \[V\].
    pub rated_v: Option<f64>,
    /// Motor current that it stands for long \[A\].
    pub rated_a: Option<f64>,
    /// PWM periods per second, each of them resolved \[Hz\]; `None`: averaged.
    pub switched_hz: Option<f64>,
    /// Capacitor that takes these pulses from the pack \[uF\].
    pub capacitor_uf: f64,
    /// Synchronous: driving, the motor is shorted while it is not powered, so a motor turning
    /// faster than its duty feeds the pack. Otherwise a diode keeps the current from reversing.
    pub synchronous: bool,
}

/// The pack.
#[derive(Clone, Debug, PartialEq, Deserialize, Serialize)]
pub struct PackData {
    /// Cells in series.
    pub cells: u32,
    /// Capacity \[A h\].
    pub capacity_ah: f64,
    /// State of charge at the start, 0 to 1.
    pub charge: f64,
    /// The voltage on its label \[V\].
    pub label_v: Option<f64>,
    /// Current that its maker allows for long \[A\].
    pub rated_a: Option<f64>,
    /// Current that the weakest connector stands \[A\].
    pub connector_a: Option<f64>,
    /// Gauge of its wire.
    pub wire_awg: Option<f64>,
    /// Immediate resistance per cell \[ohm\].
    pub resistance_ohm_per_cell: f64,
    /// Delayed resistance per cell \[ohm\] ...
    pub delayed_ohm_per_cell: f64,
    /// ... and its time constant \[s\].
    pub delayed_s: f64,
    /// Leads and connectors, both ways, the wire included \[ohm\].
    pub leads_ohm: f64,
    /// Open-circuit voltage of one cell over state of charge \[-, V\].
    pub ocv_v: Vec<[f64; 2]>,
}

/// The steering servo, and the supply it shares with the receiver.
#[derive(Clone, Copy, Debug, PartialEq, Deserialize, Serialize)]
pub struct Steering {
    /// Voltage that the supply holds while it can \[V\].
    pub supply_v: f64,
    /// By how much the pack's voltage must be above it \[V\].
    pub dropout_v: f64,
    /// Current at which the supply gives way \[A\].
    pub limit_a: f64,
    /// Share of the pack's power that arrives.
    pub efficiency: f64,
    /// Voltage below which the receiver stops \[V\] ...
    pub receiver_v: f64,
    /// ... unless it lasts no longer than this \[s\] ...
    pub receiver_holds_s: f64,
    /// ... and how long it is gone, once the voltage is back \[s\].
    pub receiver_restart_s: f64,
    /// Current of receiver and resting servo \[A\].
    pub idle_a: f64,
    /// The servo's current held fast, at its rated voltage \[A\].
    pub stall_a: f64,
    /// That voltage \[V\].
    pub rated_v: f64,
    /// From end to end without load at the rated voltage \[s\].
    pub travel_s: f64,
    /// How soon the servo's motor is at speed: its mechanical time constant \[s\].
    pub lag_s: f64,
    /// Torque that turning the wheels takes / the servo's torque held fast.
    pub load: f64,
}

/// The controller's board.
#[derive(Clone, Debug, PartialEq, Deserialize, Serialize)]
pub struct Board {
    /// Controller ticks per second.
    pub tick_hz: u16,
    /// Whether it measures wheel speed.
    pub speed_sensor: bool,
    /// Whether it measures motor current.
    pub current_sensor: bool,
    /// Whether it measures winding temperature.
    pub temperature_sensor: bool,
    /// Whether it takes the brake's share to the bridge through the core's law for a fast PWM; heard
    /// only where every period is resolved.
    pub fast_bridge_law: bool,
}

/// How well the board measures; all zeros: exactly.
#[derive(Clone, Debug, PartialEq, Deserialize, Serialize)]
pub struct SensorData {
    /// Edges per wheel turn by which the speed is counted; 0: exact in every tick.
    pub speed_edges_per_turn: u32,
    /// Bits of the converter for voltage and current; 0: exact.
    pub adc_bits: u32,
    /// Voltage at the end of its range \[V\].
    pub adc_full_v: f64,
    /// Current at the end of its range, both ways \[A\].
    pub adc_full_a: f64,
    /// White noise on the voltage, root mean square \[V\].
    pub noise_v: f64,
    /// White noise on the current, root mean square \[A\].
    pub noise_a: f64,
    /// Time constant of the temperature sensor \[s\].
    pub temperature_lag_s: f64,
    /// Which of all noises, the radio's too.
    pub seed: u32,
}

/// A 2.28 A h lithium-polymer pouch cell: the parameter set Ai2020 of PyBaMM (Ai et al. 2020,
/// J. Electrochem. Soc. 167), state of charge against open-circuit voltage.
pub const POUCH_CELL_OCV: [[f64; 2]; 12] = [
    [0.0, 3.0],
    [0.05, 3.5421],
    [0.1, 3.6396],
    [0.2, 3.6954],
    [0.3, 3.7331],
    [0.4, 3.7622],
    [0.5, 3.7925],
    [0.6, 3.8365],
    [0.7, 3.9089],
    [0.8, 3.9945],
    [0.9, 4.0879],
    [1.0, 4.2],
];

impl Vehicle {
    /// Share of the weight on the front axle at rest on the level.
    pub fn front_share(&self) -> f64 {
        self.cg_ahead_of_rear_m / self.wheelbase_m
    }
}

impl Gears {
    /// Motor turns per wheel turn: `spur / pinion * internal`.
    pub fn ratio(&self) -> f64 {
        f64::from(self.spur_teeth) / f64::from(self.pinion_teeth) * self.internal_ratio
    }
}

impl MotorData {
    /// Torque per current and voltage per speed at 20 degrees C: `60 / (2 pi kV)`
    /// \[N m/A = V s/rad\].
    pub fn constant(&self) -> f64 {
        60.0 / (2.0 * std::f64::consts::PI * self.kv_rpm_per_v)
    }
}
