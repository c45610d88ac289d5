//! The bench against a stand-in for the board, and against the image in the emulator where both are there.

mod emulator;
mod faults;
mod film_rates;
mod lines;
mod link_bytes;
mod lockstep;
mod packets;
mod phasing;
mod replay;
mod schema;
mod versions;

use std::{path::Path, time::Duration};
use stillframe::{flight::Options, scenario::Loaded};
use stillframe_hil::{
    board::Board,
    line::{Line, Opened},
    lockstep::Order,
    scenario,
    wiring::Wiring,
};

/// The short flight, cut to so many ticks.
fn edge(ticks: u64) -> Loaded {
    let mut loaded = scenario::edge().expect("the built-in scenario is good");
    scenario::cut(&mut loaded, ticks);
    loaded
}

/// A board at the end of a line in this process.
fn over(line: impl Line + 'static) -> Board {
    Board::over(Opened { line: Box::new(line), patience: Duration::ZERO, cost_unit: "ns" })
}

fn order(out: &Path) -> Order {
    let options = Options { seed: 1, out: out.to_path_buf(), full_record: false, created: jiff::Timestamp::UNIX_EPOCH };
    Order { options, around: 10, wiring: Wiring::default(), stream: None }
}
