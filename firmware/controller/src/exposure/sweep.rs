//! The panoramic camera's phases: what differs from the framing camera's.

use super::sequencer::Sequencer;
use super::settings::CameraSettings;
use super::types::{Input, Output, Phase};
use crate::film::Demand;
use crate::io::{Edges, TICK_S, TICK_US, TICKS_PER_S};
use crate::math::{self, DEG};

/// A sweep this close to where it starts from is at home, rad.
const HOME_RAD: f32 = 0.003;
/// Rate asked of the return for a distance from home, 1/s.
const HOME_GAIN_1_S: f32 = 4.0;
/// Share by which the sweep's rate may be off before a frame counts as doubtful.
const RATE_BAND: f32 = 0.03;

/// An edge after `wait_us`, inside the coming tick, µs.
fn edge_us(wait_us: f32) -> u16 {
    math::clamp(wait_us, 0.0, TICK_US as f32 - 1.0) as u16
}

/// Half as long again as a swing should take, and a quarter of a second to settle in.
pub(super) fn swing_limit_ticks(camera: &CameraSettings) -> u32 {
    let angle_deg = 2.0 * (camera.sweep_half_deg + camera.sweep_run_in_deg);
    (1.5 * angle_deg / camera.sweep_rate_deg_s * TICKS_PER_S as f32) as u32 + camera.settle_ticks + 25
}

impl Sequencer {
    /// One tick with the camera on and no reason to end.
    pub(super) fn step_sweep(&mut self, input: &Input) -> Output {
        let output = match self.status.phase {
            Phase::Settling
                if self.waited(input.tick) >= self.settings.settle_ticks && self.at_home(input.sweep_rad) =>
            {
                self.enter(Phase::Swinging, input.tick);
                self.swing(input)
            }
            Phase::Settling => Output { demand: Demand::Hold, clamp: true, ..Output::default() },
            Phase::Swinging | Phase::Exposing => self.swing(input),
            _ => self.step_frame(input),
        };
        self.sweep_before_rad = input.sweep_rad;
        output
    }

    /// Sweep at its rate; the shutter's edges fall where the picture begins and ends.
    fn swing(&mut self, input: &Input) -> Output {
        let settings = self.settings;
        let rate_rad_s = settings.sweep_rate_deg_s * DEG;
        let half_rad = settings.sweep_half_deg * DEG;
        // What is asked for now acts from the next boundary on.
        let then_rad = input.sweep_rad + rate_rad_s * TICK_S;
        let mut output = Output {
            demand: Demand::Hold,
            clamp: true,
            platen_step: self.platen_step_at(input.speed_step, then_rad + rate_rad_s * settings.sweep_lead_ms * 1e-3),
            sweep_step: (rate_rad_s / settings.sweep_step_rad_s + 0.5) as i16,
            ..Output::default()
        };
        let until_us = |edge_rad: f32| (edge_rad - then_rad) / rate_rad_s * 1e6;
        if self.status.phase == Phase::Swinging {
            let wait_us = until_us(-half_rad);
            if wait_us < TICK_US as f32 {
                self.enter_keeping_time(Phase::Exposing);
                self.begin_frame(input);
                if let Some(frame) = &mut self.frame {
                    // Too late already: the run-in was too short, and the picture lacks its edge.
                    frame.doubtful |= wait_us < 0.0;
                }
                output.shutter.open_us = Some(edge_us(wait_us));
            }
            return output;
        }
        self.watch_rate(input, rate_rad_s);
        let wait_us = until_us(half_rad);
        if wait_us < TICK_US as f32 {
            output.shutter = Edges { open_us: None, close_us: Some(edge_us(wait_us)) };
            output.frame_event = self.end_frame(input.tick, input.film.metered_counts, true);
            self.enter(Phase::Releasing, input.tick);
        }
        output
    }

    fn watch_rate(&mut self, input: &Input, rate_rad_s: f32) {
        let moved_rad = input.sweep_rad - self.sweep_before_rad;
        let even = math::abs(moved_rad / (rate_rad_s * TICK_S) - 1.0) < RATE_BAND;
        if let Some(frame) = &mut self.frame {
            frame.doubtful |= !even || !input.film.valid || input.film.disagreement;
        }
    }

    /// Platen speed at an angle. The ground's image moves along the track by h·cosλ/ρ of what it does straight down,
    /// with ρ the distance and λ the angle at the Earth's centre; cos θ − k·sin²θ/cos θ with k = (h/2R)·(1 + h/R) is
    /// that to 3e-5 out to 30°.
    fn platen_step_at(&self, speed_step: u16, angle_rad: f32) -> u16 {
        let (sin, cos) = math::sin_cos(angle_rad);
        let share = cos - self.settings.sweep_curvature * sin * sin / math::clamp(cos, 0.1, 1.0);
        (f32::from(speed_step) * math::clamp(share, 0.0, 1.0) + 0.5) as u16
    }

    fn home_rad(&self) -> f32 {
        -(self.settings.sweep_half_deg + self.settings.sweep_run_in_deg) * DEG
    }

    fn at_home(&self, angle_rad: f32) -> bool {
        math::abs(self.home_rad() - angle_rad) < HOME_RAD
    }

    /// In every phase but those of the swing itself, the sweep goes to where it starts from, and stays there.
    pub(super) fn send_home(&self, input: &Input, output: &mut Output) {
        if output.sweep_step != 0 || self.at_home(input.sweep_rad) {
            return;
        }
        let most_rad_s = self.settings.sweep_return_deg_s * DEG;
        let rate_rad_s = math::clamp(HOME_GAIN_1_S * (self.home_rad() - input.sweep_rad), -most_rad_s, most_rad_s);
        output.sweep_step = (rate_rad_s / self.settings.sweep_step_rad_s) as i16;
    }
}
