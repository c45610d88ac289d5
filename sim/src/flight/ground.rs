//! The ground's desk: what is to be sent next, decided from what was heard and nothing else.
//!
//! In every contact the clocks are correlated first, which also tells the vehicle that the ground is there. Then whatever
//! waits on the desk goes up in its order. A load is sent, its counter and check sum are read back in telemetry, and only
//! then the commit goes. What telemetry does not show to have arrived is sent again.

use super::outgoing::{Outgoing, rest_of};
use stillframe_controller::{
    health::flags::Flag,
    packet::count_follows,
    programme::{
        load::{Load, LoadError},
        telecommand::{Correlation, Order},
        waiting::LoadName,
    },
    telemetry::Telemetry,
};
use stillframe_wire::packet::{self, Count};

/// Time given to telemetry to show what a telecommand did, s: a snapshot is up to two seconds old when it is heard.
const ANSWER_S: f64 = 4.0;
/// Times that one thing is sent in a contact.
const MOST_IN_A_CONTACT: u32 = 5;
/// Difference of clocks that is left alone, ticks.
const CLOCK_TICKS: i64 = 1;

/// Something on the desk.
#[derive(Clone, Debug)]
struct Item {
    what: Outgoing,
    not_before_s: f64,
    /// Counter that a new load has been given.
    counter: Option<u16>,
    /// Load as it was sent last, by name.
    sent: Option<LoadName>,
    /// Refusals that telemetry had told before.
    refused_before: u16,
    at_s: f64,
    times: u32,
}

/// The desk.
#[derive(Clone, Debug)]
pub struct Ground {
    items: Vec<Item>,
    load_count: Count,
    order_count: Count,
    /// Next load counter.
    next_counter: u16,
    /// The greeting of this contact: when it was last sent, and how often.
    greeted: Option<(f64, u32)>,
    /// One line for people about everything sent or found out.
    pub notes: Vec<String>,
}

/// What the ground knows in the second of a snapshot that has just come down.
#[derive(Clone, Copy, Debug)]
pub struct Heard<'a> {
    /// Time, s.
    pub time_s: f64,
    /// The snapshot.
    pub told: &'a Telemetry,
    /// True tick at which it was made.
    pub true_tick: u32,
}

impl Ground {
    /// A desk with nothing on it; `in_force` is the counter of the load put in on the pad, if there was one.
    pub fn new(in_force: u16) -> Self {
        Self {
            items: Vec::new(),
            load_count: Count::FIRST,
            order_count: Count::FIRST,
            next_counter: in_force.wrapping_add(1),
            greeted: None,
            notes: Vec::new(),
        }
    }

    /// Puts something on the desk, to be sent from `not_before_s` on.
    pub fn put(&mut self, what: Outgoing, not_before_s: f64) {
        let at_s = f64::NEG_INFINITY;
        self.items.push(Item { what, not_before_s, counter: None, sent: None, refused_before: 0, at_s, times: 0 });
    }

    /// A contact begins.
    pub fn contact_begins(&mut self) {
        self.greeted = None;
        for item in &mut self.items {
            (item.at_s, item.times) = (f64::NEG_INFINITY, 0);
        }
    }

    /// The next packet to send, if there is one, now that a snapshot has come down and nothing is on its way up.
    pub fn next(&mut self, heard: &Heard<'_>) -> Option<Vec<u8>> {
        self.follow_counts(heard.told);
        if let Some(greeting) = self.greeting(heard) {
            return self.order(greeting);
        }
        loop {
            let due = self.items.iter().position(|item| heard.time_s >= item.not_before_s)?;
            let mut item = self.items.remove(due);
            match self.handle(&mut item, heard) {
                Step::Send(packet) => {
                    self.items.insert(due, item);
                    return Some(packet);
                }
                Step::SendLast(packet) => return Some(packet),
                Step::Wait => {
                    self.items.insert(due, item);
                    return None;
                }
                Step::Done => {}
            }
        }
    }

    /// The vehicle's counts are the ones that matter.
    fn follow_counts(&mut self, told: &Telemetry) {
        for (ours, theirs) in [&mut self.load_count, &mut self.order_count].into_iter().zip(told.uplink.counts) {
            if let Some(last) = theirs
                && !count_follows(ours.peek(), last)
            {
                *ours = Count::after(last);
            }
        }
    }

    /// Clock correlation at the beginning of a contact, and as long as clocks differ or the vehicle has not heard.
    fn greeting(&mut self, heard: &Heard<'_>) -> Option<Order> {
        let told = heard.told;
        let reads = i64::from(told.tick) + i64::from(told.uplink.clock_ahead_ticks);
        let off = reads - i64::from(heard.true_tick);
        let wrong = off.abs() > CLOCK_TICKS || told.flags.has(Flag::ClockJumped);
        if let Some((at_s, times)) = self.greeted {
            let waited_s = heard.time_s - at_s;
            let unheard = f64::from(told.uplink.silent_s) > waited_s + ANSWER_S;
            if waited_s < ANSWER_S || times >= MOST_IN_A_CONTACT || !(wrong && !told.camera_commanded || unheard) {
                return None;
            }
        }
        self.greeted = Some((heard.time_s, self.greeted.map_or(1, |(_, times)| times + 1)));
        if told.camera_commanded {
            // The clock is not corrected while the camera is on.
            return Some(Order::Hail);
        }
        if wrong {
            self.notes.push(format!("clock correlation sent: the vehicle's clock is {:.2} s ahead", off as f64 * 0.01));
        }
        Some(Order::Correlate(Correlation { clock_tick: told.tick, true_tick: heard.true_tick }))
    }

    fn handle(&mut self, item: &mut Item, heard: &Heard<'_>) -> Step {
        if heard.time_s < item.at_s + ANSWER_S {
            return Step::Wait;
        }
        match item.what.clone() {
            Outgoing::Order(order) => self.order(order).map_or(Step::Done, Step::SendLast),
            Outgoing::Load(load) => self.load(item, heard, || rest_of(&load, heard.true_tick)),
            Outgoing::New(make) => {
                let counter = *item.counter.get_or_insert(self.next_counter);
                if counter == self.next_counter {
                    self.next_counter = counter.wrapping_add(1);
                }
                self.load(item, heard, || make.load(counter, heard.true_tick))
            }
        }
    }

    /// One step of load, read-back, commit.
    fn load(&mut self, item: &mut Item, heard: &Heard<'_>, make: impl Fn() -> Load) -> Step {
        let uplink = &heard.told.uplink;
        let sent = item.sent;
        if sent.is_some() && uplink.in_force == sent {
            self.notes.push(format!("load {} seen in force", item.name()));
            return Step::Done;
        }
        let refused = heard.told.loads_refused.wrapping_sub(item.refused_before);
        if let (Some(_), Some(why)) = (sent, heard.told.last_refusal)
            && refused != 0
            && !lost_on_the_way(why)
        {
            self.notes.push(format!("load {} seen refused on board: {why:?}", item.name()));
            return Step::Done;
        }
        if item.times >= MOST_IN_A_CONTACT {
            return Step::Wait;
        }
        (item.at_s, item.times) = (heard.time_s, item.times + 1);
        item.refused_before = heard.told.loads_refused;
        if let Some(name) = uplink.waiting.filter(|_| uplink.waiting == sent) {
            self.notes.push(format!("load {} read back as sent: commit sent", name.counter));
            let commit = Order::Commit { counter: name.counter, sum: name.sum };
            return self.order(commit).map_or(Step::Done, Step::Send);
        }
        let load = make();
        item.sent = Some(LoadName { counter: load.counter, sum: load.checksum(), entries: load.entries.len() as u16 });
        // The answer comes when the whole of it has gone up.
        let packet = packet::telecommand(&load, self.load_count.take()).map(|packet| packet.to_vec());
        item.at_s += packet.as_ref().map_or(0, Vec::len) as f64 / super::link::UPLINK_BYTES_S;
        self.notes.push(format!("load {} sent: {} commands", load.counter, load.entries.len()));
        packet.map_or(Step::Done, Step::Send)
    }

    fn order(&mut self, order: Order) -> Option<Vec<u8>> {
        packet::order(order, self.order_count.take()).map(|packet| packet.to_vec())
    }
}

impl Item {
    fn name(&self) -> u16 {
        self.sent.map_or(0, |name| name.counter)
    }
}

/// What comes of looking at an item.
enum Step {
    /// This goes up, and the item stays.
    Send(Vec<u8>),
    /// This goes up, and the item is done with.
    SendLast(Vec<u8>),
    /// Nothing to do yet, nor for what comes after it.
    Wait,
    /// The item is done with.
    Done,
}

/// Refusals that say nothing against a load's content: it is worth sending again.
fn lost_on_the_way(why: LoadError) -> bool {
    matches!(
        why,
        LoadError::Length
            | LoadError::Mark
            | LoadError::Checksum
            | LoadError::Packet
            | LoadError::Sequence
            | LoadError::Commit
            | LoadError::Expired
            | LoadError::Busy
    )
}
