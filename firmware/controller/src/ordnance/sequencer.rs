//! The sequence itself: one machine for the vehicle's two events and for the capsule's six.
//!
//! It is stepped once a base tick, keeps no time but in counts, and is small, so that all of its states can be visited
//! (`tests/interlocks`). A step, top to bottom: waking reads the retained word → abort latches → the order → lives
//! run → the count is held against wires and contacts → the event under way goes on. Current is asked for only through a
//! [`Fire`], made anew in every tick from proofs of all inhibits.

use super::{
    arming::Arming,
    chute::Chute,
    event::{Event, Side},
    fire::{Clear, Fire, Powered},
    order::{Arrival, Order},
    place::{Place, Shown},
    readiness::Readiness,
    settings::OrdnanceSettings,
    status::{Alarm, Alarms, Inhibit},
};
use crate::io::{OrdnanceDrive, OrdnanceSample};

/// What reaches a sequencer in one tick.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Input {
    /// An order that came.
    pub arrival: Option<Arrival>,
    /// Readbacks of the ordnance circuit.
    pub sample: OrdnanceSample,
    /// The contact beside that of the carrier's loop: for the vehicle its separation sense, held for a tenth of a
    /// second; for the capsule the contact that tells that the vehicle is behind.
    pub left: bool,
    /// A third contact: for the capsule the umbilical, open. True for the vehicle, which has none: attitude, seen by
    /// horizon sensor and gyros, stands there in its place.
    pub apart: bool,
    /// Readings of the moment.
    pub readiness: Readiness,
}

/// What a sequencer does with an event under way.
#[derive(Clone, Copy, Debug, Default, Eq, Hash, PartialEq)]
enum Phase {
    /// None is.
    #[default]
    Waiting,
    /// Its line is closed; the readback is looked at before current is given.
    Line,
    /// It gets current.
    Current { left: u32 },
    /// It is to show itself done.
    Showing { left: u32 },
}

/// The stepped machine. `PLANTED` takes one guard away, for the search to find; it is false wherever it flies.
#[derive(Clone, Copy, Debug, Eq, Hash, PartialEq)]
pub struct Sequencer<const PLANTED: bool = false> {
    side: Side,
    /// None until the first tick after a reset, which reads the retained word.
    place: Option<Place>,
    arming: Arming,
    phase: Phase,
    /// The capsule's sequence runs by itself.
    running: bool,
    /// The contacts told that everything is behind, in the tick before.
    was_clear: bool,
    /// Ticks since the sequence last went on.
    since: u32,
    /// Ticks for which no arming is accepted.
    lockout: u32,
    chute: Chute,
    aborted: bool,
}

impl Sequencer<false> {
    /// As it wakes, on the pad and after every reset: disarmed.
    pub const fn new(side: Side) -> Self {
        Self::wake(side)
    }
}

#[cfg(feature = "planted-sneak-path")]
impl Sequencer<true> {
    /// With the guard taken away. For tests alone: this feature does not build for a board.
    pub const fn planted(side: Side) -> Self {
        Self::wake(side)
    }
}

impl<const PLANTED: bool> Sequencer<PLANTED> {
    const fn wake(side: Side) -> Self {
        Self {
            side,
            place: None,
            arming: Arming::Disarmed,
            phase: Phase::Waiting,
            running: false,
            // A capsule that wakes in free flight has not been seen to leave: it waits to be told.
            was_clear: true,
            since: 0,
            lockout: 0,
            chute: Chute::NONE,
            aborted: false,
        }
    }

    /// One base tick: what the circuit is to do in the next, and what is new to tell.
    pub fn step(&mut self, settings: &OrdnanceSettings, input: &Input) -> (OrdnanceDrive, Alarms) {
        let mut alarms = Alarms::default();
        let mut place = self.at_place(settings, input, &mut alarms);
        // First, while what was asked for in the tick before is still known.
        self.welds(input, &place, &mut alarms);
        self.aborted |= input.sample.abort_latched != [false; 2];
        if self.aborted {
            self.stop();
        }
        self.lockout = self.lockout.saturating_sub(1);
        alarms.raise_if(Alarm::Lapsed, self.lapsed());
        self.leave(input);
        let asked = self.obey(settings, input, &place, &mut alarms);
        self.follow(settings, input, &mut place, &mut alarms);
        let fire = self.sequence(settings, input, &mut place, asked, &mut alarms);
        self.place = Some(place);
        let retain = (place.retain(self.aborted), self.chute.retain(settings));
        let mut drive = OrdnanceDrive::resting(self.arming.is_armed(), self.aborted, retain);
        if let Some(fire) = &fire {
            drive.select(fire);
            if matches!(self.phase, Phase::Current { .. }) {
                drive.commit(fire);
            }
        }
        (drive, alarms)
    }

    fn at_place(&mut self, settings: &OrdnanceSettings, input: &Input, alarms: &mut Alarms) -> Place {
        if let Some(place) = self.place {
            return place;
        }
        let (place, sound, aborted) =
            Place::wake(self.side, input.sample.retained, shown(input), clear(input).is_some());
        // Memory that was never written, before anything has fired, is no loss.
        let blank = input.sample.retained == 0 && place.count() == self.side.first();
        alarms.raise_if(Alarm::WordLost, !sound && !blank);
        self.aborted |= aborted;
        if sound && place.next().is_none_or(Event::past_return) {
            self.chute = Chute::resume(input.sample.retained_ticks, settings);
        }
        place
    }

    /// Disarms and drops whatever is under way.
    fn stop(&mut self) {
        self.arming = Arming::Disarmed;
        self.running = false;
        // What has had current is still waited for: it may show itself yet.
        if !matches!(self.phase, Phase::Showing { .. }) {
            self.phase = Phase::Waiting;
        }
    }

    fn lapsed(&mut self) -> bool {
        let lapsed = self.arming.tick();
        if lapsed {
            self.stop();
        }
        lapsed
    }

    /// Closed contacts that nobody asked for. A line that is closed would fire with the next current, whosever turn
    /// it is: nothing is armed, and what is armed is disarmed.
    fn welds(&mut self, input: &Input, place: &Place, alarms: &mut Alarms) {
        let idle = self.phase == Phase::Waiting;
        alarms.raise_if(Alarm::RelayWelded, input.sample.relay_closed && !self.arming.is_armed());
        alarms.raise_if(Alarm::LineWelded, idle && input.sample.commit_closed);
        if self.foreign_line(input, place) {
            alarms.raise(Alarm::LineWelded);
            self.stop();
        }
    }

    /// A line other than that of the event under way is closed, of an event that is not behind.
    fn foreign_line(&self, input: &Input, place: &Place) -> bool {
        let ahead = place.next().map_or(0, |event| !event.before());
        let under_way = if matches!(self.phase, Phase::Line | Phase::Current { .. } | Phase::Showing { .. }) {
            place.next().map_or(0, Event::bit)
        } else {
            0
        };
        input.sample.lines_closed & ahead & !under_way != 0
    }

    /// The capsule has been let go while it was armed: its sequence runs.
    fn leave(&mut self, input: &Input) {
        let clear = clear(input).is_some();
        if self.side == Side::Capsule && clear && !self.was_clear && self.arming.is_armed() {
            self.run();
        }
        self.was_clear = clear || self.side == Side::Vehicle;
    }

    fn run(&mut self) {
        self.running = true;
        self.since = 0;
        self.arming.bind();
    }

    /// Takes an order; the event that the vehicle is to fire now, if it is one.
    fn obey(
        &mut self,
        settings: &OrdnanceSettings,
        input: &Input,
        place: &Place,
        alarms: &mut Alarms,
    ) -> Option<Event> {
        let order = match input.arrival? {
            Arrival::Order(order) => order,
            Arrival::Garbled => {
                alarms.raise(Alarm::Garbled);
                return None;
            }
            Arrival::Repeated => {
                alarms.raise(Alarm::Repeated);
                return None;
            }
        };
        match order {
            Order::Safe => self.stop(),
            Order::Abort => self.abort(input, place, alarms),
            Order::Arm(token) => {
                let may = !self.aborted && self.lockout == 0 && input.sample.off_carrier;
                let offered =
                    may && !self.foreign_line(input, place) && self.arming.offer(token, settings.confirm_life_ticks);
                alarms.raise_if(Alarm::ArmRefused, !offered);
            }
            Order::Confirm(token) => {
                let life_ticks = match self.side {
                    Side::Vehicle => settings.arm_life_ticks,
                    Side::Capsule => settings.capsule_arm_life_ticks,
                };
                if !self.arming.confirm(token, life_ticks) {
                    alarms.raise(Alarm::WrongEcho);
                    self.stop();
                }
            }
            Order::Go(event, token) => return self.go(input, place, (event, token), alarms),
        }
        None
    }

    fn abort(&mut self, input: &Input, place: &Place, alarms: &mut Alarms) {
        // Once the motor may have been lit, the capsule comes down: the canopies are then the safe way.
        let shows = |bits: u8| bits & Event::RetroIgnition.bit() != 0;
        let lit = match self.phase {
            Phase::Current { .. } => true,
            // The line's own contact was not seen closed, or the current is over.
            Phase::Showing { .. } => shows(input.sample.spent | input.sample.done),
            Phase::Waiting | Phase::Line => place.begun() && shows(input.sample.spent),
        };
        let lit = lit && place.next() == Some(Event::RetroIgnition);
        if lit || self.side == Side::Capsule && place.next().is_none_or(Event::past_return) {
            alarms.raise(Alarm::AbortRefused);
            return;
        }
        self.aborted = true;
        self.stop();
    }

    fn go(&mut self, input: &Input, place: &Place, (event, token): (Event, u32), alarms: &mut Alarms) -> Option<Event> {
        if self.arming.token().is_some_and(|mine| mine != token) {
            alarms.raise(Alarm::WrongEcho);
            return None;
        }
        if self.arming.proof::<PLANTED>(input.sample.relay_closed).is_none() {
            alarms.raise(Alarm::NotArmed);
            return None;
        }
        let free = self.phase == Phase::Waiting && !self.running;
        if place.next() != Some(event) || !free || self.aborted {
            alarms.raise(Alarm::OutOfTurn);
            return None;
        }
        if self.side == Side::Vehicle {
            return Some(event);
        }
        // Not before the capsule has left; the sequence begins by itself then.
        if clear(input).is_some() {
            self.run();
        } else {
            alarms.raise(Alarm::OutOfTurn);
        }
        None
    }

    /// Holds the count against what shows, and looks after the way down.
    fn follow(&mut self, settings: &OrdnanceSettings, input: &Input, place: &mut Place, alarms: &mut Alarms) {
        let shown = shown(input);
        let event = place.next();
        let mut on = place.observe(shown);
        // After a reset: what was begun past the return and reads spent is not waited for.
        let spent = event.is_some_and(|event| shown.spent & event.bit() != 0);
        if !on && self.phase == Phase::Waiting && spent {
            on = place.go_on();
        }
        if on {
            self.gone_on(event);
        }
        alarms.raise_if(Alarm::SensesDisagree, place.contradicted(shown));
        if self.side == Side::Capsule && clear(input).is_some() {
            let listening = place.next().is_some_and(Event::past_return);
            let early = self.chute.tick(settings, &input.readiness, listening);
            alarms.raise_if(Alarm::EarlySwitch, early && place.next().is_some_and(|event| event <= Event::Drogue));
        }
    }

    fn gone_on(&mut self, event: Option<Event>) {
        self.phase = Phase::Waiting;
        self.since = 0;
        if event == Some(Event::RetroIgnition) {
            self.chute.lit();
        }
    }

    /// Goes on with the event under way, or begins the next; current for it, if all proofs are there.
    fn sequence(
        &mut self,
        settings: &OrdnanceSettings,
        input: &Input,
        place: &mut Place,
        asked: Option<Event>,
        alarms: &mut Alarms,
    ) -> Option<Fire> {
        match self.phase {
            Phase::Waiting => self.begin(settings, input, place, asked, alarms),
            Phase::Line => self.line(settings, input, place, alarms),
            Phase::Current { left } => {
                let fire = if left > 0 { self.fire(settings, input, place) } else { None };
                self.phase = if fire.is_some() {
                    Phase::Current { left: left.saturating_sub(1) }
                } else {
                    Phase::Showing { left: settings.show_ticks }
                };
                fire
            }
            Phase::Showing { left } if left > 0 => {
                self.phase = Phase::Showing { left: left - 1 };
                None
            }
            Phase::Showing { .. } => {
                self.not_shown(place, alarms);
                None
            }
        }
    }

    /// The line was closed in the tick before. Its own contact must be seen closed before the commit switch is.
    fn line(&mut self, settings: &OrdnanceSettings, input: &Input, place: &Place, alarms: &mut Alarms) -> Option<Fire> {
        let event = place.next()?;
        let Some(fire) = self.fire(settings, input, place) else {
            // No current was given. Past the return it is tried again; before, it is not done later by itself.
            self.phase = Phase::Waiting;
            if !event.past_return() {
                self.refuse(settings, input, event, alarms);
            }
            return None;
        };
        let closed = input.sample.lines_closed & event.bit() != 0;
        self.phase = if closed {
            Phase::Current { left: settings.pulse_ticks.saturating_sub(1) }
        } else {
            Phase::Showing { left: settings.show_ticks }
        };
        closed.then_some(fire)
    }

    /// An event did not show itself done in its time. Past the return the sequence goes on, before it stops.
    fn not_shown(&mut self, place: &mut Place, alarms: &mut Alarms) {
        alarms.raise(Alarm::NotShown);
        self.phase = Phase::Waiting;
        let event = place.next();
        if self.running && place.go_on() {
            self.gone_on(event);
        } else {
            self.stop();
        }
    }

    fn begin(
        &mut self,
        settings: &OrdnanceSettings,
        input: &Input,
        place: &mut Place,
        asked: Option<Event>,
        alarms: &mut Alarms,
    ) -> Option<Fire> {
        let event = place.next()?;
        let last_tick = settings.delay_ticks(event).saturating_add(settings.window_ticks);
        if self.running {
            self.since = self.since.saturating_add(1).min(last_tick);
        }
        let due = asked == Some(event) || (self.running && self.since >= settings.delay_ticks(event));
        if !due {
            return None;
        }
        let fire = self.fire(settings, input, place);
        if fire.is_some() {
            place.begin();
            self.phase = Phase::Line;
        } else if asked.is_some() || !event.past_return() && self.since >= last_tick {
            self.refuse(settings, input, event, alarms);
        }
        fire
    }

    /// An event cannot be fired now: never blind, and never later by itself. The vehicle, whose moment is not right,
    /// waits for a revolution.
    fn refuse(&mut self, settings: &OrdnanceSettings, input: &Input, event: Event, alarms: &mut Alarms) {
        if self.side == Side::Capsule {
            alarms.raise(Alarm::NotReady);
            self.stop();
        } else if input.readiness.proof(event, settings, &self.chute).is_some() {
            alarms.raise(Alarm::OutOfTurn);
        } else {
            alarms.raise(Alarm::WavedOff);
            self.stop();
            self.lockout = settings.wave_off_ticks;
        }
    }

    /// Current for the next event: all proofs, or nothing.
    fn fire(&self, settings: &OrdnanceSettings, input: &Input, place: &Place) -> Option<Fire> {
        if self.aborted || self.foreign_line(input, place) {
            return None;
        }
        let event = place.next()?;
        let armed = self.arming.proof::<PLANTED>(input.sample.relay_closed)?;
        let powered = Powered::of(input.sample.recovery_v, settings.recovery_least_v)?;
        let turn = place.proof(event, shown(input))?;
        let ready = input.readiness.proof(event, settings, &self.chute)?;
        Fire::new(clear(input)?, powered, armed, &turn, &ready)
    }

    /// How far arming has come.
    pub fn arming(&self) -> &Arming {
        &self.arming
    }

    /// Aborted.
    pub fn aborted(&self) -> bool {
        self.aborted
    }

    /// Events behind; none before the first tick.
    pub fn count(&self) -> Option<u8> {
        self.place.as_ref().map(Place::count)
    }

    /// Inhibits in place, as bits.
    pub fn inhibits(&self, settings: &OrdnanceSettings, input: &Input) -> u8 {
        let next = self.place.as_ref().and_then(Place::next);
        let moment = next.is_some_and(|event| input.readiness.proof(event, settings, &self.chute).is_some());
        let removed = [
            (Inhibit::Clear, clear(input).is_some()),
            (Inhibit::Power, Powered::of(input.sample.recovery_v, settings.recovery_least_v).is_some()),
            (Inhibit::Arming, self.arming.is_armed()),
            (Inhibit::Turn, self.phase != Phase::Waiting),
            (Inhibit::Moment, moment),
        ];
        removed.into_iter().filter(|(_, gone)| !gone).fold(0, |bits, (inhibit, _)| bits | inhibit as u8)
    }
}

fn clear(input: &Input) -> Option<Clear> {
    Clear::of(&[input.sample.off_carrier, input.left, input.apart])
}

fn shown(input: &Input) -> Shown {
    Shown { spent: input.sample.spent, done: input.sample.done }
}
