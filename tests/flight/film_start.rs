//! One start-up of the film in the whole vehicle, measured from truth.

use std::cell::Cell;

use crate::rig::{Rig, SETTLED, SETTLED_S, camera, fault, rate_deg_s, replace, scenario};
use stillframe_controller::{Controller, exposure::Phase, film::State, io::TICKS_PER_S};

/// When the camera is commanded on, hours, and for how long, s.
const PASS_H: f64 = 0.602;
const PASS_S: f64 = 30.0;
/// Film on the take-up reel for a full, a half and an empty supply, m.
pub const WOUND_M: [f64; 3] = [3.0, 449.4, 875.0];

/// The demonstration's pitch jets, 5 and 6 of either bank.
const PITCH_JETS: [usize; 4] = [4, 5, 12, 13];

/// What a start-up did.
#[derive(Clone, Copy, Debug)]
pub struct Start {
    /// From film's leaving its brakes to *film valid*, s.
    pub valid_s: f64,
    /// From *film valid* to the first exposure, s.
    pub early_s: f64,
    /// Least and greatest tension in either loop, from brakes off to brakes on, N.
    pub tension_n: (f64, f64),
    /// Pitch rate that the reels' momentum makes by conservation, °/s.
    pub kick_deg_s: f64,
    /// Pitch rate that the vehicle really gained while film ran up, °/s.
    pub turned_deg_s: f64,
    /// Mean pitch rate error over all exposures, °/s: what was left of the kick.
    pub left_deg_s: f64,
    /// Pulses about pitch, where the kick is, between *film valid* and the end of exposures.
    pub pulses: u32,
    /// The vehicle took the kick for one of the wrong sign.
    pub reversed: bool,
    /// Frames exposed.
    pub frames: u32,
}

/// A vehicle about to take its pass, with so much film wound; `extra` are more keys or tables of the scenario.
pub fn waiting(wound_m: f64, feed_forward: bool, extra: &str) -> Rig {
    let text = scenario(0.7, &(camera(PASS_H, PASS_S) + extra));
    let text = replace(&text, "load_m = 900.0", &format!("load_m = 900.0\nwound_m = {wound_m}"));
    let mut rig = Rig::with(&text, 1, |built| {
        let mut settings = built.settings.clone();
        settings.steering.film_feed_forward = u32::from(feed_forward);
        built.controller = Controller::new(settings).expect("sound settings");
        built.controller.load(&built.load.encode(), 0).expect("a sound load");
    });
    rig.run(PASS_H * 3600.0 - 4.0);
    rig
}

/// The same with both reels threaded the other way round long before.
pub fn threaded_the_other_way(wound_m: f64) -> Rig {
    waiting(wound_m, true, &replace(&fault("reel_sense_reversed", ""), SETTLED, "at_h = 0.5"))
}

/// Flies the pass.
pub fn measured(mut rig: Rig) -> Start {
    let pulses = Cell::new(0);
    let tick = |rig: &mut Rig| {
        let commanded = rig.tick().commanded;
        let fired = PITCH_JETS.iter().filter(|jet| commanded.jets[**jet].open_us.is_some()).count();
        pulses.set(pulses.get() + fired as u32);
    };
    let state = |rig: &Rig| rig.flight.controller.film().state;
    let until = |rig: &mut Rig, done: &dyn Fn(&Rig) -> bool| {
        let mut tension_n = (f64::INFINITY, 0.0_f64);
        while !done(rig) {
            assert!(rig.flight.time_s() < PASS_H * 3600.0 + PASS_S + 10.0, "never came to it");
            tick(rig);
            for now_n in rig.flight.plant.film().tension_n() {
                tension_n = (tension_n.0.min(now_n), tension_n.1.max(now_n));
            }
        }
        tension_n
    };
    until(&mut rig, &|rig| state(rig) == State::Readying);
    let from_s = rig.flight.time_s();
    let before_deg_s = rate_deg_s(&mut rig.flight).y;
    let mut tension_n = until(&mut rig, &|rig| rig.flight.controller.film().valid);
    let valid_s = rig.flight.time_s();
    let turned_deg_s = rate_deg_s(&mut rig.flight).y - before_deg_s;
    let plant = &rig.flight.plant;
    let kick_deg_s = (-plant.film().momentum_nms() / plant.mass().inertia_kg_m2[(1, 1)]).to_degrees();
    pulses.set(0);
    let mut widen = |seen: (f64, f64)| tension_n = (tension_n.0.min(seen.0), tension_n.1.max(seen.1));
    widen(until(&mut rig, &|rig| rig.flight.controller.exposure().phase == Phase::Exposing));
    let open_s = rig.flight.time_s();
    let (mut sum_deg_s, mut count) = (0.0, 0_u32);
    while rig.flight.controller.exposure().phase == Phase::Exposing {
        tick(&mut rig);
        for now_n in rig.flight.plant.film().tension_n() {
            widen((now_n, now_n));
        }
        if rig.flight.plant.ticks().is_multiple_of(u64::from(TICKS_PER_S) / 4) {
            sum_deg_s += rate_deg_s(&mut rig.flight).y;
            count += 1;
        }
    }
    let pulses = pulses.get();
    widen(until(&mut rig, &|rig| state(rig) == State::Braked));
    assert!(rig.flight.time_s() > SETTLED_S && count > 100);
    Start {
        valid_s: valid_s - from_s,
        early_s: open_s - valid_s,
        tension_n,
        kick_deg_s,
        turned_deg_s,
        left_deg_s: sum_deg_s / f64::from(count),
        pulses,
        reversed: rig.flight.controller.attitude().kick_reversed,
        frames: rig.flight.controller.exposure().frame,
    }
}
