//! The rules that need nothing but the load and the vehicle's limits: times, order, camera pairs, values.
//!
//! The flight code holds the same against a load and stops at the first; here all are named.

use super::{
    finding::{Findings, Rule},
    sequence::in_time,
};
use stillframe_controller::{
    contact::{OPEN_LEAST_S, OPEN_MOST_S, SAFE_LEAST_S, SAFE_MOST_S},
    exposure::ANY_SLIT,
    programme::{
        check::{Against, CLOSED_MOST_S, FAR_S, follows},
        load::{Command, Load, LoadError},
    },
};

/// A time further ahead than this, in ticks, is taken for one before the start, rolled over: as on board.
const FAR_TICKS: u32 = FAR_S * 100;

/// Counter, orbit constants and every entry by itself. `end_tick`: end of what is predicted.
pub fn judge(load: &Load, against: &Against, end_tick: u32, findings: &mut Findings<'_>) {
    counter(load, against.counter, findings);
    times(load, against.tick, end_tick, findings);
    values(load, against, findings);
    camera(load, against, findings);
    receiver(load, findings);
}

/// Receiver off and on in pairs, times of silence within their bounds.
fn receiver(load: &Load, findings: &mut Findings<'_>) {
    let remedy = "Keep to what the vehicle allows: it must never be deaf for good.";
    let mut closed: Option<(usize, u32)> = None;
    for index in in_time(load) {
        let Some(entry) = load.entries.get(index) else { continue };
        match (entry.command, closed) {
            (Command::Receiver(false), Some((since, _))) => {
                let reason = format!("the receiver is off already, since entry {}", since + 1);
                findings.refuse(
                    Rule::Contact,
                    Some(index),
                    reason,
                    "Take it out, or find the receiver on that is missing.",
                );
            }
            (Command::Receiver(false), None) => closed = Some((index, entry.tick)),
            (Command::Receiver(true), Some((since, from))) => {
                if entry.tick - from > CLOSED_MOST_S * 100 {
                    let reason = format!(
                        "the receiver stays off for {} s; the vehicle allows {CLOSED_MOST_S} s",
                        seconds(entry.tick - from)
                    );
                    findings.refuse(Rule::Contact, Some(since), reason, remedy);
                }
                closed = None;
            }
            (Command::OpenAfter(minutes), _) => timer(index, minutes, (OPEN_LEAST_S, OPEN_MOST_S), findings),
            (Command::SafeAfter(minutes), _) => timer(index, minutes, (SAFE_LEAST_S, SAFE_MOST_S), findings),
            _ => {}
        }
    }
    if let Some((since, _)) = closed {
        let reason = "the receiver is left off at the end of the load".to_owned();
        findings.refuse(Rule::Contact, Some(since), reason, remedy);
    }
}

fn timer(index: usize, minutes: u16, (least_s, most_s): (u32, u32), findings: &mut Findings<'_>) {
    if !(least_s..=most_s).contains(&(u32::from(minutes) * 60)) {
        let reason = format!("a silence of {minutes} min; the vehicle allows {} to {} min", least_s / 60, most_s / 60);
        findings.refuse(Rule::Contact, Some(index), reason, "Stay within the bounds.");
    }
}

fn counter(load: &Load, last: Option<u16>, findings: &mut Findings<'_>) {
    if let Some(last) = last.filter(|last| !follows(load.counter, *last)) {
        let reason = format!("the counter is {} and the load in force has {last}: it does not rise", load.counter);
        findings.refuse(Rule::Counter, None, reason, "Give it a counter above the one in force.");
    }
}

fn times(load: &Load, now: u32, end: u32, findings: &mut Findings<'_>) {
    let mut before: Option<u32> = None;
    for (index, entry) in load.entries.iter().enumerate() {
        let tick = entry.tick;
        if let Some(earlier) = before.filter(|earlier| tick < *earlier) {
            let reason =
                format!("tick {tick} comes after tick {earlier}: out of order by {} s", seconds(earlier - tick));
            findings.refuse(Rule::Time, Some(index), reason, "List commands in the order of their times.");
        }
        if tick <= now {
            let reason =
                format!("its time has passed by {} s when the load takes effect (tick {now})", seconds(now - tick));
            findings.refuse(Rule::Time, Some(index), reason, "Take it out, or send the load in an earlier contact.");
        } else if tick - now > FAR_TICKS {
            let back = u64::from(u32::MAX) + 1 - u64::from(tick);
            let reason = format!(
                "its time is {:.1} days ahead, or {:.2} s before the clock's start, rolled over",
                f64::from(tick - now) / 8.64e6,
                back as f64 / 100.0
            );
            findings.refuse(
                Rule::Time,
                Some(index),
                reason,
                "Work the time out again; ticks count from the start of the on-board clock.",
            );
        } else if tick > end {
            let reason =
                format!("its time is {} s beyond what is predicted: nothing can be shown of it", seconds(tick - end));
            findings.refuse(
                Rule::Time,
                Some(index),
                reason,
                "Lengthen run.duration_h of the scenario, or move the command.",
            );
        }
        before = Some(before.map_or(tick, |earlier| earlier.max(tick)));
    }
}

fn values(load: &Load, against: &Against, findings: &mut Findings<'_>) {
    for (index, entry) in load.entries.iter().enumerate() {
        match entry.command {
            Command::CameraOn { slit, .. } if slit >= against.slits && slit != ANY_SLIT => {
                let reason = format!("slit {} does not exist: the camera has {}", u16::from(slit) + 1, against.slits);
                findings.refuse(Rule::Value, Some(index), reason, "Use a slit of the camera, or auto.");
            }
            Command::Speed(step) if step > against.most_speed => {
                let reason = format!("{step} steps are faster than the drive's {}", against.most_speed);
                findings.refuse(Rule::Value, Some(index), reason, "Work the image speed out again.");
            }
            _ => {}
        }
    }
}

fn camera(load: &Load, against: &Against, findings: &mut Findings<'_>) {
    let longest_ticks = f64::from(against.longest_camera_s) * 100.0;
    let mut on: Option<(usize, u32)> = None;
    for index in in_time(load) {
        let Some(entry) = load.entries.get(index) else { continue };
        let since = on.map(|(first, since)| (first, entry.tick - since));
        match (entry.command, since) {
            (Command::CameraOn { .. }, Some((first, ticks))) => {
                let reason = format!(
                    "the camera is on already, for {} s since entry {}: two camera-ons overlap",
                    seconds(ticks),
                    first + 1
                );
                findings.refuse(Rule::Camera, Some(index), reason, "Switch it off before, or take one camera-on out.");
            }
            (Command::CameraOn { .. }, None) => on = Some((index, entry.tick)),
            (Command::CameraOff, None) => {
                findings.refuse(
                    Rule::Camera,
                    Some(index),
                    "the camera is off already".to_owned(),
                    "Take it out, or find the camera-on that is missing.",
                );
            }
            (Command::CameraOff, Some((first, ticks))) => {
                if f64::from(ticks) > longest_ticks {
                    let reason = format!(
                        "the camera stays on for {} s; the vehicle allows {:.0} s",
                        seconds(ticks),
                        against.longest_camera_s
                    );
                    findings.refuse(Rule::Camera, Some(first), reason, "Shorten it, or split it in two.");
                }
                on = None;
            }
            (Command::Secure, Some(_)) => {
                findings.refuse(
                    Rule::Camera,
                    Some(index),
                    "film is to be cut while the camera is on".to_owned(),
                    "Switch the camera off first.",
                );
            }
            _ => {}
        }
    }
    if let Some((first, _)) = on {
        let reason = "the camera is left on at the end of the load".to_owned();
        findings.refuse(Rule::Camera, Some(first), reason, "Add a camera_off.");
    }
}

fn seconds(ticks: u32) -> String {
    format!("{:.2}", f64::from(ticks) / 100.0)
}

/// A refusal of the flight code in words, with the entry it names, counted from 0.
pub fn on_board_words(error: LoadError) -> (Option<usize>, &'static str) {
    match error {
        LoadError::Length => (None, "its length is not what its entry count asks for"),
        LoadError::Mark => (None, "it does not begin with the mark of this format's version"),
        LoadError::Checksum => (None, "its check sum does not match"),
        LoadError::TooMany => (None, "it has more entries than the store holds"),
        LoadError::Entry(entry) => (Some(entry.into()), "unknown kind or value"),
        LoadError::Ephemeris => (None, "its orbit constants are those of no low orbit"),
        LoadError::Counter => (None, "its counter does not rise"),
        LoadError::Order(entry) => (Some(entry.into()), "earlier than the entry before"),
        LoadError::Past(entry) => (Some(entry.into()), "its time has passed"),
        LoadError::Camera(entry) => (Some(entry.into()), "camera on while on, or off while off"),
        LoadError::TooLong(entry) => (Some(entry.into()), "the camera stays on for too long"),
        LoadError::LeftOn => (None, "the camera is left on"),
        LoadError::Packet => (None, "it is no telecommand packet for this vehicle"),
        LoadError::Far(entry) => (Some(entry.into()), "its time lies further ahead than a mission lasts"),
        LoadError::Film(entry) => (Some(entry.into()), "the film left does not reach"),
        LoadError::Phase(entry) => (Some(entry.into()), "it does not fit the state of the mission"),
        LoadError::Receiver(entry) => (Some(entry.into()), "receiver off for too long, off twice, or left off"),
        LoadError::Timer(entry) => (Some(entry.into()), "a time of silence out of its bounds"),
        LoadError::Sequence => (None, "the telecommand's sequence count repeats or falls behind"),
        LoadError::Commit => (None, "no load waits that bears this counter and check sum"),
        LoadError::Expired => (None, "it was not put in force in time"),
        LoadError::Busy => (None, "the clock is not corrected while the camera is on"),
    }
}
