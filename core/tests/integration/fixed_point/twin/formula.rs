//! A shape's formula as the book has it, computed: `p^2 (3 - 2p)` as a mathematician reads it.

use std::iter::Peekable;
use std::str::Chars;

/// Its value at `p`.
pub(super) fn formula(text: &str, p: f64) -> f64 {
    let mut rest = Rest { text: text.chars().peekable(), p };
    let value = rest.sum();
    assert_eq!(rest.next(), None, "{text}");
    value
}

struct Rest<'f> {
    text: Peekable<Chars<'f>>,
    p: f64,
}

impl Rest<'_> {
    /// What comes next, spaces left out.
    fn next(&mut self) -> Option<char> {
        while self.text.next_if_eq(&' ').is_some() {}
        self.text.peek().copied()
    }

    fn is(&mut self, due: char) -> bool {
        self.next() == Some(due) && self.text.next().is_some()
    }

    fn sum(&mut self) -> f64 {
        let mut value = if self.is('-') { -self.product() } else { self.product() };
        loop {
            if self.is('+') {
                value += self.product();
            } else if self.is('-') {
                value -= self.product();
            } else {
                return value;
            }
        }
    }

    fn product(&mut self) -> f64 {
        let mut value = self.power();
        loop {
            if self.is('/') {
                value /= self.power();
            } else if self.next().is_some_and(|next| next.is_alphanumeric() || next == '(') {
                value *= self.power();
            } else {
                return value;
            }
        }
    }

    fn power(&mut self) -> f64 {
        let base = if self.is('p') {
            self.p
        } else if self.is('e') {
            assert!(self.is('x') && self.is('p'), "exp is the only function");
            self.power().exp()
        } else if self.is('(') {
            let value = self.sum();
            assert!(self.is(')'));
            value
        } else {
            self.number()
        };
        if self.is('^') { base.powf(self.number()) } else { base }
    }

    fn number(&mut self) -> f64 {
        self.next();
        let digits = std::iter::from_fn(|| self.text.next_if(|c| c.is_ascii_digit() || *c == '.'));
        digits.collect::<String>().parse().unwrap()
    }
}

#[test]
fn formulas_are_read_as_they_are_written() {
    assert_eq!(formula("p^2 (3 - 2p)", 0.25), 0.0625 * 2.5);
    assert_eq!(formula("-3p / (1 - p) + exp(p)", 0.5), -3.0 + 0.5_f64.exp());
}
