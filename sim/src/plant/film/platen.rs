//! The framing camera's platen: carries the clamped film along with the image during an exposure.

/// Compensating platen. It is counterweighted: its motion turns nothing and shifts no mass, and it takes
/// the film it moves from small loops of its own, so tension does not notice it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PlatenParameters {
    /// Speed of one step of the drive, m/s.
    pub speed_step_m_s: f64,
    /// Time constant with which speed follows the step asked for, s.
    pub response_s: f64,
    /// Travel from the start to the stop, m.
    pub travel_m: f64,
}

impl Default for PlatenParameters {
    fn default() -> Self {
        Self { speed_step_m_s: 1e-4, response_s: 0.015, travel_m: 0.012 }
    }
}

/// State of the platen.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Platen {
    /// Distance from the start, m.
    pub at_m: f64,
    /// Speed, m/s, positive with the film.
    pub speed_m_s: f64,
}

impl Platen {
    /// Moves on by `dt_s` with `step` asked for; exact for the first-order response. Step zero lets the
    /// return spring bring it back to the start.
    pub fn advance(&mut self, platen: &PlatenParameters, dt_s: f64, step: u16) {
        if step == 0 {
            if self.at_m == 0.0 && self.speed_m_s == 0.0 {
                return;
            }
            let left = (-dt_s / platen.response_s).exp();
            let to_m = if self.at_m < 1e-9 { 0.0 } else { self.at_m * left };
            self.speed_m_s = if to_m == 0.0 { 0.0 } else { -to_m / platen.response_s };
            self.at_m = to_m;
            return;
        }
        let asked_m_s = f64::from(step) * platen.speed_step_m_s;
        let left = (-dt_s / platen.response_s).exp();
        let off_m_s = self.speed_m_s - asked_m_s;
        self.at_m += asked_m_s * dt_s + off_m_s * platen.response_s * (1.0 - left);
        self.speed_m_s = asked_m_s + off_m_s * left;
        if self.at_m >= platen.travel_m {
            self.at_m = platen.travel_m;
            self.speed_m_s = 0.0;
        }
    }

    /// Whether it stands at its start.
    pub fn at_rest(&self) -> bool {
        self.at_m == 0.0 && self.speed_m_s == 0.0
    }
}
