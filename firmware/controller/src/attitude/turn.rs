//! A commanded turn to an attitude in the settings, held there on the gyros, and the way back.
//!
//! The wanted attitude itself is turned, about one axis by the shortest way: sped up with a share of what the
//! jets give, on at the settings' rate, stopped with the same share. The axes follow it closely, so that each pays
//! for its rate once at the beginning and once at the end: 2·I·ω over arm, specific impulse and g0 (every text on
//! reaction jets, e.g. Wertz 1978, ch. 19). To this comes what the turning frame and the gravity gradient ask for
//! on the way. Out of its sight the horizon sensor is set aside: the attitude is then known as well as the gyros
//! carry it on, and [`Status::known_to_rad`] says how well that is.

use super::{
    Attitude, Input,
    axis::Axis,
    banks::Banks,
    mode::{Hold, Mode},
    orbit::Place,
    rotation::{self, Quat, Vec3},
    settings::TurnSettings,
};
use crate::{
    health::gas::G0,
    io::{ATTITUDE_STEP_S, TICKS_PER_S},
    math::{self, DEG},
    settings::Settings,
};

/// Pieces into which the way is cut to sum up what it asks of the jets: 8° each at most, in which nothing changes by
/// more than a seventh.
const PIECES: u32 = 24;
/// Time for which error and rate must have been small, in attitude steps (5 s).
const CALM_STEPS: u16 = (5 * TICKS_PER_S / crate::io::ATTITUDE_TICKS) as u16;

/// Where a turn stands.
#[derive(Clone, Copy, Debug, Default, Eq, PartialEq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub enum Phase {
    /// No turn.
    #[default]
    None,
    /// On the way there.
    Out,
    /// There.
    Held,
    /// Called back on the way: the turn is being stopped.
    Stopping,
    /// On the way back.
    Back,
}

/// Why a turn that is wanted does not begin.
#[derive(Clone, Copy, Debug, Eq, PartialEq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub enum Withheld {
    /// Not in hold with a settled compass and all gyros, or something is doubted that a turn needs.
    NotFit,
    /// The tank's gauges show less gas than there and back would cost.
    Gas,
    /// The gas guard would shut the jets on the way.
    Guard,
    /// It has been there for as long as it may; it must be asked for anew.
    TimeUp,
}

/// What the turn tells.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub struct Status {
    /// Where it stands.
    pub phase: Phase,
    /// There, with error and rate below their limits for five seconds.
    pub settled: bool,
    /// Angle from the commanded attitude by the vehicle's own account, rad; only in a turn.
    pub error_rad: f32,
    /// Rate against the commanded attitude likewise, rad/s.
    pub rate_rad_s: f32,
    /// What that account may be off by, rad: grows with the angle turned and the time without a horizon.
    pub known_to_rad: f32,
    /// Wanted attitude against the local orbital frame at this moment, scalar first; only in a turn.
    pub wanted: [f32; 4],
    /// Predicted gas of the way there, kg.
    pub turn_kg: f32,
    /// Predicted gas of holding there against gravity gradient and what disturbs now, or in free limit cycles where that
    /// is more, kg/s.
    pub hold_kg_s: f32,
    /// Predicted time of the way there, s.
    pub turn_s: f32,
    /// Why a turn that is wanted does not begin.
    pub withheld: Option<Withheld>,
}

/// What a turn needs, foretold.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Needs {
    /// Angular impulse about each axis, N·m·s.
    pub impulse_nms: Vec3,
    /// Mean torque of the jets in hold at the end about each axis, N·m, magnitudes.
    pub hold_nm: Vec3,
    /// Gas of one way, kg.
    pub gas_kg: f32,
    /// Jet-seconds of one way.
    pub jet_s: f32,
    /// Gas while held, kg/s.
    pub hold_kg_s: f32,
    /// Time of one way, s.
    pub time_s: f32,
}

/// The turn.
#[derive(Clone, Debug, PartialEq)]
pub struct Turn {
    settings: TurnSettings,
    target: Quat,
    /// Cosine of the tilt beyond which the horizon sensor is set aside.
    pub sight_cos: f32,
    phase: Phase,
    /// Where the present way ends; on the way back ordinary hold's attitude is the end.
    end: Quat,
    /// The present way: from its end, by this angle about this axis, to where the wanted attitude is now.
    axis: Vec3,
    left_rad: f32,
    /// Angle between level hold and the wanted attitude, for the gyros' share of doubt.
    away_rad: f32,
    rate_rad_s: f32,
    ramp_rad_s2: f32,
    ramping: bool,
    since: u32,
    unseen_s: f32,
    calm_steps: u16,
    back: bool,
    time_up: bool,
    may_begin: bool,
    withheld: Option<Withheld>,
    needs: Needs,
}

impl Turn {
    /// None under way.
    pub fn new(settings: &TurnSettings) -> Self {
        let [yaw, pitch, roll] = [settings.yaw_deg, settings.pitch_deg, settings.roll_deg].map(|deg| deg * DEG);
        let turned = |v: Vec3| rotation::from_rotation_vector(&v);
        Self {
            settings: *settings,
            target: rotation::about_z(yaw) * turned(Vec3::new(0.0, pitch, 0.0)) * turned(Vec3::new(roll, 0.0, 0.0)),
            sight_cos: math::sin_cos(settings.sight_deg * DEG).1,
            phase: Phase::None,
            end: rotation::identity(),
            axis: Vec3::y(),
            left_rad: 0.0,
            away_rad: 0.0,
            rate_rad_s: 0.0,
            ramp_rad_s2: 0.0,
            ramping: false,
            since: 0,
            unseen_s: 0.0,
            calm_steps: 0,
            back: false,
            time_up: false,
            may_begin: false,
            withheld: None,
            needs: Needs::default(),
        }
    }

    /// The turn's rate is being changed.
    pub fn ramping(&self) -> bool {
        self.ramping
    }

    /// The turn's rate is being changed, and axis `number` takes more than `least_rad_s` of it.
    pub fn ramps(&self, number: usize, least_rad_s: f32) -> bool {
        let share = self.axis.get(number).copied().unwrap_or(0.0);
        self.ramping && math::abs(share) * self.limit_rad_s() > least_rad_s
    }

    /// A turn is wanted and can be paid for.
    pub fn may_begin(&self) -> bool {
        self.may_begin
    }

    /// The way back is done.
    pub fn is_back(&self) -> bool {
        self.back
    }

    /// What it needs, foretold.
    pub fn needs(&self) -> &Needs {
        &self.needs
    }

    /// Starts the way there from ordinary hold's attitude `level`.
    pub fn begin(&mut self, cycle: u32, level: &Quat) {
        (self.phase, self.since, self.may_begin) = (Phase::Out, cycle, false);
        (self.unseen_s, self.calm_steps, self.back) = (0.0, 0, false);
        self.go_to(self.target, level);
    }

    /// The turned mode is left, whatever for.
    pub fn leave(&mut self) {
        (self.phase, self.back, self.ramping) = (Phase::None, false, false);
        (self.left_rad, self.rate_rad_s) = (0.0, 0.0);
    }

    /// The wanted attitude against the local orbital frame.
    pub fn wanted(&self) -> Quat {
        rotation::renormalise(&(self.end * rotation::from_rotation_vector(&(self.axis * self.left_rad))))
    }

    fn go_to(&mut self, end: Quat, from: &Quat) {
        (self.end, self.rate_rad_s) = (end, 0.0);
        (self.axis, self.left_rad) = axis_and_angle(&(end.conjugate() * from));
    }

    fn limit_rad_s(&self) -> f32 {
        self.settings.rate_deg_s * DEG
    }

    /// One attitude step further; gives the rate of the wanted attitude against the local orbital frame, body axes,
    /// rad/s. `level_rate_rad_s`: rate about z at which ordinary hold's attitude turns.
    pub fn advance(&mut self, level: &Quat, level_rate_rad_s: f32) -> Vec3 {
        self.creep();
        let level_turning = if self.phase == Phase::Back {
            self.end = *level;
            let way = rotation::from_rotation_vector(&(self.axis * self.left_rad));
            rotation::to_b(&way, &Vec3::new(0.0, 0.0, level_rate_rad_s))
        } else {
            Vec3::zeros()
        };
        if self.left_rad == 0.0 {
            match self.phase {
                Phase::Out => self.phase = Phase::Held,
                Phase::Stopping => self.turn_back(level),
                Phase::Back => self.back = true,
                Phase::None | Phase::Held => {}
            }
        }
        level_turning - self.axis * self.rate_rad_s
    }

    /// The angle that is left runs down: up to the rate limit, and stopped so that it ends at zero.
    fn creep(&mut self) {
        let step_rad_s = self.ramp_rad_s2 * ATTITUDE_STEP_S;
        if self.left_rad <= 0.5 * step_rad_s * ATTITUDE_STEP_S {
            (self.left_rad, self.rate_rad_s, self.ramping) = (0.0, 0.0, false);
            return;
        }
        let stoppable_rad_s = math::sqrt(2.0 * self.ramp_rad_s2 * self.left_rad);
        let most_rad_s = self.limit_rad_s().min(stoppable_rad_s);
        self.rate_rad_s = (self.rate_rad_s + step_rad_s).min(most_rad_s);
        self.ramping = self.rate_rad_s < self.limit_rad_s();
        self.left_rad = (self.left_rad - self.rate_rad_s * ATTITUDE_STEP_S).max(0.0);
    }

    fn turn_back(&mut self, level: &Quat) {
        let from = self.wanted();
        self.phase = Phase::Back;
        self.go_to(*level, &from);
    }

    /// Called back, or time is up.
    fn call_back(&mut self, level: &Quat) {
        match self.phase {
            Phase::Held => self.turn_back(level),
            Phase::Out => {
                let stop_rad =
                    (0.5 * self.rate_rad_s * self.rate_rad_s / self.ramp_rad_s2.max(1e-9)).min(self.left_rad);
                let beyond = rotation::from_rotation_vector(&(self.axis * (self.left_rad - stop_rad)));
                (self.end, self.left_rad) = (rotation::renormalise(&(self.end * beyond)), stop_rad);
                self.phase = Phase::Stopping;
            }
            Phase::None | Phase::Stopping | Phase::Back => {}
        }
    }

    /// Counts the calm, the time away and the angle away, once in every step of a turn.
    fn watch(&mut self, error: &Vec3, rate_error: &Vec3, seen: bool, wanted: &Quat, level: &Quat) {
        let s = &self.settings;
        let calm = self.phase == Phase::Held
            && error.norm_squared() < square(s.settled_deg * DEG)
            && rate_error.norm_squared() < square(s.settled_deg_s * DEG);
        self.calm_steps = if calm { self.calm_steps.saturating_add(1) } else { 0 };
        self.unseen_s = if seen { 0.0 } else { self.unseen_s + ATTITUDE_STEP_S };
        self.away_rad = axis_and_angle(&(level.conjugate() * wanted)).1;
    }

    /// What is told; `error` and `rate_error` are those against the wanted attitude of this moment.
    pub fn status(&self, error: &Vec3, rate_error: &Vec3) -> Status {
        let told = Status {
            phase: self.phase,
            turn_kg: self.needs.gas_kg,
            hold_kg_s: self.needs.hold_kg_s,
            turn_s: self.needs.time_s,
            withheld: self.withheld,
            ..Status::default()
        };
        if self.phase == Phase::None {
            return told;
        }
        let s = &self.settings;
        let wanted = self.wanted();
        Status {
            settled: self.calm_steps >= CALM_STEPS,
            error_rad: math::sqrt(error.norm_squared()) + self.left_rad,
            rate_rad_s: math::sqrt(rate_error.norm_squared()) + self.rate_rad_s,
            known_to_rad: (s.start_deg + s.drift_deg_h / 3600.0 * self.unseen_s) * DEG + s.gyro_share * self.away_rad,
            wanted: [wanted.w, wanted.i, wanted.j, wanted.k],
            ..told
        }
    }
}

impl Attitude {
    /// Whether a turn may begin, or must end.
    pub(super) fn consider_turn(&mut self, input: &Input, place: &Place) {
        let asked = input.wanted == Hold::Turned;
        self.turn.time_up &= asked;
        if self.mode == Mode::Turned {
            let away_s = input.cycle.wrapping_sub(self.turn.since) as f32 / TICKS_PER_S as f32;
            self.turn.time_up |= away_s > self.settings.turn.longest_s;
            if !asked || self.turn.time_up {
                self.turn.call_back(&self.level);
            }
            let tilted = rotation::to_b(&self.observer.q, &Vec3::z()).z < self.turn.sight_cos;
            self.turn.watch(&self.error, &self.rate_error, !tilted, &self.reference, &self.level);
            return;
        }
        self.turn.may_begin = false;
        if !asked {
            self.turn.withheld = None;
        } else if input.cycle.is_multiple_of(TICKS_PER_S) {
            self.judge_turn(input, place);
        }
    }

    /// Once a second while a turn is wanted: it takes as long as a few steps.
    fn judge_turn(&mut self, input: &Input, place: &Place) {
        if !(matches!(self.mode, Mode::Coarse | Mode::Fine) && self.view(input).fit) {
            self.turn.withheld = Some(Withheld::NotFit);
            return;
        }
        self.foretell(place);
        let needs = &self.turn.needs;
        // There and back, and half as much again for what nobody foresees.
        let (kg, jet_s) = (3.0 * needs.gas_kg, 3.0 * needs.jet_s);
        // A need that is not a number is never allowed.
        let allowed = input.allowance_jet_s > jet_s;
        self.turn.withheld = if self.turn.time_up {
            Some(Withheld::TimeUp)
        } else if !input.gas_left_kg.is_none_or(|left_kg| left_kg > kg) {
            Some(Withheld::Gas)
        } else if !allowed {
            Some(Withheld::Guard)
        } else {
            None
        };
        self.turn.may_begin = self.turn.withheld.is_none();
    }

    /// What the turn will need from here, and how fast its rate may change.
    fn foretell(&mut self, place: &Place) {
        let inertia = self.inertia();
        let (axis, angle_rad) = axis_and_angle(&(self.turn.target.conjugate() * self.level));
        let weakest = (0..3).fold(f32::MAX, |least, number| {
            let share = math::abs(axis.get(number).copied().unwrap_or(0.0)).max(1e-3);
            let jet = [false, true].map(|positive| self.axis_jet_rad_s2(number, positive));
            let [one, other] = jet;
            least.min(one.min(other) / share)
        });
        let ramp_rad_s2 = (self.settings.turn.ramp_share * weakest).max(1e-6);
        self.turn.ramp_rad_s2 = ramp_rad_s2;
        let rate_rad_s = self.turn.limit_rad_s().min(math::sqrt(ramp_rad_s2 * angle_rad)).max(1e-6);
        let way = Way { end: self.turn.target, axis, angle_rad, rate_rad_s, inertia };
        let disturbance = Vec3::from_fn(|number, _| {
            self.axes.get(number).map_or(0.0, |axis| math::abs(axis.rates.disturbance_rad_s2) * axis.inertia_kg_m2)
        });
        let mut needs = way.needs(&place.orbital_rate());
        let free = Vec3::from_fn(|number, _| self.axes.get(number).map_or(0.0, free_cycle_nm));
        needs.hold_nm = (needs.hold_nm + disturbance).zip_map(&free, f32::max);
        needs.time_s = angle_rad / rate_rad_s + rate_rad_s / ramp_rad_s2;
        let cost = Vec3::from_fn(|number, _| jets_per_nms(number, &self.banks, &self.settings).0);
        let on_time = Vec3::from_fn(|number, _| jets_per_nms(number, &self.banks, &self.settings).1);
        needs.gas_kg = needs.impulse_nms.dot(&cost);
        needs.jet_s = needs.impulse_nms.dot(&on_time);
        needs.hold_kg_s = needs.hold_nm.dot(&cost);
        self.turn.needs = needs;
    }

    fn inertia(&self) -> Vec3 {
        let [x, y, z] = &self.axes;
        Vec3::new(x.inertia_kg_m2, y.inertia_kg_m2, z.inertia_kg_m2)
    }

    /// Angular acceleration that an axis' jets give one way, rad/s².
    pub(super) fn axis_jet_rad_s2(&self, number: usize, positive: bool) -> f32 {
        let (inertia, share) = self.axes.get(number).map_or((1.0, 1.0), |axis| (axis.inertia_kg_m2, axis.thrust_share));
        self.banks.select(number, positive).map_or(0.0, |s| share * s.axis_torque_nm / inertia)
    }
}

/// What a free limit cycle of the least pulse ΔH costs, as a steady torque, ΔH²/(4·I·θ): an axis on which nothing else
/// acts pays that.
fn free_cycle_nm(axis: &Axis) -> f32 {
    let half_rad_s = axis.half_least_rad_s();
    axis.inertia_kg_m2 * half_rad_s * half_rad_s / axis.law.deadband_rad.max(1e-6)
}

/// Gas in kg and on-time in jet-seconds for each N·m·s about an axis.
fn jets_per_nms(axis: usize, banks: &Banks, settings: &Settings) -> (f32, f32) {
    let Some(selection) = banks.select(axis, true) else { return (0.0, 0.0) };
    let open = settings.jets.iter().enumerate().filter(|(index, _)| selection.jets & (1 << (index & 15)) != 0);
    let (thrust_n, count) = open.fold((0.0, 0.0), |(thrust, count), (_, jet)| (thrust + jet.thrust_n, count + 1.0));
    let torque_nm = selection.axis_torque_nm.max(1e-6);
    (thrust_n / (torque_nm * settings.gas.specific_impulse_s * G0), count / torque_nm)
}

/// A turn to be judged: from its end by `angle_rad` about `axis` lies its beginning.
struct Way {
    end: Quat,
    axis: Vec3,
    angle_rad: f32,
    rate_rad_s: f32,
    inertia: Vec3,
}

impl Way {
    /// Impulse and torques; `orbital` is the local orbital frame's rate in its own axes, rad/s.
    fn needs(&self, orbital: &Vec3) -> Needs {
        let piece_rad = self.angle_rad / PIECES as f32;
        let piece_s = piece_rad / self.rate_rad_s;
        let turning = -self.axis * self.rate_rad_s;
        // Speeding up and stopping.
        let mut impulse_nms = self.inertia.component_mul(&turning.map(math::abs)) * 2.0;
        for piece in 0..PIECES {
            let left_rad = (piece as f32 + 0.5) * piece_rad;
            let q = self.end * rotation::from_rotation_vector(&(self.axis * left_rad));
            let own = rotation::to_b(&q, orbital);
            let rate = own + turning;
            // The frame's rate moves through the body while it turns; Euler's equations.
            let change = own.cross(&turning);
            let momentum = self.inertia.component_mul(&rate);
            let torque = self.inertia.component_mul(&change) + rate.cross(&momentum) - self.gradient(&q, orbital);
            impulse_nms += torque.map(math::abs) * piece_s;
        }
        let own = rotation::to_b(&self.end, orbital);
        let held = own.cross(&self.inertia.component_mul(&own)) - self.gradient(&self.end, orbital);
        Needs { impulse_nms, hold_nm: held.map(math::abs), ..Needs::default() }
    }

    /// Gravity-gradient torque 3n²·d × I·d (d: direction down), N·m.
    fn gradient(&self, q: &Quat, orbital: &Vec3) -> Vec3 {
        let down = rotation::to_b(q, &Vec3::z());
        down.cross(&self.inertia.component_mul(&down)) * (3.0 * orbital.norm_squared())
    }
}

/// Axis and angle of a rotation by the short way, rad.
fn axis_and_angle(q: &Quat) -> (Vec3, f32) {
    let q = if q.w < 0.0 { -q } else { *q };
    let im = q.imag();
    let length = math::sqrt(im.norm_squared());
    if length < 1e-6 {
        return (Vec3::y(), 0.0);
    }
    (im / length, 2.0 * math::atan2(length, q.w))
}

fn square(x: f32) -> f32 {
    x * x
}

#[cfg(test)]
mod tests {
    extern crate std;
    use super::*;

    const RAMP_RAD_S2: f32 = 1e-3;

    fn begun(pitch_deg: f32) -> Turn {
        let mut turn = Turn::new(&TurnSettings { pitch_deg, ..TurnSettings::default() });
        turn.ramp_rad_s2 = RAMP_RAD_S2;
        turn.begin(0, &rotation::about_z(0.06));
        turn
    }

    /// Steps until `ends`, checking that the wanted attitude moves as it is told to; gives the time.
    fn follow(turn: &mut Turn, ends: impl Fn(&Turn) -> bool) -> f32 {
        let level = rotation::about_z(0.06);
        let mut steps = 0;
        let mut before = turn.wanted();
        let mut fastest: f32 = 0.0;
        while !ends(turn) {
            let rate = turn.advance(&level, 0.0);
            let now = turn.wanted();
            let moved = rotation::error(&before, &now) / ATTITUDE_STEP_S;
            // The last bit of a way is dropped: half a step's ramp; f32 angles resolve 1e-5 rad/s over a step.
            assert!((moved - rate).norm() < 3e-5, "{moved} {rate} at {steps}");
            fastest = fastest.max(rate.norm());
            (before, steps) = (now, steps + 1);
            assert!(steps < 100_000);
        }
        assert!(fastest <= 0.3 * DEG * 1.001);
        steps as f32 * ATTITUDE_STEP_S
    }

    #[test]
    fn the_wanted_attitude_goes_there_in_its_time_and_stops() {
        let mut turn = begun(-126.0);
        let time_s = follow(&mut turn, |turn| turn.phase == Phase::Held);
        // Angle over rate, and once the ramp: 126.05°/0.3 + 0.3°/0.0573°.
        assert!((time_s - 425.4).abs() < 1.0, "{time_s}");
        let body_x = rotation::to_a(&turn.wanted(), &Vec3::x());
        // 126° from the velocity, downward.
        assert!((body_x - Vec3::new(-0.587_785, 0.0, 0.809_017)).norm() < 1e-5, "{body_x}");
    }

    #[test]
    fn a_turn_called_back_on_the_way_stops_and_returns() {
        let mut turn = begun(-126.0);
        let level = rotation::about_z(0.06);
        for _ in 0..2_000 {
            turn.advance(&level, 0.0);
        }
        turn.call_back(&level);
        assert_eq!(turn.phase, Phase::Stopping);
        follow(&mut turn, |turn| turn.phase == Phase::Back);
        follow(&mut turn, |turn| turn.back);
        assert!((turn.wanted().conjugate() * level).imag().norm() < 1e-5);
    }

    #[test]
    fn a_pitch_turn_costs_twice_its_momentum_and_a_yaw_turn_the_orbits_too() {
        let inertia = Vec3::new(75.0, 310.0, 310.0);
        let orbital = Vec3::new(0.0, -1.174e-3, 0.0);
        let rate_rad_s = 0.3 * DEG;
        let needs = |axis: Vec3, angle_rad: f32, inertia| {
            let end = rotation::from_rotation_vector(&(-axis * angle_rad));
            Way { end, axis, angle_rad, rate_rad_s, inertia }.needs(&orbital)
        };
        // A ball feels no gradient and no coupling.
        let ball = needs(Vec3::y(), 2.2, Vec3::new(310.0, 310.0, 310.0)).impulse_nms;
        assert!((ball - Vec3::new(0.0, 2.0 * 310.0 * rate_rad_s, 0.0)).norm() < 1e-4, "{ball}");
        // A quarter turn in yaw hands the orbit's rate from pitch to roll.
        let ball = needs(Vec3::z(), core::f32::consts::FRAC_PI_2, Vec3::new(310.0, 310.0, 310.0)).impulse_nms;
        let handed = 310.0 * 1.174e-3;
        assert!((ball.x - handed).abs() < 1e-3 && (ball.y - handed).abs() < 1e-3, "{ball}");
        // At 45° of pitch the gradient is 3/2·n²·(Iz − Ix).
        let held = needs(Vec3::y(), core::f32::consts::FRAC_PI_4, inertia).hold_nm;
        assert!((held.y - 1.5 * 1.174e-3_f32.powi(2) * 235.0).abs() < 1e-6, "{held}");
    }

    #[test]
    fn what_is_not_known_grows_with_angle_and_time() {
        let mut turn = begun(-90.0);
        let level = rotation::identity();
        let wanted = turn.target;
        for _ in 0..180_000 {
            turn.watch(&Vec3::zeros(), &Vec3::zeros(), false, &wanted, &level);
        }
        let known = turn.status(&Vec3::zeros(), &Vec3::zeros()).known_to_rad;
        // 0.6° + 1 °/h for an hour + 0.2 % of 90°; an hour summed in f32 steps of 20 ms is off by a part in a thousand.
        assert!((known / DEG - 1.78).abs() < 0.005, "{}", known / DEG);
    }
}
