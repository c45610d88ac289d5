//! What is told of the return when the run is over.

use super::Home;
use crate::{
    descent::{self, DescentError, Options, Study},
    record::summary::{ChainEvent, Touchdown, WayHome},
    scenario::Loaded,
};
use maud::html;
use stillframe_controller::ordnance::Event;

/// Descents flown for the footprint in a run's report; `descend` flies more.
const RUNS: u32 = 1_000;

/// The return for summary, report and folder.
pub struct Told {
    /// For the summary.
    pub summary: WayHome,
    /// The descent, if the capsule came down within the run.
    pub study: Option<Study>,
    /// For the report.
    pub fragment: String,
}

impl Home {
    /// Tells it, at the end of a run.
    ///
    /// # Errors
    /// If the predicted descent cannot be computed.
    pub fn told(&self, loaded: &Loaded, seed: u64, end_s: f64) -> Result<Told, DescentError> {
        let planned = &self.plan.planned;
        let fall = self.capsule.fall().filter(|fall| fall.last.at.t_s <= end_s);
        let options = Options { runs: RUNS, seed: Some(seed), ..Options::default() };
        let study = fall.map(|fall| descent::flown(loaded, planned, fall, &options)).transpose()?;
        let chain =
            self.happened.iter().map(|(time_s, event)| ChainEvent { event: event.name().into(), time_s: *time_s });
        let wanted = self.ignition().map(|at| self.model().at_retro(at.time_s, at.position_m, at.velocity_m_s).axis);
        let summary = WayHome {
            separation_planned_s: self.plan.separation_s(),
            ignition_planned_s: planned.at().time_s,
            events: chain.collect(),
            kept: self.desk.stayed().map(Into::into),
            pointing_error_deg: self.ignition().zip(wanted).map(|(at, wanted)| at.axis.angle(&wanted).to_degrees()),
            touchdown: study.as_ref().and_then(touchdown),
        };
        let fragment = self.fragment(&summary, study.as_ref());
        Ok(Told { summary, study, fragment })
    }

    fn fragment(&self, summary: &WayHome, study: Option<&Study>) -> String {
        let happened = |event: Event| self.happened.iter().find(|(_, other)| *other == event).map(|(at_s, _)| *at_s);
        let planned = |event: Event| match event {
            Event::CapsuleSeparation => Some(summary.separation_planned_s),
            Event::RetroIgnition => Some(summary.ignition_planned_s),
            _ => None,
        };
        let clock = |at_s: Option<f64>| at_s.map_or("–".to_owned(), |at_s| format!("{at_s:.2}"));
        let page = html! {
            @if let Some(why) = &summary.kept { p { b { "The capsule was kept: " } (why) "." } }
            table class="numbers keep" {
                thead { tr { th scope="col" class="word" { "event" } th scope="col" class="word" { "by" } th scope="col" { "planned, s" } th scope="col" { "happened, s" } } }
                tbody { @for event in Event::ALL { tr {
                    td class="word" { (event.name()) }
                    td class="word" { @if event.index() < 2 { "the vehicle, on an order" } @else { "the capsule, by itself" } }
                    td { (clock(planned(event))) } td { (clock(happened(event))) }
                } } }
            }
            p { "Orders, echoes and alarms stand among the events below. Every event wants five inhibits removed, two of them outside the processor; "
                "circuits, charges and capsule are models, and nothing here can reach real ordnance." }
            @if let Some(error_deg) = summary.pointing_error_deg {
                p { "The motor pushed " (format!("{error_deg:.2}")) "° away from the direction wanted." }
            }
            @if let Some(t) = &summary.touchdown {
                p { "Touchdown at " (place(t.latitude_deg, t.longitude_deg)) " with " (format!("{:.1}", t.speed_m_s)) " m/s, "
                    (format!("{:+.1} km along and {:+.1} km across", t.along_km, t.across_km)) " from the place predicted " @match self.tracked_s { Some(at_s) => { "when the vehicle was last tracked (" (format!("{at_s:.0}")) " s), " } None => { "before the flight, " } }
                    @if t.in_ellipse { "inside" } @else { "outside" } " the predicted ellipse and " @if t.in_zone { "inside" } @else { "outside" } " the zone. "
                    "The folder " code { "return" } " beside this page holds the whole study." }
            }
            @if let Some(study) = study { (descent::fragment(study)) }
        };
        page.into_string()
    }
}

/// A place in words.
pub fn place(latitude_deg: f64, longitude_deg: f64) -> String {
    let (north, east) = (if latitude_deg < 0.0 { "S" } else { "N" }, if longitude_deg < 0.0 { "W" } else { "E" });
    format!("{:.2}° {north} {:.2}° {east}", latitude_deg.abs(), longitude_deg.abs())
}

fn touchdown(study: &Study) -> Option<Touchdown> {
    let t = &study.summary.touchdown;
    let shown = study.descents.shown();
    let offset_m = [t.along_km? * 1e3, t.across_km? * 1e3];
    let place = descent::ground::below(&shown.last.at.position_m(), shown.last.at.t_s, &study.model.earth);
    Some(Touchdown {
        time_s: shown.last.at.t_s,
        latitude_deg: t.latitude_deg?,
        longitude_deg: t.longitude_deg?,
        along_km: t.along_km?,
        across_km: t.across_km?,
        in_zone: study.in_zone(&place),
        in_ellipse: study.descents.ellipse.as_ref().is_some_and(|ellipse| ellipse.holds(offset_m)),
        speed_m_s: t.speed_m_s?,
        canopies: [t.drogue.clone(), t.main.clone()],
    })
}
