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
    Board::over(Opened { line: Box::new(line), patience: Duration::ZERO, cost_unit: "ns", log: None })
}

/// Compares a generated page of the handbook with the published one; with STILLFRAME_BLESS set, writes it.
fn assert_published(name: &str, now: &str) {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("../docs/src").join(name);
    if std::env::var_os("STILLFRAME_BLESS").is_some() {
        std::fs::write(&path, now).expect("written");
    }
    let published = std::fs::read_to_string(&path).unwrap_or_default();
    assert!(
        published == now,
        "docs/src/{name} is out of date; run this test once with STILLFRAME_BLESS=1 and look at the change. If the \
         link's bytes have changed, raise VERSION in firmware/wire/src/message.rs first"
    );
}

fn order(out: &Path) -> Order {
    let options = Options { seed: 1, out: out.to_path_buf(), full_record: false, created: jiff::Timestamp::UNIX_EPOCH };
    Order { options, around: 10, wiring: Wiring::default(), stream: None }
}
