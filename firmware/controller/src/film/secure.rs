//! Cut and seal, before the capsule goes home: the last thing the film does.
//!
//! Film is led on until the last picture lies well inside the take-up reel, comes to rest under its brakes, and
//! is cut. The reel then winds in the tail that hangs loose between knife and reel, by its own counter, while
//! supply and roller are held; only then is the film's way into the capsule shut. From the cut on nothing turns
//! back: whatever is asked, the sequence goes on to its end, and no film is moved any more. Film that has been
//! stopped by a fault is not led; what has been wound by then is saved as it is.

use super::reels::{End, Reel};
use super::status::{Demand, State};
use super::transport::Transport;
use crate::io::FilmDrive;
use crate::math;

impl Transport {
    /// Whether the sequence is past the point from which nothing turns back.
    pub(super) fn cut_begun(&self) -> bool {
        matches!(self.status.state, State::Cutting | State::Tailing | State::Sealing | State::Secured)
    }

    /// Moves on in the sequence, once the film is at rest and asked to be secured.
    pub(super) fn secure(&mut self, demand: Demand) {
        let settings = self.settings;
        let waited = |ticks: u32| self.ticks_in_state > ticks;
        match self.status.state {
            State::Braked if demand == Demand::Secure && self.led => self.enter(State::Cutting),
            State::Stopped if demand == Demand::Secure => self.enter(State::Cutting),
            State::Cutting if waited(settings.cut_ticks) => {
                self.reference.rest_at(self.meter.counts);
                self.supply.relax();
                self.tail_from = self.take_up.counts();
                self.enter(State::Tailing);
            }
            State::Tailing => {
                let wound_m = self.take_up.wound_since_m(self.tail_from, &settings);
                if wound_m > settings.tail_length_m || waited(settings.tail_limit_ticks) {
                    self.enter(State::Sealing);
                }
            }
            State::Sealing if waited(settings.seal_ticks) => self.enter(State::Secured),
            _ => {}
        }
    }

    /// What the motors do while the tail is wound in: supply and roller hold, the take-up turns free of tension.
    pub(super) fn wind_tail(&mut self) -> FilmDrive {
        let [supply_m, _] = self.arms_m;
        let lag_m = self.reference.lag_m(self.meter.counts, self.count_m);
        FilmDrive {
            roller_duty: self.roller.duty(&self.settings, lag_m, 0.0, 0.0),
            supply_duty: self.supply.duty(&self.settings, supply_m, 0.0, 0.0),
            take_up_duty: self.take_up.free_duty(&self.settings, self.settings.tail_speed_m_s),
            brake: false,
            clamp: false,
            ..FilmDrive::REST
        }
    }

    /// Motors off and brakes on, with knife and closure as the sequence has them.
    pub(super) fn braked_drive(&self) -> FilmDrive {
        FilmDrive {
            cut: self.status.state == State::Cutting,
            seal: self.status.state == State::Sealing,
            ..FilmDrive::REST
        }
    }
}

impl Reel {
    /// Film that the reel has wound since its counter stood at `from`, m.
    fn wound_since_m(&self, from: i32, settings: &super::FilmSettings) -> f32 {
        self.counts().wrapping_sub(from) as f32 * self.count_m(settings)
    }

    /// Duty that turns the reel at a film speed with nothing pulling at it.
    fn free_duty(&self, settings: &super::FilmSettings, speed_m_s: f32) -> f32 {
        let drag_nm = match self.end() {
            End::Supply => 0.0,
            End::TakeUp => settings.reel_drag_nm,
        };
        let volts = settings.reel_constant_nm_a * speed_m_s / self.radius_m
            + settings.reel_resistance_ohm / settings.reel_constant_nm_a * drag_nm;
        math::clamp(volts / settings.bus_v, -1.0, 1.0)
    }
}
