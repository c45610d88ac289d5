//! The series: every column of a run's record, in one table.
//!
//! What is stored how:
//! - `f64` for time, position, velocity, the quaternion and every running total (gas, film, energy, jet
//!   on-time): a total grows for days while single pulses change it by a millionth, and both must be read
//!   back from it by differences.
//! - `f32` for sampled quantities (angles, rates, torques, tensions, power). Its spacing is 6e-8 of the
//!   value: 0.01 µrad on an error of 0.2 rad, far below any sensor here. What the flight code believes is
//!   `f32` on board, so nothing is lost.
//! - Codes are small integers whose names stand in the file's metadata.
//!
//! Fields left alone are NaN (−1 for an index, 0 for a code), so that a forgotten column shows.

use crate::record_table;

record_table! {
    /// One row of a run's series: truth, commands, belief and what the ground knew, at one moment.
    Row {
        time_s: f64 ["time_s"] Time, "s", "-", "Time since the start of the run.";
        tick: u32 ["tick"] Time, "1", "-", "Base ticks of 10 ms on the on-board clock.";

        position_m: [f64; 3] ["position_x_m" "position_y_m" "position_z_m"] Truth, "m", "TEME of epoch",
            "Position of the centre of mass.";
        velocity_m_s: [f64; 3] ["velocity_x_m_s" "velocity_y_m_s" "velocity_z_m_s"] Truth, "m/s", "TEME of epoch",
            "Velocity of the centre of mass.";
        latitude_deg: f64 ["latitude_deg"] Truth, "deg", "WGS-84", "Geodetic latitude of the point below.";
        longitude_deg: f64 ["longitude_deg"] Truth, "deg", "WGS-84", "Longitude of the point below, -180 to 180, east positive.";
        height_m: f64 ["height_m"] Truth, "m", "WGS-84", "Height above the ellipsoid.";
        sun_elevation_deg: f32 ["sun_elevation_deg"] Truth, "deg", "WGS-84", "Elevation of the Sun at the point below.";
        in_eclipse: bool ["in_eclipse"] Truth, "1", "-", "The vehicle is in the Earth's shadow.";
        air_density_kg_m3: f32 ["air_density_kg_m3"] Truth, "kg/m3", "-", "Air density at the vehicle.";

        attitude_q: [f64; 4] ["attitude_qw" "attitude_qx" "attitude_qy" "attitude_qz"] Truth, "1", "body to TEME of epoch",
            "Attitude quaternion, scalar first, Hamilton: v_inertial = q v_body q*.";
        attitude_error_rad: [f32; 3] ["roll_error_rad" "pitch_error_rad" "yaw_error_rad"] Truth, "rad", "body",
            "Attitude error against the commanded steering, 2 vec(conj(q_ref) q).";
        orbital_angle_rad: [f32; 3] ["roll_rad" "pitch_rad" "yaw_rad"] Truth, "rad", "local orbital",
            "Roll, pitch and yaw of the body against the local orbital frame.";
        rate_error_rad_s: [f32; 3] ["roll_rate_error_rad_s" "pitch_rate_error_rad_s" "yaw_rate_error_rad_s"] Truth, "rad/s", "body",
            "Body rate less the rate the steering wants.";
        disturbance_torque_n_m: [f32; 3] ["disturbance_torque_x_n_m" "disturbance_torque_y_n_m" "disturbance_torque_z_n_m"] Truth, "N m", "body",
            "External torque other than the jets', all sources together.";
        air_torque_n_m: [f32; 3] ["air_torque_x_n_m" "air_torque_y_n_m" "air_torque_z_n_m"] Truth, "N m", "body",
            "Torque of the air.";
        gravity_torque_n_m: [f32; 3] ["gravity_torque_x_n_m" "gravity_torque_y_n_m" "gravity_torque_z_n_m"] Truth, "N m", "body",
            "Torque of the gravity gradient.";
        magnetic_torque_n_m: [f32; 3] ["magnetic_torque_x_n_m" "magnetic_torque_y_n_m" "magnetic_torque_z_n_m"] Truth, "N m", "body",
            "Torque of the Earth's magnetic field on the vehicle's dipole.";
        sunlight_torque_n_m: [f32; 3] ["sunlight_torque_x_n_m" "sunlight_torque_y_n_m" "sunlight_torque_z_n_m"] Truth, "N m", "body",
            "Torque of sunlight.";
        leak_torque_n_m: [f32; 3] ["leak_torque_x_n_m" "leak_torque_y_n_m" "leak_torque_z_n_m"] Truth, "N m", "body",
            "Torque of gas that leaks past the jets.";

        gas_kg: f64 ["gas_kg"] Truth, "kg", "-", "Gas left in the tank.";
        tank_pressure_pa: f32 ["tank_pressure_pa"] Truth, "Pa", "-", "Tank pressure.";
        tank_temperature_k: f32 ["tank_temperature_k"] Truth, "K", "-", "Tank gas temperature.";
        jet_on_s: [f64; 16] ["jet_00_on_s" "jet_01_on_s" "jet_02_on_s" "jet_03_on_s" "jet_04_on_s" "jet_05_on_s"
            "jet_06_on_s" "jet_07_on_s" "jet_08_on_s" "jet_09_on_s" "jet_10_on_s" "jet_11_on_s"
            "jet_12_on_s" "jet_13_on_s" "jet_14_on_s" "jet_15_on_s"] Truth, "s", "-",
            "Time this jet's valve has been open since the start of the run.";

        film_speed_m_s: f32 ["film_speed_m_s"] Truth, "m/s", "image plane", "Speed of the film (platen in a framing camera) at the exposure line; forward positive.";
        image_speed_m_s: f32 ["image_speed_m_s"] Truth, "m/s", "image plane", "Speed of the ground's image along the film at the middle of the format.";
        film_supply_m: f64 ["film_supply_m"] Truth, "m", "-", "Film on the supply reel.";
        film_take_up_m: f64 ["film_take_up_m"] Truth, "m", "-", "Film on the take-up reel.";
        supply_tension_n: f32 ["supply_tension_n"] Truth, "N", "-", "Film tension on the supply side.";
        take_up_tension_n: f32 ["take_up_tension_n"] Truth, "N", "-", "Film tension on the take-up side.";
        reel_momentum_n_m_s: f32 ["reel_momentum_n_m_s"] Truth, "N m s", "body y", "Angular momentum of reels and rollers relative to the body.";
        shutter_open: bool ["shutter_open"] Truth, "1", "-", "The shutter is open.";
        power_w: f32 ["power_w"] Truth, "W", "-", "Electrical power drawn.";
        energy_used_wh: f64 ["energy_used_wh"] Truth, "W h", "-", "Electrical energy drawn since the start of the run.";

        commanded_mode: u8 ["commanded_mode"] Commanded, "1", "-", "Mode asked for last; names in the file's metadata.";
        camera_on: bool ["camera_on"] Commanded, "1", "-", "The programme has the camera on.";
        film_speed_step: u32 ["film_speed_step"] Commanded, "1", "-", "Film speed asked for, in the camera's speed steps.";
        yaw_steering_rad: f32 ["yaw_steering_rad"] Commanded, "rad", "local orbital", "Yaw angle asked for to take out the crab angle.";

        assumed_mode: u8 ["assumed_mode"] Assumed, "1", "-", "Mode the flight code is in; names in the file's metadata.";
        assumed_angle_rad: [f32; 3] ["assumed_roll_rad" "assumed_pitch_rad" "assumed_yaw_rad"] Assumed, "rad", "local orbital",
            "Roll, pitch and yaw as estimated on board.";
        assumed_rate_rad_s: [f32; 3] ["assumed_roll_rate_rad_s" "assumed_pitch_rate_rad_s" "assumed_yaw_rate_rad_s"] Assumed, "rad/s", "body",
            "Body rate error as estimated on board.";
        assumed_gyro_drift_rad_s: [f32; 3] ["assumed_gyro_drift_x_rad_s" "assumed_gyro_drift_y_rad_s" "assumed_gyro_drift_z_rad_s"] Assumed, "rad/s", "body",
            "Gyro drift as estimated on board.";
        assumed_disturbance_rad_s2: [f32; 3] ["assumed_disturbance_x_rad_s2" "assumed_disturbance_y_rad_s2" "assumed_disturbance_z_rad_s2"] Assumed, "rad/s2", "body",
            "Angular acceleration by disturbances as estimated on board.";
        assumed_gas_kg: f32 ["assumed_gas_kg"] Assumed, "kg", "-", "Gas left, from the tank's gauges.";
        metered_film_m: f64 ["metered_film_m"] Assumed, "m", "-", "Film let through since the start of the run, from the metering roller's count.";
        roller_counts: u32 ["roller_counts"] Assumed, "1", "-", "Counter of the metering roller as the flight code reads it at this boundary; wraps at 32 bits.";
        health_flags: u32 ["health_flags"] Assumed, "1", "-", "Health flags, one bit each; names in the file's metadata.";

        ahead_m: f32 ["ahead_m"] Truth, "m", "along the track", "How far the vehicle is ahead of the place that the ground predicted before the run.";
        place_since_start_m: f32 ["place_since_start_m"] Observed, "m", "along the track",
            "One sigma of that distance as the ground reckons it, with nothing heard since the start: what the stored programme lives on.";
        place_since_tracked_m: f32 ["place_since_tracked_m"] Observed, "m", "along the track",
            "One sigma of the vehicle's place by a prediction made anew when it was last tracked: a minute of one contact.";

        observed_mode: u8 ["observed_mode"] Observed, "1", "-", "Mode in the last telemetry that reached a station.";
        observation_age_s: f32 ["observation_age_s"] Observed, "s", "-", "Time since that telemetry was sent; NaN before the first.";
        contact_station: i16 ["contact_station"] Observed, "1", "-", "Index of the station in contact; -1 when there is none.";
    }
}

record_table! {
    /// One edge of a jet's valve, at its true time.
    JetEdge {
        time_s: f64 ["time_s"] Time, "s", "-", "True time of the edge since the start of the run.";
        jet: u8 ["jet"] Truth, "1", "-", "Which jet, in the order of the settings' jet table.";
        open: bool ["open"] Truth, "1", "-", "The valve opens (true) or closes (false).";
    }
}

record_table! {
    /// What the image did at one point of the format in one exposure of a frame.
    FramePoint {
        time_s: f64 ["time_s"] Time, "s", "-", "Middle of the exposure since the start of the run.";
        frame: u32 ["frame"] Truth, "1", "-", "Number of the frame.";
        exposure: u8 ["exposure"] Truth, "1", "-", "Which of the frame's judged exposures, from 0.";
        sweep_angle_rad: f32 ["sweep_angle_rad"] Truth, "rad", "body", "Angle of the line of sight from body +z towards +y; 0 but for a sweep.";
        at_m: [f32; 2] ["at_along_m" "at_across_m"] Truth, "m", "image plane", "Point of the format.";
        exposure_s: f32 ["exposure_s"] Truth, "s", "-", "Exposure time.";
        ground_per_image: [f32; 2] ["ground_per_image_along" "ground_per_image_across"] Truth, "1", "image plane",
            "Ground length of one metre on film.";
        smear_m: [f32; 2] ["smear_along_m" "smear_across_m"] Truth, "m", "image plane", "Smear, vibration left out.";
        resolution_lp_mm: [f32; 2] ["resolution_along_lp_mm" "resolution_across_lp_mm"] Truth, "lp/mm", "image plane",
            "Resolution on film, vibration counted.";
        grd_m: [f32; 2] ["grd_along_m" "grd_across_m"] Truth, "m", "image plane", "Ground resolved distance, a full line pair.";
        path_along_m: [f32; 5] ["path_0_along_m" "path_1_along_m" "path_2_along_m" "path_3_along_m" "path_4_along_m"] Truth, "m", "image plane",
            "Way of the image on the film since the exposure began, along, at its five evenly spread instants.";
        path_across_m: [f32; 5] ["path_0_across_m" "path_1_across_m" "path_2_across_m" "path_3_across_m" "path_4_across_m"] Truth, "m", "image plane",
            "The same across.";
    }
}

record_table! {
    /// What the film transport's gauges said and what was asked of it, in every base tick in which film or platen runs.
    FilmTick {
        time_s: f64 ["time_s"] Time, "s", "-", "True time of the tick's boundary since the start of the run.";
        tick: u32 ["tick"] Time, "1", "-", "Base ticks of 10 ms on the on-board clock.";
        roller_counts: u32 ["roller_counts"] Assumed, "1", "-", "Metering roller's encoder as the flight code got it; wraps. Film in a count: stillframe.film_count_m in the file's metadata.";
        supply_counts: u32 ["supply_counts"] Assumed, "1", "-", "Supply reel's encoder as the flight code got it; wraps.";
        take_up_counts: u32 ["take_up_counts"] Assumed, "1", "-", "Take-up reel's encoder as the flight code got it; wraps.";
        film_speed_step: u32 ["film_speed_step"] Commanded, "1", "-", "Image speed of the stored programme in force, in the camera's speed steps: stillframe.speed_step_m_s in the file's metadata.";
        platen_step: u32 ["platen_step"] Commanded, "1", "-", "Speed asked of the compensating platen, in speed steps; 0 in a strip camera.";
        exposing: bool ["exposing"] Assumed, "1", "-", "The flight code got light from behind the shutter.";
    }
}

/// The columns as a Markdown table, for the handbook.
pub fn columns_as_markdown(columns: &[super::table::Column]) -> String {
    let mut text =
        String::from("| column | group | stored | unit | frame | meaning |\n| --- | --- | --- | --- | --- | --- |\n");
    for c in columns {
        text += &format!(
            "| `{}` | {} | {} | {} | {} | {} |\n",
            c.name,
            c.group.name(),
            c.kind.name(),
            c.unit,
            c.frame,
            c.meaning
        );
    }
    text
}
