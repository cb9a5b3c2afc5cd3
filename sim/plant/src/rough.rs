//! Rough ground after ISO 8608: a random profile with a stated class, the same for the same seed.
//!
//! ```text
//! G_d(n) = G_d(n_0) (n / n_0)^-2,   n_0 = 0.1 cycles/m
//! h(x) = sum_k sqrt(2 G_d(n_k) dn_k) sin(2 pi n_k x + phi_k)
//! ```
//!
//! with n_k evenly spread over the logarithm and phases from ChaCha8. The geometric means of the classes
//! stand in ISO 8608 (second hand: the text itself was not seen); the standard covers 0.011 to
//! 2.83 cycles/m, and shorter waves, which a small wheel feels, are carried on by the same law. A scale
//! shrinks heights and distances alike, for a small rig on a small model of such a road.

use rand_chacha::ChaCha8Rng;
use rand_chacha::rand_core::{Rng, SeedableRng};
use serde::{Deserialize, Serialize};

use crate::interpolate::height;

/// How rough, in the words of the standard.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Deserialize, Serialize)]
#[expect(missing_docs, reason = "the letters of the standard")]
pub enum Class {
    A,
    B,
    C,
    D,
    E,
    F,
    G,
    H,
}

impl Class {
    /// All classes with their names in files.
    pub const NAMED: [(&'static str, Self); 8] = [
        ("A", Self::A),
        ("B", Self::B),
        ("C", Self::C),
        ("D", Self::D),
        ("E", Self::E),
        ("F", Self::F),
        ("G", Self::G),
        ("H", Self::H),
    ];

    /// Displacement power spectral density at 0.1 cycles/m, geometric mean \[m^3\]: 16e-6 for A and
    /// four times as much from class to class.
    pub fn density_m3(self) -> f64 {
        let steps = Self::NAMED.iter().take_while(|(_, class)| *class != self);
        steps.fold(16.0e-6, |density, _| 4.0 * density)
    }
}

/// Roughness laid over a profile.
#[derive(Clone, Copy, Debug, PartialEq, Deserialize, Serialize)]
pub struct Rough {
    /// How rough.
    pub class: Class,
    /// Which of all the grounds of that class.
    pub seed: u32,
    /// Size of its heights and distances beside the real ones.
    pub scale: f64,
}

/// Wave numbers covered \[cycles/m\], before scaling.
const WAVES: [f64; 2] = [0.011, 20.0];
const PER_OCTAVE: f64 = 24.0;
/// Points per shortest wave, and as many points as one profile gets.
const PER_WAVE: f64 = 8.0;
const MOST_POINTS: f64 = 100_000.0;

impl Rough {
    /// The profile with the roughness added.
    pub fn lay(&self, profile: &[[f64; 2]]) -> Vec<[f64; 2]> {
        let (from, to) = (profile[0][0], profile[profile.len() - 1][0]);
        let waves = self.waves();
        let step = (self.scale / (WAVES[1] * PER_WAVE)).max((to - from) / MOST_POINTS);
        let count = ((to - from) / step).ceil().max(1.0) as usize;
        let even = (0..=count).map(|index| (from + index as f64 * step).min(to));
        // The profile's own corners stay where they are.
        let mut places: Vec<f64> = even.chain(profile.iter().map(|point| point[0])).collect();
        places.sort_by(f64::total_cmp);
        places.dedup();
        places.into_iter().map(|x| [x, height(profile, x) + self.at(&waves, x)]).collect()
    }

    fn at(&self, waves: &[Wave], x: f64) -> f64 {
        let x = x / self.scale;
        let sum: f64 =
            waves.iter().map(|wave| wave.high * libm::sin(wave.rad_per_m * x + wave.phase)).sum();
        sum * self.scale
    }

    fn waves(&self) -> Vec<Wave> {
        let mut random = ChaCha8Rng::seed_from_u64(self.seed.into());
        let count = (PER_OCTAVE * libm::log2(WAVES[1] / WAVES[0])).ceil();
        let ratio = libm::pow(WAVES[1] / WAVES[0], 1.0 / count);
        (0..count as u32)
            .map(|index| {
                let low = WAVES[0] * libm::pow(ratio, index.into());
                let (n, dn) = (low * ratio.sqrt(), low * (ratio - 1.0));
                let density = self.class.density_m3() * (0.1 / n) * (0.1 / n);
                // 53 bits of a turn.
                let turn = (random.next_u64() >> 11) as f64 / (1_u64 << 53) as f64;
                Wave {
                    high: (2.0 * density * dn).sqrt(),
                    rad_per_m: 2.0 * std::f64::consts::PI * n,
                    phase: 2.0 * std::f64::consts::PI * turn,
                }
            })
            .collect()
    }
}

struct Wave {
    high: f64,
    rad_per_m: f64,
    phase: f64,
}

#[cfg(test)]
mod tests {
    use super::*;

    fn rough(class: Class, seed: u32, scale: f64) -> Vec<[f64; 2]> {
        Rough { class, seed, scale }.lay(&[[0.0, 0.0], [400.0 * scale, 0.0]])
    }

    /// ISO 8608 (second hand): geometric means, and half of the upper limits 32, 128, 512, 2048, 8192,
    /// 32768e-6 that PyPI roadprofile carries.
    #[test]
    fn the_classes_are_the_standards() {
        for (class, [mean, upper]) in Class::NAMED.iter().zip([
            [16.0e-6, 32.0e-6],
            [64.0e-6, 128.0e-6],
            [256.0e-6, 512.0e-6],
            [1_024.0e-6, 2_048.0e-6],
        ]) {
            assert!((class.1.density_m3() / mean - 1.0).abs() < 1e-12);
            assert!((class.1.density_m3() * 2.0 / upper - 1.0).abs() < 1e-12);
        }
        // In angular form at 1 rad/m: 2 pi n_0^2 G_d(n_0).
        let angular = 2.0 * std::f64::consts::PI * 0.01 * Class::A.density_m3();
        assert!((angular - 1.005_31e-6).abs() < 1e-11);
    }

    /// Power in a band of wave numbers by correlation with sine and cosine, against the law's
    /// integral `G n_0^2 (1/n_1 - 1/n_2)`.
    /// V6, V7: ISO 8608's classes (second hand): means of 16, 64, 256, 1024e-6 m^3 at 0.1 cycles/m, half
    /// their upper limits; in angular form at 1 rad/m class A has 2 pi n_0^2 G_d(n_0) = 1.00531e-6 m^3
    /// (algebra).
    #[test]
    fn classes_are_the_standards_in_either_form() {
        for (class, mean, upper) in [
            (Class::A, 16.0, 32.0),
            (Class::B, 64.0, 128.0),
            (Class::C, 256.0, 512.0),
            (Class::D, 1_024.0, 2_048.0),
            (Class::E, 4_096.0, 8_192.0),
            (Class::F, 16_384.0, 32_768.0),
        ] {
            assert!((class.density_m3() / (1.0e-6 * mean) - 1.0).abs() < 1e-12);
            assert!((2.0 * class.density_m3() / (1.0e-6 * upper) - 1.0).abs() < 1e-12);
        }
        let angular = 2.0 * std::f64::consts::PI * 0.1 * 0.1 * Class::A.density_m3();
        assert!((angular - 1.005_31e-6).abs() < 1e-11);
    }

    #[test]
    fn the_ground_has_the_power_it_should() {
        let profile = rough(Class::C, 7, 1.0);
        let length = profile.last().unwrap()[0];
        let even: Vec<[f64; 2]> = (0..8_192)
            .map(|i| length * f64::from(i) / 8_192.0)
            .map(|x| [x, height(&profile, x)])
            .collect();
        let power = |from: f64, to: f64| {
            let bins = (from * length).round() as u32..(to * length).round() as u32;
            let each = bins.map(|bin| {
                let turn = 2.0 * std::f64::consts::PI * f64::from(bin) / length;
                let part = |phase: f64| {
                    let sum: f64 = even.iter().map(|[x, h]| h * libm::sin(turn * x + phase)).sum();
                    2.0 * sum / even.len() as f64
                };
                (part(0.0) * part(0.0)
                    + part(std::f64::consts::FRAC_PI_2) * part(std::f64::consts::FRAC_PI_2))
                    / 2.0
            });
            each.sum::<f64>()
        };
        for [from, to] in [[0.1, 0.4], [0.4, 1.6]] {
            let exact = Class::C.density_m3() * 0.01 * (1.0 / from - 1.0 / to);
            let decibel = 10.0 * libm::log10(power(from, to) / exact);
            assert!(decibel.abs() < 1.5, "{decibel} dB from {from} to {to} cycles/m");
        }
    }

    #[test]
    fn the_same_seed_is_the_same_ground_and_a_scale_shrinks_it() {
        assert_eq!(rough(Class::D, 3, 0.1), rough(Class::D, 3, 0.1));
        assert_ne!(rough(Class::D, 3, 0.1), rough(Class::D, 4, 0.1));
        let (full, small) = (rough(Class::D, 3, 1.0), rough(Class::D, 3, 0.1));
        for place in [3.0, 77.7, 250.0] {
            let [full, small] = [height(&full, place), height(&small, 0.1 * place)];
            assert!((full * 0.1 - small).abs() < 1e-4, "{full} {small}");
        }
    }
}
