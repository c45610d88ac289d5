//! The framing camera's phases.

use super::sequencer::Sequencer;
use super::types::{Input, Output, Phase};
use crate::film::Demand;
use crate::io::{Edges, TICK_US};

impl Sequencer {
    /// One tick with the camera on, or with an exposure to finish.
    pub(super) fn step_frame(&mut self, input: &Input) -> Output {
        let settings = self.settings;
        let hold = Output { demand: Demand::Hold, ..Output::default() };
        let clamped = Output { clamp: true, ..hold };
        let waited = self.waited(input.tick);
        match self.status.phase {
            Phase::Ready if input.film.valid && input.tick >= input.not_before => {
                self.pace_tick = input.tick;
                self.enter(Phase::Advancing, input.tick);
                hold
            }
            Phase::Advancing => {
                if input.film.arrived {
                    self.enter(Phase::Clamping, input.tick);
                    return clamped;
                }
                Output { demand: Demand::Advance { length_m: settings.advance_length_m }, ..hold }
            }
            Phase::Clamping if waited >= settings.clamp_ticks => {
                self.enter(Phase::Settling, input.tick);
                clamped
            }
            Phase::Settling if waited >= settings.settle_ticks => {
                self.enter(Phase::PlatenRun, input.tick);
                Output { platen_step: input.speed_step, ..clamped }
            }
            Phase::PlatenRun if waited >= settings.platen_ticks => self.open(input, clamped),
            Phase::PlatenRun => Output { platen_step: input.speed_step, ..clamped },
            Phase::Exposing => self.expose(input, clamped),
            Phase::Clamping | Phase::Settling => clamped,
            Phase::Releasing if waited >= settings.clamp_ticks => {
                self.enter(Phase::Pacing, input.tick);
                hold
            }
            Phase::Pacing => self.pace(input, hold),
            _ => hold,
        }
    }

    /// Opens at the tick's boundary; shuts in the same tick if the exposure fits into it.
    fn open(&mut self, input: &Input, clamped: Output) -> Output {
        self.enter(Phase::Exposing, input.tick);
        self.begin_frame(input);
        self.open_left_us = self.settings.shutter_us(self.slit);
        let mut output = self.expose(input, clamped);
        output.shutter.open_us = Some(0);
        output
    }

    /// One tick of an open shutter. The frame ends in the tick that shuts it.
    fn expose(&mut self, input: &Input, clamped: Output) -> Output {
        let mut output = Output { platen_step: input.speed_step, ..clamped };
        if let Some(frame) = &mut self.frame {
            // The platen's speed must not change under an open shutter.
            output.platen_step = frame.speed_step;
            frame.doubtful |= !input.film.valid || input.film.disagreement;
        }
        if self.open_left_us >= TICK_US {
            self.open_left_us -= TICK_US;
            return output;
        }
        output.shutter = Edges { open_us: None, close_us: Some(self.open_left_us as u16) };
        self.open_left_us = 0;
        output.frame_event = self.end_frame(input.tick, input.film.metered_counts, true);
        let ends = !input.camera_commanded_on || self.status.waits_for_off || !input.allowed;
        self.enter(if ends { Phase::RunDown } else { Phase::Releasing }, input.tick);
        output
    }

    /// Waits for the pace that came with the camera-on; a cycle that took longer goes on at once and
    /// counts as late.
    fn pace(&mut self, input: &Input, hold: Output) -> Output {
        let cycle = input.cycle_ticks.max(self.settings.cycle_min_ticks);
        let since = input.tick.wrapping_sub(self.pace_tick);
        if since < cycle {
            return hold;
        }
        if since > cycle {
            self.status.late = self.status.late.saturating_add(1);
            self.pace_tick = input.tick;
        } else {
            self.pace_tick = self.pace_tick.wrapping_add(cycle);
        }
        self.enter(Phase::Advancing, input.tick);
        hold
    }
}
