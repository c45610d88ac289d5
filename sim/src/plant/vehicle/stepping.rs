//! How the body is carried from torque edge to torque edge.
//!
//! Most ticks bring no edge, no moving film and nothing to watch. The body then lags behind (`behind_s`) and is
//! brought up to the clock in one step by `catch_up`, when a sensor, an edge or the record asks for it.

use super::{
    Plant, TICK_S,
    turn::{Turn, array},
};
use crate::{
    imaging::sample::TruthSample,
    plant::{
        body::{Forcing, Motion, State},
        jets::{Event, Push},
    },
    world::gravity::GM_M3_S2,
};
use nalgebra::{Quaternion, UnitQuaternion, Vector3};

/// What one busy tick carries along.
pub(super) struct TickStep<'a> {
    pub(super) kick_nms: [f64; 3],
    pub(super) film_speed_before_m_s: f64,
    pub(super) instants_s: &'a [f64],
    pub(super) seen: usize,
}

impl Plant {
    /// A tick with valves or latches that move, film in motion, or instants to be watched.
    pub(super) fn busy_tick(
        &mut self,
        events: &[Event],
        step: &mut TickStep,
        watch: &mut impl FnMut(usize, TruthSample),
    ) {
        let mut from_s = 0.0;
        for event in events {
            self.stretch(from_s, event.at_s(), step, watch);
            from_s = event.at_s();
            self.jets.apply(event);
        }
        self.stretch(from_s, TICK_S, step, watch);
        if !events.is_empty() {
            self.push = self.jets.push(&self.mass.centre_m);
        }
    }

    /// Part of a busy tick between two edges.
    fn stretch(&mut self, from_s: f64, to_s: f64, step: &mut TickStep, watch: &mut impl FnMut(usize, TruthSample)) {
        let dt_s = to_s - from_s;
        if dt_s <= 0.0 {
            return;
        }
        let start_s = self.tick as f64 * TICK_S;
        let motion = self.advance_body(start_s + from_s, dt_s, step.kick_nms.map(|nms| nms * dt_s / TICK_S));
        while let Some(&at_s) = step.instants_s.get(step.seen) {
            let inside_s = at_s - start_s - from_s;
            if inside_s > dt_s && to_s < TICK_S {
                break;
            }
            let share = (at_s - start_s) / TICK_S;
            let film_speed_m_s = step.film_speed_before_m_s * (1.0 - share) + self.film.speed_m_s() * share;
            let state = motion.state_after(inside_s.clamp(0.0, dt_s));
            watch(step.seen, self.truth_sample(at_s, &state, film_speed_m_s));
            step.seen += 1;
        }
    }

    /// Brings the body's state up to the present tick's boundary.
    pub(super) fn catch_up(&mut self) {
        if self.behind_s > 0.0 {
            let start_s = self.tick as f64 * TICK_S - self.behind_s;
            let dt_s = self.behind_s;
            self.behind_s = 0.0;
            self.advance_body(start_s, dt_s, [0.0; 3]);
        }
    }

    /// One step of the body under torques that are constant or grow evenly; enters all impulses into the ledgers.
    fn advance_body(&mut self, start_s: f64, dt_s: f64, kick_nms: [f64; 3]) -> Motion {
        let middle = self.orbit.position_velocity(start_s + 0.5 * dt_s).0;
        let end = self.orbit.position_velocity(start_s + dt_s).0;
        let radius_m = middle.norm();
        let up_middle = array(&(middle / radius_m));
        let up_end = array(&end.normalize());
        let push = self.jets.live().then(|| self.jets.advance(dt_s, &mut self.tank, &self.mass.centre_m));
        let (mut torque_nm, mut growth_nm) = (self.slow_torque_nm, [0.0; 3]);
        if let Some(push) = &push {
            torque_nm += push.torque_nm - 0.5 * push.growth_nm;
            growth_nm = array(&push.growth_nm);
        }
        let gradient = if self.parameters.gravity_gradient { 3.0 * GM_M3_S2 / radius_m.powi(3) } else { 0.0 };
        let forcing = Forcing {
            torque_nm: array(&torque_nm),
            torque_growth_nm: growth_nm,
            reel_momentum_nms: self.moving_nms,
            reel_reaction_nms: kick_nms,
            gravity_gradient_per_s2: gradient,
            up: [self.up, up_middle, up_end],
        };
        let motion = self.body.motion(&self.state, dt_s, &forcing);
        let half = motion.state_after(0.5 * dt_s);
        self.state = motion.state_after(dt_s);
        for (moving_nms, kick_nms) in self.moving_nms.iter_mut().zip(kick_nms) {
            *moving_nms -= kick_nms;
        }
        self.up = up_end;
        self.enter(&half, &up_middle, gradient, push.as_ref(), dt_s);
        motion
    }

    fn enter(&mut self, half: &State, up: &[f64; 3], gradient: f64, push: Option<&Push>, dt_s: f64) {
        let turned = Turn::of(&half.q);
        let up_body = turned.to_body(&Vector3::from(*up));
        let gravity = Vector3::from(self.body.gravity_gradient_torque_nm(gradient, &array(&up_body)));
        let disturbance = (gravity + self.slow_torque_nm) * dt_s;
        self.ledger.disturbance(&turned.to_inertial(&disturbance), &disturbance);
        if let Some(push) = push {
            let jets = push.torque_nm * dt_s;
            // Where the middle of the impulse does not fall on the middle of the step, the body stands otherwise.
            let off_middle = Vector3::from(half.w).cross(&push.growth_nm) * (dt_s * dt_s / 12.0);
            self.ledger.jets(&turned.to_inertial(&(jets + off_middle)), &jets);
            self.velocity_due_m_s += turned.to_inertial(&push.force_n) * (dt_s / self.mass.mass_kg);
        }
    }

    fn truth_sample(&self, time_s: f64, state: &State, film_speed_m_s: f64) -> TruthSample {
        let (position_m, velocity_m_s) = self.orbit.position_velocity(time_s);
        let [w, i, j, k] = state.q;
        TruthSample {
            time_s,
            position_m,
            velocity_m_s,
            attitude: UnitQuaternion::new_unchecked(Quaternion::new(w, i, j, k)),
            rate_rad_s: Vector3::from(state.w),
            earth_angle_rad: self.earth.angle_rad(time_s),
            film_speed_m_s,
        }
    }
}
