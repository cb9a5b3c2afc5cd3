//! Wheel edges, stamped by an interrupt.

use core::cell::RefCell;

use critical_section::Mutex;
use easeoff_board::EdgeCount;
use rp2040_hal::Timer;
use rp2040_hal::gpio::{FunctionSioInput, Interrupt, Pin, PullUp, bank0::Gpio3};
use rp2040_hal::pac::{self, NVIC, interrupt};

struct Edges {
    pin: Pin<Gpio3, FunctionSioInput, PullUp>,
    timer: Timer,
    count: EdgeCount,
}

static EDGES: Mutex<RefCell<Option<Edges>>> = Mutex::new(RefCell::new(None));

/// Counts falling edges of the pin from now on.
pub(crate) fn start(pin: Pin<Gpio3, FunctionSioInput, PullUp>, timer: Timer, _nvic: NVIC) {
    pin.set_interrupt_enabled(Interrupt::EdgeLow, true);
    critical_section::with(|section| {
        EDGES.borrow(section).replace(Some(Edges { pin, timer, count: EdgeCount::default() }));
    });
    #[expect(unsafe_code, reason = "an interrupt can be let in no other way")]
    // SAFETY: the handler's data is in its place; no critical section relies on this mask.
    unsafe {
        NVIC::unmask(pac::Interrupt::IO_IRQ_BANK0)
    };
}

/// The edges so far.
pub(crate) fn count() -> EdgeCount {
    critical_section::with(|section| {
        EDGES.borrow(section).borrow().as_ref().map_or_else(EdgeCount::default, |edges| edges.count)
    })
}

#[interrupt]
fn IO_IRQ_BANK0() {
    critical_section::with(|section| {
        if let Some(edges) = EDGES.borrow(section).borrow_mut().as_mut() {
            edges.pin.clear_interrupt(Interrupt::EdgeLow);
            edges.count.note(edges.timer.get_counter_low());
        }
    });
}
