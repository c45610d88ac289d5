//! Ground points and contacts.

use crate::{assert_near, assert_relative};
use stillframe::world::Vec3;
use stillframe::world::atmosphere::Atmosphere;
use stillframe::world::ellipsoid::Geodetic;
use stillframe::world::ephemeris::Ephemeris;
use stillframe::world::frames::{EARTH_RATE_RAD_S, EarthRotation, OrbitalFrame, Topocentric};
use stillframe::world::kepler::Elements;
use stillframe::world::orbit::{Forces, Orbit};
use stillframe::world::track::{Station, ground_point};

const R: f64 = 6_378_137.0;

/// Longest overhead pass above 5° at 200 km over a sphere that does not turn: 295.105 s, half-angle
/// 10.00424°, slant range 1147.127 km (spherical geometry). The equator of the ellipsoid is a
/// circle, and an equatorial vehicle stays on it, so the sphere's numbers hold exactly.
#[test]
fn longest_pass() {
    let r = R + 200e3;
    let n = (3.986_004_418e14 / r.powi(3)).sqrt();
    let fixed = |t: f64| Vec3::new((n * t).cos(), (n * t).sin(), 0.0) * r;
    let station = Station::new(Geodetic::from_degrees(0.0, 30.0, 0.0), 5f64.to_radians());
    let contacts = station.contacts(fixed, 0.0, 5_000.0);
    assert_eq!(contacts.len(), 1);
    let pass = contacts[0];
    assert_near(pass.duration_s(), 295.105_402_303_9, 5e-6);
    assert_near((n * pass.duration_s() / 2.0).to_degrees(), 10.004_244_872_99, 1e-6);
    assert_near(pass.highest_elevation_rad.to_degrees(), 90.0, 0.01);
    assert_near(pass.culmination_s, 30f64.to_radians() / n, 0.02);
    let at_mask = station.look(&fixed(pass.aos_s));
    assert_near(at_mask.range_m, 1_147_126.612_939, 0.1);
    assert_near(at_mask.azimuth_rad.to_degrees(), 270.0, 1e-6);
    assert_near(station.look(&fixed(pass.los_s)).azimuth_rad.to_degrees(), 90.0, 1e-6);
}

/// Every window found must be right at its edges, and a second-by-second look must find no other.
#[test]
fn windows_of_a_day_agree_with_a_plain_scan() {
    let start = Elements {
        semi_major_axis_m: R + 235e3,
        eccentricity: 0.001,
        inclination_rad: 82f64.to_radians(),
        node_rad: 0.4,
        perigee_rad: 1.0,
        true_anomaly_rad: 0.0,
    };
    let forces = Forces::new(Atmosphere::new(1.0), 1.0 / 169.0);
    let orbit = Orbit::new(forces, start.to_state(), 0.0, 10.0).expect("above the air");
    let ephemeris = Ephemeris::predict(&orbit, 86_400.0).expect("stays up");
    let earth = EarthRotation { angle_at_start_rad: 0.7, rate_rad_s: EARTH_RATE_RAD_S };
    let fixed = |t: f64| earth.to_fixed(t, &ephemeris.position(t));
    let mut shortest = f64::INFINITY;
    for (lat, lon) in [(64.0, 20.0), (-33.0, 150.0), (5.0, -60.0), (78.0, 15.0)] {
        let station = Station::new(Geodetic::from_degrees(lat, lon, 100.0), 5f64.to_radians());
        let contacts = station.contacts(fixed, 0.0, 86_400.0);
        let heard = |t: f64| station.look(&fixed(t)).elevation_rad > station.mask_rad;
        for pass in &contacts {
            assert!(!heard(pass.aos_s - 1e-3) && heard(pass.aos_s + 1e-3));
            assert!(heard(pass.los_s - 1e-3) && !heard(pass.los_s + 1e-3));
            // 344 s over a sphere at 250 km, the apogee here; the Earth's turning adds little.
            assert!(pass.duration_s() < 350.0);
            shortest = shortest.min(pass.duration_s());
        }
        for second in 0..86_400 {
            let t = f64::from(second);
            let listed = contacts.iter().any(|p| p.aos_s < t && t < p.los_s);
            assert_eq!(listed, heard(t), "at {t} s");
        }
        assert!(contacts.len() >= 2, "{} contacts", contacts.len());
    }
    println!("shortest contact {shortest:.1} s");
}

/// A contact too short for the 30 s scan, cut out of the top of a pass by a high mask.
#[test]
fn short_contact_between_scan_points() {
    let r = R + 200e3;
    let n = (3.986_004_418e14 / r.powi(3)).sqrt();
    let fixed = |t: f64| Vec3::new((n * (t - 45.0)).cos(), (n * (t - 45.0)).sin(), 0.0) * r;
    let station = Station::new(Geodetic::from_degrees(0.0, 0.0, 0.0), 85f64.to_radians());
    let contacts = station.contacts(fixed, 0.0, 600.0);
    assert_eq!(contacts.len(), 1);
    assert_near(contacts[0].culmination_s, 45.0, 0.01);
    assert!(contacts[0].duration_s() < 5.0);
}

#[test]
fn ground_point_and_axes() {
    let earth = EarthRotation { angle_at_start_rad: 1.0, rate_rad_s: EARTH_RATE_RAD_S };
    let over = Geodetic::from_degrees(-41.3, 174.8, 220e3);
    let inertial = earth.to_inertial(500.0, &over.to_cartesian());
    let found = ground_point(&inertial, &earth, 500.0);
    assert_near(found.latitude_rad, over.latitude_rad, 1e-14);
    assert_near(found.longitude_rad, over.longitude_rad, 1e-14);
    assert_near(found.height_m, over.height_m, 1e-7);
    assert_near((earth.matrix(500.0) * inertial - over.to_cartesian()).norm(), 0.0, 1e-8);
    // A vehicle at rest on the Earth has no velocity relative to it.
    let carried = Vec3::new(0.0, 0.0, EARTH_RATE_RAD_S).cross(&inertial);
    assert_near(earth.relative_velocity(&inertial, &carried).norm(), 0.0, 1e-10);
    let axes = Topocentric::at(Geodetic::from_degrees(30.0, 40.0, 0.0));
    assert_near(axes.azimuth_rad(&(axes.east - axes.north)).to_degrees(), 135.0, 1e-12);
    assert_near(axes.elevation_rad(&(axes.east + axes.up)).to_degrees(), 45.0, 1e-12);
}

/// Conventions of the local orbital frame, and its rate against finite differences of the frame
/// itself along the flown orbit.
#[test]
fn local_orbital_frame() {
    let (r, v) = (Vec3::new(6.6e6, 0.0, 0.0), Vec3::new(0.0, 7_700.0, 0.0));
    let frame = OrbitalFrame::from_state(&r, &v);
    assert_eq!((frame.x, frame.y, frame.z), (Vec3::y(), -Vec3::z(), -Vec3::x()));

    let start = Elements {
        semi_major_axis_m: R + 220e3,
        eccentricity: 0.002,
        inclination_rad: 50f64.to_radians(),
        node_rad: 0.4,
        perigee_rad: 1.0,
        true_anomaly_rad: 0.3,
    };
    let orbit = Orbit::new(Forces::new(Atmosphere::new(0.0), 0.0), start.to_state(), 0.0, 10.0).expect("above the air");
    let (t, h) = (5.0, 0.5);
    let at = |t: f64| {
        let (r, v) = orbit.position_velocity(t);
        OrbitalFrame::from_state(&r, &v).to_inertial()
    };
    // C^T dC/dt is the cross-product matrix of the rate in the frame's own axes.
    let skew = at(t).transpose() * (at(t + h) - at(t - h)) / (2.0 * h);
    let (r, v) = orbit.position_velocity(t);
    let rate = OrbitalFrame::rate_rad_s(&r, &v, &orbit.acceleration(t));
    assert_near(skew[(2, 1)], rate.x, 1e-12);
    assert_relative(skew[(0, 2)], rate.y, 1e-6); // the difference's own error, n²h²/6
    assert_near(skew[(1, 0)], rate.z, 1e-11);
    assert!(rate.z.abs() > 1e-7, "the plane must turn for this to test anything");
}
