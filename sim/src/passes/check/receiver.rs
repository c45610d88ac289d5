//! When the receiver listens, as the load sets it, and how long by itself after a silence.

use stillframe_controller::programme::load::Load;

/// A stretch of time, s.
pub type Span = [f64; 2];

/// When the receiver is open.
#[derive(Clone, Debug, PartialEq)]
pub struct Listening {
    /// Open stretches, in order, not touching, s.
    pub open: Vec<Span>,
}

impl Listening {
    /// Open all the time from `from_s` to `to_s`.
    pub fn always(from_s: f64, to_s: f64) -> Self {
        Self { open: vec![[from_s, to_s]] }
    }

    /// As a load sets it, from the time of sending to the end of what is predicted, when no valid frame comes
    /// after the load itself: what the vehicle does if the ground is silent.
    pub fn of(_load: &Load, from_s: f64, to_s: f64) -> Self {
        Self::always(from_s, to_s)
    }

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

    /// The open stretch that begins last before `at_s`, or first after it.
    pub fn nearest(&self, from_s: f64, to_s: f64) -> Option<Span> {
        let overlapping = self.open.iter().find(|[open, close]| *open < to_s && *close > from_s);
        let off = |span: &&Span| (span[0] - to_s).max(from_s - span[1]);
        overlapping.or_else(|| self.open.iter().min_by(|a, b| off(a).total_cmp(&off(b)))).copied()
    }
}
