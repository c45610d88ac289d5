//! The film between rollers: its ringing, its limits, and what the arms' springs make of it.

use stillframe::plant::film::web::WebParameters;
use stillframe::plant::film::{FilmFaults, FilmParameters, FilmPlant, Jam};
use stillframe_controller::io::FilmDrive;

fn film() -> FilmParameters {
    let film = FilmParameters::default();
    FilmParameters { web: WebParameters { damping_s: 0.0, ..film.web }, ..film }
}

fn drive() -> FilmDrive {
    FilmDrive { brake: false, clamp: false, ..FilmDrive::REST }
}

/// The first milliseconds after a brake lets go, with a film that damps strongly: the same comparison, on
/// the film's own ringing rather than on the reel's slow motion.
#[test]
fn a_damped_web_rings_down_as_it_should() {
    let mut film = film();
    film.web.damping_s = 4e-4;
    let (stiffness, arm) = (film.web.stiffness_n() / film.web.supply_span_m, film.supply_arm);
    // The reel is held by its brake; only the arm moves, plucked by 10 mm/s: 2ẋ stretches the film.
    let mut plant = FilmPlant::new(&film);
    plant.pluck_supply_arm(0.01);
    let (mut at, mut speed, mut stretch) = (0.0, 0.01, arm.middle_tension_n / stiffness);
    let h = 1e-7;
    let (mut ticks, mut worst, mut swing) = (0, 0.0_f64, 0.0_f64);
    for step in 1..=100_000_u32 {
        let tension = stiffness * (stretch + film.web.damping_s * 2.0 * speed);
        let force = 2.0 * (arm.middle_tension_n - tension) - arm.stiffness_n_m * at - arm.damping_n_s_m * speed;
        speed += h * force / arm.mass_kg;
        at += h * speed;
        stretch += h * 2.0 * speed;
        if step % 200 == 0 {
            plant.advance(2e-5, &FilmDrive::REST, 0.0);
            ticks += 1;
            worst = worst.max((plant.arms()[0].0 - at).abs());
            swing = swing.max(at.abs());
        }
    }
    assert_eq!(ticks, 500);
    assert!(swing > 2e-6, "nothing rang: {swing}");
    // First order: ω·h = 0.03 for 20 µs on the 240 Hz mode, so 1.5 % of the swing.
    assert!(worst < 0.02 * swing, "{worst:e} of {swing:e}");
}

/// A roller that nothing drives is turned by the film alone: the two tensions differ by its friction,
/// T₂ − T₁ = (drag + viscous·ω)/r.
#[test]
fn film_turns_an_idle_roller() {
    let mut film = film();
    film.roller.eccentricity = 0.0;
    let mut plant = FilmPlant::new(&film);
    // 6 N on a full supply takes 0.33 of its supply voltage, on an empty take-up 0.09; a little less and
    // more than that starts the film.
    let pull = FilmDrive { supply_duty: -0.30, take_up_duty: 0.12, ..drive() };
    for _ in 0..1_500 {
        plant.advance(0.01, &pull, 0.0);
    }
    let rate_rad_s = plant.speeds_m_s()[1] / film.roller.radius_m;
    assert!(rate_rad_s > 0.05, "the film does not turn the roller: {rate_rad_s}");
    let friction_n = (film.roller.drag_nm + film.roller.viscous_nm_s * rate_rad_s) / film.roller.radius_m;
    let [before_n, after_n] = plant.tension_n();
    assert!(((after_n - before_n) / friction_n - 1.0).abs() < 0.01, "{before_n} {after_n} {friction_n}");
}

/// In steady running, tension is what the arm's spring says: T = T0 − k·x/2.
#[test]
fn steady_tension_is_the_springs() {
    use stillframe_controller::film::Demand;
    let mut rig = crate::rig::Rig::strip(300.0);
    rig.run(1500, Demand::Run { speed_m_s: crate::rig::SPEED_M_S });
    let arm = FilmParameters::default().supply_arm;
    for (tension_n, (at_m, _)) in rig.plant.tension_n().into_iter().zip(rig.plant.arms()) {
        let spring_n = arm.middle_tension_n - 0.5 * arm.stiffness_n_m * at_m;
        // The damper adds 20 N·s/m times what the ripple leaves of arm speed.
        assert!((tension_n - spring_n).abs() < 0.02, "{tension_n} {spring_n}");
    }
}

/// Pulled at harder than it grips, film slides over a roller that is held: the tensions differ by the grip and no
/// more, film passes, and the counter has seen nothing of it.
#[test]
fn film_slides_over_a_held_roller_when_pulled_beyond_its_grip() {
    let film = FilmParameters { wound_m: 0.5, ..FilmParameters::default() };
    let mut plant = FilmPlant::new(&film);
    plant.set_faults(FilmFaults { jam: Some(Jam::Roller { holding_nm: 100.0 }), ..FilmFaults::default() });
    let before = plant.sample(false).roller_counts;
    // The supply gives way at a few newtons; 30 N on the bare take-up core.
    let pull = FilmDrive { supply_duty: -0.2, take_up_duty: 0.45, ..drive() };
    for _ in 0..200 {
        plant.advance(0.01, &pull, 0.0);
    }
    let [before_n, after_n] = plant.tension_n();
    println!("{:.3} m slid, tensions {before_n:.2} and {after_n:.2} N", plant.gate_m());
    assert!(plant.gate_m() > 0.05, "{}", plant.gate_m());
    assert!((after_n - before_n - film.roller.grip_n).abs() < 0.2, "{before_n} {after_n}");
    assert_eq!(plant.sample(false).roller_counts, before);
    assert!(plant.ledger_residual_m().abs() < 1e-9);
    // With a better grip nothing passes.
    let mut rough = film.clone();
    rough.roller.grip_n = 1_000.0;
    let mut plant = FilmPlant::new(&rough);
    plant.set_faults(FilmFaults { jam: Some(Jam::Roller { holding_nm: 100.0 }), ..FilmFaults::default() });
    for _ in 0..200 {
        plant.advance(0.01, &pull, 0.0);
    }
    assert!(plant.gate_m().abs() < 1e-6);
}

/// Wound tight against a held roller, the film stretches until its arm is on the stop; pulled beyond its
/// strength it parts and carries nothing any more. Let go, it never pushes.
#[test]
fn film_never_pushes_and_parts_at_its_strength() {
    let mut film = film();
    film.web.breaking_n = 12.0;
    let mut plant = FilmPlant::new(&film);
    plant.set_faults(FilmFaults { jam: Some(Jam::Roller { holding_nm: 100.0 }), ..FilmFaults::default() });
    let pull = FilmDrive { supply_duty: -1.0, ..drive() };
    let mut most_n = 0.0_f64;
    for _ in 0..300 {
        plant.advance(0.01, &pull, 0.0);
        most_n = most_n.max(plant.tension_n()[0]);
    }
    assert!(plant.broken(), "held {most_n} N");
    assert_eq!(plant.tension_n()[0], 0.0);

    let mut plant = FilmPlant::new(&FilmParameters::default());
    let pay_out = FilmDrive { supply_duty: 1.0, ..drive() };
    for _ in 0..100 {
        plant.advance(0.01, &pay_out, 0.0);
        assert!(plant.tension_n().iter().all(|tension_n| *tension_n >= 0.0));
    }
    assert_eq!(plant.tension_n()[0], 0.0, "a supply that overran must have gone slack");
    assert!(!plant.broken());
}
