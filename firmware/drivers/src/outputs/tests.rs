//! Order of operations, seen from outside: every write of every line and duty in one journal.

extern crate std;
use super::*;
use core::{cell::RefCell, convert::Infallible};
use embedded_hal::{digital, pwm};
use std::{format, rc::Rc, string::String, vec::Vec as StdVec};
use stillframe_controller::{
    io::{Edges, OrdnanceDrive, OrdnanceSample},
    ordnance::{Event, OrdnanceSettings, order::Order, readiness::Readiness, vehicle::Vehicle},
};

/// What was written, in order.
type Journal = Rc<RefCell<StdVec<String>>>;

#[derive(Clone, Debug)]
struct Wire {
    name: String,
    journal: Journal,
}

impl digital::ErrorType for Wire {
    type Error = Infallible;
}

impl OutputPin for Wire {
    fn set_low(&mut self) -> Result<(), Infallible> {
        self.journal.borrow_mut().push(format!("{}-", self.name));
        Ok(())
    }
    fn set_high(&mut self) -> Result<(), Infallible> {
        self.journal.borrow_mut().push(format!("{}+", self.name));
        Ok(())
    }
}

impl pwm::ErrorType for Wire {
    type Error = Infallible;
}

impl SetDutyCycle for Wire {
    fn max_duty_cycle(&self) -> u16 {
        1_000
    }
    fn set_duty_cycle(&mut self, duty: u16) -> Result<(), Infallible> {
        self.journal.borrow_mut().push(format!("{}={duty}", self.name));
        Ok(())
    }
}

#[derive(Clone, Debug, Default)]
struct Clock {
    now_us: Rc<RefCell<u16>>,
    armed_us: Rc<RefCell<Option<u16>>>,
}

impl EdgeTimer for Clock {
    fn restart(&mut self) {
        *self.now_us.borrow_mut() = 0;
    }
    fn now_us(&self) -> u16 {
        *self.now_us.borrow()
    }
    fn arm(&mut self, at_us: u16) {
        *self.armed_us.borrow_mut() = Some(at_us);
    }
    fn disarm(&mut self) {
        *self.armed_us.borrow_mut() = None;
    }
}

struct Rig {
    outputs: Outputs<Wire, Wire, Clock>,
    clock: Clock,
    journal: Journal,
}

impl Rig {
    fn new() -> Self {
        let (journal, clock) = (Journal::default(), Clock::default());
        let wire = |name: &str| Wire { name: name.into(), journal: journal.clone() };
        let numbered = |name: &str, number: usize| wire(&format!("{name}{number}"));
        let pins = Pins {
            valves: core::array::from_fn(|n| numbered("valve", n)),
            latches: core::array::from_fn(|n| numbered("latch", n)),
            shutter: wire("shutter"),
            slit: core::array::from_fn(|n| numbered("slit", n)),
            transmit: wire("transmit"),
            brake_off: wire("brake_off"),
            clamp_off: wire("clamp_off"),
            reverse: core::array::from_fn(|n| numbered("reverse", n)),
            ordnance: [],
            duties: core::array::from_fn(|n| numbered("duty", n)),
        };
        let outputs = Outputs::new(pins, clock.clone()).unwrap();
        Self { outputs, clock, journal }
    }

    fn written(&self) -> StdVec<String> {
        self.journal.borrow_mut().drain(..).collect()
    }

    fn tick(&mut self, actuators: &Actuators) -> StdVec<String> {
        self.outputs.tick(actuators).unwrap();
        self.written()
    }

    /// Lets time go on to the time asked for by the timer, and does what is due.
    fn alarm(&mut self) -> StdVec<String> {
        let at_us = self.clock.armed_us.borrow_mut().take().expect("the timer is armed");
        *self.clock.now_us.borrow_mut() = at_us;
        self.outputs.due().unwrap();
        self.written()
    }
}

fn place(journal: &[String], write: &str) -> usize {
    journal.iter().position(|line| line == write).unwrap_or_else(|| panic!("{write} is not in {journal:?}"))
}

const NOTHING: Actuators = Actuators { jets: [Edges::NONE; MAX_JETS], shutter: Edges::NONE, ..Actuators::SAFE };

#[test]
fn everything_is_written_safe_before_anything_else() {
    let rig = Rig::new();
    let written = rig.written();
    assert!(written.iter().all(|line| line.ends_with('-') || line.ends_with("=0")), "{written:?}");
    let lines: std::collections::BTreeSet<_> = written.iter().collect();
    assert_eq!(lines.len(), LINES + 4, "every line and duty is driven");
    assert!(place(&written, "valve15-") < place(&written, "latch0-"));
    assert!(place(&written, "duty2=0") < place(&written, "brake_off-"));
    assert_eq!(rig.outputs.echo().levels, 0);
}

/// The ordnance drive of a vehicle that fires: the real sequence, led through its orders.
fn firing() -> OrdnanceDrive {
    let mut vehicle = Vehicle::new(OrdnanceSettings::default());
    let ready = Readiness { film_sealed: true, settled: true, ..Readiness::default() };
    let mut sample = OrdnanceSample { off_carrier: true, recovery_v: 28.0, ..OrdnanceSample::default() };
    let orders = [Order::Arm(7), Order::Confirm(7), Order::Go(Event::CoverRelease, 7)];
    for (counter, order) in (1..).zip(orders) {
        sample.relay_closed = vehicle.step(Some(order.encode(counter)), sample, true, ready).arm();
    }
    sample.lines_closed = Event::CoverRelease.bit();
    vehicle.step(None, sample, true, ready)
}

#[test]
fn no_line_moves_for_ordnance() {
    let mut rig = Rig::new();
    let ordnance = firing();
    assert_eq!((ordnance.arm(), ordnance.fired()), (true, Some(Event::CoverRelease)), "it does ask for current");
    rig.tick(&NOTHING);
    let resting = (rig.tick(&NOTHING), rig.outputs.echo().levels);
    let fired = (rig.tick(&Actuators { ordnance, ..NOTHING.clone() }), rig.outputs.echo().levels);
    assert_eq!(resting, fired);
}

#[test]
fn edges_come_at_their_times_and_are_told() {
    let mut rig = Rig::new();
    rig.written();
    let mut actuators = NOTHING.clone();
    actuators.jets[2] = Edges { open_us: Some(0), close_us: Some(7_250) };
    actuators.jets[9] = Edges { open_us: Some(400), close_us: None };
    actuators.shutter = Edges { open_us: Some(3_000), close_us: None };
    let at_once = rig.tick(&actuators);
    assert!(at_once.contains(&"valve2+".into()) && !at_once.contains(&"valve9+".into()));
    assert_eq!(rig.alarm(), ["valve9+"]);
    assert_eq!(rig.alarm(), ["shutter+"]);
    assert_eq!(rig.alarm(), ["valve2-"]);
    assert_eq!(*rig.clock.armed_us.borrow(), None);
    let echo = rig.outputs.echo();
    assert_eq!(echo.levels, 1 << 9 | 1 << 18);
    let times: StdVec<_> = echo.edges.iter().map(|edge| edge.done_us).collect();
    assert_eq!(times, [0, 400, 3_000, 7_250]);
}

#[test]
fn a_pulse_may_span_ticks_and_late_edges_are_done_before_the_next_tick() {
    let mut rig = Rig::new();
    let mut opening = NOTHING.clone();
    opening.jets[0] = Edges { open_us: Some(9_000), close_us: None };
    rig.tick(&opening);
    // The next tick comes early, as it may in lockstep.
    let written = rig.tick(&NOTHING);
    assert_eq!(written.first().map(String::as_str), Some("valve0+"));
    rig.tick(&NOTHING);
    assert_eq!(rig.outputs.echo().levels & 1, 1);
    let mut closing = NOTHING.clone();
    closing.jets[0] = Edges { open_us: None, close_us: Some(10) };
    rig.tick(&closing);
    assert_eq!(rig.alarm(), ["valve0-"]);
}

#[test]
fn what_goes_safe_goes_first() {
    let mut rig = Rig::new();
    let mut running = NOTHING.clone();
    running.latch_open = [true, false];
    running.film = FilmDrive { roller_duty: 0.5, supply_duty: 0.1, take_up_duty: -0.2, ..FilmDrive::REST };
    running.film.brake = false;
    running.film.clamp = false;
    let written = rig.tick(&running);
    assert!(place(&written, "latch1-") < place(&written, "latch0+"));
    assert!(place(&written, "brake_off+") < place(&written, "duty0=500"));
    assert!(place(&written, "duty2=0") < place(&written, "reverse2+"));
    assert!(place(&written, "reverse2+") < place(&written, "duty2=200"));

    let mut swapped = running.clone();
    swapped.latch_open = [false, true];
    swapped.film = FilmDrive::REST;
    let written = rig.tick(&swapped);
    assert!(place(&written, "latch0-") < place(&written, "latch1+"));
    assert!(place(&written, "duty0=0") < place(&written, "brake_off-"));
    assert!(place(&written, "brake_off-") < place(&written, "latch1+"));
}

#[test]
fn safe_forgets_what_was_planned() {
    let mut rig = Rig::new();
    let mut actuators = NOTHING.clone();
    actuators.jets[4] = Edges { open_us: Some(100), close_us: None };
    actuators.latch_open = [true; 2];
    actuators.transmit = true;
    actuators.slit = 3;
    rig.tick(&actuators);
    assert_eq!(rig.outputs.echo().levels, 0b11 << 16 | 0b111 << 19);
    rig.outputs.safe().unwrap();
    assert_eq!((rig.outputs.echo().levels, *rig.clock.armed_us.borrow()), (0, None));
    rig.written();
    let written = rig.tick(&NOTHING);
    assert!(!written.contains(&"valve4+".into()), "{written:?}");
}
