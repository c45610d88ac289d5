//! A jet as built: what the drawing says, and how far the workshop missed it.

use crate::{nitrogen::nozzle, noise::NoiseSource};
use nalgebra::Vector3;

/// One jet as built.
#[derive(Clone, Debug, PartialEq)]
pub struct JetParameters {
    /// Name, for reports.
    pub name: String,
    /// Which latch valve feeds it.
    pub bank: usize,
    /// Place in the vehicle's drawing frame, m.
    pub position_m: Vector3<f64>,
    /// Unit vector of the force on the vehicle, body axes.
    pub push: Vector3<f64>,
    /// Thrust at rated pressure, N.
    pub thrust_n: f64,
    /// Specific impulse in steady flow, of gas as warm as the tank at the start, s.
    pub specific_impulse_s: f64,
    /// From command to open valve, s.
    pub open_delay_s: f64,
    /// From command to shut valve, s.
    pub close_delay_s: f64,
    /// Standard deviation of both delays from pulse to pulse, s.
    pub jitter_s: f64,
    /// A valve that has opened stays open at least so long, s.
    pub minimum_pulse_s: f64,
    /// Gas in the plenum before the throat at rated pressure, kg.
    pub plenum_kg: f64,
    /// Share of the specific impulse that gas left in the plenum gives when the valve has shut.
    pub tail_share: f64,
    /// Share of the thrust whose plume strikes the vehicle, and where, m.
    pub plume_share: f64,
    /// Middle of what the plume strikes, drawing frame, m.
    pub plume_on_m: Vector3<f64>,
    /// Draws of the delays, one for each pulse.
    pub jitter: NoiseSource,
}

impl JetParameters {
    /// Flow at rated pressure, kg/s.
    pub fn flow_kg_s(&self) -> f64 {
        self.thrust_n / (self.specific_impulse_s * super::G0_M_S2)
    }

    /// Torque about `centre_m` (drawing frame) and force of one newton at the nozzle, plume included.
    ///
    /// What strikes a surface leaves its momentum there: a force along the plume, against the thrust. Gas that leaves
    /// the surface again, at most as much once more along its normal, is left out.
    pub fn per_newton(&self, centre_m: &Vector3<f64>) -> (Vector3<f64>, Vector3<f64>) {
        let struck = (self.plume_on_m - centre_m).cross(&self.push) * self.plume_share;
        ((self.position_m - centre_m).cross(&self.push) - struck, self.push * (1.0 - self.plume_share))
    }

    /// Gives it a plenum of `volume_m3` at `pressure_pa` and `temperature_k`.
    pub fn with_plenum(mut self, volume_m3: f64, pressure_pa: f64, temperature_k: f64) -> Self {
        let throat_m2 = nozzle::throat_m2(self.flow_kg_s(), pressure_pa, temperature_k);
        self.plenum_kg = nozzle::filling_time_s(volume_m3, throat_m2, temperature_k) * self.flow_kg_s();
        self
    }

    /// As built number `place` of a run: one draw for each jet, the same whatever else is drawn.
    pub fn as_built(mut self, place: u32, spread: &Workmanship, seed: u64, run: u32) -> Self {
        let draw = |what| {
            // Nothing is built worse than three standard deviations: it would not pass its test.
            NoiseSource::new(seed, run, what, place).gaussian3(0).map(|draw| draw.clamp(-3.0, 3.0))
        };
        let [open, close, thrust] = draw("jet valve and throat as built");
        self.open_delay_s = (self.open_delay_s + spread.open_delay_s * open).max(0.0);
        self.close_delay_s = (self.close_delay_s + spread.close_delay_s * close).max(0.0);
        // A wider throat: thrust and flow grow together, and the plenum stays as it is.
        self.thrust_n *= (1.0 + spread.thrust * thrust).max(0.01);
        let turn = Vector3::from(draw("jet direction as built")) * spread.direction_rad;
        self.push = (self.push + turn.cross(&self.push)).normalize();
        self.jitter_s = spread.jitter_s;
        self.jitter = NoiseSource::new(seed, run, "jet delay of each pulse", place);
        self
    }

    /// Opening and closing delay of pulse number `pulse`, s.
    pub fn delays_s(&self, pulse: u64) -> [f64; 2] {
        let built = [self.open_delay_s, self.close_delay_s];
        if self.jitter_s <= 0.0 {
            return built;
        }
        let [open, close, _] = self.jitter.gaussian3(pulse).map(|draw| draw.clamp(-3.0, 3.0) * self.jitter_s);
        [(built[0] + open).max(0.0), (built[1] + close).max(0.0)]
    }
}

/// Standard deviations of what comes out of the workshop.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Workmanship {
    /// Of the thrust, as a share.
    pub thrust: f64,
    /// Of the direction, about each axis, rad.
    pub direction_rad: f64,
    /// Of the opening delay, jet to jet, s.
    pub open_delay_s: f64,
    /// Of the closing delay, jet to jet, s.
    pub close_delay_s: f64,
    /// Of each delay, pulse to pulse, s.
    pub jitter_s: f64,
}

#[cfg(test)]
mod tests {
    use super::super::tests::drawn;
    use super::*;

    const SPREAD: Workmanship =
        Workmanship { thrust: 0.02, direction_rad: 3e-3, open_delay_s: 4e-4, close_delay_s: 6e-4, jitter_s: 2e-4 };

    #[test]
    fn jets_come_out_of_the_workshop_as_far_off_as_asked() {
        let built: Vec<_> = (0..2000).map(|place| drawn().as_built(place, &SPREAD, 7, 0)).collect();
        let spread = |of: &dyn Fn(&JetParameters) -> f64| {
            let mean = built.iter().map(of).sum::<f64>() / 2000.0;
            (mean, (built.iter().map(|jet| (of(jet) - mean).powi(2)).sum::<f64>() / 2000.0).sqrt())
        };
        // Five standard errors of 2000 draws: 11 % of the mean's sigma, 8 % of sigma; the cut at 3σ takes 0.7 %.
        for (of, mean, sigma) in [
            (&(|jet: &JetParameters| jet.thrust_n) as &dyn Fn(&JetParameters) -> f64, 0.5, 0.01),
            (&|jet: &JetParameters| jet.open_delay_s, 4e-3, 4e-4),
            (&|jet: &JetParameters| jet.close_delay_s, 6e-3, 6e-4),
            (&|jet: &JetParameters| jet.push.x, 0.0, 3e-3),
            (&|jet: &JetParameters| jet.push.y, 0.0, 3e-3),
        ] {
            let (found, width) = spread(of);
            assert!((found - mean).abs() < 0.11 * sigma && (width / sigma - 1.0).abs() < 0.08, "{found} {width}");
        }
        let none = drawn().as_built(3, &Workmanship::default(), 7, 0);
        assert_eq!((none.thrust_n, none.push, none.open_delay_s), (0.5, Vector3::z(), 4e-3));
        assert_eq!(built[3], drawn().as_built(3, &SPREAD, 7, 0), "the same seed builds the same jet");
        assert_ne!(built[3].thrust_n, drawn().as_built(3, &SPREAD, 8, 0).thrust_n);
    }

    #[test]
    fn every_pulse_has_its_own_delays_about_the_jets_own() {
        let jet = drawn().as_built(0, &SPREAD, 7, 0);
        let opens: Vec<f64> = (0..2000).map(|pulse| jet.delays_s(pulse)[0] - jet.open_delay_s).collect();
        let sigma = (opens.iter().map(|off| off * off).sum::<f64>() / 2000.0).sqrt();
        assert!((sigma / 2e-4 - 1.0).abs() < 0.08, "{sigma}");
        let steady = JetParameters { jitter_s: 0.0, ..jet.clone() };
        assert_eq!(steady.delays_s(5), [jet.open_delay_s, jet.close_delay_s]);
    }

    #[test]
    fn a_plume_on_a_surface_takes_back_force_and_turns_the_vehicle_about_it() {
        let centre = Vector3::new(0.1, 0.0, 0.0);
        let (clear_nm, clear_n) = drawn().per_newton(&centre);
        assert!((clear_nm - Vector3::new(0.0, 1.3, 0.0)).norm() < 1e-12 && clear_n == Vector3::z());
        // 3 % on a panel 0.5 m to the side and 0.2 m aft of the nozzle: taken from force and pitch, given to roll.
        let on = JetParameters { plume_share: 0.03, plume_on_m: Vector3::new(-1.4, 0.5, 0.4), ..drawn() };
        let (torque_nm, force_n) = on.per_newton(&centre);
        assert!((force_n - Vector3::new(0.0, 0.0, 0.97)).norm() < 1e-12);
        assert!((torque_nm - Vector3::new(-0.015, 1.3 - 0.045, 0.0)).norm() < 1e-12, "{torque_nm:?}");
    }
}
