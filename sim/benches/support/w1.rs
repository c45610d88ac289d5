//! W1: one rigid body, six on/off jet couples, a phase-plane controller at 50 Hz.
//!
//! A closed problem with exact answers, shared by the speed benches and the outside checks, so that
//! what is timed is what is checked. Counts and end states were agreed to the last digit by
//! independent integrators: a DOP853 code with tight tolerances, fourth-order Runge–Kutta with 1, 4
//! and 10 sub-steps, and an event-driven Taylor series; the free runs were confirmed by
//! extrapolation in 80-bit arithmetic.
//!
//! The inertial frame here is the orbit plane's (z along the orbit normal); quaternions are scalar
//! first and carry body components to inertial ones.
#![allow(dead_code, reason = "each bench and test uses its own part of this file")]

/// Principal moments of inertia, kg m².
pub const INERTIA_KG_M2: [f64; 3] = [1512.7, 1437.3, 311.9];
/// Orbital rate of a circular orbit 250 km up, rad/s.
pub const ORBIT_RATE_RAD_S: f64 = 0.001_169_988_715_889_954_6;
/// Step of the plant and period of the controller, s.
pub const STEP_S: f64 = 0.02;
/// Steady torque on the body, N m.
pub const STEADY_TORQUE_NM: [f64; 3] = [1.1e-3, -2.3e-3, 0.4e-3];
/// Initial attitude.
pub const Q0: [f64; 4] =
    [0.546_311_059_848_748_7, -0.418_667_349_876_549_85, -0.422_931_882_844_308_16, 0.589_398_420_856_428_8];
/// Initial body rates, rad/s.
pub const W0_RAD_S: [f64; 3] = [0.0021, -0.0034, 0.0017];

const JET_FORCE_N: f64 = 0.9;
const ARM_M: [f64; 3] = [1.73, 1.69, 0.87];
const ROLL_OFFSET_DEG: f64 = 15.0;
const ERROR_LIMIT_RAD: f64 = 0.02;
const LEAD_S: f64 = 12.0;
const SWITCH_ON: f64 = 0.0035;
const SWITCH_OFF: f64 = 0.0028;
/// First sample of the settled part of the run.
const SETTLED: u64 = 45_000;

/// A plant that the workload can drive.
pub trait Plant {
    /// Starts from an attitude and body rates (rad/s).
    fn start(q: [f64; 4], w: [f64; 3]) -> Self;
    /// Attitude and body rates (rad/s) now.
    fn state(&self) -> ([f64; 4], [f64; 3]);
    /// Advances one step under a constant torque (N m), with the unit vector from the Earth's
    /// centre at the start, middle and end of the step.
    fn step(&mut self, torque_nm: [f64; 3], up: &[[f64; 3]; 3]);
}

/// What a run is judged by.
#[derive(Clone, Debug, PartialEq)]
pub struct Outcome {
    /// Samples with a couple on, for each axis.
    pub on_samples: [u64; 3],
    /// Changes of command, all axes.
    pub toggles: u64,
    /// Total impulse, N s.
    pub impulse_ns: f64,
    /// Largest attitude error, rad.
    pub peak_rad: f64,
    /// The same after 900 s.
    pub settled_peak_rad: f64,
    /// Final attitude.
    pub q: [f64; 4],
    /// Final body rates, rad/s.
    pub w: [f64; 3],
}

/// Runs the workload with its controller.
pub fn controlled<P: Plant>(steps: u64) -> Outcome {
    let mut plant = P::start(Q0, W0_RAD_S);
    let mut orbit = Orbit::default();
    let mut controller = PhasePlane::new();
    for k in 0..steps {
        let (q, w) = plant.state();
        let here = orbit.step(k);
        let couples_nm = controller.step(k, &q, &w, here.half_angle);
        let torque_nm = std::array::from_fn(|i| STEADY_TORQUE_NM[i] + couples_nm[i]);
        plant.step(torque_nm, &here.up);
    }
    let (q, w) = plant.state();
    controller.outcome(q, w)
}

/// Runs the plant alone, jets off.
pub fn free<P: Plant>(steps: u64) -> ([f64; 4], [f64; 3]) {
    let mut plant = P::start(Q0, W0_RAD_S);
    let mut orbit = Orbit::default();
    for k in 0..steps {
        plant.step(STEADY_TORQUE_NM, &orbit.step(k).up);
    }
    plant.state()
}

/// Where the vehicle is during a step.
pub struct Along {
    /// Cosine and sine of half the orbit angle at the start of the step.
    pub half_angle: [f64; 2],
    /// Unit vector from the Earth's centre at the start, middle and end.
    pub up: [[f64; 3]; 3],
}

/// The circular orbit: angle addition within a block, exact sine and cosine at the head of each,
/// so that no rounding gathers and the orbit does not hide the cost of the plant.
#[derive(Default)]
struct Orbit {
    half: [f64; 2],
}

impl Orbit {
    const BLOCK: u64 = 64;

    #[inline]
    fn step(&mut self, k: u64) -> Along {
        // cos and sin of n·h/2, the turn of the half angle in a step and of the angle in half one.
        const TURN: [f64; 2] = [0.999_999_999_931_556_3, 1.1699887158632619e-05];
        if k.is_multiple_of(Self::BLOCK) {
            let half = 0.5 * ORBIT_RATE_RAD_S * (STEP_S * k as f64);
            self.half = [half.cos(), half.sin()];
        }
        let half_angle = self.half;
        let turned = |a: [f64; 2], b: [f64; 2]| [a[0] * b[0] - a[1] * b[1], a[1] * b[0] + a[0] * b[1]];
        let start = turned(half_angle, half_angle);
        let middle = turned(start, TURN);
        let end = turned(middle, TURN);
        self.half = turned(half_angle, TURN);
        Along { half_angle, up: [start, middle, end].map(|[c, s]| [c, s, 0.0]) }
    }
}

/// The reference attitude and the switch curves.
struct PhasePlane {
    fixed_q: [f64; 4],
    rate_rad_s: [f64; 3],
    couple_nm: [f64; 3],
    command: [f64; 3],
    on_samples: [u64; 3],
    toggles: u64,
    peak_rad: f64,
    settled_peak_rad: f64,
}

impl PhasePlane {
    fn new() -> Self {
        let roll = ROLL_OFFSET_DEG.to_radians();
        let (s, c) = (0.5 * roll).sin_cos();
        Self {
            fixed_q: product(&[0.5, -0.5, -0.5, 0.5], &[c, s, 0.0, 0.0]),
            rate_rad_s: [0.0, -ORBIT_RATE_RAD_S * roll.cos(), ORBIT_RATE_RAD_S * roll.sin()],
            couple_nm: ARM_M.map(|arm| JET_FORCE_N * arm),
            command: [0.0; 3],
            on_samples: [0; 3],
            toggles: 0,
            peak_rad: 0.0,
            settled_peak_rad: 0.0,
        }
    }

    #[inline(always)]
    fn step(&mut self, k: u64, q: &[f64; 4], w: &[f64; 3], [c, s]: [f64; 2]) -> [f64; 3] {
        let reference = turned_about_z(&self.fixed_q, c, s);
        let e = product(&conjugate(&reference), q);
        let sign = if e[0] < 0.0 { -1.0 } else { 1.0 };
        let e = e.map(|x| sign * x);
        let wanted = rotate(&conjugate(&e), &self.rate_rad_s);
        let mut peak = 0.0_f64;
        for i in 0..3 {
            let angle = 2.0 * e[i + 1];
            peak = peak.max(angle.abs());
            let sum = angle.clamp(-ERROR_LIMIT_RAD, ERROR_LIMIT_RAD) + LEAD_S * (w[i] - wanted[i]);
            let command = switched(self.command[i], sum);
            self.toggles += u64::from(command != self.command[i]);
            self.on_samples[i] += u64::from(command != 0.0);
            self.command[i] = command;
        }
        self.peak_rad = self.peak_rad.max(peak);
        if k >= SETTLED {
            self.settled_peak_rad = self.settled_peak_rad.max(peak);
        }
        std::array::from_fn(|i| self.command[i] * self.couple_nm[i])
    }

    fn outcome(&self, q: [f64; 4], w: [f64; 3]) -> Outcome {
        let samples: u64 = self.on_samples.iter().sum();
        Outcome {
            on_samples: self.on_samples,
            toggles: self.toggles,
            impulse_ns: 2.0 * JET_FORCE_N * STEP_S * samples as f64,
            peak_rad: self.peak_rad,
            settled_peak_rad: self.settled_peak_rad,
            q,
            w,
        }
    }
}

/// The relay with hysteresis: on beyond one line, off inside another.
#[inline]
fn switched(command: f64, sum: f64) -> f64 {
    let held = (command > 0.0 && sum <= -SWITCH_OFF) || (command < 0.0 && sum >= SWITCH_OFF);
    if held {
        command
    } else if sum > SWITCH_ON {
        -1.0
    } else if sum < -SWITCH_ON {
        1.0
    } else {
        0.0
    }
}

/// (c, 0, 0, s) times `q`.
#[inline]
fn turned_about_z(q: &[f64; 4], c: f64, s: f64) -> [f64; 4] {
    [c * q[0] - s * q[3], c * q[1] - s * q[2], c * q[2] + s * q[1], c * q[3] + s * q[0]]
}

#[inline]
fn conjugate(q: &[f64; 4]) -> [f64; 4] {
    [q[0], -q[1], -q[2], -q[3]]
}

#[inline]
fn product(a: &[f64; 4], b: &[f64; 4]) -> [f64; 4] {
    [
        a[0] * b[0] - a[1] * b[1] - a[2] * b[2] - a[3] * b[3],
        a[0] * b[1] + a[1] * b[0] + a[2] * b[3] - a[3] * b[2],
        a[0] * b[2] - a[1] * b[3] + a[2] * b[0] + a[3] * b[1],
        a[0] * b[3] + a[1] * b[2] - a[2] * b[1] + a[3] * b[0],
    ]
}

#[inline]
fn rotate(q: &[f64; 4], v: &[f64; 3]) -> [f64; 3] {
    let u = [q[1], q[2], q[3]];
    let t = cross(&u, v).map(|x| 2.0 * x);
    let b = cross(&u, &t);
    std::array::from_fn(|i| v[i] + q[0] * t[i] + b[i])
}

#[inline]
fn cross(a: &[f64; 3], b: &[f64; 3]) -> [f64; 3] {
    [a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0]]
}

/// The agreed results of a controlled run.
pub struct Reference {
    /// Length of the run.
    pub steps: u64,
    on_samples: [u64; 3],
    toggles: u64,
    impulse_ns: f64,
    /// Final attitude.
    pub q: [f64; 4],
    /// Final rates where they were agreed, rad/s.
    pub w: Option<[f64; 3]>,
}

impl Reference {
    /// Panics unless samples, toggles and impulse are those of the reference.
    #[track_caller]
    pub fn check_counts(&self, outcome: &Outcome) {
        assert_eq!(outcome.on_samples, self.on_samples, "samples with a couple on");
        assert_eq!(outcome.toggles, self.toggles, "changes of command");
        let miss_ns = (outcome.impulse_ns - self.impulse_ns).abs();
        assert!(miss_ns < 1e-9, "impulse {} N s", outcome.impulse_ns);
    }
}

/// 40 s.
pub const SHORT: Reference = Reference {
    steps: 2_000,
    on_samples: [236, 223, 76],
    toggles: 88,
    impulse_ns: 19.26,
    q: [0.546_992_955_861, -0.420_174_044_720, -0.440_734_933_437, 0.574_460_787_896],
    w: None,
};

/// 1 h.
pub const HOUR: Reference = Reference {
    steps: 180_000,
    on_samples: [296, 502, 172],
    toggles: 410,
    impulse_ns: 34.92,
    q: [-0.768_556_983_340_4, 0.590_591_058_808_4, -0.150_361_700_250, 0.194_714_467_136],
    w: Some([1.012_097_97e-5, -1.147_713_17e-3, 2.874_339_40e-4]),
};

/// 24 h.
pub const DAY: Reference = Reference {
    steps: 4_320_000,
    on_samples: [1439, 6718, 2286],
    toggles: 7430,
    impulse_ns: 375.948,
    q: [0.383_782, -0.295_672, -0.533_010, 0.693_679],
    w: Some([1.534e-5, -1.120_985e-3, 3.007_64e-4]),
};

/// Largest error over all samples and axes, and over those after 900 s, rad.
pub const PEAKS_RAD: [f64; 2] = [0.045_041_396, 0.003_152_317];

/// Attitude and rates after an hour with the jets off.
pub const FREE_HOUR: ([f64; 4], [f64; 3]) = (
    [-0.378_658_456_653_534, 0.804_794_602_003_515, 0.280_635_104_520_040, 0.360_787_139_324_276],
    [0.003_912_882_081_615_56, -0.002_260_241_687_444_49, 0.006_846_347_938_697_53],
);

/// The same after a day.
pub const FREE_DAY: ([f64; 4], [f64; 3]) = (
    [0.785_103_772_907_71, 0.372_234_546_576_56, -0.296_289_020_407_59, 0.396_568_183_906_54],
    [0.002_912_413_911_982_62, -0.003_584_119_463_778_50, 0.112_981_192_027_941],
);
