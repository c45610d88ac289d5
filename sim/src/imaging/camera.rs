//! The camera, its film, and the points of the format that are judged.

use super::budget::Budget;
use super::resolution::Rule;
use serde::{Deserialize, Serialize};

/// How the camera lays the picture down.
#[derive(Clone, Copy, Debug, Deserialize, Eq, PartialEq, Serialize)]
pub enum CameraKind {
    /// Film runs at image speed beneath a slit.
    Strip,
    /// A whole format is exposed at once.
    Framing,
    /// A slit sweeps across the track while film stands on a cylinder and is shifted along the track with the image.
    Sweep,
}

/// How a sweep goes.
#[derive(Clone, Copy, Debug, Deserialize, PartialEq, Serialize)]
pub struct SweepGeometry {
    /// Half of the angle swept with the shutter open, rad.
    pub half_angle_rad: f64,
    /// Rate of the sweep, rad/s.
    pub rate_rad_s: f64,
}

/// Camera and film. Defaults are the demo's strip camera: f 1 m, f/5, 127 mm film of which 114 mm usable.
#[derive(Clone, Debug, Deserialize, PartialEq, Serialize)]
pub struct Camera {
    /// Strip, framing or sweep.
    pub kind: CameraKind,
    /// Focal length, m.
    pub focal_length_m: f64,
    /// f-number, focal length over aperture.
    pub f_number: f64,
    /// Usable format across the track, m (of a sweep: focal length × angle swept).
    pub format_width_m: f64,
    /// Usable format along the track, m (framing camera; sweep: length of the slit).
    pub format_length_m: f64,
    /// Lens resolution on low contrast (1.6:1), lp/mm.
    pub lens_resolution_lp_mm: f64,
    /// Film resolution on low contrast (1.6:1), lp/mm.
    pub film_resolution_lp_mm: f64,
    /// Image movement within one exposure from vibration, 1 σ in each axis, m. Combined as a smear of
    /// that length, as smear budgets commonly do.
    pub vibration_m: f64,
    /// Share of light that the lens passes, 0…1.
    pub transmission: f64,
    /// Factor by which the filter lengthens the exposure, ≥ 1.
    pub filter_factor: f64,
    /// Effective aerial film speed: 1.5 over the exposure of the speed point in lx·s.
    pub film_speed_eafs: f64,
    /// Slope of the film's characteristic curve, density over log₁₀ of exposure.
    pub film_gamma: f64,
    /// Scatter of the film's density through an aperture of 48 µm, as a density.
    pub film_granularity: f64,
    /// Slits in place of choice, narrow to wide, m (strip camera and sweep).
    pub slit_widths_m: Vec<f64>,
    /// Times for which the shutter can be open, short to long, s (framing camera only).
    pub shutter_times_s: Vec<f64>,
    /// Share of the open time that counts as light, 0…1. Smear takes the whole time.
    pub shutter_efficiency: f64,
    /// Ground resolved distance (one line pair) that the mission wants, m.
    pub wanted_grd_m: f64,
    /// Exposure error that the film forgives, ± stops.
    pub exposure_tolerance_stops: f64,
    /// How lens, film and smear combine.
    pub rule: Rule,
    /// What smear was allowed for.
    pub budget: Budget,
    /// The sweep, of a camera that does.
    pub sweep: Option<SweepGeometry>,
}

impl Default for Camera {
    fn default() -> Self {
        Self {
            kind: CameraKind::Strip,
            focal_length_m: 1.0,
            f_number: 5.0,
            format_width_m: 0.114,
            format_length_m: 0.114,
            lens_resolution_lp_mm: 130.0,
            film_resolution_lp_mm: 160.0,
            vibration_m: 1.0e-6,
            transmission: 0.8,
            filter_factor: 2.0,
            film_speed_eafs: 40.0,
            film_gamma: 2.0,
            film_granularity: 0.006,
            // Half-stop steps about the 0.137 mm that suits a Sun at 30°: 60° needs the first, 15° the last.
            slit_widths_m: vec![0.0685e-3, 0.0969e-3, 0.137e-3, 0.194e-3, 0.274e-3, 0.388e-3],
            shutter_times_s: vec![1.4e-3, 2.0e-3, 2.8e-3, 4.0e-3],
            shutter_efficiency: 1.0,
            wanted_grd_m: 2.5,
            exposure_tolerance_stops: 0.5,
            rule: Rule::ReciprocalSquare,
            budget: Budget::default(),
            sweep: None,
        }
    }
}

/// One point of the format that is judged, and the share of the format's area it stands for.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct FormatPoint {
    /// Along the film's travel, body +x, m.
    pub x_m: f64,
    /// Across the film's travel, body +y, m.
    pub y_m: f64,
    /// Share of the area; the shares of one format add up to one.
    pub area_share: f64,
}

/// Most points that one exposure is judged at.
pub const MAX_POINTS: usize = 5;

impl Camera {
    /// Points judged in each exposure, the centre first: centre and both ends of the slit, or centre and
    /// four corners. The slit of a sweep lies along the track. The shares integrate exactly what varies as a square across the format.
    pub fn points(&self) -> ([FormatPoint; MAX_POINTS], usize) {
        let (x, y) = (0.5 * self.format_length_m, 0.5 * self.format_width_m);
        let point = |x_m, y_m, area_share| FormatPoint { x_m, y_m, area_share };
        let mut points = [point(0.0, 0.0, 2.0 / 3.0); MAX_POINTS];
        match self.kind {
            CameraKind::Strip => {
                points[1] = point(0.0, -y, 1.0 / 6.0);
                points[2] = point(0.0, y, 1.0 / 6.0);
                (points, 3)
            }
            CameraKind::Sweep => {
                points[1] = point(-x, 0.0, 1.0 / 6.0);
                points[2] = point(x, 0.0, 1.0 / 6.0);
                (points, 3)
            }
            CameraKind::Framing => {
                for (slot, (sx, sy)) in (1..).zip([(-x, -y), (-x, y), (x, -y), (x, y)]) {
                    points[slot] = point(sx, sy, 1.0 / 12.0);
                }
                (points, 5)
            }
        }
    }
}

/// Points across a grid.
const GRID: usize = 5;

impl Camera {
    /// Points at which each exposure is shown, row by row: the slit's length in five, or the format in five by five,
    /// from edge to edge. They are for looking at; what a frame is judged by are [`Camera::points`].
    pub fn grid(&self) -> Vec<FormatPoint> {
        let steps = (0..GRID).map(|step| step as f64 / (GRID - 1) as f64 - 0.5);
        let (length_m, width_m) = (self.format_length_m, self.format_width_m);
        let point = |x_m, y_m| FormatPoint { x_m, y_m, area_share: 0.0 };
        match self.kind {
            CameraKind::Strip => steps.map(|v| point(0.0, v * width_m)).collect(),
            CameraKind::Sweep => steps.map(|u| point(u * length_m, 0.0)).collect(),
            CameraKind::Framing => {
                steps.clone().flat_map(|u| steps.clone().map(move |v| point(u * length_m, v * width_m))).collect()
            }
        }
    }
}
