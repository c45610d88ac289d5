//! Where the sequence stands: counted on board, kept through a reset, and held against what the items show.
//!
//! Three sources in separate places: the count of the sequencer itself, which a word of memory keeps through a reset; the
//! bridgewires, which read open once they are spent; and contacts that open or close by what an event does. An event is in
//! turn when the count says so, every wire and contact before it agrees, and its own wire is whole. The count moves on
//! only from an event that this sequencer has begun itself.

use super::event::{Event, Side};

/// The count, and whether its event has been begun.
#[derive(Clone, Copy, Debug, Eq, Hash, PartialEq)]
pub struct Place {
    side: Side,
    count: u8,
    begun: bool,
    /// It was not begun by this count: an open wire told so when the word was lost.
    guessed: bool,
}

/// Proof that an event is the next one, by all sources.
#[derive(Debug)]
pub struct InTurn(Event);

impl InTurn {
    /// The event.
    pub fn event(&self) -> Event {
        self.0
    }
}

/// What the items show.
#[derive(Clone, Copy, Debug, Default, Eq, Hash, PartialEq)]
pub struct Shown {
    /// Bridgewires that read open, a bit an event.
    pub spent: u8,
    /// Effects that show, a bit an event.
    pub done: u8,
}

/// Bits of the events up to retro ignition, which must have shown themselves done before anything follows.
const UP_TO_RETRO: u8 = Event::Despin.before();
const BEGUN: u8 = 0x10;
const ABORTED: u8 = 0x20;
const GUESSED: u8 = 0x40;

impl Place {
    /// At waking: by the retained word if it is sound, else the lesser of what wires and contacts show, or nothing if
    /// the carrier (or the vehicle) is not behind, for then nothing can have fired; whether the word was sound, and whether
    /// an abort was kept in it.
    pub(super) fn wake(side: Side, retained: u16, shown: Shown, clear: bool) -> (Self, bool, bool) {
        let [value, check] = retained.to_be_bytes();
        let count = value & 0x0f;
        let sound = value == !check && (side.first()..=side.end()).contains(&count);
        if sound {
            let (begun, guessed) = (value & BEGUN != 0, value & GUESSED != 0);
            return (Self { side, count, begun, guessed }, true, value & ABORTED != 0);
        }
        let shown = if clear { shown } else { Shown::default() };
        let lead = |bits: u8| (bits >> side.first()).trailing_ones() as u8;
        let count = (side.first() + lead(shown.spent).min(lead(shown.done))).min(side.end());
        // A wire that is open where its event does not show: it may have been fired just before.
        let begun = Event::at(count).is_some_and(|event| shown.spent & event.bit() != 0);
        (Self { side, count, begun, guessed: begun }, false, false)
    }

    /// The word to be kept.
    pub fn retain(&self, aborted: bool) -> u16 {
        let bits = [(self.begun, BEGUN), (self.guessed, GUESSED), (aborted, ABORTED)];
        let value = bits.into_iter().filter(|(so, _)| *so).fold(self.count, |value, (_, bit)| value | bit);
        u16::from_be_bytes([value, !value])
    }

    /// Events behind it, of both sides.
    pub fn count(&self) -> u8 {
        self.count
    }

    /// The next event of this side.
    pub fn next(&self) -> Option<Event> {
        if self.count < self.side.end() { Event::at(self.count) } else { None }
    }

    /// The next event has been given current, or was about to be.
    pub fn begun(&self) -> bool {
        self.begun
    }

    /// The proof that `event` is in turn.
    pub(super) fn proof(&self, event: Event, shown: Shown) -> Option<InTurn> {
        // Past the return a step that did not show is no reason to keep the canopies.
        let waited = event.before() & self.side.events() & UP_TO_RETRO;
        let agreed = shown.spent & waited == waited && shown.done & waited == waited;
        let whole = shown.spent & event.bit() == 0;
        (self.next() == Some(event) && agreed && whole).then_some(InTurn(event))
    }

    /// Wires or contacts contradict the count.
    pub fn contradicted(&self, shown: Shown) -> bool {
        let Some(event) = self.next() else { return false };
        let behind = event.before() & self.side.events();
        let ahead = !event.before() & self.side.events();
        let early = if self.begun { ahead & !event.bit() } else { ahead };
        shown.spent & behind != behind || (shown.spent | shown.done) & early != 0
    }

    /// The next event is about to be given current.
    pub(super) fn begin(&mut self) {
        (self.begun, self.guessed) = (true, false);
    }

    /// Moves on if the event begun shows itself done; whether it did.
    pub(super) fn observe(&mut self, shown: Shown) -> bool {
        let done = self.begun
            && self.next().is_some_and(|event| shown.spent & event.bit() != 0 && shown.done & event.bit() != 0);
        if done {
            self.advance();
        }
        done
    }

    /// Moves on from an event past the return whose wire is open or whose time is over. Not on a guess: a wire that
    /// reads open may never have been fired.
    pub(super) fn go_on(&mut self) -> bool {
        let late = self.begun && !self.guessed && self.next().is_some_and(Event::past_return);
        if late {
            self.advance();
        }
        late
    }

    fn advance(&mut self) {
        self.count = self.count.saturating_add(1).min(self.side.end());
        (self.begun, self.guessed) = (false, false);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn shown(spent: u8, done: u8) -> Shown {
        Shown { spent, done }
    }

    #[test]
    fn the_word_comes_back_and_a_spoilt_one_is_told() {
        let place = Place { side: Side::Capsule, count: 4, begun: true, guessed: false };
        let word = place.retain(true);
        assert_eq!(Place::wake(Side::Capsule, word, shown(0, 0), true), (place, true, true));
        for bit in 0..16 {
            let (_, sound, _) = Place::wake(Side::Capsule, word ^ 1 << bit, shown(0, 0), true);
            assert!(!sound, "bit {bit}");
        }
        let (_, sound, _) = Place::wake(Side::Vehicle, word, shown(0, 0), true);
        assert!(!sound, "a count of the other side's");
    }

    #[test]
    fn without_the_word_the_lesser_of_wires_and_contacts_counts() {
        let count = |spent, done| Place::wake(Side::Capsule, 0, shown(spent, done), true).0.count();
        assert_eq!((count(0b1100, 0b1100), count(0b1100, 0b0100), count(0b0100, 0b1100)), (4, 3, 3));
        assert_eq!((count(0, 0b1100), count(0xff, 0xff)), (2, 8));
        let in_the_vehicle = Place::wake(Side::Capsule, 0, shown(0b1100, 0b1100), false).0;
        assert_eq!((in_the_vehicle.count(), in_the_vehicle.begun()), (2, false));
    }

    #[test]
    fn in_turn_by_all_sources_or_not() {
        let place = Place { side: Side::Capsule, count: 3, begun: false, guessed: false };
        let proof = |spent, done| place.proof(Event::RetroIgnition, shown(spent, done)).is_some();
        assert!(proof(0b0100, 0b0100));
        assert!(!proof(0b0000, 0b0100) && !proof(0b0100, 0b0000), "spin does not show");
        assert!(!proof(0b1100, 0b0100), "its own wire is open");
        assert!(place.proof(Event::Despin, shown(0b1100, 0b1100)).is_none(), "not its turn");
    }

    #[test]
    fn the_count_moves_on_from_what_was_begun_alone() {
        let mut place = Place { side: Side::Vehicle, count: 0, begun: false, guessed: false };
        assert!(!place.observe(shown(1, 1)));
        assert!(place.contradicted(shown(1, 1)));
        place.begin();
        assert!(!place.observe(shown(1, 0)) && !place.go_on());
        assert!(place.observe(shown(1, 1)));
        assert_eq!((place.count(), place.begun()), (1, false));
    }
}
