//! Moving film and the vehicle: the kick of a start-up and what becomes of it, momentum of the whole, and mass
//! that moves along the vehicle.

use nalgebra::Vector3;
use stillframe::plant::Plant;
use stillframe::plant::film::Side;
use stillframe_controller::film::{Demand, FilmSettings, State, Transport};
use stillframe_controller::health::flags::Flag;
use stillframe_controller::io::Actuators;

use crate::film_start::{Start, WOUND_M, measured, threaded_the_other_way, waiting};
use crate::rig::{Rig, camera, fault, replace, scenario};

fn show(wound_m: f64, label: &str, start: &Start) {
    println!(
        "{wound_m} m wound, {label}: valid after {:.2} s, {:.2} s early, tension {:.2}..{:.2} N, kick {:+.4}, turned {:+.4}, left {:+.4} deg/s, {} pulses",
        start.valid_s,
        start.early_s,
        start.tension_n.0,
        start.tension_n.1,
        start.kick_deg_s,
        start.turned_deg_s,
        start.left_deg_s,
        start.pulses
    );
}

/// The whole requirement of a start-up, at a full, a half and an empty supply: valid inside a second, tension
/// inside 3 to 12 N throughout, the kick answered before film is valid so that nothing need fire afterwards.
#[test]
fn a_start_up_is_answered_before_film_is_valid() {
    for wound_m in WOUND_M {
        let start = measured(waiting(wound_m, true, ""));
        show(wound_m, "fed forward", &start);
        assert!(start.valid_s < 1.0 && start.early_s > 0.0);
        assert!(start.tension_n.0 > 3.0 && start.tension_n.1 < 12.0);
        assert_eq!(start.pulses, 0, "something was left to fire for");
        // A tenth of a full supply's kick, or the least pulse's half (0.0011 °/s) and the rate's noise.
        assert!(start.left_deg_s.abs() < 1.5e-3, "{}", start.left_deg_s);
        assert!(!start.reversed && start.frames > 25);
    }
}

/// The same left to the gyros alone: the kick stays, and with it the smear.
#[test]
fn without_feed_forward_the_kick_stays() {
    for wound_m in WOUND_M {
        let start = measured(waiting(wound_m, false, ""));
        show(wound_m, "not fed forward", &start);
        assert!((start.left_deg_s - start.kick_deg_s).abs() < 1.5e-3, "{start:?}");
        if wound_m != 449.4 {
            assert!(start.left_deg_s.abs() > 3e-3, "{start:?}");
        }
    }
}

/// A full supply turns about +y when film starts and pushes the body about −y; a full take-up the other way
/// round. What the vehicle turns by is what conservation says, and what the flight code feeds forward.
#[test]
fn the_sign_of_the_kick_is_that_of_conservation() {
    for (wound_m, negative) in [(WOUND_M[0], true), (WOUND_M[2], false)] {
        let start = measured(waiting(wound_m, false, ""));
        assert_eq!(start.turned_deg_s < 0.0, negative, "{start:?}");
        assert!((start.turned_deg_s / start.kick_deg_s - 1.0).abs() < 0.1, "{start:?}");
        let fed = measured(waiting(wound_m, true, ""));
        // Placed against: the vehicle turns the other way before film starts, or while it does. What is left differs from
        // what is left without by the kick, to the least pulse (0.0022 °/s) and the rate's noise.
        assert!((start.left_deg_s - fed.left_deg_s - start.kick_deg_s).abs() < 2.5e-3, "{start:?} {fed:?}");
    }
}

/// Reels that turn against the sense that the flight code believes: the first start-up's kick is doubled, that is
/// noticed, and the second is left to the gyros.
#[test]
fn a_kick_of_the_wrong_sign_is_noticed_and_no_longer_fed_forward() {
    let right = measured(waiting(WOUND_M[0], true, ""));
    let first = measured(threaded_the_other_way(WOUND_M[0]));
    show(WOUND_M[0], "threaded the other way", &first);
    assert!(!right.reversed && first.reversed);
    assert!((first.kick_deg_s + right.kick_deg_s).abs() < 0.05 * right.kick_deg_s.abs());
    assert!((first.left_deg_s / first.kick_deg_s - 2.0).abs() < 0.3, "{first:?}");

    let reversed = replace(&fault("reel_sense_reversed", ""), "at_h = 0.6", "at_h = 0.5");
    let mut rig = Rig::new(&scenario(0.7, &(camera(0.602, 20.0) + &camera(0.65, 20.0) + &reversed)));
    rig.run(0.65 * 3600.0 - 5.0);
    rig.assert_flag(Flag::KickReversed);
    let (mut sum, mut count) = (0.0, 0.0);
    while rig.flight.time_s() < 0.65 * 3600.0 + 20.0 {
        rig.tick();
        if rig.flight.plant.shutter().is_open() && rig.flight.plant.ticks().is_multiple_of(25) {
            sum += crate::rig::rate_deg_s(&mut rig.flight).y;
            count += 1.0;
        }
    }
    let second = sum / count / first.kick_deg_s;
    println!(
        "left of the kick: {:.2} in the first pass, {second:.2} in the second",
        first.left_deg_s / first.kick_deg_s
    );
    assert!((second - 1.0).abs() < 0.3, "{second}");
}

/// The vehicle by itself: no air, no gravity gradient, no sunlight, no magnetic field, jets shut; tumbling at
/// 1 °/s as it left its carrier.
fn alone(wound_m: f64) -> Plant {
    let text = replace(
        &scenario(1.0, ""),
        "[world]\n",
        "[world]\naerodynamics = false\nsunlight = false\nmagnetic_field = false\ngravity_gradient = false\n",
    );
    let text = replace(&text, "load_m = 900.0", &format!("load_m = 900.0\nwound_m = {wound_m}"));
    let text = text.lines().filter(|line| !line.trim_start().starts_with("leak_")).collect::<Vec<_>>().join("\n");
    Rig::new(&text).flight.plant
}

struct Driven {
    plant: Plant,
    transport: Transport,
    next: Actuators,
}

impl Driven {
    fn new(wound_m: f64) -> Self {
        let settings = FilmSettings { wound_length_m: wound_m as f32, ..FilmSettings::default() };
        Self { plant: alone(wound_m), transport: Transport::new(&settings), next: Actuators::SAFE }
    }

    fn run(&mut self, ticks: u32, demand: Demand, mut look: impl FnMut(&mut Plant)) {
        for _ in 0..ticks {
            let film = self.transport.step(&self.plant.film().sample(false), demand);
            let now = std::mem::replace(&mut self.next, Actuators { film, ..Actuators::SAFE });
            self.plant.tick(&now, &[], &mut |_, _| {}).expect("the orbit holds");
            look(&mut self.plant);
        }
    }
}

/// Momentum of body, reels and roller about inertial axes, while film starts, runs, changes speed, stops, starts
/// again, and breaks. The body's own three rates must change meanwhile, or nothing would have been conserved.
#[test]
fn momentum_of_the_whole_is_conserved_while_film_starts_runs_stops_and_breaks() {
    for (wound_m, side) in [(3.0, Side::Supply), (3.0, Side::TakeUp), (875.0, Side::TakeUp)] {
        let mut driven = Driven::new(wound_m);
        let start = driven.plant.momentum_inertial_nms();
        let (mut worst, mut least, mut most) = (0.0_f64, f64::INFINITY, f64::NEG_INFINITY);
        let mut look = |plant: &mut Plant| {
            worst = worst.max((plant.momentum_inertial_nms() - start).norm());
            let reels_nms = plant.film().momentum_nms();
            (least, most) = (least.min(reels_nms), most.max(reels_nms));
        };
        let run = |speed_m_s: f32| Demand::Run { speed_m_s };
        driven.run(100, Demand::Rest, &mut look);
        driven.run(400, run(0.0341), &mut look);
        driven.run(300, run(0.09), &mut look);
        driven.run(300, Demand::Rest, &mut look);
        driven.run(200, run(0.0341), &mut look);
        driven.plant.film_mut().break_film(side);
        driven.run(600, run(0.0341), &mut look);
        println!(
            "{wound_m} m wound, broken at {side:?}: reels {least:+.3} to {most:+.3} N·m·s of {:.2}; worst {worst:.1e}",
            start.norm()
        );
        assert_eq!(driven.transport.status().state, State::Stopped);
        assert!(most - least > 0.05, "nothing turned");
        assert!(worst < 1e-9 * start.norm(), "{worst:e} of {}", start.norm());
    }
}

/// The same with the body's share left out is not conserved: the check can fail.
#[test]
fn reels_alone_do_not_conserve() {
    let mut driven = Driven::new(3.0);
    let mut most = 0.0_f64;
    driven.run(400, Demand::Run { speed_m_s: 0.0341 }, |plant| most = most.max(plant.film().momentum_nms().abs()));
    assert!(most > 0.02);
}

/// Twelve kilograms of film moved by 1.6 m shift the mass centre by 46 mm, and take the inertia with it: for
/// masses on one axis, about either cross axis, ΔI = Σ mᵢxᵢ² − M·x_c² (Steiner).
#[test]
fn film_that_moves_along_the_vehicle_moves_its_mass_centre_and_inertia() {
    let (full, empty) = (alone(0.0), alone(898.0));
    let shift_m = empty.mass().centre_m - full.mass().centre_m;
    let total_kg = full.mass().mass_kg;
    let moved_kg = empty.film().take_up_mass_kg();
    println!("{moved_kg:.2} kg of {total_kg:.1} kg moved by 1.6 m: centre {:.2} mm", shift_m.x * 1e3);
    let expected_m = (empty.film().take_up_mass_kg() * 0.8 - empty.film().supply_mass_kg() * 0.8
        + full.film().supply_mass_kg() * 0.8)
        / total_kg;
    assert!((shift_m.x - expected_m).abs() < 1e-9, "{shift_m}");
    assert!((shift_m.x - 0.046).abs() < 1e-3);
    // The film in the loops weighs 16 g and is left out.
    assert!((empty.mass().mass_kg - total_kg).abs() < 0.02);

    // Along the way: the plant's own mass properties follow the film while it runs.
    let mut driven = Driven::new(3.0);
    let before = *driven.plant.mass();
    let start = driven.plant.momentum_inertial_nms();
    driven.run(10_000, Demand::Run { speed_m_s: 0.25 }, |_| {});
    driven.run(600, Demand::Rest, |_| {});
    let after = *driven.plant.mass();
    let (supply_kg, take_up_kg) = (driven.plant.film().supply_mass_kg(), driven.plant.film().take_up_mass_kg());
    let moved_kg = take_up_kg - 3.0 * 0.127 * 76e-6 * 1390.0;
    assert!(moved_kg > 0.3, "{moved_kg}");
    let centre_m = before.centre_m.x + moved_kg * 1.6 / before.mass_kg;
    // Mass properties follow whenever 50 mm (0.7 g) have moved.
    assert!((after.centre_m.x - centre_m).abs() < 5e-6, "{} {centre_m}", after.centre_m.x);
    let cross = |kg: f64, x_c: f64| kg * x_c * x_c;
    let inertia = before.inertia_kg_m2[(1, 1)] + cross(before.mass_kg, before.centre_m.x)
        - cross(after.mass_kg, after.centre_m.x);
    assert!((after.inertia_kg_m2[(1, 1)] - inertia).abs() < 2e-3, "{} {inertia}", after.inertia_kg_m2[(1, 1)]);
    assert!((after.inertia_kg_m2[(0, 0)] - before.inertia_kg_m2[(0, 0)]).abs() < 1e-9);
    assert!((supply_kg + take_up_kg - 900.0 * 0.127 * 76e-6 * 1390.0).abs() < 0.03);
    // Nobody gave or took momentum while the mass went over.
    let left: Vector3<f64> = driven.plant.momentum_inertial_nms() - start;
    assert!(left.norm() < 1e-9 * start.norm(), "{left}");
}
