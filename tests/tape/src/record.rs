//! A tape's head and records.

use easeoff_core::{Amp, Celsius, Input, Microseconds, Settings, Speed, TickRate, Volt, blob};

use crate::line::{Broken, Line};

/// Ends a tape, in the place of a record.
pub const END: u8 = 0xff;

/// What stands before the records.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Head {
    /// The tune; it travels as its blob.
    pub tune: Settings,
    /// Ticks per second.
    pub rate: TickRate,
    /// Ticks from mark to mark, not 0; the first tick is a mark.
    pub mark_every: u32,
}

impl Head {
    /// Sends it.
    ///
    /// # Errors
    /// Those of the line.
    pub fn write(&self, line: &mut impl Line) -> Result<(), Broken> {
        let mut buffer = [0; blob::MOST_BYTES];
        let used = blob::write(&self.tune, &mut buffer).map_err(|_| Broken)?;
        line.write(&u16::try_from(used).map_err(|_| Broken)?.to_le_bytes())?;
        line.write(buffer.get(..used).ok_or(Broken)?)?;
        line.write(&self.rate.hz().to_le_bytes())?;
        line.write(&self.mark_every.to_le_bytes())
    }

    /// Receives what [`Head::write`] sent.
    ///
    /// # Errors
    /// Those of the line, and [`Broken`] when it is no head.
    pub fn read(line: &mut impl Line) -> Result<Self, Broken> {
        let mut buffer = [0; blob::MOST_BYTES];
        let place = buffer.get_mut(..usize::from(line.word()?)).ok_or(Broken)?;
        line.read(place)?;
        Ok(Self {
            tune: blob::read(place).map_err(|_| Broken)?,
            rate: TickRate::new(line.word()?).ok_or(Broken)?,
            mark_every: line.long()?,
        })
    }
}

/// Sends one tick's input.
///
/// # Errors
/// Those of the line.
pub fn write_record(line: &mut impl Line, input: &Input) -> Result<(), Broken> {
    let values = [
        input.pulse.map(Microseconds::to_bits),
        input.speed.map(Speed::to_bits),
        input.current.map(Amp::to_bits),
        input.voltage.map(Volt::to_bits),
        input.temperature.map(Celsius::to_bits),
    ];
    let given = (0..5_u8).zip(values).fold(0, |given, (bit, value)| match value {
        Some(_) => given | (1 << bit),
        None => given,
    });
    line.write(&[given])?;
    values.into_iter().flatten().try_for_each(|value| line.write(&value.to_le_bytes()))
}

/// Receives what [`write_record`] sent; `None` at the tape's end.
pub(crate) fn read_record(line: &mut impl Line) -> Result<Option<Input>, Broken> {
    let given = line.byte()?;
    if given == END {
        return Ok(None);
    }
    let mut value = |bit: u8| match given & (1 << bit) {
        0 => Ok(None),
        _ => line.long().map(|bits| Some(bits.cast_signed())),
    };
    Ok(Some(Input {
        pulse: value(0)?.map(Microseconds::from_bits),
        speed: value(1)?.map(Speed::from_bits),
        current: value(2)?.map(Amp::from_bits),
        voltage: value(3)?.map(Volt::from_bits),
        temperature: value(4)?.map(Celsius::from_bits),
    }))
}
