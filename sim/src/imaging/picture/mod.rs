//! What a frame would show: three-bar targets on the ground, laid through the camera onto film.
//!
//! The way of one picture, in the order of the files:
//!
//! 1. [`target`]: bars of MIL-STD-150A's proportions at known sizes on the ground, laid out on a grid of film;
//! 2. [`optics`]: lens and film as transfer functions, and the frame's own motion path, not only its length;
//! 3. [`film`]: exposure to density by the straight part of the film's curve, and grain by Selwyn's law;
//! 4. [`reading`]: which bars can still be told apart in the finished picture, by a rule that looks at nothing else;
//! 5. [`sheet`]: pictures side by side, as PNG.
//!
//! Pictures are positives (bright ground is white) with the track upwards and body +y to the right. Random draws are
//! keyed by seed, frame, exposure and point, so that a frame looks the same whichever others are rendered.

pub mod film;
pub mod optics;
pub mod reading;
pub mod sheet;
pub mod target;

use nalgebra::Vector2;

use super::camera::Camera;
use super::sample::{BOOLE, NODES};
use crate::noise::NoiseSource;
use target::{Layout, Target};

/// Everything that one picture is made from.
#[derive(Clone, Debug)]
pub struct Order<'a> {
    /// Camera and film.
    pub camera: &'a Camera,
    /// The target on the ground.
    pub target: &'a Target,
    /// Ground length of one image metre (along, across), m/m.
    pub ground_per_image: Vector2<f64>,
    /// Path of the image on the film through the exposure (along, across), at five evenly spread instants, m.
    pub path_m: [Vector2<f64>; NODES],
    /// How many copies of the target lie side by side, each with its own grain; an even number.
    pub copies: usize,
    /// Keys of the random draws: seed, number of the frame, and which of its pictures.
    pub key: Key,
}

/// Keys of a picture's random draws.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Key {
    /// Seed of the run.
    pub seed: u64,
    /// Number of the frame.
    pub frame: u32,
    /// Which picture of the frame: its exposure and point.
    pub place: u32,
}

impl Key {
    fn noise(&self, source: &str) -> NoiseSource {
        NoiseSource::new(self.seed, self.frame, source, self.place)
    }
}

/// A finished picture.
#[derive(Clone, Debug, PartialEq)]
pub struct Picture {
    /// Pixels in a row.
    pub width: usize,
    /// Rows.
    pub height: usize,
    /// Brightness, 0…255, row by row from the top.
    pub grey: Vec<u8>,
}

/// Length of a pixel on the film for a camera: an eighth of the finest line pair that lens and film would resolve
/// without any smear, m.
pub fn pixel_m(camera: &Camera) -> f64 {
    let still_lp_mm = camera.rule.combine_lp_mm(&[camera.lens_resolution_lp_mm, camera.film_resolution_lp_mm]);
    1e-3 / (8.0 * still_lp_mm)
}

/// Renders one picture; gives it with the layout of the targets in it.
pub fn render(order: &Order<'_>) -> (Picture, Layout) {
    let pixel_m = pixel_m(order.camera);
    let layout = Layout::new(order.target, &order.ground_per_image, pixel_m, order.copies);
    let mut light = layout.draw();
    optics::expose(&mut light, order.camera, &centred(&order.path_m), pixel_m);
    let grain = order.key.noise("film grain");
    let picture = film::develop(&light, layout.width, order.camera, order.target.contrast, pixel_m, &grain);
    (picture, layout)
}

/// The path about its mean place: film that is shifted as a whole is looked at where it lies.
fn centred(path_m: &[Vector2<f64>; NODES]) -> [Vector2<f64>; NODES] {
    let mean_m: Vector2<f64> = BOOLE.iter().zip(path_m).map(|(weight, at_m)| at_m * *weight).sum();
    path_m.map(|at_m| at_m - mean_m)
}
