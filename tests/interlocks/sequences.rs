//! Both computers with the settings as they fly, in one flight: what goes well, and the faults that must end safe.

use crate::{
    circuit::{Circuit, Fall},
    stuck::{Faults, Part, Stuck},
};
use stillframe_controller::ordnance::{
    Alarm, Event, OrdnanceSettings, Side,
    capsule::{Capsule, CapsuleSensors},
    order::Order,
    readiness::Readiness,
    vehicle::Vehicle,
};

/// Ignition to the deceleration's pulse and to the box, s: the closed set of figures of the demonstration's capsule
/// (250 m/s at 235 km, entry at 120 km after about 5 minutes, 9 g near 47 km, drogue at 16 km after about 10).
const PULSE_S: (u32, u32) = (430, 560);
const BOX_S: u32 = 640;
const TOKEN: u32 = 0x51c0_ffee;
const GOOD: Readiness = Readiness {
    film_sealed: true,
    settled: true,
    pointing_error_rad: 0.01,
    rate_rad_s: 0.001,
    capsule_armed: false,
    spin_rad_s: 0.0,
    g_switch: false,
    timer_out: false,
};
/// The circuit's own way down is not used here: ticks are too many for it.
const FALL: Fall = Fall { g_from: 0, g_to: 0, box_from: 0 };

struct Flight {
    vehicle: Vehicle,
    capsule: Capsule,
    circuits: [Circuit; 2],
    faults: [Faults; 2],
    moment: Readiness,
    spin_rad_s: f32,
    counter: u16,
    tick: u32,
    /// Tick of ignition.
    lit: Option<u32>,
    fired: Vec<(Event, u32)>,
    /// Early closing of the deceleration switch, ticks after ignition.
    early: Option<u32>,
}

impl Flight {
    fn new() -> Self {
        let settings = OrdnanceSettings::default();
        let mut circuit = Circuit::default();
        (circuit.flown, circuit.battery) = (true, true);
        Self {
            vehicle: Vehicle::new(settings),
            capsule: Capsule::new(settings),
            circuits: [circuit; 2],
            faults: [Faults::default(); 2],
            moment: GOOD,
            spin_rad_s: std::f32::consts::TAU,
            counter: 0,
            tick: 0,
            lit: None,
            fired: Vec::new(),
            early: None,
        }
    }

    fn stuck(side: Side, part: Part, on: bool) -> Self {
        let mut flight = Self::new();
        flight.faults[side as usize] = Faults([Some(Stuck { part, on }), None, None]);
        flight
    }

    fn step(&mut self, vehicle: Option<[u8; 8]>, capsule: Option<[u8; 8]>) {
        self.tick += 1;
        let [v, c] = &mut self.circuits;
        let [fv, fc] = &self.faults;
        let readiness = Readiness { capsule_armed: self.capsule.status().armed, ..self.moment };
        let left = v.fired & Event::CapsuleSeparation.bit() != 0;
        let drive =
            self.vehicle.step(vehicle, v.sample(fv, readiness.capsule_armed), fv.of(Part::Left, v.flown), readiness);
        v.drive(&drive);
        let before = [v.fired, c.fired];
        v.current(fv, Side::Vehicle);
        c.left = left;
        let since = self.lit.map_or(0, |lit| self.tick - lit);
        let pulse = (100 * PULSE_S.0..100 * PULSE_S.1).contains(&since)
            || self.early.is_some_and(|at| (at..at + 500).contains(&since));
        let sensors = CapsuleSensors {
            order: capsule,
            ordnance: c.sample(fc, false),
            off_vehicle: fc.of(Part::Left, left),
            umbilical_open: fc.of(Part::Umbilical, left),
            spin_rad_s: if c.fired & Event::Spin.bit() != 0 { self.spin_rad_s } else { 0.0 },
            g_switch: fc.of(Part::Deceleration, self.lit.is_some() && pulse),
            timer_out: fc.of(Part::Timer, self.lit.is_some() && since >= 100 * BOX_S),
        };
        let drive = self.capsule.step(&sensors);
        c.drive(&drive);
        c.current(fc, Side::Capsule);
        c.fall(&FALL);
        for event in Event::ALL {
            if (v.fired & !before[0] | c.fired & !before[1]) & event.bit() != 0 {
                self.fired.push((event, self.tick));
                if event == Event::RetroIgnition {
                    self.lit = Some(self.tick);
                }
            }
        }
    }

    fn wait(&mut self, ticks: u32) -> &mut Self {
        for _ in 0..ticks {
            self.step(None, None);
        }
        self
    }

    fn tell(&mut self, side: Side, order: Order) -> &mut Self {
        self.counter += 1;
        let bytes = Some(order.encode(self.counter));
        match side {
            Side::Vehicle => self.step(bytes, None),
            Side::Capsule => self.step(None, bytes),
        }
        self.wait(10)
    }

    fn arm(&mut self, side: Side) -> &mut Self {
        self.tell(side, Order::Arm(TOKEN)).wait(100).tell(side, Order::Confirm(TOKEN))
    }

    /// Both armed, cover and capsule let go.
    fn let_go(&mut self) -> &mut Self {
        self.arm(Side::Capsule).arm(Side::Vehicle);
        self.tell(Side::Vehicle, Order::Go(Event::CoverRelease, TOKEN)).wait(500);
        self.tell(Side::Vehicle, Order::Go(Event::CapsuleSeparation, TOKEN))
    }

    fn events(&self) -> Vec<Event> {
        self.fired.iter().map(|(event, _)| *event).collect()
    }

    fn at_s(&self, event: Event) -> f64 {
        let tick = self.fired.iter().find(|(fired, _)| *fired == event).map(|(_, tick)| *tick);
        f64::from(tick.unwrap_or_else(|| panic!("no {}", event.name()))) * 0.01
    }

    fn told(&self, side: Side, alarm: Alarm) -> bool {
        let status = match side {
            Side::Vehicle => self.vehicle.status(),
            Side::Capsule => self.capsule.status(),
        };
        status.alarms.has(alarm)
    }
}

/// Minutes are enough for all: ignition to main takes under twelve.
const ALL_TICKS: u32 = 80_000;

#[test]
fn the_whole_way_home_in_order_and_in_time() {
    let mut flight = Flight::new();
    flight.let_go().wait(ALL_TICKS);
    assert_eq!(flight.events(), Event::ALL);
    let retro_s = flight.at_s(Event::RetroIgnition);
    // The motor burns for ten seconds; the drogue is not thrown before the box, nor a minute after it began.
    assert!(flight.at_s(Event::Despin) - retro_s > 10.0);
    let drogue_s = flight.at_s(Event::Drogue) - retro_s;
    assert!(drogue_s >= f64::from(BOX_S) && drogue_s < f64::from(BOX_S + 60), "drogue after {drogue_s} s");
    assert!((flight.at_s(Event::Main) - flight.at_s(Event::Drogue) - 30.0).abs() < 1.0);
}

/// Arm, separate or retro asked for out of order or early: refused, with an alarm.
#[test]
fn requests_out_of_order_or_early_are_refused() {
    let mut flight = Flight::new();
    flight.tell(Side::Vehicle, Order::Go(Event::CapsuleSeparation, TOKEN));
    assert!(flight.told(Side::Vehicle, Alarm::NotArmed));
    flight.arm(Side::Vehicle).tell(Side::Vehicle, Order::Go(Event::CapsuleSeparation, TOKEN));
    assert!(flight.told(Side::Vehicle, Alarm::OutOfTurn));
    flight.arm(Side::Capsule).tell(Side::Capsule, Order::Go(Event::RetroIgnition, TOKEN));
    flight.tell(Side::Capsule, Order::Go(Event::Spin, TOKEN)).wait(1_000);
    assert!(flight.told(Side::Capsule, Alarm::OutOfTurn));
    assert_eq!(flight.events(), []);
    for circuit in &mut flight.circuits {
        circuit.flown = false;
    }
    flight.tell(Side::Vehicle, Order::Safe).arm(Side::Vehicle);
    assert!(flight.told(Side::Vehicle, Alarm::ArmRefused), "on the pad");
}

/// A single relay or switch welded: the rest holds, and it is told.
#[test]
fn one_welded_contact_leaves_the_rest_holding_and_is_told() {
    for (part, alarm) in [
        (Part::Relay, Alarm::RelayWelded),
        (Part::Commit, Alarm::LineWelded),
        (Part::Line(Event::CapsuleSeparation), Alarm::LineWelded),
    ] {
        let mut flight = Flight::stuck(Side::Vehicle, part, true);
        flight.wait(100);
        for event in Event::ALL {
            flight.tell(Side::Vehicle, Order::Go(event, TOKEN));
        }
        assert_eq!(flight.events(), [], "{part:?}");
        assert!(flight.told(Side::Vehicle, alarm), "{part:?}");
    }
    // Welded relay and commit switch do not keep the capsule up; a welded line does, for it would fire with the cover.
    for (part, home) in [(Part::Relay, 8), (Part::Commit, 8), (Part::Line(Event::CapsuleSeparation), 0)] {
        let mut flight = Flight::stuck(Side::Vehicle, part, true);
        flight.let_go().wait(ALL_TICKS);
        assert_eq!(flight.events().len(), home, "{part:?}");
    }
}

/// Attitude more than 2° off, or turning too fast, at the moment: waved off for one revolution, and then possible.
#[test]
fn a_bad_attitude_at_the_moment_waits_for_one_revolution() {
    for bad in [Readiness { pointing_error_rad: 0.0351, ..GOOD }, Readiness { rate_rad_s: 0.0088, ..GOOD }] {
        let mut flight = Flight::new();
        flight.moment = bad;
        flight.let_go();
        assert!(flight.told(Side::Vehicle, Alarm::WavedOff));
        flight.moment = GOOD;
        flight.let_go().wait(1_000);
        assert_eq!(flight.events(), [], "{bad:?}");
        // A turn at 220 km takes 5,334 s.
        flight.wait(533_400).tell(Side::Vehicle, Order::Safe).tell(Side::Capsule, Order::Safe);
        flight.let_go().wait(ALL_TICKS);
        assert_eq!(flight.events(), Event::ALL, "{bad:?}");
    }
}

/// Separation that does not show, low spin: nothing is lit.
#[test]
fn without_separation_or_spin_the_motor_is_not_lit() {
    for part in [Part::Left, Part::Umbilical] {
        let mut flight = Flight::stuck(Side::Capsule, part, false);
        flight.let_go().wait(ALL_TICKS);
        assert_eq!(flight.events(), [Event::CoverRelease, Event::CapsuleSeparation], "{part:?}");
    }
    let mut flight = Flight::new();
    flight.spin_rad_s = 5.0;
    flight.let_go().wait(ALL_TICKS);
    assert_eq!(flight.events().last(), Some(&Event::Spin));
    assert!(flight.told(Side::Capsule, Alarm::NotReady) && !flight.capsule.status().armed);
}

/// An early switch, a dead switch, a dead timer or one that ran out at once: the drogue is thrown all the same, and never
/// before its box.
#[test]
fn the_drogue_is_thrown_in_its_box_whichever_one_sense_fails() {
    let cases = [
        (None, Some(2_000)),
        (Some((Part::Deceleration, false)), None),
        (Some((Part::Deceleration, true)), None),
        (Some((Part::Timer, false)), None),
        (Some((Part::Timer, true)), None),
    ];
    for (part, early) in cases {
        let mut flight = part.map_or_else(Flight::new, |(part, on)| Flight::stuck(Side::Capsule, part, on));
        flight.early = early;
        flight.let_go().wait(ALL_TICKS);
        let after_s = flight.at_s(Event::Drogue) - flight.at_s(Event::RetroIgnition);
        // A timer that ran out at once leaves it to the pulse's fall: the one case in which that is the later vote.
        let from_s = if part == Some((Part::Timer, true)) { PULSE_S.1 } else { BOX_S };
        assert!(after_s >= f64::from(from_s) && after_s < f64::from(BOX_S + 60), "{part:?}: after {after_s} s");
    }
}
