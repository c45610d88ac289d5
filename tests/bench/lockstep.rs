//! Lockstep: equal where it should be, and the first difference named where not.

use crate::{edge, order, over};
use std::{collections::VecDeque, io, process::ExitCode, time::Duration};
use stillframe_controller::io::{ATTITUDE_TICKS, TICKS_PER_S};
use stillframe_hil::{
    cli,
    line::{Line, stand_in::StandIn},
    lockstep,
};
use stillframe_wire::{FromBoard, Unframer, frame};

/// The done-when of the bench: at least 3,000 ticks in which frames are exposed, bit-equal to the desk.
#[test]
fn the_short_flight_exposes_and_is_equal_to_the_bit() {
    let folder = tempfile::tempdir().unwrap();
    let mut board = over(StandIn::new());
    let outcome = lockstep::fly(&mut board, &edge(3_000), &order(folder.path()), &mut |_, _| {}).unwrap();
    assert_eq!((outcome.ticks, outcome.found.is_none()), (3_000, true));
    let summary = outcome.flown.expect("flown to its end").summary;
    assert!(summary.frames.met >= 10, "{} frames met", summary.frames.met);
    assert_eq!(board.stats().unwrap().steps, 3_000);
    let cost = outcome.costs.numbers("ns");
    let count = |spread: Option<stillframe_hil::cost::SpreadNumbers>| spread.map_or(0, |spread| spread.count);
    let in_second = u64::from(TICKS_PER_S / ATTITUDE_TICKS);
    assert_eq!(
        (count(cost.film), count(cost.attitude), count(cost.second)),
        (30 * in_second, 30 * (in_second - 1), 30)
    );
}

/// A board in which one bit of one number goes wrong in one answer.
struct OneBit {
    board: StandIn,
    unframer: Unframer,
    out: VecDeque<u8>,
    at: u32,
}

impl Line for OneBit {
    fn send(&mut self, bytes: &[u8]) -> io::Result<()> {
        self.board.send(bytes)?;
        let mut from = [0; 4_096];
        let count = self.board.receive(&mut from, Duration::ZERO)?;
        for &byte in &from[..count] {
            let Some(Ok(mut answer)) = self.unframer.push::<FromBoard>(byte) else { continue };
            if let FromBoard::Answer { sequence, actuators, .. } = &mut answer
                && *sequence == self.at
            {
                let duty = &mut actuators.film.roller_duty;
                *duty = f32::from_bits(duty.to_bits() ^ 1);
            }
            self.out.extend(frame(&answer).unwrap());
        }
        Ok(())
    }

    fn receive(&mut self, into: &mut [u8], _: Duration) -> io::Result<usize> {
        io::Read::read(&mut self.out, into)
    }
}

#[test]
fn one_wrong_bit_is_named_by_tick_field_and_patterns() {
    let folder = tempfile::tempdir().unwrap();
    let line = OneBit { board: StandIn::new(), unframer: Unframer::new(), out: VecDeque::new(), at: 1_500 };
    let outcome = lockstep::fly(&mut over(line), &edge(3_000), &order(folder.path()), &mut |_, _| {}).unwrap();
    let found = outcome.found.expect("a difference");
    assert_eq!((found.tick, found.difference.field.as_str()), (1_500, "actuators.film.roller_duty"));
    let bits = |text: &str| u32::from_str_radix(text, 16).unwrap();
    assert_eq!(bits(&found.difference.desk_bits) ^ bits(&found.difference.board_bits), 1);
    // Ten ticks before it, itself, and ten after.
    let ticks: Vec<_> = outcome.around.iter().map(|record| record.tick).collect();
    assert_eq!(ticks, (1_490..=1_510).collect::<Vec<_>>());
    assert!(outcome.flown.is_none());
}

#[test]
fn the_command_tells_by_its_exit_code_and_writes_both_forms() {
    let folder = tempfile::tempdir().unwrap();
    let run = |name: &str, more: &[&str]| {
        let out = folder.path().join(name);
        let mut words = vec!["stillframe-bench", "lockstep", "--quiet", "--ticks", "700", "--out"];
        words.push(out.to_str().unwrap());
        words.extend(more);
        (cli::run(words.into_iter().map(Into::into)), out)
    };
    let (code, out) = run("equal", &[]);
    assert_eq!(code, ExitCode::SUCCESS);
    let summary: serde_json::Value = serde_json::from_slice(&std::fs::read(out.join("bench.json")).unwrap()).unwrap();
    assert_eq!((&summary["ticks"], &summary["equal"]), (&700.into(), &true.into()));
    assert!(out.join("report.html").is_file() && out.join("summary.json").is_file());
    assert!(!out.join("difference.json").exists());
    let (code, out) = run("different", &["--reverse", "gyro.y"]);
    assert_eq!(code, ExitCode::from(6));
    let summary: serde_json::Value = serde_json::from_slice(&std::fs::read(out.join("bench.json")).unwrap()).unwrap();
    assert_eq!(summary["equal"], false);
    assert!(out.join("difference.json").is_file());
    assert_eq!(run("equal", &[]).0, ExitCode::from(3), "a folder that holds something is refused");
    assert_eq!(run("far", &["--board", "unix:/nowhere/at/all"]).0, ExitCode::from(5));
    assert_eq!(run("odd", &["--board", "carrier-pigeon"]).0, ExitCode::from(2));
}
