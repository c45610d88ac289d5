//! When the drogue may go: two of three must say that the capsule is inside the box of dynamic pressure and Mach
//! number that the canopy bears.
//!
//! The capsule measures neither. What it has: its own count of ticks since the retro motor; a timer of its own beside the
//! processor; and the deceleration switch, which closes on the way in and opens again when the capsule has slowed down.
//! None of the three alone throws the drogue, and none alone keeps it in.

use super::{readiness::Readiness, settings::OrdnanceSettings};

const PULSE_SHIFT: u32 = 30;
const COUNT: u32 = (1 << PULSE_SHIFT) - 1;
const RISEN: u32 = 1;
const FALLEN: u32 = 2;

/// What has been seen of the way down.
#[derive(Clone, Copy, Debug, Default, Eq, Hash, PartialEq)]
pub struct Chute {
    /// Ticks since the retro motor was lit; none before, or if a reset has spoilt the count.
    own: Option<u32>,
    pulse: Pulse,
}

/// The deceleration's rise and fall.
#[derive(Clone, Copy, Debug, Default, Eq, Hash, PartialEq)]
enum Pulse {
    #[default]
    None,
    Rising(u32),
    Fallen,
}

impl Chute {
    /// Nothing has been seen.
    pub(super) const NONE: Self = Self { own: None, pulse: Pulse::None };

    /// After a reset: as memory kept it. The count is late by as long as the reset took.
    pub(super) fn resume(retained: u32, settings: &OrdnanceSettings) -> Self {
        let pulse = match retained >> PULSE_SHIFT {
            RISEN => Pulse::Rising(settings.g_hold_ticks),
            FALLEN => Pulse::Fallen,
            _ => Pulse::None,
        };
        Self { own: (retained & COUNT).checked_sub(1), pulse }
    }

    /// What is to be kept: the count from one, zero if there is none, and a pulse that is believed, in the two highest
    /// bits.
    pub(super) fn retain(&self, settings: &OrdnanceSettings) -> u32 {
        let pulse = match self.pulse {
            Pulse::Rising(held) if held >= settings.g_hold_ticks => RISEN,
            Pulse::Fallen => FALLEN,
            Pulse::None | Pulse::Rising(_) => 0,
        };
        self.own.map_or(0, |own| own.saturating_add(1) & COUNT) | pulse << PULSE_SHIFT
    }

    /// The retro motor has been lit.
    pub(super) fn lit(&mut self) {
        self.own = Some(0);
    }

    /// A tick on the way down. `listening`: the retro motor is behind. Whether the switch was closed when it should not be.
    pub(super) fn tick(&mut self, settings: &OrdnanceSettings, readiness: &Readiness, listening: bool) -> bool {
        if let Some(own) = &mut self.own {
            *own = own.saturating_add(1).min(settings.drogue_ticks.max(settings.g_open_ticks));
        }
        let listening = listening && self.own.is_none_or(|own| own >= settings.g_open_ticks);
        if !listening {
            self.pulse = Pulse::None;
            return readiness.g_switch;
        }
        self.pulse = match (self.pulse, readiness.g_switch) {
            (Pulse::None, true) => Pulse::Rising(1),
            (Pulse::Rising(held), true) => Pulse::Rising(held.saturating_add(1).min(settings.g_hold_ticks)),
            (Pulse::Rising(held), false) if held >= settings.g_hold_ticks => Pulse::Fallen,
            (Pulse::Rising(_), false) => Pulse::None,
            (pulse, _) => pulse,
        };
        false
    }

    /// Inside the box, by two of three.
    pub fn open(&self, settings: &OrdnanceSettings, timer_out: bool) -> bool {
        let own = self.own.is_some_and(|own| own >= settings.drogue_ticks);
        let fallen = self.pulse == Pulse::Fallen;
        [own, fallen, timer_out].into_iter().filter(|&says| says).count() >= 2
    }
}

#[cfg(test)]
mod tests {
    extern crate std;
    use super::*;

    fn settings() -> OrdnanceSettings {
        let mut settings = OrdnanceSettings::default();
        (settings.g_open_ticks, settings.g_hold_ticks, settings.drogue_ticks) = (10, 3, 30);
        settings
    }

    /// Tick after the retro motor at which the drogue is let go, if ever.
    fn thrown(g: impl Fn(u32) -> bool, timer: impl Fn(u32) -> bool, lit: bool) -> Option<u32> {
        let mut chute = Chute::default();
        if lit {
            chute.lit();
        }
        (1..100).find(|&tick| {
            let readiness = Readiness { g_switch: g(tick), timer_out: timer(tick), ..Readiness::default() };
            chute.tick(&settings(), &readiness, true);
            chute.open(&settings(), readiness.timer_out)
        })
    }

    const fn pulse(tick: u32) -> bool {
        tick >= 20 && tick < 28
    }
    const fn timer(tick: u32) -> bool {
        tick >= 32
    }

    #[test]
    fn any_two_of_three_throw_the_drogue_and_no_one_alone() {
        let (never, always) = (|_: u32| false, |_: u32| true);
        assert_eq!(thrown(pulse, timer, true), Some(30), "all well: the pulse has fallen, and its own count");
        assert_eq!(thrown(pulse, never, true), Some(30), "the timer is dead");
        assert_eq!(thrown(never, timer, true), Some(32), "the switch is dead");
        assert_eq!(thrown(pulse, timer, false), Some(32), "a reset that spoilt the count");
        assert_eq!(thrown(never, never, true), None);
        assert_eq!(thrown(pulse, never, false), None);
        assert_eq!(thrown(never, always, false), None);
        assert_eq!(thrown(pulse, always, true), Some(28), "a timer that ran out early waits for the pulse to fall");
        assert_eq!(thrown(always, timer, true), Some(32), "a switch that stays closed has no say");
    }

    #[test]
    fn what_is_kept_comes_back() {
        let settings = settings();
        for own in [None, Some(0), Some(29)] {
            for pulse in [Pulse::None, Pulse::Rising(3), Pulse::Fallen] {
                let chute = Chute { own, pulse };
                assert_eq!(Chute::resume(chute.retain(&settings), &settings), chute);
            }
        }
        let early = Chute { own: Some(5), pulse: Pulse::Rising(2) };
        assert_eq!(Chute::resume(early.retain(&settings), &settings).pulse, Pulse::None, "not believed yet");
    }

    #[test]
    fn a_switch_that_closes_early_or_chatters_has_no_say() {
        assert_eq!(thrown(|tick| tick < 8, |tick| tick >= 9, true), Some(30));
        assert_eq!(thrown(|tick| tick % 3 != 0, |tick| tick >= 12, true), Some(30));
        let mut chute = Chute::default();
        let closed = Readiness { g_switch: true, ..Readiness::default() };
        assert!(chute.tick(&settings(), &closed, false), "and it is told");
    }
}
