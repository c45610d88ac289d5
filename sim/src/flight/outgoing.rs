//! What the ground may have to send: loads sound and unsound, and orders.

use crate::scenario::parts::uplink::Mistake;
use stillframe_controller::{
    attitude::mode::Hold,
    io::TICKS_PER_S,
    programme::{
        load::{Command, Entry, Load, MAX_ENTRIES},
        telecommand::Order,
    },
};

/// Time that a load gets to go up, be read back and be committed before its first command, ticks.
const MARGIN_TICKS: u32 = 60 * TICKS_PER_S;

/// Something to send.
#[derive(Clone, Debug)]
pub enum Outgoing {
    /// This load, less what has passed by the time it is sent.
    Load(Load),
    /// A load of the ground's next counter.
    New(Make),
    /// An order.
    Order(Order),
}

/// A load that is made when it is sent.
#[derive(Clone, Debug)]
pub struct Make {
    /// The programme that it is made of.
    pub programme: Load,
    /// Mistake put into it.
    pub mistake: Option<Mistake>,
    /// Longest camera-on that the vehicle takes, ticks.
    pub longest_ticks: u32,
    /// Fastest speed that it takes, steps.
    pub most_speed: u16,
}

impl Make {
    /// Makes it, at the true tick `now`.
    pub fn load(&self, counter: u16, now: u32) -> Load {
        let rest = Load { counter, ..rest_of(&self.programme, now) };
        match self.mistake {
            Some(mistake) => self.spoil(rest, now, mistake),
            None => rest,
        }
    }

    fn spoil(&self, rest: Load, now: u32, mistake: Mistake) -> Load {
        let last = rest.entries.last().map_or(now, |entry| entry.tick).max(now);
        // Late enough that nothing but the mistake is wrong with it, even before capture.
        let at = last.saturating_add(3_600 * TICKS_PER_S);
        let on = Command::CameraOn { slit: 0, interval_ticks: 0 };
        let burst = [(at, Command::Speed(self.most_speed / 4)), (at + 500, on), (at + 1_500, Command::CameraOff)];
        let (keep, added): (bool, Vec<(u32, Command)>) = match mistake {
            Mistake::CameraLeftOn => (true, burst[..2].to_vec()),
            Mistake::TimePast => (false, vec![(now.saturating_sub(3_600 * TICKS_PER_S), burst[0].1)]),
            Mistake::TimeRolledOver => (true, vec![(0_u32.wrapping_sub(10 * TICKS_PER_S), burst[0].1)]),
            Mistake::CameraTwice => (true, vec![burst[0], burst[1], (at + 1_000, on), burst[2]]),
            Mistake::FilmBeyondReserve => (false, self.film_out(at)),
            Mistake::ReceiverLeftOff => (true, vec![(at, Command::Receiver(false))]),
            Mistake::SilenceTooLong => (true, vec![(at, Command::SafeAfter(u16::MAX))]),
            Mistake::CameraAfterCut => (true, [&[(at - 100, Command::Secure)], &burst[..]].concat()),
        };
        let added = added.into_iter().map(|(tick, command)| Entry { tick, command });
        let kept = rest.entries.iter().copied().filter(|_| keep);
        let mut entries: Vec<Entry> = kept.collect();
        // The store's last places are for the mistake.
        let added: Vec<Entry> = added.collect();
        entries.truncate(MAX_ENTRIES - added.len());
        entries.extend(added);
        Load { entries: entries.into_iter().collect(), ..rest }
    }

    /// The longest camera-on at the fastest speed, a hundred times.
    fn film_out(&self, at: u32) -> Vec<(u32, Command)> {
        let every = self.longest_ticks + 60 * TICKS_PER_S;
        let on = Command::CameraOn { slit: 0, interval_ticks: 0 };
        let pass = |from: u32| [(from, on), (from + self.longest_ticks, Command::CameraOff)];
        let passes = (0..100).flat_map(|number| pass(at + 100 + number * every));
        std::iter::once((at, Command::Speed(self.most_speed))).chain(passes).collect()
    }
}

/// What is still to come of a load at the true tick `now`: from the first moment on, a little ahead, at which the camera
/// is off; before it, speed, hold and receiver as what is left out would have had them.
pub fn rest_of(load: &Load, now: u32) -> Load {
    let from = now.saturating_add(MARGIN_TICKS);
    let mut on = false;
    let begins = load.entries.iter().position(|entry| {
        let here = entry.tick > from && !on;
        match entry.command {
            Command::CameraOn { .. } => on = true,
            Command::CameraOff => on = false,
            _ => {}
        }
        here
    });
    let (left_out, rest) = load.entries.split_at(begins.unwrap_or(load.entries.len()));
    let last = |of: fn(&Command) -> bool| left_out.iter().map(|entry| entry.command).rfind(of);
    let speed = last(|command| matches!(command, Command::Speed(_)));
    let hold = last(|command| matches!(command, Command::Hold(_))).filter(|hold| *hold != Command::Hold(Hold::Fine));
    let closed = last(|command| matches!(command, Command::Receiver(_))).filter(|on| *on == Command::Receiver(false));
    let as_left = [speed, hold, closed].into_iter().flatten().map(|command| Entry { tick: from, command });
    let entries = if rest.is_empty() {
        heapless::Vec::new()
    } else {
        as_left.chain(rest.iter().copied()).take(MAX_ENTRIES).collect()
    };
    Load { entries, ..load.clone() }
}
