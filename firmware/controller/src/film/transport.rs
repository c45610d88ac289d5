//! The states of the film transport, and what each asks of roller and reels.

use super::meter::Meter;
use super::reels::{End, Reel, arm_place_m};
use super::reference::Reference;
use super::roller::Roller;
use super::settings::FilmSettings;
use super::status::{Demand, Fault, State, Status};
use super::watch::{Seen, Watch};
use crate::io::{FilmDrive, FilmSample, TICK_S};
use crate::math;

/// The film transport.
#[derive(Clone, Debug, PartialEq)]
pub struct Transport {
    pub(super) settings: FilmSettings,
    pub(super) count_m: f32,
    pub(super) status: Status,
    pub(super) meter: Meter,
    pub(super) supply: Reel,
    pub(super) take_up: Reel,
    pub(super) reference: Reference,
    watch: Watch,
    /// Last arm readings that were numbers, m.
    pub(super) arms_m: [f32; 2],
    pub(super) roller: Roller,
    /// Speed that the reels follow, m/s.
    reel_speed_m_s: f32,
    pub(super) ticks_in_state: u32,
    pub(super) good_ticks: u32,
    /// The last picture lies inside the take-up reel.
    pub(super) led: bool,
    /// Counter of the take-up reel when it began to wind in the tail.
    pub(super) tail_from: i32,
    /// The advance asked for has been begun.
    advance_taken: bool,
    /// Last sample, and for how many ticks nothing has changed under the brakes.
    last: FilmSample,
    quiet_ticks: u32,
}

/// What of the transport is kept through a reset.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct KeptFilm {
    pub(crate) state: State,
    pub(crate) metered_counts: i32,
    pub(crate) fault: Option<Fault>,
    pub(crate) retries: u8,
    pub(crate) supply_empty: bool,
    pub(crate) led: bool,
}

impl KeptFilm {
    /// Puts out all that a check sum must cover, piece by piece.
    pub(crate) fn put(&self, put: &mut impl FnMut(&[u8])) {
        put(&self.metered_counts.to_be_bytes());
        let fault = self.fault.map_or(0, |fault| fault as u8 + 1);
        put(&[self.state as u8, fault, self.retries, u8::from(self.supply_empty), u8::from(self.led)]);
    }
}

/// Arms that moved less than this share of their travel over so many ticks stand still.
const STILL_SHARE: f32 = 0.04;
const LOOK_BACK: usize = 10;

/// Ticks after which every window has seen nothing but rest.
const QUIET_TICKS: u32 = 40;

impl Transport {
    /// A transport at rest. Settings outside their ranges are not looked for here: the loader does that.
    pub fn new(settings: &FilmSettings) -> Self {
        let meter = Meter::new(settings);
        let mut transport = Self {
            settings: *settings,
            count_m: settings.count_m(),
            status: Status::default(),
            supply: Reel::new(End::Supply, settings, meter.counts),
            take_up: Reel::new(End::TakeUp, settings, meter.counts),
            reference: Reference::default(),
            watch: Watch::default(),
            arms_m: [0.0; 2],
            roller: Roller::default(),
            reel_speed_m_s: 0.0,
            ticks_in_state: 0,
            good_ticks: 0,
            led: false,
            tail_from: 0,
            advance_taken: false,
            last: FilmSample::default(),
            quiet_ticks: 0,
            meter,
        };
        transport.report();
        transport
    }

    /// What is to be kept through a reset.
    pub fn to_keep(&self) -> KeptFilm {
        let Status { state, metered_counts, fault, retries, .. } = self.status;
        // The attempt that was still to come is the next one after the reset; a loop that ran over still waits for its own.
        let next = state == State::Resting && fault != Some(Fault::Overrun);
        let retries = if next { retries.saturating_add(1) } else { retries };
        KeptFilm { state, metered_counts, fault, retries, supply_empty: self.supply.empty, led: self.led }
    }

    /// A transport as it wakes from a reset: under its brakes, with the film that had been counted. A fault that had
    /// stopped the film stops it still. The cut that had been begun is begun again, for a second one does no harm, and the
    /// sequence goes on from there to its end.
    pub fn wake(settings: &FilmSettings, kept: &KeptFilm) -> Self {
        let mut transport = Self::new(settings);
        transport.meter = Meter::from(kept.metered_counts);
        transport.supply = Reel::new(End::Supply, settings, kept.metered_counts);
        transport.take_up = Reel::new(End::TakeUp, settings, kept.metered_counts);
        transport.status.fault = kept.fault;
        transport.status.retries = kept.retries;
        transport.supply.empty = kept.supply_empty;
        transport.led = kept.led;
        transport.enter(match kept.state {
            State::Cutting | State::Tailing => State::Cutting,
            State::Stopped | State::Sealing | State::Secured => kept.state,
            State::Resting | State::Readying if kept.fault == Some(Fault::Overrun) => State::Resting,
            _ => State::Braked,
        });
        transport.report();
        transport
    }

    /// Whether these are the settings it works with.
    pub fn works_with(&self, settings: &FilmSettings) -> bool {
        self.settings == *settings
    }

    /// Turns over a bit of a setting, for those who try what follows from it.
    pub(crate) fn turn_over(&mut self) {
        let gain = &mut self.settings.position_gain_1_s;
        *gain = f32::from_bits(gain.to_bits() ^ (1 << 20));
    }

    /// What it says about itself, as of the last step.
    pub fn status(&self) -> &Status {
        &self.status
    }

    /// Change of the film's momentum about body +y if film now went to `speed_m_s`, N·m·s, as estimated.
    pub fn momentum_change_nms(&self, speed_m_s: f32) -> f32 {
        self.supply.momentum_nms(speed_m_s) + self.take_up.momentum_nms(speed_m_s) - self.status.momentum_nms
    }

    /// The ground has seen the fault: film may be tried again.
    pub fn acknowledge(&mut self) {
        self.status.fault = None;
        self.status.retries = 0;
        self.supply.empty = false;
        // What has not changed since is looked at again all the same: a loop that is still full stops the film anew.
        self.quiet_ticks = 0;
        if self.status.state == State::Stopped {
            self.enter(State::Braked);
        }
    }

    /// One base tick: looks at the gauges, moves between states, and gives what the motors shall do from
    /// the next tick's boundary. Duties lie in −1…1 whatever comes in.
    pub fn step(&mut self, sample: &FilmSample, demand: Demand) -> FilmDrive {
        // Most of a mission: braked, nothing moves, nothing asked. A step would change nothing.
        if self.quiet_ticks >= QUIET_TICKS && demand == Demand::Rest && *sample == self.last {
            return FilmDrive::REST;
        }
        let quiet = demand == Demand::Rest
            && matches!(self.status.state, State::Braked | State::Stopped | State::Secured)
            && *sample == self.last;
        self.quiet_ticks = if quiet { self.quiet_ticks.saturating_add(1) } else { 0 };
        self.last = *sample;
        let bad = self.take_in(sample);
        let demand = self.permitted(demand);
        self.ticks_in_state = self.ticks_in_state.saturating_add(1);
        if !matches!(demand, Demand::Advance { .. }) {
            self.advance_taken = false;
            self.status.arrived = false;
        }
        if self.unbraked() && self.status.state != State::Tailing {
            let asked_m_s = self.reference.speed_m_s(self.count_m);
            let seen = Seen {
                settings: &self.settings,
                meter: &self.meter,
                reels: [&self.supply, &self.take_up],
                arms_m: self.arms_m,
                current_a: sample.roller_current_a,
                asked_m_s,
                count_m: self.count_m,
                near_end: self.status.reserve_reached,
                readying: self.status.state == State::Readying,
                bad,
            };
            // Loops that are still being put in order are out of order by right.
            let by_right = |fault: &Fault| {
                self.status.state == State::Readying && !matches!(fault, Fault::Runaway | Fault::Gauges)
            };
            if let Some(fault) = self.watch.look(&seen).filter(|fault| !by_right(fault)) {
                self.stop(fault);
            }
        } else if self.status.state == State::Braked {
            let [supply_m, _] = self.arms_m;
            if self.watch.overruns_at_rest(supply_m, &self.settings) {
                self.stop(Fault::Overrun);
            }
        }
        self.transition(demand);
        self.secure(demand);
        if !self.unbraked() {
            self.good_ticks = 0;
            self.report();
            return self.braked_drive();
        }
        if self.status.state == State::Tailing {
            self.report();
            return self.wind_tail();
        }
        self.move_reference(demand);
        self.judge(demand);
        self.report();
        self.drive()
    }

    /// Takes in the gauges; `true` if one of them talked nonsense.
    fn take_in(&mut self, sample: &FilmSample) -> bool {
        let settings = self.settings;
        self.meter.read(sample.roller_counts, &settings);
        let mut bad = self.meter.refused || !sample.roller_current_a.is_finite();
        for (kept, read) in self.arms_m.iter_mut().zip([sample.supply_arm_m, sample.take_up_arm_m]) {
            // An arm cannot be far outside its stops.
            if read.is_finite() && math::abs(read) < 2.0 * settings.arm_travel_m {
                *kept = read;
            } else {
                bad = true;
            }
        }
        let [supply_m, take_up_m] = self.arms_m;
        self.supply.read(sample.supply_counts, supply_m, self.meter.counts, &settings);
        self.take_up.read(sample.take_up_counts, take_up_m, self.meter.counts, &settings);
        if bad {
            self.status.refused_inputs = self.status.refused_inputs.saturating_add(1);
        }
        bad
    }

    /// The demand, brought to rest if it is no sensible one or film is down to the reserve.
    fn permitted(&mut self, demand: Demand) -> Demand {
        let used_m = self.meter.counts as f32 * self.count_m;
        let counted = used_m > self.settings.load_length_m - self.settings.reserve_length_m;
        self.status.reserve_reached = counted || self.supply.empty;
        let sensible = |x: f32, most: f32| x > 0.0 && x <= most;
        match demand {
            Demand::Run { .. } | Demand::Advance { .. } if self.status.reserve_reached => Demand::Rest,
            Demand::Run { speed_m_s } if !sensible(speed_m_s, self.settings.speed_max_m_s) => Demand::Rest,
            Demand::Advance { length_m } if !sensible(length_m, 10.0) => Demand::Rest,
            other => other,
        }
    }

    fn unbraked(&self) -> bool {
        !matches!(
            self.status.state,
            State::Braked | State::Resting | State::Stopped | State::Cutting | State::Sealing | State::Secured
        )
    }

    pub(super) fn enter(&mut self, state: State) {
        if self.status.state != state {
            self.status.state = state;
            self.ticks_in_state = 0;
            self.good_ticks = 0;
        }
    }

    fn stop(&mut self, fault: Fault) {
        let again = matches!(fault, Fault::Stuck | Fault::Overrun) && self.status.retries == 0;
        self.status.fault = Some(fault);
        self.enter(if again { State::Resting } else { State::Stopped });
    }

    fn transition(&mut self, demand: Demand) {
        if self.cut_begun() {
            return;
        }
        let settings = self.settings;
        match self.status.state {
            State::Braked if demand != Demand::Rest && !(demand == Demand::Secure && self.led) => {
                self.let_go();
            }
            // An overrun loop is put in order at once, not when the next pass waits for it.
            State::Readying if demand == Demand::Rest && !self.overrun() => self.enter(State::Evening),
            State::Readying => self.make_ready(),
            State::Holding => match demand {
                Demand::Rest => self.enter(State::Evening),
                Demand::Run { .. } => self.enter(State::RunningUp),
                Demand::Advance { length_m } if !self.advance_taken => {
                    self.advance_taken = true;
                    self.reference.aim(length_m, self.count_m);
                    self.enter(State::Advancing);
                }
                Demand::Secure => {
                    self.reference.aim(self.settings.leader_length_m, self.count_m);
                    self.enter(State::Leading);
                }
                Demand::Hold | Demand::Advance { .. } => {}
            },
            State::Leading if self.reference.ended() && self.near_end() => {
                self.led = true;
                self.enter(State::Evening);
            }
            State::Advancing => {
                if demand == Demand::Rest {
                    self.enter(State::RunningDown);
                } else if self.reference.ended() && self.near_end() {
                    self.status.arrived = matches!(demand, Demand::Advance { .. });
                    self.enter(State::Holding);
                }
            }
            State::RunningUp | State::Steady => match demand {
                Demand::Run { speed_m_s } => {
                    let there = self.reference.runs_at(speed_m_s, self.count_m);
                    self.enter(if there { State::Steady } else { State::RunningUp });
                }
                _ => self.enter(State::RunningDown),
            },
            State::RunningDown => match demand {
                Demand::Run { .. } => self.enter(State::RunningUp),
                Demand::Rest if self.reference.still() => self.enter(State::Evening),
                Demand::Hold | Demand::Advance { .. } | Demand::Secure if self.reference.still() => {
                    self.enter(State::Holding);
                }
                _ => {}
            },
            State::Evening => match demand {
                Demand::Rest | Demand::Secure if self.evened() || self.ticks_in_state > settings.centring_ticks => {
                    self.enter(State::Braked);
                }
                Demand::Rest => {}
                Demand::Secure if self.led => {}
                _ => self.enter(State::Readying),
            },
            State::Resting if demand == Demand::Rest && !self.overrun() => self.enter(State::Braked),
            State::Resting if self.ticks_in_state > settings.retry_wait_ticks => {
                self.status.retries = self.status.retries.saturating_add(1);
                if self.overrun() {
                    self.let_go();
                } else {
                    self.enter(State::Braked);
                }
            }
            State::Braked
            | State::Resting
            | State::Stopped
            | State::Leading
            | State::Cutting
            | State::Tailing
            | State::Sealing
            | State::Secured => {}
        }
    }

    /// A supply that overran may have let go of metres, which its reel takes back no faster than its loop allows.
    fn ready_limit_ticks(&self) -> u32 {
        if self.overrun() { self.settings.rewind_limit_ticks } else { self.settings.ready_limit_ticks }
    }

    fn overrun(&self) -> bool {
        self.status.fault == Some(Fault::Overrun)
    }

    /// Takes the brakes off and lets the reels put both loops in order.
    fn let_go(&mut self) {
        self.reference.rest_at(self.meter.counts);
        self.watch.clear();
        self.supply.relax();
        self.take_up.relax();
        self.roller = Roller::default();
        self.reel_speed_m_s = 0.0;
        self.enter(State::Readying);
    }

    /// Waits until both loops are in order, so that no run begins with slack film.
    fn make_ready(&mut self) {
        let limit_m = 0.5 * self.settings.arm_limit_share * self.settings.arm_travel_m;
        // Nor with a reel that still turns backwards to clear its loop: it would run on when film starts.
        let still_m = STILL_SHARE * self.settings.arm_travel_m;
        let still = |reel: &Reel| math::abs(reel.arm_moved_m(LOOK_BACK)) < still_m;
        let ordered =
            self.arms_m.iter().all(|arm_m| math::abs(*arm_m) < limit_m) && still(&self.supply) && still(&self.take_up);
        self.good_ticks = if ordered { self.good_ticks.saturating_add(1) } else { 0 };
        if self.good_ticks >= self.settings.ready_ticks {
            self.watch.clear();
            self.enter(State::Holding);
        } else if self.ticks_in_state > self.ready_limit_ticks() {
            let slack = self.arms_m.iter().any(|arm_m| *arm_m > limit_m);
            self.stop(if slack { Fault::Slack } else { Fault::Tight });
        }
    }

    fn near_end(&self) -> bool {
        let lag_m = self.reference.lag_m(self.meter.counts, self.count_m);
        math::abs(lag_m) < self.settings.arrive_counts as f32 * self.count_m
    }

    fn evened(&self) -> bool {
        let close_m = self.settings.centred_share * self.settings.arm_travel_m;
        let place_m = arm_place_m(&self.settings);
        self.ticks_in_state > 5
            && self.meter.gained(3).unsigned_abs() < 8
            && self.arms_m.iter().all(|arm_m| math::abs(*arm_m - place_m) < close_m)
    }

    fn move_reference(&mut self, demand: Demand) {
        match (self.status.state, demand) {
            (State::RunningUp | State::Steady, Demand::Run { speed_m_s }) => {
                self.reference.run(speed_m_s, &self.settings, self.count_m);
            }
            (State::Advancing | State::Leading, _) => self.reference.advance(&self.settings, self.count_m),
            _ => self.reference.run(0.0, &self.settings, self.count_m),
        }
        // A reference that ran away would be chased at full speed once the film came free.
        self.reference.limit_lag(self.meter.counts, 0.01, self.count_m);
    }

    /// What the motors shall do from the next tick on.
    fn drive(&mut self) -> FilmDrive {
        let speed_m_s = self.reference.speed_m_s(self.count_m);
        let acceleration_m_s2 = self.reference.acceleration_m_s2(self.count_m);
        let (reel_m_s, reel_m_s2) = self.reel_motion(speed_m_s, acceleration_m_s2);
        let [supply_m, take_up_m] = self.arms_m;
        // The count is from this tick's start, the reference already for its end.
        let lag_m = self.reference.lag_m(self.meter.counts, self.count_m) - speed_m_s * TICK_S;
        FilmDrive {
            roller_duty: self.roller.duty(&self.settings, lag_m, speed_m_s, acceleration_m_s2),
            supply_duty: self.supply.duty(&self.settings, supply_m, reel_m_s, reel_m_s2),
            take_up_duty: self.take_up.duty(&self.settings, take_up_m, reel_m_s, reel_m_s2),
            brake: false,
            clamp: false,
            ..FilmDrive::REST
        }
    }

    /// The reels follow the roller at once, or its mean if the settings ask for smoothing.
    fn reel_motion(&mut self, speed_m_s: f32, acceleration_m_s2: f32) -> (f32, f32) {
        let smoothing_s = self.settings.reel_smoothing_s;
        if smoothing_s < TICK_S {
            self.reel_speed_m_s = speed_m_s;
            return (speed_m_s, acceleration_m_s2);
        }
        let gain_m_s2 = (speed_m_s - self.reel_speed_m_s) / smoothing_s;
        self.reel_speed_m_s += gain_m_s2 * TICK_S;
        (self.reel_speed_m_s, gain_m_s2)
    }
}
