//! Gyros, horizon sensor, separation sense and tank; jets and latch valves.

use super::{Rig, Row, Seen};
use crate::{board::BoardError, wiring::still};
use stillframe_controller::{
    io::{BANKS, Sensors},
    telemetry::Telemetry,
};

const AXES: [&str; 3] = ["roll", "pitch", "yaw"];
/// Rate put on a gyro, rad/s (4 °/s): so fast that it is damped at once, even where the Earth might come by, and inside
/// the gyro's range.
const RATE_RAD_S: f32 = 0.0698;
/// Least step of a gyro's reading, rad/s.
const LAST_DIGIT_RAD_S: f32 = 1e-6;
/// Tilt put on the horizon sensor, rad (5°).
const TILT_RAD: f32 = 0.087;
/// Share of the wanted axis' torque that openings may give about another.
const ACROSS: f64 = 0.2;
/// Ticks in which jets must have answered.
const ANSWER_TICKS: u32 = 300;
/// Ticks in which a bank whose jets change nothing must have been given up for the other.
const BANK_TICKS: u32 = 2_000;
/// Ticks in which a vehicle that sees no Earth must have begun to look for it.
const SEARCH_TICKS: u32 = 2_600;

pub(super) fn round(rig: &mut Rig<'_>, rows: &mut Vec<Row>) -> Result<(), BoardError> {
    for (axis, wire) in ["gyro.x", "gyro.y", "gyro.z"].into_iter().enumerate() {
        for sign in [1.0, -1.0] {
            if rig.wants(wire) {
                gyro(rig, rows, wire, axis, sign)?;
            }
        }
    }
    for (axis, wire) in ["horizon.roll", "horizon.pitch"].into_iter().enumerate() {
        for sign in [1.0, -1.0] {
            if rig.wants(wire) {
                rows.push(horizon(rig, wire, axis, sign)?);
            }
        }
    }
    if rig.wants("horizon.locked") {
        rows.push(no_earth(rig)?);
    }
    if rig.wants("separated") {
        rows.push(not_separated(rig)?);
    }
    for (wire, pressure) in [("tank.pressure", true), ("tank.temperature", false)] {
        if rig.wants(wire) {
            rows.push(tank(rig, wire, pressure)?);
        }
    }
    Ok(())
}

/// A vehicle at rest, with a new horizon sample ten times a second. The gyros' last digits move: readings that never
/// change are those of a dead gyro.
fn at(tick: u32) -> Sensors {
    let mut sensors = still();
    sensors.gyro_rad_s = [0, 2, 4].map(|phase| LAST_DIGIT_RAD_S * ((tick / 2 + phase) % 7) as f32);
    sensors.horizon.sequence = (tick / 10) as u8 + 1;
    sensors
}

fn signed(sign: f32) -> &'static str {
    if sign > 0.0 { "+" } else { "−" }
}

/// Torque against the motion about one axis alone, and the latch of the jets' bank open alone.
fn judge(rig: &Rig<'_>, seen: &[Seen], axis: usize, wanted: f64, bank: usize) -> (String, bool) {
    let (torque_nm, jets) = rig.openings(seen);
    let along = torque_nm[axis] * wanted;
    let across = (0..3).filter(|other| *other != axis).map(|other| torque_nm[other].abs()).fold(0.0, f64::max);
    let mine = jets.iter().all(|jet| rig.settings.jets.get(*jet).is_some_and(|jet| jet.bank as usize == bank));
    // Latches as they stand when jets open.
    let opening = |now: &&Seen| now.actuators.jets.iter().any(|edges| edges.open_us.is_some());
    let fed = seen
        .iter()
        .filter(opening)
        .all(|now| (0..BANKS).all(|other| now.actuators.latch_open[other] == (other == bank)));
    let names: Vec<_> = jets.iter().map(|jet| format!("jet.{}", jet + 1)).collect();
    let text = if jets.is_empty() {
        "no jet".to_owned()
    } else {
        let strongest = (0..3).max_by(|a, b| torque_nm[*a].abs().total_cmp(&torque_nm[*b].abs())).unwrap_or(0);
        let latch = if fed { "" } else { ", behind a shut or wrong latch" };
        format!("{}: {} {}{latch}", names.join(" "), signed(torque_nm[strongest] as f32), AXES[strongest])
    };
    (text, along > 0.0 && across < ACROSS * along && mine && fed)
}

/// A rate that no jet changes: the first bank answers, is given up, and the second answers the same way.
fn gyro(rig: &mut Rig<'_>, rows: &mut Vec<Row>, wire: &str, axis: usize, sign: f32) -> Result<(), BoardError> {
    let seen = rig.play(BANK_TICKS, false, |tick| {
        let mut sensors = at(tick);
        sensors.horizon.locked = false;
        sensors.gyro_rad_s[axis] += sign * RATE_RAD_S;
        sensors
    })?;
    let moved = format!("{}4 °/s, for long", signed(sign));
    // The banks' turns are told apart by the latches that the settings' jets belong to.
    let other = seen.iter().position(|now| now.actuators.latch_open[1]).unwrap_or(seen.len());
    for (bank, name) in ["A", "B"].into_iter().enumerate() {
        let part = if bank == 0 { &seen[..other] } else { &seen[other..] };
        let wanted = format!("{} {} torque, bank {name}", signed(-sign), AXES[axis]);
        let (text, good) = judge(rig, part, axis, f64::from(-sign), bank);
        rows.push(Row::new(wire, &moved, &wanted, text, good));
    }
    Ok(())
}

fn horizon(rig: &mut Rig<'_>, wire: &str, axis: usize, sign: f32) -> Result<Row, BoardError> {
    let seen = rig.play(ANSWER_TICKS, false, |tick| {
        let mut sensors = at(tick);
        let tilt = if axis == 0 { &mut sensors.horizon.roll_rad } else { &mut sensors.horizon.pitch_rad };
        *tilt = sign * TILT_RAD;
        sensors
    })?;
    // The first pulse tells; later ones are already the estimate's, which no answering motion corrects.
    let first = seen.iter().position(|now| now.actuators.jets.iter().any(|edges| edges.open_us.is_some()));
    let first = first.map_or(seen.as_slice(), |first| &seen[..=first]);
    let (text, good) = judge(rig, first, axis, f64::from(-sign), 0);
    let wanted = format!("{} {} torque", signed(-sign), AXES[axis]);
    Ok(Row::new(wire, &format!("{}5°", signed(sign)), &wanted, text, good))
}

/// Without an Earth the vehicle waits, and then turns about +x to look for it.
fn no_earth(rig: &mut Rig<'_>) -> Result<Row, BoardError> {
    let seen = rig.play(SEARCH_TICKS, false, |tick| {
        let mut sensors = at(tick);
        sensors.horizon.locked = false;
        sensors
    })?;
    let (early, late) = seen.split_at(1_500);
    let (_, jets) = rig.openings(early);
    let (text, good) = judge(rig, late, 0, 1.0, 0);
    let text = if jets.is_empty() { format!("nothing, then {text}") } else { "jets at once".to_owned() };
    Ok(Row::new("horizon.locked", "no Earth", "nothing for 15 s, then + roll torque", text, good && jets.is_empty()))
}

/// Before separation nothing fires, whatever the gyros say.
fn not_separated(rig: &mut Rig<'_>) -> Result<Row, BoardError> {
    let seen = rig.play(ANSWER_TICKS, false, |tick| {
        let mut sensors = at(tick);
        sensors.separated = false;
        sensors.gyro_rad_s.iter_mut().for_each(|rate_rad_s| *rate_rad_s += RATE_RAD_S);
        sensors
    })?;
    let (_, jets) = rig.openings(&seen);
    let calm = seen.iter().all(|now| now.actuators.latch_open == [false; BANKS] && now.actuators.transmit);
    let text = match (jets.is_empty(), calm) {
        (true, true) => "no jet, latches shut, transmitter on",
        (true, false) => "a latch open, or the transmitter off",
        (false, _) => "jets open",
    };
    let wanted = "no jet, latches shut, transmitter on";
    Ok(Row::new("separated", "not yet, turning", wanted, text.into(), jets.is_empty() && calm))
}

/// More pressure means more gas left; more warmth at the same pressure means less.
fn tank(rig: &mut Rig<'_>, wire: &str, pressure: bool) -> Result<Row, BoardError> {
    let seen = rig.play(500, false, |tick| {
        let mut sensors = at(tick);
        if tick >= 250 && pressure {
            sensors.tank.pressure_pa *= 1.05;
        } else if tick >= 250 {
            sensors.tank.temperature_k *= 1.05;
        }
        sensors
    })?;
    let gas_kg = |part: &[Seen]| {
        let told: Vec<&Telemetry> = part.iter().filter_map(|now| now.telemetry.as_ref()).collect();
        told.last().map(|telemetry| telemetry.gas_left_kg)
    };
    let (before, after) = seen.split_at(250);
    let (Some(before_kg), Some(after_kg)) = (gas_kg(before), gas_kg(after)) else {
        return Ok(Row::new(wire, "+5 %", "telemetry", "no telemetry".into(), false));
    };
    let (wanted, good) = if pressure {
        ("more gas in telemetry", after_kg > before_kg)
    } else {
        ("less gas in telemetry", after_kg < before_kg)
    };
    Ok(Row::new(wire, "+5 %", wanted, format!("{before_kg:.3} → {after_kg:.3} kg"), good && before_kg > 0.0))
}
