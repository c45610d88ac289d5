//! When the receiver listens: as the load sets it, after a telecommand, and by itself after a silence.
//!
//! The same rules as the flight code's (`contact`), as stretches of time: it is open while the programme has it on,
//! for [`HELD_OPEN_S`] after a telecommand, and once silence has lasted as long as the load or the settings say.

use stillframe_controller::{
    contact::{ContactSettings, HELD_OPEN_S, Wanted},
    programme::load::{Command, Load},
};

/// A stretch of time, s.
pub type Span = [f64; 2];

/// When the receiver is open.
#[derive(Clone, Debug, PartialEq)]
pub struct Listening {
    /// Open stretches, in order, not touching, s.
    pub open: Vec<Span>,
}

impl Listening {
    /// Joins stretches that overlap.
    pub fn from_spans(mut spans: Vec<Span>) -> Self {
        spans.retain(|[open, close]| close > open);
        spans.sort_by(|a, b| a[0].total_cmp(&b[0]));
        let mut open: Vec<Span> = Vec::new();
        for span in spans {
            match open.last_mut() {
                Some(last) if span[0] <= last[1] => last[1] = last[1].max(span[1]),
                _ => open.push(span),
            }
        }
        Self { open }
    }

    /// How long the receiver is open between two times, s.
    pub fn overlap_s(&self, from_s: f64, to_s: f64) -> f64 {
        self.open.iter().map(|[open, close]| (close.min(to_s) - open.max(from_s)).max(0.0)).sum()
    }

    /// The open stretch that a stretch overlaps first, or else the nearest.
    pub fn nearest(&self, from_s: f64, to_s: f64) -> Option<Span> {
        let overlapping = self.open.iter().find(|[open, close]| *open < to_s && *close > from_s);
        let off = |span: &&Span| (span[0] - to_s).max(from_s - span[1]);
        overlapping.or_else(|| self.open.iter().min_by(|a, b| off(a).total_cmp(&off(b)))).copied()
    }
}

/// What a load asks of the receiver.
#[derive(Clone, Debug, PartialEq)]
pub struct Programme {
    /// Stretches with the receiver on by programme, s.
    on: Vec<Span>,
    /// Silence after which it opens by itself, s, each from a time on.
    open_after_s: Vec<(f64, f64)>,
    /// Silence after which the vehicle makes itself safe, s, each from a time on.
    pub safe_after_s: Vec<(f64, f64)>,
    /// End of what is predicted, s.
    end_s: f64,
}

impl Programme {
    /// Reads it out of a load. A load begins with the receiver on and both times as set.
    pub fn of(load: &Load, set: &ContactSettings, end_s: f64) -> Self {
        let bounded = |open_min: u32, safe_min: u32| {
            let wanted = Wanted {
                on: true,
                open_after_s: open_min.saturating_mul(60),
                safe_after_s: safe_min.saturating_mul(60),
            };
            wanted.bounded()
        };
        let as_set = bounded(set.open_after_min, set.safe_after_min);
        let mut found = Self {
            on: Vec::new(),
            open_after_s: vec![(f64::NEG_INFINITY, f64::from(as_set.open_after_s))],
            safe_after_s: vec![(f64::NEG_INFINITY, f64::from(as_set.safe_after_s))],
            end_s,
        };
        let mut since = Some(f64::NEG_INFINITY);
        for index in super::sequence::in_time(load) {
            let Some(entry) = load.entries.get(index) else { continue };
            let at_s = f64::from(entry.tick) / 100.0;
            match entry.command {
                Command::Receiver(true) => since = since.or(Some(at_s)),
                Command::Receiver(false) => found.on.extend(since.take().map(|from_s| [from_s, at_s])),
                Command::OpenAfter(minutes) => {
                    let wanted = bounded(u32::from(minutes), set.safe_after_min);
                    found.open_after_s.push((at_s, f64::from(wanted.open_after_s)));
                }
                Command::SafeAfter(minutes) => {
                    let wanted = bounded(set.open_after_min, u32::from(minutes));
                    found.safe_after_s.push((at_s, f64::from(wanted.safe_after_s)));
                }
                _ => {}
            }
        }
        found.on.extend(since.map(|from_s| [from_s, f64::INFINITY]));
        found
    }

    /// When the receiver is open if the vehicle hears nothing after `heard_s`.
    pub fn silent_from(&self, heard_s: f64) -> Listening {
        let mut spans = self.on.clone();
        spans.push([heard_s, heard_s + f64::from(HELD_OPEN_S)]);
        let ends = self.open_after_s.iter().skip(1).map(|(from_s, _)| *from_s).chain([f64::INFINITY]);
        let by_itself =
            self.open_after_s.iter().zip(ends).map(|((from_s, after_s), to_s)| [from_s.max(heard_s + after_s), to_s]);
        spans.extend(by_itself);
        let inside = spans.into_iter().map(|[open, close]| [open.max(heard_s), close.min(self.end_s)]);
        Listening::from_spans(inside.collect())
    }

    /// Longest silence that is borne at a time before the vehicle makes itself safe, s.
    pub fn safe_after_at_s(&self, at_s: f64) -> f64 {
        self.safe_after_s
            .iter()
            .take_while(|(from_s, _)| *from_s <= at_s)
            .last()
            .map_or(f64::INFINITY, |(_, after_s)| *after_s)
    }
}
