//! How the thermosphere's density follows the Sun's activity.
//!
//! The table is NRLMSIS 2.1 (Emmert et al., *Earth and Space Science* 9, 2022), computed with pymsis 0.13.0: density
//! over that of 150 solar flux units at the same height, both averaged over the whole Earth (twelve latitudes of equal
//! area, eight longitudes, three hours of the day, twelve months), daily and 81-day flux alike, Ap 4. The standard
//! atmosphere of 1976 is one of a mean Sun; it is taken as that of 150 units, and the ratio multiplies it.
//!
//! Within one run the Sun does not change. Real flux wanders by tens of per cent in its rotation of 27 days.

/// Flux at 10.7 cm that stands for the standard atmosphere, sfu (1e-22 W/m²/Hz).
pub const MEAN_SFU: f64 = 150.0;
/// Least and greatest flux of the table, sfu: the quiet Sun, and the peak of a strong cycle.
pub const FLUX_RANGE_SFU: [f64; 2] = [65.0, 250.0];
/// Relative error of such models by themselves, 1σ, the flux being known (common figure, from memory).
pub const MODEL_SIGMA: f64 = 0.15;

/// Flux of the table's columns, sfu.
const FLUX_SFU: [f64; 5] = [65.0, 100.0, 150.0, 200.0, 250.0];
/// Heights of the table, km.
const HEIGHT_KM: [f64; ROWS] = [
    80.0, 90.0, 100.0, 120.0, 150.0, 175.0, 200.0, 225.0, 250.0, 300.0, 350.0, 400.0, 500.0, 600.0, 700.0, 800.0,
    1000.0,
];
const ROWS: usize = 17;
/// ln of the density ratio; nothing at 80 km and below, where the Sun's rotation hardly shows.
const LN_RATIO: [[f64; 5]; ROWS] = [
    [0.0, 0.0, 0.0, 0.0, 0.0],
    [-0.0201, -0.0118, 0.0, 0.0118, 0.0235],
    [-0.0259, -0.0151, 0.0, 0.0147, 0.0289],
    [-0.0431, -0.0250, 0.0, 0.0247, 0.0485],
    [-0.1075, -0.0635, 0.0, 0.0622, 0.1215],
    [-0.2764, -0.1499, 0.0, 0.1300, 0.2456],
    [-0.4759, -0.2457, 0.0, 0.1971, 0.3630],
    [-0.6775, -0.3410, 0.0, 0.2598, 0.4698],
    [-0.8692, -0.4315, 0.0, 0.3178, 0.5668],
    [-1.2160, -0.5957, 0.0, 0.4210, 0.7368],
    [-1.5289, -0.7432, 0.0, 0.5120, 0.8852],
    [-1.8200, -0.8809, 0.0, 0.5959, 1.0214],
    [-2.2985, -1.1273, 0.0, 0.7511, 1.2736],
    [-2.4474, -1.2856, 0.0, 0.8829, 1.4939],
    [-2.1641, -1.2644, 0.0, 0.9635, 1.6462],
    [-1.7301, -1.0668, 0.0, 0.9549, 1.6764],
    [-1.2352, -0.7113, 0.0, 0.7095, 1.3545],
];

/// The table at one flux.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Activity {
    ln_ratio: [f64; ROWS],
    mean: bool,
}

impl Activity {
    /// At a flux, sfu; beyond the table's ends that of the end.
    pub fn at(flux_sfu: f64) -> Self {
        let flux_sfu = flux_sfu.clamp(FLUX_SFU[0], FLUX_SFU[4]);
        let column = FLUX_SFU[1..4].iter().filter(|&&edge| flux_sfu >= edge).count();
        // The ratio is nearly a power of the flux.
        let share = (flux_sfu / FLUX_SFU[column]).ln() / (FLUX_SFU[column + 1] / FLUX_SFU[column]).ln();
        let ln_ratio = LN_RATIO.map(|row| row[column] * (1.0 - share) + row[column + 1] * share);
        Self { ln_ratio, mean: flux_sfu == MEAN_SFU }
    }

    /// ln of the density over that of a mean Sun at a height, m.
    #[inline]
    pub fn ln_ratio(&self, height_m: f64) -> f64 {
        if self.mean {
            return 0.0;
        }
        let km = (height_m * 1e-3).clamp(HEIGHT_KM[0], HEIGHT_KM[ROWS - 1]);
        let row = HEIGHT_KM[1..ROWS - 1].iter().filter(|&&edge| km >= edge).count();
        let share = (km - HEIGHT_KM[row]) / (HEIGHT_KM[row + 1] - HEIGHT_KM[row]);
        self.ln_ratio[row] * (1.0 - share) + self.ln_ratio[row + 1] * share
    }

    /// Density over that of a mean Sun at a height, m.
    pub fn ratio(&self, height_m: f64) -> f64 {
        self.ln_ratio(height_m).exp()
    }
}
