//! The rig: everything physical that is carried along, as the file gives it.

use serde::Serialize;

use crate::document::Document;
use crate::mistake::{Refusal, Source};

/// Everything physical that is carried along.
#[derive(Clone, Debug, Serialize)]
#[expect(missing_docs, reason = "the tables of the rig file, documented at their types")]
pub struct Rig {
    pub vehicle: Vehicle,
    pub wheels: Wheels,
    pub gears: Gears,
    pub motor: MotorData,
    pub bridge: BridgeData,
    pub pack: PackData,
    pub board: Board,
    pub sensors: SensorData,
}

/// Body and air.
#[derive(Clone, Debug, Serialize)]
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
#[derive(Clone, Debug, Serialize)]
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

/// From the motor's shaft to the wheels.
#[derive(Clone, Debug, Serialize)]
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

/// The motor and its heat.
#[derive(Clone, Debug, Serialize)]
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
}

/// The bridge.
#[derive(Clone, Debug, Serialize)]
pub struct BridgeData {
    /// Resistance of the two switches in the path \[ohm\].
    pub resistance_ohm: f64,
    /// Synchronous: driving, the motor is shorted while it is not powered, so a motor turning
    /// faster than its duty feeds the pack. Otherwise a diode keeps the current from reversing.
    pub synchronous: bool,
}

/// The pack.
#[derive(Clone, Debug, Serialize)]
pub struct PackData {
    /// Cells in series.
    pub cells: u32,
    /// Capacity \[A h\].
    pub capacity_ah: f64,
    /// State of charge at the start, 0 to 1.
    pub charge: f64,
    /// Immediate resistance per cell \[ohm\].
    pub resistance_ohm_per_cell: f64,
    /// Delayed resistance per cell \[ohm\] ...
    pub delayed_ohm_per_cell: f64,
    /// ... and its time constant \[s\].
    pub delayed_s: f64,
    /// Leads and connectors, both ways \[ohm\].
    pub leads_ohm: f64,
    /// Open-circuit voltage of one cell over state of charge \[-, V\].
    pub ocv_v: Vec<[f64; 2]>,
}

/// The controller's board.
#[derive(Clone, Debug, Serialize)]
pub struct Board {
    /// Controller ticks per second.
    pub tick_hz: u16,
    /// Whether it measures wheel speed.
    pub speed_sensor: bool,
    /// Whether it measures motor current.
    pub current_sensor: bool,
    /// Whether it measures winding temperature.
    pub temperature_sensor: bool,
}

/// How well the board measures; all zeros: exactly.
#[derive(Clone, Debug, Serialize)]
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

impl Rig {
    /// Reads a rig file.
    ///
    /// # Errors
    /// Every mistake in it.
    pub fn read(source: &Source) -> Result<Self, Refusal> {
        let document = Document::parse(source)?;
        let rig = {
            let top = document.top();
            let vehicle = top.table("vehicle");
            let wheels = top.table("wheels");
            let gears = top.table("gears");
            let motor = top.table("motor");
            let bridge = top.table("bridge");
            let pack = top.table("pack");
            let (board, sensors) = (top.optional_table("board"), top.optional_table("sensors"));
            let wheelbase_m = vehicle.number("wheelbase_m", 0.02..=5.0);
            let rig = Self {
                vehicle: Vehicle {
                    mass_kg: vehicle.number("mass_kg", 0.05..=500.0),
                    wheelbase_m,
                    cg_height_m: vehicle.number("cg_height_m", 0.0..=2.0),
                    cg_ahead_of_rear_m: vehicle.number_or(
                        "cg_ahead_of_rear_m",
                        0.001..=5.0,
                        wheelbase_m / 2.0,
                    ),
                    drag_area_m2: vehicle.number_or("drag_area_m2", 0.0..=5.0, 0.0),
                    air_c: vehicle.number_or("air_c", -40.0..=60.0, 20.0),
                },
                wheels: Wheels {
                    radius_m: wheels.number("radius_m", 0.005..=0.5),
                    inertia_kg_m2: wheels.number("inertia_kg_m2", 1.0e-7..=10.0),
                    tyre_stiffness_per_m: wheels.number_or(
                        "tyre_stiffness_per_m",
                        20.0..=1_000.0,
                        200.0,
                    ),
                    tyre_damping_s_per_m: wheels.number_or("tyre_damping_s_per_m", 0.0..=5.0, 0.5),
                },
                gears: Gears {
                    pinion_teeth: gears.whole("pinion_teeth", 5..=200),
                    spur_teeth: gears.whole("spur_teeth", 5..=400),
                    internal_ratio: gears.number_or("internal_ratio", 0.1..=500.0, 1.0),
                    efficiency_driving: gears.number("efficiency_driving", 0.2..=1.0),
                    efficiency_driven_back: gears.number("efficiency_driven_back", 0.05..=1.0),
                    stiffness_n_m_per_rad: gears.number("stiffness_n_m_per_rad", 0.1..=1.0e5),
                    damping_n_m_s_per_rad: gears.number("damping_n_m_s_per_rad", 0.0..=1.0e3),
                    backlash_deg: gears.number_or("backlash_deg", 0.0..=30.0, 0.0),
                    rating_n_m: gears.number("rating_n_m", 0.01..=1.0e4),
                },
                motor: MotorData {
                    kv_rpm_per_v: motor.number("kv_rpm_per_v", 10.0..=20_000.0),
                    resistance_ohm: motor.number("resistance_ohm", 0.002..=20.0),
                    inductance_uh: motor.number("inductance_uh", 1.0..=100_000.0),
                    no_load_a: motor.number("no_load_a", 0.0..=50.0),
                    no_load_v: motor.number("no_load_v", 0.5..=60.0),
                    viscous_share: motor.number_or("viscous_share", 0.0..=1.0, 0.3),
                    rotor_inertia_kg_m2: motor.number("rotor_inertia_kg_m2", 1.0e-8..=1.0),
                    winding_j_per_k: motor.number("winding_j_per_k", 0.1..=1.0e5),
                    winding_to_case_k_per_w: motor.number("winding_to_case_k_per_w", 0.01..=100.0),
                    case_j_per_k: motor.number("case_j_per_k", 0.1..=1.0e6),
                    case_to_air_k_per_w: motor.number("case_to_air_k_per_w", 0.01..=200.0),
                    winding_limit_c: motor.number("winding_limit_c", 60.0..=240.0),
                },
                bridge: BridgeData {
                    resistance_ohm: bridge.number("resistance_ohm", 0.0..=5.0),
                    synchronous: bridge.flag_or("synchronous", true),
                },
                pack: PackData {
                    cells: pack.whole("cells", 1..=14),
                    capacity_ah: pack.number("capacity_ah", 0.05..=200.0),
                    charge: pack.number_or("charge", 0.0..=1.0, 1.0),
                    resistance_ohm_per_cell: pack.number("resistance_ohm_per_cell", 0.0..=1.0),
                    delayed_ohm_per_cell: pack.number_or("delayed_ohm_per_cell", 0.0..=1.0, 0.0),
                    delayed_s: pack.number_or("delayed_s", 0.1..=1_000.0, 10.0),
                    leads_ohm: pack.number("leads_ohm", 0.0..=1.0),
                    ocv_v: pack
                        .pairs("ocv_v", 2, [0.0..=1.0, 0.5..=5.0])
                        .unwrap_or_else(|| POUCH_CELL_OCV.to_vec()),
                },
                board: Board {
                    tick_hz: board.whole_or("tick_hz", 100..=8_000, 1_000) as u16,
                    speed_sensor: board.flag_or("speed_sensor", true),
                    current_sensor: board.flag_or("current_sensor", true),
                    temperature_sensor: board.flag_or("temperature_sensor", true),
                },
                sensors: SensorData {
                    speed_edges_per_turn: sensors.whole_or("speed_edges_per_turn", 0..=10_000, 0),
                    adc_bits: sensors.whole_or("adc_bits", 0..=24, 0),
                    adc_full_v: sensors.number_or("adc_full_v", 1.0..=1_000.0, 30.0),
                    adc_full_a: sensors.number_or("adc_full_a", 1.0..=1_000.0, 100.0),
                    noise_v: sensors.number_or("noise_v", 0.0..=10.0, 0.0),
                    noise_a: sensors.number_or("noise_a", 0.0..=100.0, 0.0),
                    temperature_lag_s: sensors.number_or("temperature_lag_s", 0.0..=600.0, 0.0),
                    seed: sensors.whole_or("seed", 0..=u32::MAX, 1),
                },
            };
            if rig.vehicle.cg_ahead_of_rear_m >= rig.vehicle.wheelbase_m {
                vehicle.contradiction(
                    "cg_ahead_of_rear_m",
                    format!(
                        "vehicle.cg_ahead_of_rear_m is {}, not behind the front axle at {}",
                        rig.vehicle.cg_ahead_of_rear_m, rig.vehicle.wheelbase_m
                    ),
                    "the centre of gravity must lie between the axles, or the rig falls over",
                );
            }
            if !(1.0..=500.0).contains(&rig.gears.ratio()) {
                gears.contradiction(
                    "internal_ratio",
                    format!(
                        "spur / pinion * internal_ratio is {}; allowed is 1 to 500 motor turns per \
                         wheel turn",
                        rig.gears.ratio()
                    ),
                    "check the teeth and the internal ratio",
                );
            }
            if rig
                .pack
                .ocv_v
                .windows(2)
                .any(|pair| pair[1][0] <= pair[0][0] || pair[1][1] < pair[0][1])
            {
                pack.contradiction(
                    "ocv_v",
                    "pack.ocv_v must rise in both members".into(),
                    "list state of charge from empty to full with its voltage",
                );
            }
            rig
        };
        document.finish(rig)
    }
}
