//! The radio link: contact windows, telecommands going up, telemetry coming down, and what is wrong with it.
//!
//! Everything travels in packets ([`stillframe_wire::packet`]). What goes up is the ground's business
//! ([`super::ground`]); bytes reach the vehicle only through the receiver that it listens with.
//!
//! Three things are kept apart: what was commanded, what the vehicle assumes, and what a station has
//! observed. The last telemetry heard in a contact is all the ground knows.

use super::{
    ground::{Ground, Heard},
    outgoing::{Make, Outgoing},
};
use crate::{
    noise::NoiseSource,
    plant::{Plant, faults::FaultSchedule},
    scenario::{
        Scenario,
        parts::{
            fault::{FaultKind, ReceiverName},
            run::LoadBy,
            uplink::Sending,
        },
    },
    world::track::Station,
};
use stillframe_controller::{
    Controller,
    contact::Which,
    io::Listen,
    programme::{load::Load, telecommand::Order},
    telemetry::Telemetry,
};
use stillframe_wire::packet::{self, Count, Header, Packet};

/// Uplink speed, bits in a base tick: 2 kbit/s are 2.5 bytes, sent as 2 and 3 in turn.
const UPLINK_BITS_PER_TICK: u32 = 20;
/// Uplink speed, bytes a second.
pub(super) const UPLINK_BYTES_S: f64 = 250.0;
/// Interval at which elevations are looked at, ticks.
const LOOK_TICKS: u64 = 100;
/// Longest camera-on and fastest speed of a spoilt load: what settings without a file allow.
const SPOILT: (u32, u16) = (60_000, 1_500);
/// Process of another vehicle, whose frames a false lock gives.
const SOMEBODY_ELSE: u16 = 0x2aa;

/// Before a packet with a time of its own nothing else is begun for so long, s.
const LINE_FREE_S: f64 = 3.0;

/// The shortest stretch of ranging that gives an orbit, s (common practice: a minute and more).
const RANGING_S: f64 = 60.0;

/// A contact that began or ended.
#[derive(Clone, Debug, PartialEq)]
pub struct ContactChange {
    /// Station, by its place in the scenario.
    pub station: usize,
    /// Signal acquired, or lost.
    pub acquired: bool,
}

/// Stations, the ground's desk, what is on its way up, and what came down.
#[derive(Clone, Debug)]
pub struct Link {
    stations: Vec<Station>,
    /// When each begins to listen, s.
    from_s: Vec<f64>,
    /// The ground's desk.
    pub ground: Ground,
    /// Frames on their way up.
    outgoing: Vec<u8>,
    sent: usize,
    /// The frame sent before the last one.
    before: Vec<u8>,
    /// A packet that goes up before the desk's.
    first: Option<Vec<u8>>,
    /// A packet whose first bit goes up at its time, s.
    timed: Option<(f64, Vec<u8>)>,
    bits_due: u32,
    noise: NoiseSource,
    static_noise: NoiseSource,
    /// The scenario has a fault by which bytes come that nobody sent.
    unasked: bool,
    /// Place in the frame that a false lock repeats.
    false_at: usize,
    false_frame: Vec<u8>,
    contact: Option<usize>,
    /// When the contact that goes on began, s.
    since_s: f64,
    /// When the vehicle was last tracked long enough in one contact to know its orbit, s.
    pub tracked_s: Option<f64>,
    /// Changes of contact in the last second.
    pub changes: Vec<ContactChange>,
    /// Sequence counts of telemetry packets.
    down: Count,
    /// Last telemetry that a station heard, with its time, s.
    pub observed: Option<(f64, Telemetry)>,
    /// The packet in which it came.
    pub heard: Option<Packet>,
}

impl Link {
    /// Stations of a scenario, and what the ground has to send.
    pub fn new(scenario: &Scenario, seed: u64, load: &Load) -> Self {
        let stations = scenario.stations.iter().map(|station| {
            let point = crate::world::ellipsoid::Geodetic {
                latitude_rad: station.latitude_rad,
                longitude_rad: station.longitude_rad,
                height_m: station.height_m,
            };
            Station::new(point, station.mask_rad)
        });
        let mut ground = Ground::new(load.counter);
        if scenario.run.load_by == LoadBy::Radio {
            ground.put(Outgoing::Load(load.clone()), 0.0);
        }
        let new = |mistake| {
            let (longest_ticks, most_speed) = SPOILT;
            Outgoing::New(Make { programme: load.clone(), mistake, longest_ticks, most_speed })
        };
        for uplink in &scenario.uplinks {
            let what = match &uplink.kind {
                Sending::Programme(_) => new(None),
                Sending::Wrong(wrong) => new(Some(wrong.mistake)),
                Sending::Hail(_) => Outgoing::Order(Order::Hail),
                Sending::Listen(with) => Outgoing::Order(Order::Listen(match with.receiver {
                    ReceiverName::Main => Which::Main,
                    ReceiverName::Alternate => Which::Alternate,
                })),
            };
            ground.put(what, uplink.start_s(scenario.run.start));
        }
        Self {
            stations: stations.collect(),
            from_s: scenario.stations.iter().map(|station| station.from_s).collect(),
            ground,
            outgoing: Vec::new(),
            sent: 0,
            before: Vec::new(),
            first: None,
            timed: None,
            bits_due: 0,
            noise: NoiseSource::new(seed, 0, "link", 0),
            static_noise: NoiseSource::new(seed, 0, "receiver", 0),
            unasked: scenario
                .faults
                .iter()
                .any(|fault| matches!(fault.kind, FaultKind::ReceiverNoise(_) | FaultKind::FalseLock(_))),
            false_at: 0,
            false_frame: somebody_elses(),
            contact: None,
            since_s: 0.0,
            tracked_s: None,
            changes: Vec::new(),
            down: Count::FIRST,
            observed: None,
            heard: None,
        }
    }

    /// Puts a load on the ground's desk: it is sent, read back and committed as soon as a station has contact, and again
    /// in every contact until telemetry shows what came of it.
    pub fn send(&mut self, load: &Load) {
        self.ground.put(Outgoing::Load(load.clone()), 0.0);
    }

    /// Lets a packet go up before whatever waits on the desk.
    pub fn first(&mut self, packet: Vec<u8>) {
        self.first = Some(packet);
    }

    /// Lets a packet's first bit go up at `at_s`, if a station has contact then. The line is kept free for it.
    pub fn at(&mut self, at_s: f64, packet: Vec<u8>) {
        self.timed = Some((at_s, packet));
    }

    /// Station in contact now.
    pub fn contact(&self) -> Option<usize> {
        self.contact
    }

    /// Bytes that reach the vehicle in this tick through the receiver that `listens`.
    pub fn uplink(&mut self, time_s: f64, listens: Listen, faults: &FaultSchedule) -> heapless::Vec<u8, 32> {
        let mut bytes = heapless::Vec::new();
        if let Some((_, packet)) = self.timed.take_if(|(at_s, _)| time_s >= *at_s) {
            self.outgoing = framed(&packet);
            self.sent = 0;
        }
        self.bits_due += UPLINK_BITS_PER_TICK;
        let sending = self.contact.is_some() && self.sent < self.outgoing.len();
        if !sending && !self.unasked {
            self.bits_due %= 8;
            return bytes;
        }
        let garbled =
            faults.find(|kind| if let FaultKind::UplinkGarbled(fault) = kind { Some(fault.share) } else { None });
        let noisy = faults.acting(|kind| matches!(kind, FaultKind::ReceiverNoise(_)));
        let false_lock = faults.acting(|kind| matches!(kind, FaultKind::FalseLock(_)));
        for number in 0..self.bits_due / 8 {
            let byte = if sending {
                let Some(&byte) = self.outgoing.get(self.sent) else { break };
                let flips = garbled.map_or(0, |share| self.flipped_bits(time_s, share));
                self.sent += 1;
                byte ^ flips
            } else if false_lock {
                self.false_at = (self.false_at + 1) % self.false_frame.len();
                self.false_frame[self.false_at]
            } else if noisy {
                let sample = (time_s * 100.0).round() as u64 * 4 + u64::from(number);
                (self.static_noise.uniform(sample) * 256.0) as u8
            } else {
                continue;
            };
            let _ = bytes.push(byte);
        }
        self.bits_due %= 8;
        let dead =
            |which| faults.acting(|kind| matches!(kind, FaultKind::ReceiverDead(dead) if dead.receiver == which));
        let hears = match listens {
            Listen::Off => false,
            Listen::Main => !dead(ReceiverName::Main),
            Listen::Alternate => !dead(ReceiverName::Alternate),
        };
        if !hears {
            bytes.clear();
        }
        bytes
    }

    /// Bits of one byte that noise turns over, each with probability `share`.
    fn flipped_bits(&self, time_s: f64, share: f64) -> u8 {
        let sample = (time_s * 100.0).round() as u64 * 4_096 + self.sent as u64 % 4_096;
        (0..8).fold(0, |flips, bit| {
            let hit = self.noise.uniform(sample * 8 + bit) < share;
            flips | u8::from(hit) << bit
        })
    }

    /// Looks for contact once a second, takes telemetry down and lets the ground decide what goes up.
    pub fn listen(&mut self, time_s: f64, controller: &Controller, plant: &mut Plant, faults: &FaultSchedule) {
        if !plant.ticks().is_multiple_of(LOOK_TICKS) {
            return;
        }
        self.changes.clear();
        let lost = faults.acting(|kind| matches!(kind, FaultKind::LinkLost(_)));
        let now = if lost { None } else { self.in_view(plant) };
        if now != self.contact {
            self.changes.extend(self.contact.map(|station| ContactChange { station, acquired: false }));
            self.changes.extend(now.map(|station| ContactChange { station, acquired: true }));
            self.contact = now;
            self.since_s = time_s;
            // What was under way when the contact ended is torn.
            self.outgoing.clear();
            self.sent = 0;
            self.ground.contact_begins();
        }
        if self.contact.is_some() {
            if time_s - self.since_s >= RANGING_S {
                self.tracked_s = Some(time_s);
            }
            self.hear(time_s, controller.telemetry());
            // The snapshot was made a second ago.
            let true_tick = plant.ticks().saturating_sub(LOOK_TICKS) as u32;
            self.speak(time_s, true_tick, faults);
        }
    }

    /// A snapshot comes down as a packet; a station knows what it reads out of that and nothing else.
    fn hear(&mut self, time_s: f64, snapshot: &Telemetry) {
        let Some(packet) = packet::snapshot(snapshot, self.down.take()) else { return };
        if let Ok((_, told)) = packet::read_snapshot(&packet) {
            self.observed = Some((time_s, told));
            self.heard = Some(packet);
        }
    }

    /// The ground's next packet begins to go up, if nothing is on its way.
    fn speak(&mut self, time_s: f64, true_tick: u32, faults: &FaultSchedule) {
        if self.sent < self.outgoing.len() {
            return;
        }
        if self.timed.as_ref().is_some_and(|(at_s, _)| at_s - time_s < LINE_FREE_S) {
            return;
        }
        let Some((_, told)) = &self.observed else { return };
        let desk = || self.ground.next(&Heard { time_s, told, true_tick });
        let Some(packet) = self.first.take().or_else(desk) else { return };
        let frame = framed(&packet);
        self.outgoing.clear();
        self.sent = 0;
        self.outgoing.extend_from_slice(&frame);
        if faults.acting(|kind| matches!(kind, FaultKind::UplinkRepeated(_))) {
            self.outgoing.extend_from_slice(&frame);
        }
        if faults.acting(|kind| matches!(kind, FaultKind::UplinkOutOfOrder(_))) {
            self.outgoing.extend_from_slice(&self.before);
        }
        self.before = frame;
    }

    fn in_view(&self, plant: &mut Plant) -> Option<usize> {
        let position_m = plant.position_fixed_m();
        let time_s = plant.ticks() as f64 * crate::plant::TICK_S;
        self.stations.iter().zip(&self.from_s).position(|(station, from_s)| {
            time_s >= *from_s && station.look(&position_m).elevation_rad >= station.mask_rad
        })
    }
}

/// A packet COBS-framed between zeros.
pub fn framed(packet: &[u8]) -> Vec<u8> {
    let mut frame = vec![0; cobs::max_encoding_length(packet.len()) + 2];
    let length = cobs::encode(packet, &mut frame[1..]);
    frame.truncate(length + 2);
    frame
}

/// A sound telecommand to a process that is not this vehicle's.
fn somebody_elses() -> Vec<u8> {
    let header = Header { apid: SOMEBODY_ELSE, ..packet::TELECOMMAND };
    let packet: Option<heapless::Vec<u8, 32>> = packet::write(header, &[&[4]]);
    framed(&packet.unwrap_or_default())
}
