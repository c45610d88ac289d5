//! The strip camera's phases.

use super::sequencer::Sequencer;
use super::types::{Input, Output, Phase};
use crate::io::Edges;

impl Sequencer {
    /// One tick with the camera on and no reason to end.
    pub(super) fn step_strip(&mut self, input: &Input) -> Output {
        let mut output = Output { demand: self.run_at(input.speed_step), ..Output::default() };
        match self.status.phase {
            Phase::RunUp if input.film.valid && input.tick >= input.not_before => {
                self.enter(Phase::Exposing, input.tick);
                self.begin_frame(input);
                output.shutter = Edges { open_us: Some(0), close_us: None };
            }
            Phase::Exposing => self.count_frames(input, &mut output),
            _ => {}
        }
        output
    }

    /// A new frame falls due with every frame length of counted film. The next one begins where this one
    /// should have ended, not where the tick found it, so that lengths do not drift.
    fn count_frames(&mut self, input: &Input, output: &mut Output) {
        self.invalid_ticks = if input.film.valid { 0 } else { self.invalid_ticks.saturating_add(1) };
        let Some(frame) = &mut self.frame else {
            self.begin_frame(input);
            return;
        };
        frame.doubtful |= !input.film.valid || input.film.disagreement;
        let due = frame.began_counts.wrapping_add(self.frame_counts);
        if input.film.metered_counts.wrapping_sub(due) < 0 {
            return;
        }
        output.frame_event = self.end_frame(input.tick, due, true);
        self.begin_frame(input);
        if let Some(next) = &mut self.frame {
            next.began_counts = due;
        }
    }
}
