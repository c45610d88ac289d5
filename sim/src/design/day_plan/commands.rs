//! Flown bursts as commands of a scenario.

use crate::{
    passes::plan::bursts::Burst,
    scenario::{
        Scenario,
        parts::{
            command::{Action, CameraOn, Command, CommandTime, Slit},
            time::Utc,
        },
        read::tagged::Tagged,
    },
};
use jiff::SignedDuration;

/// The instant a burst begins, to the tenth of a second that it was rounded to.
pub fn instant(start: Utc, time_s: f64) -> Utc {
    let tenths = (time_s * 10.0).round() as i64;
    Utc(start.0.checked_add(SignedDuration::from_millis(tenths * 100)).unwrap_or(start.0))
}

fn command(start: Utc, burst: &Burst) -> Command {
    let camera =
        CameraOn { for_s: (burst.duration_s() * 10.0).round() / 10.0, slit: Slit::Auto, interval_s: burst.interval_s };
    Tagged {
        common: CommandTime { utc: Some(instant(start, burst.on_s)), after_start_s: None },
        kind: Action::Camera(camera),
    }
}

/// Commands that stay and those of the plan, in order of time.
pub fn programme<'a>(scenario: &Scenario, flown: impl Iterator<Item = &'a Burst>) -> Vec<Command> {
    let start = scenario.run.start;
    let mut commands = scenario.commands.clone();
    commands.extend(flown.map(|burst| command(start, burst)));
    commands.sort_by(|a, b| a.start_s(start).total_cmp(&b.start_s(start)));
    commands
}
