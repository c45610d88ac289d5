//! The stored programme and the faults: inside the run, in order, one thing at a time.

use super::orbit::Size;
use crate::scenario::Scenario;
use crate::scenario::parts::camera::{CameraKind, FrameCamera, SweepCamera};
use crate::scenario::parts::command::{Action, CameraOn, Slit};
use crate::scenario::parts::fault::FaultKind;
use crate::scenario::read::context::Context;

/// Commands act on the base tick.
const TICK_S: f64 = 0.01;
/// What a film estimate from the mean height may be wrong by.
const FILM_ESTIMATE: f64 = 1.05;

pub(super) fn run(scenario: &Scenario, cx: &mut Context) {
    let run = &scenario.run;
    if let Some(day) = run.start.leap_second_within(run.duration_s) {
        let message = format!("run crosses the leap second before {day}");
        let help = "On-board time and the Earth's rotation are counted without leap seconds. Start after it, or end before it.";
        cx.refuse("run.start", message, "allowed: a run without a leap second inside", help);
    }
}

pub(super) fn commands(scenario: &Scenario, cx: &mut Context) {
    let run = &scenario.run;
    let mut before = Before::default();
    for (command, number) in scenario.commands.iter().zip(1..) {
        let key = format!("command[{number}]");
        let (start, length) = (command.start_s(run.start), on_time_s(&command.kind));
        if inside(&key, "command", start, start + length, run.duration_s, cx) {
            before.next(&key, start, length, cx);
        }
        if let Action::Camera(camera) = &command.kind {
            camera_on(scenario, camera, &key, cx);
        }
    }
}

/// What the commands so far leave to the next one.
#[derive(Default)]
struct Before {
    /// The last command and its time.
    command: Option<(String, f64)>,
    /// The last command that turned the camera on, and when it goes off.
    camera: Option<(String, f64)>,
}

impl Before {
    /// Judges the command at `key` against those before it; a `length` of 0 leaves the camera alone.
    fn next(&mut self, key: &str, start: f64, length: f64, cx: &mut Context) {
        let late = self.command.as_ref().filter(|(_, at)| start < at + TICK_S);
        let busy = self.camera.as_ref().filter(|(_, end)| length > 0.0 && start < *end);
        if let Some((earlier, at)) = late {
            let message = format!("{key} ({start:.2} s) does not come after {earlier} ({at:.2} s)");
            let help = "List commands in the order of their times; two may not act in the same 10 ms tick.";
            cx.refuse(&time_key(key, cx), message, "allowed: later than the command before", help);
        } else if let Some((earlier, end)) = busy {
            let help = format!(
                "The camera is on until {end:.2} s after the start and this command turns it on at {start:.2} s. \
                 Shorten the earlier for_s or start later."
            );
            let label = format!("allowed: {end:.2} s after the start, or later");
            cx.refuse(&time_key(key, cx), format!("{key} overlaps {earlier}"), label, help);
        }
        self.command = Some((key.to_owned(), start));
        if length > 0.0 {
            self.camera = Some((key.to_owned(), start + length));
        }
    }
}

fn on_time_s(action: &Action) -> f64 {
    match action {
        Action::Camera(camera) => camera.for_s,
        _ => 0.0,
    }
}

/// The key by which an entry gave its time.
fn time_key(key: &str, cx: &Context) -> String {
    let utc = format!("{key}.at");
    if cx.says(&utc) { utc } else { format!("{key}.at_h") }
}

/// Whether something happens inside the run; otherwise a problem.
fn inside(key: &str, what: &str, start: f64, end: f64, duration: f64, cx: &mut Context) -> bool {
    let good = start >= 0.0 && end <= duration;
    if !good {
        let until = if end.is_finite() && end > start { format!(" to {end:.1} s") } else { String::new() };
        let message = format!("{key} lies outside the run: {start:.1} s{until}");
        let label = format!("allowed: 0 to {duration} s after run.start");
        let help = format!("Move the {what}, or change run.start or run.duration_h.");
        cx.refuse(&time_key(key, cx), message, label, help);
    }
    good
}

fn camera_on(scenario: &Scenario, command: &CameraOn, key: &str, cx: &mut Context) {
    let (choices, list) = match &scenario.camera.kind {
        CameraKind::Strip(strip) => (strip.slit_widths_m.len(), "slit_widths_mm"),
        CameraKind::Frame(frame) => (frame.shutter_s.len(), "shutter_ms"),
        CameraKind::Sweep(sweep) => (sweep.slit_widths_m.len(), "slit_widths_mm"),
    };
    if let Slit::Index(index) = command.slit
        && usize::from(index) >= choices
    {
        let key = format!("{key}.slit");
        let message = format!("{key} = {} does not exist", index + 1);
        let help = format!("camera.{list} has {choices} entries, counted from 1; \"auto\" chooses by the Sun.");
        cx.refuse(&key, message, format!("allowed: \"auto\", or 1 to {choices}"), help);
    }
    let Some(interval) = command.interval_s else {
        return;
    };
    let key = format!("{key}.interval_s");
    match &scenario.camera.kind {
        CameraKind::Strip(_) => {
            let help =
                "A strip camera exposes all the time it is on. Take the key away, or use camera.kind = \"frame\".";
            cx.refuse(&key, format!("{key} has no meaning for a strip camera"), "not allowed here", help);
        }
        CameraKind::Frame(FrameCamera { shortest_cycle_s, .. })
        | CameraKind::Sweep(SweepCamera { shortest_cycle_s, .. })
            if interval < *shortest_cycle_s =>
        {
            let message = format!("{key} = {interval} is shorter than the camera's cycle");
            let label = format!("allowed: {shortest_cycle_s} s or more");
            let help = "camera.shortest_cycle_s is the time for advance, clamp, settling and exposure.";
            cx.refuse(&key, message, label, help);
        }
        CameraKind::Frame(_) | CameraKind::Sweep(_) => {}
    }
}

pub(super) fn faults(scenario: &Scenario, cx: &mut Context) {
    let run = &scenario.run;
    for (fault, number) in scenario.faults.iter().zip(1..) {
        let key = format!("fault[{number}]");
        let start = fault.start_s(run.start);
        if !(0.0..run.duration_s).contains(&start) {
            inside(&key, "fault", start, f64::INFINITY, run.duration_s, cx);
        }
        for (name, word) in fault
            .kind
            .jet()
            .map(|name| (name, "jet"))
            .into_iter()
            .chain(fault.kind.other_jet().map(|name| (name, "with")))
        {
            if scenario.jet_index(name).is_some() {
                continue;
            }
            let key = format!("{key}.{word}");
            let names: Vec<_> = scenario.jets.iter().map(|jet| jet.name.as_str()).collect();
            let message = format!("{key} = \"{name}\" is no jet of this vehicle");
            let help = format!("Jets of this file: {}.", names.join(", "));
            cx.refuse(&key, message, "must name a [[jet]] of this file", help);
        }
        if matches!(fault.kind, FaultKind::ClockStep(_)) && fault.for_s.is_some() {
            let key = format!("{key}.for_s");
            let help = "A step happens at once and stays. Take for_s away; to step back, add a second clock_step.";
            cx.refuse(&key, format!("{key} has no meaning for clock_step"), "not allowed here", help);
        }
        same_again(scenario, number, cx);
    }
}

pub(super) fn uplinks(scenario: &Scenario, cx: &mut Context) {
    let run = &scenario.run;
    for (uplink, number) in scenario.uplinks.iter().zip(1..) {
        let start = uplink.start_s(run.start);
        inside(&format!("uplink[{number}]"), "uplink", start, start, run.duration_s, cx);
    }
}

/// Two faults of one kind on one thing at one time have no clear meaning.
fn same_again(scenario: &Scenario, number: usize, cx: &mut Context) {
    let Some((fault, earlier)) = scenario.faults.get(..number).and_then(|faults| faults.split_last()) else {
        return;
    };
    let start = scenario.run.start;
    let clash = earlier.iter().position(|other| {
        let same = other.kind.word() == fault.kind.word()
            && other.kind.jet() == fault.kind.jet()
            && other.kind.axis() == fault.kind.axis();
        let apart = other.end_s(start) <= fault.start_s(start) || fault.end_s(start) <= other.start_s(start);
        same && !apart && !matches!(fault.kind, FaultKind::ClockStep(_))
    });
    if let Some(index) = clash {
        let key = format!("fault[{number}]");
        let message = format!("{key} happens while fault[{}] of the same kind lasts", index + 1);
        let help = "Let the earlier one end first (for_s), or join the two into one.";
        cx.refuse(&time_key(&key, cx), message, "allowed: faults of one kind that do not overlap", help);
    }
}

/// The programme must not ask for more film than there is.
pub(super) fn film_asked(scenario: &Scenario, orbit: Size, cx: &mut Context) {
    let camera = &scenario.camera;
    let speed = camera.focal_length_m * orbit.ground_speed_m_s() / orbit.height_m();
    let asked: f64 = scenario
        .commands
        .iter()
        .filter_map(|command| match &command.kind {
            Action::Camera(on) => Some(on),
            _ => None,
        })
        .map(|on| match &camera.kind {
            CameraKind::Strip(_) => on.for_s * speed,
            CameraKind::Frame(frame) => {
                let advance = camera.frame_length_m + frame.frame_gap_m;
                let by_overlap = (1.0 - frame.overlap) * camera.frame_length_m / speed;
                let interval = on.interval_s.unwrap_or_else(|| by_overlap.max(frame.shortest_cycle_s));
                (on.for_s / interval).ceil() * advance
            }
            CameraKind::Sweep(sweep) => {
                let by_overlap = (1.0 - sweep.overlap) * camera.format_width_m / speed;
                let interval = on.interval_s.unwrap_or_else(|| by_overlap.max(sweep.shortest_cycle_s));
                (on.for_s / interval).ceil() * (camera.frame_length_m + sweep.frame_gap_m)
            }
        })
        .sum();
    let left = scenario.film.load_m - scenario.film.wound_m;
    if left > 0.0 && asked > left * FILM_ESTIMATE {
        let message = format!("the programme asks for about {asked:.0} m of film");
        let label = format!("allowed: {left:.0} m (load_m − wound_m)");
        let help = "Counted at the orbit's mean height. Shorten camera commands, or load more film.";
        cx.refuse("film.load_m", message, label, help);
    }
}
