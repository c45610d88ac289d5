//! The panoramic camera's sweep: what turns the line of sight across the track.
//!
//! A drive with a rate loop of its own follows the rate asked of it: first order, with limited acceleration, between
//! two stops. What turns has an inertia that the body feels: angles count from body +z towards +y, which is a turn
//! about −x, so that its momentum is −J·rate about body +x and the body takes the opposite of every change.

/// The mechanism.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SweepParameters {
    /// Inertia that turns, less what a counterweight turns the other way, kg·m².
    pub inertia_kg_m2: f64,
    /// Rate of one step of the drive, rad/s.
    pub step_rad_s: f64,
    /// Time constant of the drive's rate loop, s.
    pub response_s: f64,
    /// Highest acceleration, rad/s².
    pub most_rad_s2: f64,
    /// Angle of the stops to either side, rad.
    pub stop_rad: f64,
    /// Angle at the start of the run, rad.
    pub start_rad: f64,
    /// Step of the angle's sensor, rad.
    pub gauge_rad: f64,
}

/// The sweep in motion.
#[derive(Clone, Debug, PartialEq)]
pub struct Sweep {
    parameters: SweepParameters,
    angle_rad: f64,
    rate_rad_s: f64,
}

/// Parts of a tick: short against the response, so that its lag is followed to 1e-3 of the rate.
const PARTS: u32 = 20;

impl Sweep {
    /// A sweep at rest where it starts.
    pub fn new(parameters: SweepParameters) -> Self {
        Self { angle_rad: parameters.start_rad, rate_rad_s: 0.0, parameters }
    }

    /// Angle from body +z towards +y, rad.
    pub fn angle_rad(&self) -> f64 {
        self.angle_rad
    }

    /// Its rate, rad/s.
    pub fn rate_rad_s(&self) -> f64 {
        self.rate_rad_s
    }

    /// Momentum about body +x, relative to the body, N·m·s.
    pub fn momentum_nms(&self) -> f64 {
        -self.parameters.inertia_kg_m2 * self.rate_rad_s
    }

    /// What its sensor shows.
    pub fn sample_rad(&self) -> f32 {
        ((self.angle_rad / self.parameters.gauge_rad).round() * self.parameters.gauge_rad) as f32
    }

    /// Moves on by `dt_s` with `step` asked for; gives the change of its momentum about body +x, N·m·s.
    pub fn advance(&mut self, dt_s: f64, step: i16) -> f64 {
        let p = &self.parameters;
        let asked_rad_s = f64::from(step) * p.step_rad_s;
        if asked_rad_s == 0.0 && self.rate_rad_s == 0.0 {
            return 0.0;
        }
        let before_nms = self.momentum_nms();
        let h = dt_s / f64::from(PARTS);
        for _ in 0..PARTS {
            let pull = ((asked_rad_s - self.rate_rad_s) / p.response_s).clamp(-p.most_rad_s2, p.most_rad_s2);
            let rate_rad_s = self.rate_rad_s + pull * h;
            self.angle_rad += 0.5 * (self.rate_rad_s + rate_rad_s) * h;
            self.rate_rad_s = rate_rad_s;
            if self.angle_rad.abs() > p.stop_rad {
                self.angle_rad = self.angle_rad.clamp(-p.stop_rad, p.stop_rad);
                self.rate_rad_s = 0.0;
            }
        }
        // Below what the sensor could ever show, it has come to rest: friction holds it.
        if asked_rad_s == 0.0 && self.rate_rad_s.abs() < 1e-6 {
            self.rate_rad_s = 0.0;
        }
        self.momentum_nms() - before_nms
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn sweep() -> Sweep {
        Sweep::new(SweepParameters {
            inertia_kg_m2: 0.02,
            step_rad_s: 1e-3,
            response_s: 0.01,
            most_rad_s2: 30.0,
            stop_rad: 0.5,
            start_rad: -0.4,
            gauge_rad: 1e-5,
        })
    }

    #[test]
    fn it_comes_to_its_rate_and_gives_back_its_momentum() {
        let mut sweep = sweep();
        let given: f64 = (0..20).map(|_| sweep.advance(0.01, 1_000)).sum();
        assert!((sweep.rate_rad_s() - 1.0).abs() < 1e-4, "{}", sweep.rate_rad_s());
        assert!((given + 0.02 * sweep.rate_rad_s()).abs() < 1e-15);
        let taken: f64 = (0..40).map(|_| sweep.advance(0.01, 0)).sum();
        assert_eq!(sweep.rate_rad_s(), 0.0);
        assert!((given + taken).abs() < 1e-15);
    }

    #[test]
    fn a_stop_stops_it() {
        let mut sweep = sweep();
        for _ in 0..200 {
            sweep.advance(0.01, 1_000);
        }
        assert_eq!((sweep.angle_rad(), sweep.rate_rad_s()), (0.5, 0.0));
    }
}
