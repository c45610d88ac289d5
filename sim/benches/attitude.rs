//! How well the attitude loop does its work on the demonstration's vehicle, by the figures it is judged by:
//! `cargo bench -p stillframe --bench attitude [-- hold|yaw|free|quiet|step|capture|saturated [how many]]`.
//!
//! - `hold`: gas against the least that physics allows, axis by axis, with the demonstration's disturbances;
//! - `free`: gas undisturbed against the closed form of the least pulse at the drift seen, axis by axis;
//! - `quiet`: a burst of 30 s every eight minutes of a day: rates, and every burst with a pulse;
//! - `step`: median cost of an attitude step;
//! - `yaw`: what the vehicle does not know of its yaw, over seeds;
//! - `capture`: tip-offs drawn at random, any attitude and up to 3 °/s about each axis;
//! - `saturated`: the same with gyros that end at 2 °/s.

use std::thread;

use nalgebra::{Quaternion, UnitQuaternion, Vector3};
use stillframe::{
    design::attitude::{
        cost::step_ns,
        measure::{Goals, measure},
        predict::predict,
        trial::Trial,
    },
    flight::{
        build::build,
        closed_loop::ClosedLoop,
        link::Link,
        settings::{gas_by_axis_kg, jet_duties},
    },
    plant::{faults::FaultSchedule, jets::G0_M_S2},
    scenario::demo::Demo,
};
use stillframe_controller::attitude::mode::Mode;

#[path = "support/captures.rs"]
mod captures;

const SEEDS: u64 = 8;

fn main() {
    let mut words = std::env::args().skip(1).filter(|word| !word.starts_with('-'));
    let what = words.next();
    let count = words.next().and_then(|word| word.parse().ok()).unwrap_or(1_000);
    let all = what.is_none();
    let wanted = |name| all || what.as_deref() == Some(name);
    if wanted("hold") || wanted("yaw") {
        let days = days();
        if wanted("hold") {
            print_hold(&days);
        }
        if wanted("yaw") {
            print_yaw(&days);
        }
    }
    if wanted("free") || wanted("quiet") || wanted("step") {
        let vehicle = captures::whimbrel(10.0);
        if wanted("free") {
            print_free(&vehicle);
        }
        if wanted("quiet") {
            print_quiet(&vehicle);
        }
        if wanted("step") {
            let ns = step_ns(&vehicle.loaded, &vehicle.settings, 1).expect("the demonstration flies");
            println!(
                "attitude step in fine hold, with the valve timers' two ticks: {ns:.0} ns at the median (asked: 200)"
            );
        }
    }
    if wanted("capture") {
        println!("gyros of 10 °/s, taken as saturated from 5 °/s");
        print_captures(&captures::whimbrel(10.0), count);
    }
    if wanted("saturated") {
        println!("gyros of 2 °/s");
        print_captures(&captures::whimbrel(2.0), count);
    }
}

/// What one day without pictures showed.
#[derive(Clone, Default)]
struct Day {
    fine_s: f64,
    used_kg: [f64; 3],
    least_kg: [f64; 3],
    pulses: [u64; 3],
    /// Yaw unknown to the vehicle, once in ten seconds in fine hold, rad.
    yaw_rad: Vec<f64>,
    /// The same since tip-off: time and error.
    after: Vec<(f64, f64)>,
}

fn days() -> Vec<Day> {
    let seeds: Vec<u64> = (1..=SEEDS).collect();
    let (left, right) = seeds.split_at(seeds.len() / 2);
    thread::scope(|scope| {
        let other = scope.spawn(|| right.iter().map(|&seed| day(seed)).collect::<Vec<_>>());
        let mut days: Vec<Day> = left.iter().map(|&seed| day(seed)).collect();
        days.extend(other.join().expect("no flight panics"));
        days
    })
}

fn day(seed: u64) -> Day {
    let mut loaded = Demo::Strip.load().expect("the demonstration is sound");
    loaded.scenario.faults.clear();
    loaded.scenario.commands.clear();
    let built = build(&loaded, seed).expect("the demonstration builds");
    let link = Link::new(&loaded.scenario, seed, &built.load);
    let faults = FaultSchedule::new(&loaded.scenario);
    let duties = jet_duties(&built.settings);
    let mut flight = ClosedLoop::new(built.plant, built.controller, link, faults);
    let mut day = Day::default();
    let mut from: Option<([f64; 3], Vector3<f64>)> = None;
    for tick in 0..8_640_000_u64 {
        let outcome = flight.tick(&[], &mut |_, _| ()).expect("the orbit holds");
        for (edge, duty) in outcome.commanded.jets.iter().zip(&duties) {
            if let (Some(_), Some((axis, _))) = (edge.open_us, duty) {
                day.pulses[*axis] += 1;
            }
        }
        if !tick.is_multiple_of(1_000) {
            continue;
        }
        let unknown_rad = unknown_yaw_rad(&mut flight);
        if flight.controller.attitude().heading_known {
            day.after.push((flight.time_s(), unknown_rad));
        }
        if flight.controller.mode() != Mode::Fine {
            continue;
        }
        day.yaw_rad.push(unknown_rad);
        let used_kg = gas_by_axis_kg(flight.plant.jets(), &duties);
        let brought_nms = flight.plant.ledger().disturbance_body_nms;
        let (used_before_kg, brought_before_nms) = *from.get_or_insert_with(|| {
            day.fine_s = flight.time_s();
            (used_kg, brought_nms)
        });
        let levers_m = [0.6, 1.2, 1.2];
        for axis in 0..3 {
            day.used_kg[axis] = used_kg[axis] - used_before_kg[axis];
            day.least_kg[axis] = (brought_nms - brought_before_nms)[axis] / (levers_m[axis] * 68.0 * G0_M_S2);
        }
    }
    day
}

/// True yaw less the estimated one, rad.
fn unknown_yaw_rad(flight: &mut ClosedLoop) -> f64 {
    let truth = flight.plant.truth();
    let frame = UnitQuaternion::from_matrix(&truth.frame.to_inertial());
    let [w, i, j, k] = truth.state.q;
    let body = UnitQuaternion::from_quaternion(Quaternion::new(w, i, j, k));
    let [w, i, j, k] = flight.controller.attitude().quaternion.map(f64::from);
    let assumed = UnitQuaternion::from_quaternion(Quaternion::new(w, i, j, k));
    (assumed.inverse() * frame.inverse() * body).scaled_axis().z
}

fn print_hold(days: &[Day]) {
    println!("fine hold over the demonstration's day, {} seeds: gas used / least by physics, g", days.len());
    for (axis, name) in ["roll", "pitch", "yaw"].iter().enumerate() {
        let sum = |of: fn(&Day) -> &[f64; 3]| days.iter().map(|day| of(day)[axis]).sum::<f64>() / days.len() as f64;
        let (used_kg, least_kg) = (sum(|day| &day.used_kg), sum(|day| &day.least_kg));
        let ratios: Vec<f64> = days.iter().map(|day| day.used_kg[axis] / day.least_kg[axis]).collect();
        let pulses = days.iter().map(|day| day.pulses[axis]).sum::<u64>() / days.len() as u64;
        println!(
            "  {name:5} {:6.1} / {:5.1}  ratio {:.3} ({:.3} to {:.3}), {pulses} openings a day",
            1e3 * used_kg,
            1e3 * least_kg,
            used_kg / least_kg,
            ratios.iter().copied().fold(f64::INFINITY, f64::min),
            ratios.iter().copied().fold(0.0, f64::max),
        );
    }
    let total = |of: fn(&Day) -> &[f64; 3]| days.iter().flat_map(of).sum::<f64>();
    println!("  all   ratio {:.3}", total(|day| &day.used_kg) / total(|day| &day.least_kg));
}

fn print_free(vehicle: &captures::Vehicle) {
    const TIME_S: f64 = 86_400.0;
    println!("fine hold undisturbed, gas used / closed form at the drift seen / of the symmetric cycle, g a day");
    let (subject, settings) = (&vehicle.subject, &vehicle.settings);
    let prediction = predict(subject, settings, [0.0; 3]);
    for seed in 1..=4 {
        let trial = Trial::undisturbed(&vehicle.loaded, settings, seed, TIME_S);
        let flown = measure(&trial, &subject.jets(), &Goals::default(), 0.0, TIME_S).expect("the demonstration flies");
        print!("  seed {seed}");
        for (axis, name) in ["roll", "pitch", "yaw"].iter().enumerate() {
            let of = &flown.axes[axis];
            let form_kg_s = prediction[axis].free.gas_at_drift_kg_s(of.rate_mean_deg_s.to_radians());
            let day_g = 86_400.0 * 1e3;
            print!(
                "; {name} {:.2} / {:.2} / {:.2}, ratio {:.3}",
                of.gas_kg / flown.time_s * day_g,
                form_kg_s * day_g,
                prediction[axis].free.gas_kg_s * day_g,
                of.gas_kg / flown.time_s / form_kg_s
            );
        }
        println!();
    }
}

fn print_quiet(vehicle: &captures::Vehicle) {
    const TIME_S: f64 = 86_400.0;
    let goals = Goals::default();
    for seed in 1..=4 {
        let trial = Trial::new(&vehicle.loaded, &vehicle.settings, seed).with_bursts(TIME_S, 2_700.0, 480.0, 30.0);
        let flown = measure(&trial, &vehicle.subject.jets(), &goals, 0.0, TIME_S).expect("the demonstration flies");
        let rates = flown.axes.map(|axis| axis.rate_rms_deg_s);
        let silent = flown.bursts.iter().filter(|burst| burst.pulses == 0).count();
        println!(
            "bursts of 30 s, seed {seed}: rates {rates:.4?} °/s (asked {:.3?}), {silent} of {} without a pulse ({:.1} %), {} missed",
            goals.rate_rad_s.map(f64::to_degrees),
            flown.bursts.len(),
            100.0 * silent as f64 / flown.bursts.len() as f64,
            flown.bursts.iter().filter(|burst| !burst.missed.is_empty()).count(),
        );
        for burst in flown.bursts.iter().filter(|burst| burst.pulses > 0) {
            println!("  at {:.0} s: {}", burst.from_s, burst.missed);
        }
    }
}

fn print_yaw(days: &[Day]) {
    println!(
        "yaw unknown to the vehicle in fine hold, degrees: mean, 1 sigma about it, rms, largest; when inside 0.6° for good"
    );
    for (seed, day) in (1..).zip(days) {
        let count = day.yaw_rad.len() as f64;
        let mean = day.yaw_rad.iter().sum::<f64>() / count;
        let square = day.yaw_rad.iter().map(|yaw| yaw * yaw).sum::<f64>() / count;
        let largest = day.yaw_rad.iter().fold(0.0_f64, |most, yaw| most.max(yaw.abs()));
        let last_out = day.after.iter().rev().find(|(_, yaw)| yaw.abs() > 0.6_f64.to_radians());
        let first = day.after.first().map_or(f64::NAN, |(at_s, _)| *at_s);
        println!(
            "  seed {seed}: {:6.3} {:.3} {:.3} {:.3}; {:.0} min (heading read at {:.0} min, fine hold at {:.0} min)",
            mean.to_degrees(),
            (square - mean * mean).sqrt().to_degrees(),
            square.sqrt().to_degrees(),
            largest.to_degrees(),
            last_out.map_or(first, |(at_s, _)| *at_s) / 60.0,
            first / 60.0,
            day.fine_s / 60.0,
        );
    }
}

fn print_captures(vehicle: &captures::Vehicle, count: u64) {
    let flown = vehicle.captures(1, 0..count);
    let caught = flown.iter().filter(|one| one.fine_s.is_some()).count();
    let upright = flown.iter().filter(|one| one.upright()).count();
    let mut ratios: Vec<f64> = flown.iter().map(|one| one.gas_kg / one.least_kg).collect();
    let mut times: Vec<f64> = flown.iter().filter_map(|one| one.fine_s).collect();
    ratios.sort_by(f64::total_cmp);
    times.sort_by(f64::total_cmp);
    let at = |values: &[f64], share: f64| {
        values.get((share * (values.len().saturating_sub(1)) as f64) as usize).copied().unwrap_or(f64::NAN)
    };
    println!("{count} tip-offs: {caught} captured, {upright} upright and facing ahead");
    println!("  {} searched for the Earth", flown.iter().filter(|one| one.searched).count());
    println!("  fine hold after {:.0} min median, {:.0} longest", at(&times, 0.5) / 60.0, at(&times, 1.0) / 60.0);
    println!(
        "  gas over (momentum minimum + a half-turn): {:.2} median, {:.2} at 95 %, {:.2} most; {} over 1.5",
        at(&ratios, 0.5),
        at(&ratios, 0.95),
        at(&ratios, 1.0),
        ratios.iter().filter(|&&ratio| ratio > 1.5).count()
    );
    let mean_g = |of: &dyn Fn(&captures::Capture) -> f64| 1e3 * flown.iter().map(of).sum::<f64>() / flown.len() as f64;
    let names = ["drift", "damp", "search", "level", "coarse", "fine"];
    for (mode, name) in names.iter().enumerate() {
        println!("  {name:6} {:5.1} g on the mean", mean_g(&|one| one.by_mode_kg[mode]));
    }
    for one in flown.iter().filter(|one| !one.upright() || one.gas_kg > 1.5 * one.least_kg).take(20) {
        println!(
            "  {}: attitude {:.0?}° rates {:.2?} °/s: fine {:?} s, searched {}, gas {:.1} of {:.1} g, by mode {:.1?}, error {:.2?}°",
            one.number,
            one.tip_off.attitude_rad.map(f64::to_degrees),
            one.tip_off.rate_rad_s.map(f64::to_degrees),
            one.fine_s,
            one.searched,
            1e3 * one.gas_kg,
            1e3 * one.least_kg,
            &one.by_mode_kg.map(|kg| 1e3 * kg)[..6],
            one.error_rad.map(f64::to_degrees).as_slice(),
        );
    }
}
