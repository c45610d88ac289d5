//! Reels against closed forms derived outside the project: the area balance r² = r0² + L·t/π, the mass
//! ρwtL, the inertia of a hollow cylinder ½m(r² + r0²), momentum H = I·v/r.

use stillframe::plant::film::reel::Pack;
use stillframe::plant::film::{FilmParameters, FilmPlant};

#[track_caller]
fn near(found: f64, expected: f64, relative: f64) {
    assert!((found / expected - 1.0).abs() < relative, "found {found}, expected {expected}");
}

/// Reference case: 76 µm × 70 mm film of 1390 kg/m³, 1000 m on a 40 mm core. The figures were computed by
/// hand from the closed forms, to 13 digits, before this code existed.
#[test]
fn a_pack_has_the_closed_forms_of_a_hollow_cylinder() {
    let pack = Pack { core_radius_m: 0.040, thickness_m: 76e-6, line_density_kg_m: 1390.0 * 0.070 * 76e-6 };
    near(pack.radius_m(1000.0), 0.160_597_482_389_9, 1e-9);
    near(pack.turns(1000.0), 1_586.808_978_814, 1e-9);
    near(pack.mass_kg(1000.0), 7.3948, 1e-9);
    near(pack.inertia_kg_m2(1000.0), 0.101_277_521_961_4, 1e-9);
    near(pack.inertia_kg_m2(1000.0) * 0.5 / pack.radius_m(1000.0), 0.315_314_787_175_5, 1e-9);
    let slope = (pack.radius_m(1000.01) - pack.radius_m(999.99)) / 0.02;
    near(slope, 75.317_343_055_35e-6, 1e-8);
    // Started alone, this spool turns a 1500 kg·m² vehicle by momentum conservation.
    let kick_deg_s = (0.315_314_787_175_5_f64 / 1500.0).to_degrees();
    near(kick_deg_s, 0.012_044_137_682_15, 1e-9);
}

/// The demo's load: 12.1 kg, 153 mm, 0.155 kg·m² full and 0.004 kg·m² bare, ±0.031 N·m·s at the ends of
/// the load at 34 mm/s and next to nothing at mid-load.
#[test]
fn the_demo_load_closes() {
    let full = FilmPlant::new(&FilmParameters::default());
    near(full.supply_mass_kg(), 12.1, 5e-3);
    near(full.supply_radius_m(), 0.153, 3e-3);
    near(full.supply_inertia_kg_m2(), 0.155, 1e-2);
    near(full.take_up_inertia_kg_m2(), 0.004, 1e-9);
    let net = |wound_m: f64| {
        let plant = FilmPlant::new(&FilmParameters { wound_m, ..FilmParameters::default() });
        0.034
            * (plant.supply_inertia_kg_m2() / plant.supply_radius_m()
                - plant.take_up_inertia_kg_m2() / plant.take_up_radius_m())
    };
    near(net(0.0), 0.031, 2e-2);
    near(net(898.0), -0.031, 2e-2);
    assert!(net(449.4).abs() < 1e-4, "reels do not cancel at mid-load: {}", net(449.4));
}

/// Turns that the reels really make while film runs, against turns of the closed form.
#[test]
fn reels_turn_as_often_as_the_closed_form_says() {
    use stillframe_controller::film::Demand;
    let mut rig = crate::rig::Rig::strip(100.0);
    let pack = |plant: &FilmPlant| {
        let film = FilmParameters::default();
        let pack = Pack {
            core_radius_m: film.supply.core_radius_m,
            thickness_m: film.web.thickness_m,
            line_density_kg_m: film.web.line_density_kg_m(),
        };
        (pack.turns(plant.supply_m()), pack.turns(plant.wound_m()))
    };
    let (supply, take_up) = pack(&rig.plant);
    rig.run(12_000, Demand::Run { speed_m_s: 0.2 });
    let (supply_left, take_up_now) = pack(&rig.plant);
    let [supply_rad, _, take_up_rad] = rig.plant.angles_rad();
    let turn = std::f64::consts::TAU;
    assert!(rig.plant.gate_m() > 20.0);
    // The radius is renewed once a tick, so it is half a tick's film (1 mm) behind: t·δL/(2πR²), which is
    // 4·10⁻⁶ of the radius on the smaller reel.
    near(supply_rad / turn, supply - supply_left, 5e-6);
    near(take_up_rad / turn, take_up_now - take_up, 5e-6);
}
