//! Answers as lines of a journal.

use super::answers::{Answers, State};

impl Answers {
    /// An answer as a line: its place and its numbers' bits, or its place and why there are none.
    pub fn line(&self, index: usize) -> String {
        match self.failed.get(&index) {
            Some(why) => format!("{index} {}", serde_json::Value::from(why.as_str())),
            None => {
                let bits = self.values(index).iter().map(|value| format!(" {:x}", value.to_bits()));
                format!("{index}{}", bits.collect::<String>())
            }
        }
    }

    /// Takes the answer of such a line. One that does not fit is left: its point is run again.
    pub fn take_line(&mut self, line: &str) {
        let Some((index, answer)) = line.split_once(' ') else { return };
        let Some(index) = index.parse().ok().filter(|index| *index < self.count()) else { return };
        if answer.starts_with('"') {
            let Ok(why) = serde_json::from_str(answer) else { return };
            self.failed.insert(index, why);
        } else {
            let bits = answer.split(' ').map(|bits| u64::from_str_radix(bits, 16));
            let values: Result<Vec<f64>, _> = bits.map(|bits| bits.map(f64::from_bits)).collect();
            let Some(values) = values.ok().filter(|values| values.len() == self.scores) else {
                return;
            };
            self.values[index * self.scores..(index + 1) * self.scores].copy_from_slice(&values);
        }
        self.state[index] = State::Done;
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::score::Value;

    #[test]
    fn what_was_journalled_comes_back_to_the_bit() {
        let mut first = Answers::new(4, 2);
        first.put(0, Ok(vec![Value::Is(0.3), Value::Never]));
        first.put(2, Ok(vec![Value::NotInThisRun, Value::Is(-3.0e-7)]));
        first.put(3, Err("a \"reason\"\nof two lines".into()));
        let mut again = Answers::new(4, 2);
        for index in [3, 0, 2] {
            again.take_line(&first.line(index));
        }
        assert_eq!(again.open(), vec![1]);
        assert_eq!(again.failed, first.failed);
        let bits = |answers: &Answers| {
            answers.values.iter().map(|value| value.to_bits()).collect::<Vec<_>>()
        };
        assert_eq!(bits(&again), bits(&first));
        for bad in ["", "1", "1 3ff0", "9 0 0", "1 x 0", "1 \"open", "x 0 0", "1 0 0 0"] {
            again.take_line(bad);
            assert_eq!(again.open(), vec![1], "{bad}");
        }
    }
}
