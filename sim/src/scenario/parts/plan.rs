//! `[planning]`: how well orbit and clock are known, and what a plan has to leave.

use crate::record;
use crate::scenario::read::spec::number;
use crate::scenario::read::unit::{DEGREE, KG, METRE, NONE, PERCENT, PPM, SECOND};

record! {
    /// How a day's photography is planned. One-sigma figures hold at the start of the run; defaults are common practice.
    Planning {
        /// Sigmas of the predicted time by which camera-on and camera-off are padded.
        sigmas: f64 = "sigmas", number(NONE, 0.0, 6.0).or(3.0);
        /// Place along the track at the start, one sigma.
        along_track_m: f64 = "along_track_m", number(METRE, 0.0, 1e6).or(500.0);
        /// Half the long axis of the orbit at the start, one sigma: the track runs off by 3π times it in a revolution.
        semi_major_axis_m: f64 = "semi_major_axis_m", number(METRE, 0.0, 1e5).or(10.0);
        /// Density of the air against the one predicted with, one sigma: the track runs off with the square of time.
        density: f64 = "density_percent", number(PERCENT, 0.0, 100.0).or(15.0);
        /// Rate of the on-board clock since it was last set, one sigma; 1.2 ppm is a tenth of a second a day.
        clock_drift: f64 = "clock_drift_ppm", number(PPM, 0.0, 1_000.0).or(1.2);
        /// Lowest Sun by which areas are photographed that say nothing of their own.
        lowest_sun_rad: f64 = "lowest_sun_deg", number(DEGREE, -90.0, 90.0).or(10.0);
        /// Least time from one camera-off to the next camera-on: film at rest, attitude placed anew.
        least_gap_s: f64 = "least_gap_s", number(SECOND, 0.0, 3_600.0).or(20.0);
        /// Least part of an area that makes a pass over it worth looking at.
        least_share: f64 = "least_share_percent", number(PERCENT, 0.0, 100.0).or(0.1);
        /// Film that the plan may use. Left out: all but the reserve for cutting and sealing.
        film_m: Option<f64> = "film_m", number(METRE, 0.0, 10_000.0).optional();
        /// Gas that must be left at the end.
        gas_reserve_kg: f64 = "gas_reserve_kg", number(KG, 0.0, 1_000.0).or(0.5);
        /// Energy that must be left at the end, of what the battery held.
        battery_reserve: f64 = "battery_reserve_percent", number(PERCENT, 0.0, 100.0).or(10.0);
    }
}
