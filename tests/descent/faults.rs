//! What goes wrong, with the same descent without the fault as the control.

use stillframe::descent::dispersions::Off;
use stillframe::descent::fall::{End, Fall, What};
use stillframe::descent::integrate::Closeness;
use stillframe::descent::recovery::Opening;
use stillframe::descent::{Faults, Model};

use crate::{made, model};

fn with(faults: Faults) -> Fall {
    let (model, at) = model();
    let model = Model { faults, ..model };
    model.fall(&at, &Off::default(), &made().descents.timers, Closeness::COUNTED, false)
}

fn along_km(fall: &Fall) -> [f64; 2] {
    let place = stillframe::descent::ground::below(&fall.last.at.position_m(), fall.last.at.t_s, &made().model.earth);
    made().descents.along.offset_m(&place).map(|m| m * 1e-3)
}

#[test]
fn the_control_lands_under_both_canopies() {
    let fall = with(Faults::default());
    assert_eq!((fall.end, fall.drogue, fall.main), (End::Down, Opening::Good, Opening::Good));
    assert!(along_km(&fall)[0].abs() < 0.05);
    assert!(fall.last.speed_m_s < 8.1);
}

/// The g-switch starts the timer; dead, the backup from separation fires the drogue, a margin later and kilometres
/// lower, but under its Mach number and pressure; and the main by its own.
#[test]
fn a_dead_g_switch_costs_time_and_not_the_film() {
    let (good, dead) = (with(Faults::default()), with(Faults { g_switch_dead: true, ..Faults::default() }));
    let time = |fall: &Fall| fall.at(What::Drogue).expect("drogue").at.t_s;
    let margin_s = made().model.plan.drogue.backup_margin_s;
    assert!((time(&dead) - time(&good) - margin_s).abs() < 0.5);
    assert!(dead.at(What::GSwitch).is_none() && good.at(What::GSwitch).is_some());
    assert_eq!((dead.drogue, dead.main), (Opening::Good, Opening::Good));
    assert!(dead.at(What::Main).expect("main").height_m > 0.0 && dead.last.speed_m_s < 8.1);
}

/// Fired two minutes early, at 40 km and many times its Mach number, the drogue is torn. The main, on its timer, finds
/// the body at its own steady speed, √(2 m g/(ρ C_D A)), some 56 m/s at 5 km, and stands.
#[test]
fn an_early_drogue_is_torn() {
    let fall = with(Faults { early_drogue_s: 120.0, ..Faults::default() });
    let drogue = fall.at(What::Drogue).expect("fired");
    assert!(drogue.mach > 3.0 && drogue.height_m > 35_000.0, "{drogue:?}");
    assert_eq!((fall.drogue, fall.main), (Opening::Torn, Opening::Good));
    let main = fall.at(What::Main).expect("fired");
    // 66.08 kg on 0.56 m², in the standard's 0.7361 kg/m³ at 5 km, falling with the square root of that.
    let steady_m_s = (2.0_f64 * 66.08 * 9.79 / (0.7361 * 0.56)).sqrt() * ((main.height_m - 5_000.0) / 19_000.0).exp();
    assert!((main.speed_m_s / steady_m_s - 1.0).abs() < 0.03, "{} {steady_m_s}", main.speed_m_s);
}

#[test]
fn a_main_that_fails_leaves_the_drogue() {
    let fall = with(Faults { main_dead: true, ..Faults::default() });
    assert_eq!((fall.drogue, fall.main), (Opening::Good, Opening::Failed));
    // 66.08 kg under 1.0 m² and the body's own 0.56 m².
    let steady_m_s = (2.0_f64 * 66.08 * 9.8 / (1.225 * 1.56)).sqrt();
    assert!((fall.last.speed_m_s / steady_m_s - 1.0).abs() < 0.01, "{} {steady_m_s}", fall.last.speed_m_s);
}

/// A drogue that fails costs the capsule: the main's timer was fitted beneath a drogue, and the body alone is down
/// before it runs out, at √(2 m g/(ρ C_D A)) = 43 m/s. The report must show it.
#[test]
fn a_drogue_that_fails_takes_the_main_with_it() {
    let fall = with(Faults { drogue_dead: true, ..Faults::default() });
    assert_eq!((fall.end, fall.drogue, fall.main), (End::Down, Opening::Failed, Opening::Never));
    let alone_m_s = (2.0_f64 * 66.08 * 9.8 / (1.225 * 0.56)).sqrt();
    assert!((fall.last.speed_m_s / alone_m_s - 1.0).abs() < 0.02, "{} {alone_m_s}", fall.last.speed_m_s);
}

/// A tenth less impulse: 35 km a per cent, straight, and more as it curves; long of the zone. None at all: it stays up.
#[test]
fn a_weak_retro_lands_long_or_not_at_all() {
    let weak = with(Faults { impulse_missing: 0.1, ..Faults::default() });
    let along = along_km(&weak);
    assert!((330.0..700.0).contains(&along[0]), "{along:?}");
    assert_eq!(with(Faults { impulse_missing: 1.0, ..Faults::default() }).end, End::Up);
}

/// Whatever of the propellant does not burn leaves with the motor: 85 kg less 10 kg of motor and 20,120 N·s ÷ (230 s ×
/// 9.80665 m/s²) = 8.92 kg of propellant are 66.08 kg that enter, be the burn whole or in part.
#[test]
fn a_weak_retro_leaves_the_capsule_as_heavy_as_ever() {
    let alone = |impulse_missing: f64| {
        let faults = Faults { impulse_missing, drogue_dead: true, main_dead: true, ..Faults::default() };
        let fall = with(faults);
        assert_eq!(fall.end, End::Down);
        // By the air's drag at the end: pressure × area ÷ deceleration. The area grows from 0.56 to 0.57 m² at Mach 0.6.
        let m = &fall.last;
        m.pressure_pa * (0.56 + 0.01 * m.mach / 0.6) / (m.g * 9.806_65)
    };
    for missing in [0.0, 0.1, 0.3] {
        let mass_kg = alone(missing);
        assert!((mass_kg - 66.08).abs() < 0.05, "{missing}: {mass_kg}");
    }
}

/// Straight back and 3° further is where pitch matters; at the angle used it hardly does.
#[test]
fn retro_attitude_off_shifts_by_its_square() {
    let shift = |deg: f64| along_km(&with(Faults { pitch_rad: deg.to_radians(), ..Faults::default() }))[0];
    let (up, down) = (shift(3.0), shift(-3.0));
    let expected = made().summary.angle.here_km_deg;
    assert!((0.5 * (up - down) / 3.0 - expected).abs() < 0.5, "{up} {down} {expected}");
    let yawed = along_km(&with(Faults { yaw_rad: 3.0_f64.to_radians(), ..Faults::default() }));
    assert!(yawed[1].abs() > 4.0, "{yawed:?}");
    // Burnt forwards it raises the orbit instead: the capsule stays up.
    let forwards = with(Faults { pitch_rad: -100.0_f64.to_radians(), ..Faults::default() });
    assert_eq!(forwards.end, End::Up);
}

/// Without spin a millimetre of offset turns the capsule over in the burn; with it, a few tenths of a degree.
#[test]
fn spin_is_what_makes_an_offset_harmless() {
    let (mut model, at) = model();
    model.capsule.retro.offset_m = 0.001;
    let timers = made().descents.timers;
    let spinning = model.fall(&at, &Off::default(), &timers, Closeness::COUNTED, false);
    assert!(along_km(&spinning)[0].abs() < 60.0, "{:?}", along_km(&spinning));
    model.faults.spin_rad_s = Some(0.0);
    let still = model.fall(&at, &Off::default(), &timers, Closeness::COUNTED, false);
    assert!(still.end == End::Up || along_km(&still)[0].abs() > 1_000.0);
}
