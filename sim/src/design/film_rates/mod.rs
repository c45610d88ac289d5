//! Verifying film advance rates against the motion-compensation rate, over a whole mission.
//!
//! In the order of the work:
//!
//! 1. `mission`: the true orbit over its whole life, and what the ground predicts for each load;
//! 2. `table`: the best stored rate programme for each load, under the drive's and the store's limits;
//! 3. `points`: required, commanded and their difference at every point, with exposure and crab;
//! 4. `drive`: the flight code's own programme, sequencer and film transport on the simulated drive, run by run;
//! 5. `samples`: errors of what film did, as statistics by day, latitude and height;
//! 6. `cycle` (framing cameras), `blunders` (what is easily left out), `relief`;
//! 7. [`from_record`]: a flight's or a board's record in place of the simulated drive, by the same ruler;
//! 8. [`summary`] for programs, `page` for people.
//!
//! Everywhere: rate error = film speed ÷ required speed − 1; smear = speed difference × exposure time.

mod blunders;
mod cycle;
mod drive;
pub mod from_record;
mod mission;
mod page;
mod plots;
mod points;
mod runs;
mod samples;
mod screen;
mod study;
pub mod summary;
mod sums;
mod table;
mod worst;

pub use drive::{Run, RunPlan, run};
pub use mission::Mission;
pub use page::write_folder;
pub use points::{Point, points};
pub use samples::{Sample, Spread, spread};
pub use screen::screen;
pub use study::{FilmRatesError, Study, study};
pub use table::{Table, Tables, tables};

/// What may be left out, to see what it costs: the classic blunders.
#[derive(Clone, Copy, Debug, Eq, PartialEq)]
pub enum Blunder {
    /// The programme forgets that the camera turns with the orbit: inertial speed over height.
    OrbitalRate,
    /// The vehicle is not yawed into the track of the ground.
    Crab,
    /// Film runs against the image.
    Direction,
}

/// For which part of the orbit rates are stored.
#[derive(Clone, Copy, Debug, Eq, PartialEq)]
pub enum Cover {
    /// All of it: the camera may come on anywhere.
    All,
    /// Where the Sun stands at least [`LOWEST_SUN_RAD`] high.
    Lit,
}

/// Lowest Sun that is still photographed by when only the lit part is covered, rad: 5°.
pub const LOWEST_SUN_RAD: f64 = 5.0 * std::f64::consts::PI / 180.0;

/// Limits that the rates are judged by.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Budget {
    /// Total rate error, 3σ (not exceeded by 99.73 % of the samples): 1 %, common practice for exposures of
    /// milliseconds.
    pub rate: f64,
    /// Spacing of the drive's speeds: 0.5 %, common practice.
    pub step: f64,
    /// Wow and flutter together, 3σ: 0.5 %, common practice.
    pub wow: f64,
    /// Time to valid film, s.
    pub start_up_s: f64,
    /// Exposure off its wanted value, stops: half a stop, common practice.
    pub stops: f64,
}

impl Default for Budget {
    fn default() -> Self {
        Self { rate: 0.01, step: 0.005, wow: 0.005, start_up_s: 1.0, stops: 0.5 }
    }
}

/// What is to be looked at, and how closely.
#[derive(Clone, Copy, Debug)]
pub struct Options {
    /// Length of the mission, s.
    pub duration_s: f64,
    /// Time from one load to the next, s.
    pub load_every_s: f64,
    /// Part of the orbit for which rates are stored.
    pub cover: Cover,
    /// Roll and pitch of the line of sight, rad.
    pub tilt_rad: [f64; 2],
    /// Band of terrain about the height programmed for, ± m; reported apart.
    pub relief_m: f64,
    /// What the on-board clock gains in a day between two correlations, s.
    pub clock_s_per_day: f64,
    /// What the air's density may be wrong by in the ground's prediction, as a share: the fit allows for it.
    pub density_error: f64,
    /// Spacing of the points looked at, s.
    pub every_s: f64,
    /// Runs of the simulated drive in each revolution.
    pub runs_per_revolution: u32,
    /// Length of a run, s.
    pub run_s: f64,
    /// What is left out.
    pub blunder: Option<Blunder>,
    /// Limits.
    pub budget: Budget,
}

impl Default for Options {
    /// Six days with a load every four hours. Clock: 0.1 s a day, density ±15 % (common practice).
    fn default() -> Self {
        Self {
            duration_s: 6.0 * 86_400.0,
            load_every_s: 4.0 * 3600.0,
            cover: Cover::All,
            tilt_rad: [0.0; 2],
            relief_m: 1500.0,
            clock_s_per_day: 0.1,
            density_error: 0.15,
            every_s: 10.0,
            runs_per_revolution: 24,
            run_s: 12.0,
            blunder: None,
            budget: Budget::default(),
        }
    }
}
