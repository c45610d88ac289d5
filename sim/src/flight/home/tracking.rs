//! Tracking, and the return planned anew from it.
//!
//! The plan made before the run lives on an orbit predicted over a day. Every contact that lasts long enough
//! ([`Link::tracked_s`](crate::flight::link::Link::tracked_s)) shows the ground where the vehicle really is, as well as
//! `[planning]` says; shortly before the orders of the return go up, the instant of ignition is searched again from the
//! last of these, within the same pass. The turn and the capsule's timers stay as they were loaded.

use crate::{
    descent::{self, DescentError, Options, Planned},
    noise::NoiseSource,
    scenario::Loaded,
    world::{gravity::GM_M3_S2, kepler::State},
};

/// Time before the capsule is to leave at which the return is planned anew, s: the desk's first order comes 75 s before.
const AGAIN_BEFORE_S: f64 = 90.0;
/// Farthest from the ignition planned before that the search looks, s.
const WINDOW_S: f64 = 900.0;

/// What the ground has seen of the orbit.
#[derive(Clone, Debug)]
pub struct Tracking {
    loaded: Box<Loaded>,
    noise: NoiseSource,
    /// When the stations had tracked the vehicle when last asked, s.
    tracked_s: Option<f64>,
    fix: Option<(f64, State)>,
    done: bool,
}

impl Tracking {
    /// Nothing seen yet, in a run with this seed.
    pub fn new(loaded: &Loaded, seed: u64) -> Self {
        let noise = NoiseSource::new(seed, 0, "orbit determination", 0);
        Self { loaded: Box::new(loaded.clone()), noise, tracked_s: None, fix: None, done: false }
    }

    /// One second: where the vehicle is, if the stations have tracked it since the last one.
    pub fn second(&mut self, time_s: f64, tracked_s: Option<f64>, orbit: impl FnOnce() -> State) {
        let anew = tracked_s != std::mem::replace(&mut self.tracked_s, tracked_s);
        if anew && !self.done {
            self.fix = Some((time_s, orbit()));
        }
    }

    /// The return planned anew, once and in good time, if the vehicle has been tracked; else nothing. With it, when the
    /// vehicle was tracked last, s.
    ///
    /// # Errors
    /// [`DescentError`] if no ignition is found.
    pub fn plan_again(&mut self, time_s: f64, before: &Planned) -> Option<Result<(f64, Planned), DescentError>> {
        if self.done || time_s < before.separation_s() - AGAIN_BEFORE_S {
            return None;
        }
        self.done = true;
        let (fix_s, truth) = self.fix.take()?;
        let [along, period, _] = self.noise.gaussian3(0);
        let planning = &self.loaded.scenario.planning;
        let state = measured(&truth, along * planning.along_track_m, period * planning.semi_major_axis_m);
        let ignition_s = before.at().time_s;
        if let Some(plan) = self.loaded.scenario.descent.as_mut() {
            (plan.earliest_s, plan.latest_s) = (ignition_s - WINDOW_S, ignition_s + WINDOW_S);
        }
        let options = Options { found: Some((fix_s, state)), ..Options::default() };
        Some(descent::planned(&self.loaded, &options).map(|anew| (fix_s, before.clone().aimed_by(anew))))
    }
}

/// An orbit as it is determined: so far ahead of the true place along the track, and so much too high.
fn measured(truth: &State, ahead_m: f64, higher_m: f64) -> State {
    let (r, v) = (truth.position_m, truth.velocity_m_s);
    let early_s = ahead_m / v.norm();
    let axis_m = 1.0 / (2.0 / r.norm() - v.norm_squared() / GM_M3_S2);
    // Vis-viva, differentiated: δv/v = μ·δa/(2a²v²).
    let faster = GM_M3_S2 * higher_m / (2.0 * axis_m * axis_m * v.norm_squared());
    State {
        position_m: r + v * early_s,
        velocity_m_s: (v - r * (GM_M3_S2 * early_s / r.norm().powi(3))) * (1.0 + faster),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use nalgebra::Vector3;

    #[test]
    fn an_orbit_is_measured_so_far_ahead_and_so_much_higher() {
        let truth =
            State { position_m: Vector3::new(6.61e6, 0.0, 0.0), velocity_m_s: Vector3::new(0.0, 100.0, 7_765.0) };
        let axis_m = |s: &State| 1.0 / (2.0 / s.position_m.norm() - s.velocity_m_s.norm_squared() / GM_M3_S2);
        let ahead = measured(&truth, 500.0, 0.0);
        assert!(((ahead.position_m - truth.position_m).norm() - 500.0).abs() < 1e-6);
        assert!((axis_m(&ahead) - axis_m(&truth)).abs() < 0.1, "{}", axis_m(&ahead) - axis_m(&truth));
        let higher = measured(&truth, 0.0, 10.0);
        assert!((axis_m(&higher) - axis_m(&truth) - 10.0).abs() < 1e-3);
        assert_eq!(higher.position_m, truth.position_m);
    }
}
