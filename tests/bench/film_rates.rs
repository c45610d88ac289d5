//! What `film.parquet` of a bench run holds is enough to verify advance rates from the board's own data.

use crate::{edge, order, over};
use parquet::{
    file::reader::{FileReader, SerializedFileReader},
    record::RowAccessor,
};
use std::fs::File;
use stillframe_hil::{line::stand_in::StandIn, lockstep};

/// Ticks over which counts are turned into a rate: a second.
const WINDOW: usize = 100;

#[test]
fn advance_rates_follow_from_the_counts_that_the_board_was_given() {
    let folder = tempfile::tempdir().unwrap();
    lockstep::fly(&mut over(StandIn::new()), &edge(7_200), &order(folder.path()), &mut |_, _| {}).unwrap();
    let file = SerializedFileReader::new(File::open(folder.path().join("film.parquet")).unwrap()).unwrap();
    let metadata = file.metadata().file_metadata().key_value_metadata().unwrap();
    let number = |key: &str| -> f64 {
        let entry = metadata.iter().find(|entry| entry.key == key).unwrap_or_else(|| panic!("no {key}"));
        entry.value.as_ref().unwrap().parse().unwrap()
    };
    let (count_m, step_m_s) = (number("stillframe.film_count_m"), number("stillframe.speed_step_m_s"));
    let rows: Vec<_> = file.get_row_iter(None).unwrap().map(Result::unwrap).collect();
    let ticks: Vec<(u32, u32, u32, bool)> = rows
        .iter()
        .map(|row| {
            (row.get_uint(1).unwrap(), row.get_uint(2).unwrap(), row.get_uint(5).unwrap(), row.get_bool(7).unwrap())
        })
        .collect();
    let mut judged = 0;
    for window in ticks.windows(WINDOW + 1) {
        let (first, last) = (window[0], window[WINDOW]);
        let whole = last.0 - first.0 == WINDOW as u32;
        let steady = window.iter().all(|tick| tick.3 && tick.2 == first.2);
        if whole && steady {
            let reached_m_s = f64::from(last.1.wrapping_sub(first.1)) * count_m;
            let wanted_m_s = f64::from(first.2) * step_m_s;
            // The loop holds film to a few parts in a thousand; a count at either end is a ten-thousandth.
            assert!((reached_m_s / wanted_m_s - 1.0).abs() < 5e-3, "tick {}: {reached_m_s} for {wanted_m_s}", first.0);
            judged += 1;
        }
    }
    assert!(judged > 500, "only {judged} seconds of exposure could be judged in {} rows", ticks.len());
    // Only while film runs, and every tick of it.
    assert!(ticks.len() < 7_200 && ticks.iter().any(|tick| tick.3));
    assert!(ticks.windows(2).any(|pair| pair[1].0 - pair[0].0 == 1));
}
