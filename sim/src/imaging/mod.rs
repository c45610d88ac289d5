//! What each frame resolved, and why: image motion, smear, light, resolution and the judgement.
//!
//! Everything here is a pure function of recorded truth; nothing reads or changes the plant. The way
//! through, in the order of the files:
//!
//! 1. [`sample`]: the truth that the closed loop hands over for one exposure, at five instants.
//! 2. [`camera`]: the camera, the film and the points of the format that are judged.
//!    [`budget`] is the smear that was allowed for.
//! 3. [`motion`]: how fast the ground moves across the image at one point and instant.
//! 4. [`smear`]: that motion less the film's, summed over the exposure and split by cause.
//! 5. [`exposure`]: the light that reached the film.
//! 6. [`resolution`]: lens, film and smear together, in lp/mm and on the ground.
//! 7. [`frame`]: all of it for one frame: met or not; [`cause`] says why not;
//!    [`row`] is its flat table row.
//! 8. [`picture`]: what it would show: three-bar targets through lens, motion, film and grain.
//!
//! Image plane: the positive (un-inverted) one, `x_img = f·X/Z` along body +x ("along"), `y_img = f·Y/Z`
//! along body +y ("across"). The ground slides towards −x and film runs forward towards −x, so film at a
//! positive speed `v` moves at `(−v, 0)`.

pub mod budget;
pub mod camera;
pub mod cause;
mod earth;
pub mod error;
pub mod exposure;
pub mod frame;
pub mod motion;
pub mod mtf;
pub mod picture;
pub mod resolution;
pub mod row;
pub mod sample;
pub mod smear;

pub use earth::Earth;
pub use error::ImagingError;
