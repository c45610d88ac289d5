//! The retro burn: thrust against time, and where its line points on average while the capsule spins.
//!
//! A line of thrust that passes the mass centre at a distance makes a torque that turns with the capsule. Spin
//! averages it: the momentum vector runs round a small circle whose middle lies M/(I ω²) off the aim (I about the
//! spin axis), and the axis swings about it. Over a long burn the mean thrust is bent by that angle, at right angles to
//! the torque ([`tip_rad`]); [`mean_thrust`] counts the turns left over too, and integrates where spin is slow.

use nalgebra::{Complex, Quaternion, UnitQuaternion, Vector3};

use crate::scenario::parts::capsule::{Capsule, Retro};
use crate::world::Vec3;

/// Standard gravity, m/s², by which specific impulse is defined.
pub const G0: f64 = 9.806_65;

/// What times of a run may be rounded by, s: days in double precision know an instant to 1e-10 s.
const ROUNDING_S: f64 = 1e-7;

/// Thrust against time, scaled to the total impulse.
#[derive(Clone, Debug, PartialEq)]
pub struct Burn {
    corners_s: Vec<f64>,
    thrust_n: Vec<f64>,
    /// Impulse up to each corner, N·s.
    impulse_n_s: Vec<f64>,
    exhaust_m_s: f64,
}

impl Burn {
    /// From the motor's curve, with `factor` times its impulse: as much more or less propellant burns, at the same
    /// specific impulse and in the same time.
    pub fn new(retro: &Retro, factor: f64) -> Self {
        let corners_s: Vec<f64> = retro.curve_share.iter().map(|share| share * retro.burn_s).collect();
        let sums = |thrust: &[f64]| {
            let mut sums = vec![0.0];
            for (t, f) in corners_s.windows(2).zip(thrust.windows(2)) {
                sums.push(sums.last().copied().unwrap_or(0.0) + 0.5 * (f[0] + f[1]) * (t[1] - t[0]));
            }
            sums
        };
        let total = sums(&retro.curve_thrust).last().copied().unwrap_or(1.0);
        let thrust_n: Vec<f64> = retro.curve_thrust.iter().map(|f| f * retro.impulse_n_s * factor / total).collect();
        let impulse_n_s = sums(&thrust_n);
        Self { corners_s, thrust_n, impulse_n_s, exhaust_m_s: retro.isp_s * G0 }
    }

    /// Corners of the curve, s from ignition: ends of integration steps.
    pub fn corners_s(&self) -> &[f64] {
        &self.corners_s
    }

    /// Thrust, N, and impulse so far, N·s, `t_s` after ignition. Both ends of the curve belong to the burn, so that an
    /// integration step that ends there sees the thrust it ends with.
    pub fn at(&self, t_s: f64) -> (f64, f64) {
        let total = self.impulse_n_s.last().copied().unwrap_or(0.0);
        let last = self.corners_s.len().saturating_sub(1);
        if t_s < -ROUNDING_S || last == 0 {
            return (0.0, 0.0);
        }
        if t_s > self.end_s() + ROUNDING_S {
            return (0.0, total);
        }
        let t_s = t_s.clamp(0.0, self.end_s());
        let above = self.corners_s.partition_point(|corner| *corner <= t_s).clamp(1, last);
        let below = above - 1;
        let start_s = self.corners_s[below];
        let slope = (self.thrust_n[above] - self.thrust_n[below]) / (self.corners_s[above] - start_s);
        let into_s = t_s - start_s;
        let thrust_n = self.thrust_n[below] + slope * into_s;
        (thrust_n, self.impulse_n_s[below] + 0.5 * (self.thrust_n[below] + thrust_n) * into_s)
    }

    /// Propellant used `t_s` after ignition, kg.
    pub fn used_kg(&self, t_s: f64) -> f64 {
        self.at(t_s).1 / self.exhaust_m_s
    }

    /// End of the burn, s from ignition.
    pub fn end_s(&self) -> f64 {
        self.corners_s.last().copied().unwrap_or(0.0)
    }

    /// Mean thrust, N.
    pub fn mean_n(&self) -> f64 {
        self.impulse_n_s.last().copied().unwrap_or(0.0) / self.end_s().max(1e-9)
    }
}

/// Speed gained by a rocket in free space, m/s: Tsiolkovsky's closed form.
pub fn ideal_speed_m_s(isp_s: f64, start_kg: f64, propellant_kg: f64) -> f64 {
    isp_s * G0 * (start_kg / (start_kg - propellant_kg)).ln()
}

/// By how much the mean line of thrust is bent, rad: M/(I ω²) for a torque M fixed in the body across the spin axis.
///
/// The momentum vector of length I ω moves at M, turning at ω, hence round a circle of radius M/ω about a middle as
/// far from the start. Holds while that is small and the burn many turns long.
pub fn tip_rad(torque_nm: f64, spin_inertia_kg_m2: f64, spin_rad_s: f64) -> f64 {
    torque_nm / (spin_inertia_kg_m2 * spin_rad_s * spin_rad_s)
}

/// Largest swing of the axis for which the closed form is used, rad.
const SMALL_RAD: f64 = 0.06;

/// Mean direction of thrust over a burn in the axes in which the spin axis starts along z, its length the share of
/// the impulse that is not lost to coning. `offset_m` is the place of the line of thrust across the axis at ignition.
///
/// Small angles ζ of the axis, as a complex number across it, under a constant torque τ that turns with the body:
/// I_x ζ'' − i I_z ω ζ' = −i τ e^(iωt). With p = I_z ω/I_x the axis swings at ω and at p, and its mean over the burn
/// follows by integration; over a long one it is i τ/(I_z ω²).
pub fn mean_thrust(capsule: &Capsule, burn: &Burn, spin_rad_s: f64, offset_m: [f64; 2]) -> Vec3 {
    if offset_m == [0.0; 2] {
        return Vec3::z();
    }
    let (axial, across, spin) = (capsule.spin_inertia_kg_m2, capsule.transverse_inertia_kg_m2, spin_rad_s);
    let nutation = axial / across * spin;
    let torque = Complex::new(offset_m[1], -offset_m[0]) * burn.mean_n();
    let drive = -torque / (across * (spin - nutation));
    let swing = drive.norm() / spin.min(nutation);
    // No spin, or a body as heavy across as along it, makes this infinite or no number.
    if swing.is_nan() || swing >= SMALL_RAD {
        return integrated(capsule, burn, spin_rad_s, offset_m);
    }
    let i = Complex::i();
    let mean_of = |rate: f64| ((i * rate * burn.end_s()).exp() - 1.0) / (i * rate * burn.end_s());
    let part = |rate: f64| (mean_of(rate) - 1.0) / (i * rate);
    let mean = drive * (part(spin) - part(nutation));
    let still = drive * (1.0 / nutation - 1.0 / spin);
    let square = still.norm_sqr() + drive.norm_sqr() * (spin.powi(-2) + nutation.powi(-2));
    Vec3::new(mean.re, mean.im, 1.0 - 0.5 * square)
}

/// The same by integrating the turning of the body: for slow spin, and as a check of the closed form.
pub fn integrated(capsule: &Capsule, burn: &Burn, spin_rad_s: f64, offset_m: [f64; 2]) -> Vec3 {
    let (axial, across) = (capsule.spin_inertia_kg_m2, capsule.transverse_inertia_kg_m2);
    // Euler's equations of a body of revolution under a torque fixed in it; attitude by quaternion.
    let slope = |rate: &Vec3, attitude: &Quaternion<f64>, thrust_n: f64| {
        let torque = Vec3::new(offset_m[1], -offset_m[0], 0.0) * thrust_n;
        let turn = Vec3::new(
            (torque.x - (axial - across) * rate.y * rate.z) / across,
            (torque.y + (axial - across) * rate.x * rate.z) / across,
            0.0,
        );
        (turn, attitude * Quaternion::from_imag(*rate) * 0.5)
    };
    let steps = ((burn.end_s() * spin_rad_s.max(10.0) / 0.02).ceil() as usize).clamp(1_000, 2_000_000);
    let h = burn.end_s() / steps as f64;
    let mut rate = Vector3::new(0.0, 0.0, spin_rad_s);
    let mut attitude = Quaternion::identity();
    let (mut sum, mut impulse) = (Vec3::zeros(), 0.0);
    for k in 0..steps {
        let (t, m, e) = (k as f64 * h, (k as f64 + 0.5) * h, (k as f64 + 1.0) * h);
        let (r1, q1) = slope(&rate, &attitude, burn.at(t).0);
        let (r2, q2) = slope(&(rate + r1 * (0.5 * h)), &(attitude + q1 * (0.5 * h)), burn.at(m).0);
        let (r3, q3) = slope(&(rate + r2 * (0.5 * h)), &(attitude + q2 * (0.5 * h)), burn.at(m).0);
        let (r4, q4) = slope(&(rate + r3 * h), &(attitude + q3 * h), burn.at(e).0);
        let middle = UnitQuaternion::from_quaternion(attitude + q2 * (0.5 * h));
        let part = burn.at(m).0 * h;
        sum += middle * Vec3::z() * part;
        impulse += part;
        rate += (r1 + (r2 + r3) * 2.0 + r4) * (h / 6.0);
        attitude += (q1 + (q2 + q3) * 2.0 + q4) * (h / 6.0);
    }
    sum / impulse
}
