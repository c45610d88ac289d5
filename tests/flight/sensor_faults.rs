//! Faults of horizon sensor and gyros.

use jiff::Timestamp;
use stillframe::{
    flight::{Options, build::build, fly},
    plant::sensors::intruder::Intruder,
};
use stillframe_controller::{attitude::mode::Mode, health::flags::Flag};

use crate::rig::{Rig, SETTLED_S, camera, error_deg, fault, loaded, rate_deg_s, replace, scenario};

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
fn the_sun_for_half_an_hour_is_waited_out_on_the_gyros_and_never_levelled_onto() {
    let mut sunny = settled("horizon_sun", "roll_deg = 2.0\npitch_deg = -1.5\nfor_s = 1800.0");
    let mut modes = Vec::new();
    let mut worst_deg = 0.0_f64;
    sunny.watch(SETTLED_S + 1799.0, |flight, _| {
        if flight.plant.ticks().is_multiple_of(100) {
            modes.push(flight.controller.mode());
            worst_deg = worst_deg.max(error_deg(flight).abs().max());
        }
    });
    assert!(modes.iter().all(|mode| matches!(mode, Mode::Fine | Mode::Coarse)), "it levelled anew");
    // Fine hold, and with it the camera, ends after 900 s without a horizon that is believed.
    assert_eq!((modes[800], modes[1000]), (Mode::Fine, Mode::Coarse));
    // The coarse deadband about roll is 1.2°.
    assert!(worst_deg < 1.2 + 0.5, "{worst_deg}");
    let fine_s = sunny.time_to(SETTLED_S + 2000.0, |flight| flight.controller.mode() == Mode::Fine);
    assert!(fine_s.is_some(), "not resumed");
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
    let searching_s = rig.time_to(SETTLED_S + 990.0, |flight| flight.controller.mode() == Mode::Search);
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
fn tenfold_horizon_noise_is_flagged_averaged_out_and_costs_little_gas() {
    let spent = |tail: &str, noisy: bool| {
        let mut rig = Rig::new(&scenario(1.4, tail));
        rig.settle();
        let before_kg = rig.gas_kg();
        let mut trusted = true;
        let mut worst_deg = 0.0_f64;
        rig.watch(SETTLED_S + 1800.0, |flight, _| {
            trusted &= flight.controller.attitude().horizon_trusted;
            if flight.plant.ticks().is_multiple_of(100) {
                worst_deg = worst_deg.max(error_deg(flight).abs().max());
            }
        });
        assert!(trusted && worst_deg < 1.5 * HEALTHY_DEG, "{trusted} {worst_deg}");
        assert_eq!((rig.mode(), rig.flags().has(Flag::HorizonNoisy)), (Mode::Fine, noisy));
        rig.gas_kg() - before_kg
    };
    let (calm_kg, noisy_kg) = (spent("", false), spent(&fault("horizon_noise", "times = 10.0"), true));
    assert!(noisy_kg < 1.3 * calm_kg, "{noisy_kg} against {calm_kg}");
}

#[test]
fn a_horizon_sensor_wired_wrongly_shuts_the_jets_before_it_costs_much_gas() {
    for kind in ["horizon_swapped", "horizon_reversed"] {
        let mut rig = Rig::new(&scenario(6.0, &fault(kind, "")));
        rig.settle();
        let gas_kg = rig.gas_kg();
        let stopped_s = rig.time_to(6.0 * 3600.0 - 10.0, |flight| flight.controller.attitude().doubts.diverged);
        assert!(stopped_s.is_some(), "{kind}: never stopped, {:?}, {} kg", rig.mode(), rig.gas_kg() - gas_kg);
        let until_s = rig.flight.time_s() + 2.0;
        rig.run(until_s).assert_flag(Flag::AttitudeDiverged);
        assert_eq!((rig.mode(), rig.flight.plant.flowing()), (Mode::Drift, 0), "{kind}");
        // Four attempts, each about as dear as a capture.
        assert!(rig.gas_kg() - gas_kg < 4.0 * 0.03, "{kind}: {} kg", rig.gas_kg() - gas_kg);
        assert_eq!(rig.flight.controller.attitude().bank_lost, [false; 2], "{kind}: jets blamed");
    }
}

#[test]
fn a_pitch_gyro_that_steps_by_ten_degrees_an_hour_is_held_and_learned() {
    let mut rig = settled("gyro_bias_step", "axis = \"y\"\nstep_deg_h = 10.0");
    let worst = rig.worst_error_deg(SETTLED_S + 5000.0);
    // 10 °/h over the minute in which the horizon pulls are 0.17°.
    assert!(worst.y < 0.2 + HEALTHY_DEG, "{worst:?}");
    assert_eq!(rig.mode(), Mode::Fine);
}

#[test]
fn a_roll_gyro_that_steps_by_ten_degrees_an_hour_makes_yaw_doubtful_and_hold_coarse() {
    let tail = camera(1.5, 20.0) + &fault("gyro_bias_step", "axis = \"x\"\nstep_deg_h = 10.0");
    let mut rig = Rig::new(&scenario(2.0, &tail));
    rig.settle();
    let doubted_s =
        rig.time_to(SETTLED_S + 1800.0, |flight| flight.controller.telemetry().flags.has(Flag::YawDoubtful));
    // The compass takes yaw there with 600 s; 0.8 of 2.4° are reached after some 600 × ln(2.4/1.6) s.
    assert!(doubted_s.expect("never noticed") < 900.0, "{doubted_s:?}");
    let (mut opened, mut withheld) = (false, false);
    rig.watch(1.5 * 3600.0 + 25.0, |flight, _| {
        opened |= flight.plant.shutter().is_open();
        withheld |= flight.controller.telemetry().flags.has(Flag::CameraWithheld);
    });
    assert!(!opened && withheld && rig.mode() == Mode::Coarse, "{:?}", rig.mode());
    // In the end the heading is wrong by drift over orbital rate, 2.4°, and the flag must still be up.
    rig.run(SETTLED_S + 5000.0).assert_flag(Flag::YawDoubtful);
    let error = error_deg(&mut rig.flight);
    assert!(error.xy().abs().max() < 1.5 && error.z.abs() < 2.4 + 1.0, "{error:?}");
}

#[test]
fn yaw_is_not_doubted_without_a_cause() {
    let mut rig = Rig::new(&scenario(3.0, ""));
    let mut most = 0_u32;
    rig.watch(3.0 * 3600.0 - 10.0, |flight, _| {
        let flags = flight.controller.telemetry().flags;
        most |=
            u32::from(flags.has(Flag::YawDoubtful) || flags.has(Flag::PulsesFrequent) || flags.has(Flag::ThrustOdd));
    });
    assert_eq!(most, 0, "up: {:?}", crate::rig::up(rig.flags()));
}

#[test]
fn a_dead_gyro_is_stood_in_for_and_hold_is_coarse_until_it_lives_again() {
    for axis in ["x", "y", "z"] {
        let tail = camera(0.9, 20.0) + &fault("gyro_dead", &format!("axis = \"{axis}\"\nfor_s = 3600.0"));
        let mut rig = Rig::new(&scenario(3.0, &tail));
        rig.settle();
        let gas_kg = rig.gas_kg();
        let coarse_s = rig.time_to(SETTLED_S + 60.0, |flight| flight.controller.mode() == Mode::Coarse);
        assert!(coarse_s.expect("coarse") < 8.0, "{axis}: {coarse_s:?}");
        let mut opened = false;
        let mut worst = nalgebra::Vector3::zeros();
        rig.watch(SETTLED_S + 3590.0, |flight, _| {
            opened |= flight.plant.shutter().is_open();
            if flight.plant.ticks().is_multiple_of(100) {
                worst = worst.sup(&error_deg(flight).abs());
            }
        });
        assert!(!opened, "{axis}: it photographed without a gyro");
        assert_eq!(rig.mode(), Mode::Coarse, "{axis}");
        // Coarse deadbands, 1.2° and 0.9°, and the usual rest.
        assert!(worst.x < 1.9 && worst.y < 1.6 && worst.z < 2.0, "{axis}: {worst:?}");
        rig.assert_flag(Flag::GyroDoubtful);
        rig.assert_flag(Flag::GyroInvalid);
        assert!(rig.gas_kg() - gas_kg < 0.012, "{axis}: {} kg", rig.gas_kg() - gas_kg);
        assert_eq!(rig.flight.controller.attitude().bank_lost, [false; 2], "{axis}");
        let fine_s = rig.time_to(SETTLED_S + 4500.0, |flight| flight.controller.mode() == Mode::Fine);
        assert!(fine_s.is_some(), "{axis}: {:?}", rig.mode());
    }
}

/// A gyro that fails to an end of its range shows what no jet could have brought about: it is stood in for as a dead one.
/// Followed, it would have the vehicle spun up until the gas guard shuts the jets, and again whenever they may fire.
#[test]
fn a_gyro_that_fails_to_an_end_of_its_range_spins_nothing_up() {
    for (axis, step_deg_h) in [("x", 36_000.0), ("y", -36_000.0), ("z", 36_000.0)] {
        let mut rig = settled("gyro_bias_step", &format!("axis = \"{axis}\"\nstep_deg_h = {step_deg_h}"));
        let gas_kg = rig.gas_kg();
        let mut fastest_deg_s = 0.0_f64;
        rig.watch(SETTLED_S + 3600.0, |flight, _| fastest_deg_s = fastest_deg_s.max(rate_deg_s(flight).abs().max()));
        assert!(fastest_deg_s < 0.1, "{axis}: {fastest_deg_s}");
        assert!(rig.gas_kg() - gas_kg < 0.012, "{axis}: {} kg", rig.gas_kg() - gas_kg);
        assert_eq!(rig.mode(), Mode::Coarse, "{axis}");
        rig.assert_flag(Flag::GyroSaturated);
        rig.assert_flag(Flag::GyroInvalid);
        rig.assert_flag(Flag::GyroDoubtful);
    }
}

#[test]
fn a_dead_gyro_and_no_earth_leave_the_valves_shut() {
    let tail = fault("gyro_dead", "axis = \"y\"") + &fault("horizon_lost", "");
    let mut rig = Rig::new(&scenario(1.0, &tail));
    rig.settle();
    let drift_s = rig.time_to(SETTLED_S + 300.0, |flight| flight.controller.mode() == Mode::Drift);
    assert!(drift_s.is_some(), "{:?}", rig.mode());
    let (at_s, gas_kg) = (rig.flight.time_s() + 0.1, rig.gas_kg());
    rig.run(at_s + 600.0);
    assert!(rig.gas_kg() - gas_kg < 1e-5 && rig.mode() == Mode::Drift);
}

#[test]
fn a_heading_read_the_wrong_way_round_is_found_out_before_the_camera_may_run() {
    // While the heading is read the pitch gyro shows the orbital rate with the wrong sign (twice 242 °/h too much), so
    // that ahead looks like behind; then it is sound again.
    let wrong = "[[fault]]\nkind = \"gyro_bias_step\"\nat_h = 0.0\naxis = \"y\"\nstep_deg_h = 484.3\nfor_s = 600.0\n";
    let mut rig = Rig::new(&scenario(2.0, &(camera(0.45, 20.0) + wrong)));
    let mut reversed = false;
    let mut opened = false;
    rig.watch(0.45 * 3600.0 + 25.0, |flight, _| {
        opened |= flight.plant.shutter().is_open();
        // The vehicle stands within 15° of its heading and believes that it must turn about.
        let believed_deg = flight.controller.attitude().error_rad[2].to_degrees();
        reversed |= flight.plant.ticks().is_multiple_of(100)
            && flight.controller.attitude().heading_known
            && (f64::from(believed_deg) - error_deg(flight).z).abs() > 120.0;
    });
    assert!(reversed, "the heading was never wrong: the test shows nothing");
    assert!(!opened, "it photographed backward");
    let fine_s = rig.time_to(7000.0, |flight| flight.controller.mode() == Mode::Fine);
    let error = error_deg(&mut rig.flight).abs();
    assert!(fine_s.is_some() && error.max() < 1.5, "{:?} {error:?}", rig.mode());
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
fn a_pitch_gyro_with_a_wrong_scale_is_flagged_learned_and_flown_with() {
    // A fifth of the orbital rate is 49 °/h of drift, ten times what the estimate believes in without a reason.
    let mut rig = settled("gyro_scale", "axis = \"y\"\nerror_percent = 20");
    let gas_kg = rig.gas_kg();
    let mut modes = Vec::new();
    let mut worst_deg = 0.0_f64;
    rig.watch(SETTLED_S + 3000.0, |flight, _| {
        if flight.plant.ticks().is_multiple_of(100) {
            modes.push(flight.controller.mode());
            worst_deg = worst_deg.max(error_deg(flight).abs().max());
        }
    });
    assert!(modes.iter().all(|mode| matches!(mode, Mode::Fine | Mode::Coarse)), "a trip");
    assert!(worst_deg < 1.2 + HEALTHY_DEG, "{worst_deg}");
    assert_eq!(rig.mode(), Mode::Fine);
    rig.assert_flag(Flag::GyroDoubtful);
    assert!(rig.gas_kg() - gas_kg < 0.008, "{}", rig.gas_kg() - gas_kg);
    assert_eq!(rig.flight.controller.attitude().bank_lost, [false; 2]);
}

#[test]
fn a_pitch_gyro_with_a_wrong_scale_at_tip_off_is_captured_with() {
    let wrong = "[[fault]]\nkind = \"gyro_scale\"\nat_h = 0.0\naxis = \"y\"\nerror_percent = 20\n";
    let mut rig = Rig::new(&scenario(2.0, wrong));
    let fine_s = rig.time_to(7000.0, |flight| flight.controller.mode() == Mode::Fine);
    assert!(fine_s.is_some(), "{:?} {:?}", rig.mode(), crate::rig::up(rig.flags()));
    rig.assert_flag(Flag::GyroDoubtful);
    let error = error_deg(&mut rig.flight).abs();
    assert!(error.max() < 1.5, "{error:?}");
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

/// The demonstration with the Sun 30° off the orbit's plane (node 229.7° on 10 June): as far as the scan cones, of 60°
/// about the axis across the plane, lie from that axis. So it rises and sets just where they meet the Earth's edge.
fn low_sun_text(half_angle_deg: f64) -> String {
    let text = replace(&scenario(3.0, ""), "node_deg = 250.0", "node_deg = 229.7");
    replace(&text, "sun_half_angle_deg = 3.0", &format!("sun_half_angle_deg = {half_angle_deg}"))
}

#[test]
fn the_rising_sun_beside_an_edge_is_withheld_and_costs_no_gas() {
    let mut spent_kg = [0.0; 2];
    for (spent_kg, half_angle_deg) in spent_kg.iter_mut().zip([4.0, 0.0]) {
        let mut rig = Rig::new(&low_sun_text(half_angle_deg));
        rig.settle();
        let before_kg = rig.gas_kg();
        let (mut in_scan_s, mut withheld_s, mut worst_deg) = (0, 0, 0.0_f64);
        rig.watch(SETTLED_S + 8000.0, |flight, _| {
            if flight.plant.ticks().is_multiple_of(100) {
                let spoilt = flight.plant.horizon().intruder() == Some(Intruder::Sun);
                in_scan_s += u32::from(spoilt);
                withheld_s += u32::from(spoilt && !flight.controller.attitude().horizon_trusted);
                worst_deg = worst_deg.max(error_deg(flight).abs().max());
            }
        });
        println!("{half_angle_deg}°: {in_scan_s} s in the scan, {withheld_s} s withheld, {worst_deg:.3}° at worst");
        // A sunrise or sunset takes the Sun through 8° at 4° a minute.
        assert_eq!(in_scan_s > 60, half_angle_deg > 0.0, "{in_scan_s} s");
        assert!(in_scan_s < 8 * 120 && withheld_s * 2 >= in_scan_s, "{withheld_s} of {in_scan_s} s");
        assert!(worst_deg < HEALTHY_DEG, "{worst_deg}");
        assert_eq!(rig.mode(), Mode::Fine);
        *spent_kg = rig.gas_kg() - before_kg;
    }
    assert!(spent_kg[0] < 1.15 * spent_kg[1], "{spent_kg:?}");
}

#[test]
fn the_times_of_the_sun_in_the_scan_stand_among_the_events() {
    let told = |half_angle_deg: f64| {
        let text = replace(&low_sun_text(half_angle_deg), "duration_h = 3", "duration_h = 1.6");
        let loaded = loaded(&text);
        let folder = tempfile::tempdir().expect("folder");
        let out = folder.path().join("run");
        let options = Options { seed: 1, out: out.clone(), full_record: false, created: Timestamp::UNIX_EPOCH };
        fly(&loaded, build(&loaded, 1).expect("builds"), &options, &mut |_| {}).expect("flies");
        let events = std::fs::read_to_string(out.join("events.csv")).expect("events");
        [" stands in the horizon", " has left the horizon"]
            .map(|what| events.matches(&format!("the Sun{what}")).count())
    };
    let [come, gone] = told(4.0);
    assert!(come > 0 && come.abs_diff(gone) <= 1, "{come} {gone}");
    assert_eq!(told(0.0), [0, 0]);
}

#[test]
fn season_weather_and_cold_cloud_lean_the_vehicle_a_little_and_are_never_doubted() {
    // Mean square of what the vehicle does not know of roll and pitch, over an orbit and a half.
    let unknown_deg = |keys: [&str; 3]| {
        let given = ["height_season_km = 3.0", "height_scatter_km = 1.5", "cold_cloud_km = 2.0"];
        let text = given.iter().zip(keys).fold(scenario(3.0, ""), |text, (given, key)| replace(&text, given, key));
        let mut rig = Rig::new(&text);
        rig.settle();
        let (mut sum, mut count, mut worst_deg) = (0.0, 0.0, 0.0_f64);
        rig.watch(SETTLED_S + 8000.0, |flight, _| {
            assert!(flight.controller.attitude().horizon_trusted, "doubted at {} s", flight.time_s());
            if flight.plant.ticks().is_multiple_of(100) {
                let error = error_deg(flight);
                let assumed = flight.controller.attitude().error_rad.map(|rad| f64::from(rad).to_degrees());
                let unknown = [error.x - assumed[0], error.y - assumed[1]];
                sum += unknown[0] * unknown[0] + unknown[1] * unknown[1];
                count += 1.0;
                worst_deg = worst_deg.max(error.abs().max());
            }
        });
        assert!(worst_deg < HEALTHY_DEG + 0.2, "{worst_deg}");
        f64::sqrt(sum / count)
    };
    let even = unknown_deg(["height_season_km = 0.0", "height_scatter_km = 0.0", "cold_cloud_km = 0.0"]);
    let rough = unknown_deg(["height_season_km = 3.0", "height_scatter_km = 4.0", "cold_cloud_km = 5.0"]);
    println!("{even:.4}° over an even horizon, {rough:.4}° over a rough one");
    // The standing biases make 0.14° (0.1° each); 4 km and 5 km on one edge are up to 0.2° each.
    assert!(even < 0.17 && rough > even + 0.005 && rough < 0.35, "{even} {rough}");
}

#[test]
fn a_slower_horizon_sensor_and_one_that_takes_its_time_are_levelled_by() {
    let slow = replace(&scenario(1.2, ""), "[horizon]", "[horizon]\nsample_rate_hz = 5.0\nacquire_s = 2.0");
    let mut rig = Rig::new(&slow);
    let fine_s = rig.time_to(4000.0, |flight| flight.controller.mode() == Mode::Fine);
    assert!(fine_s.is_some(), "{:?}", rig.mode());
    let worst = rig.worst_error_deg(4300.0);
    assert!(worst.xy().max() < HEALTHY_DEG, "{worst:?}");
}
