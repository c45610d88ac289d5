//! Faults of jets and gas.

use stillframe_controller::{Controller, attitude::mode::Mode, health::flags::Flag};

use crate::rig::{Rig, SETTLED_S, as_drawn, camera, error_deg, fault, rate_deg_s, replace, scenario};

/// Gas that one jet passes, kg/s: 0.5 N at 68 s.
const JET_KG_S: f64 = 0.5 / (68.0 * 9.806_65);

fn settled(kind: &str, keys: &str) -> Rig {
    let mut rig = Rig::new(&scenario(2.0, &fault(kind, keys)));
    rig.settle();
    rig
}

#[test]
fn a_jet_stuck_open_is_cut_off_within_two_seconds_and_the_other_bank_takes_over() {
    for jet in ["A1", "A4", "A5", "A6", "A7", "A8"] {
        let mut rig = settled("jet_stuck_open", &format!("jet = \"{jet}\""));
        rig.run(SETTLED_S);
        let gas_kg = rig.gas_kg();
        let cut_s = rig.time_to(SETTLED_S + 10.0, |flight| flight.controller.attitude().bank_lost[0]);
        let cut_s = cut_s.expect("never cut off");
        assert!(cut_s > 0.1 && cut_s < 2.0, "{jet}: {cut_s} s");
        // The latch takes 15 ms; then 0.09 g shut in behind it blow out, a tenth of a second's worth falling by e each.
        rig.run(SETTLED_S + cut_s + 0.1);
        assert_ne!(rig.flight.plant.flowing() & 0xff, 0, "{jet}: the line has no tail");
        rig.run(SETTLED_S + cut_s + 3.0);
        // Bank A is the first eight jets.
        assert_eq!(rig.flight.plant.flowing() & 0xff, 0, "{jet}: gas still flows");
        let lost_kg = rig.gas_kg() - gas_kg;
        // The open jet, and at most two jets that fought it meanwhile.
        assert!(lost_kg > 0.9 * JET_KG_S * cut_s && lost_kg < 3.0 * JET_KG_S * (cut_s + 0.1), "{jet}: {lost_kg} kg");
        rig.run(SETTLED_S + 120.0);
        assert!(rate_deg_s(&mut rig.flight).abs().max() < 0.05, "{jet}: not damped");
        let worst = rig.worst_error_deg(SETTLED_S + 2500.0);
        assert!(worst.max() < 0.7, "{jet}: {worst:?}");
        assert_eq!((rig.mode(), rig.flight.controller.attitude().bank_lost), (Mode::Fine, [true, false]), "{jet}");
        rig.assert_flag(Flag::BankALost);
        rig.assert_no_flag(Flag::BankBLost);
    }
}

#[test]
fn a_jet_that_gives_nothing_costs_its_bank_after_a_few_pulses_and_no_attitude() {
    // The air's torque asks for negative pitch and, through crab, for both yaws; these jets are in use.
    let mut rig = settled("jet_stuck_closed", "jet = \"A6\"");
    let given_up_s = rig.time_to(SETTLED_S + 1000.0, |flight| flight.controller.attitude().bank_lost[0]);
    assert!(given_up_s.is_some(), "never noticed");
    let worst = rig.worst_error_deg(SETTLED_S + 2500.0);
    assert!(worst.max() < 0.7, "{worst:?}");
    assert_eq!((rig.mode(), rig.flight.controller.attitude().bank_lost), (Mode::Fine, [true, false]));
}

#[test]
fn a_jet_of_a_couple_that_gives_nothing_costs_its_bank_too() {
    let mut rig = settled("jet_stuck_closed", "jet = \"A1\"");
    let given_up_s = rig.time_to(SETTLED_S + 3000.0, |flight| flight.controller.attitude().bank_lost[0]);
    assert!(given_up_s.is_some(), "never noticed");
    let worst = rig.worst_error_deg(SETTLED_S + 4500.0);
    assert!(worst.max() < 0.9, "{worst:?}");
    assert_eq!((rig.mode(), rig.flight.controller.attitude().bank_lost), (Mode::Fine, [true, false]));
}

#[test]
fn two_jets_with_crossed_wires_cost_their_bank_and_little_else() {
    for keys in ["jet = \"A5\"\nwith = \"A6\"", "jet = \"A6\"\nwith = \"A7\""] {
        let mut rig = settled("jet_swapped", keys);
        let gas_kg = rig.gas_kg();
        let given_up_s = rig.time_to(SETTLED_S + 1500.0, |flight| flight.controller.attitude().bank_lost[0]);
        assert!(given_up_s.is_some(), "{keys}: never noticed");
        assert!(rig.gas_kg() - gas_kg < 6e-3, "{keys}: {} kg", rig.gas_kg() - gas_kg);
        rig.run(SETTLED_S + 3000.0);
        let worst = rig.worst_error_deg(SETTLED_S + 4500.0);
        assert!(worst.max() < 0.9, "{keys}: {worst:?}");
        assert_eq!((rig.mode(), rig.flight.controller.attitude().bank_lost), (Mode::Fine, [true, false]), "{keys}");
    }
}

#[test]
fn valves_that_shut_twenty_milliseconds_late_are_flagged_and_held_with() {
    let mut slow = settled("valve_slow", "open_ms = 0.0\nclose_ms = 20.0");
    let mut sound = Rig::new(&scenario(2.0, ""));
    sound.settle();
    let spend = |rig: &mut Rig| {
        let before_kg = rig.gas_kg();
        let worst = rig.worst_error_deg(SETTLED_S + 4500.0);
        assert!(worst.max() < 0.9, "{worst:?}");
        rig.gas_kg() - before_kg
    };
    let (slow_kg, sound_kg) = (spend(&mut slow), spend(&mut sound));
    // Twice the least pulse: four times the gas of the free cycles (roll and yaw, 0.7 g here), no more of the one-sided
    // (pitch); and what it takes to find out.
    assert!(slow_kg > 1.1 * sound_kg && slow_kg < 2.5 * sound_kg, "{slow_kg} {sound_kg}");
    assert_eq!((slow.mode(), slow.flight.controller.attitude().bank_lost), (Mode::Fine, [false; 2]));
    slow.assert_flag(Flag::ThrustOdd);
    sound.assert_no_flag(Flag::ThrustOdd);
}

#[test]
fn a_regulator_that_is_half_off_either_way_is_fitted_and_costs_no_bank_for_good() {
    for percent in [50, 150] {
        let mut rig = settled("regulator_off", &format!("thrust_percent = {percent}"));
        rig.run(SETTLED_S + 3000.0);
        let worst = rig.worst_error_deg(SETTLED_S + 4500.0);
        assert!(worst.max() < 0.9, "{percent} %: {worst:?}");
        assert_eq!((rig.mode(), rig.flight.controller.attitude().bank_lost), (Mode::Fine, [false; 2]), "{percent} %");
        rig.assert_flag(Flag::ThrustOdd);
    }
}

#[test]
fn a_leak_of_a_third_of_a_millinewton_metre_is_held_and_told() {
    // 0.25 mN at 68 s are 1.35 g/h; on the arm of 1.2 m 0.3 mN·m about pitch.
    let tail = fault("gas_leak", "jet = \"A6\"\nrate_g_h = 1.35");
    let mut leaky = Rig::new(&scenario(4.0, &tail));
    let mut sound = Rig::new(&scenario(4.0, ""));
    leaky.settle();
    sound.run(SETTLED_S + 10_900.0).assert_no_flag(Flag::GasTrend);
    // One stretch of an hour and a half may have begun before the leak; the next is told.
    let told_s = leaky.time_to(SETTLED_S + 10_900.0, |flight| flight.controller.telemetry().flags.has(Flag::GasTrend));
    assert!(told_s.is_some(), "never told: {} kg", leaky.telemetry().gas_residual_kg);
    let worst = leaky.worst_error_deg(SETTLED_S + 10_900.0);
    assert!(worst.max() < 0.7 && leaky.mode() == Mode::Fine, "{worst:?}");
}

#[test]
fn thirty_grams_an_hour_are_told_within_minutes() {
    let mut rig = settled("gas_leak", "jet = \"A6\"\nrate_g_h = 30.0");
    let told_s = rig.time_to(SETTLED_S + 1000.0, |flight| flight.controller.telemetry().flags.has(Flag::GasTrend));
    assert!(told_s.expect("never told") < 600.0, "{told_s:?}");
}

#[test]
fn gas_at_its_reserve_keeps_the_camera_off_and_the_attitude_on() {
    let text = scenario(1.0, &camera(0.9, 20.0));
    let mut rig = Rig::new(&replace(&text, "gas_kg = 4.0 ", "gas_kg = 0.41 "));
    rig.settle();
    let (mut opened, mut withheld) = (false, false);
    rig.watch(0.9 * 3600.0 + 25.0, |flight, _| {
        opened |= flight.plant.shutter().is_open();
        withheld |= flight.controller.telemetry().flags.has(Flag::CameraWithheld);
    });
    assert!(!opened && withheld, "it photographed on its reserve");
    rig.assert_flag(Flag::GasReserve);
    assert_eq!(rig.mode(), Mode::Fine);
}

/// The air pushes one way, so that the jet of the other way is asked for once in twenty minutes or so: by jets as drawn,
/// whose pulses now and then undo a little more than the air brings. Those of the demonstration give a little less.
#[test]
fn a_jet_is_not_missed_before_it_is_asked_and_is_soon_after() {
    let mut rig = Rig::new(&as_drawn(&scenario(2.0, &fault("jet_stuck_closed", "jet = \"A5\""))));
    rig.settle();
    let (mut asked_s, mut lost_s, mut worst_deg) = (None, None, 0.0_f64);
    rig.watch(1.99 * 3600.0, |flight, outcome| {
        let now_s = flight.time_s();
        if outcome.commanded.jets[4].open_us.is_some() {
            asked_s.get_or_insert(now_s);
        }
        if flight.controller.attitude().bank_lost[0] {
            lost_s.get_or_insert(now_s);
        }
        if outcome.commanded.jets[4].open_us.is_some() {
            worst_deg = worst_deg.max(error_deg(flight).amax());
        }
    });
    let (asked_s, lost_s) = (asked_s.expect("never asked"), lost_s.expect("never missed"));
    assert!(asked_s > SETTLED_S + 300.0, "asked at {asked_s}");
    assert!(lost_s > asked_s && lost_s < asked_s + 60.0, "asked at {asked_s}, missed at {lost_s}");
    assert!(worst_deg < 0.7 && rig.mode() == Mode::Fine, "{worst_deg} {:?}", rig.mode());
}

#[test]
fn a_jet_at_half_its_thrust_costs_its_bank() {
    let mut weak = settled("jet_weak", "jet = \"A6\"\nthrust_percent = 50");
    let worst = weak.worst_error_deg(SETTLED_S + 3600.0);
    assert!(worst.max() < 0.7, "{worst:?}");
    assert_eq!((weak.mode(), weak.flight.controller.attitude().bank_lost), (Mode::Fine, [true, false]));
}

#[test]
fn a_jet_at_seven_tenths_of_its_thrust_is_borne_and_shows_in_the_gas_balance() {
    let mut weak = settled("jet_weak", "jet = \"A6\"\nthrust_percent = 70");
    let mut sound = Rig::new(&scenario(2.0, ""));
    sound.run(SETTLED_S + 3600.0);
    let worst = weak.worst_error_deg(SETTLED_S + 3600.0);
    assert!(worst.max() < 0.7, "{worst:?}");
    assert_eq!((weak.mode(), weak.flight.controller.attitude().bank_lost), (Mode::Fine, [false; 2]));
    // Valve times now promise more gas than the gauges miss: the residual falls.
    let residuals_kg = [&weak, &sound].map(|rig| rig.telemetry().gas_residual_kg);
    assert!(residuals_kg[0] < residuals_kg[1] - 5e-4, "{residuals_kg:?}");
}

#[test]
fn a_leaking_tank_shows_in_the_gas_balance_by_its_own_size() {
    let mut rig = settled("gas_leak", "rate_g_h = 100.0");
    let before_kg = rig.telemetry().gas_residual_kg;
    rig.run(SETTLED_S + 1800.0);
    let grown_kg = f64::from(rig.telemetry().gas_residual_kg - before_kg);
    // 50 g in half an hour; the gauges' linearised gas law and a minute of smoothing take a few per cent.
    assert!((grown_kg / 0.050 - 1.0).abs() < 0.08, "{grown_kg}");
}

#[test]
fn a_leaking_seat_pushes_and_is_held_by_a_one_sided_cycle() {
    // 1.6 g/h at 68 s push with 0.3 mN: on 0.6 m about roll and on 1.2 m about yaw, for one jet of a couple turns
    // the vehicle about both.
    let keys = "jet = \"A1\"\nrate_g_h = 1.6";
    let mut leaky = settled("gas_leak", keys);
    let mut sound = Rig::new(&scenario(2.0, ""));
    sound.settle();
    let spend = |rig: &mut Rig| {
        let before_kg = rig.gas_kg();
        let worst = rig.worst_error_deg(SETTLED_S + 4000.0);
        assert!(worst.max() < 0.7, "{worst:?}");
        rig.gas_kg() - before_kg
    };
    let more_kg = spend(&mut leaky) - spend(&mut sound);
    // What undoes it has the leak's own arms, 0.6 m (a roll couple) and 1.2 m (a yaw jet), so that each axis costs
    // as much gas as leaks.
    let least_kg = 2.0 * 1.6e-3 / 3600.0 * 4000.0;
    assert!(more_kg > 0.6 * least_kg && more_kg < 1.6 * least_kg, "{more_kg} against {least_kg}");
    let torque = leaky.flight.controller.attitude().disturbance_nm[0];
    let unit = leaky.flight.plant.truth().torques.sum_nm().x;
    assert!((f64::from(torque) - unit).abs() < 1e-4, "the estimate {torque} missed {unit}");
    assert_eq!(leaky.mode(), Mode::Fine);
}

#[test]
fn the_gas_guard_shuts_the_jets_when_gas_goes_too_fast_and_lets_them_go_on_later() {
    // An allowance of 10 jet-seconds, where the capture asks for some 40.
    let mut rig = Rig::with(&scenario(2.0, ""), 1, |built| {
        built.settings.gas.guard_jet_s = 10.0;
        built.controller = Controller::new(built.settings.clone()).expect("sound settings");
        built.controller.load(&built.load.encode(), 0).expect("sound load");
    });
    let guarded_s = rig.time_to(1500.0, |flight| flight.controller.telemetry().flags.has(Flag::GasGuard));
    let guarded_s = guarded_s.expect("never guarded");
    // What came back meanwhile (40 s an hour), and what three jets pass in the second in which the guard looks.
    let most_kg = (10.0 + 40.0 / 3600.0 * guarded_s + 3.0) * JET_KG_S;
    assert!(rig.gas_kg() <= most_kg, "{} of {most_kg}", rig.gas_kg());
    // Valves take two ticks to be told and a few milliseconds to shut.
    let shut_s = rig.flight.time_s() + 0.1;
    let gas_kg = rig.run(shut_s).gas_kg();
    let until_s = shut_s + 60.0;
    rig.run(until_s);
    assert_eq!((rig.mode(), rig.gas_kg()), (Mode::Drift, gas_kg));
    let again_s = rig.time_to(1500.0, |flight| flight.controller.mode() != Mode::Drift);
    assert!(again_s.is_some(), "the jets never came back");
}
