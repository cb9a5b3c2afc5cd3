//! The chips: what the compiler calls them, which machine QEMU plays, and what they may spend.

/// One chip.
#[derive(Clone, Copy, Debug)]
pub(super) struct Chip {
    /// As in the table.
    pub(super) name: &'static str,
    /// The compiler's target.
    pub(super) target: &'static str,
    /// What a C compiler must know to agree with the target.
    pub(super) compiler: &'static [&'static str],
    /// QEMU's machine and core.
    pub(super) machine: [&'static str; 2],
    /// What the core may cost here.
    pub(super) budget: Budget,
}

/// The most the core may cost.
#[derive(Clone, Copy, Debug)]
pub(super) struct Budget {
    /// Instructions of the dearest step.
    pub(super) instructions: f64,
    /// Bytes of flash.
    pub(super) flash: f64,
}

/// Bytes of stack a step may use, everywhere.
pub(super) const MOST_STACK: f64 = 512.0;

/// Bytes of state, everywhere.
pub(super) const MOST_STATE: f64 = 256.0;

/// All chips, the smallest first.
pub(super) const CHIPS: [Chip; 3] = [
    Chip {
        name: "Cortex-M0",
        target: "thumbv6m-none-eabi",
        compiler: &["-mthumb", "-mcpu=cortex-m0"],
        machine: ["microbit", "cortex-m0"],
        budget: Budget { instructions: 2_900.0, flash: 24.0 * 1_024.0 },
    },
    Chip {
        name: "Cortex-M3",
        target: "thumbv7m-none-eabi",
        compiler: &["-mthumb", "-mcpu=cortex-m3"],
        machine: ["mps2-an385", "cortex-m3"],
        budget: Budget { instructions: 1_700.0, flash: 24.0 * 1_024.0 },
    },
    Chip {
        name: "Cortex-M4F",
        target: "thumbv7em-none-eabihf",
        compiler: &["-mthumb", "-mcpu=cortex-m4", "-mfpu=fpv4-sp-d16", "-mfloat-abi=hard"],
        machine: ["mps2-an386", "cortex-m4"],
        budget: Budget { instructions: 1_650.0, flash: 22.0 * 1_024.0 },
    },
];
