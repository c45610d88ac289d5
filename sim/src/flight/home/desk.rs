//! The ground's orders in the last contact.
//!
//! Battery switches → the capsule armed by token and echo → the vehicle likewise → cover, once telemetry tells that the
//! vehicle points as it must → the capsule let go, at its time to the hundredth of a second. Every step waits for what
//! telemetry shows of the one before. If something does not show in time, everything is made safe and the capsule stays.

use stillframe_controller::{
    io::Listen,
    ordnance::{
        Alarms, Event, Status,
        order::{ORDER_BYTES, Order},
        status::Alarm,
    },
    telemetry::Telemetry,
};
use stillframe_wire::packet::{self, Count};

/// The first order goes up so long before the capsule is to leave, s: well within the vehicle's arm life.
const BEGIN_BEFORE_S: f64 = 75.0;
/// What is not ready so long before is not waited for, s.
const DECIDE_BEFORE_S: f64 = 3.0;
/// Time given to telemetry to show what an order did, s.
const ANSWER_S: f64 = 4.0;
/// From the first bit of the order to the capsule's leaving, s: 22 octets at 2 kbit/s, and four ticks on board.
const ORDER_TAKES_S: f64 = 0.13;

/// What the ground has heard in a second of contact.
#[derive(Clone, Copy, Debug)]
pub struct Overheard<'a> {
    /// Time, s.
    pub time_s: f64,
    /// The vehicle's snapshot.
    pub vehicle: Option<&'a Telemetry>,
    /// The capsule's own status.
    pub capsule: Option<Status>,
    /// Which of the vehicle's receivers is on: its decoder throws the battery switch.
    pub listens: Listen,
}

/// What is done.
#[derive(Clone, Debug, PartialEq)]
pub enum Ordered {
    /// The recovery batteries' switches, by the receivers' own decoders.
    Battery,
    /// A packet for the vehicle's ordnance sequence, now.
    Now(Vec<u8>),
    /// The same, its first bit at this time, s.
    At(f64, Vec<u8>),
}

#[derive(Clone, Copy, Debug, PartialEq)]
enum Step {
    Battery,
    ArmCapsule,
    ConfirmCapsule,
    ArmVehicle,
    ConfirmVehicle,
    Cover,
    /// The order to let the capsule go is on its way, to its time.
    Gone,
    /// Given up.
    Stayed,
}

/// The desk for the return.
#[derive(Clone, Debug)]
pub struct Desk {
    separation_s: f64,
    token: u32,
    step: Step,
    sent_s: f64,
    /// Order for the capsule's receiver.
    to_capsule: Option<[u8; ORDER_BYTES]>,
    /// Counters of orders, and the packets' sequence count.
    counter: u16,
    count: Count,
    stayed: Option<String>,
    /// Alarms that vehicle and capsule have told.
    alarms: [Alarms; 2],
    /// Lines for the event list.
    pub notes: Vec<String>,
}

impl Desk {
    /// A desk that lets the capsule go at `separation_s`, with a token of its choice.
    pub fn new(separation_s: f64, token: u32) -> Self {
        Self {
            separation_s,
            token: token.max(1),
            step: Step::Battery,
            sent_s: f64::NEG_INFINITY,
            to_capsule: None,
            counter: 0,
            count: Count::FIRST,
            stayed: None,
            alarms: [Alarms::default(); 2],
            notes: Vec::new(),
        }
    }

    /// Another time to let the capsule go at.
    pub fn let_go_at(&mut self, separation_s: f64) {
        self.separation_s = separation_s;
    }

    /// An order that reaches the capsule's receiver in this tick.
    pub fn capsule_order(&mut self) -> Option<[u8; ORDER_BYTES]> {
        self.to_capsule.take()
    }

    /// Why it was given up, if it was.
    pub fn stayed(&self) -> Option<&str> {
        self.stayed.as_deref()
    }

    /// One second: what to do now.
    pub fn second(&mut self, heard: &Overheard<'_>) -> Option<Ordered> {
        self.listen("vehicle", 0, heard.vehicle.map(|told| told.ordnance));
        self.listen("capsule", 1, heard.capsule);
        let left_s = self.separation_s - heard.time_s;
        if left_s > BEGIN_BEFORE_S || matches!(self.step, Step::Gone | Step::Stayed) {
            return None;
        }
        if left_s < DECIDE_BEFORE_S {
            return self.give_up("the sequence was not ready in time");
        }
        let (Some(vehicle), Some(capsule)) = (heard.vehicle, heard.capsule) else { return None };
        if vehicle.ordnance.alarms.has(Alarm::WavedOff) {
            return self.give_up("the vehicle waved off: attitude, rates, film or capsule not as they must be");
        }
        self.on(heard, vehicle, &capsule)
    }

    /// Notes alarms that were not told before.
    fn listen(&mut self, who: &str, place: usize, status: Option<Status>) {
        let (Some(status), Some(known)) = (status, self.alarms.get_mut(place)) else { return };
        let new = Alarm::ALL.iter().filter(|alarm| status.alarms.has(**alarm) && !known.has(**alarm));
        self.notes.extend(new.map(|alarm| format!("alarm of the {who}: {}", alarm.text())));
        *known = status.alarms;
    }

    fn on(&mut self, heard: &Overheard<'_>, vehicle: &Telemetry, capsule: &Status) -> Option<Ordered> {
        let time_s = heard.time_s;
        let waiting = time_s < self.sent_s + ANSWER_S;
        let token = self.token;
        match self.step {
            Step::Battery if heard.listens == Listen::Off => None,
            Step::Battery => {
                self.note("recovery batteries switched on");
                self.go_on(Step::ArmCapsule);
                Some(Ordered::Battery)
            }
            Step::ArmCapsule if capsule.echo == token => {
                self.go_on(Step::ConfirmCapsule);
                None
            }
            Step::ArmCapsule if !waiting => self.capsule(time_s, Order::Arm(token), "arm, to the capsule"),
            Step::ConfirmCapsule if capsule.armed => {
                self.note("the capsule says that it is armed");
                self.go_on(Step::ArmVehicle);
                None
            }
            Step::ConfirmCapsule if !waiting => {
                self.capsule(time_s, Order::Confirm(token), "confirm with the echo, to the capsule")
            }
            Step::ArmVehicle if vehicle.ordnance.echo == token => {
                self.go_on(Step::ConfirmVehicle);
                None
            }
            Step::ArmVehicle if !waiting => self.vehicle(time_s, Order::Arm(token), "arm, to the vehicle"),
            Step::ConfirmVehicle if vehicle.ordnance.armed => {
                self.note("the vehicle says that it is armed");
                self.go_on(Step::Cover);
                None
            }
            Step::ConfirmVehicle if !waiting => {
                self.vehicle(time_s, Order::Confirm(token), "confirm with the echo, to the vehicle")
            }
            Step::Cover if vehicle.ordnance.count > Event::CoverRelease.index() => {
                self.note("the cover is seen off");
                let at_s = self.separation_s - ORDER_TAKES_S;
                let packet = self.packet(Order::Go(Event::CapsuleSeparation, token))?;
                self.note("go for capsule separation, timed");
                self.go_on(Step::Gone);
                Some(Ordered::At(at_s, packet))
            }
            // The vehicle would wave off for a whole revolution: it is asked only when telemetry says that it would not.
            Step::Cover if !vehicle.attitude.turn.settled => None,
            Step::Cover if !waiting => {
                self.vehicle(time_s, Order::Go(Event::CoverRelease, token), "go for cover release")
            }
            _ => None,
        }
    }

    fn go_on(&mut self, step: Step) {
        self.step = step;
        self.sent_s = f64::NEG_INFINITY;
    }

    fn note(&mut self, text: &str) {
        self.notes.push(text.to_owned());
    }

    fn capsule(&mut self, time_s: f64, order: Order, what: &str) -> Option<Ordered> {
        self.sent_s = time_s;
        self.counter = self.counter.saturating_add(1);
        self.to_capsule = Some(order.encode(self.counter));
        self.notes.push(format!("sent: {what}"));
        None
    }

    fn vehicle(&mut self, time_s: f64, order: Order, what: &str) -> Option<Ordered> {
        self.sent_s = time_s;
        let packet = self.packet(order)?;
        self.notes.push(format!("sent: {what}"));
        Some(Ordered::Now(packet))
    }

    fn packet(&mut self, order: Order) -> Option<Vec<u8>> {
        self.counter = self.counter.saturating_add(1);
        packet::ordnance_order(order, self.counter, self.count.take()).map(|packet| packet.to_vec())
    }

    /// Everything is made safe; the capsule stays with the vehicle.
    fn give_up(&mut self, why: &str) -> Option<Ordered> {
        self.notes.push(format!("waved off: {why}; both sequences are made safe, and the capsule stays"));
        self.step = Step::Stayed;
        self.stayed = Some(why.to_owned());
        self.counter = self.counter.saturating_add(1);
        self.to_capsule = Some(Order::Safe.encode(self.counter));
        self.packet(Order::Safe).map(Ordered::Now)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn telemetry() -> Telemetry {
        let demo = crate::scenario::demo::Demo::Strip.load().expect("the built-in scenario");
        let settings = crate::flight::settings::fitted(&demo.scenario);
        *stillframe_controller::Controller::new(settings).expect("sound settings").telemetry()
    }

    /// A vehicle and a capsule that answer at once.
    fn answered(desk: &mut Desk, vehicle: &mut Telemetry, capsule: &mut Status) -> Vec<(f64, Ordered)> {
        let mut done = Vec::new();
        for second in 900..1_000 {
            let time_s = f64::from(second);
            let heard = Overheard { time_s, vehicle: Some(vehicle), capsule: Some(*capsule), listens: Listen::Main };
            let ordered = desk.second(&heard);
            if let Some(bytes) = desk.capsule_order() {
                match Order::decode(bytes) {
                    Some((Order::Arm(token), _)) => capsule.echo = token,
                    Some((Order::Confirm(_), _)) => capsule.armed = true,
                    _ => capsule.armed = false,
                }
            }
            if let Some(Ordered::Now(packet)) = &ordered {
                let data: [u8; ORDER_BYTES] = packet[6..14].try_into().expect("eight octets");
                match Order::decode(data) {
                    Some((Order::Arm(token), _)) => vehicle.ordnance.echo = token,
                    Some((Order::Confirm(_), _)) => vehicle.ordnance.armed = true,
                    Some((Order::Go(Event::CoverRelease, _), _)) => vehicle.ordnance.count = 1,
                    _ => {}
                }
            }
            done.extend(ordered.map(|ordered| (time_s, ordered)));
        }
        done
    }

    #[test]
    fn each_order_waits_for_what_the_one_before_shows() {
        let (mut vehicle, mut capsule) = (telemetry(), Status::default());
        vehicle.attitude.turn.settled = true;
        let mut desk = Desk::new(1_000.0, 7);
        let done = answered(&mut desk, &mut vehicle, &mut capsule);
        assert_eq!(done.first().map(|(at_s, what)| (*at_s, what.clone())), Some((925.0, Ordered::Battery)));
        assert!(matches!(done.last(), Some((_, Ordered::At(at_s, _))) if (at_s - 999.87).abs() < 1e-9), "{done:?}");
        assert!(capsule.armed && vehicle.ordnance.armed && desk.stayed().is_none());
    }

    #[test]
    fn a_vehicle_that_does_not_point_keeps_its_capsule() {
        let (mut vehicle, mut capsule) = (telemetry(), Status::default());
        let mut desk = Desk::new(1_000.0, 7);
        let done = answered(&mut desk, &mut vehicle, &mut capsule);
        assert!(desk.stayed().is_some() && !capsule.armed);
        assert!(done.iter().all(|(_, what)| !matches!(what, Ordered::At(..))));
    }
}
