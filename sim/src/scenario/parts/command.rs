//! `[[command]]`: the stored programme.

use serde_json::{Value, json};
use toml::Spanned;
use toml::de::DeValue;

use super::time::Utc;
use crate::scenario::read::FromToml;
use crate::scenario::read::context::Context;
use crate::scenario::read::number::plain_number;
use crate::scenario::read::spec::{Fallback, Spec, number, plain};
use crate::scenario::read::tagged::Tagged;
use crate::scenario::read::unit::{HOUR, MINUTE, SECOND};
use crate::{choice, record, union};

/// A time-tagged command.
pub type Command = Tagged<CommandTime, Action>;

record! {
    /// When a command acts: exactly one of the two.
    CommandTime checked by check_when {
        /// UTC.
        utc: Option<Utc> = "at", plain().optional();
        /// Hours since the start.
        after_start_s: Option<f64> = "at_h", number(HOUR, 0.0, 240.0).optional();
    }
}

impl CommandTime {
    /// Seconds from `start` to the command.
    pub fn start_s(&self, start: Utc) -> f64 {
        self.after_start_s.or_else(|| self.utc.map(|utc| utc.since_s(start))).unwrap_or(0.0)
    }
}

fn check_when(time: &CommandTime, key: &str, cx: &mut Context) {
    one_time(time.utc.is_some(), time.after_start_s.is_some(), key, cx);
}

/// Refuses an entry that has not exactly one of its two times.
pub(super) fn one_time(utc: bool, hours: bool, key: &str, cx: &mut Context) {
    if utc == hours {
        let help = "Give either `at` (UTC, e.g. 2026-03-21T08:15:30Z) or `at_h` (hours since the start).";
        cx.refuse(key, format!("{key} needs exactly one time"), "allowed: at, or at_h", help);
    }
}

union! {
    /// What a command does.
    Action by "do" {
        /// Camera on for a while.
        Camera(CameraOn) = "camera",
        /// Change of the attitude mode.
        Mode(ModeChange) = "mode",
        /// Film led on, cut, its tail wound in and its way into the capsule shut. Cannot be undone.
        CutAndSeal(NoAmount) = "cut_and_seal",
        /// Receiver on, or off until the next such command.
        Receiver(ReceiverOn) = "receiver",
        /// What silence leads to.
        Silence(Silence) = "silence",
    }
}

record! {
    /// A command that needs no amount.
    NoAmount {}
}

record! {
    /// Camera on.
    CameraOn {
        /// How long the camera stays on.
        for_s: f64 = "for_s", number(SECOND, 0.1, 3_600.0);
        /// Slit (or exposure setting) counted from 1, or "auto" for the exposure programme's choice.
        slit: Slit = "slit", plain().or_text("auto");
        /// Time from one frame to the next; framing camera only. Left out: from the camera's overlap.
        interval_s: Option<f64> = "interval_s", number(SECOND, 0.05, 600.0).optional();
    }
}

record! {
    /// Change of the attitude mode.
    ModeChange {
        /// The mode that begins.
        mode: Mode = "mode", plain();
    }
}

record! {
    /// Receiver window.
    ReceiverOn {
        /// On, or off.
        on: bool = "on", plain();
    }
}

record! {
    /// Times of silence; what is left out stays.
    Silence {
        /// Silence after which the receiver opens by itself.
        opens_after_s: Option<f64> = "opens_after_min", number(MINUTE, 1.0, 65_535.0).optional();
        /// Silence after which the vehicle makes itself safe.
        safe_after_s: Option<f64> = "safe_after_min", number(MINUTE, 1.0, 65_535.0).optional();
    }
}

choice! {
    /// Attitude mode that a command may ask for.
    Mode {
        /// Narrow deadband.
        Fine = "fine",
        /// Wide deadband that saves gas.
        Coarse = "coarse",
        /// No firing.
        Drift = "drift",
        /// Turned to the attitude in the settings' group `turn`, until another mode is asked for.
        Turned = "turned",
    }
}

/// Slit or exposure setting of a camera command.
#[derive(Clone, Copy, Debug, Eq, PartialEq)]
pub enum Slit {
    /// The exposure programme chooses.
    Auto,
    /// This one, counted from 0 (the file counts from 1).
    Index(u8),
}

impl FromToml for Slit {
    fn read(_: &Spec, meaning: &str, value: &Spanned<DeValue<'_>>, key: &str, cx: &mut Context) -> Option<Self> {
        if value.get_ref().as_str() == Some("auto") {
            return Some(Self::Auto);
        }
        let number = value.get_ref().as_integer().and_then(|_| plain_number(value, key, cx));
        let index = number.filter(|number| (1.0..=16.0).contains(number)).map(|number| Self::Index(number as u8 - 1));
        if index.is_none() {
            let message = format!("{key} is no slit");
            cx.refuse_at(key, Some(value.span()), message, "allowed: \"auto\", or 1 to 16", meaning);
        }
        index
    }

    fn fallback(spec: &Spec) -> Option<Self> {
        (spec.fallback == Fallback::Text("auto")).then_some(Self::Auto)
    }

    fn schema(_: &Spec) -> Value {
        json!({ "anyOf": [{ "const": "auto" }, { "type": "integer", "minimum": 1, "maximum": 16 }] })
    }
}
