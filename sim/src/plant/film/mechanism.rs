//! The equations of motion, advanced by fixed sub-steps.
//!
//! Five masses move: two reels, the roller and two arms. Film couples them as stiff springs:
//!
//! ```text
//! J_s ω̇_s = τ_s + T₁R_s − friction       supply reel (R, J follow the film on it, renewed every tick)
//! J_r ω̇_r = τ_r + (T₂ − T₁)r − friction   metering roller, r with its eccentricity
//! J_t ω̇_t = τ_t − T₂R_t − friction        take-up reel
//! |T₂ − T₁| ≤ grip                         beyond it the film slides on the roller
//! m ẍ      = 2(T₀ − T) − kx − cẋ          each arm; a stop at both ends of its travel
//! T        = (EA/ℓ)(stretch + damping · stretch rate), never below zero
//! ```
//!
//! Left out, because it is below a part in 10⁴ of what is there: the mass of the film in the loops, the
//! strain of film on the reels, and the film's own momentum on leaving a pack (2·10⁻⁶ N·m at the demo's
//! speed).
//!
//! As long as they are linear all through a tick, they are solved exactly in one step (`exact`). What
//! is left, the ticks in which a shaft starts or stops, a loop is slack, an arm is on its stop or a motor at its
//! limit, goes by sub-steps. Their scheme is semi-implicit Euler (rates first, then positions with the new
//! rates), which is the leapfrog scheme seen at half steps: no numerical damping, and stable while ω·h < 2 for
//! the fastest mode. The sub-step is taken so that ω·h ≤ 0.8 for a bound on that mode; what a camera sees lies
//! below 30 Hz, where ω·h < 0.1. `tests/film/solver.rs` holds both against a general-purpose solver.

use super::faults::{FilmFaults, Jam};
use super::motor::Shaft;
use super::parameters::FilmParameters;
use super::web::{Arm, ArmParameters, Span, SpanRate};

/// Most of ω·h, for the fastest mode, that a sub-step may be.
const STEP_TIMES_MODE: f64 = 0.8;

/// Constants worked out once from the parameters.
#[derive(Clone, Debug, PartialEq)]
pub struct Constants {
    pub(super) supply: SpanRate,
    pub(super) take_up: SpanRate,
    /// Longest sub-step, s.
    pub(super) longest_step_s: f64,
}

impl Constants {
    pub(super) fn new(film: &FilmParameters) -> Self {
        let supply = SpanRate::new(&film.web, film.web.supply_span_m);
        let take_up = SpanRate::new(&film.web, film.web.take_up_span_m);
        let roller = 2.0 * film.roller.radius_m * film.roller.radius_m / film.roller.inertia_kg_m2;
        // Square of the fastest rate of one span by Gershgorin's bound: its stiffness on every inverse
        // mass it pulls at, with the roller counted twice because both spans pull at it.
        let square = |span: &SpanRate, core_m: f64, hub: f64, arm: &ArmParameters| {
            span.stiffness_n_m * (core_m * core_m / hub + roller + 4.0 / arm.mass_kg)
                + (arm.stop_n_m + arm.stiffness_n_m) / arm.mass_kg
        };
        let fastest = square(&supply, film.supply.core_radius_m, film.supply.hub_inertia_kg_m2, &film.supply_arm)
            .max(square(&take_up, film.take_up.core_radius_m, film.take_up.hub_inertia_kg_m2, &film.take_up_arm))
            .sqrt();
        Self { supply, take_up, longest_step_s: STEP_TIMES_MODE / fastest }
    }
}

/// What moves.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Motion {
    pub(super) supply: Shaft,
    pub(super) roller: Shaft,
    pub(super) take_up: Shaft,
    pub(super) supply_arm: Arm,
    pub(super) take_up_arm: Arm,
    pub(super) supply_loop: Span,
    pub(super) take_up_loop: Span,
    /// Length of the tail between knife and take-up reel once the film has been cut, m.
    pub(super) tail_m: Option<f64>,
}

/// What stays the same during one call.
#[derive(Clone, Copy, Debug)]
pub struct Held {
    pub(super) step_s: f64,
    pub(super) steps: u32,
    pub(super) supply_v: f64,
    pub(super) roller_v: f64,
    pub(super) take_up_v: f64,
    pub(super) supply_radius_m: f64,
    pub(super) take_up_radius_m: f64,
    pub(super) supply_inertia: f64,
    pub(super) take_up_inertia: f64,
    pub(super) supply_friction_nm: f64,
    pub(super) roller_friction_nm: f64,
    pub(super) take_up_friction_nm: f64,
    /// Body's acceleration about +y, rad/s²: shafts lag behind it.
    pub(super) body_rad_s2: f64,
    /// What holds film or roller.
    pub(super) jam: Option<Jam>,
    /// Film moved over roller turned: 1 without slip.
    pub(super) grip: f64,
    /// What a splice under the film adds to the roller's radius, m.
    pub(super) bump_m: f64,
    /// Share of the film's strength that the weakest piece in the loops has.
    pub(super) strength: f64,
}

/// What went by during one call.
#[derive(Clone, Copy, Debug, Default)]
pub struct Passed {
    pub(super) supply_m: f64,
    pub(super) gate_m: f64,
    pub(super) take_up_m: f64,
    /// Part of it that came from the tail of cut film.
    pub(super) tail_m: f64,
    /// Energy from the bus, J; what the motors feed back is burnt in a resistor and not counted.
    pub(super) energy_j: f64,
    pub(super) supply_speed_m_s: f64,
    pub(super) gate_speed_m_s: f64,
    pub(super) take_up_speed_m_s: f64,
    pub(super) roller_current_a: f64,
}

/// Lever at which the film runs over the roller turned to `turn_rad`, m.
#[inline]
pub(super) fn lever_m(film: &FilmParameters, held: &Held, turn_rad: f64) -> f64 {
    (film.roller.radius_m * (1.0 + film.roller.eccentricity * turn_rad.cos()) + held.bump_m) * held.grip
}

impl Held {
    /// Torque ripple of the roller's gear and motor, N·m.
    #[inline]
    pub(super) fn ripple_nm(&self, film: &FilmParameters, turn_rad: f64) -> f64 {
        film.roller.ripple_nm * (film.roller.ripples_per_turn * turn_rad).sin()
    }

    /// Friction that the faults add is in here; drives are what the bridges put out.
    pub(super) fn friction(film: &FilmParameters, faults: &FilmFaults, braked: bool, clamped: bool) -> [f64; 3] {
        let brake = f64::from(u8::from(braked));
        let mut roller = film.roller.drag_nm + brake * film.roller.brake_nm;
        if clamped {
            roller += film.roller.clamp_n * film.roller.radius_m;
        }
        match faults.jam {
            Some(Jam::Roller { holding_nm }) => roller += holding_nm,
            Some(Jam::Web) => roller += film.roller.grip_n * film.roller.radius_m,
            None => {}
        }
        let stall = if faults.take_up_stalled { 1e3 } else { 0.0 };
        let supply_brake = if faults.supply_free { 0.0 } else { brake };
        [
            film.supply.drag_nm + supply_brake * film.supply.brake_nm,
            roller,
            film.take_up.drag_nm + brake * film.take_up.brake_nm + stall,
        ]
    }
}

/// Film slides on the roller as soon as the tensions before and behind it differ by more than it grips: film
/// without mass moves over at once until they differ by just that. Gives the film that slid forward, m; the
/// roller's counter knows nothing of it.
fn slide(grip_n: f64, constants: &Constants, m: &mut Motion) -> f64 {
    let across_n = m.take_up_loop.tension_n - m.supply_loop.tension_n;
    let beyond_n = across_n.abs() - grip_n;
    if beyond_n <= 0.0 {
        return 0.0;
    }
    let (before, after) = (constants.supply.stiffness_n_m, constants.take_up.stiffness_n_m);
    let slid_m = (beyond_n / (before + after)).copysign(across_n);
    m.supply_loop.film_m -= slid_m;
    m.take_up_loop.film_m += slid_m;
    m.supply_loop.tension_n = (m.supply_loop.tension_n + before * slid_m).max(0.0);
    m.take_up_loop.tension_n = (m.take_up_loop.tension_n - after * slid_m).max(0.0);
    slid_m
}

/// Advances `motion` by all of `held`'s sub-steps.
pub fn advance(film: &FilmParameters, constants: &Constants, held: &Held, motion: &mut Motion) -> Passed {
    let mut passed = Passed::default();
    let h = held.step_s;
    let web_held = held.jam == Some(Jam::Web);
    let mut m = *motion;
    let body = held.body_rad_s2;
    for _ in 0..held.steps {
        let turn = m.roller.angle_rad;
        let contact_m = lever_m(film, held, turn);
        let gate_open = !web_held && m.supply_loop.film_m > 0.0;
        let lever_m = if gate_open { contact_m } else { 0.0 };
        let mut supply_speed = m.supply.rate_rad_s * held.supply_radius_m;
        let mut gate_speed = m.roller.rate_rad_s * lever_m;
        let mut take_up_speed = m.take_up.rate_rad_s * held.take_up_radius_m;

        m.supply_loop.pull(
            constants.supply.path_m + 2.0 * m.supply_arm.at_m,
            gate_speed - supply_speed + 2.0 * m.supply_arm.speed_m_s,
            &constants.supply,
            held.strength,
        );
        m.take_up_loop.pull(
            constants.take_up.path_m + 2.0 * m.take_up_arm.at_m,
            take_up_speed - gate_speed + 2.0 * m.take_up_arm.speed_m_s,
            &constants.take_up,
            held.strength,
        );
        if gate_open {
            let slid_m = slide(film.roller.grip_n, constants, &mut m);
            passed.gate_m += slid_m;
        }
        let (before_n, after_n) = (m.supply_loop.tension_n, m.take_up_loop.tension_n);

        let supply_a = film.supply.motor.current_a(held.supply_v, m.supply.rate_rad_s);
        let roller_a = film.roller.motor.current_a(held.roller_v, m.roller.rate_rad_s);
        let take_up_a = film.take_up.motor.current_a(held.take_up_v, m.take_up.rate_rad_s);
        let power_w = supply_a * held.supply_v + roller_a * held.roller_v + take_up_a * held.take_up_v;
        passed.energy_j += power_w.max(0.0) * h;
        passed.roller_current_a += roller_a;

        let supply_nm = film.supply.motor.constant_nm_a * supply_a + before_n * held.supply_radius_m
            - film.supply.viscous_nm_s * m.supply.rate_rad_s
            - film.supply.spin * held.supply_inertia * body;
        let ripple_nm = held.ripple_nm(film, turn);
        let roller_nm = film.roller.motor.constant_nm_a * roller_a + (after_n - before_n) * lever_m
            - film.roller.viscous_nm_s * m.roller.rate_rad_s
            + if held.roller_v == 0.0 { 0.0 } else { ripple_nm }
            - film.roller.spin * film.roller.inertia_kg_m2 * body;
        let take_up_nm = film.take_up.motor.constant_nm_a * take_up_a
            - after_n * held.take_up_radius_m
            - film.take_up.viscous_nm_s * m.take_up.rate_rad_s
            - film.take_up.spin * held.take_up_inertia * body;
        m.supply.step(h, held.supply_inertia, supply_nm, held.supply_friction_nm);
        m.roller.step(h, film.roller.inertia_kg_m2, roller_nm, held.roller_friction_nm);
        m.take_up.step(h, held.take_up_inertia, take_up_nm, held.take_up_friction_nm);

        let push_n = m.supply_arm.force_n(&film.supply_arm, before_n);
        m.supply_arm.step(h, &film.supply_arm, push_n);
        let push_n = m.take_up_arm.force_n(&film.take_up_arm, after_n);
        m.take_up_arm.step(h, &film.take_up_arm, push_n);

        // A reel whose film has parted neither gives nor takes film: its end turns with it.
        supply_speed = if m.supply_loop.broken { 0.0 } else { m.supply.rate_rad_s * held.supply_radius_m };
        gate_speed = m.roller.rate_rad_s * lever_m;
        take_up_speed = m.take_up.rate_rad_s * held.take_up_radius_m;
        if let Some(tail_m) = &mut m.tail_m {
            let wound_m = (h * take_up_speed).min(*tail_m);
            *tail_m -= wound_m;
            passed.take_up_m += wound_m;
            passed.tail_m += wound_m;
        }
        if m.take_up_loop.broken {
            take_up_speed = 0.0;
        }
        m.supply_loop.film_m += h * (supply_speed - gate_speed);
        m.take_up_loop.film_m += h * (gate_speed - take_up_speed);
        passed.supply_m += h * supply_speed;
        passed.gate_m += h * gate_speed;
        passed.take_up_m += h * take_up_speed;
        passed.supply_speed_m_s = supply_speed;
        passed.gate_speed_m_s = gate_speed;
        passed.take_up_speed_m_s = take_up_speed;
    }
    passed.roller_current_a /= f64::from(held.steps.max(1));
    *motion = m;
    passed
}
