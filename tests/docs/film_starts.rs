//! The handbook's table of film start-ups, from the flights that the test of them makes.

use std::fmt::Write;

use super::assert_published;
use super::film_start::{WOUND_M, measured, threaded_the_other_way, waiting};

const HEADING: &str = "# Film start-ups as flown\n\nMade by `tests/docs/film_starts.rs`, which flies each line; the test keeps it so. \
One pass of 30 s of the strip demonstration, at three states of the supply; everything from truth. *Valid* counts from brakes off; \
tension is the least and the greatest in either loop from brakes off to brakes on. The kick is what the reels' momentum makes of \
the vehicle's pitch rate by conservation; what is left of it is the mean pitch rate error over all exposures. Pulses are those of \
any jet from *film valid* to the last exposure.\n\n\
| supply | kick | film valid after, s | shutter opens later by, s | tension, N | kick, °/s | left of it, °/s | pitch pulses | frames |\n\
| --- | --- | --- | --- | --- | --- | --- | --- | --- |\n";

#[test]
fn start_ups_are_what_the_handbook_says() {
    let mut table = HEADING.to_owned();
    let mut line = |supply: &str, how: &str, rig| {
        let start = measured(rig);
        let _ = writeln!(
            table,
            "| {supply} | {how} | {:.2} | {:.2} | {:.2} to {:.2} | {:+.4} | {:+.4} | {} | {} |",
            start.valid_s,
            start.early_s,
            start.tension_n.0,
            start.tension_n.1,
            start.kick_deg_s,
            start.left_deg_s,
            start.pulses,
            start.frames
        );
    };
    for (supply, wound_m) in ["full", "half", "empty"].into_iter().zip(WOUND_M) {
        line(supply, "fed forward", waiting(wound_m, true, ""));
        line(supply, "left to the gyros", waiting(wound_m, false, ""));
    }
    line("full", "fed forward, reels turning the other way", threaded_the_other_way(WOUND_M[0]));
    assert_published("film-starts.md", &table);
}
