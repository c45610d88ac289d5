//! Attitude hold: from tip-off through capture to fine hold, and quiet times around exposures.
//!
//! One attitude step flows top to bottom: gyros and horizon → [`observer`] and [`rates`] → wanted attitude
//! ([`orbit`]) → mode → [`switching`] per axis → [`jet_table`] → [`firing`] (valve edges). [`response`] and
//! [`banks`] watch that the jets obey, [`trust`] whether horizon and gyros agree, [`mass`] where film and gas have gone, [`turn`] how a commanded turn goes, [`monitor`] what adds up.

mod act;
pub mod axis;
pub mod banks;
mod estimate;
pub mod firing;
pub mod jet_table;
pub mod kick;
pub mod mass;
pub mod mode;
pub mod monitor;
pub mod observer;
pub mod orbit;
pub mod quiet;
pub mod rates;
pub mod response;
pub mod rotation;
pub mod settings;
mod status;
pub mod switching;
pub mod trust;
pub mod turn;

pub use status::{Doubts, Momentum, Status};

use self::{
    axis::Axis,
    banks::Banks,
    firing::Firing,
    kick::Kick,
    mass::Shift,
    mode::Mode,
    monitor::Monitor,
    observer::{Heading, Observer},
    orbit::{Ephemeris, Place},
    quiet::{Burst, Phase},
    rotation::{Quat, Vec3},
    turn::Turn,
};
use crate::{
    io::{BANKS, Edges, HorizonSample, MAX_JETS, TICKS_PER_S},
    math::{self, DEG},
    settings::Settings,
};

/// Yaw error beyond which roll, pitch and yaw errors are worked out one by one, rad (6°).
const FAR_RAD: f32 = 0.1;

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
    /// Jet-seconds that the gas guard has left.
    pub allowance_jet_s: f32,
    /// Gas left by the tank's gauges, kg; none while they tell nothing.
    pub gas_left_kg: Option<f32>,
    /// Which gyros gave a fresh reading.
    pub gyro_fresh: [bool; 3],
    /// Which gyros have given a fresh reading within the last seconds; the others are dead.
    pub gyro_live: [bool; 3],
}

/// Doubts that are kept through a reset.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct KeptDoubts {
    pub(crate) diverged: bool,
    pub(crate) yaw: bool,
    pub(crate) kick_reversed: bool,
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
    monitor: Monitor,
    shift: Shift,
    mode: Mode,
    mode_since: u32,
    search_backward: bool,
    /// Share of nominal thrust that all jets were found to give when both banks were weak alike.
    weak_gas_share: f32,
    /// Gyros that are dead.
    missing: [bool; 3],
    turn: Turn,
    /// Attitude of ordinary hold: level, yawed against the crab.
    level: Quat,
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
            monitor: Monitor::default(),
            shift: Shift::default(),
            search_backward: false,
            weak_gas_share: 1.0,
            missing: [false; 3],
            mode: Mode::Drift,
            mode_since: 0,
            turn: Turn::new(&settings.turn),
            level: rotation::identity(),
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

    /// Takes in where the masses are: film wound over since the reels were alike, and gas gone, kg. Once a minute or so.
    pub fn weigh(&mut self, film_kg: f32, gas_kg: f32) {
        let body = &self.settings.body;
        self.shift = Shift::of(body, film_kg, gas_kg);
        self.banks.reweigh(self.shift.centre_m, &self.settings.jets);
        let loaded = [body.inertia_roll_kg_m2, body.inertia_pitch_kg_m2, body.inertia_yaw_kg_m2];
        for ((axis, loaded_kg_m2), &change_kg_m2) in
            self.axes.iter_mut().zip(loaded).zip(self.shift.inertia_kg_m2.iter())
        {
            axis.inertia_kg_m2 = (loaded_kg_m2 + change_kg_m2).max(0.5 * loaded_kg_m2);
        }
    }

    /// Where the centre of mass is by the vehicle's own account, m from where the settings have it.
    pub fn centre_m(&self) -> Vec3 {
        self.shift.centre_m
    }

    /// One attitude step (50 Hz).
    pub fn step(&mut self, input: &Input) {
        let place = input.ephemeris.place(input.tick);
        self.estimate(input, &place);
        self.watch_jets(input);
        self.aim(&place);
        self.look_after(input);
        self.consider_turn(input, &place);
        let next = mode::next(self.mode, &self.view(input));
        if next != self.mode {
            self.enter(next, input);
            if next == Mode::Turned {
                self.turn.begin(input.cycle, &self.level);
            }
        }
        self.phase = quiet::phase(input.tick, input.burst, &self.settings.steering, self.mode);
        self.act(input);
    }

    /// Valve edges of the coming tick; call on every base tick, after [`Attitude::step`] where both fall.
    pub fn valves(&mut self) -> [Edges; MAX_JETS] {
        self.firing.step()
    }

    /// The valves have been shut from outside: their timers begin anew, and what a pulse was cut by is neither told to
    /// the rates nor asked of the jets.
    pub fn valves_are_shut(&mut self) {
        self.firing.shut();
        for axis in &mut self.axes {
            axis.cut_off();
        }
    }

    /// The ground has looked: what was latched until then is let go.
    pub fn acknowledge(&mut self) {
        self.monitor.acknowledge();
        // Or what yaw was doubted by would raise the doubt again in the next step.
        self.observer.yaw_moved_rad = 0.0;
        self.kick.reversed = false;
    }

    /// Doubts that outlast a reset: they stand until the ground has looked.
    pub fn to_keep(&self) -> KeptDoubts {
        KeptDoubts { diverged: self.monitor.diverged, yaw: self.monitor.yaw, kick_reversed: self.kick.reversed }
    }

    /// The same is doubted again after a reset.
    pub fn doubt_again(&mut self, kept: KeptDoubts) {
        (self.monitor.diverged, self.monitor.yaw) = (kept.diverged, kept.yaw);
        self.kick.reversed = kept.kick_reversed;
    }

    /// Banks given up, and why.
    pub fn banks_given_up(&self) -> [Option<response::Verdict>; BANKS] {
        self.banks.given_up()
    }

    /// The same banks are given up again after a reset.
    pub fn give_up_again(&mut self, lost: [Option<response::Verdict>; BANKS]) {
        self.banks.give_up_again(lost);
    }

    /// Whether these are the settings it works with.
    pub fn works_with(&self, settings: &Settings) -> bool {
        self.settings == *settings
    }

    /// Turns over a bit of a gain, for those who try what follows from it.
    pub(crate) fn turn_over(&mut self) {
        let gain = &mut self.settings.steering.lost_s;
        *gain = f32::from_bits(gain.to_bits() ^ (1 << 20));
    }

    /// Doubts that outlast the step.
    fn look_after(&mut self, input: &Input) {
        let holding = matches!(self.mode, Mode::Coarse | Mode::Fine) && self.observer.settled(input.cycle);
        let alarm = self.settings.response.pulse_alarm;
        self.monitor.step(input.cycle, self.pulses, holding, alarm);
        let moved_rad = math::abs(self.observer.yaw_moved_rad);
        self.monitor.yaw |= moved_rad > self.settings.observer.yaw_moved_deg * DEG;
    }

    fn doubts(&self) -> Doubts {
        let response = &self.settings.response;
        let drift_rad_s = self.settings.observer.drift_limit_deg_h * DEG / 3600.0;
        let drifting = math::abs(self.observer.drift_rad_s.y) > drift_rad_s;
        Doubts {
            gyro: self.missing != [false; 3] || self.observer.trust.creeping || self.observer.odd_rate || drifting,
            yaw: self.monitor.yaw,
            horizon_noisy: self.observer.trust.noisy,
            pulses: self.monitor.pulses,
            thrust: self.axes.iter().any(|axis| axis.watcher.odd(response) || axis.fitted(response.odd_share)),
            diverged: self.monitor.diverged,
        }
    }

    /// Works out the wanted attitude and the errors against it.
    fn aim(&mut self, place: &Place) {
        let rates = Vec3::new(self.rate(0), self.rate(1), self.rate(2));
        if !matches!(self.observer.heading, Heading::Known(_)) {
            self.reference = rotation::identity();
            self.level = self.reference;
            self.steering_rate_rad_s = 0.0;
            self.reference_rate = self.observer.level_rate();
            self.error = self.observer.tilt();
            self.rate_error = rates - self.reference_rate;
            return;
        }
        let (yaw, yaw_rate) = if self.settings.steering.crab == 1 { place.crab() } else { (0.0, 0.0) };
        self.reference = rotation::about_z(yaw);
        self.level = self.reference;
        self.steering_rate_rad_s = yaw_rate;
        if self.mode == Mode::Turned {
            let turning = self.turn.advance(&self.level, yaw_rate);
            self.reference = self.turn.wanted();
            self.reference_rate = rotation::to_b(&self.observer.q, &place.orbital_rate()) + turning;
            self.error = rotation::error(&self.reference, &self.observer.q);
            self.rate_error = rates - self.reference_rate;
            return;
        }
        let turning = place.orbital_rate() + Vec3::new(0.0, 0.0, yaw_rate);
        self.reference_rate = rotation::to_b(&self.observer.q, &turning);
        self.error = rotation::error(&self.reference, &self.observer.q);
        if math::abs(self.error.z) > FAR_RAD {
            // Far off its heading, a turn's parts are no longer the errors of the axes: roll would be taken for pitch.
            let tilt = self.observer.tilt();
            let heading = math::wrap_angle(rotation::yaw(&self.observer.q) - yaw);
            self.error = Vec3::new(tilt.x, tilt.y, heading);
        }
        self.rate_error = rates - self.reference_rate;
    }

    fn view(&self, input: &Input) -> mode::View {
        let steering = &self.settings.steering;
        let slow = steering.damp_rate_deg_s * DEG;
        let blind = self.observer.heading == Heading::Blind;
        // A roll that the search can use need not be damped.
        let spin = if blind { steering.search_rate_deg_s * DEG } else { 0.0 };
        let turning = (0..3).any(|number| math::abs(self.rate(number)) > if number == 0 { slow + spin } else { slow });
        let range_rad_s = self.settings.observer.gyro_range_deg_s * DEG;
        let fast = (0..3).any(|number| math::abs(self.rate(number)) > 0.9 * range_rad_s);
        let unlocked = self.observer.unlocked_ticks(input.cycle);
        let doubts = self.monitor.yaw || self.observer.trust.creeping || self.missing != [false; 3];
        let doubted_s = self.observer.trust.doubted_s(input.cycle);
        mode::View {
            wanted: input.wanted,
            can_fire: input.gas_allowed && !self.monitor.diverged && self.rates_known(input) && self.banks.any_left(),
            turning,
            fast,
            seen: !blind,
            unseen_s: unlocked as f32 / TICKS_PER_S as f32,
            contradiction: self.observer.contradiction,
            heading: self.observer.heading,
            fit: self.observer.settled(input.cycle) && !doubts && doubted_s <= self.settings.observer.horizon_doubt_s,
            in_mode_s: input.cycle.wrapping_sub(self.mode_since) as f32 / TICKS_PER_S as f32,
            lost_s: steering.lost_s,
            search_s: mode::search_s(steering),
            tilt_rad: math::sqrt(self.error.x * self.error.x + self.error.y * self.error.y),
            may_turn: self.turn.may_begin(),
            turned_back: self.turn.is_back(),
            near: self.error.iter().all(|&e| math::abs(e) < 1.5 * DEG),
        }
    }

    fn enter(&mut self, next: Mode, input: &Input) {
        if next == Mode::Damp && matches!(self.mode, Mode::Level | Mode::Coarse | Mode::Fine | Mode::Turned) {
            self.monitor.failed(input.cycle);
        }
        if matches!(next, Mode::Damp | Mode::Search) {
            self.observer.forget();
        }
        if self.mode == Mode::Drift {
            for ((axis, &gyro), missing) in self.axes.iter_mut().zip(input.gyro_rad_s.iter()).zip(self.missing) {
                if !missing {
                    axis.rates.reset(gyro);
                }
            }
        }
        if next == Mode::Search {
            self.search_backward = self.rate(0) < 0.0;
        }
        if next == Mode::Drift {
            self.firing.stop();
        }
        if self.mode == Mode::Turned {
            self.turn.leave();
        }
        self.mode = next;
        self.mode_since = input.cycle;
    }

    fn rate(&self, number: usize) -> f32 {
        self.axes.get(number).map_or(0.0, |axis| axis.rates.rate_rad_s)
    }
}
