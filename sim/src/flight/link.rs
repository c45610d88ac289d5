//! The radio link: contact windows, loads going up, telemetry coming down.
//!
//! Loads go up as telecommand packets and snapshots come down as telemetry packets ([`stillframe_wire::packet`]).
//!
//! Three things are kept apart: what was commanded, what the vehicle assumes, and what a station has
//! observed. The last telemetry heard in a contact is all the ground knows.

use crate::{
    noise::NoiseSource,
    plant::{Plant, faults::FaultSchedule},
    scenario::{
        Scenario,
        parts::{fault::FaultKind, run::LoadBy},
    },
    world::track::Station,
};
use stillframe_controller::{Controller, programme::load::Load, telemetry::Telemetry};
use stillframe_wire::packet::{self, Count, Packet};

/// Uplink speed, bytes in a base tick: 2 kbit/s are 2.5, sent as 2 and 3 in turn.
const UPLINK_BITS_PER_TICK: u32 = 20;
/// Interval at which elevations are looked at, ticks.
const LOOK_TICKS: u64 = 100;

/// A contact that began or ended.
#[derive(Clone, Debug, PartialEq)]
pub struct ContactChange {
    /// Station, by its place in the scenario.
    pub station: usize,
    /// Signal acquired, or lost.
    pub acquired: bool,
}

/// Stations, what is to go up, and what came down.
#[derive(Clone, Debug)]
pub struct Link {
    stations: Vec<Station>,
    /// Frame with the load, to be sent in the first contact; empty if it was loaded on the pad.
    outgoing: Vec<u8>,
    /// Counter of that load, by which telemetry shows that it was taken.
    outgoing_counter: u16,
    sent: usize,
    bits_due: u32,
    noise: NoiseSource,
    contact: Option<usize>,
    /// Changes of contact in the last second.
    pub changes: Vec<ContactChange>,
    /// Sequence counts of telecommand and telemetry packets.
    up: Count,
    down: Count,
    /// Last telemetry that a station heard, with its time, s.
    pub observed: Option<(f64, Telemetry)>,
    /// The packet in which it came.
    pub heard: Option<Packet>,
}

impl Link {
    /// Stations of a scenario, and the load to be sent if it goes by radio.
    pub fn new(scenario: &Scenario, seed: u64, load: &Load) -> Self {
        let stations = scenario.stations.iter().map(|station| {
            let point = crate::world::ellipsoid::Geodetic {
                latitude_rad: station.latitude_rad,
                longitude_rad: station.longitude_rad,
                height_m: station.height_m,
            };
            Station::new(point, station.mask_rad)
        });
        let mut link = Self {
            stations: stations.collect(),
            outgoing: Vec::new(),
            outgoing_counter: 0,
            sent: 0,
            bits_due: 0,
            noise: NoiseSource::new(seed, 0, "link", 0),
            contact: None,
            changes: Vec::new(),
            up: Count::FIRST,
            down: Count::FIRST,
            observed: None,
            heard: None,
        };
        if scenario.run.load_by == LoadBy::Radio {
            link.send(load);
        }
        link
    }

    /// Sends a load as a telecommand packet, COBS-framed between zeros, as soon as a station has contact; the same again in
    /// every contact until telemetry shows it was taken.
    pub fn send(&mut self, load: &Load) {
        self.outgoing_counter = load.counter;
        // Every load fits into a packet.
        let packet = packet::telecommand(load, self.up.take()).unwrap_or_default();
        let mut frame = vec![0; cobs::max_encoding_length(packet.len()) + 2];
        let length = cobs::encode(&packet, &mut frame[1..]);
        frame.truncate(length + 2);
        self.outgoing = frame;
        self.sent = 0;
    }

    /// Station in contact now.
    pub fn contact(&self) -> Option<usize> {
        self.contact
    }

    /// Bytes that reach the vehicle in this tick.
    pub fn uplink(&mut self, time_s: f64, faults: &FaultSchedule) -> heapless::Vec<u8, 32> {
        let mut bytes = heapless::Vec::new();
        if self.outgoing.is_empty() || self.contact.is_none() || self.sent >= self.outgoing.len() {
            return bytes;
        }
        self.bits_due += UPLINK_BITS_PER_TICK;
        let garbled =
            faults.find(|kind| if let FaultKind::UplinkGarbled(fault) = kind { Some(fault.share) } else { None });
        while self.bits_due >= 8 && self.sent < self.outgoing.len() {
            self.bits_due -= 8;
            let mut byte = self.outgoing[self.sent];
            if let Some(share) = garbled {
                byte ^= self.flipped_bits(time_s, share);
            }
            self.sent += 1;
            let _ = bytes.push(byte);
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

    /// Looks for contact once a second and takes telemetry down.
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
            // A new contact sends the load from its beginning, unless the vehicle has it.
            let taken = self.observed.is_some_and(|(_, heard)| heard.load_counter == self.outgoing_counter);
            self.sent = if taken { self.outgoing.len() } else { 0 };
        }
        if self.contact.is_some() {
            self.hear(time_s, controller.telemetry());
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

    fn in_view(&self, plant: &mut Plant) -> Option<usize> {
        let position_m = plant.position_fixed_m();
        self.stations.iter().position(|station| station.look(&position_m).elevation_rad >= station.mask_rad)
    }
}
