//! Instructions and stack of each step.
//!
//! QEMU with `-icount` lets virtual time pass by a fixed amount per instruction, so SysTick, which
//! counts virtual time, counts instructions. The stack below the caller is painted before a step; how
//! far the paint is gone afterwards is how far the step went.

use core::arch::asm;
use core::hint::black_box;

use cortex_m::peripheral::SYST;
use cortex_m::peripheral::syst::SystClkSource;
use cortex_m::register::msp;
use easeoff_core::{Controller, Input, Output, State};
use easeoff_tape::{Counts, Meter};

/// SysTick has 24 bits.
const MOST: u32 = 0x00ff_ffff;

/// Painted below the caller \[words\]: twice what a step may use, and more.
const PAINTED: usize = 512;
const PAINT: u32 = 0xa5a5_a5a5;

pub(crate) struct Counting {
    counts: Counts,
    ticks: u32,
}

impl Counting {
    pub(crate) fn new() -> Self {
        #[expect(unsafe_code, reason = "the only user of SysTick")]
        // SAFETY: nothing else in this image touches it.
        let mut timer = unsafe { cortex_m::Peripherals::steal() }.SYST;
        timer.set_clock_source(SystClkSource::Core);
        timer.set_reload(MOST);
        timer.clear_current();
        timer.enable_counter();
        let size = |bytes: usize| u32::try_from(bytes).unwrap_or(u32::MAX);
        let counts = Counts {
            nothing: taken(nothing).1,
            thousand: taken(thousand).1,
            state: size(size_of::<State>()),
            controller: size(size_of::<Controller>()),
            ..Counts::default()
        };
        Self { counts, ticks: 0 }
    }
}

impl Meter for Counting {
    fn step(&mut self, controller: &Controller, state: &mut State, input: &Input) -> Output {
        paint();
        let (output, took) = taken(|| step(black_box(controller), state, black_box(input)));
        let stack = used();
        let counts = &mut self.counts;
        counts.sum = counts.sum.saturating_add(u64::from(took));
        if took > counts.worst {
            (counts.worst, counts.worst_tick) = (took, self.ticks);
        }
        counts.stack = counts.stack.max(stack);
        self.ticks = self.ticks.saturating_add(1);
        output
    }

    fn counts(&self) -> Counts {
        self.counts
    }
}

/// A call as any firmware makes it.
#[inline(never)]
fn step(controller: &Controller, state: &mut State, input: &Input) -> Output {
    controller.step(state, input)
}

#[inline(always)]
fn taken<T>(work: impl FnOnce() -> T) -> (T, u32) {
    let before = SYST::get_current();
    let result = black_box(work());
    let after = SYST::get_current();
    // It counts down.
    (result, before.wrapping_sub(after) & MOST)
}

/// What `thousand` has besides.
#[inline(never)]
fn nothing() {
    #[expect(unsafe_code, reason = "a call that the compiler keeps")]
    // SAFETY: it does nothing.
    unsafe {
        asm!("");
    }
}

#[inline(never)]
fn thousand() {
    #[expect(unsafe_code, reason = "a thousand instructions, no more and no fewer")]
    // SAFETY: they do nothing.
    unsafe {
        asm!(".rept 1000", "nop", ".endr");
    }
}

/// The stack pointer; what is below it is free.
#[inline(always)]
fn below() -> *mut u32 {
    let top = msp::read() & !3;
    core::ptr::with_exposed_provenance_mut(usize::try_from(top).unwrap_or_default())
}

#[inline(always)]
fn paint() {
    let top = below();
    for word in 1..=PAINTED {
        #[expect(unsafe_code, reason = "memory below the stack pointer is no one's")]
        // SAFETY: the stack is the last thing in memory and far larger; interrupts are off.
        unsafe {
            top.wrapping_sub(word).write_volatile(PAINT);
        }
    }
}

/// Bytes from the caller's stack pointer down to the deepest word that lost its paint.
#[inline(always)]
fn used() -> u32 {
    let top = below();
    let mut depth = PAINTED;
    while depth > 0 {
        #[expect(unsafe_code, reason = "memory below the stack pointer is no one's")]
        // SAFETY: as in `paint`.
        let word = unsafe { top.wrapping_sub(depth).read_volatile() };
        if word != PAINT {
            break;
        }
        depth = depth.saturating_sub(1);
    }
    u32::try_from(depth.saturating_mul(4)).unwrap_or(u32::MAX)
}
