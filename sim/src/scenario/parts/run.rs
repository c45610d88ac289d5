//! `[run]`, `[world]` and `[orbit]`: when, how long, where from.

use super::time::Utc;
use crate::scenario::read::context::Context;
use crate::scenario::read::spec::{number, plain, text, whole};
use crate::scenario::read::unit::{DEGREE, HOUR, KM, KM_S, NONE, PERCENT, SECOND, SFU};
use crate::{choice, record};

record! {
    /// What is flown, from when, for how long.
    Run {
        /// Name of the run; the results folder is called after it.
        name: String = "name", text(60);
        /// Name of the vehicle, as the CCSDS messages give it.
        vehicle: String = "vehicle", text(40).or_text("vehicle");
        /// Start of the run, UTC. The vehicle leaves its carrier at this instant.
        start: Utc = "start", plain();
        /// Length of the run.
        duration_s: f64 = "duration_h", number(HOUR, 0.01, 240.0).or(24.0);
        /// Seed of every random draw. The same seed gives the same run.
        seed: u64 = "seed", whole(0.0, 9_007_199_254_740_991.0).or(1.0);
        /// File with the controller's settings, beside the scenario; left out: the defaults, fitted to the vehicle.
        settings: Option<String> = "settings", text(255).optional();
        /// How the command load reaches the vehicle.
        load_by: LoadBy = "load_by", plain().or_text("pad");
        /// UT1 minus UTC, as published for the day; it turns the Earth under the orbit.
        ut1_minus_utc_s: f64 = "ut1_minus_utc_s", number(SECOND, -0.9, 0.9).or(0.0);
    }
}

choice! {
    /// How the command load reaches the vehicle.
    LoadBy {
        /// Over the test connector, before launch.
        Pad = "pad",
        /// By radio, in the first contact; again in every contact until telemetry shows it was taken.
        Radio = "radio",
    }
}

record! {
    /// Surroundings, and which of their effects act.
    World {
        /// The Sun's flux at 10.7 cm, which the air's density follows; the standard atmosphere is that of 150. Ground and
        /// vehicle alike know it.
        solar_flux_sfu: f64 = "solar_flux_sfu", number(SFU, 65.0, 250.0).or(150.0);
        /// Multiplies the density that the Sun's flux gives, as no one on the ground knows.
        density_factor: f64 = "density_factor", number(NONE, 0.0, 10.0).or(1.0);
        /// Air drag on the orbit and air torque on the vehicle.
        aerodynamics: bool = "aerodynamics", plain().or_flag(true);
        /// Share of their energy that air molecules leave to the wall they hit.
        accommodation: f64 = "accommodation_percent", number(PERCENT, 0.0, 100.0).or(95.0);
        /// Torque of sunlight on the surfaces.
        sunlight: bool = "sunlight", plain().or_flag(true);
        /// Torque of the Earth's magnetic field on the vehicle's dipole.
        magnetic_field: bool = "magnetic_field", plain().or_flag(true);
        /// Gravity-gradient torque.
        gravity_gradient: bool = "gravity_gradient", plain().or_flag(true);
        /// Jets push the orbit as well as turn the vehicle.
        jets_push_orbit: bool = "jets_push_orbit", plain().or_flag(true);
        /// Film and gas that move shift the mass centre and change the inertia.
        moving_mass: bool = "moving_mass", plain().or_flag(true);
    }
}

record! {
    /// Where the orbit starts: exactly one of a state, osculating elements, or a published element set.
    Orbit checked by exactly_one {
        /// Position and velocity at the start.
        state: Option<OrbitState> = "state", plain().optional();
        /// Osculating elements at the start.
        elements: Option<OrbitElements> = "elements", plain().optional();
        /// A published mean element set, carried to the start by SGP4.
        element_set: Option<ElementSet> = "element_set", plain().optional();
    }
}

record! {
    /// Position and velocity at the start, in TEME of the start.
    OrbitState {
        /// Position x, y, z.
        position_m: [f64; 3] = "position_km", number(KM, -60_000.0, 60_000.0);
        /// Inertial velocity x, y, z.
        velocity_m_s: [f64; 3] = "velocity_km_s", number(KM_S, -12.0, 12.0);
    }
}

record! {
    /// Osculating elements at the start, in TEME of the start.
    OrbitElements {
        /// Half the long axis of the ellipse.
        semi_major_axis_m: f64 = "semi_major_axis_km", number(KM, 6_400.0, 50_000.0);
        /// Shape: 0 is a circle; 1 and more never come back and are refused.
        eccentricity: f64 = "eccentricity", number(NONE, 0.0, 0.99).or(0.0);
        /// Angle between the equator and the orbit.
        inclination_rad: f64 = "inclination_deg", number(DEGREE, 0.0, 180.0);
        /// Right ascension of the ascending node.
        node_rad: f64 = "node_deg", number(DEGREE, -360.0, 360.0).or(0.0);
        /// Argument of perigee, from the node.
        perigee_rad: f64 = "perigee_deg", number(DEGREE, -360.0, 360.0).or(0.0);
        /// True anomaly, from perigee.
        true_anomaly_rad: f64 = "true_anomaly_deg", number(DEGREE, -360.0, 360.0).or(0.0);
    }
}

record! {
    /// A published element set: either its two lines, or an OMM file in JSON.
    ElementSet checked by two_lines_or_file {
        /// First line, 69 characters.
        line1: Option<String> = "line1", text(80).optional();
        /// Second line, 69 characters.
        line2: Option<String> = "line2", text(80).optional();
        /// OMM file in JSON, beside the scenario.
        omm: Option<String> = "omm", text(255).optional();
    }
}

fn exactly_one(orbit: &Orbit, key: &str, cx: &mut Context) {
    let count = [orbit.state.is_some(), orbit.elements.is_some(), orbit.element_set.is_some()];
    let count = count.iter().filter(|given| **given).count();
    if count != 1 {
        let message = format!("{key} is described {count} times over");
        let help = "Give exactly one of [orbit.state], [orbit.elements] and [orbit.element_set].";
        cx.refuse(key, message, "allowed: exactly one description", help);
    }
}

fn two_lines_or_file(set: &ElementSet, key: &str, cx: &mut Context) {
    let lines = [&set.line1, &set.line2].iter().filter(|line| line.is_some()).count();
    let good = matches!((lines, &set.omm), (2, None) | (0, Some(_)));
    if !good {
        let message = format!("{key} needs either both lines or a file");
        let help =
            "Give `line1` and `line2` as published, or `omm` with the name of an OMM file in JSON; not a mixture.";
        cx.refuse(key, message, "allowed: line1 and line2, or omm", help);
    }
}
