//! Counted film: from an encoder that wraps to metered length and speed.

use super::settings::FilmSettings;
use crate::io::TICK_S;

/// Slots of the speed window; a power of two.
const SLOTS: usize = 32;

/// The roller's counter.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Meter {
    last: Option<u32>,
    /// Film counted since launch.
    pub counts: i32,
    history: [i32; SLOTS],
    at: usize,
    /// Counts of the last tick were refused.
    pub refused: bool,
}

impl Meter {
    pub fn new(settings: &FilmSettings) -> Self {
        Self::from((settings.wound_length_m / settings.count_m()) as i32)
    }

    /// A meter that has counted so much already.
    pub fn from(counts: i32) -> Self {
        Self { last: None, counts, history: [counts; SLOTS], at: 0, refused: false }
    }

    /// Takes in one reading. A jump of more than the settings allow is no film: the counter goes on from
    /// the new reading and the jump is not counted.
    pub fn read(&mut self, raw: u32, settings: &FilmSettings) {
        let delta = self.last.map_or(0, |last| raw.wrapping_sub(last) as i32);
        self.last = Some(raw);
        self.refused = delta.unsigned_abs() > settings.jump_counts;
        if !self.refused {
            self.counts = self.counts.saturating_add(delta);
        }
        self.at = (self.at + 1) & (SLOTS - 1);
        if let Some(slot) = self.history.get_mut(self.at) {
            *slot = self.counts;
        }
    }

    /// Counts gained over the last `ticks` ticks.
    pub fn gained(&self, ticks: u32) -> i32 {
        let back = (ticks as usize).min(SLOTS - 1);
        let then = self.history.get((self.at + SLOTS - back) & (SLOTS - 1)).copied();
        self.counts.wrapping_sub(then.unwrap_or(self.counts))
    }

    /// Mean speed over the settings' window, m/s.
    pub fn speed_m_s(&self, settings: &FilmSettings, count_m: f32) -> f32 {
        let ticks = settings.speed_window_ticks.max(2).min(SLOTS as u32 - 1);
        self.gained(ticks) as f32 * count_m / (ticks as f32 * TICK_S)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn counts_go_on_over_the_wrap_and_back() {
        let settings = FilmSettings::default();
        let mut meter = Meter::new(&settings);
        for raw in [u32::MAX - 10, 5, u32::MAX] {
            meter.read(raw, &settings);
        }
        assert_eq!(meter.counts, 10);
        meter.read(1_000_000, &settings);
        assert!(meter.refused);
        assert_eq!(meter.counts, 10);
        meter.read(1_000_003, &settings);
        assert_eq!(meter.counts, 13);
    }
}
