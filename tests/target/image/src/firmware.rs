//! The least firmware: a tune made ready, then step after step. What it weighs more than the same
//! without the core is what the core weighs.
#![no_std]
#![no_main]

use core::hint::black_box;

use cortex_m_rt::entry;
use easeoff_core::{Command, Input, Settings, State, TickRate};
use easeoff_image as _;

/// Where a board's drivers would put what they measured, and fetch the command.
struct Board {
    tune: Settings,
    rate: TickRate,
    input: Input,
    command: Command,
}

#[cfg(not(feature = "bare"))]
fn run(board: &mut Board) -> Option<()> {
    let controller = board.tune.prepare(board.rate).ok()?;
    let mut state = State::default();
    loop {
        let board = black_box(&mut *board);
        #[cfg(feature = "indexes")]
        black_box(black_box(&[0_u8; 4][..])[board.rate.hz() as usize]);
        #[cfg(feature = "unwraps")]
        black_box(board.input.speed.unwrap());
        board.command = controller.step(&mut state, &board.input).command;
    }
}

#[cfg(feature = "bare")]
fn run(board: &mut Board) -> Option<()> {
    loop {
        black_box(&mut *board);
    }
}

#[entry]
fn main() -> ! {
    let mut board = Board {
        tune: Settings::default(),
        rate: const { TickRate::new(1_000).unwrap() },
        input: Input::default(),
        command: Command::Coast,
    };
    run(black_box(&mut board));
    loop {
        cortex_m::asm::wfi();
    }
}
