//! What each thing that may be off is worth, and the retro angle at which pitch matters least.

use rayon::prelude::*;

use super::dispersions::{Axis, Off};
use super::fall::{End, Fall};
use super::ground::{Along, below};
use super::integrate::Closeness;
use super::model::{AtRetro, Model};
use super::recovery::Timers;
use crate::world::roots;

/// One column of the sensitivity matrix: what one sigma does, by central differences.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Column {
    /// What is off.
    pub axis: Axis,
    /// Along and across the track, m for one sigma.
    pub offset_m: [f64; 2],
    /// Most deceleration for one sigma, in units of 9.80665 m/s².
    pub g: f64,
    /// Time of touchdown for one sigma, s.
    pub time_s: f64,
    /// How much of the along-track shift is curved: half the second difference, m for one sigma squared.
    pub curved_m: f64,
    /// Share of the variance along the track that it makes, if all were straight and normal.
    pub share: f64,
}

/// Differences are taken tightly: the integrator's own error must be far below a metre.
const TIGHT: Closeness = Closeness { position_m: 1e-3, velocity_m_s: 1e-5, longest_s: 60.0 };

/// The matrix, the largest contributors first.
pub fn matrix(model: &Model, at: &AtRetro, timers: &Timers, axes: &[Axis], along: &Along) -> Vec<Column> {
    let fly = |off: &Off| model.fall(at, off, timers, TIGHT, false);
    let place = |fall: &Fall| along.offset_m(&below(&fall.last.at.position_m(), fall.last.at.t_s, &model.earth));
    let middle = place(&fly(&Off::default()));
    let mut columns: Vec<Column> = axes
        .par_iter()
        .map(|axis| {
            let up = fly(&Off::default().with(axis.quantity, axis.sigma));
            let down = fly(&Off::default().with(axis.quantity, -axis.sigma));
            let (high, low) = (place(&up), place(&down));
            Column {
                axis: *axis,
                offset_m: [0, 1].map(|k| 0.5 * (high[k] - low[k])),
                g: 0.5 * (up.most_g.value - down.most_g.value),
                time_s: 0.5 * (up.last.at.t_s - down.last.at.t_s),
                curved_m: 0.5 * (high[0] - 2.0 * middle[0] + low[0]),
                share: 0.0,
            }
        })
        .collect();
    let total: f64 = columns.iter().map(|column| column.offset_m[0].powi(2)).sum();
    for column in &mut columns {
        column.share = column.offset_m[0].powi(2) / total.max(1e-12);
    }
    columns.sort_by(|a, b| b.share.total_cmp(&a.share));
    columns
}

/// Root of the sum of squares of a matrix along and across, m: the footprint's sigmas by straight lines.
pub fn straight_sigmas_m(columns: &[Column]) -> [f64; 2] {
    [0, 1].map(|k| columns.iter().map(|column| column.offset_m[k].powi(2)).sum::<f64>().sqrt())
}

/// Range against retro angle.
#[derive(Clone, Debug, PartialEq)]
pub struct AngleScan {
    /// Angle, rad, and range along the track against the range at the plan's angle, m; `NaN` where it stays up.
    pub points: Vec<(f64, f64)>,
    /// Angle of least change of range with pitch, if one lies inside the scan, rad.
    pub stationary_rad: Option<f64>,
    /// Change of range with pitch at the plan's angle, m/rad.
    pub here_m_rad: f64,
    /// The same straight back, m/rad.
    pub straight_back_m_rad: f64,
}

/// Scans the retro angle from 95° to 180° with the same ignition.
pub fn angle_scan(model: &Model, at: &AtRetro, along: &Along) -> AngleScan {
    let model = model.healthy();
    let timers = Timers::by_height(&model.plan);
    let range = |angle_rad: f64| {
        let turned = AtRetro::at_angle(at.time_s, at.position_m, at.velocity_m_s, angle_rad, at.spin_rad_s);
        let fall = model.fall(&turned, &Off::default(), &timers, TIGHT, false);
        if fall.end != End::Down {
            return f64::NAN;
        }
        along.offset_m(&below(&fall.last.at.position_m(), fall.last.at.t_s, &model.earth))[0]
    };
    let points: Vec<(f64, f64)> =
        (95..=180).into_par_iter().map(|deg| f64::from(deg).to_radians()).map(|a| (a, range(a))).collect();
    let least = points.iter().filter(|p| p.1.is_finite()).min_by(|a, b| a.1.total_cmp(&b.1)).map(|p| p.0);
    let degree = 1.0_f64.to_radians();
    let inside = least.filter(|a| *a > 95.5_f64.to_radians() && *a < 179.5_f64.to_radians());
    let stationary_rad = inside.map(|a| roots::maximum(|x| -range(x), a - degree, a + degree, 1e-4));
    let slope = |a: f64| (range(a + 0.5 * degree) - range(a - 0.5 * degree)) / degree;
    let straight = std::f64::consts::PI - 0.5 * degree;
    AngleScan { points, stationary_rad, here_m_rad: slope(at.angle_rad()), straight_back_m_rad: slope(straight) }
}
