//! Film encoders, arms, current and shutter light; motors, brakes, clamp and shutter.
//!
//! Film runs only in a vehicle that is pointed and told to photograph, so that each case plays the undisturbed flight
//! up to the exposures, moves one sensor, and looks at what changes against the undisturbed answers.

use super::{Rig, Row, Seen};
use crate::board::BoardError;
use stillframe_controller::{
    health::flags::Flag,
    io::{FilmDrive, FilmSample, Sensors},
    telemetry::Telemetry,
};

/// Tick from which a sensor is moved: film is at speed and the shutter open.
const MOVED: u32 = 1_600;
/// Ticks after it in which motors must answer.
const ANSWER_TICKS: u32 = 5;
/// Displacement put on an arm, m; film taken off the roller's count.
const ARM_M: f32 = 0.004;
const LAG_COUNTS: u32 = 100;
/// Change of duty that counts as an answer, and the most that an unmoved loop may show.
const ANSWER: f64 = 0.002;
const UNMOVED: f64 = 1e-6;
/// Last tick of the long cases: reel turns are compared over half a metre of film.
const LONG: u32 = 3_400;

const MOTORS: [&str; 3] = ["motor.roller", "motor.supply", "motor.take_up"];

pub(super) fn round(rig: &mut Rig<'_>, rows: &mut Vec<Row>) -> Result<(), BoardError> {
    undisturbed(rig, rows)?;
    rows.push(motor(rig, "film.roller", "film lags by 100 counts", 0, 1.0, |film| {
        film.roller_counts = film.roller_counts.wrapping_sub(LAG_COUNTS);
    })?);
    rows.push(motor(rig, "film.supply_arm", "+4 mm: loop too full", 1, -1.0, |film| film.supply_arm_m += ARM_M)?);
    rows.push(motor(rig, "film.take_up_arm", "+4 mm: loop too full", 2, 1.0, |film| film.take_up_arm_m += ARM_M)?);
    rows.push(reel(rig, "film.supply", 0, |film| &mut film.supply_counts)?);
    rows.push(reel(rig, "film.take_up", 1, |film| &mut film.take_up_counts)?);
    rows.push(current(rig)?);
    rows.push(light(rig)?);
    Ok(())
}

fn flown(rig: &Rig<'_>, tick: u32) -> Sensors {
    // Cases are never longer than the flight.
    rig.flight[tick as usize].0.clone()
}

fn duties(drive: &FilmDrive) -> [f64; 3] {
    [drive.roller_duty, drive.supply_duty, drive.take_up_duty].map(f64::from)
}

/// The flight as it is: brakes and clamp on at rest, off while film runs forward; shutter open while it does.
fn undisturbed(rig: &mut Rig<'_>, rows: &mut Vec<Row>) -> Result<(), BoardError> {
    let flight: Vec<Sensors> = (0..MOVED).map(|tick| flown(rig, tick)).collect();
    let seen = rig.play(MOVED, true, |tick| flight[tick as usize].clone())?;
    let (rest, running) = (&seen[..500], &seen[MOVED as usize - 100..]);
    let all = |part: &[Seen], what: fn(&FilmDrive) -> bool| part.iter().all(|now| what(&now.actuators.film));
    let held = |brake: fn(&FilmDrive) -> bool| {
        let (on, off) = (all(rest, brake), running.iter().all(|now| !brake(&now.actuators.film)));
        let text = |on: bool, yes: &str, no: &str| if on { yes.to_owned() } else { no.to_owned() };
        (format!("{}, {}", text(on, "on", "off"), text(off, "off", "on")), on && off)
    };
    let (text, good) = held(|film| film.brake);
    rows.push(Row::new("brake", "rest, then run", "on, off", text, good));
    let (text, good) = held(|film| film.clamp);
    rows.push(Row::new("clamp", "rest, then run", "on, off", text, good));
    let mean = |motor: usize| running.iter().map(|now| duties(&now.actuators.film)[motor]).sum::<f64>() / 100.0;
    let roller = mean(0);
    rows.push(Row::new(MOTORS[0], "film runs", "duty + (forward)", format!("{roller:+.4}"), roller > ANSWER));
    let edges = |part: &[Seen]| {
        let opened = part.iter().filter(|now| now.actuators.shutter.open_us.is_some()).count();
        let closed = part.iter().filter(|now| now.actuators.shutter.close_us.is_some()).count();
        (opened, closed)
    };
    let (opened, _) = edges(&seen);
    let (early, _) = edges(rest);
    let text = format!("{opened} opening{}", if opened == 1 { "" } else { "s" });
    rows.push(Row::new("shutter", "camera on", "opens once, film at speed", text, opened == 1 && early == 0));
    let on = seen.iter().all(|now| now.actuators.transmit);
    rows.push(Row::new("transmitter", "all the while", "on", if on { "on" } else { "off" }.into(), on));
    Ok(())
}

/// One loop answers, the others do not.
fn motor(
    rig: &mut Rig<'_>,
    wire: &str,
    moved: &str,
    motor: usize,
    sign: f64,
    disturb: fn(&mut FilmSample),
) -> Result<Row, BoardError> {
    let ticks = MOVED + ANSWER_TICKS;
    let flight: Vec<Sensors> = (0..ticks).map(|tick| flown(rig, tick)).collect();
    let seen = rig.play(ticks, true, |tick| {
        let mut sensors = flight[tick as usize].clone();
        if tick >= MOVED {
            disturb(&mut sensors.film);
        }
        sensors
    })?;
    let mut change = [0.0; 3];
    for (now, before) in seen.iter().zip(&rig.flight).skip(MOVED as usize).take(ANSWER_TICKS as usize) {
        let (now, before) = (duties(&now.actuators.film), duties(&rig.as_seen(&before.1).film));
        (0..3).for_each(|motor| change[motor] += (now[motor] - before[motor]) / f64::from(ANSWER_TICKS));
    }
    let others = (0..3).filter(|other| *other != motor).all(|other| change[other].abs() < UNMOVED);
    let good = change[motor] * sign > ANSWER && others;
    let text: Vec<_> = (0..3)
        .filter(|motor| change[*motor].abs() >= UNMOVED)
        .map(|motor| format!("{} {:+.4}", MOTORS[motor], change[motor]))
        .collect();
    let text = if text.is_empty() { "no motor".to_owned() } else { text.join(", ") };
    let direction = if sign > 0.0 { "more" } else { "less" };
    Ok(Row::new(wire, moved, &format!("{} {direction}, alone", MOTORS[motor]), text, good))
}

/// A reel that shows a tenth less film than it should: the balance on its side, and no other, says so.
fn reel(
    rig: &mut Rig<'_>,
    wire: &str,
    side: usize,
    counts: fn(&mut FilmSample) -> &mut u32,
) -> Result<Row, BoardError> {
    let flight: Vec<Sensors> = (0..LONG).map(|tick| flown(rig, tick)).collect();
    let first = *counts(&mut flight[0].clone().film);
    let seen = rig.play(LONG, true, |tick| {
        let mut sensors = flight[tick as usize].clone();
        let count = counts(&mut sensors.film);
        *count = first.wrapping_add(count.wrapping_sub(first) / 10 * 9);
        sensors
    })?;
    let last = |telemetry: Option<&Telemetry>| telemetry.map_or([None; 2], |telemetry| telemetry.film_residual);
    let told = seen.iter().rev().find_map(|now| now.telemetry.as_ref());
    let before = rig.flight.iter().rev().find_map(|(_, _, telemetry)| telemetry.as_ref());
    let (now, before) = (last(told), last(before));
    let change = |side: usize| now[side].zip(before[side]).map(|(now, before)| now - before);
    let other = 1 - side;
    let good = change(side).is_some_and(|change| (0.05..0.25).contains(&change))
        && change(other).is_some_and(|change| change.abs() < 0.01);
    let text = |side: usize| change(side).map_or("none".into(), |change| format!("{:+.1} %", 100.0 * change));
    let text = format!("supply {}, take-up {}", text(0), text(1));
    let name = ["supply", "take-up"][side];
    Ok(Row::new(wire, "a tenth less", &format!("{name} balance +10 %, alone"), text, good))
}

/// Current that the roller's motor never needs: film is stuck, all stops under the brakes.
fn current(rig: &mut Rig<'_>) -> Result<Row, BoardError> {
    let ticks = MOVED + 30;
    let flight: Vec<Sensors> = (0..ticks).map(|tick| flown(rig, tick)).collect();
    let seen = rig.play(ticks, true, |tick| {
        let mut sensors = flight[tick as usize].clone();
        if tick >= MOVED {
            sensors.film.roller_current_a = 1.5;
        }
        sensors
    })?;
    let running = seen[..MOVED as usize].last().is_some_and(|now| !now.actuators.film.brake);
    let stopped = seen.last().is_some_and(|now| now.actuators.film.brake && duties(&now.actuators.film) == [0.0; 3]);
    let text = if running && stopped { "brakes on, motors off" } else { "film runs on, or never ran" };
    Ok(Row::new("film.current", "1.5 A", "brakes on, motors off", text.into(), running && stopped))
}

/// No light behind an open shutter: the exposures end, and telemetry says why.
fn light(rig: &mut Rig<'_>) -> Result<Row, BoardError> {
    let ticks = MOVED + 110;
    let flight: Vec<Sensors> = (0..ticks).map(|tick| flown(rig, tick)).collect();
    let seen = rig.play(ticks, true, |tick| {
        let mut sensors = flight[tick as usize].clone();
        if tick >= MOVED {
            sensors.film.shutter_open = false;
        }
        sensors
    })?;
    let fault = |part: &[Seen]| {
        part.iter().rev().find_map(|now| now.telemetry).is_some_and(|told| told.flags.has(Flag::ShutterFault))
    };
    let (before, after) = seen.split_at(MOVED as usize);
    let closed = after.iter().any(|now| now.actuators.shutter.close_us.is_some());
    let (was, is) = (fault(before), fault(after));
    let text = match (was, is) {
        (true, _) => "shutter fault before it was moved",
        (false, true) if closed => "shutter closes, shutter fault",
        (false, true) => "shutter fault, and no closing",
        (false, false) => "nothing",
    };
    Ok(Row::new("shutter.light", "dark", "shutter closes, shutter fault", text.into(), !was && is && closed))
}
