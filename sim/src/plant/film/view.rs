//! The film plant's truth, to be read and never written.

use super::{FilmPlant, Seal};

impl FilmPlant {
    /// Angular momentum of reels and roller about body +y, relative to the body, N·m·s.
    pub fn momentum_nms(&self) -> f64 {
        self.momentum_nms
    }

    /// Speed of the film at the slit relative to the body, m/s: what the roller delivers, the stretch of
    /// the film between roller and slit, and the platen's own motion while it clamps the film.
    pub fn speed_m_s(&self) -> f64 {
        let stretch_m_s = self.film.roller.slit_distance_m * self.slit_tension_rate_n_s() / self.film.web.stiffness_n();
        let platen_m_s = if self.clamped { self.platen.speed_m_s } else { 0.0 };
        self.end.gate_m_s + stretch_m_s + platen_m_s
    }

    fn slit_tension_rate_n_s(&self) -> f64 {
        let span = &self.motion.take_up_loop;
        if span.tension_n <= 0.0 {
            return 0.0;
        }
        let growth_m_s = self.end.take_up_m_s - self.end.gate_m_s + 2.0 * self.motion.take_up_arm.speed_m_s;
        self.constants.take_up.stiffness_n_m * growth_m_s
    }

    /// Film past the slit since the start, m: the integral of [`Self::speed_m_s`], to take differences of.
    pub fn slit_travel_m(&self) -> f64 {
        let strain = self.motion.take_up_loop.tension_n / self.film.web.stiffness_n();
        let platen_m = if self.clamped { self.platen.at_m } else { 0.0 };
        self.gate_m + self.film.roller.slit_distance_m * strain + platen_m
    }

    /// Film metered through the gate since the start, m (true film, not counts).
    pub fn gate_m(&self) -> f64 {
        self.gate_m
    }

    /// Film on the supply reel, m.
    pub fn supply_m(&self) -> f64 {
        self.supply_m
    }

    /// Film on the take-up reel, m.
    pub fn wound_m(&self) -> f64 {
        self.wound_m
    }

    /// Film in both loops, and the tail of cut film, m.
    pub fn loops_m(&self) -> f64 {
        self.motion.supply_loop.film_m + self.motion.take_up_loop.film_m + self.tail_m()
    }

    /// Film loaded less film accounted for, m: zero but for rounding.
    pub fn ledger_residual_m(&self) -> f64 {
        self.film.load_m - (self.supply_m + self.loops_m() + self.wound_m)
    }

    /// Film between knife and take-up reel after the cut, m; zero before it and once it is wound in.
    pub fn tail_m(&self) -> f64 {
        self.motion.tail_m.unwrap_or(0.0)
    }

    /// Whether the film has been cut.
    pub fn is_cut(&self) -> bool {
        self.motion.tail_m.is_some()
    }

    /// The closure of the film's way into the capsule.
    pub fn seal(&self) -> Seal {
        self.seal
    }

    /// Tension before and after the roller, N.
    pub fn tension_n(&self) -> [f64; 2] {
        [self.motion.supply_loop.tension_n, self.motion.take_up_loop.tension_n]
    }

    /// Speed of the film leaving the supply reel, through the gate, and onto the take-up reel, m/s.
    pub fn speeds_m_s(&self) -> [f64; 3] {
        [self.end.supply_m_s, self.end.gate_m_s, self.end.take_up_m_s]
    }

    /// Place (m) and speed (m/s) of the supply and the take-up arm.
    pub fn arms(&self) -> [(f64, f64); 2] {
        let m = &self.motion;
        [(m.supply_arm.at_m, m.supply_arm.speed_m_s), (m.take_up_arm.at_m, m.take_up_arm.speed_m_s)]
    }

    /// Angles turned by supply reel, roller and take-up reel, rad, film forward positive.
    pub fn angles_rad(&self) -> [f64; 3] {
        [self.motion.supply.angle_rad, self.motion.roller.angle_rad, self.motion.take_up.angle_rad]
    }

    /// Radius of the film on the supply reel, m.
    pub fn supply_radius_m(&self) -> f64 {
        self.sizes[0].radius_m
    }

    /// Radius of the film on the take-up reel, m.
    pub fn take_up_radius_m(&self) -> f64 {
        self.sizes[1].radius_m
    }

    /// Inertia of the supply reel with its film, kg·m².
    pub fn supply_inertia_kg_m2(&self) -> f64 {
        self.sizes[0].inertia_kg_m2
    }

    /// Inertia of the take-up reel with its film, kg·m².
    pub fn take_up_inertia_kg_m2(&self) -> f64 {
        self.sizes[1].inertia_kg_m2
    }

    /// Mass of the film on the supply reel, kg.
    pub fn supply_mass_kg(&self) -> f64 {
        self.supply_pack.mass_kg(self.supply_m)
    }

    /// Mass of the film on the take-up reel, kg.
    pub fn take_up_mass_kg(&self) -> f64 {
        self.take_up_pack.mass_kg(self.wound_m)
    }

    /// Mean power from the bus over the last step, W: motors and brake release.
    pub fn electric_power_w(&self) -> f64 {
        self.power_w
    }

    /// Whether the mechanism rests under its brakes, so that steps cost nothing.
    pub fn asleep(&self) -> bool {
        self.asleep
    }

    /// Length of the sub-step that a base tick is cut into, s.
    pub fn sub_step_s(&self) -> f64 {
        let tick_s = f64::from(stillframe_controller::io::TICK_S);
        tick_s / (tick_s / self.constants.longest_step_s).ceil()
    }
}
