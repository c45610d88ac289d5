//! Real time: the board's own timer makes the ticks, and steps are taken with what has come by then.

use crate::server::LINK_LOSS_TICKS;
use stillframe_controller::io::Sensors;

/// Base ticks in a row that may go by with held sensors: as many as without any step. Beyond, outputs go safe until
/// a step comes.
pub const HELD_TICKS: u32 = LINK_LOSS_TICKS;

/// The newest step, and what to do when none has come.
#[derive(Clone, Debug, Default)]
pub struct Pacer {
    newest: Option<(u32, Sensors)>,
    fresh: bool,
    held: u32,
    /// Tick of the step before: the board's own count, which never stands still or goes back.
    tick: Option<u32>,
}

impl Pacer {
    /// Nothing has come yet.
    pub const fn new() -> Self {
        Self { newest: None, fresh: false, held: 0, tick: None }
    }

    /// Takes a step that has come. One that is older than the newest, or the same, changes nothing.
    pub fn take(&mut self, sequence: u32, sensors: &Sensors) {
        let newer = self.newest.as_ref().is_none_or(|(newest, _)| sequence.wrapping_sub(*newest) as i32 > 0);
        if newer {
            self.newest = Some((sequence, sensors.clone()));
            self.fresh = true;
        }
    }

    /// What the controller gets at a tick: the newest sensors, or those of before without the bytes of the radio,
    /// which came once. The tick's number is the board's own. `None` before the first step and when too many are
    /// missing.
    pub fn at_tick(&mut self) -> Option<(u32, Sensors)> {
        let fresh = core::mem::take(&mut self.fresh);
        // Before the first step, too: a link that is dead from the beginning is lost as any other.
        self.held = if fresh { 0 } else { self.held.saturating_add(1) };
        let (sequence, mut sensors) = self.newest.clone()?;
        if !fresh {
            sensors.uplink.clear();
        }
        let tick = self.tick.map_or(sensors.tick, |tick| tick.wrapping_add(1));
        self.tick = Some(tick);
        sensors.tick = tick;
        (self.held <= HELD_TICKS).then_some((sequence, sensors))
    }

    /// Just too many ticks have gone by without a step.
    pub fn just_lost(&self) -> bool {
        self.held == HELD_TICKS + 1
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use stillframe_controller::io::{FilmSample, HorizonSample, OrdnanceSample, TankSample};

    fn sensors(tick: u32) -> Sensors {
        Sensors {
            tick,
            gyro_rad_s: [tick as f32, 0.0, 0.0],
            horizon: HorizonSample::default(),
            tank: TankSample::default(),
            film: FilmSample::default(),
            uplink: heapless::Vec::from_slice(&[1, 2]).unwrap(),
            separated: true,
            ordnance: OrdnanceSample::default(),
        }
    }

    #[test]
    fn sensors_are_held_over_lost_steps_and_the_clock_goes_on() {
        let mut pacer = Pacer::new();
        assert_eq!(pacer.at_tick(), None);
        pacer.take(0, &sensors(500));
        assert_eq!(pacer.at_tick(), Some((0, sensors(500))));
        let (sequence, held) = pacer.at_tick().unwrap();
        assert_eq!((sequence, held.tick, held.gyro_rad_s[0], held.uplink.len()), (0, 501, 500.0, 0));
        // A late step is taken as the newest, an old or repeated one is not.
        pacer.take(2, &sensors(502));
        pacer.take(1, &sensors(501));
        pacer.take(2, &sensors(9));
        assert_eq!(pacer.at_tick(), Some((2, sensors(502))));
    }

    #[test]
    fn a_step_that_never_comes_is_missed_as_one_that_comes_no_more() {
        let mut pacer = Pacer::new();
        for _ in 0..HELD_TICKS {
            assert_eq!((pacer.at_tick(), pacer.just_lost()), (None, false));
        }
        assert_eq!((pacer.at_tick(), pacer.just_lost()), (None, true));
        assert_eq!((pacer.at_tick(), pacer.just_lost()), (None, false));
        pacer.take(0, &sensors(500));
        assert_eq!(pacer.at_tick(), Some((0, sensors(500))));
    }

    #[test]
    fn beyond_the_limit_there_is_no_step_until_one_comes() {
        let mut pacer = Pacer::new();
        pacer.take(u32::MAX, &sensors(0));
        for _ in 0..=HELD_TICKS {
            assert!(pacer.at_tick().is_some());
        }
        assert_eq!((pacer.at_tick(), pacer.just_lost()), (None, true));
        assert_eq!((pacer.at_tick(), pacer.just_lost()), (None, false));
        // Sequence numbers wrap; the clock has gone on all the while.
        pacer.take(0, &sensors(77));
        assert_eq!(pacer.at_tick().map(|(sequence, sensors)| (sequence, sensors.tick)), Some((0, HELD_TICKS + 3)));
    }
}
