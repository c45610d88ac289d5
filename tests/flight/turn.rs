//! The commanded turn to the attitude for the return, held on the gyros, and back.

use stillframe::flight::{closed_loop::ClosedLoop, rows::attitude_truth_wanted};
use stillframe_controller::{
    Controller,
    attitude::{
        mode::Mode,
        turn::{Phase, Status, Withheld},
    },
    settings::Settings,
};

use crate::rig::{Rig, SETTLED_S, replace, scenario};

/// The turn is commanded here, s.
const ASKED_S: f64 = SETTLED_S + 60.0;
/// Specific impulse (68 s) times standard gravity, and the pitch jets' lever: the demonstration's own.
const N_S_PER_KG: f64 = 68.0 * 9.806_65;
const LEVER_M: f64 = 1.2;
/// Moment of inertia about pitch and yaw of the demonstration's dry vehicle, kg·m².
const INERTIA_KG_M2: f64 = 310.0;

fn mode(at_s: f64, mode: &str) -> String {
    format!("[[command]]\ndo = \"mode\"\nat_h = {}\nmode = \"{mode}\"\n", at_s / 3600.0)
}

fn text(back_s: f64) -> String {
    scenario(2.5, &(mode(ASKED_S, "turned") + &mode(back_s, "fine")))
}

/// Only the gravity gradient acts: the one torque that the vehicle can foretell for another attitude.
fn in_still_air(text: &str) -> String {
    let off = "[world]\naerodynamics = false\nmagnetic_field = false\nsunlight = false";
    replace(text, "[world]", off)
}

fn rig(text: &str, change: impl FnOnce(&mut Settings)) -> Rig {
    Rig::with(text, 1, |built| {
        change(&mut built.settings);
        built.controller = Controller::new(built.settings.clone()).expect("sound settings");
        built.controller.load(&built.load.encode(), 0).expect("a sound load");
    })
}

fn told(flight: &ClosedLoop) -> Status {
    flight.controller.attitude().turn
}

/// True angle and rate against the wanted attitude, degrees.
fn truly_off(flight: &mut ClosedLoop) -> (f64, f64) {
    let status = flight.controller.attitude();
    let off = attitude_truth_wanted(&flight.plant.truth(), &status);
    (off.error_rad.norm().to_degrees(), off.rate_error_rad_s.norm().to_degrees())
}

/// Flies the turn and `hold_s` there; gives what the way and the time there cost, kg.
fn turn_and_hold(rig: &mut Rig, hold_s: f64) -> (f64, f64) {
    rig.run(ASKED_S);
    let start_kg = rig.gas_kg();
    let held = |flight: &mut ClosedLoop| told(flight).phase == Phase::Held;
    let way_s = rig.time_to(ASKED_S + 600.0, held).expect("the turn comes to its end");
    let status = told(&rig.flight);
    assert_eq!((rig.mode(), status.withheld), (Mode::Turned, None));
    // Angle over rate and once the speeding up, 5 s; once a second it is seen whether a turn may begin.
    assert!((way_s - f64::from(status.turn_s)).abs() < 2.0 && (420.0..430.0).contains(&way_s), "{way_s} {status:?}");
    let way_kg = rig.gas_kg() - start_kg;
    let settled_s = rig.time_to(ASKED_S + 700.0, |flight| told(flight).settled).expect("it settles");
    assert!(settled_s < 30.0, "{settled_s}");
    let (mut worst_deg, mut worst_deg_s) = (0.0_f64, 0.0_f64);
    let until_s = rig.flight.time_s() + hold_s;
    rig.watch(until_s, |flight, _| {
        if flight.plant.ticks().is_multiple_of(50) {
            let (deg, deg_s) = truly_off(flight);
            let known_deg = f64::from(told(flight).known_to_rad + told(flight).error_rad).to_degrees();
            assert!(deg < known_deg, "{deg}° off, {known_deg}° allowed for");
            (worst_deg, worst_deg_s) = (worst_deg.max(deg), worst_deg_s.max(deg_s));
        }
    });
    // Deadbands of 0.3 to 0.4° on three axes, 0.2° of yaw by the compass, 0.13° of 126° by the gyros' scale.
    assert!(worst_deg < 1.0, "{worst_deg}");
    // The largest pulse that a steady torque of half a millinewton-metre asks for, and the limit cycle's.
    assert!(worst_deg_s < 0.05, "{worst_deg_s}");
    assert!(told(&rig.flight).settled, "{:?}", told(&rig.flight));
    let held_kg = rig.gas_kg() - start_kg - way_kg;
    (way_kg, held_kg)
}

#[test]
fn the_turn_takes_the_gas_and_the_time_foretold_and_settles_where_it_should() {
    // Without crab it is a turn about pitch alone.
    let mut rig = rig(&in_still_air(&text(ASKED_S + 3000.0)), |settings| {
        (settings.steering.crab, settings.turn.longest_s) = (0, 3600.0);
    });
    let (way_kg, held_kg) = turn_and_hold(&mut rig, 2400.0);
    let status = told(&rig.flight);
    // Textbook: speeding up and stopping, 2·I·ω/(L·Isp·g0), and on the way the gradient's impulse. The mean of
    // 3/2·n²·(Iz − Ix)·|sin 2θ| over 0 to 126° is 0.612 of its largest, 0.49 mN·m.
    let inertia_kg_m2 = rig.flight.plant.mass().inertia_kg_m2[(1, 1)];
    let speeds_kg = 2.0 * inertia_kg_m2 * 0.3_f64.to_radians() / (LEVER_M * N_S_PER_KG);
    let gradient_kg = 0.612 * 0.49e-3 * 420.0 / (LEVER_M * N_S_PER_KG);
    let by_hand_kg = speeds_kg + gradient_kg;
    assert!((f64::from(status.turn_kg) / by_hand_kg - 1.0).abs() < 0.03, "{} {by_hand_kg}", status.turn_kg);
    // A limit cycle about two more axes, and torque on the way that helps to stop.
    assert!((way_kg / f64::from(status.turn_kg) - 1.0).abs() < 0.05, "{way_kg} {}", status.turn_kg);
    let hold_kg = 2400.0 * f64::from(status.hold_kg_s);
    // One pulse of twelve more or less; free cycles about roll and yaw are not unique.
    assert!((held_kg / hold_kg - 1.0).abs() < 0.15, "{held_kg} {hold_kg}");
    // And back, in the same time, to fine hold and a horizon that is believed.
    rig.run(ASKED_S + 3000.0);
    let fine_s = rig.time_to(ASKED_S + 3800.0, |flight| flight.controller.mode() == Mode::Fine);
    assert!(fine_s.is_some_and(|s| (420.0..520.0).contains(&s)), "{fine_s:?}");
    let worst = rig.worst_error_deg(ASKED_S + 4600.0);
    assert!(worst.max() < 0.9, "{worst:?}");
}

#[test]
fn in_the_air_as_it_is_the_turn_holds_too() {
    let mut rig = rig(&text(ASKED_S + 1200.0), |_| {});
    let (way_kg, held_kg) = turn_and_hold(&mut rig, 600.0);
    let status = told(&rig.flight);
    // The air on a vehicle broadside on is foretold only by what it does to it head on.
    assert!((way_kg / f64::from(status.turn_kg) - 1.0).abs() < 0.2, "{way_kg} {}", status.turn_kg);
    let hold_kg = 600.0 * f64::from(status.hold_kg_s);
    assert!(held_kg < 1.5 * hold_kg, "{held_kg} {hold_kg}");
}

#[test]
fn a_turn_that_the_gas_or_its_guard_cannot_pay_for_is_withheld_by_name() {
    // At 2 °/s one way takes 36 jet-seconds, 16 g.
    type Case = (fn(&mut Settings), Withheld);
    let cases: [Case; 2] = [
        (|settings| (settings.turn.rate_deg_s, settings.gas.guard_jet_s) = (2.0, 100.0), Withheld::Guard),
        // Gauges that read a tank of 200 ml: 44 g.
        (
            |settings| {
                settings.turn.rate_deg_s = 2.0;
                (settings.gas.tank_volume_l, settings.gas.reserve_kg) = (0.2, 0.0);
            },
            Withheld::Gas,
        ),
    ];
    for (change, why) in cases {
        let mut rig = rig(&text(ASKED_S + 1200.0), change);
        rig.run(ASKED_S + 30.0);
        assert_eq!((rig.mode(), told(&rig.flight).withheld), (Mode::Coarse, Some(why)));
    }
}

#[test]
fn a_turn_that_is_never_called_back_ends_by_itself_and_is_not_begun_again() {
    let never = scenario(2.5, &mode(ASKED_S, "turned"));
    let mut rig = rig(&never, |settings| settings.turn.longest_s = 600.0);
    rig.run(ASKED_S + 590.0);
    assert_eq!(told(&rig.flight).phase, Phase::Held);
    rig.run(ASKED_S + 1200.0);
    assert_eq!((rig.mode(), told(&rig.flight).withheld), (Mode::Coarse, Some(Withheld::TimeUp)));
}

#[test]
fn a_turn_called_back_on_the_way_comes_back() {
    let mut rig = rig(&text(ASKED_S + 200.0), |_| {});
    rig.run(ASKED_S + 199.0);
    assert_eq!(told(&rig.flight).phase, Phase::Out);
    let fine_s = rig.time_to(ASKED_S + 600.0, |flight| flight.controller.mode() == Mode::Fine);
    assert!(fine_s.is_some_and(|s| (200.0..320.0).contains(&s)), "{fine_s:?}");
    assert!(!rig.telemetry().attitude.doubts.yaw);
}

#[test]
fn a_turn_in_yaw_pays_for_the_orbits_rate_too() {
    let mut rig = rig(&in_still_air(&text(ASKED_S + 1200.0)), |settings| {
        (settings.turn.pitch_deg, settings.turn.yaw_deg) = (0.0, 90.0);
    });
    rig.run(ASKED_S);
    let start_kg = rig.gas_kg();
    let way = rig.time_to(ASKED_S + 600.0, |flight| told(flight).phase == Phase::Held);
    assert!(way.is_some());
    let (way_kg, status) = (rig.gas_kg() - start_kg, told(&rig.flight));
    assert!((way_kg / f64::from(status.turn_kg) - 1.0).abs() < 0.15, "{way_kg} {}", status.turn_kg);
    let plain_kg = 2.0 * INERTIA_KG_M2 * 0.3_f64.to_radians() / (LEVER_M * N_S_PER_KG);
    assert!(f64::from(status.turn_kg) > 1.1 * plain_kg, "{} {plain_kg}", status.turn_kg);
    let (deg, deg_s) = truly_off(&mut rig.flight);
    assert!(deg < 1.0 && deg_s < 0.05, "{deg} {deg_s}");
}
