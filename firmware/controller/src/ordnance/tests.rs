//! Both computers with a circuit around them, step by step.

extern crate std;

use super::{
    capsule::{Capsule, CapsuleSensors},
    event::Event,
    order::Order,
    readiness::Readiness,
    settings::OrdnanceSettings,
    status::Alarm,
    vehicle::Vehicle,
};
use crate::io::{OrdnanceDrive, OrdnanceSample};
use std::vec::Vec;

fn settings() -> OrdnanceSettings {
    OrdnanceSettings {
        confirm_life_ticks: 20,
        arm_life_ticks: 100,
        wave_off_ticks: 50,
        show_ticks: 5,
        window_ticks: 10,
        spin_delay_ticks: 5,
        retro_delay_ticks: 5,
        despin_delay_ticks: 5,
        release_delay_ticks: 5,
        g_open_ticks: 30,
        g_hold_ticks: 3,
        drogue_ticks: 60,
        main_delay_ticks: 10,
        ..OrdnanceSettings::default()
    }
}

/// Relay, lines, wires and contacts, a tick behind what drives them.
#[derive(Clone, Default)]
struct Circuit {
    sample: OrdnanceSample,
    fired: Vec<Event>,
    /// Events whose effect does not show.
    hidden: u8,
}

impl Circuit {
    fn in_orbit() -> Self {
        let sample = OrdnanceSample { off_carrier: true, recovery_v: 28.0, ..OrdnanceSample::default() };
        Self { sample, ..Self::default() }
    }

    fn take(&mut self, drive: &OrdnanceDrive) {
        let sample = &mut self.sample;
        (sample.relay_closed, sample.commit_closed) = (drive.arm(), drive.commits());
        sample.lines_closed = drive.lines();
        (sample.retained, sample.retained_ticks) = (drive.retain(), drive.retain_ticks());
        sample.abort_latched = sample.abort_latched.map(|latched| latched || drive.abort());
        if let Some(event) = drive.fired().filter(|event| sample.spent & event.bit() == 0) {
            sample.spent |= event.bit();
            sample.done |= event.bit() & !self.hidden;
            self.fired.push(event);
        }
    }
}

const GOOD: Readiness = Readiness {
    film_sealed: true,
    settled: true,
    pointing_error_rad: 0.01,
    rate_rad_s: 0.001,
    capsule_armed: true,
    spin_rad_s: 0.0,
    g_switch: false,
    timer_out: false,
};

struct Orbit {
    vehicle: Vehicle,
    circuit: Circuit,
    readiness: Readiness,
    counter: u16,
    separated: bool,
}

impl Orbit {
    fn new() -> Self {
        let vehicle = Vehicle::new(settings());
        Self { vehicle, circuit: Circuit::in_orbit(), readiness: GOOD, counter: 0, separated: true }
    }

    fn order(&mut self, order: Order) -> &mut Self {
        self.counter += 1;
        self.step(Some(order.encode(self.counter)))
    }

    fn step(&mut self, order: Option<[u8; 8]>) -> &mut Self {
        let drive = self.vehicle.step(order, self.circuit.sample, self.separated, self.readiness);
        self.circuit.take(&drive);
        self
    }

    fn wait(&mut self, ticks: u32) -> &mut Self {
        for _ in 0..ticks {
            self.step(None);
        }
        self
    }

    fn arm(&mut self) -> &mut Self {
        self.order(Order::Arm(77)).wait(2);
        let echo = self.vehicle.status().echo;
        self.order(Order::Confirm(echo)).wait(2)
    }

    fn told(&self, alarm: Alarm) -> bool {
        self.vehicle.status().alarms.has(alarm)
    }
}

const COVER: Order = Order::Go(Event::CoverRelease, 77);
const LET_GO: Order = Order::Go(Event::CapsuleSeparation, 77);

#[test]
fn cover_and_capsule_are_let_go_on_their_orders() {
    let mut orbit = Orbit::new();
    orbit.wait(2);
    assert_eq!(orbit.vehicle.status().inhibits_left(), 2, "arming and turn");
    orbit.arm();
    assert!(orbit.vehicle.status().armed);
    orbit.order(COVER).wait(10).order(LET_GO).wait(10);
    assert_eq!(orbit.circuit.fired, [Event::CoverRelease, Event::CapsuleSeparation]);
    assert_eq!((orbit.vehicle.status().count, orbit.vehicle.status().alarms.0), (2, 0));
}

/// One thing missing at a time: nothing fires. The flight above is the control.
#[test]
fn one_inhibit_in_place_is_enough() {
    type Spoil = (&'static str, fn(&mut Orbit));
    let spoil: [Spoil; 8] = [
        ("carrier's loop", |o| o.circuit.sample.off_carrier = false),
        ("separation sense", |o| o.separated = false),
        ("battery", |o| o.circuit.sample.recovery_v = 0.0),
        ("film", |o| o.readiness.film_sealed = false),
        ("pointing", |o| o.readiness.pointing_error_rad = 0.04),
        ("rate", |o| o.readiness.rate_rad_s = 0.02),
        ("a wire that reads open", |o| o.circuit.sample.spent = 1),
        ("a line that is closed", |o| o.circuit.sample.lines_closed = 2),
    ];
    for (name, spoil) in spoil {
        let mut orbit = Orbit::new();
        spoil(&mut orbit);
        orbit.order(Order::Arm(77));
        spoil(&mut orbit);
        orbit.order(Order::Confirm(77));
        for _ in 0..20 {
            spoil(&mut orbit);
            orbit.order(COVER);
        }
        assert_eq!(orbit.circuit.fired, [], "{name}");
        assert!(orbit.vehicle.status().inhibits_left() > 0, "{name}");
    }
}

#[test]
fn out_of_order_unarmed_unconfirmed_and_late_requests_are_refused_with_an_alarm() {
    let mut orbit = Orbit::new();
    orbit.order(COVER).wait(5);
    assert!(orbit.told(Alarm::NotArmed));
    orbit.order(Order::Arm(77)).wait(1).order(COVER).wait(5);
    assert_eq!(orbit.circuit.fired, [], "offered, not confirmed");
    orbit.order(Order::Confirm(78)).wait(1);
    assert!(orbit.told(Alarm::WrongEcho) && !orbit.vehicle.status().armed);
    orbit.arm().order(LET_GO).wait(5);
    assert!(orbit.told(Alarm::OutOfTurn));
    orbit.wait(100).order(COVER).wait(5);
    assert!(orbit.told(Alarm::Lapsed));
    assert_eq!(orbit.circuit.fired, []);
    let repeated = COVER.encode(1);
    orbit.arm().step(Some(repeated)).wait(5).step(Some([0x55; 8]));
    assert!(orbit.told(Alarm::Repeated) && orbit.told(Alarm::Garbled));
    assert_eq!((orbit.circuit.fired.len(), orbit.vehicle.status().refused), (0, 7));
}

#[test]
fn bad_attitude_at_the_moment_waves_off_for_a_revolution() {
    let mut orbit = Orbit::new();
    orbit.arm().order(COVER).wait(10);
    orbit.readiness.pointing_error_rad = 0.036;
    orbit.order(LET_GO);
    orbit.readiness = GOOD;
    orbit.wait(20).order(Order::Arm(77)).wait(1);
    assert!(orbit.told(Alarm::WavedOff) && orbit.told(Alarm::ArmRefused));
    orbit.wait(40).arm().order(LET_GO).wait(10);
    assert_eq!(orbit.circuit.fired, [Event::CoverRelease, Event::CapsuleSeparation]);
}

#[test]
fn reset_disarms_and_abort_outlasts_it() {
    let mut orbit = Orbit::new();
    orbit.arm().order(COVER).wait(10);
    orbit.vehicle = Vehicle::new(settings());
    orbit.wait(1).order(LET_GO).wait(5);
    assert!(!orbit.vehicle.status().armed && orbit.told(Alarm::NotArmed));
    orbit.order(Order::Abort).wait(2);
    // Even with both latches dead: the retained word keeps it.
    orbit.circuit.sample.abort_latched = [false; 2];
    orbit.vehicle = Vehicle::new(settings());
    orbit.wait(1).arm().order(LET_GO).wait(10);
    assert!(orbit.vehicle.status().aborted && orbit.told(Alarm::ArmRefused));
    assert_eq!(orbit.circuit.fired, [Event::CoverRelease]);
}

#[test]
fn a_welded_relay_is_told_and_arms_nothing() {
    let mut orbit = Orbit::new();
    for _ in 0..20 {
        orbit.circuit.sample.relay_closed = true;
        orbit.order(COVER);
    }
    assert!(orbit.told(Alarm::RelayWelded));
    assert_eq!(orbit.circuit.fired, []);
    // And it does not keep the capsule up there.
    orbit.arm().order(COVER).wait(10).order(LET_GO).wait(10);
    assert_eq!(orbit.circuit.fired.len(), 2);
}

struct Fall {
    capsule: Capsule,
    circuit: Circuit,
    sensors: CapsuleSensors,
    tick: u32,
    g: (u32, u32),
    timer: u32,
}

impl Fall {
    /// Armed on the vehicle and let go.
    fn begin() -> Self {
        let circuit = Circuit::in_orbit();
        let sensors = CapsuleSensors { spin_rad_s: core::f32::consts::TAU, ..CapsuleSensors::default() };
        let mut fall = Self { capsule: Capsule::new(settings()), circuit, sensors, tick: 0, g: (90, 110), timer: 130 };
        fall.wait(2).order(Order::Arm(5), 1).wait(1).order(Order::Confirm(5), 2).wait(2);
        assert!(fall.capsule.status().armed);
        (fall.sensors.off_vehicle, fall.sensors.umbilical_open) = (true, true);
        fall.tick = 0;
        fall
    }

    fn order(&mut self, order: Order, counter: u16) -> &mut Self {
        self.sensors.order = Some(order.encode(counter));
        self.wait(1)
    }

    fn wait(&mut self, ticks: u32) -> &mut Self {
        for _ in 0..ticks {
            self.tick += 1;
            self.sensors.g_switch = (self.g.0..self.g.1).contains(&self.tick);
            self.sensors.timer_out = self.tick >= self.timer;
            self.sensors.ordnance = self.circuit.sample;
            let drive = self.capsule.step(&self.sensors);
            self.circuit.take(&drive);
            self.sensors.order = None;
        }
        self
    }

    fn told(&self, alarm: Alarm) -> bool {
        self.capsule.status().alarms.has(alarm)
    }
}

#[test]
fn the_capsule_goes_through_its_six_events_by_itself() {
    let mut fall = Fall::begin();
    fall.wait(300);
    assert_eq!(fall.circuit.fired.as_slice(), &Event::ALL[2..]);
    assert_eq!(fall.capsule.status().count, 8);
}

#[test]
fn a_capsule_that_was_not_armed_does_nothing_until_it_is_told() {
    let mut fall = Fall::begin();
    fall.order(Order::Safe, 0).wait(300);
    assert_eq!(fall.circuit.fired, []);
    fall.order(Order::Arm(6), 3).order(Order::Confirm(6), 4).wait(2).order(Order::Go(Event::Spin, 6), 5).wait(300);
    assert_eq!(fall.circuit.fired.len(), 6);
}

#[test]
fn low_spin_or_a_separation_that_does_not_show_stops_before_retro() {
    let mut fall = Fall::begin();
    fall.sensors.spin_rad_s = 2.0;
    fall.wait(300);
    assert_eq!(fall.circuit.fired, [Event::Spin]);
    assert!(fall.told(Alarm::NotReady) && !fall.capsule.status().armed);
    let mut fall = Fall::begin();
    fall.sensors.umbilical_open = false;
    fall.wait(300);
    assert_eq!(fall.circuit.fired, []);
    let mut fall = Fall::begin();
    fall.circuit.hidden = Event::Spin.bit();
    fall.wait(300);
    assert_eq!(fall.circuit.fired, [Event::Spin]);
    assert!(fall.told(Alarm::NotShown));
}

#[test]
fn an_early_switch_throws_nothing_and_a_dead_timer_or_switch_keeps_nothing_in() {
    for (name, g, timer) in [
        ("early switch", (5, 20), 130),
        ("switch dead", (900, 901), 130),
        ("timer dead", (90, 110), 900),
        ("timer early", (90, 110), 5),
    ] {
        let mut fall = Fall::begin();
        (fall.g, fall.timer) = (g, timer);
        let drogue = (0..300).find(|_| fall.wait(1).circuit.fired.last() == Some(&Event::Drogue));
        let at = drogue.unwrap_or_else(|| panic!("{name}: no drogue"));
        // Own count: 60 ticks after ignition, at about tick 15; the pulse falls at 110 where there is one.
        assert!((70..140).contains(&at), "{name}: at {at}");
        assert_eq!(fall.told(Alarm::EarlySwitch), name == "early switch", "{name}");
    }
}

#[test]
fn past_the_return_a_dud_is_left_behind_and_abort_is_refused() {
    let mut fall = Fall::begin();
    fall.circuit.hidden = Event::Despin.bit() | Event::MotorRelease.bit();
    fall.wait(40).order(Order::Abort, 9).wait(300);
    assert!(fall.told(Alarm::AbortRefused) && fall.told(Alarm::NotShown));
    assert_eq!(fall.circuit.fired.last(), Some(&Event::Main));
}

#[test]
fn a_reset_on_the_way_down_stands_where_it_was_until_it_is_told_to_go_on() {
    for at in 0..160 {
        let mut fall = Fall::begin();
        fall.wait(at);
        fall.capsule = Capsule::new(settings());
        let fired = fall.circuit.fired.len();
        fall.wait(30);
        assert_eq!(fall.circuit.fired.len(), fired, "reset at {at}");
        for counter in 0..8 {
            let next = Event::at(fall.capsule.status().count);
            let Some(event) = next else { break };
            fall.order(Order::Arm(6), 4 * counter).order(Order::Confirm(6), 4 * counter + 1).wait(2);
            fall.order(Order::Go(event, 6), 4 * counter + 2).wait(300);
        }
        assert_eq!(fall.circuit.fired.as_slice(), &Event::ALL[2..], "reset at {at}");
    }
}
