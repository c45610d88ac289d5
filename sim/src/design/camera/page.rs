//! The report of a sizing: one self-contained page in the manner of a run's.
//!
//! Numbers quoted from the summary carry its key, so that a program can check the page against the JSON.

use maud::{Markup, html};

use super::figures;
use super::model::Model;
use super::study::Study;
use super::summary::{AxesSummary, CameraSummary, MissSummary, SizingSummary, TermSummary};
use super::terms::Term;
use super::wants::{Rule, Wants};
use crate::report::page::{Section, shell};
use crate::report::renumbered;
use crate::report::stores::bar;
use crate::report::text::{count, fixed, quoted, significant};

/// The page as text.
pub fn render(wants: &Wants, study: &Study, summary: &SizingSummary) -> String {
    let title = format!("{} · camera sizing", summary.name);
    let heading = format!("The camera for {}", summary.name);
    let lead = html! {
        (verdict(wants, summary))
        @if let Some(camera) = &summary.camera { (key_numbers(camera)) }
    };
    let sections = sections(wants, study, summary);
    let page = shell((&title, "Camera sizing · design study", &heading), &identity(wants, summary), &lead, &sections);
    renumbered(&page.into_string())
}

fn identity(wants: &Wants, s: &SizingSummary) -> Markup {
    let m = &wants.mission;
    let suns = wants.light.sun_elevations_rad.iter().map(|sun| fixed(sun.to_degrees(), 0)).collect::<Vec<_>>();
    html! {
        table class="plain" { tbody {
            tr { th scope="row" { "Wanted" } td { (significant(m.grd_m, 3)) " m, a full line pair" } th scope="row" { "From" } td { (fixed(m.lowest_m * 1e-3, 0)) "–" (fixed(m.highest_m * 1e-3, 0)) " km" } }
            tr { th scope="row" { "Sun" } td { (suns.join(", ")) "°" } th scope="row" { "Judged by" } td { (s.judged_by.replace('-', " ")) } }
            tr { th scope="row" { "Searched" } td { (quoted("candidates", s.candidates as f64, &count(s.candidates))) " cameras" } th scope="row" { "Program" } td { (s.program_version) } }
            @if !s.without.is_empty() { tr { th scope="row" { "Left out" } td colspan="3" { b { (s.without.join(", ")) } " (switched off on the command line: this is no true budget)" } } }
        } }
    }
}

fn verdict(wants: &Wants, s: &SizingSummary) -> Markup {
    html! {
        div class=(if s.met { "verdict met" } else { "verdict missed" }) {
            @match (&s.camera, s.met) {
                (Some(c), true) => { strong { "✓ The lightest camera that meets every want: " (name(c)) "." } }
                (Some(c), false) => { strong { "✗ No camera of the search meets every want. The nearest: " (name(c)) "." } }
                (None, _) => { strong { "✗ No camera of the search resolves anything. Widen the search." } }
            }
        }
        @if !s.met {
            @for miss in &s.missed { p { "It misses " (miss_text(miss)) "." } }
            @if s.relaxations.is_empty() && s.candidates > 1 { p { "No single want, given up, lets a camera through: at least two must give." } }
            @if !s.relaxations.is_empty() {
                p { "One want given up would do; each line is the least that lets a camera of the search through:" }
                ul { @for miss in &s.relaxations { li { (miss_text(miss)) } } }
            }
        }
        @if wants.mission.judged_by == Rule::ReciprocalSquares { (two_rules(s)) }
    }
}

/// Where the two rules part, said up front.
fn two_rules(s: &SizingSummary) -> Markup {
    html! { @if let Some(c) = &s.camera {
        p { "Judged by the reciprocal squares, as low-contrast figures of lens and film are usually put together: "
            (pair("camera.squares_grd_m", &c.squares_grd_m, 2)) " m along / across. By modulation against the film's threshold curve the same camera reaches "
            (pair("camera.modulation_grd_m", &c.modulation_grd_m, 2)) " m." }
    } }
}

fn name(c: &CameraSummary) -> String {
    format!("{} mm f/{} on {}, {} kg", fixed(c.focal_length_mm, 0), c.f_number, c.film, fixed(c.mass_kg, 1))
}

fn miss_text(miss: &MissSummary) -> Markup {
    html! { code { (miss.key) } ": has " (significant(miss.has, 4)) " " (miss.unit) ", asked " (significant(miss.asked, 4)) " " (miss.unit) }
}

fn pair(key: &str, axes: &AxesSummary, decimals: usize) -> Markup {
    let one = |name: &str, value: Option<f64>| match value {
        Some(value) => quoted(&format!("{key}.{name}"), value, &fixed(value, decimals)),
        None => html! { "—" },
    };
    html! { (one("along", axes.along)) " / " (one("across", axes.across)) }
}

fn key_numbers(c: &CameraSummary) -> Markup {
    let item = |name: &str, key: &str, value: f64, text: String| html! { div { dt { (name) } dd { (quoted(&format!("camera.{key}"), value, &text)) } } };
    html! {
        dl class="key" {
            (item("focal length", "focal_length_mm", c.focal_length_mm, format!("{} mm", fixed(c.focal_length_mm, 0))))
            (item("f-number", "f_number", c.f_number, format!("f/{}", c.f_number)))
            (item("aperture", "aperture_mm", c.aperture_mm, format!("{} mm", fixed(c.aperture_mm, 0))))
            (item("scale", "scale", c.scale, format!("1 : {}", count(c.scale.round() as u64))))
            (item("swath", "swath_km", c.swath_km, format!("{} km", fixed(c.swath_km, 1))))
            (item("exposure", "exposure_ms", c.exposure_ms, format!("{} ms", fixed(c.exposure_ms, 2))))
            @if let Some(slit_mm) = c.slit_mm { (item("slit", "slit_mm", slit_mm, format!("{} mm", fixed(slit_mm, 3)))) }
            (item("half-field", "half_field_deg", c.half_field_deg, format!("{}°", fixed(c.half_field_deg, 1))))
            (item("length", "length_mm", c.length_mm, format!("{} mm", fixed(c.length_mm, 0))))
            (item("mass with film", "mass_kg", c.mass_kg, format!("{} kg", fixed(c.mass_kg, 1))))
        }
    }
}

fn sections(wants: &Wants, study: &Study, s: &SizingSummary) -> Vec<Section> {
    let section = |id, title, body| Section { id, title, body };
    let model = Model::new(wants);
    let mut all = vec![section("trade", "Resolution against mass", trade(wants, study, s))];
    if let (Some(camera), Some(c)) = (study.camera(), &s.camera) {
        all.push(section("budget", "Budget of the camera", budget(s, c)));
        all.push(section("modulation", "Where resolution ends", html! {
            figure { (figures::modulation(&model, camera, study.terms)) figcaption { "Modulation of the target’s image left by lens and smear, and the modulation the film needs. Where they cross, resolution by modulation ends." } }
        }));
        all.push(section("focus", "Focus", focus(&model, study, c)));
        all.push(section("lengths", "Focal length and aperture", html! {
            figure { (figures::lengths(&model, camera, study.terms)) figcaption { "Ground resolved distance against focal length on this film, exposed as the light asks. A faster lens exposes shorter and smears less; a slower one diffracts more." } }
        }));
        all.push(section("light", "Light and exposure", light(s)));
        all.push(section("mass", "Mass and film load", mass(c)));
    }
    all.push(section("sources", "Models and sources", sources()));
    all.push(section("cautions", "Cautions", cautions()));
    all
}

fn trade(wants: &Wants, study: &Study, s: &SizingSummary) -> Markup {
    html! {
        figure {
            (figures::trade(wants, study))
            figcaption { "Ground resolved distance against mass: no camera lies below and left of a line. Between the lines is what swath and limits cost." }
        }
        table class="numbers keep" {
            thead { tr { th scope="col" { "GRD, m" } th scope="col" class="word" { "takes" } th scope="col" { "length, mm" } th scope="col" { "swath, km" } th scope="col" { "mass, kg" } th scope="col" class="word" { "beyond what was asked" } } }
            tbody { @for (k, price) in s.prices.iter().enumerate() { tr class=[(!price.missed.is_empty() || price.camera.is_none()).then_some("missed")] {
                td { (quoted(&format!("prices.{k}.grd_m"), price.grd_m, &significant(price.grd_m, 3))) }
                @match &price.camera {
                    None => { td class="word" colspan="5" { "no camera of the search reaches it" } }
                    Some(c) => {
                        td class="word" { (fixed(c.focal_length_mm, 0)) " mm f/" (c.f_number) " on " (c.film) }
                        td { (quoted(&format!("prices.{k}.camera.length_mm"), c.length_mm, &fixed(c.length_mm, 0))) }
                        td { (quoted(&format!("prices.{k}.camera.swath_km"), c.swath_km, &fixed(c.swath_km, 1))) }
                        td { (quoted(&format!("prices.{k}.camera.mass_kg"), c.mass_kg, &fixed(c.mass_kg, 1))) }
                        td class="word" { @if price.missed.is_empty() { "nothing" } @for miss in &price.missed { (miss_text(miss)) "; " } }
                    }
                }
            } } }
        }
        p { "Each line is the lightest camera for its distance, within all other wants; failing that, without regard to length, mass and aperture; failing that, to swath. The "
            (s.pareto.len()) " cameras of the full line stand in " code { "pareto.csv" } "." }
    }
}

fn budget(s: &SizingSummary, c: &CameraSummary) -> Markup {
    let most = s.terms.iter().filter_map(|term| term.worth_m).fold(0.0, f64::max);
    html! {
        p { "The camera is limited by "
            @match s.limiting_term.as_deref().and_then(Term::find) { Some(term) => { b { (term.title()) } } None => { "nothing that is counted" } }
            ". Smear is " (pair("camera.smear_um", &c.smear_um, 2)) " µm along / across; resolution on film "
            (pair("camera.squares_lp_mm", &c.squares_lp_mm, 1)) " lp/mm by reciprocal squares, "
            (pair("camera.modulation_lp_mm", &c.modulation_lp_mm, 1)) " by modulation." }
        table class="numbers" {
            thead {
                tr { th scope="col" class="word" rowspan="2" { "term" } th scope="col" colspan="2" { "shift, µm" } th scope="col" colspan="2" { "contrast left" }
                    th scope="col" colspan="2" { "GRD without, m: squares" } th scope="col" colspan="2" { "modulation" } th scope="col" rowspan="2" { "worth, m" } th rowspan="2" class="wide" {} }
                tr { @for _ in 0..4 { th scope="col" { "along" } th scope="col" { "across" } } }
            }
            tbody {
                @for (k, term) in s.terms.iter().enumerate() { (term_row(k, term, most)) }
                tr class="first" { th scope="row" class="word" { "all together" }
                    (cells("camera.smear_um", Some(&c.smear_um), 2)) td {} td {}
                    (cells("camera.squares_grd_m", Some(&c.squares_grd_m), 2)) (cells("camera.modulation_grd_m", Some(&c.modulation_grd_m), 2)) td {} td class="wide" {} }
            }
        }
        p { "Shift is motion of the image during the exposure, or distance of the film from best focus. Contrast left is each term’s transfer function at the camera’s "
            "resolution. Worth is the gain on the worse axis, by the rule that judges, if the term alone were away; worths do not add up." }
    }
}

fn term_row(k: usize, term: &TermSummary, most: f64) -> Markup {
    let title = Term::find(&term.term).map_or_else(|| term.term.clone(), |term| term.title().to_owned());
    let key = |field: &str| format!("terms.{k}.{field}");
    html! { tr {
        td class="word" { (title) @if !term.on { " (left out)" } }
        (cells(&key("shift_um"), term.shift_um.as_ref(), 2)) (cells(&key("contrast"), term.contrast.as_ref(), 3))
        (cells(&key("squares_without_m"), Some(&term.squares_without_m), 3)) (cells(&key("modulation_without_m"), Some(&term.modulation_without_m), 3))
        td { @match term.worth_m { Some(worth) => { (quoted(&key("worth_m"), worth, &fixed(worth, 3))) } None => { "—" } } }
        td class="wide" { (bar(term.worth_m.unwrap_or(0.0), most)) }
    } }
}

fn cells(key: &str, axes: Option<&AxesSummary>, decimals: usize) -> Markup {
    let cell = |name: &str, value: Option<f64>| match value {
        Some(value) => html! { td { (quoted(&format!("{key}.{name}"), value, &fixed(value, decimals))) } },
        None => html! { td { "" } },
    };
    html! { (cell("along", axes.and_then(|a| a.along))) (cell("across", axes.and_then(|a| a.across))) }
}

fn focus(model: &Model<'_>, study: &Study, c: &CameraSummary) -> Markup {
    html! {
        p { "Film is expected " (quoted("camera.focus_error_um", c.focus_error_um, &fixed(c.focus_error_um, 1))) " µm from best focus (root of the sum of squares), with a depth of ±"
            (quoted("camera.depth_of_focus_um", c.depth_of_focus_um, &fixed(c.depth_of_focus_um, 1))) " µm." }
        @if let Some(camera) = study.camera() { figure { (figures::focus(model, camera, study.terms)) figcaption { "Resolution of lens and film through focus. Shaded: the share of the depth that errors may use." } } }
    }
}

fn light(s: &SizingSummary) -> Markup {
    html! {
        table class="numbers keep" {
            thead { tr { th scope="col" { "Sun, °" } th scope="col" { "ground, klx" } th scope="col" { "film, lx" } th scope="col" { "slit, mm" } th scope="col" { "exposure, ms" } th scope="col" { "mean scene, lx·s" } th scope="col" { "off, stops" } } }
            tbody { @for (k, sun) in s.suns.iter().enumerate() {
                @let q = |field: &str, value: f64, text: String| quoted(&format!("suns.{k}.{field}"), value, &text);
                tr { td { (q("sun_elevation_deg", sun.sun_elevation_deg, fixed(sun.sun_elevation_deg, 0))) } td { (fixed(sun.ground_lx * 1e-3, 1)) }
                    td { (q("film_lx", sun.film_lx, fixed(sun.film_lx, 1))) } td { @match sun.slit_mm { Some(slit) => { (q("slit_mm", slit, fixed(slit, 4))) } None => { "—" } } }
                    td { (q("exposure_ms", sun.exposure_ms, fixed(sun.exposure_ms, 2))) } td { (q("exposure_lx_s", sun.exposure_lx_s, fixed(sun.exposure_lx_s, 3))) }
                    td { (q("stops_off", sun.stops_off, fixed(sun.stops_off, 2))) } }
            } }
        }
        p { "Positive stops are over-exposure of the dark detail against the film’s speed point; the worst over the range of heights. The camera is sized for the lowest Sun." }
    }
}

fn mass(c: &CameraSummary) -> Markup {
    let row = |name: &str, key: &str, value: f64| html! { tr { td class="word" { (name) } td { (quoted(&format!("camera.{key}"), value, &fixed(value, 1))) } td class="wide" { (bar(value, c.mass_kg)) } } };
    html! {
        table class="numbers keep" {
            thead { tr { th scope="col" class="word" { "part" } th scope="col" { "kg" } th class="wide" {} } }
            tbody { (row("lens", "optics_kg", c.optics_kg)) (row("tube, mounts, insulation", "tube_kg", c.tube_kg)) (row("film transport", "transport_kg", c.transport_kg))
                (row("film", "film_kg", c.film_kg)) (row("shutter, electronics, window", "fixed_kg", c.fixed_kg)) (row("all", "mass_kg", c.mass_kg)) }
        }
        p { "Film load " (quoted("camera.film_m", c.film_m, &fixed(c.film_m, 0))) " m. The law behind the masses is a choice of this program with its factors in " code { "[build]" } ": it ranks cameras; a weight statement it is not." }
    }
}

fn sources() -> Markup {
    let all = [
        ("Image speed", "f·n·R/h over a round Earth, the vehicle turning to keep looking down"),
        ("Diffraction", "incoherent round aperture, cut-off 1/(λN); depth of focus ±2λN² (Rayleigh’s quarter wave)"),
        (
            "Focus",
            "disc out of focus, 2·J1(x)/x, with the factor for diffraction after Goodman, Introduction to Fourier Optics (from memory)",
        ),
        (
            "Aberration",
            "Gaussian blur fitted to one low-contrast resolution; scaled designs by f/N³, third-order spherical (A. W. Lohmann, Applied Optics 28, 4996, 1989, from memory)",
        ),
        (
            "Film",
            "needed modulation between the resolving powers at 1.6:1 and 1000:1 by a power law (own choice), or measured curves",
        ),
        ("Smear", "root of the sum of squares of the terms, sinc of that length (common practice)"),
        (
            "Light",
            "clear sky with Kasten & Young’s air mass (Applied Optics 28, 4735, 1989); π·L·T/4N²; aerial speed 1.5/H (from memory)",
        ),
        (
            "Resolution",
            "reciprocal squares (common practice; exact for Gaussian blurs) beside modulation and threshold; three-bar targets of MIL-STD-150A",
        ),
        ("Mass", "own choice: aperture to a power, tube by surface, transport by film width"),
    ];
    html! { table class="numbers" {
        thead { tr { th scope="col" class="word" { "what for" } th scope="col" class="word" { "source" } } }
        tbody { @for (what, source) in all { tr { td class="word" { (what) } td class="word" { (source) } } } }
    } }
}

fn cautions() -> Markup {
    html! {
        div class="cautions" {
            p { b { "This page is a design study. " } "It sizes; it releases nothing to be built." }
            ul {
                li { b { "Catalogue figures. " } "Resolving power at 1000:1 must not stand where 1.6:1 is meant; it reads two to three times too good." }
                li { b { "Focus in vacuum. " } "A lens set in air comes to another focus in vacuum. Set it there, or carry the difference in focus_setting_um." }
                li { b { "Light and haze. " } "The sky is a clear one times a factor. Haze differs by the hour; so does what a dark detail is." }
                li { b { "Film in vacuum and cold " } "dries, charges, cracks. Static marks are not in this budget. Neither are reels that must stop before hands reach in." }
                li { b { "Lasers and the Sun. " } "Aligning a lens of this aperture, or turning it to the Sun, burns film, shutters and eyes." }
            }
        }
    }
}
