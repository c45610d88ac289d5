//! The film between two rollers: stretch, slack and breaking; and the sprung arm that makes its loop.

/// The film as a material.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct WebParameters {
    /// Width, m.
    pub width_m: f64,
    /// Thickness, m.
    pub thickness_m: f64,
    /// Density, kg/m³.
    pub density_kg_m3: f64,
    /// Young's modulus along the film, Pa.
    pub modulus_pa: f64,
    /// Damping time of the film as a Kelvin–Voigt body, s: extra tension is EA/ℓ · damping · stretch rate.
    pub damping_s: f64,
    /// Tension at which the film parts, N.
    pub breaking_n: f64,
    /// Length of film between supply reel and metering roller with the arm in its middle, m.
    pub supply_span_m: f64,
    /// Length of film between metering roller and take-up reel with the arm in its middle, m.
    pub take_up_span_m: f64,
}

impl WebParameters {
    /// Stiffness of the material, N: modulus times cross-section.
    pub fn stiffness_n(&self) -> f64 {
        self.modulus_pa * self.width_m * self.thickness_m
    }

    /// Mass of a metre, kg/m.
    pub fn line_density_kg_m(&self) -> f64 {
        self.density_kg_m3 * self.width_m * self.thickness_m
    }
}

/// A tension arm: a roller on a spring around which the film makes a loop, so that the arm moves by half
/// of what the loop takes in and the film pulls on it twice.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ArmParameters {
    /// Mass reduced to the arm's roller, kg.
    pub mass_kg: f64,
    /// Tension in the film that the spring balances with the arm in its middle, N.
    pub middle_tension_n: f64,
    /// Spring rate at the roller, N/m.
    pub stiffness_n_m: f64,
    /// Damper at the roller, N·s/m.
    pub damping_n_s_m: f64,
    /// Travel from the middle to either stop, m.
    pub travel_m: f64,
    /// Spring rate of a stop, N/m.
    pub stop_n_m: f64,
    /// Damping of a stop, N·s/m.
    pub stop_n_s_m: f64,
}

/// State of an arm. More film in the loop is positive.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Arm {
    /// Displacement from the middle, m.
    pub at_m: f64,
    /// Velocity, m/s.
    pub speed_m_s: f64,
}

impl Arm {
    /// Force on the arm towards more film in the loop, N, with `tension_n` in the film.
    #[inline]
    pub fn force_n(&self, arm: &ArmParameters, tension_n: f64) -> f64 {
        let mut force_n = 2.0 * (arm.middle_tension_n - tension_n)
            - arm.stiffness_n_m * self.at_m
            - arm.damping_n_s_m * self.speed_m_s;
        let past_m = self.at_m.abs() - arm.travel_m;
        if past_m > 0.0 {
            let push_n = arm.stop_n_m * past_m + arm.stop_n_s_m * self.speed_m_s * self.at_m.signum();
            force_n -= push_n.max(0.0).copysign(self.at_m);
        }
        force_n
    }

    /// One semi-implicit step.
    #[inline]
    pub fn step(&mut self, step_s: f64, arm: &ArmParameters, force_n: f64) {
        self.speed_m_s += step_s * force_n / arm.mass_kg;
        self.at_m += step_s * self.speed_m_s;
    }
}

/// The film of one loop.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Span {
    /// Unstretched film in the loop, m.
    pub film_m: f64,
    /// Tension at the last sub-step, N.
    pub tension_n: f64,
    /// The film is parted in this loop.
    pub broken: bool,
}

impl Span {
    /// Finds the tension from how far the path (m) is longer than the film in it and how fast (m/s) that
    /// grows. Slack film has none; film beyond its strength parts and stays parted.
    ///
    /// `strength` is the weakest piece's share of the film's own strength.
    #[inline]
    pub fn pull(&mut self, path_m: f64, growth_m_s: f64, rate: &SpanRate, strength: f64) {
        let stretch_m = path_m - self.film_m;
        self.tension_n = if self.broken || stretch_m <= 0.0 {
            0.0
        } else {
            (rate.stiffness_n_m * stretch_m + rate.damping_n_s_m * growth_m_s).max(0.0)
        };
        if self.tension_n > rate.breaking_n * strength {
            self.broken = true;
            self.tension_n = 0.0;
        }
    }
}

/// Constants of one loop's film.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SpanRate {
    /// EA/ℓ, N/m.
    pub stiffness_n_m: f64,
    /// Damping, N·s/m.
    pub damping_n_s_m: f64,
    /// Strength, N.
    pub breaking_n: f64,
    /// Path with the arm in its middle, m.
    pub path_m: f64,
}

impl SpanRate {
    /// Constants for a path of `path_m` of this film.
    pub fn new(web: &WebParameters, path_m: f64) -> Self {
        let stiffness_n_m = web.stiffness_n() / path_m;
        Self { stiffness_n_m, damping_n_s_m: stiffness_n_m * web.damping_s, breaking_n: web.breaking_n, path_m }
    }
}
