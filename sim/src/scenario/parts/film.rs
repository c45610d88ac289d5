//! `[film]`: film, reels, roller, drives.

use crate::record;
use crate::scenario::check::film::check_load;
use crate::scenario::read::spec::{number, plain};
use crate::scenario::read::unit::{
    AMPERE, GPA, KG_M2, KG_M3, METRE, MM, NEWTON, NEWTON_METRE, NEWTON_METRE_A, NEWTON_PER_METRE, NONE, OHM, VOLT,
};

record! {
    /// Film and the transport that moves it. Reel and roller axes lie along body y.
    Film checked by check_load {
        /// Film loaded, all told.
        load_m: f64 = "load_m", number(METRE, 1.0, 10_000.0).or(900.0);
        /// Already on the take-up reel at the start (threading leader).
        wound_m: f64 = "wound_m", number(METRE, 0.0, 10_000.0).or(3.0);
        /// Thickness.
        thickness_m: f64 = "thickness_mm", number(MM, 0.01, 1.0).or(0.076);
        /// Width.
        width_m: f64 = "width_mm", number(MM, 8.0, 500.0).or(127.0);
        /// Density of base and coating together.
        density_kg_m3: f64 = "density_kg_m3", number(KG_M3, 500.0, 3_000.0).or(1390.0);
        /// Young's modulus along the film.
        modulus_pa: f64 = "modulus_gpa", number(GPA, 0.1, 20.0).or(4.5);
        /// Radius of both reels' cores.
        core_radius_m: f64 = "core_radius_mm", number(MM, 5.0, 500.0).or(40.0);
        /// Radius to which a reel can be wound.
        reel_radius_m: f64 = "reel_radius_mm", number(MM, 10.0, 1_000.0).or(160.0);
        /// Inertia of an empty reel with its drive.
        hub_inertia_kg_m2: f64 = "hub_inertia_kg_m2", number(KG_M2, 1e-5, 10.0).or(0.004);
        /// The reels turn opposite ways, so that their momenta partly cancel.
        counter_rotating: bool = "counter_rotating", plain().or_flag(true);
        /// Bearing drag of a reel.
        reel_drag_n_m: f64 = "reel_drag_n_m", number(NEWTON_METRE, 0.0, 5.0).or(0.02);
        /// Torque of a reel's holding brake.
        reel_brake_n_m: f64 = "reel_brake_n_m", number(NEWTON_METRE, 0.0, 50.0).or(2.0);
        /// Radius of the metering roller.
        roller_radius_m: f64 = "roller_radius_mm", number(MM, 2.0, 200.0).or(20.0);
        /// Inertia of the roller with its motor and gear, at the roller.
        roller_inertia_kg_m2: f64 = "roller_inertia_kg_m2", number(KG_M2, 1e-7, 1.0).or(2e-4);
        /// Drag of the roller.
        roller_drag_n_m: f64 = "roller_drag_n_m", number(NEWTON_METRE, 0.0, 5.0).or(0.01);
        /// Encoder counts in a turn of the roller.
        roller_counts: f64 = "roller_counts", number(NONE, 256.0, 1_048_576.0).or(32_768.0);
        /// Encoder counts in a turn of a reel.
        reel_counts: f64 = "reel_counts", number(NONE, 16.0, 65_536.0).or(1024.0);
        /// Roller motor: torque for each ampere, at the roller.
        roller_motor_n_m_a: f64 = "roller_motor_n_m_a", number(NEWTON_METRE_A, 1e-3, 50.0).or(1.0);
        /// Roller motor: winding resistance.
        roller_motor_ohm: f64 = "roller_motor_ohm", number(OHM, 0.05, 500.0).or(5.0);
        /// Roller motor: current at which its bridge limits.
        roller_motor_limit_a: f64 = "roller_motor_limit_a", number(AMPERE, 0.01, 100.0).or(1.2);
        /// Reel motors: torque for each ampere, at the reel.
        reel_motor_n_m_a: f64 = "reel_motor_n_m_a", number(NEWTON_METRE_A, 1e-3, 50.0).or(2.0);
        /// Reel motors: winding resistance.
        reel_motor_ohm: f64 = "reel_motor_ohm", number(OHM, 0.05, 500.0).or(20.0);
        /// Reel motors: current at which their bridges limit.
        reel_motor_limit_a: f64 = "reel_motor_limit_a", number(AMPERE, 0.01, 100.0).or(1.2);
        /// Voltage at full duty.
        supply_v: f64 = "supply_v", number(VOLT, 3.0, 100.0).or(28.0);
        /// Tension with the arms in the middle.
        tension_n: f64 = "tension_n", number(NEWTON, 0.5, 100.0).or(6.0);
        /// Spring of each tension arm, felt at the film: newtons for each metre of film in its loop. Left out: 15 for a strip camera, 7.5 for a framing camera.
        arm_spring_n_per_m: Option<f64> = "arm_spring_n_per_m", number(NEWTON_PER_METRE, 1.0, 2_500.0).optional();
        /// Way of each arm to either side of its middle. Left out: 40 mm for a strip camera, 100 mm for a framing camera.
        arm_travel_m: Option<f64> = "arm_travel_mm", number(MM, 2.0, 500.0).optional();
        /// Joins in the film, each by its distance from the end that is on the take-up core: 10 mm of tape as thick as the film, with half its strength.
        splices_m: Vec<f64> = "splices_m", number(METRE, 0.0, 10_000.0).list(0, 16).or_all(&[]);
        /// Tension at which the film parts.
        break_tension_n: f64 = "break_tension_n", number(NEWTON, 1.0, 5_000.0).or(400.0);
    }
}

impl Film {
    /// Radius of a pack of `length_m` on a core: r² = r₀² + L·t/π.
    pub fn pack_radius_m(&self, length_m: f64) -> f64 {
        (self.core_radius_m.powi(2) + length_m * self.thickness_m / core::f64::consts::PI).sqrt()
    }

    /// Mass of `length_m` of film, kg.
    pub fn mass_kg(&self, length_m: f64) -> f64 {
        length_m * self.thickness_m * self.width_m * self.density_kg_m3
    }
}
