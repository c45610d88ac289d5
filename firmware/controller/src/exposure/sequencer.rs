//! What both kinds of camera share: coming on, the limits that end a camera-on, frame numbers, the
//! shutter's watch, and going off.

use super::settings::CameraSettings;
use super::types::{Ending, ExposureStatus, FrameMark, Input, Outcome, Output, Phase};
use crate::film::{Demand, FilmSettings, State};
use crate::io::Edges;

/// The exposure sequencer.
#[derive(Clone, Debug, PartialEq)]
pub struct Sequencer {
    pub(super) settings: CameraSettings,
    pub(super) frame_counts: i32,
    footage_counts: i32,
    pub(super) status: ExposureStatus,
    /// Tick and counted film at which the camera came on.
    on_tick: u32,
    /// Time from then to the commanded camera-on, for which film runs ahead, ticks.
    ahead_ticks: u32,
    on_counts: i32,
    pub(super) phase_tick: u32,
    pub(super) frame: Option<OpenFrame>,
    pub(super) slit: u8,
    pub(super) invalid_ticks: u32,
    /// Tick from which the next picture's pace counts (framing).
    pub(super) pace_tick: u32,
    /// Shutter time still to run after this tick, µs (framing).
    pub(super) open_left_us: u32,
    /// Angle of the sweep at the last tick, rad.
    pub(super) sweep_before_rad: f32,
    /// Most ticks from the start of a swing to the end of its picture.
    swing_limit_ticks: u32,
    /// What the shutter was told to be at the end of the last ticks, newest first.
    told_open: [bool; 3],
    contradiction_ticks: u32,
}

/// A frame whose exposure has begun.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct OpenFrame {
    pub began_counts: i32,
    pub began_tick: u32,
    pub speed_step: u16,
    pub doubtful: bool,
}

impl Sequencer {
    /// Frames are counted on from here after a reset, and a shutter that had contradicted its command still bars the
    /// camera.
    pub fn go_on_from(&mut self, frame: u32, shutter_fault: bool) {
        self.status.frame = frame;
        self.status.shutter_fault = shutter_fault;
    }

    /// The shutter has been shut from outside at `tick`: a frame under way is cut short, and the camera goes on with the
    /// next as soon as it can, if it is still on then.
    pub fn shutter_is_shut(&mut self, tick: u32, metered_counts: i32) -> Option<FrameMark> {
        self.remember(Edges::CLOSE);
        if self.status.phase != Phase::Exposing {
            return None;
        }
        self.open_left_us = 0;
        let next = if self.settings.kind == 0 { Phase::RunUp } else { Phase::Releasing };
        self.enter(if self.status.waits_for_off { Phase::RunDown } else { next }, tick);
        self.end_frame(tick, metered_counts, false)
    }

    /// Whether these are the settings it works with.
    pub fn works_with(&self, settings: &CameraSettings) -> bool {
        self.settings == *settings
    }

    /// A sequencer with the camera off. Lengths are turned into counts of this film's roller.
    pub fn new(camera: &CameraSettings, film: &FilmSettings) -> Self {
        let counts = |length_m: f32| ((length_m / film.count_m()) as i32).max(1);
        Self {
            settings: *camera,
            frame_counts: counts(camera.frame_length_m),
            footage_counts: counts(camera.footage_limit_m),
            status: ExposureStatus::default(),
            on_tick: 0,
            ahead_ticks: 0,
            on_counts: 0,
            phase_tick: 0,
            frame: None,
            slit: 0,
            invalid_ticks: 0,
            pace_tick: 0,
            open_left_us: 0,
            sweep_before_rad: 0.0,
            swing_limit_ticks: super::sweep::swing_limit_ticks(camera),
            told_open: [false; 3],
            contradiction_ticks: 0,
        }
    }

    /// What it says about itself, as of the last step.
    pub fn status(&self) -> &ExposureStatus {
        &self.status
    }

    /// The ground has seen the shutter's fault.
    pub fn acknowledge(&mut self) {
        self.status.shutter_fault = false;
        self.contradiction_ticks = 0;
    }

    /// One base tick. Whatever comes in, the shutter is shut in any tick that does not belong to an
    /// exposure, and a camera-off shuts it at once (strip) or when the picture's time is up (framing).
    pub fn step(&mut self, input: &Input) -> Output {
        self.watch_shutter(input);
        if !input.camera_commanded_on {
            self.status.waits_for_off = false;
        }
        if self.status.phase == Phase::Off {
            self.come_on(input);
        } else if self.status.phase != Phase::RunDown
            && let Some(ending) = self.reason_to_end(input)
        {
            self.status.ending = ending;
            self.status.waits_for_off = input.camera_commanded_on;
            // Only a framing exposure under way is worth the milliseconds that finish it.
            let finish = self.status.phase == Phase::Exposing
                && self.settings.kind == 1
                && !matches!(ending, Ending::FilmStopped | Ending::Shutter);
            if !finish {
                return self.go_off(input);
            }
        }
        let mut output = match self.status.phase {
            Phase::Off => Output { clamp: true, ..Output::default() },
            Phase::RunDown => self.run_down(input),
            _ if self.settings.kind == 1 => self.step_frame(input),
            _ if self.settings.kind == 2 => self.step_sweep(input),
            _ => self.step_strip(input),
        };
        if self.status.phase != Phase::Exposing && output.shutter == Edges::NONE {
            output.shutter = Edges::CLOSE;
        }
        output.slit = self.slit;
        if self.settings.kind == 2 {
            self.send_home(input, &mut output);
        }
        self.remember(output.shutter);
        output
    }

    fn come_on(&mut self, input: &Input) {
        let wanted = input.camera_commanded_on && !self.status.waits_for_off;
        if !(wanted && input.allowed && self.reason_to_end(input).is_none()) {
            return;
        }
        self.on_tick = input.tick;
        self.ahead_ticks = input.not_before.saturating_sub(input.tick).min(self.settings.lead_ticks);
        self.on_counts = input.film.metered_counts;
        self.invalid_ticks = 0;
        self.pace_tick = input.tick;
        let speed_m_s = f32::from(input.speed_step) * self.settings.speed_step_m_s;
        self.slit = match (input.slit, self.settings.kind) {
            (super::types::ANY_SLIT, 0) => self.settings.best_slit(speed_m_s),
            (super::types::ANY_SLIT, 2) => self.settings.best_slit(self.settings.sweep_film_m_s),
            (slit, _) => slit,
        };
        self.enter(if self.settings.kind == 0 { Phase::RunUp } else { Phase::Ready }, input.tick);
    }

    /// Whether a camera that is on, or would come on, has to end now.
    fn reason_to_end(&self, input: &Input) -> Option<Ending> {
        let step = u32::from(input.speed_step);
        let on = self.status.phase != Phase::Off;
        // The limit is that of a load's camera-on, which begins where it is commanded.
        let longest_ticks = self.settings.on_limit_ticks.saturating_add(self.ahead_ticks);
        let reasons = [
            (!input.camera_commanded_on, Ending::Commanded),
            (!input.allowed, Ending::NotAllowed),
            (input.film.state == State::Stopped, Ending::FilmStopped),
            (self.status.shutter_fault, Ending::Shutter),
            (input.film.reserve_reached, Ending::Reserve),
            (step < self.settings.speed_step_min || step > self.settings.speed_step_max, Ending::BadSpeed),
            (on && input.tick.wrapping_sub(self.on_tick) > longest_ticks, Ending::TooLong),
            (on && input.film.metered_counts.wrapping_sub(self.on_counts) > self.footage_counts, Ending::TooMuchFilm),
            (on && self.film_never_came(input), Ending::NoValidFilm),
            (on && self.invalid_ticks > self.settings.invalid_ticks, Ending::LostFilm),
            (self.swings() && self.waited(input.tick) > self.swing_limit_ticks, Ending::Sweep),
        ];
        reasons.iter().find(|(stands, _)| *stands).map(|(_, ending)| *ending)
    }

    fn swings(&self) -> bool {
        let swinging = matches!(self.status.phase, Phase::Settling | Phase::Swinging | Phase::Exposing);
        self.settings.kind == 2 && swinging
    }

    fn film_never_came(&self, input: &Input) -> bool {
        let waiting = matches!(self.status.phase, Phase::RunUp | Phase::Ready | Phase::Advancing);
        // Film that is valid and only waits for its time has come.
        let valid = input.film.valid && self.status.phase != Phase::Advancing;
        waiting && !valid && self.waited(input.tick) > self.settings.run_up_limit_ticks
    }

    pub(super) fn enter(&mut self, phase: Phase, tick: u32) {
        self.status.phase = phase;
        self.phase_tick = tick;
    }

    /// Moves on without starting the phase's time anew: a swing's limit counts from its start.
    pub(super) fn enter_keeping_time(&mut self, phase: Phase) {
        self.status.phase = phase;
    }

    /// Ticks since the phase was entered.
    pub(super) fn waited(&self, tick: u32) -> u32 {
        tick.wrapping_sub(self.phase_tick)
    }

    /// Begins a frame and gives it the next number.
    pub(super) fn begin_frame(&mut self, input: &Input) {
        self.status.frame = self.status.frame.saturating_add(1);
        self.frame = Some(OpenFrame {
            began_counts: input.film.metered_counts,
            began_tick: input.tick,
            speed_step: input.speed_step,
            doubtful: !input.film.valid || input.film.disagreement,
        });
    }

    /// Ends the frame under way, if there is one.
    pub(super) fn end_frame(&mut self, ended_tick: u32, ended_counts: i32, whole: bool) -> Option<FrameMark> {
        let frame = self.frame.take()?;
        let outcome = match (whole, frame.doubtful) {
            (false, _) => Outcome::CutShort,
            (true, true) => Outcome::Doubtful,
            (true, false) => Outcome::Good,
        };
        let tally = if whole { &mut self.status.whole } else { &mut self.status.cut_short };
        *tally = tally.saturating_add(1);
        Some(FrameMark {
            number: self.status.frame,
            began_counts: frame.began_counts,
            began_tick: frame.began_tick,
            ended_counts,
            ended_tick,
            speed_step: frame.speed_step,
            outcome,
        })
    }

    /// Shuts the shutter, marks a frame under way as cut short, and lets film come to rest.
    pub(super) fn go_off(&mut self, input: &Input) -> Output {
        let frame_event = self.end_frame(input.tick, input.film.metered_counts, false);
        self.open_left_us = 0;
        self.enter(Phase::RunDown, input.tick);
        let output = Output { shutter: Edges::CLOSE, slit: self.slit, frame_event, ..Output::default() };
        self.remember(output.shutter);
        output
    }

    fn run_down(&mut self, input: &Input) -> Output {
        let at_rest = matches!(input.film.state, State::Braked | State::Stopped);
        if at_rest && self.waited(input.tick) > 1 {
            self.enter(Phase::Off, input.tick);
        }
        Output::default()
    }

    fn remember(&mut self, edges: Edges) {
        let [now, before, _] = self.told_open;
        let next = match (edges.open_us, edges.close_us) {
            (Some(open), Some(close)) => open > close,
            (Some(_), None) => true,
            (None, Some(_)) => false,
            (None, None) => now,
        };
        self.told_open = [next, now, before];
    }

    /// Compares the light sensor with what the shutter was told. The sensor shows the end of the last
    /// tick, in which the edges of the step before last were at work.
    fn watch_shutter(&mut self, input: &Input) {
        let [newest, told, older] = self.told_open;
        let settled = newest == told && told == older;
        let against = settled && input.shutter_open != told;
        self.contradiction_ticks = if against {
            self.contradiction_ticks.saturating_add(1)
        } else if settled {
            0
        } else {
            self.contradiction_ticks
        };
        if self.contradiction_ticks >= self.settings.shutter_ticks {
            self.status.shutter_fault = true;
        }
    }

    /// Asks for film at the programme's speed.
    pub(super) fn run_at(&self, speed_step: u16) -> Demand {
        Demand::Run { speed_m_s: f32::from(speed_step) * self.settings.speed_step_m_s }
    }
}
