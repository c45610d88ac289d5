//! The horizon as a scanning sensor meets it: the limb of the ellipsoid, its height, and what comes out as tilt.

use crate::{assert_near, assert_relative};
use nalgebra::Vector3;
use stillframe::plant::sensors::{
    Horizon, HorizonParameters, HorizonView, Surroundings,
    limb::{LimbParameters, seasonal},
    scan::Earth,
};
use stillframe::world::{sun::Sun, time::Utc};

/// Distance from the Earth's centre of a vehicle at 200 km over the equator, m.
const RADIUS_M: f64 = 6_578_137.0;

/// Angle from straight down to the edge of `earth` towards `aside` (length 1, across down), degrees.
fn edge_deg(earth: &Earth, aside: &Vector3<f64>, height_m: f64) -> f64 {
    let down = -earth.position_m.normalize();
    let (mut inside, mut outside) = (0.0_f64, 90.0_f64);
    while outside - inside > 1e-11 {
        let middle = 0.5 * (inside + outside);
        let ray = down * middle.to_radians().cos() + aside * middle.to_radians().sin();
        *if earth.inside_m(&ray, height_m) > 0.0 { &mut inside } else { &mut outside } = middle;
    }
    inside
}

/// Over geocentric latitude `latitude_deg`, north towards body +x, the camera at the Earth's centre.
fn over(latitude_deg: f64, oblate: bool) -> Earth {
    let (sin, cos) = latitude_deg.to_radians().sin_cos();
    Earth { position_m: Vector3::new(0.0, 0.0, -RADIUS_M), pole: Vector3::new(cos, 0.0, -sin), oblate }
}

/// Hard sphere and horizon at 40 km, from sin ρ = R/(R + h): Wertz (1978), eq. 4-25.
#[test]
fn the_angular_radius_of_the_earth() {
    assert_near(edge_deg(&over(0.0, false), &Vector3::x(), 0.0), 75.835_289, 1e-6);
    assert_near(edge_deg(&over(0.0, false), &Vector3::y(), 40e3), 77.337_181, 1e-6);
    // The raised edge moves by 0.0397332° a kilometre there.
    let change =
        edge_deg(&over(0.0, false), &Vector3::x(), 40.5e3) - edge_deg(&over(0.0, false), &Vector3::x(), 39.5e3);
    assert_near(change, 0.039_733_2, 1e-6);
}

/// Tangent rays to the WGS-84 ellipsoid from 45° of geocentric latitude, by root finding apart (agrees with Wertz
/// eq. 4-24 to 1e-14): north 75.278590°, east 75.482063°, south 75.639177°.
#[test]
fn the_edge_of_the_flattened_earth() {
    let earth = over(45.0, true);
    for (aside, expected) in [(Vector3::x(), 75.278_590), (Vector3::y(), 75.482_063), (-Vector3::x(), 75.639_177)] {
        assert_near(edge_deg(&earth, &aside, 0.0), expected, 1e-6);
    }
}

const PARAMETERS: HorizonParameters = HorizonParameters {
    noise_rad: 0.0,
    bias_rad: [0.0; 2],
    range_rad: 0.5,
    scan_half_angle_rad: 1.05,
    sample_ticks: 10,
    acquire_samples: 0,
    oblate: true,
    limb: LimbParameters { height_m: 0.0, season_m: 0.0, scatter_m: 0.0, cloud_m: 0.0, cloud_cover: 0.2 },
    sun_half_angle_rad: 0.0,
    moon_half_angle_rad: 0.0,
};

fn view(earth: &Earth) -> HorizonView {
    HorizonView { position_body_m: earth.position_m, pole_body: earth.pole }
}

/// Roll and pitch read over `earth`, degrees, after a look round with the Sun at `sun_body`.
fn read_deg(parameters: &HorizonParameters, earth: &Earth, sun_body: Vector3<f64>) -> [f64; 2] {
    let mut horizon = Horizon::new(parameters.clone(), 1, 0);
    let sun = Sun::at(Utc::parse("2026-07-15T00:00:00Z").unwrap());
    let meridian_body = Vector3::y().cross(&earth.pole).normalize();
    let around =
        Surroundings { time_s: 0.0, meridian_body, sun: &sun, sun_body, moon_body: Vector3::z(), moon_lit: 1.0 };
    horizon.look_around(&view(earth), &around);
    let sample = horizon.read(0, &view(earth));
    assert!(sample.locked);
    [sample.roll_rad, sample.pitch_rad].map(|angle| f64::from(angle).to_degrees())
}

/// Middle of the edges north and south at 45°: 0.180293° towards the equator, as above. The scan meets the edge some
/// 30° aside of north and south, where it bends by 0.3 % less or more.
#[test]
fn flattening_tilts_what_the_sensor_reads() {
    let tilt = read_deg(&PARAMETERS, &over(45.0, true), Vector3::z());
    // The middle lies towards −x (south): nose up.
    assert_near(tilt[1], 0.180_293, 0.003 * 0.18);
    assert_near(tilt[0], 0.0, 1e-6);
    let round = HorizonParameters { oblate: false, ..PARAMETERS };
    assert_eq!(read_deg(&round, &over(45.0, true), Vector3::z()).map(|deg| (deg * 1e6).round()), [0.0; 2]);
}

/// Height of the 3 hPa surface over latitudes −85°, −75° … 85°, km: NRLMSIS 2.1 by pymsis 0.13.0, mean over six
/// longitudes and four hours, flux 150 sfu, Ap 4; mid-January and mid-July.
const JANUARY_KM: [f64; 18] =
    [41.3, 41.2, 41.0, 40.7, 40.3, 39.8, 39.6, 39.4, 39.4, 39.4, 39.4, 39.4, 39.2, 38.9, 38.4, 37.7, 37.0, 36.6];
const JULY_KM: [f64; 18] =
    [33.7, 34.5, 35.9, 37.2, 38.3, 39.0, 39.4, 39.5, 39.6, 39.7, 39.8, 40.0, 40.2, 40.5, 40.7, 41.0, 41.1, 41.2];

#[test]
fn the_seasons_are_those_of_a_constant_pressure() {
    // Season by the Sun's declination: −21.3° and +21.6° of 23.4° in mid-January and mid-July.
    let misses = |size_km: f64| {
        let mut squares = 0.0;
        for (table, season) in [(JANUARY_KM, -0.91), (JULY_KM, 0.92)] {
            let equator = 0.5 * (table[8] + table[9]);
            for (row, height_km) in table.iter().enumerate() {
                let sin = (10.0 * row as f64 - 85.0).to_radians().sin();
                let off = height_km - equator - size_km * seasonal(sin, season);
                squares += off * off / 36.0;
            }
        }
        f64::sqrt(squares)
    };
    let (with, without) = (misses(3.0), misses(0.0));
    println!("{with:.2} km with, {without:.2} km without");
    // One shape for both halves of the Earth, whose winter poles differ by 3 km; 0.7 km is 0.03° on one edge.
    assert!(with < 0.75 && without > 1.5, "{with} {without}");
}

/// In July at 60° south the horizon sinks towards the pole: the sensor sees the Earth's middle further north.
#[test]
fn the_winter_pole_tilts_what_the_sensor_reads() {
    let seasonal = HorizonParameters { limb: LimbParameters { season_m: 3e3, ..PARAMETERS.limb }, ..PARAMETERS };
    let (with, without) = (
        read_deg(&seasonal, &over(-60.0, true), Vector3::z()),
        read_deg(&PARAMETERS, &over(-60.0, true), Vector3::z()),
    );
    let change = with[1] - without[1];
    println!("{change:.4}°");
    // From 48° to 72° south the table above falls by some 3.2 km; 0.04° a kilometre on two of four edges.
    assert!(change < -0.03 && change > -0.09, "{change}");
    assert_near(with[0], without[0], 1e-6);
}

/// Cold cloud and weather tilt by no more than their size on every edge, and only when they are switched on.
#[test]
fn weather_and_cloud_tilt_within_their_bounds() {
    let spread = |limb: LimbParameters| {
        let parameters = HorizonParameters { limb, ..PARAMETERS };
        let mut most = 0.0_f64;
        for latitude in -17..17 {
            let earth = over(5.0 * f64::from(latitude), true);
            let (with, without) =
                (read_deg(&parameters, &earth, Vector3::z()), read_deg(&PARAMETERS, &earth, Vector3::z()));
            most = most.max((with[0] - without[0]).abs()).max((with[1] - without[1]).abs());
        }
        most
    };
    assert_eq!(spread(PARAMETERS.limb), 0.0);
    let cloudy = spread(LimbParameters { cloud_m: 3e3, ..PARAMETERS.limb });
    let stormy = spread(LimbParameters { scatter_m: 3e3, ..PARAMETERS.limb });
    println!("{cloudy:.3}° {stormy:.3}°");
    assert!(cloudy > 0.02 && cloudy < 0.04 * 3.0, "{cloudy}");
    assert!(stormy > 0.02 && stormy < 0.04 * 6.0, "{stormy}");
}

/// The Sun just above the edge that a scan crosses, 60° off the cone's axis: its far side counts as the Earth's.
#[test]
fn the_sun_beside_an_edge_tilts_and_elsewhere_does_not() {
    let earth = over(0.0, false);
    let sunny = HorizonParameters { sun_half_angle_rad: 3_f64.to_radians(), oblate: false, ..PARAMETERS };
    let (sin, cos) = sunny.scan_half_angle_rad.sin_cos();
    let edge = (edge_deg(&earth, &Vector3::x(), 0.0).to_radians().cos() / sin).acos();
    let at = |above_deg: f64| {
        let phase = edge + above_deg.to_radians();
        read_deg(&sunny, &earth, Vector3::new(sin * phase.sin(), cos, sin * phase.cos()))
    };
    // Right on the edge it moves by 3°/sin γ of phase: a quarter of that is nose down, and roll turns by
    // tan γ/4·sin(half width) times it.
    let reach = 3.0 / sin;
    let [roll, pitch] = at(0.001);
    assert_relative(-pitch, 0.25 * reach, 0.01);
    assert_relative(roll, 0.25 * reach * sin / cos * edge.sin(), 0.03);
    assert_near(at(6.0)[0], 0.0, 1e-5);
    assert_near(at(-6.0)[1], 0.0, 1e-5);
    assert_near(read_deg(&PARAMETERS, &earth, Vector3::new(sin * edge.sin(), cos, sin * edge.cos()))[0], 0.0, 1e-5);
}
