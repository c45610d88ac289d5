//! Faults of film and shutter, as the whole vehicle answers them.

use stillframe::{
    flight::{
        build::{BuildError, build},
        closed_loop::ClosedLoop,
    },
    plant::film::Seal,
    scenario::parts::fault::FaultKind,
};
use stillframe_controller::{
    attitude::mode::Mode,
    exposure::{Ending, Phase},
    film::{Fault, State},
    health::flags::Flag,
    programme::load::LoadError,
};

use crate::rig::{Rig, SETTLED_S, camera, fault, loaded, replace, scenario};

/// A pass of 30 s seven seconds after the fault, and one three minutes later.
const PASS_H: f64 = 0.602;
const LATER_H: f64 = 0.65;

fn passing(kind: &str, keys: &str) -> Rig {
    let tail = camera(PASS_H, 30.0) + &camera(LATER_H, 20.0) + &fault(kind, keys);
    let mut rig = Rig::new(&scenario(0.7, &tail));
    rig.settle();
    rig
}

/// The same, but the fault begins ten seconds into the first pass.
fn in_mid_pass(kind: &str, keys: &str) -> Rig {
    let tail = camera(PASS_H, 30.0) + &fault(kind, keys);
    let text = replace(&scenario(0.7, &tail), "at_h = 0.6\n", &format!("at_h = {}\n", PASS_H + 10.0 / 3600.0));
    let mut rig = Rig::new(&text);
    rig.run(PASS_H * 3600.0 + 10.0);
    assert_eq!(rig.flight.controller.exposure().phase, Phase::Exposing);
    rig
}

fn stopped(rig: &Rig) -> bool {
    matches!(rig.flight.controller.film().state, State::Stopped | State::Resting)
}

fn stopped_or_resting(flight: &mut ClosedLoop) -> bool {
    matches!(flight.controller.film().state, State::Stopped | State::Resting)
}

/// A minute on, the vehicle is in fine hold inside its deadbands.
#[track_caller]
fn assert_attitude_held(rig: &mut Rig) {
    let until_s = rig.flight.time_s() + 60.0;
    let worst = rig.worst_error_deg(until_s);
    assert_eq!(rig.mode(), Mode::Fine);
    assert!(worst.iter().all(|error_deg| *error_deg < 0.8), "{worst}");
}

/// Motors without voltage, brakes on, as they will act in the coming tick.
#[track_caller]
fn assert_motors_off(rig: &Rig) {
    let drive = rig.flight.pending().film;
    assert_eq!((drive.roller_duty, drive.supply_duty, drive.take_up_duty, drive.brake), (0.0, 0.0, 0.0, true));
}

#[test]
fn jammed_film_has_its_motors_off_within_a_fifth_of_a_second_and_one_retry() {
    let mut rig = in_mid_pass("film_jam", "");
    let off_s = rig
        .time_to(SETTLED_S + 40.0, |flight| matches!(flight.controller.film().state, State::Stopped | State::Resting));
    assert!(off_s.expect("never stopped") < 0.2, "{off_s:?}");
    assert_motors_off(&rig);
    rig.run(PASS_H * 3600.0 + 40.0);
    rig.assert_flag(Flag::FilmStuck);
    let film = *rig.flight.controller.film();
    assert_eq!(film.fault, Some(Fault::Stuck));
    assert!(film.retries <= 1, "{film:?}");
    assert!(!rig.flight.plant.shutter().is_open());
}

/// Film caught in the gate while the roller slides on under it.
#[test]
fn film_caught_in_the_gate_has_its_motors_off_as_fast() {
    let mut rig = in_mid_pass("film_jam", "where = \"gate\"");
    let off_s = rig.time_to(SETTLED_S + 40.0, stopped_or_resting);
    assert!(off_s.expect("never stopped") < 0.2, "{off_s:?}");
    assert_motors_off(&rig);
    rig.run(PASS_H * 3600.0 + 40.0);
    rig.assert_flag(Flag::FilmStuck);
    assert!(rig.flight.controller.film().retries <= 1);
    assert!(!rig.flight.plant.shutter().is_open() && !rig.flight.plant.film().broken());
    assert_attitude_held(&mut rig);
}

#[test]
fn film_jammed_before_the_pass_is_tried_once_more_and_then_left() {
    let mut rig = passing("film_jam", "");
    rig.run(LATER_H * 3600.0 + 25.0);
    let film = *rig.flight.controller.film();
    assert_eq!((film.state, film.fault, film.retries), (State::Stopped, Some(Fault::Stuck), 1));
    assert_eq!(rig.flight.controller.exposure().ending, Ending::FilmStopped);
    assert_eq!(rig.flight.controller.exposure().frame, 0);
    assert_motors_off(&rig);
}

#[test]
fn film_that_breaks_in_a_pass_stops_everything() {
    let mut rig = in_mid_pass("film_break", "");
    let off_s = rig.time_to(SETTLED_S + 40.0, |flight| flight.controller.film().state == State::Stopped);
    assert!(off_s.expect("never stopped") < 1.0, "{off_s:?}");
    assert_motors_off(&rig);
    rig.run(PASS_H * 3600.0 + 40.0);
    rig.assert_flag(Flag::FilmBroken);
    assert!(!rig.flight.plant.shutter().is_open());
    // Ten seconds at 30 mm/s, besides what was wound on the take-up reel at the start.
    let run_m = rig.telemetry().film_metered_m - rig.flight.controller.settings().film.wound_length_m;
    assert!((run_m - 0.35).abs() < 0.05, "the footage must stay known: {run_m}");
}

#[test]
fn film_that_breaks_at_the_supply_stops_everything_as_well() {
    let mut rig = in_mid_pass("film_break", "side = \"supply\"");
    let off_s = rig.time_to(SETTLED_S + 40.0, |flight| flight.controller.film().state == State::Stopped);
    assert!(off_s.expect("never stopped") < 1.0, "{off_s:?}");
    assert_motors_off(&rig);
    rig.run(PASS_H * 3600.0 + 40.0);
    rig.assert_flag(Flag::FilmBroken);
    assert_attitude_held(&mut rig);
}

/// The supply turns freely for two seconds as film stops: it overruns. The loop is put in order before the next
/// pass, which is flown as if nothing had been.
#[test]
fn an_overrun_supply_is_put_in_order_before_the_next_pass() {
    let tail = camera(PASS_H, 30.0) + &camera(LATER_H, 20.0) + &fault("supply_overrun", "for_s = 2.0");
    let at_h = PASS_H + 29.9 / 3600.0;
    let mut rig = Rig::new(&replace(&scenario(0.7, &tail), "at_h = 0.6\n", &format!("at_h = {at_h}\n")));
    rig.run(PASS_H * 3600.0 + 35.0);
    rig.assert_flag(Flag::FilmLoop);
    assert_eq!(rig.flight.controller.film().fault, Some(Fault::Overrun));
    let first = rig.flight.controller.exposure().frame;
    assert!(first > 20);
    let mut tension_n = (f64::INFINITY, 0.0_f64);
    rig.watch(LATER_H * 3600.0 + 25.0, |flight, outcome| {
        if outcome.open.total_us() > 0 {
            for now_n in flight.plant.film().tension_n() {
                tension_n = (tension_n.0.min(now_n), tension_n.1.max(now_n));
            }
        }
    });
    assert!(rig.flight.controller.exposure().frame > first + 15, "the next pass was lost");
    assert!(tension_n.0 > 3.0 && tension_n.1 < 12.0, "{tension_n:?}");
    assert_attitude_held(&mut rig);
}

/// The roller's bridge gives all its voltage, whatever it is asked.
#[test]
fn film_that_runs_away_is_braked_and_the_attitude_held() {
    let mut rig = in_mid_pass("film_runaway", "");
    let film_m = rig.flight.plant.film().gate_m();
    let off_s = rig.time_to(SETTLED_S + 40.0, |flight| flight.controller.film().state == State::Stopped);
    assert!(off_s.expect("never stopped") < 0.1, "{off_s:?}");
    assert_motors_off(&rig);
    rig.run(PASS_H * 3600.0 + 40.0);
    rig.assert_flag(Flag::FilmRunaway);
    let film = rig.flight.plant.film();
    assert!(film.gate_m() - film_m < 0.05 && !film.broken(), "{}", film.gate_m() - film_m);
    assert!(film.tension_n()[0] > 3.0, "not under tension: {:?}", film.tension_n());
    assert_attitude_held(&mut rig);
}

/// The load's table of film speeds is off by one step of 0.1 mm/s, up or down. Said before the pass, and only then.
#[test]
fn a_film_speed_off_by_one_step_is_noticed_before_the_pass() {
    for (keys, wrong) in [("steps = 1", true), ("steps = -1", true), ("steps = 0", false)] {
        let mut rig = passing("speed_step_off", keys);
        rig.run(PASS_H * 3600.0 - 0.5);
        assert_eq!(rig.flags().has(Flag::SpeedDoubtful), wrong, "{keys}");
        assert_eq!(rig.flight.controller.exposure().frame, 0, "too late");
    }
}

/// The camera-off never comes. The limit of film in one camera-on ends the pass, a minute after its time.
#[test]
fn a_lost_camera_off_costs_no_more_film_than_the_limit() {
    let mut rig = Rig::new(&scenario(0.7, &(camera(PASS_H, 30.0) + &fault("camera_off_lost", ""))));
    rig.run(0.7 * 3600.0 - 1.0);
    assert_eq!(rig.flight.controller.exposure().ending, Ending::TooMuchFilm);
    rig.assert_flag(Flag::CameraLimit);
    let limit_m = f64::from(rig.flight.controller.settings().camera.footage_limit_m);
    let used_m = rig.flight.plant.film().gate_m();
    // Thirty seconds of 30 mm/s were wanted.
    assert!(used_m > 0.95 && used_m < limit_m + 0.05 && limit_m < 3.0, "{used_m} of {limit_m}");
    assert_eq!(rig.flight.controller.film().state, State::Braked);
    assert!(!rig.flight.plant.shutter().is_open());
    let mut sound = Rig::new(&scenario(0.7, &camera(PASS_H, 30.0)));
    sound.run(0.7 * 3600.0 - 1.0);
    assert_eq!(sound.flight.controller.exposure().ending, Ending::Commanded);
    sound.assert_no_flag(Flag::CameraLimit);
}

/// The load is shorter than the flight code was told. Film stops by the supply reel's own size, under tension.
#[test]
fn film_that_is_shorter_than_was_said_is_stopped_by_the_size_of_its_reel() {
    let text = scenario(0.7, &camera(PASS_H, 240.0));
    let wound = |load_m: &str| replace(&text, "load_m = 900.0", &format!("load_m = {load_m}\nwound_m = 890.0"));
    let short = replace(&wound("900.0"), &camera(PASS_H, 240.0), "");
    let short = loaded(&short);
    let mut rig = Rig::with(&wound("930.0"), 1, |built| {
        built.plant = build(&short, 1).expect("a sound plant").plant;
    });
    rig.run(0.7 * 3600.0 - 1.0);
    rig.assert_flag(Flag::FilmEmpty);
    assert_eq!(rig.flight.controller.exposure().ending, Ending::Reserve);
    let film = rig.flight.plant.film();
    assert!(film.supply_m() > 0.3 && !film.broken(), "{} m left", film.supply_m());
    assert!(film.tension_n().iter().all(|tension_n| *tension_n > 3.0), "{:?}", film.tension_n());
    assert_eq!(rig.mode(), Mode::Fine);
}

/// Film is cut and sealed by command, in the hold that exposures are made in. A load with a pass after it is refused.
#[test]
fn film_is_cut_and_sealed_by_command_and_never_runs_again() {
    let secure = "[[command]]\ndo = \"cut_and_seal\"\nat_h = 0.62\n";
    let after = scenario(0.7, &(camera(PASS_H, 30.0) + secure + &camera(0.68, 20.0)));
    let refused = build(&loaded(&after), 1).err();
    assert!(matches!(refused, Some(BuildError::Load(LoadError::Phase(_)))), "{refused:?}");
    let mut rig = Rig::new(&scenario(0.7, &(camera(PASS_H, 30.0) + secure)));
    rig.run(0.62 * 3600.0 + 90.0);
    assert!(rig.telemetry().film_secured);
    assert_eq!(rig.flight.plant.film().seal(), Seal::Tight);
    assert!(rig.flight.plant.film().is_cut());
    let (frames, gate_m) = (rig.flight.controller.exposure().frame, rig.flight.plant.film().gate_m());
    assert!(frames > 20);
    rig.run(0.7 * 3600.0 - 1.0);
    assert_eq!(rig.flight.controller.exposure().frame, frames);
    assert!((rig.flight.plant.film().gate_m() - gate_m).abs() < 1e-4);
    assert_eq!(rig.mode(), Mode::Fine);
}

#[test]
fn broken_film_is_never_exposed() {
    let mut rig = passing("film_break", "");
    rig.run(LATER_H * 3600.0 + 25.0);
    rig.assert_flag(Flag::FilmBroken);
    assert_eq!(rig.flight.controller.exposure().frame, 0);
    assert!(stopped(&rig));
}

#[test]
fn a_stalled_take_up_reel_stops_the_film_before_its_loop_is_full() {
    let mut rig = in_mid_pass("take_up_stalled", "");
    let off_s = rig.time_to(SETTLED_S + 40.0, |flight| flight.controller.film().state == State::Stopped);
    assert!(off_s.expect("never stopped") < 4.0, "{off_s:?}");
    assert_motors_off(&rig);
    let status = *rig.flight.controller.film();
    assert_eq!(status.fault, Some(Fault::Slack));
    rig.run(PASS_H * 3600.0 + 40.0);
    assert!(!rig.flight.plant.shutter().is_open());
}

#[test]
fn slip_at_the_metering_roller_is_measured_and_flagged() {
    let mut rig = in_mid_pass("metering_slip", "slip_percent = 3");
    rig.run(PASS_H * 3600.0 + 40.0);
    // The residual is over all film so far, of which two thirds ran with 3 % of slip.
    let residuals = rig.telemetry().film_residual;
    for residual in residuals {
        let residual = residual.expect("enough film has run");
        assert!(residual > 0.01 && residual < 0.031, "{residuals:?}");
    }
    rig.assert_flag(Flag::FilmImbalance);
}

#[test]
fn no_slip_no_flag() {
    let mut rig = Rig::new(&scenario(0.7, &camera(PASS_H, 30.0)));
    rig.run(PASS_H * 3600.0 + 40.0);
    rig.assert_no_flag(Flag::FilmImbalance);
    assert!(rig.flight.controller.exposure().frame > 20);
}

#[test]
fn a_shutter_stuck_open_is_seen_and_film_is_saved() {
    let mut rig = in_mid_pass("shutter_stuck_open", "");
    // While the camera runs nobody can tell; at the camera-off the light stays on.
    rig.run(PASS_H * 3600.0 + 32.0);
    rig.assert_flag(Flag::ShutterFault);
    let film_m = rig.telemetry().film_metered_m;
    rig.run(0.7 * 3600.0);
    assert_eq!(rig.telemetry().film_metered_m, film_m);
}

#[test]
fn a_shutter_stuck_open_before_the_pass_lets_no_film_run() {
    let mut rig = passing("shutter_stuck_open", "");
    let film_m = rig.telemetry().film_metered_m;
    rig.run(LATER_H * 3600.0 + 25.0);
    rig.assert_flag(Flag::ShutterFault);
    assert_eq!(rig.telemetry().film_metered_m, film_m);
}

#[test]
fn a_shutter_stuck_shut_ends_the_pass_at_once() {
    let mut rig = passing("shutter_stuck_shut", "");
    rig.run(PASS_H * 3600.0 + 35.0);
    rig.assert_flag(Flag::ShutterFault);
    assert_eq!(rig.flight.controller.exposure().ending, Ending::Shutter);
    let film_m = rig.telemetry().film_metered_m;
    let run_m = film_m - rig.flight.controller.settings().film.wound_length_m;
    assert!(run_m < 0.1, "{run_m} m of film were run past a shut shutter");
    rig.run(LATER_H * 3600.0 + 25.0);
    assert_eq!(rig.telemetry().film_metered_m, film_m, "it tried again without being asked to");
}

#[test]
fn every_kind_of_fault_can_be_written_in_a_scenario() {
    // The list is kept here by hand so that a new kind without a test is noticed.
    let kinds = [
        ("horizon_sun", "roll_deg = 1.0\npitch_deg = 0.0"),
        ("horizon_bias", "roll_deg = 1.0\npitch_deg = 0.0"),
        ("horizon_stuck", ""),
        ("horizon_lost", ""),
        ("horizon_noise", "times = 2.0"),
        ("gyro_bias_step", "axis = \"x\"\nstep_deg_h = 1.0"),
        ("gyro_dead", "axis = \"x\""),
        ("gyro_scale", "axis = \"x\"\nerror_percent = 1.0"),
        ("jet_stuck_open", "jet = \"A7\""),
        ("jet_stuck_closed", "jet = \"A7\""),
        ("jet_weak", "jet = \"A7\"\nthrust_percent = 90.0"),
        ("gas_leak", "rate_g_h = 1.0"),
        ("film_jam", ""),
        ("film_break", ""),
        ("take_up_stalled", ""),
        ("supply_overrun", ""),
        ("film_runaway", ""),
        ("metering_slip", "slip_percent = 1.0"),
        ("speed_step_off", ""),
        ("camera_off_lost", ""),
        ("reel_sense_reversed", ""),
        ("shutter_stuck_open", ""),
        ("shutter_stuck_shut", ""),
        ("clock_step", "step_s = 1.0"),
        ("clock_drift", "rate_ppm = 1.0"),
        ("link_lost", ""),
        ("uplink_garbled", "bits_percent = 1.0"),
        ("ordnance_orders", "event = \"cover_release\""),
        ("arming_relay_welded", ""),
    ];
    let mut seen = std::collections::BTreeSet::new();
    for (kind, keys) in kinds {
        let loaded = crate::rig::loaded(&scenario(1.0, &fault(kind, keys)));
        let read: &FaultKind = &loaded.scenario.faults[0].kind;
        assert_eq!(read.word(), kind);
        seen.insert(kind);
        let mut rig = Rig::new(&scenario(1.0, &replace(&fault(kind, keys), "at_h = 0.6", "at_h = 0.001")));
        let mut began = false;
        rig.watch(5.0, |flight, _| began |= flight.changes.iter().any(|change| change.name == kind && change.began));
        assert!(began, "{kind} never began");
    }
    assert_eq!(seen.len(), 29);
}
