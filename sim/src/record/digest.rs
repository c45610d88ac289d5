//! What of a run is kept in memory for the report: bounded, whatever the run's length.

use std::collections::BTreeMap;

use super::columns::{JetEdge, Row};
use super::envelope::{Envelopes, Thinned};
use super::events::{Event, EventKind};

/// Most events kept for the report; the rest are counted and stand in `events.csv`.
pub const MOST_EVENTS: usize = 20_000;
/// Most spans kept of one code.
pub const MOST_SPANS: usize = 20_000;
/// Most jet edges kept of one close-up.
const MOST_EDGES: usize = 20_000;

/// A stretch of time in which a code kept its value.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Span {
    /// First row with this value, s.
    pub start_s: f64,
    /// First row with another value, or the last row of the run, s.
    pub end_s: f64,
    /// The value.
    pub code: i64,
}

/// Where the vehicle was, for the map.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct TrackPoint {
    /// Time since the start of the run, s.
    pub time_s: f64,
    /// Geodetic latitude, degrees.
    pub latitude_deg: f64,
    /// Longitude, degrees, −180…180.
    pub longitude_deg: f64,
    /// The programme had the camera on.
    pub camera_on: bool,
    /// A station heard the vehicle there.
    pub heard: bool,
}

/// Attitude error and rate at one moment.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PhasePoint {
    /// Time since the start of the run, s.
    pub time_s: f64,
    /// Roll, pitch and yaw error, rad.
    pub error_rad: [f32; 3],
    /// Body rate less the wanted rate, rad/s.
    pub rate_rad_s: [f32; 3],
    /// Mode of the flight code.
    pub mode: u8,
    /// The shutter was open.
    pub exposing: bool,
}

/// A stretch of the run to be shown in detail.
#[derive(Clone, Debug, PartialEq)]
pub struct Window {
    /// Title of the figures.
    pub title: String,
    /// Start, s.
    pub start_s: f64,
    /// End, s.
    pub end_s: f64,
}

/// The detail kept of one [`Window`].
#[derive(Clone, Debug)]
pub struct CloseUp {
    /// What it shows.
    pub window: Window,
    /// The series inside it.
    pub series: Envelopes,
    /// The path through the phase plane.
    pub phase: Thinned<PhasePoint>,
    /// Jet edges inside it.
    pub edges: Vec<JetEdge>,
}

/// The whole digest.
#[derive(Clone, Debug)]
pub struct Digest {
    /// Every digested series over the whole run.
    pub series: Envelopes,
    /// The stretches shown in detail.
    pub close_ups: Vec<CloseUp>,
    /// Attitude error against rate, over the whole run.
    pub phase: Thinned<PhasePoint>,
    /// Ground track.
    pub track: Thinned<TrackPoint>,
    /// Mode of the flight code.
    pub assumed_mode: Vec<Span>,
    /// Mode in the last telemetry heard.
    pub observed_mode: Vec<Span>,
    /// Camera commanded on (code 1) or off (0).
    pub camera: Vec<Span>,
    /// Station in contact, −1 for none.
    pub contact: Vec<Span>,
    /// In the Earth's shadow (1) or not (0).
    pub eclipse: Vec<Span>,
    /// The first [`MOST_EVENTS`] events that are not frames.
    pub events: Vec<Event>,
    /// How many events there were of each kind.
    pub event_counts: BTreeMap<EventKind, u64>,
    /// Openings of each jet.
    pub firings: [u64; 16],
    /// The last row.
    pub last: Option<Row>,
    /// First and last time seen, s.
    pub span_s: Option<(f64, f64)>,
    /// Rows seen.
    pub rows: u64,
}

impl Digest {
    /// An empty digest that will look closer at the given windows.
    pub fn new(windows: Vec<Window>) -> Self {
        let close_ups = windows.into_iter().map(|window| CloseUp {
            series: Envelopes::new(window.start_s),
            phase: Thinned::new(1_500),
            edges: Vec::new(),
            window,
        });
        Self {
            series: Envelopes::new(0.0),
            close_ups: close_ups.collect(),
            phase: Thinned::new(3_000),
            track: Thinned::new(8_000),
            assumed_mode: Vec::new(),
            observed_mode: Vec::new(),
            camera: Vec::new(),
            contact: Vec::new(),
            eclipse: Vec::new(),
            events: Vec::new(),
            event_counts: BTreeMap::new(),
            firings: [0; 16],
            last: None,
            span_s: None,
            rows: 0,
        }
    }

    /// Takes a row in.
    pub fn row(&mut self, row: &Row) {
        let t = row.time_s;
        self.rows += 1;
        self.span_s = Some(self.span_s.map_or((t, t), |(start, _)| (start, t)));
        self.last = Some(row.clone());
        self.series.push(row);
        self.phase.push(phase_point(row));
        self.track.push(TrackPoint {
            time_s: t,
            latitude_deg: row.latitude_deg,
            longitude_deg: row.longitude_deg,
            camera_on: row.camera_on,
            heard: row.contact_station >= 0,
        });
        extend(&mut self.assumed_mode, t, row.assumed_mode.into());
        extend(&mut self.observed_mode, t, row.observed_mode.into());
        extend(&mut self.camera, t, row.camera_on.into());
        extend(&mut self.contact, t, row.contact_station.into());
        extend(&mut self.eclipse, t, row.in_eclipse.into());
        for close_up in self.close_ups.iter_mut().filter(|c| contains(&c.window, t)) {
            close_up.series.push(row);
            close_up.phase.push(phase_point(row));
        }
    }

    /// Takes a jet's edge in.
    pub fn edge(&mut self, edge: &JetEdge) {
        if edge.open
            && let Some(count) = self.firings.get_mut(usize::from(edge.jet))
        {
            *count += 1;
        }
        for close_up in self.close_ups.iter_mut().filter(|c| contains(&c.window, edge.time_s)) {
            if close_up.edges.len() < MOST_EDGES {
                close_up.edges.push(edge.clone());
            }
        }
    }

    /// Takes an event in. Frames have a table of their own and are only counted.
    pub fn event(&mut self, event: &Event) {
        *self.event_counts.entry(event.kind).or_default() += 1;
        if event.kind != EventKind::Frame && self.events.len() < MOST_EVENTS {
            self.events.push(event.clone());
        }
    }
}

fn contains(window: &Window, t: f64) -> bool {
    t >= window.start_s && t <= window.end_s
}

fn phase_point(row: &Row) -> PhasePoint {
    PhasePoint {
        time_s: row.time_s,
        error_rad: row.attitude_error_rad,
        rate_rad_s: row.rate_error_rad_s,
        mode: row.assumed_mode,
        exposing: row.shutter_open,
    }
}

fn extend(spans: &mut Vec<Span>, t: f64, code: i64) {
    if let Some(last) = spans.last_mut() {
        last.end_s = t;
        if last.code == code {
            return;
        }
    }
    if spans.len() < MOST_SPANS {
        spans.push(Span { start_s: t, end_s: t, code });
    }
}
