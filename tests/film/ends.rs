//! The ends of the film and what lies between them: joins, the end of the supply, cut and seal.

use stillframe::plant::film::splice::Splice;
use stillframe::plant::film::{FilmFaults, FilmParameters, Jam, Seal};
use stillframe_controller::film::{Demand, Fault, FilmSettings, State};
use stillframe_controller::io::FilmDrive;

use crate::rig::{Rig, SPEED_M_S};

const RUN: Demand = Demand::Run { speed_m_s: SPEED_M_S };

/// A join passes the roller as a bump: for its length the film is faster by half its thickness over the roller's
/// radius, 38 µm on 20 mm. The flight code's counter cannot see it.
#[test]
fn a_join_passes_as_a_bump_of_speed() {
    let wound_m = 300.0;
    let at_m = wound_m + 0.6 + 0.3;
    let film = FilmParameters { splices: vec![Splice::taped(at_m)], ..FilmParameters::default() };
    let mut plain = Rig::strip(wound_m);
    let mut joined = Rig::new(&film, &FilmSettings::default(), wound_m);
    let (mut longest_ticks, mut most) = (0, 0.0_f64);
    for _ in 0..1_500 {
        plain.step(RUN);
        joined.step(RUN);
        let bump = joined.plant.speeds_m_s()[1] / plain.plant.speeds_m_s()[1].max(1e-3) - 1.0;
        if bump > 1e-3 {
            longest_ticks += 1;
            most = most.max(bump);
        }
    }
    // 10 mm at 34.1 mm/s are 29 ticks; the loops swing a little when it has passed.
    assert!((27..45).contains(&longest_ticks), "{longest_ticks}");
    // The bump itself, and the loops' answer to it.
    assert!(most > 38e-6 / 0.020 && most < 2.5 * 38e-6 / 0.020, "{most}");
    // What the bump adds to the film, a count of 3.8 µm to either side.
    let gained_m = joined.plant.gate_m() - plain.plant.gate_m();
    assert!((gained_m - 0.010 * 38e-6 / 0.020).abs() < 6e-6, "{gained_m}");
    assert!(joined.transport.status().valid && joined.plant.ledger_residual_m().abs() < 1e-9);
}

/// A join is weaker than film: a jam that whole film stands parts a poor one.
#[test]
fn a_poor_join_parts_where_film_would_hold() {
    // The stalled motor pulls with 15 N on the half-full reel; 12 N part the poor join.
    let jammed = |strength: f64| {
        let splice = Splice { strength, ..Splice::taped(300.0 + 0.6 + 0.4) };
        let mut film = FilmParameters { splices: vec![splice], ..FilmParameters::default() };
        film.web.breaking_n = 150.0;
        let mut rig = Rig::new(&film, &FilmSettings::default(), 300.0);
        rig.run(250, RUN);
        rig.plant.set_faults(FilmFaults { jam: Some(Jam::Roller { holding_nm: 50.0 }), ..FilmFaults::default() });
        let pull = FilmDrive { take_up_duty: 0.6, brake: false, clamp: false, ..FilmDrive::REST };
        for _ in 0..100 {
            rig.plant.advance(0.01, &pull, 0.0);
        }
        rig.plant.broken()
    };
    assert!(!jammed(1.0));
    assert!(jammed(0.08));
}

/// The load is 20 m shorter than the flight code believes. The supply reel's own size gives it away, and film
/// stops under tension with its end still on the core.
#[test]
fn a_short_load_is_seen_by_the_size_of_its_reel() {
    let film = FilmParameters { load_m: 880.0, ..FilmParameters::default() };
    let mut rig = Rig::new(&film, &FilmSettings::default(), 866.0);
    rig.run(20, Demand::Rest);
    rig.until(120_000, Demand::Run { speed_m_s: 0.05 }, |rig| rig.transport.status().reserve_reached);
    let counted_m = 866.0 + rig.plant.gate_m();
    assert!(counted_m < 900.0 - 15.0, "the count alone would have said so");
    rig.until(300, Demand::Run { speed_m_s: 0.05 }, |rig| rig.state() == State::Braked);
    rig.run(500, RUN);
    println!(
        "stopped with {:.2} m on the supply, tension {:.2}..{:.2} N",
        rig.plant.supply_m(),
        rig.tension_n.0,
        rig.tension_n.1
    );
    assert_eq!(rig.state(), State::Braked);
    assert!(rig.plant.supply_m() > 0.5 && !rig.plant.broken());
    assert!(rig.tension_n.0 > 3.0 && rig.tension_n.1 < 12.0);
}

/// The same with a reel counter too coarse to tell: the end slips off the core, and that is named.
#[test]
fn an_end_that_slips_off_its_core_stops_the_motors() {
    let film = FilmParameters { load_m: 880.0, ..FilmParameters::default() };
    let settings = FilmSettings { empty_share: 0.0, reserve_length_m: 19.0, ..FilmSettings::default() };
    let mut rig = Rig::new(&film, &settings, 870.0);
    rig.until(60_000, RUN, |rig| rig.state() == State::Stopped);
    assert_eq!(rig.drive, FilmDrive::REST);
    let fault = rig.transport.status().fault;
    assert!(matches!(fault, Some(Fault::Broken | Fault::Empty)), "{fault:?}");
    assert!(rig.plant.ledger_residual_m().abs() < 1e-9);
}

#[track_caller]
fn secured(mut rig: Rig) {
    rig.run(20, Demand::Rest);
    let wound_m = rig.plant.wound_m();
    let mut tension = (f64::INFINITY, 0.0_f64);
    let mut cut_at_m = None;
    for _ in 0..20_000 {
        let before = rig.tension_n;
        rig.step(Demand::Secure);
        if rig.plant.is_cut() && cut_at_m.is_none() {
            cut_at_m = Some(rig.plant.wound_m());
            assert!(rig.drive.brake, "cut with the brakes off");
            tension = before;
        }
        if rig.state() == State::Secured {
            break;
        }
    }
    let led_m = cut_at_m.expect("the film was cut") - wound_m;
    println!(
        "led on {led_m:.3} m, secured after {:.1} s, tail {:.1e} m, tension until the cut {:.2}..{:.2} N",
        f64::from(rig.ticks) / 100.0,
        rig.plant.tail_m(),
        tension.0,
        tension.1
    );
    assert_eq!(rig.state(), State::Secured);
    assert_eq!(rig.plant.seal(), Seal::Tight);
    assert!((led_m - 3.0).abs() < 0.05, "{led_m}");
    assert!(tension.0 > 3.0 && tension.1 < 12.0, "{tension:?}");
    assert!(rig.plant.ledger_residual_m().abs() < 1e-9, "{}", rig.plant.ledger_residual_m());
    // Nothing moves film any more, whatever is asked.
    let (gate_m, now_m) = (rig.plant.gate_m(), rig.plant.wound_m());
    rig.run(500, RUN);
    rig.transport.acknowledge();
    rig.run(500, Demand::Secure);
    assert_eq!(rig.state(), State::Secured);
    assert!((rig.plant.gate_m() - gate_m).abs() < 1e-4 && rig.plant.wound_m() == now_m);
    assert!(rig.plant.asleep(), "still moving");
}

#[test]
fn film_is_led_on_cut_wound_in_and_sealed() {
    for wound_m in [0.5, 449.4, 880.0] {
        secured(Rig::strip(wound_m));
    }
    secured(Rig::new(&FilmParameters::framing(), &FilmSettings::framing(), 449.4));
}

/// Film that a fault has stopped is cut where it stands.
#[test]
fn stopped_film_is_cut_where_it_stands() {
    let mut rig = Rig::strip(449.4);
    rig.run(250, RUN);
    rig.plant.set_faults(FilmFaults { jam: Some(Jam::Roller { holding_nm: 5.0 }), ..FilmFaults::default() });
    rig.run(1_000, RUN);
    assert_eq!(rig.state(), State::Stopped);
    let wound_m = rig.plant.wound_m();
    rig.until(8_000, Demand::Secure, |rig| rig.state() == State::Secured);
    assert_eq!(rig.plant.seal(), Seal::Tight);
    // The tail alone came after.
    assert!((rig.plant.wound_m() - wound_m - 0.45).abs() < 0.09, "{}", rig.plant.wound_m() - wound_m);
}

/// The other order would not do: a closure shut before the cut pinches film, and is not tight.
#[test]
fn a_closure_shut_upon_film_is_not_tight() {
    let mut rig = Rig::strip(449.4);
    let seal_only = FilmDrive { seal: true, ..FilmDrive::REST };
    rig.plant.advance(0.01, &seal_only, 0.0);
    assert_eq!(rig.plant.seal(), Seal::Pinched);
    let cut = FilmDrive { cut: true, ..FilmDrive::REST };
    let mut rig = Rig::strip(449.4);
    rig.plant.advance(0.01, &cut, 0.0);
    rig.plant.advance(0.01, &FilmDrive { seal: true, ..cut }, 0.0);
    assert_eq!(rig.plant.seal(), Seal::Pinched, "the tail still lay in the way");
}
