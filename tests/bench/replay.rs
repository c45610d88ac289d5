//! Replay: what was recorded comes out again, and a changed recording does not pass.

use crate::{edge, order, over};
use std::path::{Path, PathBuf};
use stillframe_hil::{
    line::stand_in::StandIn,
    lockstep,
    replay::{ReplayError, replay},
    stream::{Reader, StreamError, Writer},
};

fn recorded(folder: &Path) -> PathBuf {
    let stream = folder.join("edge.stream");
    let mut order = order(&folder.join("out"));
    order.stream = Some(stream.clone());
    lockstep::fly(&mut over(StandIn::new()), &edge(1_700), &order, &mut |_, _| {}).unwrap();
    stream
}

#[test]
fn a_recorded_run_comes_out_again_on_desk_and_board() {
    let folder = tempfile::tempdir().unwrap();
    let stream = recorded(folder.path());
    let desk = replay(Reader::open(&stream).unwrap(), None, &mut |_| {}).unwrap();
    assert_eq!((desk.ticks, desk.found.is_none()), (1_700, true));
    let board = replay(Reader::open(&stream).unwrap(), Some(&mut over(StandIn::new())), &mut |_| {}).unwrap();
    assert_eq!((board.ticks, board.found.is_none()), (1_700, true));
}

#[test]
fn one_changed_reading_is_found() {
    let folder = tempfile::tempdir().unwrap();
    let mut from = Reader::open(&recorded(folder.path())).unwrap();
    let changed = folder.path().join("changed.stream");
    let mut to = Writer::create(&changed, &from.settings, &from.load).unwrap();
    while let Some(mut tick) = from.tick().unwrap() {
        if tick.sensors.tick == 1_600 {
            tick.sensors.film.supply_arm_m += 1e-3;
        }
        to.tick(&tick.sensors, &tick.actuators, tick.telemetry.as_ref()).unwrap();
    }
    to.finish().unwrap();
    let outcome = replay(Reader::open(&changed).unwrap(), None, &mut |_| {}).unwrap();
    let found = outcome.found.expect("a difference");
    assert_eq!((found.tick, found.difference.field.as_str()), (1_600, "actuators.film.supply_duty"));
}

#[test]
fn damaged_and_foreign_files_are_refused_with_what_is_wrong() {
    let folder = tempfile::tempdir().unwrap();
    let stream = recorded(folder.path());
    let mut bytes = std::fs::read(&stream).unwrap();
    let middle = bytes.len() / 2;
    bytes[middle] ^= 0x20;
    std::fs::write(&stream, &bytes).unwrap();
    let broken = replay(Reader::open(&stream).unwrap(), None, &mut |_| {});
    let Err(ReplayError::Stream(error @ StreamError::Damaged { .. })) = broken else { panic!("{broken:?}") };
    assert!(error.to_string().contains("edge.stream is damaged after"), "{error}");
    let foreign = folder.path().join("foreign.stream");
    std::fs::write(&foreign, b"\0not a stream\0").unwrap();
    let error = Reader::open(&foreign).expect_err("refused");
    assert!(error.to_string().contains("lockstep --stream"), "{error}");
}
