//! Attitude hold: from tip-off through capture to fine hold, and quiet times around exposures.
//!
//! One attitude step flows top to bottom: gyros and horizon → [`observer`] and [`rates`] → wanted attitude
//! ([`orbit`]) → mode → [`switching`] per axis → [`jet_table`] → [`firing`] (valve edges). [`response`] and
//! [`banks`] watch that the jets obey.

pub mod banks;
pub mod firing;
pub mod jet_table;
pub mod kick;
pub mod mode;
pub mod observer;
pub mod orbit;
pub mod quiet;
pub mod rates;
pub mod response;
pub mod rotation;
pub mod settings;
pub mod switching;

use self::{
    banks::Banks,
    firing::Firing,
    kick::Kick,
    mode::Mode,
    observer::{Heading, Observer},
    orbit::{Ephemeris, Place},
    quiet::{Burst, Phase},
    rates::{RateGains, RateObserver},
    response::{Verdict, Watcher},
    rotation::{Quat, Vec3},
    switching::{AxisLaw, AxisState, Pulse},
};
use crate::{
    io::{ATTITUDE_STEP_S, ATTITUDE_TICKS, BANKS, Edges, HorizonSample, MAX_JETS, TICK_US, TICKS_PER_S},
    math,
    settings::Settings,
};

const DEG: f32 = core::f32::consts::PI / 180.0;

/// What the attitude loop is told in one attitude step.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Input {
    /// Present tick of the on-board clock: where the vehicle is, and what the programme wants.
    pub tick: u32,
    /// Base ticks stepped through since the start, whatever the clock says: how long things last.
    pub cycle: u32,
    /// Gyro rates, validated, rad/s.
    pub gyro_rad_s: Vec3,
    /// Horizon sample, validated.
    pub horizon: HorizonSample,
    /// Orbit constants of the load in force.
    pub ephemeris: Ephemeris,
    /// Hold asked for by the programme.
    pub wanted: mode::Hold,
    /// The burst of exposures that is running or comes next.
    pub burst: Option<Burst>,
    /// Film moves: its kicks must not be taken for a disturbance.
    pub film_kick: bool,
    /// Film's momentum about +y as estimated, N·m·s.
    pub film_momentum_nms: f32,
    /// Change of the film's momentum about +y still to come before exposures, N·m·s: placed against.
    pub film_kick_nms: f32,
    /// The gas guard lets jets fire.
    pub gas_allowed: bool,
    /// Which gyros gave a fresh reading.
    pub gyro_fresh: [bool; 3],
    /// No gyro is dead. Without one of them rates cannot be damped, and firing blind would only spend gas.
    pub gyros_live: bool,
}

/// One axis: its law, its estimates, its watcher.
#[derive(Clone, Debug, PartialEq)]
struct Axis {
    law: AxisLaw,
    inertia_kg_m2: f32,
    gains: RateGains,
    rates: RateObserver,
    watcher: Watcher,
    rest_us: u32,
    /// Rate change commanded but not yet given, and the acceleration at which it comes.
    pending_rad_s: f32,
    pending_rad_s2: f32,
}

/// The attitude loop.
#[derive(Clone, Debug, PartialEq)]
pub struct Attitude {
    settings: Settings,
    observer: Observer,
    axes: [Axis; 3],
    banks: Banks,
    firing: Firing,
    kick: Kick,
    mode: Mode,
    mode_since: u32,
    reference: Quat,
    steering_rate_rad_s: f32,
    reference_rate: Vec3,
    error: Vec3,
    rate_error: Vec3,
    phase: Phase,
    quiet_broken: u32,
    pulses: u32,
    jets_nms: Vec3,
}

impl Attitude {
    /// Ready at separation; nothing known, nothing open.
    pub fn new(settings: &Settings) -> Self {
        let banks = Banks::new(&settings.jets);
        let body = &settings.body;
        let laws = [settings.roll_law(), settings.pitch_law(), settings.yaw_law()];
        let inertias = [body.inertia_roll_kg_m2, body.inertia_pitch_kg_m2, body.inertia_yaw_kg_m2];
        let mut number = 0;
        let axes = laws.map(|law| {
            let inertia_kg_m2 = inertias.get(number).copied().unwrap_or(1.0);
            let axis = Axis::new(law, inertia_kg_m2, number, &banks, settings);
            number += 1;
            axis
        });
        Self {
            observer: Observer::new(settings.observer),
            axes,
            banks,
            firing: Firing::default(),
            kick: Kick::default(),
            mode: Mode::Drift,
            mode_since: 0,
            reference: rotation::identity(),
            steering_rate_rad_s: 0.0,
            reference_rate: Vec3::zeros(),
            error: Vec3::zeros(),
            rate_error: Vec3::zeros(),
            phase: Phase::Free,
            quiet_broken: 0,
            pulses: 0,
            jets_nms: Vec3::zeros(),
            settings: settings.clone(),
        }
    }

    /// One attitude step (50 Hz).
    pub fn step(&mut self, input: &Input) {
        let place = input.ephemeris.place(input.tick);
        self.estimate(input, &place);
        self.watch_jets(input);
        self.aim(&place);
        let next = mode::next(self.mode, &self.view(input));
        if next != self.mode {
            self.enter(next, input);
        }
        self.phase = quiet::phase(input.tick, input.burst, &self.settings.steering, self.mode);
        self.act(input);
    }

    /// Valve edges of the coming tick; call on every base tick, after [`Attitude::step`] where both fall.
    pub fn valves(&mut self) -> [Edges; MAX_JETS] {
        self.firing.step()
    }

    fn estimate(&mut self, input: &Input, place: &Place) {
        let learn = !input.film_kick && !matches!(self.mode, Mode::Drift | Mode::Damp | Mode::Search);
        let gyro = input.gyro_rad_s - self.observer.drift_rad_s;
        let range_rad_s = self.settings.observer.gyro_range_deg_s * DEG;
        let pitch_kg_m2 = self.settings.body.inertia_pitch_kg_m2;
        let film_rad_s = self.kick.told(input.film_momentum_nms, input.film_kick, pitch_kg_m2, &self.settings.steering);
        let film = [0.0, film_rad_s, 0.0];
        let rates = gyro.iter().zip(input.gyro_rad_s.iter()).zip(film);
        for (axis, ((&rate, &read), film_rad_s)) in self.axes.iter_mut().zip(rates) {
            let kick_rad_s = axis.coming_kick() + film_rad_s;
            axis.rates.step(rate, kick_rad_s, learn, &axis.gains, ATTITUDE_STEP_S);
            if math::abs(read) >= range_rad_s {
                // The true rate is somewhere beyond. Blending commanded kicks with a reading that cannot move
                // would leave a lag that looks like an open valve when the gyro comes back into its range.
                axis.rates.reset(rate);
            }
        }
        let [_, pitch, _] = &self.axes;
        self.kick.answered(pitch.gains.rate * pitch.rates.innovation_rad_s, &self.settings.steering);
        self.observer.propagate(&input.gyro_rad_s, place);
        self.observer.horizon(input.cycle, &input.horizon, place);
    }

    fn watch_jets(&mut self, input: &Input) {
        let mut worst = Verdict::Sound;
        for (axis, fresh) in self.axes.iter_mut().zip(input.gyro_fresh) {
            if !fresh {
                // What a gyro that stands still does not show is no fault of the jets.
                axis.watcher = Watcher::default();
                continue;
            }
            let correction = axis.gains.rate * axis.rates.innovation_rad_s;
            let one_jet = axis.one_jet_rad_s2() * self.settings.observer.rate_time_s;
            let verdict = axis.watcher.step(
                correction,
                axis.rates.innovation_rad_s,
                one_jet,
                &self.settings.response,
                ATTITUDE_STEP_S,
            );
            if verdict != Verdict::Sound {
                worst = verdict;
            }
        }
        if worst == Verdict::Sound || self.mode == Mode::Drift {
            return;
        }
        self.banks.give_up(worst, &self.settings.jets);
        self.firing.stop();
        let gyro = input.gyro_rad_s - self.observer.drift_rad_s;
        for ((number, axis), &rate) in self.axes.iter_mut().enumerate().zip(gyro.iter()) {
            axis.watcher = Watcher::default();
            axis.gains = Axis::gains(axis.inertia_kg_m2, number, &self.banks, &self.settings);
            // The smoothed rate lags behind the one the lost bank has left; the lag would look like the next
            // bank's runaway.
            axis.rates.reset(rate);
            (axis.pending_rad_s, axis.pending_rad_s2) = (0.0, 0.0);
        }
    }

    /// Works out the wanted attitude and the errors against it.
    fn aim(&mut self, place: &Place) {
        let rates = Vec3::new(self.rate(0), self.rate(1), self.rate(2));
        if !matches!(self.observer.heading, Heading::Known(_)) {
            self.reference = rotation::identity();
            self.steering_rate_rad_s = 0.0;
            self.reference_rate = self.observer.level_rate();
            self.error = rotation::error(&self.reference, &self.observer.q);
            self.rate_error = rates - self.reference_rate;
            return;
        }
        let (yaw, yaw_rate) = if self.settings.steering.crab == 1 { place.crab() } else { (0.0, 0.0) };
        self.reference = rotation::about_z(yaw);
        self.steering_rate_rad_s = yaw_rate;
        let turning = place.orbital_rate() + Vec3::new(0.0, 0.0, yaw_rate);
        self.reference_rate = rotation::to_b(&self.observer.q, &turning);
        self.error = rotation::error(&self.reference, &self.observer.q);
        self.rate_error = rates - self.reference_rate;
    }

    fn view(&self, input: &Input) -> mode::View {
        let steering = &self.settings.steering;
        let slow = steering.damp_rate_deg_s * DEG;
        let turning = self.axes.iter().any(|axis| math::abs(axis.rates.rate_rad_s) > slow);
        mode::View {
            wanted: input.wanted,
            can_fire: input.gas_allowed && input.gyros_live && self.banks.any_left(),
            turning,
            locked: input.horizon.locked && self.observer.unlocked_ticks(input.cycle) < TICKS_PER_S,
            heading: self.observer.heading,
            settled: self.observer.settled(input.cycle),
            in_mode_s: input.cycle.wrapping_sub(self.mode_since) as f32 / TICKS_PER_S as f32,
            lost_s: steering.lost_s,
            search_turn_s: 400.0 / steering.search_rate_deg_s,
            tilt_rad: math::sqrt(self.error.x * self.error.x + self.error.y * self.error.y),
            near: self.error.iter().all(|&e| math::abs(e) < 1.5 * DEG),
        }
    }

    fn enter(&mut self, next: Mode, input: &Input) {
        if matches!(next, Mode::Damp | Mode::Search) {
            self.observer.forget();
        }
        if self.mode == Mode::Drift {
            for (axis, &gyro) in self.axes.iter_mut().zip(input.gyro_rad_s.iter()) {
                axis.rates.reset(gyro);
            }
        }
        if next == Mode::Drift {
            self.firing.stop();
        }
        self.mode = next;
        self.mode_since = input.cycle;
    }

    fn act(&mut self, input: &Input) {
        if self.mode == Mode::Drift {
            return;
        }
        for number in 0..3 {
            if let Some(pulse) = self.decide(number, input) {
                self.fire(number, pulse);
            }
        }
    }

    /// The law of one axis in the present mode and phase.
    fn decide(&mut self, number: usize, input: &Input) -> Option<Pulse> {
        let state = self.axis_state(number);
        let axis = self.axes.get_mut(number)?;
        let step_us = ATTITUDE_TICKS * TICK_US;
        axis.rest_us = axis.rest_us.saturating_sub(step_us);
        if axis.rest_us > 0 {
            return None;
        }
        let steering = &self.settings.steering;
        match self.mode {
            Mode::Drift => None,
            Mode::Damp => axis.law.place(&state, 0.0, 0.8 * steering.damp_rate_deg_s * DEG),
            Mode::Search => {
                let wanted = mode::search_rate(number, self.mode_since, input.cycle, steering);
                axis.law.place(&state, wanted, 0.1 * steering.search_rate_deg_s * DEG)
            }
            Mode::Level if number == 2 => axis.law.place(&state, 0.0, 0.3 * steering.damp_rate_deg_s * DEG),
            Mode::Level | Mode::Coarse => axis.law.hold(&state, steering.coarse_factor),
            Mode::Fine => match self.phase {
                Phase::Free => axis.law.hold(&state, 1.0),
                Phase::Place => {
                    let coast = quiet::placement(state.disturbance_rad_s2, input.tick, input.burst, steering);
                    // Reels that are still to spin up will take their momentum from the body's pitch rate.
                    let meet = number == 1 && steering.film_feed_forward == 1 && !self.kick.reversed;
                    let to_come = if meet { input.film_kick_nms / axis.inertia_kg_m2 } else { 0.0 };
                    let wanted = coast + to_come;
                    let half_least = axis.half_least_rad_s();
                    axis.law.place(&state, wanted, half_least)
                }
                Phase::Hold | Phase::Quiet => {
                    let pulse = axis.law.hold(&state, steering.quiet_factor);
                    if pulse.is_some() && self.phase == Phase::Quiet {
                        self.quiet_broken = self.quiet_broken.saturating_add(1);
                    }
                    pulse
                }
            },
        }
    }

    fn axis_state(&self, number: usize) -> AxisState {
        let pick = |v: &Vec3| v.get(number).copied().unwrap_or(0.0);
        let inertia = self.axes.get(number).map_or(1.0, |axis| axis.inertia_kg_m2);
        let rate_only = matches!(self.mode, Mode::Damp | Mode::Search);
        let jet = |positive| self.banks.select(number, positive).map_or(0.0, |s| s.axis_torque_nm / inertia);
        AxisState {
            angle_rad: if rate_only { 0.0 } else { pick(&self.error) },
            rate_rad_s: if rate_only { self.rate(number) } else { pick(&self.rate_error) },
            disturbance_rad_s2: self.axes.get(number).map_or(0.0, |axis| axis.rates.disturbance_rad_s2),
            jet_rad_s2: [jet(false), jet(true)],
        }
    }

    fn fire(&mut self, number: usize, pulse: Pulse) {
        let Some(selection) = self.banks.select(number, pulse.positive) else { return };
        let length_s = pulse.length_us as f32 * 1e-6;
        for (other, axis) in self.axes.iter_mut().enumerate() {
            let torque = selection.torque_nm.get(other).copied().unwrap_or(0.0);
            let acceleration = torque / axis.inertia_kg_m2;
            axis.pending_rad_s += acceleration * length_s;
            if other == number {
                axis.pending_rad_s2 = math::abs(acceleration);
                axis.rest_us = pulse.length_us.saturating_add(axis.law.lockout_us);
                axis.watcher.fired(acceleration * length_s, length_s, &self.settings.response);
            }
        }
        self.jets_nms += selection.torque_nm * length_s;
        self.firing.fire(selection.jets, pulse.length_us);
        self.pulses = self.pulses.saturating_add(1);
    }

    fn rate(&self, number: usize) -> f32 {
        self.axes.get(number).map_or(0.0, |axis| axis.rates.rate_rad_s)
    }
}

impl Axis {
    fn new(law: AxisLaw, inertia_kg_m2: f32, number: usize, banks: &Banks, settings: &Settings) -> Self {
        Self {
            law,
            inertia_kg_m2,
            gains: Self::gains(inertia_kg_m2, number, banks, settings),
            rates: RateObserver::default(),
            watcher: Watcher::default(),
            rest_us: 0,
            pending_rad_s: 0.0,
            pending_rad_s2: 0.0,
        }
    }

    fn gains(inertia_kg_m2: f32, number: usize, banks: &Banks, settings: &Settings) -> RateGains {
        let torque = banks.select(number, true).map_or(0.1, |s| s.axis_torque_nm);
        let o = &settings.observer;
        RateGains::new(o.rate_time_s, o.disturbance_time_s, torque / inertia_kg_m2, ATTITUDE_STEP_S)
    }

    /// Angular acceleration of the weakest single jet that may hang open on this axis, rad/s².
    fn one_jet_rad_s2(&self) -> f32 {
        // `largest_rad_s2` is a tenth of the selected jets'; a couple's single jet gives half of that.
        5.0 * self.gains.largest_rad_s2
    }

    fn half_least_rad_s(&self) -> f32 {
        0.5 * 10.0 * self.gains.largest_rad_s2 * self.law.minimum_us as f32 * 1e-6
    }

    /// Part of the commanded rate change that falls into the step just passed.
    fn coming_kick(&mut self) -> f32 {
        let most = if self.pending_rad_s2 > 0.0 { self.pending_rad_s2 * ATTITUDE_STEP_S } else { f32::MAX };
        let kick = math::clamp(self.pending_rad_s, -most, most);
        self.pending_rad_s -= kick;
        kick
    }
}

/// Angular momentum by the vehicle's own measure.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Momentum {
    /// Inertia times estimated rate, N·m·s.
    pub body_nms: Vec3,
    /// Impulse commanded from the jets since the last look, N·m·s.
    pub jets_nms: Vec3,
    /// Disturbance as estimated, N·m.
    pub disturbance_nm: Vec3,
}

/// What the attitude loop tells the rest of the vehicle and the ground.
#[derive(Clone, Copy, Debug, PartialEq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub struct Status {
    /// Present mode.
    pub mode: Mode,
    /// Errors against the wanted attitude about x, y, z, rad.
    pub error_rad: [f32; 3],
    /// Rate errors about x, y, z, rad/s.
    pub rate_error_rad_s: [f32; 3],
    /// Estimated attitude against the local orbital frame, scalar first.
    pub quaternion: [f32; 4],
    /// Gyro drift, rad/s.
    pub drift_rad_s: [f32; 3],
    /// Disturbance torque, N·m.
    pub disturbance_nm: [f32; 3],
    /// Wanted yaw, rad.
    pub steering_rad: f32,
    /// Rate of the wanted yaw, rad/s.
    pub steering_rate_rad_s: f32,
    /// Horizon sensor believed.
    pub horizon_trusted: bool,
    /// Heading known.
    pub heading_known: bool,
    /// Where the loop stands around a burst.
    pub phase: Phase,
    /// Pulses fired inside quiet times.
    pub quiet_broken: u32,
    /// Pulses fired in all.
    pub pulses: u32,
    /// Banks given up.
    pub bank_lost: [bool; BANKS],
    /// Film's kick came with the other sign than the one told; it is not told any more.
    pub kick_reversed: bool,
}

impl Attitude {
    /// Snapshot for telemetry and for the exposure sequencer.
    pub fn status(&self) -> Status {
        let torque = |axis: &Axis| axis.rates.disturbance_rad_s2 * axis.inertia_kg_m2;
        let [roll, pitch, yaw] = &self.axes;
        let q = &self.observer.q;
        Status {
            mode: self.mode,
            error_rad: self.error.into(),
            rate_error_rad_s: self.rate_error.into(),
            quaternion: [q.w, q.i, q.j, q.k],
            drift_rad_s: self.observer.drift_rad_s.into(),
            disturbance_nm: [torque(roll), torque(pitch), torque(yaw)],
            steering_rad: rotation::yaw(&self.reference),
            steering_rate_rad_s: self.steering_rate_rad_s,
            horizon_trusted: self.observer.trusted,
            heading_known: matches!(self.observer.heading, Heading::Known(_)),
            phase: self.phase,
            quiet_broken: self.quiet_broken,
            pulses: self.pulses,
            bank_lost: self.banks.lost(),
            kick_reversed: self.kick.reversed,
        }
    }

    /// Momentum as the vehicle sees it; takes the jets' impulse since the last call with it.
    pub fn momentum(&mut self) -> Momentum {
        let [roll, pitch, yaw] = &self.axes;
        let of = |axis: &Axis| axis.rates.rate_rad_s * axis.inertia_kg_m2;
        let torque = |axis: &Axis| axis.rates.disturbance_rad_s2 * axis.inertia_kg_m2;
        let momentum = Momentum {
            body_nms: Vec3::new(of(roll), of(pitch), of(yaw)),
            jets_nms: self.jets_nms,
            disturbance_nm: Vec3::new(torque(roll), torque(pitch), torque(yaw)),
        };
        self.jets_nms = Vec3::zeros();
        momentum
    }

    /// Present mode.
    pub fn mode(&self) -> Mode {
        self.mode
    }

    /// Latch valves: the bank in use, while jets may fire at all.
    pub fn latches(&self) -> [bool; BANKS] {
        if self.mode == Mode::Drift { [false; BANKS] } else { self.banks.latches() }
    }

    /// Valve timers, for the gas ledger.
    pub fn firing(&self) -> &Firing {
        &self.firing
    }
}
