//! Random draws that do not depend on one another.
//!
//! A draw is a pure function of (seed, run, source, axis, sample): nothing is consumed, so adding a
//! source, skipping samples or running on more threads moves no other draw. The bits come from
//! Philox4x32-10 (Salmon et al., *Parallel random numbers: as easy as 1, 2, 3*, SC'11): seed and run
//! make the key; source, axis and sample the counter, so that no two draws of a run can share a
//! block. Normal draws are Box–Muller (*Annals of Mathematical Statistics* 29, 1958), which takes the
//! same number of words every time.

use rand_philox::{philox4x32_10, splitmix64, u32_to_unit_f64};
use std::f64::consts::{FRAC_PI_2, FRAC_PI_4};

/// One stream of draws: a sensor's axis, a drive's friction, a scattered number of the scenario.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct NoiseSource {
    key: [u32; 2],
    source: u32,
    axis: u32,
}

impl NoiseSource {
    /// The stream of `source` and `axis` in a run.
    ///
    /// The name is hashed to 32 bits (FNV-1a): two names of one run meet with a chance of 2e-10, and
    /// a changed name is a changed stream.
    pub fn new(seed: u64, run: u32, source: &str, axis: u32) -> Self {
        // Mixed twice, so that (seed, run) and (seed + 1, run − 1) have nothing in common; both
        // mixings are one-to-one, so the runs of a seed never share a key.
        let key = splitmix64(splitmix64(seed).wrapping_add(u64::from(run)));
        Self { key: [key as u32, (key >> 32) as u32], source: fnv1a(source.as_bytes()), axis }
    }

    /// Uniform draw on the open interval (0, 1), in steps of 2⁻³².
    #[inline]
    pub fn uniform(&self, sample: u64) -> f64 {
        u32_to_unit_f64(self.block(sample)[0])
    }

    /// Standard normal draw; at most 6.8 in size.
    #[inline]
    pub fn gaussian(&self, sample: u64) -> f64 {
        let [a, b, ..] = self.block(sample);
        radius(a) * direction(b)[0]
    }

    /// Three independent standard normal draws from one block. The first is [`Self::gaussian`]'s.
    #[inline]
    pub fn gaussian3(&self, sample: u64) -> [f64; 3] {
        let [a, b, c, d] = self.block(sample);
        let [x, y] = direction(b);
        let reach = radius(a);
        [reach * x, reach * y, radius(c) * direction(d)[0]]
    }

    #[inline]
    fn block(&self, sample: u64) -> [u32; 4] {
        philox4x32_10([sample as u32, (sample >> 32) as u32, self.source, self.axis], self.key)
    }
}

// libm, not the platform's, so that a seed gives the same noise on every machine.

#[inline]
fn radius(word: u32) -> f64 {
    (-2.0 * libm::log(u32_to_unit_f64(word))).sqrt()
}

/// Uniform point on the unit circle: thirty bits within 45° of an axis, two for which axis. A sine
/// over the whole turn would branch on the quadrant, which no processor can foresee here.
#[inline]
fn direction(word: u32) -> [f64; 2] {
    const STEP: f64 = FRAC_PI_2 / (1 << 30) as f64;
    let (sin, cos) = libm::sincos(STEP * (f64::from(word >> 2) + 0.5) - FRAC_PI_4);
    let sign = f64::from(word & 2) - 1.0;
    [[sign * cos, sign * sin], [sign * sin, sign * cos]][(word & 1) as usize]
}

fn fnv1a(bytes: &[u8]) -> u32 {
    bytes.iter().fold(0x811c_9dc5, |hash, &b| (hash ^ u32::from(b)).wrapping_mul(0x0100_0193))
}

#[cfg(test)]
mod tests;
