//! `[camera]`: optics, film speed, slits or shutter.

use crate::scenario::check::film::{check_camera, check_sweep};
use crate::scenario::read::spec::{number, plain};
use crate::scenario::read::tagged::Tagged;
use crate::scenario::read::unit::{
    DEG_S, DEGREE, KG_M2, LP_MM, METRE, MICROMETRE, MM, MM_S, MS, NONE, PERCENT, SECOND,
};
use crate::{record, union};

/// Camera: optics common to both kinds, and the kind.
pub type Camera = Tagged<Optics, CameraKind>;

record! {
    /// Lens, film and what is wanted of them.
    Optics checked by check_camera {
        /// Focal length.
        focal_length_m: f64 = "focal_length_mm", number(MM, 20.0, 10_000.0);
        /// Focal length over aperture.
        f_number: f64 = "f_number", number(NONE, 0.7, 64.0);
        /// Usable image across the film.
        format_width_m: f64 = "format_width_mm", number(MM, 5.0, 500.0);
        /// Low-contrast resolution of the lens.
        lens_lp_m: f64 = "lens_lp_mm", number(LP_MM, 1.0, 2_000.0);
        /// Low-contrast resolution of the film.
        film_lp_m: f64 = "film_lp_mm", number(LP_MM, 1.0, 2_000.0);
        /// Image travel by vibration during an exposure, one sigma on each axis.
        vibration_m: f64 = "vibration_um", number(MICROMETRE, 0.0, 100.0).or(1.0);
        /// Exposure multiplier of the filter.
        filter_factor: f64 = "filter_factor", number(NONE, 1.0, 16.0).or(2.0);
        /// Share of light that the lens lets through.
        transmission: f64 = "transmission", number(NONE, 0.01, 1.0).or(0.8);
        /// Effective aerial film speed.
        film_speed_eafs: f64 = "film_speed_eafs", number(NONE, 0.1, 10_000.0).or(40.0);
        /// Slope of the film's characteristic curve: density over log₁₀ of exposure.
        film_gamma: f64 = "film_gamma", number(NONE, 0.2, 6.0).or(2.0);
        /// Scatter of the film's density through a round aperture of 48 µm.
        film_granularity: f64 = "film_granularity", number(NONE, 0.0001, 0.1).or(0.006);
        /// Mean luminance of the scene with haze, as a share of a white sheet under the same light.
        scene_reflectance: f64 = "scene_reflectance_percent", number(PERCENT, 1.0, 100.0).or(15.0);
        /// Ground resolved distance (a full line pair) that each frame should reach.
        wanted_grd_m: f64 = "wanted_grd_m", number(METRE, 0.05, 1_000.0);
        /// Film that makes up one frame, along the film; a strip is judged in pieces of this length, and a sweep's is
        /// focal length × angle swept.
        frame_length_m: f64 = "frame_length_mm", number(MM, 1.0, 1_000.0);
        /// Smear that is allowed for.
        budget: SmearBudget = "budget", plain().or_defaults();
    }
}

record! {
    /// Allowances that make up the smear budget, each three sigma or a bound; vibration stands with the camera.
    SmearBudget {
        /// Mean film speed off the image's.
        film_rate: f64 = "film_rate_percent", number(PERCENT, 0.0, 50.0).or(1.0);
        /// Unevenness of film about its mean speed.
        film_uneven: f64 = "film_uneven_percent", number(PERCENT, 0.0, 50.0).or(0.5);
        /// Roll rate beyond the local orbital frame's.
        roll_rate_rad_s: f64 = "roll_rate_deg_s", number(DEG_S, 0.0, 10.0).or(0.02);
        /// Pitch rate beyond the local orbital frame's.
        pitch_rate_rad_s: f64 = "pitch_rate_deg_s", number(DEG_S, 0.0, 10.0).or(0.01);
        /// Yaw off the one that lays image motion along the film.
        yaw_rad: f64 = "yaw_deg", number(DEGREE, 0.0, 45.0).or(0.7);
        /// Ground above or below the height that the film-rate programme assumed.
        relief_m: f64 = "relief_m", number(METRE, 0.0, 10_000.0).or(1_500.0);
    }
}

union! {
    /// Kind of camera.
    CameraKind by "kind" {
        /// Film runs with the image past a slit.
        Strip(StripCamera) = "strip",
        /// Film stands, or moves with a platen, while a shutter opens.
        Frame(FrameCamera) = "frame",
        /// A slit sweeps across the track over film that stands on a cylinder and is shifted with the image.
        Sweep(SweepCamera) = "sweep",
    }
}

record! {
    /// Slit camera: film runs with the image; the slit in place sets the exposure.
    StripCamera {
        /// Widths of the slits, from the narrowest; a half stop apart is common practice.
        slit_widths_m: Vec<f64> = "slit_widths_mm", number(MM, 0.01, 20.0).list(1, 4);
        /// Time the capping shutter takes to open or close.
        shutter_travel_s: f64 = "shutter_travel_ms", number(MS, 0.0, 500.0).or(30.0);
    }
}

record! {
    /// Panoramic camera: film lies across the track; advance, clamp, settle, sweep, return.
    SweepCamera checked by check_sweep {
        /// Widths of the slits across the track, from the narrowest.
        slit_widths_m: Vec<f64> = "slit_widths_mm", number(MM, 0.01, 20.0).list(1, 4);
        /// Angle to either side of straight down that the picture covers.
        half_angle_rad: f64 = "sweep_half_deg", number(DEGREE, 0.5, 70.0);
        /// Rate of the sweep through the picture.
        rate_rad_s: f64 = "sweep_rate_deg_s", number(DEG_S, 1.0, 720.0);
        /// Angle before and after the picture in which the sweep comes to its rate and to rest.
        run_in_rad: f64 = "sweep_run_in_deg", number(DEGREE, 0.5, 45.0).or(8.0);
        /// Inertia of what turns, less what a counterweight turns the other way.
        inertia_kg_m2: f64 = "sweep_inertia_kg_m2", number(KG_M2, 0.0, 100.0).or(0.02);
        /// Unexposed film between frames.
        frame_gap_m: f64 = "frame_gap_mm", number(MM, 0.0, 100.0).or(4.0);
        /// Shortest time from one exposure to the next: advance, clamp, settle, sweep, release.
        shortest_cycle_s: f64 = "shortest_cycle_s", number(SECOND, 0.05, 60.0);
        /// Forward overlap where a command gives no interval.
        overlap: f64 = "overlap_percent", number(PERCENT, 0.0, 80.0).or(10.0);
        /// Step of the compensating platen's speed.
        platen_step_m_s: f64 = "platen_step_mm_s", number(MM_S, 0.001, 10.0).or(0.05);
        /// Way of the platen along the track.
        platen_travel_m: f64 = "platen_travel_mm", number(MM, 0.1, 100.0).or(15.0);
    }
}

record! {
    /// Framing camera: advance, clamp, settle, expose on a platen that follows the image.
    FrameCamera {
        /// Exposure times, from the shortest; chosen by number as a slit is.
        shutter_s: Vec<f64> = "shutter_ms", number(MS, 0.1, 500.0).list(1, 4);
        /// Share of the shutter's time for which it is fully open, as effective over total.
        shutter_efficiency: f64 = "shutter_efficiency_percent", number(PERCENT, 10.0, 100.0).or(90.0);
        /// Unexposed film between frames.
        frame_gap_m: f64 = "frame_gap_mm", number(MM, 0.0, 100.0).or(4.0);
        /// Shortest time from one exposure to the next: advance, clamp, settle, expose, release.
        shortest_cycle_s: f64 = "shortest_cycle_s", number(SECOND, 0.05, 60.0);
        /// Forward overlap where a command gives no interval.
        overlap: f64 = "overlap_percent", number(PERCENT, 0.0, 80.0).or(10.0);
        /// Step of the compensating platen's speed; 0: no platen, the film stands.
        platen_step_m_s: f64 = "platen_step_mm_s", number(MM_S, 0.0, 10.0).or(0.1);
        /// Way of the platen.
        platen_travel_m: f64 = "platen_travel_mm", number(MM, 0.0, 50.0).or(3.0);
    }
}
