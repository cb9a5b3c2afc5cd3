//! The receiver's pulse, measured by a PIO state machine: to a quarter microsecond, whatever the loop
//! is doing.

use easeoff_core::Microseconds;
use fugit::HertzU32;
use rp2040_hal::gpio::{FunctionNull, FunctionPio0, Pin, PullDown, bank0::Gpio2};
use rp2040_hal::pac::PIO0;
use rp2040_hal::pio::{PIO, PIOBuilder, Rx, ShiftDirection, StateMachineIndex, UninitStateMachine};

/// The program counts once in two cycles; so fast runs it that a count is a quarter microsecond.
const CYCLES_HZ: u32 = 8_000_000;

/// Widths that arrive.
pub(crate) struct PulseReader<S: StateMachineIndex> {
    widths: Rx<(PIO0, S)>,
}

impl<S: StateMachineIndex> PulseReader<S> {
    /// Starts the program on the pin; `None` if PIO has no room for it.
    pub(crate) fn new(
        pio: &mut PIO<PIO0>,
        machine: UninitStateMachine<(PIO0, S)>,
        pin: Pin<Gpio2, FunctionNull, PullDown>,
        system: HertzU32,
    ) -> Option<Self> {
        let pin: Pin<_, FunctionPio0, PullDown> = pin.into_function();
        let number = pin.id().num;
        let program = pio::pio_asm!(
            ".wrap_target",
            "    wait 0 pin 0",
            "    wait 1 pin 0",
            "    mov x, ~null",
            "count:",
            "    jmp x-- on", // counts down, and goes on either way
            "on:",
            "    jmp pin count",
            "    mov isr, ~x",
            "    push noblock",
            ".wrap",
        );
        let program = pio.install(&program.program).ok()?;
        let divisor = system.to_Hz().checked_div(CYCLES_HZ)?;
        let part = (system.to_Hz() % CYCLES_HZ).checked_mul(256 / 8)?.checked_div(CYCLES_HZ / 8)?;
        let (machine, widths, _) = PIOBuilder::from_installed_program(program)
            .in_pin_base(number)
            .jmp_pin(number)
            .in_shift_direction(ShiftDirection::Left)
            .clock_divisor_fixed_point(u16::try_from(divisor).ok()?, u8::try_from(part).ok()?)
            .build(machine);
        machine.start();
        Some(Self { widths })
    }

    /// The last pulse that ended since it was asked, if one did.
    pub(crate) fn take(&mut self) -> Option<Microseconds> {
        let mut last = None;
        while let Some(quarters) = self.widths.read() {
            last = Some(quarters);
        }
        // 65,536 to the microsecond. What is too long for a pulse is refused by the core.
        last.map(|quarters| {
            let bits = quarters.saturating_mul(1 << 14);
            Microseconds::from_bits(i32::try_from(bits).unwrap_or(i32::MAX))
        })
    }
}
