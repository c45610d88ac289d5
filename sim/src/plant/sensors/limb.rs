//! How high the infrared horizon stands where a scan meets it.
//!
//! In the 14–16 µm band carbon dioxide makes the edge of the Earth a layer near 40 km, which lies about on a surface
//! of constant pressure. That surface rises over the summer pole and sinks over the winter pole; the shape used here
//! was fitted to the 3 hPa surface of NRLMSIS 2.1 (`tests/world/horizon.rs` has its heights). Weather of the
//! stratosphere adds a random part about as large (from memory). High cold cloud reaches into the edge of a band that
//! is never quite clean and makes the Earth seem to begin lower.

use super::scan::ByEdge;
use crate::noise::NoiseSource;
use nalgebra::Vector3;

/// Heights of the horizon, m.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct LimbParameters {
    /// Over the equator.
    pub height_m: f64,
    /// Part that follows season and latitude: about the rise over the summer pole. Zero for none.
    pub season_m: f64,
    /// Largest size of the random part.
    pub scatter_m: f64,
    /// Largest fall by cold cloud.
    pub cloud_m: f64,
    /// Share of the Earth under cold cloud, 0…1.
    pub cloud_cover: f64,
}

impl LimbParameters {
    /// Whether the height differs from place to place.
    pub fn varies(&self) -> bool {
        self.season_m != 0.0 || self.scatter_m != 0.0 || self.cloud_m != 0.0
    }
}

/// Size of a patch of weather or cloud, in Earth radii: 800 km.
const PATCH: f64 = 0.125;
/// Time in which weather and cloud become other ones, s.
const CHANGE_S: f64 = 6.0 * 3600.0;

/// Rise of the horizon by season over its rise at the equator, as a share of `season_m`.
///
/// `sin_latitude`: sine of latitude; `season`: +1 in northern midsummer, −1 in midwinter.
pub fn seasonal(sin_latitude: f64, season: f64) -> f64 {
    let square = sin_latitude * sin_latitude;
    season * sin_latitude * sin_latitude.abs() - 0.45 * square * square
}

/// The horizon's height all over the Earth.
#[derive(Clone, Debug)]
pub struct Limb {
    parameters: LimbParameters,
    weather: NoiseSource,
    cloud: NoiseSource,
}

impl Limb {
    /// Over the Earth of one run.
    pub fn new(parameters: LimbParameters, seed: u64, run: u32) -> Self {
        Self {
            parameters,
            weather: NoiseSource::new(seed, run, "horizon weather", 0),
            cloud: NoiseSource::new(seed, run, "horizon cloud", 0),
        }
    }

    /// Heights where nothing varies, m.
    pub fn even_m(&self) -> ByEdge {
        [[self.parameters.height_m; 2]; 2]
    }

    /// Parameters.
    pub fn parameters(&self) -> &LimbParameters {
        &self.parameters
    }

    /// Height, m, in the Earth-fixed direction `place` (length 1) at `time_s`.
    pub fn height_m(&self, place: &Vector3<f64>, season: f64, time_s: f64) -> f64 {
        let p = &self.parameters;
        let mut height_m = p.height_m + p.season_m * seasonal(place.z, season);
        if p.scatter_m > 0.0 {
            height_m += p.scatter_m * patches(&self.weather, place, time_s, |draw| 2.0 * draw - 1.0);
        }
        if p.cloud_m > 0.0 && p.cloud_cover > 0.0 {
            let clear = 1.0 - p.cloud_cover;
            height_m -=
                p.cloud_m * patches(&self.cloud, place, time_s, |draw| ((draw - clear) / p.cloud_cover).max(0.0));
        }
        height_m
    }
}

/// A smooth random field over the Earth: draws on a lattice about the unit sphere, made into strengths and blended in
/// place and time. It never leaves the range of the strengths.
fn patches(source: &NoiseSource, place: &Vector3<f64>, time_s: f64, strength: impl Fn(f64) -> f64) -> f64 {
    let scaled = place / PATCH;
    let base = scaled.map(f64::floor);
    let share = (scaled - base).map(smooth);
    let epoch = (time_s / CHANGE_S).max(0.0);
    let late = smooth(epoch.fract());
    let mut sum = 0.0;
    for corner in 0..8_u32 {
        let mut weight = 1.0;
        let mut cell = 0_u64;
        for axis in 0..3 {
            let far = f64::from(corner >> axis & 1);
            weight *= if far > 0.0 { share[axis] } else { 1.0 - share[axis] };
            // −9…9 on each axis, five bits.
            cell = cell << 5 | (base[axis] + far + 16.0) as u64 & 31;
        }
        let at = |epoch: u64| strength(source.uniform(epoch << 15 | cell));
        let epoch = epoch as u64;
        sum += weight * (at(epoch) * (1.0 - late) + at(epoch + 1) * late);
    }
    sum
}

/// From 0 to 1 with level ends.
fn smooth(share: f64) -> f64 {
    share * share * (3.0 - 2.0 * share)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn limb(change: impl FnOnce(&mut LimbParameters)) -> Limb {
        let mut parameters =
            LimbParameters { height_m: 40e3, season_m: 0.0, scatter_m: 0.0, cloud_m: 0.0, cloud_cover: 0.2 };
        change(&mut parameters);
        Limb::new(parameters, 1, 0)
    }

    /// Even points over the sphere.
    fn places() -> impl Iterator<Item = Vector3<f64>> {
        (0..4_000).map(|i| {
            let z = 1.0 - (2.0 * f64::from(i) + 1.0) / 4_000.0;
            let (sin, cos) = (2.399_963 * f64::from(i)).sin_cos();
            Vector3::new((1.0 - z * z).sqrt() * cos, (1.0 - z * z).sqrt() * sin, z)
        })
    }

    #[test]
    fn weather_and_cloud_are_bounded_and_switch_off() {
        let (weather, cloud) = (limb(|p| p.scatter_m = 2e3), limb(|p| p.cloud_m = 3e3));
        let heights = |limb: &Limb| places().map(|place| limb.height_m(&place, 1.0, 5e4)).collect::<Vec<_>>();
        assert!(heights(&limb(|_| ())).iter().all(|&height| height == 40e3));
        let range = |heights: &[f64]| heights.iter().fold((f64::MAX, f64::MIN), |r, &h| (r.0.min(h), r.1.max(h)));
        let (low, high) = range(&heights(&weather));
        assert!(low > 38e3 && low < 39e3 && high > 41e3 && high < 42e3, "{low} {high}");
        let heights = heights(&cloud);
        let (low, high) = range(&heights);
        assert!((37e3..38.5e3).contains(&low) && high == 40e3, "{low} {high}");
        // A fifth of the lattice is clouded; blending spreads a little of it over half of the Earth.
        let under = heights.iter().filter(|&&height| height < 39.9e3).count() as f64 / 4_000.0;
        assert!((0.2..0.8).contains(&under), "{under}");
    }

    /// 7.5 km of flight, or ten seconds, change no more than a few metres: no step that a filter could trip over.
    #[test]
    fn patches_are_slow() {
        let cloud = limb(|p| p.cloud_m = 3e3);
        let mut most_m = 0.0_f64;
        for place in places() {
            let on = (place + Vector3::new(-place.y, place.x, 0.0) * 7.5e3 / 6.4e6).normalize();
            let here_m = cloud.height_m(&place, 0.0, 21_599.0);
            most_m = most_m.max((cloud.height_m(&on, 0.0, 21_599.0) - here_m).abs());
            most_m = most_m.max((cloud.height_m(&place, 0.0, 21_609.0) - here_m).abs());
        }
        assert!(most_m > 1.0 && most_m < 60.0, "{most_m}");
    }
}
