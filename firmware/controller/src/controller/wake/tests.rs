extern crate std;
use super::*;
use crate::{
    attitude::{KeptDoubts, mode::Hold, orbit::Ephemeris},
    film::{Fault, KeptFilm, State},
    health::flags::Flag,
    io::{Edges, FilmDrive, HorizonSample, Sensors, TankSample},
    programme::{
        load::{Command, Entry, Load},
        waiting::tests::Ground,
    },
    settings::tests::two_banks,
};

fn sensors(tick: u32) -> Sensors {
    // Noise in the last figure keeps the gyros alive.
    let wobble = tick as f32 * 1e-7;
    Sensors {
        tick,
        gyro_rad_s: [0.02 + wobble, wobble, wobble],
        horizon: HorizonSample { sequence: (tick / 10) as u8, locked: true, roll_rad: wobble, pitch_rad: wobble },
        tank: TankSample { pressure_pa: 20e6, temperature_k: 293.15 },
        film: crate::io::FilmSample::default(),
        uplink: heapless::Vec::new(),
        separated: true,
        ordnance: crate::io::OrdnanceSample::default(),
    }
}

fn load(counter: u16) -> Load {
    let ephemeris = Ephemeris {
        epoch_tick: 0,
        phase: 1,
        phase_per_tick: 527_000_000,
        half_acceleration_rad_s2: 1e-11,
        inclination_rad: 1.43,
        radius_ratio2: 0.93,
    };
    let commands =
        [(500, Command::Speed(341)), (600, Command::Hold(Hold::Coarse)), (90_000, Command::Hold(Hold::Fine))];
    let entries = commands.into_iter().map(|(tick, command)| Entry { tick, command }).collect();
    Load { counter, ephemeris, entries }
}

/// Flies `ticks` from tick `from`; what came out last.
fn fly(controller: &mut Controller, from: u32, ticks: u32) -> Actuators {
    (from..from + ticks).map(|tick| controller.step(&sensors(tick))).last().expect("ticks")
}

fn flying() -> Controller {
    let mut controller = Controller::new(two_banks()).expect("settings");
    controller.load(&load(7).encode(), 0).expect("a load");
    fly(&mut controller, 1, 1_000);
    controller
}

#[test]
fn after_a_reset_the_vehicle_goes_on_with_what_was_kept_and_nothing_is_open() {
    let before = flying();
    let kept = before.keep().expect("a sound memory");
    assert!(kept.sound());
    let mut woken = Controller::wake(two_banks(), Some(&kept), ResetCause::Watchdog).expect("settings");
    assert_eq!(woken.computer().resets, 1);
    assert_eq!((woken.wanted_hold(), woken.commanded_speed_step()), (Hold::Coarse, 341));
    assert_eq!(woken.programme.in_force(), before.programme.in_force());
    assert_eq!(woken.separated_tick, before.separated_tick);
    let first = woken.step(&sensors(1_051));
    assert!(first.jets.iter().all(|edges| edges.open_us.is_none()), "no valve opens in the first tick");
    assert!(!woken.programme.suspended(), "the clock has run on: that is no jump");
    // Once more: resets are counted.
    let again = Controller::wake(two_banks(), woken.keep().as_ref(), ResetCause::BrownOut).expect("settings");
    assert_eq!((again.computer().resets, again.computer().cause), (2, ResetCause::BrownOut));
}

#[test]
fn what_was_kept_and_does_not_match_is_not_used() {
    let kept = flying().keep().expect("a sound memory");
    for bit in 0..32 {
        let damaged = kept.clone().damaged(bit);
        let woken = Controller::wake(two_banks(), Some(&damaged), ResetCause::Watchdog).expect("settings");
        assert!(woken.computer().kept_refused && !woken.programme.loaded());
    }
    let mut other = kept;
    other.state.film.metered_counts += 1;
    assert!(!other.sound());
}

#[test]
fn every_part_that_is_kept_is_under_the_check_sum() {
    let kept = flying().keep().expect("a sound memory");
    let changes: [fn(&mut KeptState); 17] = [
        |s| s.telecommands += 1,
        |s| s.clock_ahead += 1,
        |s| s.separated_tick = None,
        |s| s.captured = !s.captured,
        |s| s.film.state = State::Stopped,
        |s| s.film.fault = Some(Fault::Stuck),
        |s| s.film.retries += 1,
        |s| s.film.supply_empty = true,
        |s| s.film.led = true,
        |s| s.frames += 1,
        |s| s.shutter_fault = true,
        |s| s.doubts.diverged = true,
        |s| s.doubts.yaw = true,
        |s| s.doubts.kick_reversed = true,
        |s| s.last_tick = None,
        |s| s.banks_lost[1] = Some(crate::attitude::response::Verdict::Weak),
        |s| s.computer.overruns += 1,
    ];
    for (number, change) in changes.into_iter().enumerate() {
        let mut other = kept.clone();
        change(&mut other.state);
        assert!(!other.sound(), "{number}");
    }
}

/// What was kept, with everything latched that only the ground lets go.
fn latched() -> Kept {
    let mut state = flying().keep().expect("a sound memory").state;
    state.film = KeptFilm { state: State::Stopped, fault: Some(Fault::Broken), ..state.film };
    state.shutter_fault = true;
    state.doubts = KeptDoubts { diverged: true, yaw: true, kick_reversed: true };
    Kept::new(state)
}

#[test]
fn a_reset_lets_nothing_go_that_was_latched_and_a_new_load_all_of_it() {
    const LATCHED: [Flag; 5] =
        [Flag::FilmBroken, Flag::ShutterFault, Flag::YawDoubtful, Flag::AttitudeDiverged, Flag::KickReversed];
    let told = |woken: &Controller| LATCHED.map(|flag| woken.telemetry().flags.has(flag));
    let mut woken = Controller::wake(two_banks(), Some(&latched()), ResetCause::Watchdog).expect("settings");
    fly(&mut woken, 1_051, 250);
    assert_eq!((woken.film().state, told(&woken)), (State::Stopped, [true; 5]));
    // Once more, from what is kept now.
    let mut woken = Controller::wake(two_banks(), woken.keep().as_ref(), ResetCause::Watchdog).expect("settings");
    fly(&mut woken, 1_351, 250);
    assert_eq!((woken.film().state, told(&woken)), (State::Stopped, [true; 5]));
    woken.load(&load(8).encode(), 400).expect("a load");
    fly(&mut woken, 1_601, 250);
    assert_eq!((woken.film().state, told(&woken)), (State::Braked, [false; 5]));
}

/// By radio, as in flight: the load alone lets nothing go, nor does a commit of another; its own does.
#[test]
fn what_was_latched_falls_with_the_commit_of_a_new_load_and_not_before() {
    let mut woken = Controller::wake(two_banks(), Some(&latched()), ResetCause::Watchdog).expect("settings");
    fly(&mut woken, 1_051, 250);
    let mut tick = 1_301;
    let mut send = |woken: &mut Controller, bytes: &[u8]| {
        for piece in bytes.chunks(16) {
            let uplink = heapless::Vec::from_slice(piece).expect("room");
            woken.step(&Sensors { uplink, ..sensors(tick) });
            tick += 1;
        }
        fly(woken, tick, 200);
        tick += 200;
        woken.telemetry().flags.has(Flag::YawDoubtful) && woken.film().state == State::Stopped
    };
    let later = |counter| {
        let mut load = load(counter);
        load.entries.iter_mut().for_each(|entry| entry.tick += 10_000);
        load
    };
    let (new, other) = (later(8), later(9));
    let mut ground = Ground::default();
    assert!(send(&mut woken, &ground.load(&new)), "a load that waits lets nothing go");
    assert!(send(&mut woken, &ground.commit(&other)), "nor does a commit that is refused");
    assert!(!send(&mut woken, &ground.commit(&new)));
    assert_eq!((woken.telemetry().load_counter, woken.film().state), (8, State::Braked));
}

#[test]
fn a_clock_that_begins_anew_with_the_reset_suspends_the_load_that_was_kept() {
    for (first, suspended) in [(1_051, false), (7_000, false), (7_001, true), (0, true), (999, true)] {
        let kept = flying().keep();
        let mut woken = Controller::wake(two_banks(), kept.as_ref(), ResetCause::BrownOut).expect("settings");
        woken.step(&sensors(first));
        assert_eq!(woken.programme.suspended(), suspended, "{first}");
    }
    // Several resets before the first step: what was read last is still known.
    let woken = Controller::wake(two_banks(), flying().keep().as_ref(), ResetCause::BrownOut).expect("settings");
    let mut again = Controller::wake(two_banks(), woken.keep().as_ref(), ResetCause::BrownOut).expect("settings");
    again.step(&sensors(0));
    assert!(again.programme.suspended());
}

#[test]
fn after_a_brown_out_without_a_load_the_first_one_is_carried_out_whatever_its_counter() {
    for counter in [0, 7] {
        let mut woken = Controller::wake(two_banks(), None, ResetCause::BrownOut).expect("settings");
        assert!(woken.sheds());
        woken.load(&load(counter).encode(), 0).expect("a load");
        assert!(!woken.sheds(), "{counter}");
    }
}

#[test]
fn a_cycle_that_does_not_end_is_counted_shuts_the_valves_and_is_no_jump_of_the_clock() {
    let mut controller = flying();
    let safe = controller.overrun();
    assert!(safe.jets.iter().all(|&edges| edges == Edges::CLOSE));
    assert_eq!((safe.latch_open, safe.film), ([false; 2], FilmDrive::REST));
    for _ in 0..5 {
        controller.overrun();
    }
    fly(&mut controller, 1_007, 10);
    assert_eq!(controller.computer().overruns, 6);
    assert!(!controller.programme.suspended());
}

#[test]
fn memory_that_does_not_agree_with_itself_is_found_within_a_second_and_outputs_stay_safe() {
    for place in [Memory::Gain, Memory::Film, Memory::Load(2)] {
        let mut controller = flying();
        fly(&mut controller, 1_001, 200);
        assert!(!controller.asks_for_reset(), "a sound memory asks for nothing");
        controller.turn_over(place);
        let last = fly(&mut controller, 1_201, 101);
        assert!(controller.asks_for_reset() && controller.keep().is_none(), "{place:?}");
        assert!(last.jets.iter().all(|&edges| edges == Edges::CLOSE) && last.latch_open == [false; 2]);
    }
}
