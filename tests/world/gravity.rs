//! The field, its constants, and first-order theory of the J2 secular rates.

use crate::{assert_near, assert_relative};
use stillframe::world::Vec3;
use stillframe::world::gravity::{GM_M3_S2, J2, Zonal};

#[test]
fn constants() {
    assert_eq!(GM_M3_S2, 3.986_004_418e14); // WGS 84
    assert_relative(J2, 0.001_082_626_683_553, 1e-12); // EGM96
}

/// scipy reference's force: Legendre potential, gradient by complex step.
#[test]
fn acceleration_is_the_gradient_of_the_potential() {
    let p = Vec3::new(4.1e6, -2.3e6, 4.9e6);
    let a = Zonal::EGM96.acceleration_m_s2(&p);
    assert_near(a.x, -5.207_514_396_180_277, 2e-15);
    assert_near(a.y, 2.921_288_563_710_885_6, 2e-15);
    assert_near(a.z, -6.241_432_938_570_2, 3e-15);
    // And against this code's own potential, which the energy checks rest on.
    let h = 10.0;
    for axis in 0..3 {
        let mut step = Vec3::zeros();
        step[axis] = h;
        let slope = (Zonal::EGM96.potential_j_kg(&(p + step)) - Zonal::EGM96.potential_j_kg(&(p - step))) / (2.0 * h);
        assert_near(a[axis], -slope, 1e-9);
    }
}

/// First-order secular theory: Kozai, *Astron. J.* 64, 367 (1959); Vallado ch. 9. Closed forms
/// with R = 6378.137 km and J2 = 1.08262668e-3.
#[test]
fn secular_rates() {
    let field = Zonal { j2: 1.082_626_68e-3, ..Zonal::EGM96 };
    let per_day = 86_400f64.to_degrees();
    for (h_km, k) in
        [(150.0, 9.185_451_838_402), (200.0, 8.943_401_640_145), (300.0, 8.483_387_393_931), (500.0, 7.650_944_605_225)]
    {
        let rates = field.secular_rates(6_378_137.0 + h_km * 1e3, 0.0, 0.0);
        assert_relative(-rates.node_rad_s * per_day, k, 1e-11);
    }
    let polar = field.secular_rates(6_578_137.0, 0.0, 90f64.to_radians());
    assert_relative(polar.perigee_rad_s * per_day, -4.471_700_820_073, 1e-11);
    let frozen = field.secular_rates(6_578_137.0, 0.0, 63.434_948_822_92f64.to_radians());
    assert_near(frozen.perigee_rad_s * per_day, 0.0, 1e-10);
}

/// Sun-synchronous inclinations, node rate 360°/365.2421897 d, same constants.
#[test]
fn sun_synchronous_inclinations() {
    let field = Zonal { j2: 1.082_626_68e-3, ..Zonal::EGM96 };
    for (h_km, inclination_deg) in [
        (150.0, 96.159_999_171_69),
        (200.0, 96.327_389_477_39),
        (500.0, 97.401_807_747_9f64),
        (800.0, 98.603_110_660_83),
    ] {
        let rates = field.secular_rates(6_378_137.0 + h_km * 1e3, 0.0, inclination_deg.to_radians());
        assert_relative(rates.node_rad_s * 86_400f64.to_degrees(), 360.0 / 365.242_189_7, 1e-9);
    }
}
