//! Faults: each must be seen, named and made safe; and none may be seen where there is none.

use stillframe::plant::film::{FilmFaults, FilmParameters, Jam, Side};
use stillframe_controller::film::{Demand, Fault, FilmSettings, State};
use stillframe_controller::io::FilmDrive;

use crate::rig::{Rig, SPEED_M_S};

const RUN: Demand = Demand::Run { speed_m_s: SPEED_M_S };

fn running(wound_m: f64) -> Rig {
    let mut rig = Rig::strip(wound_m);
    rig.run(250, RUN);
    assert!(rig.transport.status().valid);
    rig.forget_extremes();
    rig
}

/// Ticks until every motor is off and the brakes are on.
#[track_caller]
fn motors_off(rig: &mut Rig, limit: u32) -> u32 {
    rig.until(limit, RUN, |rig| rig.drive == FilmDrive::REST)
}

fn with(faults: FilmFaults) -> impl Fn(&mut Rig) {
    move |rig| rig.plant.set_faults(faults)
}

const ROLLER_JAM: FilmFaults = FilmFaults {
    jam: Some(Jam::Roller { holding_nm: 5.0 }),
    take_up_stalled: false,
    slip: 0.0,
    encoder_dead: false,
    brake_stuck: None,
    supply_free: false,
    bridge_stuck: None,
};

#[test]
fn stuck_film_stops_the_motors_within_a_fifth_of_a_second() {
    for wound_m in [0.0, 449.0, 880.0] {
        for faults in [ROLLER_JAM, FilmFaults { brake_stuck: Some(true), ..FilmFaults::default() }] {
            let mut rig = running(wound_m);
            with(faults)(&mut rig);
            let ticks = motors_off(&mut rig, 20);
            println!(
                "wound {wound_m} m, {faults:?}: motors off after {ticks} ticks, tension up to {:.1} N",
                rig.tension_n.1
            );
            assert!(ticks < 20);
            assert_eq!(rig.transport.status().fault, Some(Fault::Stuck));
            assert!(!rig.plant.broken());
            assert!(rig.tension_n.1 < 12.0, "more than twice the nominal tension: {}", rig.tension_n.1);
        }
    }
}

#[test]
fn a_jam_at_the_start_is_seen_as_fast_once_film_is_asked_to_move() {
    let mut rig = Rig::strip(300.0);
    rig.plant.set_faults(ROLLER_JAM);
    rig.until(30, RUN, |rig| rig.state() == State::RunningUp);
    assert!(motors_off(&mut rig, 20) < 20);
}

#[test]
fn one_retry_and_no_more() {
    let mut rig = running(300.0);
    rig.plant.set_faults(ROLLER_JAM);
    let mut attempts = 0;
    let mut before = rig.state();
    for _ in 0..3_000 {
        rig.step(RUN);
        if rig.state() == State::Readying && before != State::Readying {
            attempts += 1;
        }
        before = rig.state();
    }
    assert_eq!(attempts, 1);
    assert_eq!(rig.state(), State::Stopped);
    // Only the ground may try again; then film runs if the jam has gone.
    rig.plant.set_faults(FilmFaults::default());
    rig.run(500, RUN);
    assert_eq!(rig.state(), State::Stopped);
    rig.transport.acknowledge();
    rig.until(150, RUN, |rig| rig.transport.status().valid);
}

#[test]
fn the_retry_succeeds_when_the_jam_has_gone() {
    let mut rig = running(300.0);
    rig.plant.set_faults(ROLLER_JAM);
    motors_off(&mut rig, 20);
    rig.plant.set_faults(FilmFaults::default());
    rig.until(400, RUN, |rig| rig.transport.status().valid);
    assert_eq!(rig.transport.status().retries, 1);
}

/// Film caught in the gate while the roller slides on under it: the counter goes on, and only the roller's
/// current and the loops show that film does not.
#[test]
fn film_caught_under_a_turning_roller_is_seen_by_reels_and_loops() {
    for wound_m in [0.0, 449.0, 880.0] {
        let mut rig = running(wound_m);
        rig.plant.set_faults(FilmFaults { jam: Some(Jam::Web), ..FilmFaults::default() });
        let ticks = motors_off(&mut rig, 60);
        println!("wound {wound_m} m, film caught in the gate: motors off after {ticks} ticks");
        assert!(ticks < 20, "{ticks}");
        assert_eq!(rig.transport.status().fault, Some(Fault::Stuck));
        assert!(rig.tension_n.0 > 0.0 && rig.tension_n.1 < 12.0);
    }
}

#[test]
fn broken_film_is_called_broken_on_either_side() {
    for wound_m in [5.0, 449.0, 880.0] {
        for side in [Side::Supply, Side::TakeUp] {
            let mut rig = running(wound_m);
            rig.plant.break_film(side);
            let ticks = motors_off(&mut rig, 50);
            println!("wound {wound_m} m, broken at {side:?}: motors off after {ticks} ticks");
            assert_eq!(rig.transport.status().fault, Some(Fault::Broken), "{side:?} at {wound_m}");
            rig.run(1_000, RUN);
            assert_eq!(rig.state(), State::Stopped, "broken film must not be tried again");
        }
    }
}

#[test]
fn a_stalled_take_up_is_slack_and_not_broken() {
    let mut rig = running(449.0);
    rig.plant.set_faults(FilmFaults { take_up_stalled: true, ..FilmFaults::default() });
    let ticks = motors_off(&mut rig, 400);
    println!("take-up stalled: motors off after {ticks} ticks, arm {:.1} mm", rig.arm_m * 1e3);
    assert_eq!(rig.transport.status().fault, Some(Fault::Slack));
    assert!(rig.tension_n.0 > 0.0, "film went quite slack before it was stopped");
}

/// The reels alone still show it, though later, if the roller grips too weakly to draw a telling current.
#[test]
fn film_caught_under_a_roller_that_hardly_grips_is_seen_by_the_reels() {
    for wound_m in [0.0, 449.0, 880.0] {
        let mut film = FilmParameters::default();
        film.roller.grip_n = 2.0;
        let mut rig = Rig::new(&film, &FilmSettings::default(), wound_m);
        rig.run(250, RUN);
        rig.plant.set_faults(FilmFaults { jam: Some(Jam::Web), ..FilmFaults::default() });
        let ticks = motors_off(&mut rig, 60);
        assert!(ticks < 35, "{ticks}");
        assert_eq!(rig.transport.status().fault, Some(Fault::Stuck));
    }
}

/// A bridge that gives all its voltage whatever it is asked: film is stopped before a loop is empty.
#[test]
fn film_that_runs_away_is_braked_before_it_tears() {
    for wound_m in [0.0, 449.0, 880.0] {
        for (duty, rest) in [(1.0, false), (0.5, false), (1.0, true)] {
            let mut rig = running(wound_m);
            if rest {
                rig.run(200, Demand::Rest);
                rig.until(50, Demand::Hold, |rig| rig.state() == State::Holding);
                rig.forget_extremes();
            }
            with(FilmFaults { bridge_stuck: Some(duty), ..FilmFaults::default() })(&mut rig);
            let asked = if rest { Demand::Hold } else { RUN };
            let ticks = rig.until(20, asked, |rig| rig.drive == FilmDrive::REST);
            rig.run(100, asked);
            println!(
                "wound {wound_m} m, bridge stuck at {duty}: motors off after {ticks} ticks, tension {:.1}..{:.1} N",
                rig.tension_n.0, rig.tension_n.1
            );
            assert_eq!(rig.transport.status().fault, Some(Fault::Runaway));
            assert!(ticks < 10 && !rig.plant.broken());
            assert!(rig.tension_n.0 > 0.0 && rig.tension_n.1 < 12.0, "{:?}", rig.tension_n);
            assert!(rig.plant.asleep(), "still moving under the brakes");
        }
    }
}

/// A supply that turns freely while film stops overruns: its loop fills. Once it answers again, the loop is put
/// in order before film runs, and the run goes on as if nothing had been.
#[test]
fn an_overrun_supply_is_put_in_order_before_the_next_run() {
    for wound_m in [0.0, 300.0] {
        let mut rig = running(wound_m);
        with(FilmFaults { supply_free: true, ..FilmFaults::default() })(&mut rig);
        rig.until(400, RUN, |rig| rig.drive == FilmDrive::REST);
        assert_eq!(rig.transport.status().fault, Some(Fault::Overrun));
        rig.run(60, RUN);
        assert!(rig.plant.arms()[0].0 > 0.030, "nothing overran");
        with(FilmFaults::default())(&mut rig);
        rig.until(600, RUN, |rig| rig.state() == State::RunningUp);
        assert!(rig.plant.arms()[0].0 < 0.018, "film ran with its loop out of order");
        rig.forget_extremes();
        rig.until(150, RUN, |rig| rig.transport.status().valid);
        assert!(rig.tension_n.0 > 3.0 && rig.tension_n.1 < 12.0, "{:?}", rig.tension_n);
        assert_eq!(rig.transport.status().retries, 1);
    }
}

/// A bridge stuck before the brakes let go: film is braked again within tenths, whatever its loops look like.
#[test]
fn film_that_runs_away_from_its_brakes_is_braked_again() {
    let mut rig = Rig::strip(300.0);
    rig.run(50, Demand::Rest);
    with(FilmFaults { bridge_stuck: Some(1.0), ..FilmFaults::default() })(&mut rig);
    rig.until(20, RUN, |rig| rig.state() == State::Readying);
    let ticks = rig.until(20, RUN, |rig| rig.drive == FilmDrive::REST);
    assert_eq!(rig.transport.status().fault, Some(Fault::Runaway));
    // Its patience is three times as long while loops are put in order: 0.09 s of 0.56 m/s.
    assert!(ticks < 15 && rig.plant.gate_m() < 0.08, "{ticks} ticks, {} m", rig.plant.gate_m());
    assert!(rig.tension_n.1 < 12.0 && !rig.plant.broken());
}

/// The supply turns freely under its brake: its loop fills while nobody asks for film. Noticed, put in order as
/// soon as it can be, and not taken for an empty reel; its momentum is known from its own counter.
#[test]
fn a_supply_that_turns_by_itself_at_rest_is_noticed() {
    let mut rig = Rig::strip(300.0);
    rig.run(50, Demand::Rest);
    with(FilmFaults { supply_free: true, ..FilmFaults::default() })(&mut rig);
    let (mut least, mut worst) = (0.0_f64, 0.0_f64);
    for _ in 0..60 {
        rig.step(Demand::Rest);
        let truth = rig.plant.momentum_nms();
        least = least.max(truth.abs());
        worst = worst.max((f64::from(rig.transport.status().momentum_nms) - truth).abs());
    }
    assert_eq!(rig.transport.status().fault, Some(Fault::Overrun));
    // The counter's window is 0.15 s long; the reel takes as long to speed up.
    assert!(least > 0.1 && worst < 0.6 * least, "{least} {worst}");
    with(FilmFaults::default())(&mut rig);
    rig.until(900, Demand::Rest, |rig| rig.state() == State::Braked);
    rig.run(200, Demand::Rest);
    assert!(rig.plant.arms()[0].0.abs() < 0.005, "{}", rig.plant.arms()[0].0);
    assert!(!rig.transport.status().reserve_reached && !rig.transport.status().disagreement);
    rig.until(150, RUN, |rig| rig.transport.status().valid);
}

/// One that stays free is left alone after the one attempt.
#[test]
fn a_supply_that_stays_free_is_tried_once() {
    let mut rig = running(0.0);
    with(FilmFaults { supply_free: true, ..FilmFaults::default() })(&mut rig);
    rig.until(4_000, RUN, |rig| rig.state() == State::Stopped);
    rig.run(1_000, RUN);
    assert_eq!((rig.state(), rig.transport.status().retries), (State::Stopped, 1));
    assert_eq!(rig.drive, FilmDrive::REST);
}

#[test]
fn slipping_film_is_flagged_by_the_balance_and_only_then() {
    let mut rig = running(200.0);
    rig.run(20_000, RUN);
    assert!(!rig.transport.status().disagreement, "{:?}", rig.transport.status().residual);
    rig.plant.set_faults(FilmFaults { slip: 0.03, ..FilmFaults::default() });
    let counts = rig.transport.status().metered_counts;
    rig.until(6_000, RUN, |rig| rig.transport.status().disagreement);
    let film_m = f64::from(rig.transport.status().metered_counts - counts) * 0.02 * std::f64::consts::TAU / 32_768.0;
    println!("3 % slip flagged after {film_m:.2} m of film");
    rig.run(6_000, RUN);
    for share in rig.transport.status().residual.map(|share| share.expect("enough film has run")) {
        // 3 % less film than counted reads as 1/0.97 − 1.
        assert!((share - 0.0309).abs() < 0.006, "{share}");
    }
}

#[test]
fn a_dead_counter_is_told_from_stuck_film() {
    for wound_m in [0.0, 449.0, 880.0] {
        let mut rig = running(wound_m);
        rig.plant.set_faults(FilmFaults { encoder_dead: true, ..FilmFaults::default() });
        let ticks = motors_off(&mut rig, 20);
        assert_eq!(rig.transport.status().fault, Some(Fault::CounterDead), "at {wound_m} after {ticks}");
        assert!(rig.tension_n.1 < 12.0);
    }
}

#[test]
fn a_gauge_that_gives_no_number_stops_film() {
    let mut rig = running(449.0);
    let mut sample = rig.plant.sample(false);
    sample.take_up_arm_m = f32::NAN;
    let mut drive = rig.drive;
    for _ in 0..10 {
        drive = rig.transport.step(&sample, RUN);
    }
    assert_eq!(drive, FilmDrive::REST);
    assert_eq!(rig.transport.status().fault, Some(Fault::Gauges));
}

#[test]
fn no_run_goes_on_into_the_reserve() {
    let mut rig = Rig::strip(884.9);
    rig.until(1_500, RUN, |rig| rig.transport.status().reserve_reached);
    rig.until(300, RUN, |rig| rig.state() == State::Braked);
    rig.run(500, RUN);
    assert_eq!(rig.state(), State::Braked);
    let used_m = f64::from(rig.transport.status().metered_counts) * 0.02 * std::f64::consts::TAU / 32_768.0;
    assert!(used_m < 885.2, "{used_m}");
}

/// A loop that is slack before the start is taken up before film runs.
#[test]
fn slack_is_taken_up_before_a_run() {
    let mut rig = Rig::strip(300.0);
    // Turn the supply by hand until its arm is well out.
    let pay_out = FilmDrive { supply_duty: 0.1, brake: false, ..FilmDrive::REST };
    while rig.plant.arms()[0].0 < 0.025 {
        rig.plant.advance(0.01, &pay_out, 0.0);
    }
    for _ in 0..100 {
        rig.plant.advance(0.01, &FilmDrive::REST, 0.0);
    }
    rig.until(300, RUN, |rig| rig.state() == State::RunningUp);
    assert!(rig.plant.arms()[0].0 < 0.018, "film ran with its loop out of order");
    rig.until(150, RUN, |rig| rig.transport.status().valid);
}
