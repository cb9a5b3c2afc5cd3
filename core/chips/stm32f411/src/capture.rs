//! Pulse and wheel edges, stamped by a timer to the microsecond.

use core::cell::RefCell;

use critical_section::Mutex;
use easeoff_board::EdgeCount;
use easeoff_core::Microseconds;
use stm32f4xx_hal::gpio::{PA0, PA1};
use stm32f4xx_hal::pac::{Interrupt, NVIC, TIM5, interrupt};
use stm32f4xx_hal::prelude::*;
use stm32f4xx_hal::rcc::Rcc;
use stm32f4xx_hal::timer::{CaptureChannel, CaptureHzManager, CapturePolarity, Event, Flag, Timer};

struct Capture {
    timer: CaptureHzManager<TIM5>,
    wheel: CaptureChannel<TIM5, 0>,
    throttle: CaptureChannel<TIM5, 1>,
    edges: EdgeCount,
    /// When the pulse that is going on began \[us\].
    began_us: Option<u32>,
    width_us: Option<u32>,
}

static CAPTURE: Mutex<RefCell<Option<Capture>>> = Mutex::new(RefCell::new(None));

/// What came since it was last asked.
#[derive(Default)]
pub(crate) struct Seen {
    pub(crate) pulse: Option<Microseconds>,
    pub(crate) edges: EdgeCount,
    pub(crate) now_us: u32,
}

/// Captures rising edges of the wheel and pulses of the throttle from now on.
pub(crate) fn start(timer: TIM5, wheel: PA0, throttle: PA1, rcc: &mut Rcc) {
    let (mut timer, (first, second, ..)) = Timer::new(timer, rcc).capture_hz(1.MHz());
    let (mut wheel, mut throttle) = (first.with(wheel), second.with(throttle));
    wheel.set_polarity(CapturePolarity::ActiveHigh);
    throttle.set_polarity(CapturePolarity::ActiveHigh);
    wheel.enable();
    throttle.enable();
    timer.listen(Event::C1 | Event::C2);
    critical_section::with(|section| {
        CAPTURE.borrow(section).replace(Some(Capture {
            timer,
            wheel,
            throttle,
            edges: EdgeCount::default(),
            began_us: None,
            width_us: None,
        }));
    });
    #[expect(unsafe_code, reason = "an interrupt can be let in no other way")]
    // SAFETY: the handler's data is in its place; no critical section relies on this mask.
    unsafe {
        NVIC::unmask(Interrupt::TIM5);
    }
}

/// Takes what came.
pub(crate) fn take() -> Seen {
    critical_section::with(|section| {
        let mut capture = CAPTURE.borrow(section).borrow_mut();
        let Some(capture) = capture.as_mut() else { return Seen::default() };
        #[expect(unsafe_code, reason = "the HAL does not show the counter")]
        // SAFETY: a read without side effects.
        let now_us = unsafe { (*TIM5::ptr()).cnt().read().bits() };
        // 65,536 to the microsecond. What is too long for a pulse is refused by the core.
        let pulse = capture.width_us.take().map(|us| {
            Microseconds::from_bits(i32::try_from(us.saturating_mul(1 << 16)).unwrap_or(i32::MAX))
        });
        Seen { pulse, edges: capture.edges, now_us }
    })
}

#[interrupt]
fn TIM5() {
    critical_section::with(|section| {
        let mut capture = CAPTURE.borrow(section).borrow_mut();
        let Some(capture) = capture.as_mut() else { return };
        let flags = capture.timer.flags();
        if flags.contains(Flag::C1) {
            capture.timer.clear_flags(Flag::C1);
            capture.edges.note(capture.wheel.get_capture());
        }
        if flags.contains(Flag::C2) {
            capture.timer.clear_flags(Flag::C2);
            let at_us = capture.throttle.get_capture();
            match capture.began_us.take() {
                None => {
                    capture.began_us = Some(at_us);
                    capture.throttle.set_polarity(CapturePolarity::ActiveLow);
                }
                Some(began_us) => {
                    capture.width_us = Some(at_us.wrapping_sub(began_us));
                    capture.throttle.set_polarity(CapturePolarity::ActiveHigh);
                }
            }
        }
    });
}
