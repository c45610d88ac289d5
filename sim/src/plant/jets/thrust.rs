//! What the jets do to the vehicle over a stretch of time.
//!
//! Thrust that rises and decays is handed to the body's step as a torque that grows evenly, with the same impulse and
//! the same moment of the impulse about the stretch's end. So the rates and the attitude at the end of every stretch
//! are right however long it is, up to the square of the body's own turning in the meantime ((ω·dt)², 6e-9 of the
//! impulse at 4 mrad/s and 20 ms). Only inside the stretch the attitude is off, by less than 0.15·α·τ·dt for an angular
//! acceleration α: 1e-8 rad for Whimbrel's pitch jets, 2 ms and 20 ms. No tick is cut for the filling of a plenum.

use super::{Jets, feed::Phase, plenum};
use crate::plant::gas::Tank;
use nalgebra::Vector3;
use stillframe_controller::io::BANKS;

/// Force and torque of the jets over a stretch of time.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Push {
    /// Mean force, N, body axes.
    pub force_n: Vector3<f64>,
    /// Mean torque about the centre of mass, N·m, body axes.
    pub torque_nm: Vector3<f64>,
    /// What the torque gains from the stretch's start to its end, taken as even, N·m.
    pub growth_nm: Vector3<f64>,
    /// Mean flow out of the nozzles, kg/s.
    pub flow_kg_s: f64,
}

/// A jet's numbers as they are now, faults and temperature in them.
struct Now {
    thrust_n: f64,
    flow_kg_s: f64,
    tau_s: f64,
}

impl Jets {
    fn now(&self, jet: usize) -> Now {
        let built = &self.parameters[jet];
        let strength = self.valves[jet].strength();
        // At the same pressure warmer gas is thinner and faster: the thrust stays, the flow goes with 1/√T.
        let warmth = (self.feed.parameters().temperature_k / self.temperature_k).sqrt();
        let flow_kg_s = built.flow_kg_s() * strength * warmth;
        // A jet that gives nothing at all never fills.
        let tau_s = if built.plenum_kg > 0.0 { (built.plenum_kg / flow_kg_s).min(1e6) } else { 0.0 };
        Now { thrust_n: built.thrust_n * strength, flow_kg_s, tau_s }
    }

    /// Goes on by `dt_s`: draws the gas, fills lines and plenums, and gives the push about `centre_m`.
    pub fn advance(&mut self, dt_s: f64, tank: &mut Tank, centre_m: &Vector3<f64>) -> Push {
        if !self.live || dt_s <= 0.0 {
            return Push::default();
        }
        let mut asked_kg_s = [0.0; BANKS];
        for jet in (0..self.parameters.len()).filter(|jet| self.flowing & (1 << jet) != 0) {
            asked_kg_s[self.parameters[jet].bank] += self.now(jet).flow_kg_s;
        }
        let given = self.feed.advance(asked_kg_s, dt_s);
        let mut push = Push::default();
        let mut out_kg = 0.0;
        let mut impulses_ns = [0.0; stillframe_controller::io::MAX_JETS];
        for (jet, impulse_ns) in impulses_ns.iter_mut().enumerate().take(self.parameters.len()) {
            if self.flowing & (1 << jet) == 0 && self.plenums[jet] == 0.0 {
                continue;
            }
            let (breath, spent_kg) = self.breathe(jet, &given.phases[self.parameters[jet].bank], dt_s);
            out_kg += spent_kg;
            let thrust_n = self.now(jet).thrust_n;
            *impulse_ns = thrust_n * breath.impulse_s;
            let (torque_m, force) = self.parameters[jet].per_newton(centre_m);
            let growth_n = thrust_n * (6.0 * breath.impulse_s - 12.0 * breath.lever_s2 / dt_s) / dt_s;
            push.force_n += force * (*impulse_ns / dt_s);
            push.torque_nm += torque_m * (*impulse_ns / dt_s);
            push.growth_nm += torque_m * growth_n;
        }
        let share = self.settle(given.drawn_kg, out_kg, tank);
        push.force_n *= share;
        push.torque_nm *= share;
        push.growth_nm *= share;
        push.flow_kg_s = out_kg * share / dt_s;
        for (sum_ns, impulse_ns) in self.impulse_ns.iter_mut().zip(impulses_ns) {
            *sum_ns += impulse_ns * share;
        }
        push
    }

    /// One plenum over `dt_s` with what stands `before` its valve; gives what it did and the gas that left it, kg.
    fn breathe(&mut self, jet: usize, before: &[Phase; 2], dt_s: f64) -> (plenum::Breath, f64) {
        let Now { flow_kg_s, tau_s, .. } = self.now(jet);
        let plenum_kg = self.parameters[jet].plenum_kg;
        let share = &mut self.plenums[jet];
        if self.flowing & (1 << jet) != 0 {
            self.on_time_s[jet] += dt_s;
            let mut breath = plenum::Breath::default();
            for phase in before.iter().filter(|phase| phase.dt_s > 0.0) {
                breath = breath.then(plenum::fill(share, phase, tau_s), phase.dt_s);
            }
            return (breath, flow_kg_s * breath.impulse_s);
        }
        let held_kg = plenum_kg * *share;
        let breath = plenum::empty(share, self.parameters[jet].tail_share * tau_s, dt_s);
        (breath, held_kg - plenum_kg * *share)
    }

    /// Enters what came out of the tank and what left the nozzles; gives the share of the push that there was gas for.
    fn settle(&mut self, drawn_kg: f64, out_kg: f64, tank: &mut Tank) -> f64 {
        let missing_kg = drawn_kg - tank.draw(drawn_kg);
        let share = if out_kg > 0.0 { 1.0 - (missing_kg / out_kg).min(1.0) } else { 1.0 };
        if missing_kg > out_kg {
            self.feed.run_dry(missing_kg - out_kg);
        }
        let plenums = self.parameters.iter().zip(&self.plenums);
        let held_kg: f64 = plenums.map(|(built, share)| built.plenum_kg * share).sum();
        tank.pass(out_kg * share, held_kg + self.feed.held_kg());
        self.live = self.flowing != 0 || !self.feed.settled() || self.plenums.iter().any(|&share| share > 0.0);
        share
    }

    /// Push of the jets that are open, at the pressure of their lines, about `centre_m`: what film and reels feel.
    pub fn push(&self, centre_m: &Vector3<f64>) -> Push {
        let mut sum = Push::default();
        for jet in (0..self.parameters.len()).filter(|jet| self.flowing & (1 << jet) != 0) {
            let Now { thrust_n, flow_kg_s, .. } = self.now(jet);
            let share = self.feed.share(self.parameters[jet].bank);
            let (torque_m, force) = self.parameters[jet].per_newton(centre_m);
            sum.force_n += force * (thrust_n * share);
            sum.torque_nm += torque_m * (thrust_n * share);
            sum.flow_kg_s += flow_kg_s * share;
        }
        sum
    }

    /// Push of jets that leak `flow_kg_s` at their seats, about `centre_m`: nothing behind a shut latch. A leak
    /// is taken to push with the jet's whole specific impulse, which is the worst it can do.
    pub fn leak(&self, flow_kg_s: &[f64], centre_m: &Vector3<f64>) -> Push {
        let mut sum = Push::default();
        for (built, &flow_kg_s) in self.parameters.iter().zip(flow_kg_s) {
            if flow_kg_s > 0.0 && self.latches[built.bank].open {
                let thrust_n = flow_kg_s * built.specific_impulse_s * super::G0_M_S2;
                let (torque_m, force) = built.per_newton(centre_m);
                sum.force_n += force * thrust_n;
                sum.torque_nm += torque_m * thrust_n;
                sum.flow_kg_s += flow_kg_s;
            }
        }
        sum
    }
}
