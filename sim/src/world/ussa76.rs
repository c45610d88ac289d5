//! The US Standard Atmosphere 1976, computed from its own definitions.
//!
//! Source of every figure and equation: *U.S. Standard Atmosphere, 1976*, NOAA-S/T 76-1562
//! (NASA-TM-X-74335). Constants are the report's own (its R*, k and Earth radius), not today's.
//!
//! Below 86 km the air is mixed and the layers have closed forms (equations 23, 33a, 33b). Above,
//! each gas has a diffusion equation (36) integrated from the number densities at 86 km, with
//! hydrogen started at 500 km (39); temperature follows equations 25 to 31. The ellipse of
//! equation 27 is rebuilt from its end conditions, as its printed constants miss 240 K at 110 km
//! by 3e-4 K.

/// Universal gas constant of the report, J/(kmol K).
const R_STAR: f64 = 8_314.32;
/// Boltzmann constant of the report, J/K.
const BOLTZMANN: f64 = 1.380_622e-23;
/// Avogadro number of the report, 1/kmol.
const AVOGADRO: f64 = 6.022_169e26;
/// Gravity at sea level, m/s².
const G0: f64 = 9.806_65;
/// Effective Earth radius, km.
const R0_KM: f64 = 6_356.766;
/// Mean molar mass of mixed air, kg/kmol (table 2 line 4).
const M0: f64 = 28.964_4;

/// Where the mixed air of the layer table ends, km.
pub const MIXED_TOP_KM: f64 = 86.0;
/// Where the standard ends, km.
pub const TOP_KM: f64 = 1_000.0;
/// Where hydrogen begins to be counted, km.
const HYDROGEN_BASE_KM: f64 = 150.0;
/// Where hydrogen's boundary value is given, km.
const HYDROGEN_REFERENCE_KM: f64 = 500.0;

/// State of the air at one height.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct AirState {
    /// Kinetic temperature, K.
    pub temperature_k: f64,
    /// Pressure, Pa.
    pub pressure_pa: f64,
    /// Density, kg/m³.
    pub density_kg_m3: f64,
}

/// Acceleration of gravity at a geometric height, m/s² (equation 17).
fn gravity(z_km: f64) -> f64 {
    G0 * (R0_KM / (R0_KM + z_km)).powi(2)
}

/// Geopotential height of a geometric height, both km (equation 18).
pub fn geopotential_km(z_km: f64) -> f64 {
    R0_KM * z_km / (R0_KM + z_km)
}

/// (base geopotential height km, base molecular-scale temperature K, gradient K/km): table 4.
const LAYERS: [(f64, f64, f64); 7] = [
    (0.0, 288.15, -6.5),
    (11.0, 216.65, 0.0),
    (20.0, 216.65, 1.0),
    (32.0, 228.65, 2.8),
    (47.0, 270.65, 0.0),
    (51.0, 270.65, -2.8),
    (71.0, 214.65, -2.0),
];

/// Kinetic over molecular-scale temperature each 0.5 km from 80 to 86 km: M/M0 of table 8.
const MOLAR_RATIO: [f64; 13] = [
    1.0, 0.999_996, 0.999_989, 0.999_971, 0.999_941, 0.999_909, 0.999_870, 0.999_829, 0.999_786, 0.999_741, 0.999_694,
    0.999_641, 0.999_579,
];

fn molar_ratio(z_km: f64) -> f64 {
    let place = (z_km - 80.0) / 0.5;
    if place <= 0.0 {
        return 1.0;
    }
    let below = (place as usize).min(MOLAR_RATIO.len() - 2);
    let part = (place - below as f64).min(1.0);
    MOLAR_RATIO[below] + part * (MOLAR_RATIO[below + 1] - MOLAR_RATIO[below])
}

/// Mixed air at a geometric height from −5 to 86 km.
pub fn mixed(z_km: f64) -> AirState {
    let h_km = geopotential_km(z_km);
    let hydrostatic = 1_000.0 * G0 * M0 / R_STAR; // K per km of geopotential height
    let mut pressure_pa = 101_325.0;
    let mut scale_temperature_k = LAYERS[0].1;
    for (i, &(base_km, base_k, gradient)) in LAYERS.iter().enumerate() {
        let next_km = LAYERS.get(i + 1).map_or(f64::INFINITY, |layer| layer.0);
        let top_km = h_km.min(next_km);
        scale_temperature_k = base_k + gradient * (top_km - base_km);
        pressure_pa *= if gradient == 0.0 {
            (-hydrostatic * (top_km - base_km) / base_k).exp()
        } else {
            (base_k / scale_temperature_k).powf(hydrostatic / gradient)
        };
        if h_km <= next_km {
            break;
        }
    }
    AirState {
        temperature_k: scale_temperature_k * molar_ratio(z_km),
        pressure_pa,
        density_kg_m3: pressure_pa * M0 / (R_STAR * scale_temperature_k),
    }
}

const T7: f64 = 186.867_3;
const T9: f64 = 240.0;
const T10: f64 = 360.0;
const T_INF: f64 = 1_000.0;
const Z8_KM: f64 = 91.0;
const Z9_KM: f64 = 110.0;
const Z10_KM: f64 = 120.0;
/// Gradient from 110 to 120 km, K/km.
const L9: f64 = 12.0;

/// Kinetic temperature, K, and its gradient, K/km, at a geometric height of 86 to 1000 km.
pub fn thermosphere_temperature(z_km: f64) -> (f64, f64) {
    if z_km <= Z8_KM {
        (T7, 0.0)
    } else if z_km <= Z9_KM {
        // An ellipse with zero slope at 91 km and slope L9 at 110 km (appendix B).
        let span = Z9_KM - Z8_KM;
        let centre_k = (L9 * span * T9 + T7 * T7 - T9 * T9) / (L9 * span + 2.0 * T7 - 2.0 * T9);
        let height_k = T7 - centre_k;
        let half_width = span * -height_k / (height_k * height_k - (T9 - centre_k).powi(2)).sqrt();
        let s = (z_km - Z8_KM) / half_width;
        let root = (1.0 - s * s).sqrt();
        (centre_k + height_k * root, -height_k * s / (half_width * root))
    } else if z_km <= Z10_KM {
        (T9 + L9 * (z_km - Z9_KM), L9)
    } else {
        let stretch = (R0_KM + Z10_KM) / (R0_KM + z_km);
        let lambda = L9 / (T_INF - T10);
        let fall = (T_INF - T10) * (-lambda * (z_km - Z10_KM) * stretch).exp();
        (T_INF - fall, lambda * fall * stretch * stretch)
    }
}

/// Species in the order used here: N2, O, O2, Ar, He, H.
const SPECIES: usize = 6;
/// Molar masses, kg/kmol (table 3).
const MOLAR: [f64; SPECIES] = [28.013_4, 15.999_4, 31.998_8, 39.948, 4.002_6, 1.007_97];
/// Number densities at 86 km, 1/m³ (table 9); hydrogen has none there.
const AT_86_KM: [f64; 5] = [1.129_794e20, 8.6e16, 3.030_898e19, 1.351_400e18, 7.581_7e14];
/// Hydrogen's number density at 500 km, 1/m³, and its upward flux, 1/(m² s).
const HYDROGEN_AT_500_KM: f64 = 8.0e10;
const HYDROGEN_FLUX: f64 = 7.2e11;

/// What sets one gas's diffusion and vertical transport (tables 6 and 7).
struct Transport {
    /// Thermal diffusion coefficient α.
    alpha: f64,
    /// D = a/N (T/273.15)^b: a in 1/(m s).
    a: f64,
    b: f64,
    /// Flux term: Q (Z−U)² exp(−W(Z−U)³), km.
    q: f64,
    u_km: f64,
    w: f64,
}

const OXYGEN: Transport =
    Transport { alpha: 0.0, a: 6.986e20, b: 0.75, q: -5.809_644e-4, u_km: 56.903_11, w: 2.706_240e-5 };
const OXYGEN2: Transport = Transport { alpha: 0.0, a: 4.863e20, b: 0.75, q: 1.366_212e-4, u_km: 86.0, w: 8.333_333e-5 };
const ARGON: Transport = Transport { alpha: 0.0, a: 4.487e20, b: 0.87, q: 9.434_079e-5, u_km: 86.0, w: 8.333_333e-5 };
const HELIUM: Transport =
    Transport { alpha: -0.40, a: 1.700e21, b: 0.691, q: -2.457_369e-4, u_km: 86.0, w: 6.666_667e-4 };
const HYDROGEN: Transport = Transport { alpha: -0.25, a: 3.305e21, b: 0.5, q: 0.0, u_km: 0.0, w: 0.0 };

impl Transport {
    /// Molecular diffusion coefficient, m²/s, in a background of `n` particles per m³.
    fn diffusion(&self, n: f64, t_k: f64) -> f64 {
        self.a / n * (t_k / 273.15).powf(self.b)
    }

    /// Vertical transport term, 1/km.
    fn flux(&self, z_km: f64) -> f64 {
        let s = z_km - self.u_km;
        self.q * s * s * (-self.w * s * s * s).exp()
    }
}

/// Atomic oxygen's second flux term below 97 km, 1/km (table 7: q, u, w).
fn oxygen_extra_flux(z_km: f64) -> f64 {
    let s = 97.0 - z_km;
    if s <= 0.0 { 0.0 } else { -3.416_248e-3 * s * s * (-5.008_765e-4 * s * s * s).exp() }
}

/// Eddy diffusion coefficient, m²/s (equations 7a to 7c of part 1).
fn eddy(z_km: f64) -> f64 {
    if z_km < 95.0 {
        120.0
    } else if z_km < 115.0 {
        120.0 * (1.0 - 400.0 / (400.0 - (z_km - 95.0).powi(2))).exp()
    } else {
        0.0
    }
}

/// Number densities of the five heavier gases by their logarithms.
type LogDensities = [f64; 5];

/// d(ln n)/dz for N2, O, O2, Ar, He, 1/km.
fn log_slopes(z_km: f64, ln_n: &LogDensities) -> LogDensities {
    let (t, dt) = thermosphere_temperature(z_km);
    let weight = 1_000.0 * gravity(z_km) / (R_STAR * t); // 1/km per kg/kmol
    let thermal = dt / t;
    let k = eddy(z_km);
    // Nitrogen is taken as mixed up to 100 km and as settled by its own weight above.
    let mixed_molar = if z_km <= 100.0 { M0 } else { MOLAR[0] };
    let n = ln_n.map(f64::exp);
    let light = n[0];
    let heavy = n[0] + n[1] + n[2];
    let heavy_molar = if z_km <= 100.0 { M0 } else { (n[0] * MOLAR[0] + n[1] * MOLAR[1] + n[2] * MOLAR[2]) / heavy };
    let slope = |gas: &Transport, molar: f64, background: f64, mean_molar: f64, extra: f64| {
        let d = gas.diffusion(background, t);
        let settled = d / (d + k);
        let pull = weight * (settled * molar + (1.0 - settled) * mean_molar);
        -(pull + settled * gas.alpha * thermal + gas.flux(z_km) + extra + thermal)
    };
    [
        -(weight * mixed_molar + thermal),
        slope(&OXYGEN, MOLAR[1], light, mixed_molar, oxygen_extra_flux(z_km)),
        slope(&OXYGEN2, MOLAR[2], light, mixed_molar, 0.0),
        slope(&ARGON, MOLAR[3], heavy, heavy_molar, 0.0),
        slope(&HELIUM, MOLAR[4], heavy, heavy_molar, 0.0),
    ]
}

fn advance(ln_n: &LogDensities, slope: &LogDensities, step: f64) -> LogDensities {
    std::array::from_fn(|i| ln_n[i] + step * slope[i])
}

/// One classical Runge-Kutta step of the diffusion equations from `z_km` by `h_km`.
fn diffusion_step(z_km: f64, ln_n: &LogDensities, h_km: f64) -> LogDensities {
    // The slopes jump at layer boundaries, which always fall on a step's end: stay just inside.
    let (low, high) = (z_km + 1e-9, z_km + h_km - 1e-9);
    let k1 = log_slopes(low, ln_n);
    let k2 = log_slopes(z_km + 0.5 * h_km, &advance(ln_n, &k1, 0.5 * h_km));
    let k3 = log_slopes(z_km + 0.5 * h_km, &advance(ln_n, &k2, 0.5 * h_km));
    let k4 = log_slopes(high, &advance(ln_n, &k3, h_km));
    std::array::from_fn(|i| ln_n[i] + h_km / 6.0 * (k1[i] + 2.0 * (k2[i] + k3[i]) + k4[i]))
}

/// The thermosphere at 86, 86 + `step_km`, … 1000 km. `step_km` must divide 0.5 km.
///
/// Integration runs at 0.05 km below 150 km and at `step_km` above.
pub fn thermosphere(step_km: f64) -> Vec<AirState> {
    let count = ((TOP_KM - MIXED_TOP_KM) / step_km).round() as usize;
    let height = |i: usize| MIXED_TOP_KM + i as f64 * step_km;
    let mut column = Vec::with_capacity(count + 1);
    let mut ln_n = AT_86_KM.map(f64::ln);
    column.push(ln_n);
    for i in 0..count {
        let z_km = height(i);
        let parts = if z_km < 150.0 { (step_km / 0.05).ceil().max(1.0) as usize } else { 1 };
        let h_km = step_km / parts as f64;
        for part in 0..parts {
            ln_n = diffusion_step(z_km + part as f64 * h_km, &ln_n, h_km);
        }
        column.push(ln_n);
    }
    let hydrogen = hydrogen(&column, step_km);
    let states = column.iter().zip(&hydrogen).enumerate();
    states.map(|(i, (ln_n, &h))| state_from_gases(height(i), ln_n, h)).collect()
}

/// Number density of hydrogen at each height of the column, 1/m³; zero below 150 km.
///
/// Equation 39 in integrated form: n T^(1+α) e^τ falls with height by φ/D T^(1+α) e^τ, with the
/// value at 500 km given. Trapezoids, the fall-off being smooth on this grid.
fn hydrogen(column: &[LogDensities], step_km: f64) -> Vec<f64> {
    let reference = ((HYDROGEN_REFERENCE_KM - MIXED_TOP_KM) / step_km).round() as usize;
    let base = ((HYDROGEN_BASE_KM - MIXED_TOP_KM) / step_km).round() as usize;
    let weight = |i: usize| {
        let z_km = MIXED_TOP_KM + i as f64 * step_km;
        1_000.0 * gravity(z_km) * MOLAR[5] / (R_STAR * thermosphere_temperature(z_km).0)
    };
    // τ, zero at 500 km.
    let mut tau = vec![0.0; column.len()];
    for i in reference + 1..column.len() {
        tau[i] = tau[i - 1] + 0.5 * step_km * (weight(i - 1) + weight(i));
    }
    for i in (base..reference).rev() {
        tau[i] = tau[i + 1] - 0.5 * step_km * (weight(i + 1) + weight(i));
    }
    let (t_ref, _) = thermosphere_temperature(HYDROGEN_REFERENCE_KM);
    let growth = |i: usize| {
        let (t, _) = thermosphere_temperature(MIXED_TOP_KM + i as f64 * step_km);
        (t / t_ref).powf(1.0 + HYDROGEN.alpha) * tau[i].exp()
    };
    let source = |i: usize| {
        let (t, _) = thermosphere_temperature(MIXED_TOP_KM + i as f64 * step_km);
        let background = column[i].iter().map(|x| x.exp()).sum();
        1_000.0 * HYDROGEN_FLUX / HYDROGEN.diffusion(background, t) * growth(i)
    };
    let mut carried = vec![0.0; column.len()];
    carried[reference] = HYDROGEN_AT_500_KM;
    for i in reference + 1..column.len() {
        carried[i] = carried[i - 1] - 0.5 * step_km * (source(i - 1) + source(i));
    }
    for i in (base..reference).rev() {
        carried[i] = carried[i + 1] + 0.5 * step_km * (source(i + 1) + source(i));
    }
    (0..column.len()).map(|i| if i < base { 0.0 } else { carried[i] / growth(i) }).collect()
}

fn state_from_gases(z_km: f64, ln_n: &LogDensities, hydrogen: f64) -> AirState {
    let (temperature_k, _) = thermosphere_temperature(z_km);
    let mut number = hydrogen;
    let mut mass = hydrogen * MOLAR[5];
    for (ln, molar) in ln_n.iter().zip(MOLAR) {
        number += ln.exp();
        mass += ln.exp() * molar;
    }
    AirState { temperature_k, pressure_pa: number * BOLTZMANN * temperature_k, density_kg_m3: mass / AVOGADRO }
}
