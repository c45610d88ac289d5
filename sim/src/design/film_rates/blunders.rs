//! What the classic blunders would cost, where they cost most; and the effect of a tilted line of sight and of
//! relief, which no programme can take out.

use super::{
    Mission, Point,
    summary::{BlunderCost, Relief, Tilt},
};

/// Smear of each blunder at the point of the mission where it is worst, for one exposure time.
pub fn blunders(points: &[Point], exposure_s: f64) -> Vec<BlunderCost> {
    let inertial = |p: &Point| [p.required_m_s * (p.v_over_h_inertial_rad_s / p.v_over_h_rad_s - 1.0), 0.0];
    let crab = |p: &Point| [p.required_m_s * (1.0 - p.crab_rad.cos()), p.required_m_s * p.crab_rad.sin()];
    let reversed = |p: &Point| [-2.0 * p.required_m_s, 0.0];
    [
        (
            "orbital rate left out",
            "f·V/h with the inertial speed: the camera's own turning forgotten",
            inertial as fn(&Point) -> [f64; 2],
        ),
        ("crab not corrected", "the vehicle flies square to its orbit; the image crosses the film", crab),
        ("film reversed", "film runs against the image", reversed),
    ]
    .into_iter()
    .filter_map(|(name, what, off)| {
        let size = |p: &Point| off(p).iter().map(|m_s| m_s * m_s).sum::<f64>();
        let worst = points.iter().max_by(|a, b| size(a).total_cmp(&size(b)))?;
        let [along, across] = off(worst);
        Some(BlunderCost {
            name: name.into(),
            what: what.into(),
            rate_error_percent: 100.0 * along / worst.required_m_s,
            smear_along_um: along * exposure_s * 1e6,
            smear_across_um: across * exposure_s * 1e6,
            exposure_ms: exposure_s * 1e3,
            latitude_deg: worst.latitude_deg,
            height_km: worst.height_m * 1e-3,
        })
    })
    .collect()
}

/// Rolls and pitches shown.
const TILTS_DEG: [[f64; 2]; 7] =
    [[0.0, 0.0], [5.0, 0.0], [10.0, 0.0], [20.0, 0.0], [30.0, 0.0], [0.0, 5.0], [0.0, -5.0]];

/// Film speed with the line of sight tilted, at an instant.
pub fn tilts(mission: &Mission<'_>, time_s: f64) -> Vec<Tilt> {
    let look = |tilt_rad| super::mission::tilted(mission, tilt_rad).motion(time_s);
    let Some(down) = look([0.0; 2]) else { return Vec::new() };
    let tilt = |deg: &[f64; 2]| {
        let motion = look(deg.map(f64::to_radians))?;
        Some(Tilt {
            roll_deg: deg[0],
            pitch_deg: deg[1],
            required_mm_s: motion.film_speed_m_s * 1e3,
            ratio: motion.film_speed_m_s / down.film_speed_m_s,
            crab_deg: motion.yaw_to_align_rad.to_degrees(),
            slant_range_km: motion.slant_range_m * 1e-3,
        })
    };
    TILTS_DEG.iter().filter_map(tilt).collect()
}

/// What ground higher and lower than programmed does, where it does most.
pub fn relief(mission: &Mission<'_>, points: &[Point], band_m: f64) -> Relief {
    let mut relief = Relief { band_m, ..Relief::default() };
    for point in points.iter().step_by(30) {
        for (height_m, most) in [(band_m, &mut relief.high_percent), (-band_m, &mut relief.low_percent)] {
            let mut look = mission.look();
            look.relief_m = height_m;
            let Some(motion) = look.motion(point.time_s) else { continue };
            let off = point.required_m_s / motion.film_speed_m_s - 1.0;
            if (100.0 * off).abs() > most.abs() {
                *most = 100.0 * off;
            }
            let smear_um = off.abs() * motion.film_speed_m_s * f64::from(point.exposure_s) * 1e6;
            relief.smear_um = relief.smear_um.max(smear_um);
        }
    }
    relief
}
