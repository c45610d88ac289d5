//! What can stick: contacts, switches, senses and memory, each either way.

use crate::model::rule;
use stillframe_controller::ordnance::{Event, Side};

/// A part that can stick.
#[derive(Clone, Copy, Debug, Eq, Hash, Ord, PartialEq, PartialOrd)]
pub enum Part {
    /// Carrier's loop: the contact in the firing path and its readback.
    Carrier,
    /// The second contact: the vehicle's separation sense; in the capsule the contact that the vehicle holds apart.
    Left,
    /// The capsule's umbilical, by which it tells that the vehicle is behind.
    Umbilical,
    /// The recovery battery's switch.
    Battery,
    /// The arming relay.
    Relay,
    /// The commit switch.
    Commit,
    /// A firing line's switch.
    Line(Event),
    /// The reading of a bridgewire: stuck on, it reads open.
    Wire(Event),
    /// The contact that an event's effect throws over.
    Effect(Event),
    /// The abort's latching relay in the arming relay's coil.
    CoilLatch,
    /// The abort's latching relay across the firing lines.
    LineLatch,
    /// The retained word; stuck off, it reads zero.
    Word,
    /// Attitude and rates: stuck on, they always seem good.
    Attitude,
    /// The sense of sealed film.
    Film,
    /// The capsule's telling that it is armed.
    CapsuleArmed,
    /// The spin's reading: stuck on, it always seems good.
    Spin,
    /// The deceleration switch.
    Deceleration,
    /// The backup timer.
    Timer,
}

/// A part that sticks, on or off.
#[derive(Clone, Copy, Debug, Eq, Hash, Ord, PartialEq, PartialOrd)]
pub struct Stuck {
    /// The part.
    pub part: Part,
    /// On is towards firing: closed, open in the case of loops and wires, good.
    pub on: bool,
}

/// Parts that stick: none, one or two in the proof, three where it ends.
#[derive(Clone, Copy, Debug, Default, Eq, Hash, Ord, PartialEq, PartialOrd)]
pub struct Faults(pub [Option<Stuck>; 3]);

impl Faults {
    /// What a part says, or does, when it should be `so`.
    pub fn of(&self, part: Part, so: bool) -> bool {
        self.0.iter().flatten().find(|stuck| stuck.part == part).map_or(so, |stuck| stuck.on)
    }

    /// Whether a part sticks on.
    pub fn on(&self, part: Part) -> bool {
        self.of(part, false)
    }

    /// How many stick.
    pub fn number(&self) -> usize {
        self.0.iter().flatten().count()
    }
}

/// Parts of a side.
pub fn parts(side: Side) -> Vec<Part> {
    use Part::{
        Attitude, Battery, CapsuleArmed, Carrier, CoilLatch, Commit, Deceleration, Effect, Film, Left, Line, LineLatch,
        Relay, Spin, Timer, Umbilical, Wire, Word,
    };
    let mut parts = vec![Carrier, Left, Battery, Relay, Commit, CoilLatch, LineLatch, Word];
    parts.extend(match side {
        Side::Vehicle => [Attitude, Film, CapsuleArmed].as_slice(),
        Side::Capsule => [Umbilical, Spin, Deceleration, Timer].as_slice(),
    });
    for event in events(side) {
        parts.extend([Line(event), Wire(event), Effect(event)]);
    }
    parts
}

/// Events of a side.
pub fn events(side: Side) -> impl Iterator<Item = Event> + Clone {
    (side.first()..side.end()).filter_map(Event::at)
}

/// Every part of a side, each way.
pub fn singles(side: Side) -> Vec<Stuck> {
    let both = parts(side).into_iter().flat_map(|part| [true, false].map(|on| Stuck { part, on }));
    // A retained word that sticks is one that reads nothing.
    both.filter(|stuck| *stuck != Stuck { part: Part::Word, on: true }).collect()
}

/// No fault, every single one, and every pair of different parts.
pub fn all(side: Side) -> Vec<Faults> {
    let singles = singles(side);
    let mut all = vec![Faults::default()];
    all.extend(singles.iter().map(|one| Faults([Some(*one), None, None])));
    for (number, one) in singles.iter().enumerate() {
        let others = singles.iter().skip(number + 1).filter(|other| other.part != one.part);
        all.extend(others.map(|other| Faults([Some(*one), Some(*other), None])));
    }
    all
}

/// Whether a part that sticks this way stands in the way of the return by what it is: it keeps something from firing,
/// or makes an item useless. `settings` of the search let two of three votes throw the drogue.
pub fn keeps(stuck: Stuck) -> bool {
    match (stuck.part, stuck.on) {
        // A line that is closed beforehand would fire with the next current: refused on purpose. A wire that reads open
        // is a spent item, one that never does cannot show that it was.
        (Part::Line(_) | Part::Wire(_), _) => true,
        // Past the return, what does not show itself done is not waited for.
        (Part::Effect(event), false) => !event.past_return(),
        // Thrown, they hold; not to be thrown, they let go.
        (Part::CoilLatch | Part::LineLatch, on) => on,
        // The rest of three votes decides.
        (Part::Deceleration | Part::Timer, _) => false,
        (_, on) => !on,
    }
}

/// Whether these parts together stand in the way of the return.
pub fn keep(faults: &Faults) -> bool {
    // Two of the drogue's three votes: a switch that sticks either way has none, a timer that never runs out has none, and
    // the count is lost with the word at the next reset.
    let votes = [Part::Deceleration, Part::Timer, Part::Word];
    let stuck = faults.0.iter().flatten();
    let silent =
        stuck.clone().filter(|one| votes.contains(&one.part) && **one != (Stuck { part: Part::Timer, on: true }));
    stuck.clone().any(|one| keeps(*one)) || silent.count() >= 2
}

/// Three parts that together break a rule, one row for each rule: where the proof ends.
pub fn triples() -> [(Side, u8, [Stuck; 3]); 4] {
    let on = |part| Stuck { part, on: true };
    let off = |part| Stuck { part, on: false };
    let cover = Event::CoverRelease;
    [
        (Side::Vehicle, rule::PAD, [on(Part::Carrier), on(Part::Left), on(Part::Attitude)]),
        (Side::Vehicle, rule::INHIBITS, [on(Part::Wire(cover)), on(Part::Effect(cover)), off(Part::Word)]),
        (Side::Vehicle, rule::ORDER, [on(Part::Wire(cover)), on(Part::Effect(cover)), off(Part::Word)]),
        (Side::Vehicle, rule::ABORT, [off(Part::CoilLatch), off(Part::LineLatch), off(Part::Word)]),
    ]
}
