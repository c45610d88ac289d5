//! A framing camera's clamp, brakes, platen and shutter: film is advanced, clamped, and exposed on a platen that follows
//! the image.

use super::{Rig, Row, Seen};
use crate::board::BoardError;
use stillframe_controller::{health::flags::Flag, io::FilmDrive, telemetry::Telemetry};

/// Ticks played: rest, and the first pictures.
const TICKS: u32 = 3_000;
/// Ticks at rest before the camera is switched on.
const REST: usize = 500;
/// Pictures that must have been begun.
const LEAST: usize = 3;
/// Duty that counts as forward.
const FORWARD: f64 = 0.002;
/// A board's telemetry shows a fault within so many ticks.
const TOLD: u32 = 110;

pub(super) fn round(rig: &mut Rig<'_>, rows: &mut Vec<Row>) -> Result<(), BoardError> {
    let flight: Vec<_> = rig.flight.iter().take(TICKS as usize).map(|(sensors, _, _)| sensors.clone()).collect();
    let seen = rig.play(TICKS, true, |tick| flight[tick as usize].clone())?;
    let cycle = Cycle::of(rig, &seen);
    rows.push(cycle.held("clamp", |film| film.clamp, true));
    rows.push(cycle.held("brake", |film| film.brake, false));
    rows.push(cycle.roller());
    rows.push(cycle.platen());
    rows.push(cycle.shutter());
    rows.push(light(rig)?);
    Ok(())
}

/// Where film is advanced and where it is exposed: from the desk's own answers, so that a wrong wire cannot move them.
struct Cycle<'a> {
    rest: &'a [Seen],
    advance: Vec<&'a Seen>,
    expose: Vec<&'a Seen>,
    all: &'a [Seen],
}

impl<'a> Cycle<'a> {
    fn of(rig: &Rig<'_>, seen: &'a [Seen]) -> Self {
        let desk = || seen.iter().zip(&rig.flight);
        let advance = desk().filter(|(_, (_, desk, _))| !desk.film.clamp && !desk.film.brake);
        let expose = desk().filter(|(_, (_, desk, _))| desk.shutter.open_us.is_some());
        Self {
            rest: &seen[..REST],
            advance: advance.map(|(now, _)| now).collect(),
            expose: expose.map(|(now, _)| now).collect(),
            all: seen,
        }
    }

    /// On at rest, off in the advance; in the exposure on or, for brakes, as the desk has it.
    fn held(&self, wire: &str, on: fn(&FilmDrive) -> bool, in_exposure: bool) -> Row {
        let state = |part: &mut dyn Iterator<Item = &Seen>| {
            let states: Vec<bool> = part.map(|now| on(&now.actuators.film)).collect();
            match (states.iter().all(|on| *on), states.iter().any(|on| *on)) {
                _ if states.is_empty() => "never",
                (true, _) => "on",
                (_, false) => "off",
                _ => "now and then",
            }
        };
        let rest = state(&mut self.rest.iter());
        let advance = state(&mut self.advance.iter().copied());
        let expose = state(&mut self.expose.iter().copied());
        if in_exposure {
            let good = (rest, advance, expose) == ("on", "off", "on");
            let seen = format!("{rest}, {advance}, {expose}");
            return Row::new(wire, "framing: rest, advance, expose", "on, off, on", seen, good);
        }
        let good = (rest, advance) == ("on", "off");
        Row::new(wire, "framing: rest, advance", "on, off", format!("{rest}, {advance}"), good)
    }

    fn roller(&self) -> Row {
        let duties = self.advance.iter().map(|now| f64::from(now.actuators.film.roller_duty));
        let mean = duties.sum::<f64>() / self.advance.len().max(1) as f64;
        Row::new("motor.roller", "framing: advance", "duty + (forward)", format!("{mean:+.4}"), mean > FORWARD)
    }

    fn platen(&self) -> Row {
        let driven = |now: &Seen| now.actuators.film.platen_step > 0;
        let rest = self.rest.iter().any(driven);
        let expose = !self.expose.is_empty() && self.expose.iter().all(|now| driven(now));
        let text = format!("{}, {}", if rest { "driven" } else { "still" }, if expose { "driven" } else { "still" });
        Row::new("platen", "framing: rest, expose", "still, driven", text, !rest && expose)
    }

    fn shutter(&self) -> Row {
        let count = |what: fn(&Seen) -> bool| self.all[REST..].iter().filter(|now| what(now)).count();
        let opened = count(|now| now.actuators.shutter.open_us.is_some());
        let closed = count(|now| now.actuators.shutter.close_us.is_some());
        let early = self.rest.iter().any(|now| now.actuators.shutter.open_us.is_some());
        let good = !early && opened >= LEAST && opened == self.expose.len() && closed >= opened;
        Row::new(
            "shutter",
            "framing: camera on",
            "opens and closes with each picture",
            format!("{opened} openings"),
            good,
        )
    }
}

/// No light behind an open shutter: telemetry says so.
fn light(rig: &mut Rig<'_>) -> Result<Row, BoardError> {
    let opened = rig.flight.iter().position(|(_, desk, _)| desk.shutter.open_us.is_some());
    let from = opened.unwrap_or(0) as u32;
    let ticks = from + 300 + TOLD;
    let flight: Vec<_> = rig.flight.iter().take(ticks as usize).map(|(sensors, _, _)| sensors.clone()).collect();
    let seen = rig.play(ticks.min(flight.len() as u32), true, |tick| {
        let mut sensors = flight[tick as usize].clone();
        sensors.film.shutter_open &= tick < from;
        sensors
    })?;
    let fault = |told: &Telemetry| told.flags.has(Flag::ShutterFault);
    let (before, after) = seen.split_at(from as usize);
    let was = before.iter().filter_map(|now| now.telemetry.as_ref()).any(fault);
    let is = after.iter().filter_map(|now| now.telemetry.as_ref()).any(fault);
    let text = match (was, is) {
        (true, _) => "shutter fault before it was moved",
        (false, true) => "shutter fault",
        (false, false) => "nothing",
    };
    Ok(Row::new("shutter.light", "framing: dark", "shutter fault", text.into(), !was && is))
}
