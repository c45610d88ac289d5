//! Tries a whole step as a linear one; refuses where the mechanism is not linear.
//!
//! Refused, and left to the sub-steps, is a step at whose start or end a loop is slack or near breaking, an arm
//! is at its stop, a motor is at its current limit, the film is parted, caught or cut, or in which a shaft
//! stops, turns round or breaks loose.

use super::faults::Jam;
use super::linear::{Kept, Propagator, Shafts, State};
use super::mechanism::{Constants, Held, Motion, Passed, lever_m};
use super::motor::Motor;
use super::parameters::FilmParameters;

/// Least tension, N, at both ends of an exact step: what rings inside the step must not slacken the film.
const TAUT_N: f64 = 0.5;
/// Share of the breaking tension, and of an arm's travel, beyond which sub-steps take over.
const NEAR: f64 = 0.95;

/// What departs from the matrices' own numbers, constant over the step.
struct Departure {
    /// Friction's direction on each shaft; zero where it is held.
    turning: [f64; 3],
    /// Rates at the start, rad/s.
    rates: [f64; 3],
    /// Reels' growth since the matrices were made, and the roller's departure from round, m.
    radius_m: [f64; 3],
    /// Tensions at the start, N.
    tension_n: [f64; 2],
    /// Extra tension that the departures make by the film's damping, N.
    damped_n: [f64; 2],
    /// Torque of motors, ripple and body on each shaft, N·m, without what the matrices hold.
    drive_nm: [f64; 3],
    /// Voltage on each motor, V.
    volts: [f64; 3],
    /// Most torque that friction resists on each shaft, N·m.
    friction_nm: [f64; 3],
}

/// Where the step ends.
struct End {
    state: State,
    /// Angles turned by the shafts, rad.
    turned: [f64; 3],
    tension_n: [f64; 2],
}

/// Advances `motion` over all of `held`'s time in one step, if the mechanism is linear all through it.
pub(super) fn advance(
    film: &FilmParameters,
    constants: &Constants,
    kept: &mut Kept,
    held: &Held,
    motion: &mut Motion,
) -> Option<Passed> {
    if !might_be_linear(film, constants, held, motion) {
        return None;
    }
    let step_s = held.step_s * f64::from(held.steps);
    // A guess at the middle of the step: the roller's place there gives its eccentricity and ripple.
    let middle_rad = motion.roller.angle_rad + 0.5 * step_s * motion.roller.rate_rad_s;
    let lever = lever_m(film, held, middle_rad);
    let volts = [held.supply_v, held.roller_v, held.take_up_v];
    let drive_nm = drives(film, held, volts, middle_rad);
    let friction_nm = [held.supply_friction_nm, held.roller_friction_nm, held.take_up_friction_nm];
    let rates = [motion.supply.rate_rad_s, motion.roller.rate_rad_s, motion.take_up.rate_rad_s];

    let [before_n, after_n] = tensions(constants, held, lever, motion);
    let pulls_nm = [before_n * held.supply_radius_m, (after_n - before_n) * lever, -after_n * held.take_up_radius_m];
    let turning: [f64; 3] = std::array::from_fn(|shaft| {
        let push_nm = drive_nm[shaft] + pulls_nm[shaft];
        match rates[shaft] {
            0.0 if push_nm.abs() <= friction_nm[shaft] => 0.0,
            0.0 => push_nm.signum(),
            rate => rate.signum(),
        }
    });
    let shafts = Shafts { held: turning.map(|way| way == 0.0), driven: volts.map(|v| v != 0.0) };
    let set = kept.get(film, constants, held, shafts);

    let radius_m = [
        held.supply_radius_m - set.supply_radius_m,
        lever - film.roller.radius_m,
        held.take_up_radius_m - set.take_up_radius_m,
    ];
    let growth = [radius_m[1] * rates[1] - radius_m[0] * rates[0], radius_m[2] * rates[2] - radius_m[1] * rates[1]];
    let damped_n = [constants.supply.damping_n_s_m * growth[0], constants.take_up.damping_n_s_m * growth[1]];
    let departure =
        Departure { turning, rates, radius_m, tension_n: [before_n, after_n], damped_n, drive_nm, volts, friction_nm };
    let z = state(constants, motion);
    let f = forcing(film, set, &departure, growth);
    let (state, turned) = set.advance(&z, &f);
    let tension_n = [set.tension[0].dot(&state) + damped_n[0], set.tension[1].dot(&state) + damped_n[1]];
    let end = End { state, turned, tension_n };

    if !stayed_linear(film, constants, &departure, &end) || held_shaft_slips(held, lever, &departure, tension_n) {
        return None;
    }
    Some(book(film, held, set, &departure, &end, motion))
}

fn might_be_linear(film: &FilmParameters, constants: &Constants, held: &Held, m: &Motion) -> bool {
    let inside = |at_m: f64, travel_m: f64| at_m.abs() < NEAR * travel_m;
    let taut = |tension_n: f64, breaking_n: f64| tension_n > TAUT_N && tension_n < NEAR * breaking_n;
    held.jam != Some(Jam::Web)
        && !m.supply_loop.broken
        && !m.take_up_loop.broken
        && m.tail_m.is_none()
        && m.supply_loop.film_m > 0.0
        && (m.take_up_loop.tension_n - m.supply_loop.tension_n).abs() < NEAR * film.roller.grip_n
        && taut(m.supply_loop.tension_n, constants.supply.breaking_n * held.strength)
        && taut(m.take_up_loop.tension_n, constants.take_up.breaking_n * held.strength)
        && inside(m.supply_arm.at_m, film.supply_arm.travel_m)
        && inside(m.take_up_arm.at_m, film.take_up_arm.travel_m)
}

/// Torque of the motors standing still, of the ripple and of the body, N·m.
fn drives(film: &FilmParameters, held: &Held, volts: [f64; 3], roller_rad: f64) -> [f64; 3] {
    let standing = |motor: &Motor, volts: f64| motor.constant_nm_a * volts / motor.resistance_ohm;
    let body = held.body_rad_s2;
    let ripple_nm = if volts[1] == 0.0 { 0.0 } else { held.ripple_nm(film, roller_rad) };
    [
        standing(&film.supply.motor, volts[0]) - film.supply.spin * held.supply_inertia * body,
        standing(&film.roller.motor, volts[1]) + ripple_nm - film.roller.spin * film.roller.inertia_kg_m2 * body,
        standing(&film.take_up.motor, volts[2]) - film.take_up.spin * held.take_up_inertia * body,
    ]
}

fn tensions(constants: &Constants, held: &Held, lever_m: f64, m: &Motion) -> [f64; 2] {
    let supply_m_s = m.supply.rate_rad_s * held.supply_radius_m;
    let gate_m_s = m.roller.rate_rad_s * lever_m;
    let take_up_m_s = m.take_up.rate_rad_s * held.take_up_radius_m;
    let z = state(constants, m);
    let (one, two) = (&constants.supply, &constants.take_up);
    [
        one.stiffness_n_m * z[7] + one.damping_n_s_m * (gate_m_s - supply_m_s + 2.0 * z[3]),
        two.stiffness_n_m * z[8] + two.damping_n_s_m * (take_up_m_s - gate_m_s + 2.0 * z[4]),
    ]
}

fn state(constants: &Constants, m: &Motion) -> State {
    let stretch_m = |path_m: f64, at_m: f64, film_m: f64| path_m + 2.0 * at_m - film_m;
    State::from([
        m.supply.rate_rad_s,
        m.roller.rate_rad_s,
        m.take_up.rate_rad_s,
        m.supply_arm.speed_m_s,
        m.take_up_arm.speed_m_s,
        m.supply_arm.at_m,
        m.take_up_arm.at_m,
        stretch_m(constants.supply.path_m, m.supply_arm.at_m, m.supply_loop.film_m),
        stretch_m(constants.take_up.path_m, m.take_up_arm.at_m, m.take_up_loop.film_m),
    ])
}

fn forcing(film: &FilmParameters, set: &Propagator, departure: &Departure, growth: [f64; 2]) -> State {
    let [before_n, after_n] = departure.tension_n;
    let [damped_before_n, damped_after_n] = departure.damped_n;
    let across_n = after_n - before_n;
    let [supply_m, roller_m, take_up_m] = departure.radius_m;
    let extra_nm = [
        before_n * supply_m + damped_before_n * set.supply_radius_m,
        across_n * roller_m + (damped_after_n - damped_before_n) * film.roller.radius_m,
        -after_n * take_up_m - damped_after_n * set.take_up_radius_m,
    ];
    let inertia = [set.supply_inertia, film.roller.inertia_kg_m2, set.take_up_inertia];
    let mut f = State::zeros();
    for shaft in 0..3 {
        if departure.turning[shaft] != 0.0 {
            let torque_nm =
                departure.drive_nm[shaft] + extra_nm[shaft] - departure.friction_nm[shaft] * departure.turning[shaft];
            f[shaft] = torque_nm / inertia[shaft];
        }
    }
    f[3] = 2.0 * (film.supply_arm.middle_tension_n - damped_before_n) / film.supply_arm.mass_kg;
    f[4] = 2.0 * (film.take_up_arm.middle_tension_n - damped_after_n) / film.take_up_arm.mass_kg;
    (f[7], f[8]) = (growth[0], growth[1]);
    f
}

fn stayed_linear(film: &FilmParameters, constants: &Constants, departure: &Departure, end: &End) -> bool {
    let motors = [&film.supply.motor, &film.roller.motor, &film.take_up.motor];
    let unlimited = motors.into_iter().enumerate().all(|(shaft, motor)| {
        let volts = departure.volts[shaft];
        volts == 0.0
            || [departure.rates[shaft], end.state[shaft]].into_iter().all(|rate_rad_s| {
                (volts - motor.constant_nm_a * rate_rad_s).abs() < motor.current_limit_a * motor.resistance_ohm
            })
    });
    let same_way = (0..3).all(|shaft| {
        let turning = departure.turning[shaft];
        turning == 0.0 || turning * end.state[shaft] > 0.0
    });
    let breaking = [constants.supply.breaking_n, constants.take_up.breaking_n];
    let taut = (0..2).all(|side| end.tension_n[side] > TAUT_N && end.tension_n[side] < NEAR * breaking[side]);
    let arms = [&film.supply_arm, &film.take_up_arm];
    let inside = (0..2).all(|side| end.state[5 + side].abs() < NEAR * arms[side].travel_m);
    let grips = (end.tension_n[1] - end.tension_n[0]).abs() < NEAR * film.roller.grip_n;
    unlimited && same_way && taut && inside && grips
}

/// Whether friction can no longer hold a shaft that it held at the start.
fn held_shaft_slips(held: &Held, lever: f64, departure: &Departure, [before_n, after_n]: [f64; 2]) -> bool {
    let pulls_nm = [before_n * held.supply_radius_m, (after_n - before_n) * lever, -after_n * held.take_up_radius_m];
    (0..3).any(|shaft| {
        let push_nm = departure.drive_nm[shaft] + pulls_nm[shaft];
        departure.turning[shaft] == 0.0 && push_nm.abs() > departure.friction_nm[shaft]
    })
}

/// Writes the new motion and adds up what went by.
fn book(
    film: &FilmParameters,
    held: &Held,
    set: &Propagator,
    departure: &Departure,
    end: &End,
    m: &mut Motion,
) -> Passed {
    let step_s = held.step_s * f64::from(held.steps);
    let End { state: after, turned, tension_n } = end;
    let volts = &departure.volts;
    let nominal_m = [set.supply_radius_m, film.roller.radius_m, set.take_up_radius_m];
    let gone: [f64; 3] = std::array::from_fn(|shaft| {
        nominal_m[shaft] * turned[shaft] + departure.radius_m[shaft] * departure.rates[shaft] * step_s
    });
    let shafts = [&mut m.supply, &mut m.roller, &mut m.take_up];
    for (shaft, motion) in shafts.into_iter().enumerate() {
        motion.rate_rad_s = if departure.turning[shaft] == 0.0 { 0.0 } else { after[shaft] };
        motion.angle_rad += if departure.turning[shaft] == 0.0 { 0.0 } else { turned[shaft] };
    }
    (m.supply_arm.speed_m_s, m.take_up_arm.speed_m_s) = (after[3], after[4]);
    (m.supply_arm.at_m, m.take_up_arm.at_m) = (after[5], after[6]);
    m.supply_loop.film_m += gone[0] - gone[1];
    m.take_up_loop.film_m += gone[1] - gone[2];
    (m.supply_loop.tension_n, m.take_up_loop.tension_n) = (tension_n[0], tension_n[1]);

    let motors = [&film.supply.motor, &film.roller.motor, &film.take_up.motor];
    let mut charge_c = [0.0; 3];
    for (shaft, motor) in motors.into_iter().enumerate() {
        if volts[shaft] != 0.0 {
            charge_c[shaft] = (volts[shaft] * step_s - motor.constant_nm_a * turned[shaft]) / motor.resistance_ohm;
        }
    }
    let energy_j: f64 = (0..3).map(|shaft| charge_c[shaft] * volts[shaft]).sum();
    let lever = film.roller.radius_m + departure.radius_m[1];
    Passed {
        supply_m: gone[0],
        tail_m: 0.0,
        gate_m: gone[1],
        take_up_m: gone[2],
        energy_j: energy_j.max(0.0),
        supply_speed_m_s: m.supply.rate_rad_s * held.supply_radius_m,
        gate_speed_m_s: m.roller.rate_rad_s * lever,
        take_up_speed_m_s: m.take_up.rate_rad_s * held.take_up_radius_m,
        roller_current_a: charge_c[1] / step_s,
    }
}
