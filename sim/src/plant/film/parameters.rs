//! Every number of the film half of the vehicle, with the demo's two cameras.

use super::motor::Motor;
use super::platen::PlatenParameters;
use super::reel::ReelParameters;
use super::splice::Splice;
use super::web::{ArmParameters, WebParameters};

/// Metering roller: it sets the length, carries the encoder and drives the film.
#[derive(Clone, Debug, PartialEq)]
pub struct RollerParameters {
    /// Radius, m.
    pub radius_m: f64,
    /// Inertia with the motor's rotor geared to it, kg·m².
    pub inertia_kg_m2: f64,
    /// Dry friction, N·m.
    pub drag_nm: f64,
    /// Friction that grows with speed, N·m·s.
    pub viscous_nm_s: f64,
    /// Most torque the holding brake resists, N·m.
    pub brake_nm: f64,
    /// Motor, seen from the roller.
    pub motor: Motor,
    /// Eccentricity over radius: the film's speed rises and falls by this share once a turn.
    pub eccentricity: f64,
    /// Amplitude of the torque ripple of gear and commutation, N·m.
    pub ripple_nm: f64,
    /// Ripples in a turn.
    pub ripples_per_turn: f64,
    /// Force at which film that is held slides on the roller, N.
    pub grip_n: f64,
    /// Turning sense about body +y while film runs forward: +1 or −1.
    pub spin: f64,
    /// Film between the roller's contact and the slit, m.
    pub slit_distance_m: f64,
    /// Friction of the platen's clamp on the film, N; zero if there is none.
    pub clamp_n: f64,
}

/// What the gauges resolve.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct GaugeParameters {
    /// Counts in a turn of the roller.
    pub roller_counts_per_turn: f64,
    /// Counts in a turn of either reel.
    pub reel_counts_per_turn: f64,
    /// Step of the arm gauges, m.
    pub arm_step_m: f64,
    /// Step of the current gauge, A.
    pub current_step_a: f64,
}

/// The film half of the vehicle. SI units; film forward is positive everywhere.
#[derive(Clone, Debug, PartialEq)]
pub struct FilmParameters {
    /// Film loaded at launch, m.
    pub load_m: f64,
    /// Part of it that is already on the take-up reel when the run starts, m.
    pub wound_m: f64,
    /// Supply voltage of the motors, V.
    pub bus_v: f64,
    /// Power that holds the three brakes off, W.
    pub brake_release_w: f64,
    /// Film.
    pub web: WebParameters,
    /// Supply reel.
    pub supply: ReelParameters,
    /// Take-up reel.
    pub take_up: ReelParameters,
    /// Supply tension arm.
    pub supply_arm: ArmParameters,
    /// Take-up tension arm.
    pub take_up_arm: ArmParameters,
    /// Metering roller.
    pub roller: RollerParameters,
    /// Compensating platen, if the camera has one.
    pub platen: Option<PlatenParameters>,
    /// Gauges.
    pub gauges: GaugeParameters,
    /// Film between the roller's contact and the knife, m.
    pub knife_m: f64,
    /// Joins in the film.
    pub splices: Vec<Splice>,
}

/// A number of [`FilmParameters`] that cannot be.
#[derive(Clone, Copy, Debug, PartialEq, thiserror::Error)]
#[error("{what} is {value}; it must be {need}")]
pub struct FilmError {
    /// Which number.
    pub what: &'static str,
    /// Its value.
    pub value: f64,
    /// What it must be.
    pub need: &'static str,
}

const REEL_MOTOR: Motor = Motor { constant_nm_a: 2.0, resistance_ohm: 20.0, current_limit_a: 1.2 };

const fn reel(spin: f64) -> ReelParameters {
    ReelParameters {
        core_radius_m: 0.040,
        hub_inertia_kg_m2: 0.004,
        drag_nm: 0.02,
        viscous_nm_s: 0.01,
        brake_nm: 2.0,
        motor: REEL_MOTOR,
        spin,
    }
}

const SHORT_ARM: ArmParameters = ArmParameters {
    mass_kg: 0.15,
    middle_tension_n: 6.0,
    stiffness_n_m: 60.0,
    damping_n_s_m: 20.0,
    travel_m: 0.040,
    stop_n_m: 20_000.0,
    stop_n_s_m: 50.0,
};

impl Default for FilmParameters {
    /// The demo's strip camera: 900 m of 127 mm × 0.076 mm polyester on 40 mm cores, 6 N.
    ///
    /// Modulus from 6 N making a strain of 1.4·10⁻⁴; motors, arms and frictions are the project's own
    /// choice of a plausible mechanism, none copied from a real one.
    fn default() -> Self {
        Self {
            load_m: 900.0,
            wound_m: 0.0,
            bus_v: 28.0,
            brake_release_w: 6.0,
            web: WebParameters {
                width_m: 0.127,
                thickness_m: 76e-6,
                density_kg_m3: 1390.0,
                modulus_pa: 4.4e9,
                damping_s: 5e-5,
                breaking_n: 900.0,
                supply_span_m: 0.6,
                take_up_span_m: 0.6,
            },
            supply: reel(1.0),
            take_up: reel(-1.0),
            supply_arm: SHORT_ARM,
            take_up_arm: SHORT_ARM,
            roller: RollerParameters {
                radius_m: 0.020,
                inertia_kg_m2: 2e-4,
                drag_nm: 0.01,
                viscous_nm_s: 1e-4,
                brake_nm: 0.5,
                motor: Motor { constant_nm_a: 1.0, resistance_ohm: 5.0, current_limit_a: 1.2 },
                eccentricity: 1e-3,
                ripple_nm: 5e-4,
                ripples_per_turn: 24.0,
                grip_n: 12.0,
                spin: 1.0,
                slit_distance_m: 0.05,
                clamp_n: 0.0,
            },
            platen: None,
            knife_m: 0.15,
            splices: Vec::new(),
            gauges: GaugeParameters {
                roller_counts_per_turn: 32_768.0,
                reel_counts_per_turn: 1024.0,
                arm_step_m: 2e-5,
                current_step_a: 0.005,
            },
        }
    }
}

impl FilmParameters {
    /// The demo's framing camera: the same film and reels, arms with a stroke that takes in a whole
    /// advance so that the reels turn steadily while the roller starts and stops, a clamp, and a
    /// compensating platen.
    pub fn framing() -> Self {
        let strip = Self::default();
        let arm = ArmParameters { stiffness_n_m: 30.0, travel_m: 0.100, damping_n_s_m: 8.0, ..SHORT_ARM };
        Self {
            web: WebParameters { supply_span_m: 1.0, take_up_span_m: 1.0, ..strip.web },
            supply_arm: arm,
            take_up_arm: arm,
            roller: RollerParameters { clamp_n: 60.0, ..strip.roller },
            platen: Some(PlatenParameters::default()),
            ..strip
        }
    }

    /// Looks for a number that would make the mechanism impossible or the integration run away.
    ///
    /// # Errors
    /// Names the first such number, its value, and what it must be.
    pub fn check(&self) -> Result<(), FilmError> {
        let positive = [
            ("film load", self.load_m),
            ("film width", self.web.width_m),
            ("film thickness", self.web.thickness_m),
            ("film density", self.web.density_kg_m3),
            ("film modulus", self.web.modulus_pa),
            ("film strength", self.web.breaking_n),
            ("supply span", self.web.supply_span_m),
            ("take-up span", self.web.take_up_span_m),
            ("supply core radius", self.supply.core_radius_m),
            ("take-up core radius", self.take_up.core_radius_m),
            ("supply hub inertia", self.supply.hub_inertia_kg_m2),
            ("take-up hub inertia", self.take_up.hub_inertia_kg_m2),
            ("supply motor resistance", self.supply.motor.resistance_ohm),
            ("take-up motor resistance", self.take_up.motor.resistance_ohm),
            ("roller motor resistance", self.roller.motor.resistance_ohm),
            ("roller radius", self.roller.radius_m),
            ("roller inertia", self.roller.inertia_kg_m2),
            ("supply arm mass", self.supply_arm.mass_kg),
            ("take-up arm mass", self.take_up_arm.mass_kg),
            ("supply arm travel", self.supply_arm.travel_m),
            ("take-up arm travel", self.take_up_arm.travel_m),
            ("arm gauge step", self.gauges.arm_step_m),
            ("current gauge step", self.gauges.current_step_a),
        ];
        for (what, value) in positive {
            if !(value.is_finite() && value > 0.0) {
                return Err(FilmError { what, value, need: "above zero" });
            }
        }
        let loops_m = self.web.supply_span_m + self.web.take_up_span_m;
        if !(self.wound_m >= 0.0 && self.wound_m + loops_m <= self.load_m) {
            return Err(FilmError {
                what: "film already wound",
                value: self.wound_m,
                need: "between zero and the load less what is threaded between the reels",
            });
        }
        for (what, value) in
            [("supply spin", self.supply.spin), ("take-up spin", self.take_up.spin), ("roller spin", self.roller.spin)]
        {
            if value.abs() != 1.0 {
                return Err(FilmError { what, value, need: "+1 or -1" });
            }
        }
        Ok(())
    }
}
