//! The one-screen summary of a sizing.

use std::fmt::Write;
use std::path::Path;

use crate::design::camera::Study;
use crate::design::camera::budget::Budget;
use crate::design::camera::choice::{Price, Requirement};
use crate::design::camera::light::Openings;
use crate::design::camera::mass::pack_radius_m;
use crate::design::camera::model::Candidate;
use crate::design::camera::summary::switched_off;
use crate::design::camera::wants::{Rule, Wants};

/// What the search cost.
pub(super) struct Effort {
    /// Cameras evaluated.
    pub cameras: usize,
    /// Time it took, s.
    pub wall_s: f64,
}

/// What a sizing came to, on one screen.
pub(super) fn text(wants: &Wants, study: &Study, effort: &Effort, folder: &Path) -> String {
    let mut screen = Screen(String::new());
    asked(&mut screen, wants, study, effort);
    match (study.camera(), &study.budget) {
        (Some(camera), Some(budget)) => {
            verdict(&mut screen, wants, study, camera);
            account(&mut screen, wants, camera, budget);
        }
        _ => screen.line("NOT MET", "no camera of the search resolves anything: widen [search]".to_owned()),
    }
    for price in study.prices.iter().skip(1) {
        let name = format!("{} m", price.grd_m);
        screen.line(&name, price_text(wants, study, price));
    }
    let report = folder.join("report.html");
    format!("{}\nResults: {}\nOpen {} in a browser.", screen.0, folder.display(), report.display())
}

struct Screen(String);

impl Screen {
    fn line(&mut self, name: &str, value: String) {
        // Writing to a string cannot fail.
        let _ = writeln!(self.0, "  {name:<12} {value}");
    }
}

fn asked(screen: &mut Screen, wants: &Wants, study: &Study, effort: &Effort) {
    let mission = &wants.mission;
    let (low, high) = (mission.lowest_m / 1e3, mission.highest_m / 1e3);
    let heights = if low == high { format!("{low:.0} km") } else { format!("{low:.1} to {high:.1} km") };
    let suns = wants.light.sun_elevations_rad.iter().map(|sun| format!("{:.0}", sun.to_degrees()));
    let swath = if mission.swath_m > 0.0 { format!(", swath {} km", mission.swath_m / 1e3) } else { String::new() };
    screen.line(
        "wanted",
        format!("{} m{swath} from {heights}, Sun at {}°", mission.grd_m, suns.collect::<Vec<_>>().join("/")),
    );
    let off = switched_off(study.terms);
    if !off.is_empty() {
        screen.line("without", off.join(", "));
    }
    let pace = effort.cameras as f64 / effort.wall_s.max(1e-9);
    screen.line(
        "search",
        format!("{} cameras in {:.2} s ({:.0} thousand a second)", effort.cameras, effort.wall_s, pace / 1e3),
    );
}

fn verdict(screen: &mut Screen, wants: &Wants, study: &Study, camera: &Candidate) {
    if study.chosen.is_some() {
        screen.line("camera", format!("{}: the lightest that meets every want", name(wants, camera)));
        return;
    }
    screen.line("NOT MET", format!("nearest: {}", name(wants, camera)));
    for requirement in &study.missed {
        screen.line("", format!("misses {}", miss_text(wants, *requirement, camera)));
    }
    // With one miss the nearest camera is its own relaxation, and has just been told.
    for relaxation in study.relaxations.iter().filter(|relaxation| Some(relaxation.camera) != study.shown) {
        if let Some(other) = study.at(relaxation.camera) {
            let what = miss_text(wants, relaxation.requirement, other);
            screen.line("would do", format!("{} with {what}", name(wants, other)));
        }
    }
    if study.relaxations.is_empty() && study.candidates.len() > 1 {
        screen.line("would do", "no single want given up lets a camera through: at least two must give".to_owned());
    }
}

fn account(screen: &mut Screen, wants: &Wants, c: &Candidate, budget: &Budget) {
    let (other, other_name) = match budget.rule {
        Rule::ReciprocalSquares => (c.modulation_grd_m, "by modulation and threshold"),
        Rule::Modulation => (c.squares_grd_m, "by reciprocal squares"),
    };
    let judged = match budget.rule {
        Rule::ReciprocalSquares => c.squares_grd_m,
        Rule::Modulation => c.modulation_grd_m,
    };
    screen.line(
        "resolves",
        format!(
            "{:.2} m along, {:.2} across, by {}; {:.2} and {:.2} {other_name}",
            judged.along,
            judged.across,
            wants.mission.judged_by.word().replace('-', " "),
            other.along,
            other.across
        ),
    );
    let lp_mm = |per_m: f64| per_m * 1e-3;
    screen.line(
        "on film",
        format!(
            "lens {:.0} ({:.0} in best focus), film {:.0}, together {:.1} at rest, {:.1} along and {:.1} lp/mm across",
            lp_mm(c.lens_per_m),
            lp_mm(budget.best_focus_per_m),
            lp_mm(c.film_per_m),
            lp_mm(budget.at_rest.squares_per_m.along),
            lp_mm(c.squares_per_m.along),
            lp_mm(c.squares_per_m.across),
        ),
    );
    screen.line("smear", format!("{:.2} µm along, {:.2} µm across", c.smear_m.along * 1e6, c.smear_m.across * 1e6));
    let used = 100.0 * c.focus_error_m / c.depth_of_focus_m;
    screen.line(
        "focus",
        format!(
            "off by {:.1} of ±{:.1} µm: {used:.0} % used of {:.0} allowed",
            c.focus_error_m * 1e6,
            c.depth_of_focus_m * 1e6,
            100.0 * wants.focus.share
        ),
    );
    screen.line(
        "ground",
        format!(
            "scale 1 : {:.0}, swath {:.1} km, half-field {:.1}°; image runs at {:.2} mm/s",
            budget.scale,
            c.swath_m / 1e3,
            c.half_field_rad.to_degrees(),
            budget.image_speed_m_s * 1e3
        ),
    );
    let m = &c.mass;
    screen.line(
        "mass",
        format!(
            "{:.1} kg: lens {:.1}, tube {:.1}, transport {:.1}, film {:.1}, rest {:.1}; length {:.0} mm",
            c.mass_kg,
            m.optics_kg,
            m.tube_kg,
            m.transport_kg,
            m.film_kg,
            m.fixed_kg,
            c.length_m * 1e3
        ),
    );
    if let Some(film) = wants.films.get(c.point.film) {
        let radius_mm = pack_radius_m(&wants.build, film, c.film_m) * 1e3;
        screen.line("film load", format!("{:.0} m, pack radius {radius_mm:.0} mm", c.film_m));
    }
    let mut lines: Vec<_> = budget.lines.iter().filter(|line| line.on).collect();
    lines.sort_by(|a, b| budget.worth_m(b).total_cmp(&budget.worth_m(a)));
    let Some(first) = lines.first() else { return };
    screen.line("limited by", format!("{}: without it {:.2} m", first.term.title(), c.grd_m - budget.worth_m(first)));
    let rest = lines.iter().skip(1).map(|line| format!("{} {:.3}", line.term.word(), budget.worth_m(line)));
    for (index, chunk) in rest.collect::<Vec<_>>().chunks(6).enumerate() {
        screen.line(if index == 0 { "then, in m" } else { "" }, chunk.join(", "));
    }
}

/// A camera in a few words.
fn name(wants: &Wants, c: &Candidate) -> String {
    let film = wants.films.get(c.point.film).map_or("", |film| film.name.as_str());
    let slit = Openings::of(wants).slit_m(c.exposure_s, &c.height, c.point.focal_length_m);
    let slit = slit.map_or(String::new(), |slit_m| format!("slit {:.3} mm, ", slit_m * 1e3));
    format!(
        "{:.0} mm f/{} on {film}, {slit}{:.2} ms, {:.1} kg",
        c.point.focal_length_m * 1e3,
        c.point.f_number,
        c.exposure_s * 1e3,
        c.mass_kg
    )
}

/// What a camera has against what is asked.
fn miss_text(wants: &Wants, requirement: Requirement, camera: &Candidate) -> String {
    let (unit, decimals) = requirement.unit();
    let Some((has, asked)) = requirement.values(wants, camera) else {
        return requirement.title().to_owned();
    };
    format!("{} {has:.decimals$} {unit} ({} = {asked:.decimals$})", requirement.title(), requirement.key())
}

fn price_text(wants: &Wants, study: &Study, price: &Price) -> String {
    let Some(camera) = price.camera.and_then(|index| study.at(index)) else {
        return "no camera of the search reaches it".to_owned();
    };
    if price.missed.is_empty() {
        return format!("takes {}", name(wants, camera));
    }
    let misses = price.missed.iter().map(|requirement| miss_text(wants, *requirement, camera));
    format!("takes {}; beyond {}", name(wants, camera), misses.collect::<Vec<_>>().join(", "))
}
