//! Blind: the program picks A or B, the driver says which it was, and the answers are weighed.

use sha2::{Digest, Sha256};
use statrs::distribution::{Binomial, DiscreteCDF};

use super::tunes::Side;

/// As many drives make a series, unless the driver chooses otherwise before it.
pub const USUAL_DRIVES: u32 = 10;

/// A series of blind drives. How many they are is fixed before the first: who may stop at a good moment has more
/// chance on his side than the numbers say.
#[derive(Clone, Debug)]
pub struct Blind {
    of: u32,
    answers: Vec<(Side, Side)>,
}

impl Blind {
    /// A series of so many drives.
    pub fn new(of: u32) -> Self {
        Self { of, answers: Vec::new() }
    }

    /// Every drive was answered.
    pub fn whole(&self) -> bool {
        self.answers.len() as u64 >= u64::from(self.of)
    }

    /// Which tune to drive next: a bit of the digest of what the hand did so far and of when it was asked,
    /// which nobody steers.
    pub fn pick(&self, driven: &[u8; 32], now_s: f64) -> Side {
        let mut digest = Sha256::new();
        digest.update(driven);
        digest.update(now_s.to_bits().to_le_bytes());
        digest.update(self.answers.len().to_le_bytes());
        if digest.finalize()[0] & 1 == 0 { Side::A } else { Side::B }
    }

    /// The driver said that `was` was `said`.
    pub fn answer(&mut self, was: Side, said: Side) {
        self.answers.push((was, said));
    }

    /// How many answers there are, and how many are right.
    pub fn counts(&self) -> [u64; 2] {
        let right = self.answers.iter().filter(|(was, said)| was == said).count();
        [self.answers.len() as u64, right as u64]
    }

    /// The chance that guessing gives so many right answers or more: `P(X >= k)`, X binomial with n and
    /// 1/2; 1 without answers.
    pub fn chance(&self) -> f64 {
        let [count, right] = self.counts();
        match (right.checked_sub(1), Binomial::new(0.5, count)) {
            (Some(less), Ok(guesses)) => guesses.sf(less),
            _ => 1.0,
        }
    }

    /// How far it is, without saying how well.
    pub fn progress(&self) -> String {
        let [count, _] = self.counts();
        format!("{count} of {} drives answered; what they are worth is told at the end.", self.of)
    }

    /// What the answers of a series that is over are worth, in a sentence.
    pub fn words(&self) -> String {
        let [count, right] = self.counts();
        if !self.whole() {
            return format!(
                "{right} of {count} right, stopped before drive {}: not weighed, since a series that is stopped at \
                 a good moment says nothing.",
                self.of
            );
        }
        let percent = 100.0 * self.chance();
        let worth = match percent {
            p if p <= 1.0 => "the driver can tell them apart",
            p if p <= 5.0 => "the driver can probably tell them apart",
            _ if count < 5 => "too few answers to say",
            _ => "this is no better than guessing",
        };
        format!(
            "{right} of {count} right; guessing does that or better in {percent:.1} % of such series: {worth}."
        )
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn series(right: u32, wrong: u32) -> Blind {
        let mut blind = Blind::new(right + wrong);
        (0..right).for_each(|_| blind.answer(Side::A, Side::A));
        (0..wrong).for_each(|_| blind.answer(Side::A, Side::B));
        blind
    }

    /// Exact by hand: (8 over 7) + (8 over 8) = 9 of 256; 1 of 32; Fisher, "The Design of Experiments",
    /// asks for such a chance of at most 5 % (from memory).
    #[test]
    fn the_chance_of_guessing_is_the_binomials() {
        for (right, wrong, exact) in
            [(7, 1, 9.0 / 256.0), (5, 0, 1.0 / 32.0), (0, 4, 1.0), (2, 2, 11.0 / 16.0), (0, 0, 1.0)]
        {
            let chance = series(right, wrong).chance();
            assert!((chance - exact).abs() < 1e-12, "{right} right, {wrong} wrong: {chance}");
        }
        assert!(series(7, 1).words().contains("3.5 %"), "{}", series(7, 1).words());
        assert!(series(3, 0).words().contains("too few"));
        assert!(series(5, 5).words().contains("no better"));
        assert!(series(7, 1).progress().contains("8 of 8"));
        assert!(!series(7, 1).progress().contains("right"));
    }

    #[test]
    fn a_series_that_was_stopped_is_not_weighed() {
        let mut blind = Blind::new(10);
        (0..6).for_each(|_| blind.answer(Side::A, Side::A));
        assert!(!blind.whole() && blind.words().contains("not weighed"), "{}", blind.words());
        assert!(!blind.words().contains('%'), "{}", blind.words());
        (0..4).for_each(|_| blind.answer(Side::B, Side::B));
        assert!(blind.whole() && blind.words().contains("can tell"), "{}", blind.words());
    }

    #[test]
    fn the_coin_is_fair_and_not_foreseen() {
        let mut blind = Blind::new(1_000);
        let mut picks = Vec::new();
        for n in 0..1_000_u32 {
            let pick = blind.pick(&[7; 32], f64::from(n) * 0.37);
            picks.push(pick);
            blind.answer(pick, Side::A);
        }
        let heads = picks.iter().filter(|side| **side == Side::A).count();
        // Five deviations of a fair coin: 500 +- 79.
        assert!(heads.abs_diff(500) < 79, "{heads}");
        let changes = picks.windows(2).filter(|pair| pair[0] != pair[1]).count();
        assert!(changes.abs_diff(500) < 79, "{changes}");
    }
}
