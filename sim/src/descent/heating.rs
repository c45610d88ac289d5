//! Heating at the stagnation point of a blunt nose.

/// Sutton and Graves' constant for air, kg^½/m: NASA TR R-376 (1971), as commonly quoted. Pages that give 1.83e-4
/// follow another fit; the two are 5 % apart.
pub const K: f64 = 1.741_5e-4;

/// Convective heat flux to a cold wall, W/m²: k √(ρ/R) V³, with ρ in kg/m³, nose radius R in m, V in m/s.
///
/// Holds for continuum flow. Radiation from the shock adds less than 1 % below 8 km/s on a nose of this size (from
/// memory), and in free-molecular flow above some 100 km it gives too much of very little.
pub fn flux_w_m2(density_kg_m3: f64, nose_radius_m: f64, speed_m_s: f64) -> f64 {
    K * (density_kg_m3 / nose_radius_m).sqrt() * speed_m_s.powi(3)
}
