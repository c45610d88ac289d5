//! Many descents, all of them off by their own draw: where they come down, and what that says.

use rayon::prelude::*;

use super::confidence::ellipse_sigmas;
use super::dispersions::{Axis, draw};
use super::fall::{End, Fall, What};
use super::ground::{Along, below};
use super::integrate::Closeness;
use super::model::{AtRetro, Model};
use super::recovery::{Opening, Timers};
use crate::world::ellipsoid::Geodetic;

/// One descent of the many.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Landing {
    /// Number of the run; with the seed it gives the draw.
    pub run: u32,
    /// It came down.
    pub down: bool,
    /// Where.
    pub place: Geodetic,
    /// When, s.
    pub time_s: f64,
    /// Along and across from the origin of the footprint, m.
    pub offset_m: [f64; 2],
    /// Most deceleration.
    pub most_g: f64,
    /// Most heat flux, W/m².
    pub most_flux_w_m2: f64,
    /// Heat taken up, J/m².
    pub heat_j_m2: f64,
    /// Height, m, Mach number and dynamic pressure, Pa, where the drogue was fired.
    pub drogue: [f64; 3],
    /// Both canopies stand.
    pub under_canopy: bool,
    /// Speed at touchdown, m/s.
    pub speed_m_s: f64,
}

/// Sums up a fall, its offset counted from `along`.
pub fn landing(run: u32, fall: &Fall, model: &Model, along: &Along) -> Landing {
    let last = &fall.last;
    let place = below(&last.at.position_m(), last.at.t_s, &model.earth);
    let drogue = fall.at(What::Drogue).map_or([f64::NAN; 3], |m| [m.height_m, m.mach, m.pressure_pa]);
    Landing {
        run,
        down: fall.end == End::Down,
        place,
        time_s: last.at.t_s,
        offset_m: along.offset_m(&place),
        most_g: fall.most_g.value,
        most_flux_w_m2: fall.most_flux.value,
        heat_j_m2: last.at.heat_j_m2(),
        drogue,
        under_canopy: fall.drogue == Opening::Good && fall.main == Opening::Good,
        speed_m_s: last.speed_m_s,
    }
}

/// What the many are flown from.
#[derive(Clone, Copy, Debug)]
pub struct Many<'a> {
    /// Capsule and plan.
    pub model: &'a Model,
    /// Ignition as planned.
    pub at: &'a AtRetro,
    /// Timers.
    pub timers: &'a Timers,
    /// What is off.
    pub axes: &'a [Axis],
    /// Origin and direction of offsets.
    pub along: &'a Along,
    /// Seed.
    pub seed: u64,
    /// How many.
    pub runs: u32,
}

/// Flies them all, on all cores; the order and every bit of the answer are the same on any number of them.
pub fn landings(many: &Many<'_>, progress: &(dyn Fn(f64) + Sync)) -> Vec<Landing> {
    let done = std::sync::atomic::AtomicU32::new(0);
    (0..many.runs)
        .into_par_iter()
        .map(|run| {
            let off = draw(many.axes, many.seed, run);
            let fall = many.model.fall(many.at, &off, many.timers, Closeness::COUNTED, false);
            let so_far = done.fetch_add(1, std::sync::atomic::Ordering::Relaxed) + 1;
            if so_far.is_multiple_of(32) {
                progress(f64::from(so_far) / f64::from(many.runs));
            }
            landing(run, &fall, many.model, many.along)
        })
        .collect()
}

/// Largest sigma of an ellipse, m: beyond, landing places follow the curved track and no normal law.
const WIDEST_SIGMA_M: f64 = 600e3;

/// The ellipse of a footprint.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Ellipse {
    /// Middle, along and across, m.
    pub middle_m: [f64; 2],
    /// Half axes at one sigma, long first, m.
    pub sigma_m: [f64; 2],
    /// Direction of the long axis from along towards across, rad.
    pub turn_rad: f64,
    /// Sigmas of the half axes at the confidence asked.
    pub sigmas: f64,
}

impl Ellipse {
    /// Of the points that came down; `None` with fewer than three, or where they lie so far apart that an ellipse on the
    /// ground means nothing.
    pub fn of(offsets: &[[f64; 2]], confidence: f64) -> Option<Self> {
        let n = offsets.len() as f64;
        if n < 3.0 {
            return None;
        }
        let mean = |k: usize| offsets.iter().map(|o| o[k]).sum::<f64>() / n;
        let middle_m = [mean(0), mean(1)];
        let moment = |j: usize, k: usize| {
            offsets.iter().map(|o| (o[j] - middle_m[j]) * (o[k] - middle_m[k])).sum::<f64>() / (n - 1.0)
        };
        let (xx, yy, xy) = (moment(0, 0), moment(1, 1), moment(0, 1));
        let (half, root) = (0.5 * (xx + yy), (0.25 * (xx - yy).powi(2) + xy * xy).sqrt());
        ((half + root).sqrt() < WIDEST_SIGMA_M).then(|| Self {
            middle_m,
            sigma_m: [(half + root).sqrt(), (half - root).max(0.0).sqrt()],
            turn_rad: 0.5 * (2.0 * xy).atan2(xx - yy),
            sigmas: ellipse_sigmas(confidence),
        })
    }

    /// Half axes at the confidence, m.
    pub fn half_axes_m(&self) -> [f64; 2] {
        self.sigma_m.map(|sigma| sigma * self.sigmas)
    }

    /// Whether an offset lies inside.
    pub fn holds(&self, offset_m: [f64; 2]) -> bool {
        let (s, c) = self.turn_rad.sin_cos();
        let (x, y) = (offset_m[0] - self.middle_m[0], offset_m[1] - self.middle_m[1]);
        let [a, b] = self.half_axes_m().map(|half| half.max(1e-6));
        ((x * c + y * s) / a).powi(2) + ((y * c - x * s) / b).powi(2) <= 1.0
    }

    /// So many corners of its outline, along and across, m.
    pub fn outline(&self, corners: usize) -> Vec<[f64; 2]> {
        let (s, c) = self.turn_rad.sin_cos();
        let [a, b] = self.half_axes_m();
        let corner = |k: usize| {
            let (y, x) = (std::f64::consts::TAU * k as f64 / corners as f64).sin_cos();
            let (x, y) = (a * x, b * y);
            [self.middle_m[0] + x * c - y * s, self.middle_m[1] + x * s + y * c]
        };
        (0..corners).map(corner).collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_ellipse_is_that_of_its_covariance() {
        // Four points at ±3 along and ±1 across, turned by 30°: variances 3²·2/3 and 1²·2/3.
        let (s, c) = 30.0_f64.to_radians().sin_cos();
        let turned =
            [[3.0, 0.0], [-3.0, 0.0], [0.0, 1.0], [0.0, -1.0]].map(|[x, y]| [x * c - y * s + 10.0, x * s + y * c]);
        let ellipse = Ellipse::of(&turned, 0.9973).expect("four points");
        assert!(
            (ellipse.sigma_m[0] - 6.0_f64.sqrt()).abs() < 1e-12
                && (ellipse.sigma_m[1] - (2.0_f64 / 3.0).sqrt()).abs() < 1e-12
        );
        assert!((ellipse.turn_rad.to_degrees() - 30.0).abs() < 1e-9);
        assert!((ellipse.middle_m[0] - 10.0).abs() < 1e-12);
        for corner in ellipse.outline(36) {
            let nearer = [0, 1].map(|k| ellipse.middle_m[k] + 0.999 * (corner[k] - ellipse.middle_m[k]));
            let farther = [0, 1].map(|k| ellipse.middle_m[k] + 1.001 * (corner[k] - ellipse.middle_m[k]));
            assert!(ellipse.holds(nearer) && !ellipse.holds(farther));
        }
    }
}
