//! Faults of horizon sensor and gyros.

use stillframe_controller::{attitude::mode::Mode, health::flags::Flag};

use crate::rig::{Rig, SETTLED_S, camera, error_deg, fault, rate_deg_s, replace, scenario};

/// Sum of the deadbands' reach and what noise and horizon bias add in a healthy day (0.54° at most there).
const HEALTHY_DEG: f64 = 0.7;

fn settled(kind: &str, keys: &str) -> Rig {
    let mut rig = Rig::new(&scenario(2.0, &fault(kind, keys)));
    rig.settle();
    rig
}

#[test]
fn the_sun_in_the_horizon_sensor_fires_nothing_and_is_forgotten_when_it_has_gone() {
    let mut sunny = settled("horizon_sun", "roll_deg = 2.0\npitch_deg = -1.5\nfor_s = 240.0");
    let pulses = sunny.flight.controller.attitude().pulses;
    sunny.run(SETTLED_S + 2.0);
    // A step of 2° in the error would empty seconds of gas into the roll jets at once.
    assert!(sunny.flight.controller.attitude().pulses <= pulses + 2, "it fired on the step");
    sunny.assert_flag(Flag::HorizonDistrusted);
    let worst = sunny.worst_error_deg(SETTLED_S + 239.0);
    assert!(worst.max() < HEALTHY_DEG, "{worst:?}");
    assert_eq!(sunny.mode(), Mode::Fine);
    sunny.run(SETTLED_S + 247.0).assert_no_flag(Flag::HorizonDistrusted);
    let worst = sunny.worst_error_deg(SETTLED_S + 1000.0);
    assert!(worst.max() < HEALTHY_DEG, "{worst:?}");
}

#[test]
fn a_cold_cloud_leans_the_vehicle_no_further_and_no_faster_than_its_bias() {
    // 0.3° over five minutes stays inside the gate: it is followed, as any slow bias must be.
    let mut cloudy = settled("horizon_bias", "roll_deg = 0.3\npitch_deg = 0.0\nramp_s = 300.0");
    let mut fastest_deg_s = 0.0_f64;
    cloudy.watch(SETTLED_S + 1500.0, |flight, _| {
        if flight.plant.ticks().is_multiple_of(100) {
            fastest_deg_s = fastest_deg_s.max(rate_deg_s(flight).abs().max());
        }
    });
    assert!(fastest_deg_s < 0.05, "{fastest_deg_s}");
    let worst = cloudy.worst_error_deg(SETTLED_S + 3000.0);
    assert!(worst.x < HEALTHY_DEG + 0.3 && worst.y < HEALTHY_DEG, "{worst:?}");
    assert_eq!(cloudy.mode(), Mode::Fine);
}

#[test]
fn a_sudden_bias_beyond_the_gate_is_not_followed() {
    let mut rig = settled("horizon_bias", "roll_deg = 0.0\npitch_deg = 1.0\nfor_s = 300.0");
    let worst = rig.worst_error_deg(SETTLED_S + 299.0);
    assert!(worst.max() < HEALTHY_DEG, "{worst:?}");
    rig.assert_flag(Flag::HorizonDistrusted);
    rig.run(SETTLED_S + 310.0).assert_no_flag(Flag::HorizonDistrusted);
}

#[test]
fn a_stuck_horizon_sensor_is_found_by_its_repeating_and_replaced_by_the_gyros_for_a_while() {
    let mut rig = settled("horizon_stuck", "for_s = 600.0");
    let found_s = rig.time_to(SETTLED_S + 20.0, |flight| flight.controller.telemetry().flags.has(Flag::HorizonInvalid));
    assert!(found_s.expect("found") < 5.0, "{found_s:?}");
    let worst = rig.worst_error_deg(SETTLED_S + 599.0);
    assert!(worst.max() < HEALTHY_DEG, "{worst:?}");
    assert_eq!(rig.mode(), Mode::Fine);
    rig.run(SETTLED_S + 610.0).assert_no_flag(Flag::HorizonDistrusted);
}

#[test]
fn holding_on_gyros_ends_after_its_time_and_the_camera_stays_off() {
    let tail = camera(0.98, 20.0) + &fault("horizon_stuck", "");
    let mut rig = Rig::new(&scenario(1.1, &tail));
    rig.settle().run(SETTLED_S + 890.0);
    assert_eq!(rig.mode(), Mode::Fine);
    rig.run(SETTLED_S + 910.0);
    assert_ne!(rig.mode(), Mode::Fine);
    let mut opened = false;
    rig.watch(0.98 * 3600.0 + 25.0, |flight, _| opened |= flight.plant.shutter().is_open());
    assert!(!opened, "it photographed without knowing where it looks");
}

#[test]
fn a_lost_earth_leads_to_damping_search_and_a_new_capture() {
    let mut rig = settled("horizon_lost", "for_s = 1500.0");
    rig.run(SETTLED_S + 2.0).assert_flag(Flag::HorizonDistrusted);
    let searching_s = rig.time_to(SETTLED_S + 1000.0, |flight| flight.controller.mode() == Mode::Search);
    assert!(searching_s.is_some(), "no search");
    rig.run(SETTLED_S + 1000.0).assert_flag(Flag::EarthLost);
    // The search may cost no more than a capture from tip-off did.
    let capture_kg = 0.03;
    let gas_kg = rig.gas_kg();
    let found_s = rig.time_to(SETTLED_S + 4500.0, |flight| flight.controller.mode() == Mode::Fine);
    assert!(found_s.is_some(), "not captured again: {:?}", rig.mode());
    assert!(rig.gas_kg() - gas_kg < capture_kg, "{}", rig.gas_kg() - gas_kg);
    let error = error_deg(&mut rig.flight).abs();
    assert!(error.max() < 1.5, "{error:?}");
}

#[test]
fn ten_minutes_of_tenfold_horizon_noise_spend_no_more_gas() {
    let spent = |tail: &str| {
        let mut rig = Rig::new(&scenario(1.0, tail));
        rig.settle();
        let before_kg = rig.gas_kg();
        let worst = rig.worst_error_deg(SETTLED_S + 1200.0);
        assert!(worst.max() < HEALTHY_DEG, "{worst:?}");
        rig.gas_kg() - before_kg
    };
    let (calm_kg, noisy_kg) = (spent(""), spent(&fault("horizon_noise", "times = 10.0\nfor_s = 600.0")));
    assert!(noisy_kg < 1.2 * calm_kg, "{noisy_kg} against {calm_kg}");
}

#[test]
fn a_pitch_gyro_that_steps_by_ten_degrees_an_hour_is_held_and_learned_in_the_end() {
    // Twice the drift that the estimate believes in: horizon and gyro disagree until the vehicle levels anew.
    let mut rig = settled("gyro_bias_step", "axis = \"y\"\nstep_deg_h = 10.0");
    let disagrees_s =
        rig.time_to(SETTLED_S + 900.0, |flight| flight.controller.telemetry().flags.has(Flag::HorizonDistrusted));
    assert!(disagrees_s.is_some());
    // 10 °/h over the 900 s for which gyros are believed alone are 2.5°.
    let worst = rig.worst_error_deg(SETTLED_S + 3300.0);
    assert!(worst.y < 2.5 + HEALTHY_DEG, "{worst:?}");
    let fine_s = rig.time_to(SETTLED_S + 5000.0, |flight| flight.controller.mode() == Mode::Fine);
    assert!(fine_s.is_some());
}

#[test]
fn a_dead_gyro_shuts_the_valves_and_blames_no_jet_and_a_live_one_captures_again() {
    for axis in ["x", "y", "z"] {
        let mut rig = settled("gyro_dead", &format!("axis = \"{axis}\"\nfor_s = 300.0"));
        let gas_kg = rig.gas_kg();
        let drift_s = rig.time_to(SETTLED_S + 60.0, |flight| flight.controller.mode() == Mode::Drift);
        assert!(drift_s.expect("drift") < 8.0, "{axis}: {drift_s:?}");
        rig.run(SETTLED_S + 290.0);
        rig.assert_flag(Flag::GyroInvalid);
        assert!(rig.gas_kg() - gas_kg < 3e-3, "{axis}: {} kg", rig.gas_kg() - gas_kg);
        assert_eq!(rig.flight.controller.attitude().bank_lost, [false; 2], "{axis}");
        let fine_s = rig.time_to(SETTLED_S + 4500.0, |flight| flight.controller.mode() == Mode::Fine);
        assert!(fine_s.is_some(), "{axis}: {:?}", rig.mode());
    }
}

#[test]
fn a_roll_gyro_with_a_wrong_scale_is_borne_without_a_trip() {
    let mut rig = settled("gyro_scale", "axis = \"x\"\nerror_percent = 20");
    let worst = rig.worst_error_deg(SETTLED_S + 3000.0);
    // The compass reads −nψ through this gyro: at the largest crab, 3.7°, a fifth too much is 0.74° of yaw.
    assert!(worst.xy().max() < HEALTHY_DEG && worst.z < HEALTHY_DEG + 0.74, "{worst:?}");
    assert_eq!((rig.mode(), rig.flags().has(Flag::HorizonDistrusted)), (Mode::Fine, false));
}

#[test]
fn a_pitch_gyro_with_a_wrong_scale_costs_fine_hold_but_neither_gas_nor_jets() {
    // A fifth of the orbital rate is 49 °/h of drift, ten times what the estimate believes in.
    let mut rig = settled("gyro_scale", "axis = \"y\"\nerror_percent = 20");
    let gas_kg = rig.gas_kg();
    rig.run(SETTLED_S + 3000.0);
    assert_ne!(rig.mode(), Mode::Fine);
    assert!(rig.gas_kg() - gas_kg < 0.02, "{}", rig.gas_kg() - gas_kg);
    assert_eq!(rig.flight.controller.attitude().bank_lost, [false; 2]);
}

#[test]
fn a_tip_off_beyond_the_gyros_range_is_damped_and_captured() {
    // The gyros are taken as saturated at 5 °/s; they show no change of rate, which is no fault of the jets.
    let text = replace(&scenario(1.0, ""), "tip_off_deg_s = [0.6, -0.6, 0.5]", "tip_off_deg_s = [0.6, -7.0, 0.5]");
    let mut rig = Rig::new(&text);
    rig.run(2.0).assert_flag(Flag::GyroSaturated);
    let fine_s = rig.time_to(3000.0, |flight| flight.controller.mode() == Mode::Fine);
    assert!(fine_s.is_some(), "{:?} {:?}", rig.mode(), crate::rig::up(rig.flags()));
    assert_eq!(rig.flight.controller.attitude().bank_lost, [false; 2]);
}
