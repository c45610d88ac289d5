//! `[horizon]` and `[gyro]`: what the vehicle measures itself by.

use crate::record;
use crate::scenario::read::spec::{number, plain};
use crate::scenario::read::unit::{DEG_H, DEG_H_RT_H, DEG_RT_H, DEG_S, DEGREE, HERTZ, KM, PERCENT, SECOND};

record! {
    /// Horizon sensor: two scan cones about body +y and −y, whose four crossings of the Earth's edge give roll and pitch.
    Horizon {
        /// Noise of each sample, one sigma.
        noise_rad: f64 = "noise_deg", number(DEGREE, 0.0, 2.0).or(0.05);
        /// Standing error in roll.
        bias_roll_rad: f64 = "bias_roll_deg", number(DEGREE, -5.0, 5.0).or(0.0);
        /// Standing error in pitch.
        bias_pitch_rad: f64 = "bias_pitch_deg", number(DEGREE, -5.0, 5.0).or(0.0);
        /// Largest tilt at which both edges are found.
        range_rad: f64 = "range_deg", number(DEGREE, 1.0, 90.0).or(30.0);
        /// Samples a second. The flight code is made for ten; fewer slow what it learns from them.
        sample_rate_hz: f64 = "sample_rate_hz", number(HERTZ, 1.0, 10.0).or(10.0);
        /// Time for which all four edges must be seen before the sensor reports the Earth.
        acquire_s: f64 = "acquire_s", number(SECOND, 0.0, 20.0).or(0.0);
        /// Half angle of the scan cones. A cone that misses the Earth, or sees nothing else, ends the range earlier.
        scan_half_angle_rad: f64 = "scan_half_angle_deg", number(DEGREE, 20.0, 85.0).or(60.0);
        /// Height of the infrared horizon above the ellipsoid.
        horizon_height_m: f64 = "horizon_height_km", number(KM, 0.0, 80.0).or(40.0);
        /// Rise of the horizon over the summer pole; it falls by more over the winter pole. About 3 in truth; 0 switches
        /// season and latitude off.
        height_season_m: f64 = "height_season_km", number(KM, 0.0, 10.0).or(0.0);
        /// Largest random rise or fall of the horizon, by the stratosphere's weather; 0 switches that off.
        height_scatter_m: f64 = "height_scatter_km", number(KM, 0.0, 10.0).or(0.0);
        /// Largest fall of the horizon over cold cloud; 0 switches that off.
        cold_cloud_m: f64 = "cold_cloud_km", number(KM, 0.0, 20.0).or(0.0);
        /// Share of the Earth under cold cloud.
        cold_cloud_cover: f64 = "cold_cloud_cover_percent", number(PERCENT, 0.0, 100.0).or(20.0);
        /// The Earth's flattening tilts the horizon, as it does in truth.
        oblateness: bool = "oblateness", plain().or_flag(true);
        /// The Sun closer than this to the scan beside an edge of the Earth spoils that edge; 0 switches that off.
        sun_half_angle_rad: f64 = "sun_half_angle_deg", number(DEGREE, 0.0, 20.0).or(0.0);
        /// The full Moon likewise, a part of it in proportion; 0 switches that off.
        moon_half_angle_rad: f64 = "moon_half_angle_deg", number(DEGREE, 0.0, 20.0).or(0.0);
    }
}

record! {
    /// Rate gyros about body x, y, z.
    Gyro {
        /// Steady drift.
        drift_rad_s: [f64; 3] = "drift_deg_h", number(DEG_H, -200.0, 200.0).or_all(&[0.5, -0.5, 0.5]);
        /// Angular random walk (IEEE 952: N).
        random_walk_rad_rt_s: f64 = "random_walk_deg_rt_h", number(DEG_RT_H, 0.0, 10.0).or(0.02);
        /// Bias instability (IEEE 952: B): the floor of the Allan deviation is 0.664 of it.
        bias_instability_rad_s: f64 = "bias_instability_deg_h", number(DEG_H, 0.0, 50.0).or(0.05);
        /// Rate random walk (IEEE 952: K).
        rate_random_walk_rad_s_rt_s: f64 = "rate_random_walk_deg_h_rt_h", number(DEG_H_RT_H, 0.0, 10.0).or(0.0);
        /// Scale error.
        scale_error: [f64; 3] = "scale_error_percent", number(PERCENT, -50.0, 50.0).or_all(&[0.0; 3]);
        /// Small turn of the gyro block about body x, y, z.
        misalignment_rad: [f64; 3] = "misalignment_deg", number(DEGREE, -5.0, 5.0).or_all(&[0.0; 3]);
        /// Largest rate measured; beyond it the output stays there.
        range_rad_s: f64 = "range_deg_s", number(DEG_S, 0.1, 400.0).or(10.0);
        /// Smallest step of the output: one count of angle over one reading. What fills no count is kept for the next.
        quantisation_rad_s: f64 = "quantisation_deg_s", number(DEG_S, 0.0, 0.1).or(0.0001);
    }
}
