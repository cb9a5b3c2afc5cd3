//! `cargo xtask chip`: the core on the chips that QEMU plays, held against the host, bit for bit.

mod answer;
pub(crate) mod build;
mod cost;
mod drive;
mod from_c;
mod gate;
mod kind;
mod player;
mod size;
mod table;
mod tape;
pub(crate) mod tools;

use std::error::Error;

use build::{Image, host_player};
use tools::Tools;

use crate::at_a_time::at_a_time;
use answer::Answer;
use cost::Cost;
use kind::{CHIPS, Chip};
use player::Player;
use size::Size;
use tape::{MARK_EVERY, Tape};

pub(crate) type Failure = Box<dyn Error>;

const PLAYER: Image = Image { program: "player", features: "" };
const CHANGED: Image = Image { program: "player", features: "changed" };
const FIRMWARE: Image = Image { program: "firmware", features: "" };
const BARE: Image = Image { program: "firmware", features: "bare" };

/// What becomes of the table.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Readme {
    /// README's is held against it.
    Compare,
    /// It is put into README.
    Write,
}

/// What builds for the chips.
///
/// # Errors
/// What is missing, and how to install it.
pub(crate) fn tools() -> Result<(), Failure> {
    println!("compiler: {}", Tools::find()?.version);
    Ok(())
}

/// The whole comparison.
///
/// # Errors
/// Whatever is missing, differs or costs too much.
pub(crate) fn check(readme: Readme) -> Result<(), Failure> {
    let tools = Tools::find()?;
    println!("compiler: {}", tools.version);
    let tapes = tape::all()?;
    let hosts = [host_player("dev", "debug")?, host_player("release", "release")?];
    let [debug, release] = &hosts;
    let expected: Result<Vec<_>, _> =
        tapes.iter().map(|tape| debug.play(tape, MARK_EVERY)).collect();
    let expected = expected?;
    agree(release, &tapes, &expected)?;
    println!("{} tapes, {} ticks: debug and release agree", tapes.len(), ticks(&tapes));
    let (mut costs, mut overdrawn) = (Vec::new(), Vec::new());
    let on_host = drive::on_host()?;
    let judged = at_a_time(&CHIPS, |chip| {
        check_one(&tools, chip, &tapes, &expected, &on_host).map_err(|error| error.to_string())
    });
    for (chip, cost) in CHIPS.iter().zip(judged) {
        let cost = cost?;
        overdrawn.extend(cost.overdrawn(chip));
        costs.push(cost);
    }
    let table = table::table(&costs, &tools.version);
    print!("\n{table}\n");
    if !overdrawn.is_empty() {
        return Err(format!("over budget:\n{}", overdrawn.join("\n")).into());
    }
    match readme {
        Readme::Compare => table::compare(&table),
        Readme::Write => table::write(&table),
    }
}

fn ticks(tapes: &[Tape]) -> usize {
    tapes.iter().map(|tape| tape.inputs.len()).sum()
}

/// One chip against the host, its gate, and what the core costs there.
fn check_one(
    tools: &Tools,
    chip: &Chip,
    tapes: &[Tape],
    expected: &[Answer],
    on_host: &str,
) -> Result<Cost, Failure> {
    let player = Player::chip(chip, &PLAYER.build(tools, chip)?);
    let answers = agree(&player, tapes, expected)?;
    // The comparison must be able to fail.
    let mut changed = Player::chip(chip, &CHANGED.build(tools, chip)?);
    changed.name += ", changed";
    if play(&changed, tapes, expected)?.1.is_none() {
        return Err(format!("{}: a changed onset went unseen", chip.name).into());
    }
    match (drive::same(&player, on_host)?, drive::same(&changed, on_host)?) {
        (true, false) => {}
        (false, _) => {
            let (name, demo) = (chip.name, drive::DEMO);
            return Err(
                format!("{name}: with it in the loop {demo} runs otherwise; see out/chip").into()
            );
        }
        (true, true) => {
            return Err(format!("{}: in the loop a changed onset went unseen", chip.name).into());
        }
    }
    gate::check(tools, chip)?;
    println!(
        "{}: the same at every tick and in the loop; no panic path, the gate holds",
        chip.name
    );
    let in_c = from_c::check(tools, chip)?;
    println!(
        "{}: from C the same at {} ticks, no panic path; {:?} bytes of stack to drive and at most, the book's \
         example {} of flash and {} of RAM",
        chip.name, in_c.ticks, in_c.stack, in_c.example.flash, in_c.example.ram
    );
    let with = Size::of(&FIRMWARE.build(tools, chip)?)?;
    let without = Size::of(&BARE.build(tools, chip)?)?;
    let names = tapes.iter().map(|tape| tape.name.as_str());
    Ok(Cost::new(names.zip(&answers), with, without))
}

/// The tape, and the tick on it, from which the answers are others.
type Parting<'t> = (&'t Tape, usize);

/// Plays the tapes up to the first that is not answered as expected: the answers, and that tape and tick.
fn play<'t>(
    player: &Player,
    tapes: &'t [Tape],
    expected: &[Answer],
) -> Result<(Vec<Answer>, Option<Parting<'t>>), Failure> {
    let mut answers = Vec::new();
    for (tape, expected) in tapes.iter().zip(expected) {
        let answer = player.play(tape, MARK_EVERY)?;
        let parts = expected.parts_from(&answer);
        answers.push(answer);
        if let Some(tick) = parts {
            return Ok((answers, Some((tape, tick))));
        }
    }
    Ok((answers, None))
}

/// Plays all tapes and holds every tick against the expected.
fn agree(player: &Player, tapes: &[Tape], expected: &[Answer]) -> Result<Vec<Answer>, Failure> {
    let (answers, parting) = play(player, tapes, expected)?;
    let Some((tape, tick)) = parting else { return Ok(answers) };
    let theirs = player.play(tape, 1)?.frames[tick].output();
    let ours = tape.outputs()?[tick];
    Err(format!(
        "{}, tape {}: differs from the host from tick {tick} on\nthere {theirs:?}\nhere  {ours:?}",
        player.name, tape.name
    )
    .into())
}
