//! Watches over the moving film: each wants its sign for several ticks before it speaks.

use super::meter::Meter;
use super::reels::Reel;
use super::settings::FilmSettings;
use super::status::Fault;
use crate::io::TICK_S;
use crate::math;

/// Ticks over which reels are asked whether they move.
const LOOK_BACK: usize = 10;
/// The same for film under a turning roller, which must be told from coarse reel counts.
const LONG_LOOK_BACK: usize = 15;

/// Ticks over which the loops are asked whether they move apart.
const LOOP_LOOK_BACK: usize = 6;
/// Share of the way that film held in the gate would move each arm by which it is taken to be held.
const HELD_SHARE: f32 = 0.25;

/// Counters of the watches.
#[derive(Clone, Debug, Default, PartialEq)]
pub(crate) struct Watch {
    still_ticks: u32,
    sliding_ticks: u32,
    current_ticks: u32,
    caught_ticks: u32,
    runaway_ticks: u32,
    slack_ticks: [u32; 2],
    tight_ticks: [u32; 2],
    bad_ticks: u32,
}

/// What the watches look at.
pub(crate) struct Seen<'a> {
    pub settings: &'a FilmSettings,
    pub meter: &'a Meter,
    /// Supply and take-up.
    pub reels: [&'a Reel; 2],
    pub arms_m: [f32; 2],
    pub current_a: f32,
    /// Speed asked of the roller, m/s.
    pub asked_m_s: f32,
    pub count_m: f32,
    /// The film counted has come near the end of the load, or the supply reel is down to its core.
    pub near_end: bool,
    /// The loops are still being put in order.
    pub readying: bool,
    /// A gauge gave nonsense in this tick.
    pub bad: bool,
}

impl Watch {
    /// Starts afresh.
    pub fn clear(&mut self) {
        *self = Self::default();
    }

    /// Looks at one tick with the brakes off; the first fault that has lasted long enough, if any.
    pub fn look(&mut self, seen: &Seen) -> Option<Fault> {
        let settings = seen.settings;
        if lasts(&mut self.bad_ticks, seen.bad, settings.invalid_ticks) {
            return Some(Fault::Gauges);
        }
        let moved_m_s = seen.meter.gained(3) as f32 * seen.count_m / (3.0 * TICK_S);
        let runs_away = moved_m_s - seen.asked_m_s > settings.runaway_m_s;
        // A slack loop lets the other one snatch at the roller as the brakes let go, for a few ticks.
        let patience = if seen.readying { 3 * settings.runaway_ticks } else { settings.runaway_ticks };
        if lasts(&mut self.runaway_ticks, runs_away, patience) {
            return Some(Fault::Runaway);
        }
        if let Some(fault) = self.look_at_loops(seen) {
            return Some(fault);
        }
        let too_much = math::abs(seen.current_a) > settings.stuck_current_a;
        let overdrawn = lasts(&mut self.current_ticks, too_much, settings.stuck_ticks);
        let still = seen.asked_m_s > settings.stuck_speed_m_s && moved_m_s < settings.stuck_share * seen.asked_m_s;
        let stuck = lasts(&mut self.still_ticks, still, settings.stuck_ticks);
        let sliding = lasts(&mut self.sliding_ticks, slides(seen), settings.stuck_ticks);
        let caught = lasts(&mut self.caught_ticks, caught(seen), settings.slide_ticks);
        if !(overdrawn || stuck || sliding || caught) {
            return None;
        }
        // Both sides show film passing the roller while nothing is counted: the counter is dead, not the
        // film.
        let expected_m = 0.4 * seen.asked_m_s * LOOK_BACK as f32 * TICK_S;
        let passes = seen.reels.iter().all(|reel| reel.passed_m(LOOK_BACK, settings) > expected_m);
        Some(if stuck && passes { Fault::CounterDead } else { Fault::Stuck })
    }

    /// Whether the supply's loop has filled under the brakes: its reel has turned by itself.
    pub fn overruns_at_rest(&mut self, supply_arm_m: f32, settings: &FilmSettings) -> bool {
        let limit_m = settings.arm_limit_share * settings.arm_travel_m;
        let [supply, _] = &mut self.slack_ticks;
        lasts(supply, supply_arm_m > limit_m, settings.limit_ticks)
    }

    fn look_at_loops(&mut self, seen: &Seen) -> Option<Fault> {
        let settings = seen.settings;
        let limit_m = settings.arm_limit_share * settings.arm_travel_m;
        let roller_m = seen.meter.gained(LOOK_BACK as u32) as f32 * seen.count_m;
        let sides = seen.arms_m.iter().zip(seen.reels).zip(self.slack_ticks.iter_mut().zip(&mut self.tight_ticks));
        for (side, ((arm_m, reel), (slack, tight))) in sides.enumerate() {
            if lasts(tight, *arm_m < -limit_m, settings.limit_ticks) {
                return Some(Fault::Tight);
            }
            if !lasts(slack, *arm_m > limit_m, settings.limit_ticks) {
                continue;
            }
            // Film left this loop faster than it came in, by reel and roller, and yet the loop is slack.
            let reel_m = reel.gave_m(LOOK_BACK, settings);
            let drawn_m = if side == 0 { roller_m - reel_m } else { reel_m - roller_m };
            let coarse_m = 3.0 * reel.count_m(settings);
            return Some(match (drawn_m > coarse_m, side) {
                (_, 0) if seen.near_end => Fault::Empty,
                (true, _) => Fault::Broken,
                (false, 0) => Fault::Overrun,
                (false, _) => Fault::Slack,
            });
        }
        None
    }
}

/// Whether film is held in the gate while the roller slides on under it: the roller draws more than film on its
/// way ever needs, the supply's loop fills and the take-up's empties. Reels are too coarse to say so this soon.
fn caught(seen: &Seen) -> bool {
    let settings = seen.settings;
    let least_m = 0.5 * HELD_SHARE * seen.asked_m_s * LOOP_LOOK_BACK as f32 * TICK_S;
    let [supply, take_up] = seen.reels;
    seen.asked_m_s > settings.stuck_speed_m_s
        && math::abs(seen.current_a) > settings.slide_current_a
        && supply.arm_moved_m(LOOP_LOOK_BACK) > least_m
        && -take_up.arm_moved_m(LOOP_LOOK_BACK) > least_m
}

/// Whether neither side shows a good part of the film that the roller counts. Says nothing before that is
/// several of the reels' coarse counts.
fn slides(seen: &Seen) -> bool {
    let counted_m = seen.meter.gained(LONG_LOOK_BACK as u32) as f32 * seen.count_m;
    seen.reels.iter().all(|reel| {
        counted_m > 4.0 * reel.count_m(seen.settings)
            && reel.passed_m(LONG_LOOK_BACK, seen.settings) < seen.settings.stuck_share * counted_m
    })
}

/// Counts ticks that `sign` has stood; true once they are `enough`.
fn lasts(ticks: &mut u32, sign: bool, enough: u32) -> bool {
    *ticks = if sign { ticks.saturating_add(1) } else { 0 };
    *ticks >= enough
}
