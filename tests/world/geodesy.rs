//! The WGS-84 figure. Source unless said otherwise: NGA.STND.0036, *World Geodetic System 1984*.

use crate::{assert_near, assert_relative};
use proptest::prelude::*;
use stillframe::world::Vec3;
use stillframe::world::ellipsoid::{self, Geodetic};

#[test]
fn defining_and_derived_constants() {
    assert_eq!(ellipsoid::A_M, 6_378_137.0);
    assert_relative(1.0 / ellipsoid::F, 298.257_223_563, 1e-15);
    assert_relative(ellipsoid::B_M, 6_356_752.314_245, 1e-12);
    assert_relative(ellipsoid::E2, 0.006_694_379_990_141, 1e-12);
    assert_relative(ellipsoid::EP2, 0.006_739_496_742_276, 1e-12);
}

/// The documented example of pymap3d; astropy 8.0.2 gives the same to 1e-8 m.
#[test]
fn geodetic_to_cartesian() {
    let p = Geodetic::from_degrees(42.0, -82.0, 200.0).to_cartesian();
    assert_near(p.x, 660_675.251_824_7, 1e-6);
    assert_near(p.y, -4_700_948.683_162, 1e-6);
    assert_near(p.z, 4_245_737.662_222, 1e-6);
}

/// Vallado, *Fundamentals of Astrodynamics*, example 3-3; digits from astropy 8.0.2 (erfa), whose
/// single Halley step leaves about 2e-10° at such a height. The round trip below is sharper.
#[test]
fn cartesian_to_geodetic() {
    let g = Geodetic::from_cartesian(&Vec3::new(6_524_834.0, 6_862_875.0, 6_448_296.0));
    assert_near(g.latitude_rad.to_degrees(), 34.352_495_151_03, 5e-10);
    assert_near(g.longitude_rad.to_degrees(), 46.446_416_856_79, 1e-10);
    assert_near(g.height_m, 5_085_218.731_092, 1e-5);
}

/// High, polar and low points; erfa `gc2gd`, good to some 1e-13 rad at these (see above).
#[test]
fn cartesian_to_geodetic_at_all_heights() {
    for (p, lon, lat, h) in [
        ([42_164e3, 1e6, 3e6], 0.023_712_469_545_185_43, 0.071_082_681_642_866_44, 35_904_388.866_104_3),
        ([1e6, 2e6, 4.5e7], 1.107_148_717_794_090_4, 1.521_193_851_355_904_2, 38_698_716.280_008_85),
        ([1.0, 0.0, 6.9e6], 0.0, 1.570_796_182_761_646_3, 543_247.685_754_892_4),
        ([5e6, -4e6, -1e6], -0.674_740_942_223_552_6, -0.155_933_178_219_698_04, 103_115.314_641_068_79),
    ] {
        let g = Geodetic::from_cartesian(&Vec3::from(p));
        assert_near(g.longitude_rad, lon, 1e-14);
        assert_near(g.latitude_rad, lat, 1e-13);
        assert_near(g.height_m, h, 1e-7);
        assert_near(ellipsoid::height_m(&Vec3::from(p)), h, 1e-7);
    }
}

/// Closed forms of any geodesy text; pymap3d 3.2.0 agrees.
#[test]
fn radii_and_latitudes_at_45_degrees() {
    let lat = 45f64.to_radians();
    assert_relative(ellipsoid::meridian_radius_m(lat), 6_367_381.815_62, 1e-12);
    assert_relative(ellipsoid::prime_vertical_radius_m(lat), 6_388_838.290_121, 1e-12);
    let difference_deg = ellipsoid::latitude_difference_rad(lat).to_degrees();
    assert_relative(difference_deg, 0.192_423_215_982, 1e-11);
    let geocentric = lat - ellipsoid::latitude_difference_rad(lat);
    let surface = Geodetic::from_degrees(45.0, 0.0, 0.0).to_cartesian();
    assert_near(ellipsoid::surface_radius_m(geocentric), surface.norm(), 1e-8);
}

/// Looking straight down the ray must meet the point below; looking up or level, nothing.
#[test]
fn line_of_sight() {
    let above = Geodetic::from_degrees(37.0, 20.0, 220_000.0);
    let eye = above.to_cartesian();
    let hit = ellipsoid::ray_to_height(&eye, &-above.up(), 1_500.0).expect("looks at the Earth");
    let expected = Geodetic { height_m: 1_500.0, ..above }.to_cartesian();
    assert_near((hit - expected).norm(), 0.0, 1e-5);
    assert!(ellipsoid::ray_to_height(&eye, &above.up(), 0.0).is_none(), "looks away");
    let north = above.up().cross(&eye.cross(&above.up()));
    assert!(ellipsoid::ray_to_height(&eye, &north, 0.0).is_none(), "looks past the horizon");
}

proptest! {
    /// There and back again, from below sea level to beyond the geostationary ring.
    #[test]
    fn round_trip(lat in -90.0..90.0, lon in -180.0..180.0, h in -10_000.0..5.0e7) {
        let there = Geodetic::from_degrees(lat, lon, h);
        let back = Geodetic::from_cartesian(&there.to_cartesian());
        prop_assert!((back.latitude_rad - there.latitude_rad).abs() < 2e-15);
        // 1e-15 rad of longitude near a pole is less than the rounding of the Cartesian point.
        let arc = (back.longitude_rad - there.longitude_rad).sin().abs();
        prop_assert!(arc * there.latitude_rad.cos() < 1e-14);
        prop_assert!((back.height_m - there.height_m).abs() < 3e-8);
    }

    /// A ray to a height ends at that height, and lies on the line.
    #[test]
    fn ray_ends_at_its_height(
        lat in -89.0..89.0, lon in -180.0..180.0, eye_h in 1.5e5..2.0e6,
        target in -400.0..9_000.0, tilt in 0.0..55.0f64, turn in 0.0..360.0f64,
    ) {
        let place = Geodetic::from_degrees(lat, lon, eye_h);
        let (up, eye) = (place.up(), place.to_cartesian());
        let east = Vec3::z().cross(&up).normalize();
        let side = east * turn.to_radians().cos() + up.cross(&east) * turn.to_radians().sin();
        let ray = side * tilt.to_radians().sin() - up * tilt.to_radians().cos();
        if let Some(hit) = ellipsoid::ray_to_height(&eye, &ray, target) {
            prop_assert!((Geodetic::from_cartesian(&hit).height_m - target).abs() < 2e-6);
            let along = (hit - eye).normalize();
            prop_assert!((along - ray).norm() < 1e-12);
        } else {
            // Only a high eye at a wide tilt can miss.
            let limit = (6.3567e6 / (6.3567e6 + eye_h)).asin().to_degrees();
            prop_assert!(tilt > limit - 0.5);
        }
    }
}

/// How far the one-pass height is from the full one, by height: the bound its documentation gives.
#[test]
fn quick_height_error() {
    for (top_m, bound_m) in [(2.0e6, 1e-8), (5.0e7, 1e-7)] {
        let mut worst = 0.0f64;
        for i in 0..=180 {
            for j in 0..=40 {
                let h = -1e4 + f64::from(j) / 40.0 * (top_m + 1e4);
                let p = Geodetic::from_degrees(f64::from(i) * 0.5, 33.0, h).to_cartesian();
                worst = worst.max((ellipsoid::height_m(&p) - h).abs());
            }
        }
        println!("one-pass height to {:.0} km: {worst:.1e} m", top_m / 1e3);
        assert!(worst < bound_m, "{worst}");
    }
}
