//! Where the film should be: a position in whole numbers, moved along a ramp of limited acceleration.

use super::settings::FilmSettings;
use crate::io::TICK_S;
use crate::math;

/// Fractions of a count that the reference carries: 1/65,536.
const ONE: f32 = 65_536.0;

/// Position reference, in counts times 65,536. Whole numbers, so that no rounding gathers over a load.
#[derive(Clone, Debug, Default, PartialEq)]
pub(crate) struct Reference {
    /// Position.
    at: i64,
    /// Movement in one tick.
    step: i64,
    /// Change of the movement in the last tick.
    change: i64,
    /// End of an advance.
    end: i64,
}

impl Reference {
    /// Puts the reference on the counted film, at rest.
    pub fn rest_at(&mut self, counts: i32) {
        *self = Self { at: i64::from(counts) << 16, ..Self::default() };
        self.end = self.at;
    }

    /// Moves one tick towards running at `speed_m_s`.
    pub fn run(&mut self, speed_m_s: f32, settings: &FilmSettings, count_m: f32) {
        let wanted = per_tick(speed_m_s, count_m);
        let ramp = ramp(settings.ramp_m_s2, count_m);
        self.follow(self.step + (wanted - self.step).max(-ramp).min(ramp));
        self.end = self.at;
    }

    /// Sets the end of an advance, from the end of the one before so that errors do not add up.
    pub fn aim(&mut self, length_m: f32, count_m: f32) {
        self.end = self.end.saturating_add((length_m / count_m) as i64 * 65_536);
    }

    /// Moves one tick towards the end of the advance: the fastest step from which the rest of the way is
    /// enough to brake in.
    pub fn advance(&mut self, settings: &FilmSettings, count_m: f32) {
        let left = self.end - self.at;
        let ramp = ramp(settings.advance_ramp_m_s2, count_m);
        let top = per_tick(settings.advance_speed_m_s, count_m);
        // Steps s, s−a, s−2a … cover s(s+a)/2a; solved for s.
        let (a, way) = (ramp as f32, left.max(0) as f32);
        let braking = (0.5 * (math::sqrt(a * a + 8.0 * a * way) - a)) as i64;
        let step = (self.step + ramp).min(top).min(braking.max(ramp)).min(left).max(0);
        self.follow(step);
    }

    fn follow(&mut self, step: i64) {
        self.change = step - self.step;
        self.step = step;
        self.at = self.at.saturating_add(step);
    }

    /// Whether it stands still.
    pub fn still(&self) -> bool {
        self.step == 0
    }

    /// Whether an advance has run out.
    pub fn ended(&self) -> bool {
        self.at >= self.end && self.step == 0
    }

    /// Whether it runs at `speed_m_s`.
    pub fn runs_at(&self, speed_m_s: f32, count_m: f32) -> bool {
        self.step == per_tick(speed_m_s, count_m)
    }

    /// Speed, m/s.
    pub fn speed_m_s(&self, count_m: f32) -> f32 {
        self.step as f32 * (count_m / (ONE * TICK_S))
    }

    /// Acceleration, m/s².
    pub fn acceleration_m_s2(&self, count_m: f32) -> f32 {
        self.change as f32 * (count_m / (ONE * TICK_S * TICK_S))
    }

    /// How far counted film is behind, m.
    pub fn lag_m(&self, counts: i32, count_m: f32) -> f32 {
        (self.at - (i64::from(counts) << 16)) as f32 * (count_m / ONE)
    }

    /// Brings the reference no further than `most_m` ahead of or behind the counted film.
    pub fn limit_lag(&mut self, counts: i32, most_m: f32, count_m: f32) {
        let most = (most_m / count_m * ONE) as i64;
        let film = i64::from(counts) << 16;
        self.at = self.at.max(film.saturating_sub(most)).min(film.saturating_add(most));
    }
}

fn per_tick(speed_m_s: f32, count_m: f32) -> i64 {
    (speed_m_s * TICK_S / count_m * ONE) as i64
}

/// Change of movement per tick; at least one unit, so that every ramp ends.
fn ramp(ramp_m_s2: f32, count_m: f32) -> i64 {
    ((ramp_m_s2 * TICK_S * TICK_S / count_m * ONE) as i64).max(1)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_advance_ends_exactly_and_keeps_its_limits() {
        let settings = FilmSettings::default();
        let count_m = settings.count_m();
        let mut reference = Reference::default();
        reference.rest_at(12_345);
        for turn in 1..=3_i64 {
            reference.aim(0.12, count_m);
            let mut ticks = 0;
            while !reference.ended() {
                reference.advance(&settings, count_m);
                assert!(reference.speed_m_s(count_m) <= settings.advance_speed_m_s * 1.000_1);
                assert!(math::abs(reference.acceleration_m_s2(count_m)) <= settings.advance_ramp_m_s2 * 1.01);
                ticks += 1;
                assert!(ticks < 200, "never ends");
            }
            assert_eq!(reference.at, (12_345 + turn * ((0.12 / count_m) as i64)) << 16);
        }
    }
}
