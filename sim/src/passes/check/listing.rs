//! A load as text: one line a command, to be read, edited and kept under version control.
//!
//! ```text
//! # anything after a number sign is for people
//! counter      1
//! epoch        0                tick at which the orbit constants hold
//! …
//! 705910  speed 302
//! 2026-06-10T07:57:40Z  camera_on slit 3
//! ```
//!
//! The grammar stands in the handbook. Numbers are written so that they come back bit for bit.

use super::words;
use crate::{
    scenario::{Problem, Refusal},
    world::time::Utc,
};
use std::{fmt::Write, ops::Range};
use stillframe_controller::{
    attitude::orbit::Ephemeris,
    programme::load::{Command, Entry, Load, MAX_ENTRIES},
};

/// Ticks in a second, for times given as UTC.
const TICKS_PER_S: f64 = 100.0;

/// A load read from a listing, with the line of each entry, counted from 1.
#[derive(Clone, Debug, PartialEq)]
pub struct Listed {
    /// The load.
    pub load: Load,
    /// Line of each entry.
    pub lines: Vec<usize>,
}

/// Keys of a listing's head, each once, with what they mean.
const HEAD: [(&str, &str); 7] = [
    ("counter", "must rise from one load to the next"),
    ("epoch", "tick at which the orbit constants hold"),
    ("phase", "argument of latitude then, 2^-32 turn"),
    ("rate", "its rise per tick, 2^-48 turn"),
    ("decay", "half the growth of that rate, rad/s2"),
    ("inclination", "rad"),
    ("radius", "(equatorial radius / orbit radius)^2"),
];

/// Writes a load as text, with UTC beside every tick; gives the lines of the entries too.
pub fn print(load: &Load, title: &str, start: Utc, speed_step_m_s: f64) -> (String, Vec<usize>) {
    let e = &load.ephemeris;
    let values = [
        load.counter.to_string(),
        e.epoch_tick.to_string(),
        e.phase.to_string(),
        e.phase_per_tick.to_string(),
        format!("{:e}", e.half_acceleration_rad_s2),
        format!("{:?}", e.inclination_rad),
        format!("{:?}", e.radius_ratio2),
    ];
    let mut text = String::new();
    // Writing to a string cannot fail.
    for line in title.lines() {
        let _ = writeln!(text, "# {line}");
    }
    for ((key, meaning), value) in HEAD.iter().zip(values) {
        let _ = writeln!(text, "{key:<12} {value:<16} # {meaning}");
    }
    let first = text.lines().count() + 1;
    for entry in &load.entries {
        let words = words::words(entry.command);
        let speed = match entry.command {
            Command::Speed(step) => format!("  {:.2} mm/s", f64::from(step) * speed_step_m_s * 1e3),
            _ => String::new(),
        };
        let _ = writeln!(text, "{:>10}  {words:<22} # {}{speed}", entry.tick, utc(start, entry.tick));
    }
    (text, (first..first + load.entries.len()).collect())
}

/// UTC of a tick, by a clock that was right at the start.
pub fn utc(start: Utc, tick: u32) -> String {
    start.plus_seconds(f64::from(tick) / TICKS_PER_S).to_string()
}

/// Reads a listing; `start` is the instant of tick 0.
///
/// # Errors
/// Everything wrong with it, line by line.
pub fn parse(name: &str, text: &str, start: Utc) -> Result<Listed, Box<Refusal>> {
    let mut reader = Reader { start, head: [None; 7], entries: Vec::new(), lines: Vec::new(), problems: Vec::new() };
    let mut from = 0;
    for (number, line) in text.split_inclusive('\n').enumerate() {
        let content = line.split('#').next().unwrap_or_default();
        let lead = content.len() - content.trim_start().len();
        let span = from + lead..from + lead + content.trim().len();
        let words: Vec<&str> = content.split_whitespace().collect();
        if !words.is_empty() {
            reader.line(number + 1, &words, span);
        }
        from += line.len();
    }
    reader.finish(text.trim_end().len()).map_err(|problems| Box::new(Refusal::new(name, text, problems)))
}

struct Reader {
    start: Utc,
    head: [Option<f64>; 7],
    entries: Vec<Entry>,
    lines: Vec<usize>,
    problems: Vec<Problem>,
}

impl Reader {
    fn line(&mut self, number: usize, words: &[&str], span: Range<usize>) {
        let done = match words {
            [key, value] if HEAD.iter().any(|(known, _)| known == key) => self.head(key, value),
            [time, command @ ..] if time.starts_with(|c: char| c.is_ascii_digit()) => self.entry(number, time, command),
            [first, ..] => Err((
                format!("'{first}' begins no line of a listing"),
                format!("a line begins with a time or one of: {}", HEAD.map(|(key, _)| key).join(", ")),
            )),
            [] => Ok(()),
        };
        if let Err((message, help)) = done {
            self.refuse(Some(span), format!("line {number}: {message}"), "here", &help);
        }
    }

    fn head(&mut self, key: &str, value: &str) -> Result<(), (String, String)> {
        let Some((index, (_, meaning))) = HEAD.iter().enumerate().find(|(_, (known, _))| *known == key) else {
            return Ok(());
        };
        let help = format!("{key}: {meaning}.");
        let number = match index {
            0 => words::whole(value, 0, u32::from(u16::MAX)).map(f64::from),
            1..=3 => words::whole(value, 0, u32::MAX).map(f64::from),
            _ => value.parse::<f32>().map(f64::from).map_err(|_| format!("'{value}' is no number")),
        };
        let number = number.map_err(|message| (format!("{key}: {message}"), help.clone()))?;
        if self.head[index].replace(number).is_some() {
            return Err((format!("{key} stands there twice"), help));
        }
        Ok(())
    }

    fn entry(&mut self, number: usize, time: &str, command: &[&str]) -> Result<(), (String, String)> {
        let tick = self.tick(time)?;
        let command = words::command(command).map_err(|message| (message, format!("Commands: {}.", words::KNOWN)))?;
        self.entries.push(Entry { tick, command });
        self.lines.push(number);
        Ok(())
    }

    fn tick(&self, time: &str) -> Result<u32, (String, String)> {
        let help = "A time is a tick of 10 ms since the start, or UTC such as 2026-06-10T07:57:40.25Z.".to_owned();
        if !time.contains('T') {
            return words::whole(time, 0, u32::MAX).map_err(|message| (message, help));
        }
        let instant = Utc::parse(time).map_err(|error| (error.to_string(), help.clone()))?;
        let ticks = instant.seconds_since(self.start) * TICKS_PER_S;
        if (ticks - ticks.round()).abs() > 1e-6 {
            return Err((format!("{time} falls between two ticks of 10 ms"), help));
        }
        if !(0.0..=f64::from(u32::MAX)).contains(&ticks.round()) {
            let why = format!("the on-board clock starts at {} and counts 497 days", self.start);
            return Err((format!("{time} is no time of the on-board clock: {why}"), help));
        }
        Ok(ticks.round() as u32)
    }

    fn refuse(&mut self, span: Option<Range<usize>>, message: String, label: &str, help: &str) {
        let (label, help) = (label.to_owned(), help.to_owned());
        self.problems.push(Problem { key: String::new(), span, message, label, help });
    }

    fn finish(mut self, end: usize) -> Result<Listed, Vec<Problem>> {
        for (value, (key, meaning)) in self.head.into_iter().zip(HEAD) {
            if value.is_none() {
                let message = format!("{key} is missing");
                self.refuse(
                    Some(end..end),
                    message,
                    "the listing ends here",
                    &format!("Write a line `{key} VALUE`: {meaning}."),
                );
            }
        }
        if self.entries.len() > MAX_ENTRIES {
            let message = format!("{} commands; the vehicle's store holds {MAX_ENTRIES}", self.entries.len());
            self.refuse(Some(end..end), message, "too many", "Split the load in two.");
        }
        let [Some(counter), Some(epoch), Some(phase), Some(rate), Some(decay), Some(inclination), Some(radius)] =
            self.head
        else {
            return Err(self.problems);
        };
        if !self.problems.is_empty() {
            return Err(self.problems);
        }
        let ephemeris = Ephemeris {
            epoch_tick: epoch as u32,
            phase: phase as u32,
            phase_per_tick: rate as u32,
            half_acceleration_rad_s2: decay as f32,
            inclination_rad: inclination as f32,
            radius_ratio2: radius as f32,
        };
        let load = Load { counter: counter as u16, ephemeris, entries: self.entries.into_iter().collect() };
        Ok(Listed { load, lines: self.lines })
    }
}
