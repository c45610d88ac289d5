//! The study as one self-contained page, in the form of a run's report.

use super::{
    document::{Candidate, Compared, Document},
    figures,
    keys::{AXES, differences},
    measure::Burst,
    stress::Doubt,
    study::Study,
};
use crate::{
    record::summary::{Bound, Criterion},
    report::{
        page::{Section, shell},
        renumbered,
        tables::cautions,
        text::{clock, count, fixed, quoted, significant, span},
    },
};
use maud::{Markup, html};
use std::collections::BTreeMap;

/// Most missed bursts listed for a candidate.
const MOST_BURSTS: usize = 40;

/// Most captures listed that were not as asked.
const MOST_CAPTURES: usize = 12;

/// The page as text.
pub fn render(study: &Study) -> String {
    let d = &study.document;
    let title = format!("{} · {} · attitude study", d.vehicle, d.scenario);
    let heading = format!("{}: tuning the attitude loop", d.vehicle);
    let page = shell((&title, "Design study · attitude", &heading), &identity(d), &lead(d), &sections(study));
    renumbered(&page.into_string())
}

fn identity(d: &Document) -> Markup {
    html! {
        table class="plain" { tbody {
            tr { th scope="row" { "Scenario" } td { (d.scenario) " " code { (d.scenario_hash) } } th scope="row" { "Seed" } td { (d.seed) } }
            tr { th scope="row" { "Program" } td { (d.program_version) } th scope="row" { "Ends with" } td { (d.candidates.get(d.chosen).map_or("", |c| c.name.as_str())) } }
        } }
    }
}

fn lead(d: &Document) -> Markup {
    let met = d.candidates.get(d.chosen).is_some_and(|c| c.criteria.iter().all(Criterion::met));
    html! {
        div class=(if met { "verdict met" } else { "verdict missed" }) {
            strong { @if met { "✓ The settings this study ends with meet everything asked." } @else { "✗ The settings this study ends with do not meet everything asked." } }
        }
        (criteria(d))
    }
}

fn sections(study: &Study) -> Vec<Section> {
    let d = &study.document;
    let section = |id, title, body| Section { id, title, body };
    let mut list = vec![
        section("vehicle", "The vehicle as the study sees it", vehicle(d)),
        section("settings", "Settings proposed, and why", proposal(d)),
        section("compared", "Closed forms beside simulation", closed_forms(d)),
        section("phase", "Phase planes", phase(study)),
        section("bursts", "Bursts that were not quiet", bursts(d)),
        section("margins", "Margins by describing function", margins(study)),
    ];
    if !d.limits.is_empty() {
        list.push(section("limits", "Limits by simulation", limits(d)));
    }
    if !d.points.is_empty() {
        list.push(section("sweep", "Sweep: gas against rate", sweep(study)));
    }
    if !d.capture_map.is_empty() || !d.captures.is_empty() {
        list.push(section("capture", "Capture", capture(d)));
    }
    list.push(section("differences", "Settings side by side", side_by_side(study)));
    list.push(section("sources", "Methods and sources", sources()));
    list.push(section("cautions", "Cautions", cautions()));
    list
}

fn with_unit(value: f64, unit: &str) -> String {
    if unit == "1" { significant(value, 3) } else { format!("{} {unit}", significant(value, 3)) }
}

/// One line for each thing asked, one column for each candidate.
fn criteria(d: &Document) -> Markup {
    let mut names: Vec<(&str, f64, Bound, &str)> = Vec::new();
    for c in d.candidates.iter().flat_map(|candidate| &candidate.criteria) {
        if !names.iter().any(|(name, ..)| *name == c.name) {
            names.push((&c.name, c.limit, c.bound, &c.unit));
        }
    }
    html! {
        table class="numbers keep" {
            thead { tr { th scope="col" class="word" { "asked" } th scope="col" { "limit" } @for c in &d.candidates { th scope="col" { (c.name) } } } }
            tbody { @for (name, limit, bound, unit) in names {
                tr { td class="word" { (name) } td { (match bound { Bound::AtMost => "≤ ", Bound::AtLeast => "≥ " }) (with_unit(limit, unit)) }
                    @for (k, c) in d.candidates.iter().enumerate() { td { (verdict(c, k, name)) } } }
            } }
        }
    }
}

fn verdict(candidate: &Candidate, number: usize, name: &str) -> Markup {
    let found = candidate.criteria.iter().enumerate().find(|(_, c)| c.name == name);
    html! {
        @match found {
            None => { "—" }
            Some((_, Criterion { value: None, .. })) => { b { "✗ never" } }
            Some((k, c)) => {
                @let value = c.value.unwrap_or(f64::NAN);
                @let text = quoted(&format!("candidates.{number}.criteria.{k}.value"), value, &with_unit(value, &c.unit));
                @if c.met() { "✓ " (text) } @else { b { "✗ " (text) } }
            }
        }
    }
}

fn vehicle(d: &Document) -> Markup {
    html! {
        p { "Inertia and jets as the settings give them; the disturbance is the plant’s own, as met in an orbit of hold. It is called steady where its mean keeps a cycle of the least pulse to one side (above ΔH²/16Iθ) and is more than half its mean size: there gas in hold is held against what it brings. Elsewhere the axis cycles freely, and gas is held against the free cycle’s closed form in a flight without disturbance." }
        p { "A step of the attitude loop cost " (quoted("step_ns", d.step_ns, &significant(d.step_ns, 3))) " ns on the computer that did this study (median in fine hold; 200 ns are asked)." }
        table class="numbers keep" {
            thead { tr { th scope="col" class="word" { "axis" } th scope="col" { "inertia, kg·m²" } th scope="col" { "jets, N·m" } th scope="col" { "lever, m" } th scope="col" { "specific impulse, s" }
                th scope="col" { "least step, 10⁻³ °/s" } th scope="col" { "disturbance: mean, mN·m" } th scope="col" { "mean size" } th scope="col" { "largest" } th scope="col" { "steady from" } th scope="col" class="word" { "steady" } } }
            tbody { @for (axis, a) in AXES.iter().zip(&d.axes) { tr {
                td class="word" { (axis) } td { (significant(a.inertia_kg_m2, 3)) } td { (significant(a.torque_nm, 3)) } td { (significant(a.lever_m, 3)) } td { (significant(a.specific_impulse_s, 3)) }
                td { (significant(a.least_step_deg_s * 1e3, 3)) } td { (significant(a.disturbance_mean_nm * 1e3, 3)) } td { (significant(a.disturbance_magnitude_nm * 1e3, 3)) } td { (significant(a.disturbance_largest_nm * 1e3, 3)) }
                td { (significant(a.steady_from_nm * 1e3, 3)) } td class="word" { (if a.steady { "yes" } else { "no" }) }
            } } }
        }
    }
}

fn proposal(d: &Document) -> Markup {
    html! {
        p { "Worked out from the vehicle alone; the sweep starts from here. Rules of thumb are common practice." }
        table class="numbers" {
            thead { tr { th scope="col" class="word" { "setting" } th scope="col" { "in hand" } th scope="col" { "proposed" } th scope="col" class="word" { "unit" } th scope="col" class="word" { "why" } } }
            tbody { @for c in &d.proposal { tr {
                td class="word" { code { (c.key) } } td { (c.before as f32) } td { b { (c.value as f32) } } td class="word" { (c.unit) } td class="word" { (c.reason) }
            } } }
        }
    }
}

fn closed_forms(d: &Document) -> Markup {
    html! {
        p { "Left, what the closed forms say of the settings; right, what the real controller did in the real plant. “Undisturbed” is a flight without air, gravity gradient and yaw steering; "
            "“in the programme” is the scenario’s own, where yaw steering, film starts and the placing of rates before bursts cost pulses that no closed form knows. Free cycles are not unique: any two drifts that differ by ΔH/I repeat, and slower ones than the symmetric cycle’s cost less. “At the drift seen” is the closed form for the mean drift that the flight had, ΔH·w/(2θ·L·Isp·g₀)." }
        table class="numbers dense keep" {
            thead {
                tr { th {} th {} th {} @for candidate in &d.candidates { th scope="colgroup" colspan="3" { (candidate.name) } } }
                tr { th scope="col" class="word" { "what" } th scope="col" class="word" { "axis" } th scope="col" class="word" { "unit" }
                    @for _ in &d.candidates { th scope="col" { "predicted" } th scope="col" { "measured" } th scope="col" { "off by" } } }
            }
            tbody { @for (n, row) in d.candidates.first().map_or(&[][..], |c| &c.compared).iter().enumerate() {
                tr class=[(n % 6 == 0).then_some("first")] { td class="word" { (row.name) } td class="word" { (row.axis) } td class="word" { (row.unit) }
                    @for (k, candidate) in d.candidates.iter().enumerate() { @if let Some(row) = candidate.compared.get(n) { (pair(row, &format!("candidates.{k}.compared.{n}"))) } } }
            } }
        }
    }
}

/// Predicted, measured, difference.
fn pair(row: &Compared, key: &str) -> Markup {
    html! {
        td { (quoted(&format!("{key}.predicted"), row.predicted, &significant(row.predicted, 3))) }
        td { @match row.measured { Some(v) => { (quoted(&format!("{key}.measured"), v, &significant(v, 3))) } None => { "—" } } }
        td { @match row.difference_percent { Some(v) => { (if v >= 0.0 { "+" } else { "" }) (fixed(v, 0)) " %" } None => { "—" } } }
    }
}

fn phase(study: &Study) -> Markup {
    let d = &study.document;
    html! { @for (candidate, settings) in d.candidates.iter().zip(&study.settings) {
        figure {
            (figures::phase_planes(&candidate.held, settings))
            figcaption { "Phase plane in the programme, axis by axis: " (candidate.name) ". Dots: the true state once a second, thinned. Broken lines: switching lines." }
        }
    } }
}

fn bursts(d: &Document) -> Markup {
    html! { @for candidate in &d.candidates {
        @let missed: Vec<&Burst> = candidate.held.bursts.iter().filter(|burst| !burst.missed.is_empty()).collect();
        p { b { (candidate.name) ": " } (missed.len()) " of " (candidate.held.bursts.len()) " bursts." }
        @if !missed.is_empty() {
            table class="numbers" {
                thead { tr { th scope="col" { "at, h:min:s" } th scope="col" { "pulses" } th scope="col" { "roll" } th scope="col" { "pitch" } th scope="col" { "yaw, 10⁻³ °/s" } th scope="col" class="word" { "why" } } }
                tbody { @for burst in missed.iter().take(MOST_BURSTS) { tr {
                    td { (clock(burst.from_s)) } td { (burst.pulses) } @for rate in burst.rate_rms_deg_s { td { (fixed(rate * 1e3, 2)) } } td class="word" { (burst.missed) }
                } } }
            }
        }
    } }
}

fn margins(study: &Study) -> Markup {
    let d = &study.document;
    html! {
        p { "Each axis as a relay with dead zone and hysteresis in a sampled loop with delay. Rates are taken as smoothed only: that the law knows its own pulses beforehand is left out, so these margins are on the safe side. "
            "The method leaves harmonics out; the next section finds the limits by simulation." }
        figure {
            (figures::loci(study))
            figcaption { "Nichols pictures. Full line: linear part with sampling and delay, slow at the top; broken line: the relay’s −1/N, amplitude growing from the threshold down and up again. Where they cross, harmonic balance finds a cycle; where none is listed below, none carries itself. The slow free cycle of coasts and single pulses is no sine, and the closed forms above describe it." }
        }
        table class="numbers keep" {
            thead { tr { th scope="col" class="word" { "axis" } th scope="col" { "gain margin, dB" } th scope="col" { "phase margin, °" } th scope="col" { "at, rad/s" } th scope="col" { "delay margin, s" } th scope="col" class="word" { "cycles by harmonic balance" } } }
            tbody { @for (axis, m) in AXES.iter().zip(&d.margins) { tr {
                td class="word" { (axis) } td { (m.gain_db.map_or("—".into(), |db| fixed(db, 1))) } td { (fixed(m.phase_deg, 1)) } td { (significant(m.gain_crossover_rad_s, 3)) } td { (significant(m.delay_s, 3)) }
                td class="word" { @for c in &m.cycles { (significant(c.amplitude_rad.to_degrees(), 3)) "° every " (span(std::f64::consts::TAU / c.omega_rad_s)) (if c.stable { ", stays" } else { ", passes" }) "; " } }
            } } }
        }
    }
}

fn limits(d: &Document) -> Markup {
    let gain_db = d.margins.iter().filter_map(|m| m.gain_db).fold(f64::INFINITY, f64::min);
    let delay_s = d.margins.iter().map(|m| m.delay_s).fold(f64::INFINITY, f64::min);
    let amount = |v: f64, unit: &str| {
        if unit == "s" { format!("{} ms", significant(v * 1e3, 3)) } else { format!("× {}", significant(v, 3)) }
    };
    let screened = |doubt: Doubt| match doubt {
        Doubt::InertiaBelow | Doubt::ThrustAbove => amount(10_f64.powf(gain_db / 20.0), "×"),
        Doubt::Delay => amount(delay_s, "s"),
        _ => "—".into(),
    };
    html! {
        p { "One thing made wrong at a time, more and more, each trial a flight from tip-off into hold. Broken: fine hold lost or never reached, three times the pulses, twice the gas, or three times the largest error. "
            "Beside it the least margin of the three axes by describing function, which knows of chatter alone: not of the gas that a wrong belief costs, nor of the watch over jets that do not answer as believed." }
        table class="numbers keep" {
            thead { tr { th scope="col" class="word" { "wrong" } th scope="col" { "held at" } th scope="col" { "broke at" } th scope="col" { "describing function" } th scope="col" class="word" { "how it broke" } } }
            tbody { @for l in &d.limits {
                tr { td class="word" { (l.doubt.name()) } td { (amount(l.holds, &l.unit)) } td { @match l.breaks { Some(v) => { (amount(v, &l.unit)) } None => { "not found" } } } td { (screened(l.doubt)) } td class="word" { (l.how) } }
            } }
        }
    }
}

fn taken(d: &Document) -> u64 {
    let name = d.candidates.get(d.chosen).map_or("", |c| c.name.as_str());
    name.strip_prefix("point ").and_then(|number| number.parse().ok()).unwrap_or(0)
}

/// Letter by which the sweep's table calls a knob.
fn letter(knob: usize) -> char {
    char::from_u32('a' as u32 + knob as u32).unwrap_or('?')
}

fn sweep(study: &Study) -> Markup {
    let d = &study.document;
    let taken = taken(d);
    let listed = d.front.iter().filter_map(|number| d.points.iter().find(|point| point.number == *number));
    html! {
        p { (count(d.points.len() as u64)) " sets of settings, each flown from tip-off and measured over a dozen bursts. Point 0 is the proposal. Every row stands in " code { "sweep.csv" } "." }
        ul { @for (k, knob) in d.knobs.iter().enumerate() { li { b { (letter(k)) } " " code { (knob.key) } " from " (significant(knob.low, 3)) " to " (significant(knob.high, 3)) } } }
        figure {
            (figures::front(&d.points, &d.front, taken))
            figcaption { "Gas against rate in exposures: the worst axis over its limit. The taken point is the least gas with 19 of 20 bursts quiet and rates inside their limits, or, where no point has both, the quietest on the front, or the one asked for. Points that lost fine hold (" (d.points.iter().filter(|p| !p.held).count()) ") and those beyond " (figures::DRAWN) " times the least of either are not drawn." }
        }
        table class="numbers keep" {
            thead { tr { th scope="col" { "point" } @for k in 0..d.knobs.len() { th scope="col" { (letter(k)) } } th scope="col" { "gas, g/day" } th scope="col" { "rate over limit" } th scope="col" { "smear, µm" } th scope="col" { "quiet, %" } th scope="col" { "pulses/h" } } }
            tbody { @for p in listed { tr class=[(p.number == taken).then_some("first")] {
                td { @if p.number == taken { b { (p.number) " taken" } } @else { (p.number) } } @for v in &p.values { td { (significant(*v, 3)) } }
                td { (significant(p.gas_kg_day * 1e3, 3)) } td { (significant(p.rate_share, 3)) } td { (significant(p.smear_um, 3)) } td { (fixed(p.quiet_share * 100.0, 0)) } td { (significant(p.pulses_per_hour, 3)) }
            } } }
        }
    }
}

fn capture(d: &Document) -> Markup {
    let all = || d.capture_map.iter().chain(&d.captures);
    let total = all().count();
    let bad: Vec<_> = all().filter(|c| !c.captured()).collect();
    let dear: Vec<_> = all().filter(|c| c.captured() && !c.within_gas()).collect();
    let longest = all().filter_map(|c| c.captured_s).fold(0.0, f64::max);
    let most = all().map(|c| c.gas_kg).fold(0.0, f64::max);
    html! {
        p { (total) " captures flown: " (total - bad.len()) " captured, " (dear.len()) " of them for more than 1.5 times the least gas. Longest " (span(longest)) "; most gas " (significant(most * 1e3, 3)) " g." }
        @if !d.capture_map.is_empty() { figure {
            (figures::capture_map(&d.capture_map))
            figcaption { "Capture map: tip-off in the scenario’s attitude at these roll and pitch rates, and half the pitch rate about yaw." }
        } }
        @if !bad.is_empty() || !dear.is_empty() {
            table class="numbers" {
                thead { tr { th scope="col" class="word" { "attitude, °" } th scope="col" class="word" { "rates, °/s" } th scope="col" { "captured after" } th scope="col" { "gas, g" } th scope="col" { "allowed, g" } th scope="col" { "error, °" } } }
                tbody { @for c in bad.iter().chain(&dear).take(MOST_CAPTURES) { tr {
                    td class="word" { (c.attitude_deg.map(|v| fixed(v, 0)).join(", ")) } td class="word" { (c.rate_deg_s.map(|v| fixed(v, 2)).join(", ")) }
                    td { @match c.captured_s { Some(s) => { (span(s)) } None => { "never" } } } td { (significant(c.gas_kg * 1e3, 3)) } td { (significant(c.allowed_kg * 1e3, 3)) } td { (significant(c.error_deg, 3)) }
                } } }
            }
        }
    }
}

/// Every setting in which the candidates differ.
fn side_by_side(study: &Study) -> Markup {
    let (d, sets) = (&study.document, &study.settings);
    let mut keys: BTreeMap<String, (usize, String)> = BTreeMap::new();
    let order = super::keys::entries(&sets[0]);
    for set in &sets[1..] {
        for (entry, _) in differences(&sets[0], set) {
            let place = order.iter().position(|e| e.key == entry.key).unwrap_or(0);
            keys.insert(entry.key.clone(), (place, entry.field.unit.to_owned()));
        }
    }
    let mut rows: Vec<_> = keys.into_iter().collect();
    rows.sort_by_key(|(_, (place, _))| *place);
    let value = |set, key: &str| super::keys::get(set, key).map_or("—".into(), |v| (v as f32).to_string());
    html! {
        table class="numbers" {
            thead { tr { th scope="col" class="word" { "setting" } th scope="col" class="word" { "unit" } @for c in &d.candidates { th scope="col" { (c.name) " " code { (c.settings_hash) } } } } }
            tbody { @for (key, (_, unit)) in rows { tr { td class="word" { code { (key) } } td class="word" { (unit) } @for set in sets { td { (value(set, &key)) } } } } }
        }
    }
}

fn sources() -> Markup {
    let rows = [
        (
            "Limit cycles",
            "TU Wien, Space Propulsion lecture notes, pp. 76–83; Wertz (ed.), Spacecraft Attitude Determination and Control, §17–19",
        ),
        (
            "Describing function",
            "Gelb and Vander Velde, Multiple-Input Describing Functions and Nonlinear System Design, 1968, app. B",
        ),
        ("Observer gains", "discrete Riccati equation by doubling: Anderson 1978; Chu, Fan and Lin 2005"),
        ("Gyro noise", "IEEE Std 952, annex C"),
        ("Sweep", "Halton 1960, even in the logarithm of each setting"),
        (
            "Rules of thumb",
            "deadband at five sigma of noise, a tenth of smear and field, thrust and inertia known to 5 %: common practice",
        ),
    ];
    html! { table class="numbers" {
        thead { tr { th scope="col" class="word" { "what for" } th scope="col" class="word" { "source" } } }
        tbody { @for (what, text) in rows { tr { td class="word" { (what) } td class="word" { (text) } } } }
    } }
}
