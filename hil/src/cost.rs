//! What steps cost, by rate group.

use hdrhistogram::Histogram;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use stillframe_controller::io::{ATTITUDE_TICKS, TICKS_PER_S};
use stillframe_wire::Cost;

/// Work that a tick holds.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Group {
    /// Film and shutter only.
    Film,
    /// With an attitude step.
    Attitude,
    /// With an attitude step, ledgers and telemetry.
    Second,
}

impl Group {
    /// Group of a step, counted from zero: the flight code's groups follow its own count, not the clock.
    pub fn of(tick: u32) -> Self {
        if tick.is_multiple_of(TICKS_PER_S) {
            Self::Second
        } else if tick.is_multiple_of(ATTITUDE_TICKS) {
            Self::Attitude
        } else {
            Self::Film
        }
    }
}

/// A spread of measured numbers.
#[derive(Clone, Debug)]
pub struct Spread {
    histogram: Histogram<u64>,
    least: u64,
    most: u64,
    sum: u64,
}

impl Default for Spread {
    fn default() -> Self {
        let histogram = Histogram::new(3).expect("three digits are allowed");
        Self { histogram, least: u64::MAX, most: 0, sum: 0 }
    }
}

impl Spread {
    /// Adds a number.
    pub fn add(&mut self, value: u64) {
        // It grows as needed: nothing in 64 bits is refused.
        _ = self.histogram.record(value);
        self.least = self.least.min(value);
        self.most = self.most.max(value);
        self.sum = self.sum.saturating_add(value);
    }

    /// What it came to; none if nothing was added.
    pub fn numbers(&self, scale: f64) -> Option<SpreadNumbers> {
        let quantile = |share| self.histogram.value_at_quantile(share) as f64 * scale;
        (!self.histogram.is_empty()).then(|| SpreadNumbers {
            count: self.histogram.len(),
            least: self.least as f64 * scale,
            median: quantile(0.5).clamp(self.least as f64 * scale, self.most as f64 * scale),
            p99: quantile(0.99).clamp(self.least as f64 * scale, self.most as f64 * scale),
            most: self.most as f64 * scale,
            mean: self.sum as f64 * scale / self.histogram.len() as f64,
        })
    }

    /// Counts in bins that double in width, up to the largest number: (upper edge, count).
    pub fn bins(&self, scale: f64) -> Vec<(f64, u64)> {
        let bins = self.histogram.iter_log(1, 2.0);
        bins.map(|bin| (bin.value_iterated_to() as f64 * scale, bin.count_since_last_iteration())).collect()
    }
}

/// Numbers of a spread. Median and 99th percentile are exact to three digits, the others exact.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct SpreadNumbers {
    /// How many.
    pub count: u64,
    /// Least.
    pub least: f64,
    /// Median.
    pub median: f64,
    /// 99th percentile.
    pub p99: f64,
    /// Most.
    pub most: f64,
    /// Mean.
    pub mean: f64,
}

/// Step costs.
#[derive(Clone, Debug, Default)]
pub struct Costs {
    film: Spread,
    attitude: Spread,
    second: Spread,
}

impl Costs {
    /// Adds step number `tick`.
    pub fn add(&mut self, tick: u32, cost: Cost) {
        let (Cost::Cycles(count) | Cost::TimerTicks(count)) = cost;
        let group = match Group::of(tick) {
            Group::Film => &mut self.film,
            Group::Attitude => &mut self.attitude,
            Group::Second => &mut self.second,
        };
        group.add(u64::from(count));
    }

    /// What they came to.
    pub fn numbers(&self, unit: &str) -> CostNumbers {
        CostNumbers {
            unit: unit.to_owned(),
            film: self.film.numbers(1.0),
            attitude: self.attitude.numbers(1.0),
            second: self.second.numbers(1.0),
        }
    }
}

/// Step costs by rate group.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct CostNumbers {
    /// Unit of all the numbers.
    pub unit: String,
    /// Ticks with film and shutter work only (every other one).
    pub film: Option<SpreadNumbers>,
    /// Ticks with an attitude step.
    pub attitude: Option<SpreadNumbers>,
    /// Ticks with ledgers and telemetry (one in a second).
    pub second: Option<SpreadNumbers>,
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn medians_are_good_to_three_digits_at_any_size() {
        for scale in [1, 1_000, 1_000_000_000] {
            let mut spread = Spread::default();
            (1..=1_001).for_each(|value| spread.add(value * scale));
            let numbers = spread.numbers(1.0).expect("numbers were added");
            assert!((numbers.median / (501.0 * scale as f64) - 1.0).abs() < 2e-3, "{numbers:?}");
            assert!((numbers.p99 / (991.0 * scale as f64) - 1.0).abs() < 2e-3, "{numbers:?}");
        }
    }

    #[test]
    fn ticks_fall_into_their_groups() {
        let mut costs = Costs::default();
        for tick in 0..200 {
            costs.add(tick, Cost::Cycles(1_000 + tick));
        }
        let numbers = costs.numbers("cycles");
        let of = |spread: Option<SpreadNumbers>| spread.map(|s| (s.count, s.least, s.most));
        assert_eq!(of(numbers.film), Some((100, 1_001.0, 1_199.0)));
        assert_eq!(of(numbers.attitude), Some((98, 1_002.0, 1_198.0)));
        assert_eq!(of(numbers.second), Some((2, 1_000.0, 1_100.0)));
    }
}
