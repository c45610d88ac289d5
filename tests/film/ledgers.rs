//! Film in = film out; momentum given = momentum taken.

use stillframe::plant::film::{FilmParameters, FilmPlant, Side};
use stillframe_controller::film::{Demand, State};
use stillframe_controller::io::FilmDrive;

use crate::rig::{Rig, SPEED_M_S, TICK_S};

#[test]
fn film_is_never_made_or_lost() {
    let mut rig = Rig::strip(10.0);
    for turn in 0..40 {
        rig.run(500, Demand::Run { speed_m_s: 0.02 + 0.006 * turn as f32 });
        rig.run(100, Demand::Rest);
        assert!(rig.plant.ledger_residual_m().abs() < 1e-9, "{}", rig.plant.ledger_residual_m());
    }
    assert!(rig.plant.gate_m() > 20.0);
    // What passed the gate left the supply and reached the take-up, but for what the loops hold.
    assert!((rig.plant.wound_m() - 10.0 - rig.plant.gate_m()).abs() < 2.0 * 0.04);
    // A part of the film that breaks away is still film.
    rig.plant.break_film(Side::TakeUp);
    rig.run(200, Demand::Run { speed_m_s: SPEED_M_S });
    assert!(rig.plant.ledger_residual_m().abs() < 1e-9);
}

#[test]
fn the_body_feels_the_opposite_of_what_the_reels_gain() {
    let mut plant = FilmPlant::new(&FilmParameters::default());
    let drive = FilmDrive {
        roller_duty: 0.05,
        supply_duty: -0.2,
        take_up_duty: 0.2,
        brake: false,
        clamp: false,
        ..FilmDrive::REST
    };
    let (body_inertia, mut body_rad_s, mut acceleration) = (310.0, 0.0, 0.0);
    let mut before = plant.momentum_nms();
    for _ in 0..500 {
        let reaction = plant.advance(TICK_S, &drive, acceleration);
        let after = plant.momentum_nms();
        assert!((reaction.momentum_change_nms - (after - before)).abs() < 1e-12);
        before = after;
        let kick = -reaction.momentum_change_nms / body_inertia;
        body_rad_s += kick;
        acceleration = kick / TICK_S;
        assert!((body_inertia * body_rad_s + after).abs() < 1e-12, "momentum of the whole is not zero");
        // The momentum reported is that of the parts as they can be seen from outside.
        let [supply_m_s, gate_m_s, take_up_m_s] = plant.speeds_m_s();
        let seen = plant.supply_inertia_kg_m2() * supply_m_s / plant.supply_radius_m() + 2e-4 * gate_m_s / 0.020
            - plant.take_up_inertia_kg_m2() * take_up_m_s / plant.take_up_radius_m();
        // The roller's eccentricity hides a thousandth of its own small share, the last tick's film a
        // few parts in 10⁷ of the reels' size.
        assert!((seen - after).abs() < 1e-6 + 1e-6 * after.abs(), "{seen} {after}");
    }
    assert!(before.abs() > 1e-3, "nothing turned");
}

#[test]
fn start_and_stop_kicks_cancel() {
    for (wound_m, expected_nms) in [(0.0, 0.031), (449.4, 0.0), (880.0, -0.030)] {
        let mut rig = Rig::strip(wound_m);
        rig.run(100, Demand::Run { speed_m_s: SPEED_M_S });
        rig.until(300, Demand::Run { speed_m_s: SPEED_M_S }, |rig| rig.transport.status().valid);
        let kick_nms = rig.reaction_nms;
        rig.run(3, Demand::Run { speed_m_s: SPEED_M_S });
        rig.until(200, Demand::Rest, |rig| rig.state() == State::Braked);
        rig.run(30, Demand::Rest);
        println!("wound {wound_m} m: start kick {kick_nms:.5} N·m·s, left after the stop {:.1e}", rig.reaction_nms);
        assert!(rig.reaction_nms.abs() < 1e-12);
        // Within the wow of the reels' own speed.
        assert!((kick_nms - expected_nms).abs() < 1.5e-3, "{kick_nms}");
    }
}

/// A shaft that nothing holds keeps its rate in space while the body turns faster under it.
#[test]
fn free_reels_lag_behind_an_accelerating_body() {
    let mut film = FilmParameters::default();
    for reel in [&mut film.supply, &mut film.take_up] {
        (reel.drag_nm, reel.viscous_nm_s) = (0.0, 0.0);
    }
    let mut plant = FilmPlant::new(&film);
    plant.break_film(Side::Supply);
    plant.break_film(Side::TakeUp);
    let free = FilmDrive { brake: false, clamp: false, ..FilmDrive::REST };
    for _ in 0..100 {
        plant.advance(TICK_S, &free, 0.01);
    }
    let [supply_rad, _, take_up_rad] = plant.angles_rad();
    // ½·0.01·1² rad behind, each in its own sense of turning.
    assert!((supply_rad + 0.005).abs() < 1e-5, "{supply_rad}");
    assert!((take_up_rad - 0.005).abs() < 1e-5, "{take_up_rad}");
}

/// At rest under the brakes nothing changes, whatever the length of the rest.
#[test]
fn rest_is_rest() {
    let mut rig = Rig::strip(123.0);
    rig.run(200, Demand::Run { speed_m_s: SPEED_M_S });
    rig.run(200, Demand::Rest);
    assert!(rig.plant.asleep());
    let before = (rig.plant.clone(), *rig.transport.status());
    rig.run(5_000, Demand::Rest);
    assert_eq!(before, (rig.plant.clone(), *rig.transport.status()));
    assert_eq!(rig.plant.electric_power_w(), 0.0);
}
