//! Reset, overrun and memory gone wrong: the controller's part of them.

use super::{Controller, SEPARATION_TICKS};
use crate::{
    exposure::Sequencer,
    film::Transport,
    health::{gas::Gas, inputs::Inputs},
    io::{Actuators, TICKS_PER_S},
    keep::{ComputerStatus, Kept, KeptState, ResetCause},
    programme::Programme,
    settings::{Settings, SettingsError},
};

/// Tick within each second at which memory is held against itself: one of those with the least to do.
const SCRUB_AT: u32 = 51;

/// Where a bit of memory is turned over, for those who try what follows from it.
#[derive(Clone, Copy, Debug, Eq, PartialEq)]
pub enum Memory {
    /// A gain of the attitude law's own settings.
    Gain,
    /// The film drive's settings.
    Film,
    /// The time of an entry of the load in force.
    Load(usize),
}

impl Controller {
    /// What is to be put into the protected store now; nothing while memory does not agree with itself, so that what was
    /// kept before stays.
    pub fn keep(&self) -> Option<Kept> {
        if !self.sound() {
            return None;
        }
        Some(Kept::new(KeptState {
            programme: self.programme.to_keep(),
            contact: self.contact,
            telecommands: self.telecommands,
            clock_ahead: self.clock_ahead,
            separated_tick: self.separated_tick,
            flying: self.separated_ticks >= SEPARATION_TICKS,
            captured: self.captured,
            film: self.transport.to_keep(),
            frames: self.sequencer.status().frame,
            shutter_fault: self.sequencer.status().shutter_fault,
            doubts: self.attitude.to_keep(),
            last_tick: self.inputs.last_tick(),
            gas: self.gas.keep(),
            banks_lost: self.attitude.banks_given_up(),
            computer: self.computer,
        }))
    }

    /// A controller as it wakes from a reset: what was kept is taken up if it is sound, and nothing of it if not.
    ///
    /// Valves are shut, film is braked, the camera is off and ordnance is disarmed, whatever was kept.
    ///
    /// # Errors
    /// Refuses settings that fail [`Settings::check`].
    pub fn wake(settings: Settings, kept: Option<&Kept>, cause: ResetCause) -> Result<Self, SettingsError> {
        let mut woken = Self::new(settings)?;
        let sound = kept.filter(|kept| kept.sound());
        let before = sound.map_or(ComputerStatus::default(), |kept| kept.state.computer);
        woken.computer = ComputerStatus {
            resets: before.resets.saturating_add(1),
            cause,
            kept_refused: sound.is_none(),
            overruns: before.overruns,
            shed_under: before.shed_under,
        };
        if let Some(Kept { state, .. }) = sound {
            woken.take_up(state);
        }
        if cause == ResetCause::BrownOut {
            woken.computer.shed_under = Some(woken.programme.counter());
        }
        Ok(woken)
    }

    fn take_up(&mut self, state: &KeptState) {
        self.programme = Programme::wake(&state.programme);
        self.contact = state.contact;
        self.telecommands = state.telecommands;
        self.clock_ahead = state.clock_ahead;
        self.separated_tick = state.separated_tick;
        self.separated_ticks = if state.flying { SEPARATION_TICKS } else { 0 };
        self.captured = state.captured;
        self.inputs = Inputs::wake(state.last_tick);
        self.transport = Transport::wake(&self.settings.film, &state.film);
        self.sequencer = Sequencer::new(&self.settings.camera, &self.settings.film);
        self.sequencer.go_on_from(state.frames, state.shutter_fault);
        self.gas = Gas::wake(self.settings.gas, &state.gas);
        self.attitude.give_up_again(state.banks_lost);
        self.attitude.doubt_again(state.doubts);
    }

    /// A load has come into force, which only the ground can bring about: it has looked at what telemetry told. What was
    /// latched until then is let go, and a bus that broke down under the load before may be tried with this one.
    pub(super) fn acknowledge(&mut self) {
        self.transport.acknowledge();
        self.sequencer.acknowledge();
        self.attitude.acknowledge();
        self.inputs.acknowledge();
        self.quiet_broken_before = self.attitude.status().quiet_broken;
        self.computer.shed_under = None;
    }

    /// A control cycle did not end in time: whoever drives the controller puts out the safe outputs in its place. The
    /// next cycle begins as if the valves' timers had run out and the shutter's time were up.
    pub fn overrun(&mut self) -> Actuators {
        self.computer.overruns = self.computer.overruns.saturating_add(1);
        self.attitude.valves_are_shut();
        self.inputs.skip();
        let tick = self.inputs.last_tick().unwrap_or(0).wrapping_add(self.clock_ahead);
        self.frame = self.sequencer.shutter_is_shut(tick, self.transport.status().metered_counts);
        self.at_rest()
    }

    /// The bus broke down and no other load has come into force since: what draws most stays off.
    pub(super) fn sheds(&self) -> bool {
        self.computer.shed_under.is_some()
    }

    /// The safe outputs of a vehicle that still talks.
    pub(super) fn at_rest(&self) -> Actuators {
        Actuators { transmit: true, listen: self.contact.listen(), ..Actuators::SAFE }
    }

    /// Once a second: memory is held against itself.
    pub(super) fn scrub(&mut self) {
        if self.cycle % TICKS_PER_S == SCRUB_AT {
            self.unsound |= !self.sound();
        }
    }

    /// Whether the settings that each part works with are those the controller was given, and the load in force has
    /// its check sum. Tables made from settings (jets, laws) are not among what is compared.
    pub fn sound(&self) -> bool {
        let same = self.attitude.works_with(&self.settings)
            && self.transport.works_with(&self.settings.film)
            && self.sequencer.works_with(&self.settings.camera)
            && self.gas.works_with(&self.settings.gas);
        same && self.programme.sound()
    }

    /// Memory does not agree with itself: outputs stay safe until the processor is reset, which whoever drives it does
    /// when asked.
    pub fn asks_for_reset(&self) -> bool {
        self.unsound
    }

    /// Resets, overruns and their causes.
    pub fn computer(&self) -> ComputerStatus {
        self.computer
    }

    /// Turns over a bit of memory. Nothing on board calls this: it is the door for those who try what follows from
    /// radiation.
    pub fn turn_over(&mut self, place: Memory) {
        match place {
            Memory::Gain => self.attitude.turn_over(),
            Memory::Film => self.transport.turn_over(),
            Memory::Load(entry) => self.programme.turn_over(entry),
        }
    }
}

#[cfg(test)]
mod tests;
