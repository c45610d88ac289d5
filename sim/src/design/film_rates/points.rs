//! Every point of the mission: what is required, what the programme says, and what that costs.

use super::{Blunder, Mission, Options, table::Tables};
use crate::{
    imaging::exposure::{Scene, choose_exposure},
    record_table,
};
use rayon::prelude::*;

record_table! {
    /// One point of the mission.
    Point {
        time_s: f64 ["time_s"] Time, "s", "-", "Time since the start of the mission.";
        latitude_deg: f64 ["latitude_deg"] Truth, "deg", "WGS-84", "Geodetic latitude of the point below.";
        longitude_deg: f64 ["longitude_deg"] Truth, "deg", "WGS-84", "Longitude of the point below, east positive.";
        height_m: f64 ["height_m"] Truth, "m", "WGS-84", "Height above the ellipsoid.";
        sun_elevation_deg: f32 ["sun_elevation_deg"] Truth, "deg", "WGS-84", "Elevation of the Sun at the point below.";
        slant_range_m: f64 ["slant_range_m"] Truth, "m", "-", "Distance to the ground along the line of sight.";
        required_m_s: f64 ["required_m_s"] Truth, "m/s", "image plane", "Film speed that keeps the image still at the centre of the format.";
        image_m_s: [f64; 2] ["image_along_m_s" "image_across_m_s"] Truth, "m/s", "image plane", "Image velocity at the centre with the camera square to the orbit, before the crab yaw.";
        crab_rad: f64 ["crab_rad"] Truth, "rad", "local orbital", "Yaw that lays the image along the film.";
        v_over_h_rad_s: f64 ["v_over_h_rad_s"] Truth, "rad/s", "-", "Angular rate of the ground as the camera sees it, orbital rate taken out.";
        v_over_h_inertial_rad_s: f64 ["v_over_h_inertial_rad_s"] Truth, "rad/s", "-", "Inertial speed against the ground over range: the orbital rate left in.";
        required_m_s2: f32 ["required_m_s2"] Truth, "m/s2", "image plane", "Rate of change of the required film speed.";
        v_over_h_rad_s2: f32 ["v_over_h_rad_s2"] Truth, "rad/s2", "-", "Rate of change of V/h.";
        crab_rad_s: f32 ["crab_rad_s"] Truth, "rad/s", "local orbital", "Rate of change of the crab yaw.";
        format_left_m_s: [f32; 2] ["format_along_m_s" "format_across_m_s"] Truth, "m/s", "image plane", "Largest image speed left anywhere on the format when the centre stands still.";
        commanded_step: u32 ["commanded_step"] Commanded, "1", "-", "Speed step that the stored programme has in force; 0 where it is not meant to hold.";
        commanded_m_s: f64 ["commanded_m_s"] Commanded, "m/s", "image plane", "That as a speed; NaN where the programme is not meant to hold.";
        rate_error: f64 ["rate_error"] Truth, "1", "-", "Commanded over required speed, less one.";
        table_error: f32 ["table_error"] Truth, "1", "-", "Part of it from the stored programme: steps and entries.";
        place_error: f32 ["place_error"] Truth, "1", "-", "Part of it from the clock and the predicted place.";
        crab_error_rad: f32 ["crab_error_rad"] Truth, "rad", "local orbital", "Yaw steering of the flight code less the yaw required.";
        setting: i16 ["setting"] Commanded, "1", "-", "Slit or shutter time that suits the Sun, counted from 0; -1 in the dark.";
        exposure_s: f32 ["exposure_s"] Truth, "s", "-", "Exposure time: slit over commanded speed, or shutter time; in the dark the one set on board.";
        stops_off: f32 ["stops_off"] Truth, "1", "-", "Exposure against the film's speed point in stops; NaN in the dark.";
        smear_m: [f32; 2] ["smear_along_m" "smear_across_m"] Truth, "m", "image plane", "Smear of the commanded speed and steering at the centre.";
    }
}

/// Every point, in order of time.
pub fn points(mission: &Mission<'_>, tables: &Tables, options: &Options) -> Vec<Point> {
    let count = (mission.end_s / options.every_s).floor() as usize;
    let points =
        (0..=count).into_par_iter().filter_map(|k| point(mission, tables, options, k as f64 * options.every_s));
    points.collect()
}

fn point(mission: &Mission<'_>, tables: &Tables, options: &Options, time_s: f64) -> Option<Point> {
    let look = mission.look();
    let required = look.at(time_s)?;
    let changes = look.changes(time_s)?;
    let left = look.left_over_format(time_s)?;
    let (sin, cos) = required.crab_rad().sin_cos();
    let speed_m_s = required.speed_m_s();
    let mut point = Point {
        time_s,
        latitude_deg: required.place.latitude_rad.to_degrees(),
        longitude_deg: required.place.longitude_rad.to_degrees(),
        height_m: required.place.height_m,
        sun_elevation_deg: required.sun_elevation_rad.to_degrees() as f32,
        slant_range_m: required.motion.slant_range_m,
        required_m_s: speed_m_s,
        image_m_s: [-speed_m_s * cos, -speed_m_s * sin],
        crab_rad: required.crab_rad(),
        v_over_h_rad_s: required.motion.v_over_h_rad_s,
        v_over_h_inertial_rad_s: required.motion.v_over_h_inertial_rad_s,
        required_m_s2: changes.speed_m_s2 as f32,
        v_over_h_rad_s2: changes.v_over_h_rad_s2 as f32,
        crab_rad_s: changes.crab_rad_s as f32,
        format_left_m_s: [left.x as f32, left.y as f32],
        ..Point::default()
    };
    command(&mut point, mission, tables, options);
    Some(point)
}

/// What the programme in force makes of a point.
fn command(point: &mut Point, mission: &Mission<'_>, tables: &Tables, options: &Options) {
    let Some(table) = tables.at(point.time_s).filter(|table| table.covers(point.time_s)) else { return };
    let on_board_s = on_board_s(point.time_s, table.from_s, options);
    let step = table.step_at(on_board_s);
    let commanded_m_s = f64::from(step) * mission.grid.step_m_s;
    // The programme's own error is against what it was made to follow at the instant it believed to be.
    let followed_m_s = table.predicted_at(on_board_s);
    point.commanded_step = u32::from(step);
    point.commanded_m_s = commanded_m_s;
    point.rate_error = signed(commanded_m_s, options) / point.required_m_s - 1.0;
    point.table_error = (commanded_m_s / followed_m_s - 1.0) as f32;
    point.place_error = (followed_m_s / point.required_m_s - 1.0) as f32;
    let steering_rad = steering_rad(table, on_board_s, options);
    point.crab_error_rad = (steering_rad - point.crab_rad) as f32;
    expose(point, mission);
    let smear_m = smear_m(
        signed(commanded_m_s, options),
        point.required_m_s,
        steering_rad - point.crab_rad,
        f64::from(point.exposure_s),
    );
    point.smear_m = smear_m.map(|m| m as f32);
}

/// What the clock shows: it gains from one correlation, at the load's begin, to the next.
pub(super) fn on_board_s(time_s: f64, from_s: f64, options: &Options) -> f64 {
    time_s + (time_s - from_s) * options.clock_s_per_day / 86_400.0
}

/// Film speed in the direction that film is driven, m/s.
pub(super) fn signed(speed_m_s: f64, options: &Options) -> f64 {
    if options.blunder == Some(Blunder::Direction) { -speed_m_s } else { speed_m_s }
}

/// Yaw that the flight code steers to, rad.
pub(super) fn steering_rad(table: &super::Table, on_board_s: f64, options: &Options) -> f64 {
    if options.blunder == Some(Blunder::Crab) {
        return 0.0;
    }
    let tick = (on_board_s * 100.0).round() as u32;
    f64::from(table.on_board.place(tick).crab().0)
}

/// Smear along and across, m, of film at `film_m_s` under an image at `required_m_s` that runs `yaw_off_rad`
/// off the film's direction.
pub(super) fn smear_m(film_m_s: f64, required_m_s: f64, yaw_off_rad: f64, exposure_s: f64) -> [f64; 2] {
    let (sin, cos) = yaw_off_rad.sin_cos();
    [(film_m_s - required_m_s * cos) * exposure_s, required_m_s * sin * exposure_s]
}

fn expose(point: &mut Point, mission: &Mission<'_>) {
    let sun_rad = f64::from(point.sun_elevation_deg).to_radians();
    let choice = choose_exposure(&mission.camera, &Scene::default(), sun_rad, point.commanded_m_s);
    point.exposure_s = wanted_exposure_s(mission) as f32;
    if let Some(choice) = choice {
        point.setting = choice.index as i16;
        point.exposure_s = choice.exposure_s as f32;
        point.stops_off = choice.stops_off as f32;
    }
}

/// Exposure set on board, s.
pub(super) fn wanted_exposure_s(mission: &Mission<'_>) -> f64 {
    f64::from(mission.settings.camera.exposure_us) * 1e-6
}
