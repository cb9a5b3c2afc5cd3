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

use answer::Answer;
use build::{Image, host_player};
use cost::Cost;
use kind::{CHIPS, Chip};
use player::Player;
use size::Size;
use tape::{MARK_EVERY, Tape};
use tools::Tools;

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
    let expected = play_all(debug, &tapes)?;
    agree(release, &tapes, &expected)?;
    println!("{} tapes, {} ticks: debug and release agree", tapes.len(), ticks(&tapes));
    let (mut costs, mut overdrawn) = (Vec::new(), Vec::new());
    for chip in &CHIPS {
        let cost = check_one(&tools, chip, &tapes, &expected)?;
        println!(
            "{}: the same at every tick and in the loop; no panic path, the gate holds",
            chip.name
        );
        let in_c = from_c::check(&tools, chip)?;
        println!(
            "{}: from C the same at {} ticks, no panic path; {:?} bytes of stack to drive and at most, the \
             book's example {} of flash and {} of RAM",
            chip.name, in_c.ticks, in_c.stack, in_c.example.flash, in_c.example.ram
        );
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
) -> Result<Cost, Failure> {
    let player = Player::chip(chip, &PLAYER.build(tools, chip)?);
    let answers = agree(&player, tapes, expected)?;
    // The comparison must be able to fail.
    let mut changed = Player::chip(chip, &CHANGED.build(tools, chip)?);
    changed.name += ", changed";
    if parting(tapes, expected, &play_all(&changed, tapes)?).is_none() {
        return Err(format!("{}: a changed onset went unseen", chip.name).into());
    }
    match (drive::same(&player)?, drive::same(&changed)?) {
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
    let with = Size::of(&FIRMWARE.build(tools, chip)?)?;
    let without = Size::of(&BARE.build(tools, chip)?)?;
    let names = tapes.iter().map(|tape| tape.name.as_str());
    Ok(Cost::new(names.zip(&answers), with, without))
}

/// Plays all tapes.
fn play_all(player: &Player, tapes: &[Tape]) -> Result<Vec<Answer>, Failure> {
    tapes.iter().map(|tape| player.play(tape, MARK_EVERY)).collect()
}

/// The first tape, and the tick on it, at which the answers are not as expected.
fn parting<'t>(
    tapes: &'t [Tape],
    expected: &[Answer],
    answers: &[Answer],
) -> Option<(&'t Tape, usize)> {
    tapes
        .iter()
        .zip(expected.iter().zip(answers))
        .find_map(|(tape, (expected, answer))| Some((tape, expected.parts_from(answer)?)))
}

/// Plays all tapes and holds every tick against the expected.
fn agree(player: &Player, tapes: &[Tape], expected: &[Answer]) -> Result<Vec<Answer>, Failure> {
    let answers = play_all(player, tapes)?;
    let Some((tape, tick)) = parting(tapes, expected, &answers) else { return Ok(answers) };
    let theirs = player.play(tape, 1)?.frames[tick].output();
    let ours = tape.outputs()?[tick];
    Err(format!(
        "{}, tape {}: differs from the host from tick {tick} on\nthere {theirs:?}\nhere  {ours:?}",
        player.name, tape.name
    )
    .into())
}
