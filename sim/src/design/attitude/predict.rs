//! What settings should come to, in closed form.

use super::{
    keys::{AXES, get},
    limit_cycle::{LimitCycle, switching_angle_rad},
    propose::cycle_rate_rad_s,
    subject::Subject,
};
use stillframe_controller::settings::Settings;

const DEG: f64 = std::f64::consts::PI / 180.0;

/// One axis, in closed form.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct AxisPrediction {
    /// Undisturbed, with the least pulse.
    pub free: LimitCycle,
    /// Under its mean disturbance, with the pulse that the law chooses.
    pub held: LimitCycle,
    /// Whether the disturbance is large enough that only one side fires.
    pub one_sided: bool,
    /// Whether the disturbance is steady: its mean keeps the least pulse to one side (T > ΔH²/(16·I·θ)) and is most of
    /// its size, so that gas is measured against it.
    pub steady: bool,
    /// Torque from which that holds, N·m.
    pub steady_from_nm: f64,
    /// Root mean square of the rate in a burst, rad/s.
    pub burst_rate_rad_s: f64,
    /// Time of capture to fine hold from the scenario's tip-off, s (the same for all axes).
    pub capture_s: f64,
}

/// All three axes under `settings`; tip-off rates as in the scenario, rad/s.
pub fn predict(subject: &Subject, settings: &Settings, tip_off_rad_s: [f64; 3]) -> [AxisPrediction; 3] {
    let of = |key: &str| get(settings, key).unwrap_or(f64::NAN);
    let slowest_s = (0..3).map(|axis| tip_off_rad_s[axis].abs() / subject.axes[axis].jets.acceleration_rad_s2());
    let capture_s = slowest_s.fold(0.0, f64::max) + of("observer.heading_wait_s") + of("observer.settle_s");
    [0, 1, 2].map(|axis| {
        let of = |key: &str| get(settings, &format!("{}.{key}", AXES[axis])).unwrap_or(f64::NAN);
        let part = &subject.axes[axis];
        let (deadband, least_s) = (of("deadband_deg") * DEG, of("minimum_pulse_ms") * 1e-3);
        let rate = part.jets.acceleration_rad_s2() * least_s * 0.5;
        let free = part.jets.free(switching_angle_rad(deadband, of("lead_s"), rate), least_s);
        let torque_nm = part.disturbance_nm.magnitude_nm;
        let steady_from_nm = part.jets.least_one_sided_nm(0.5 * free.excursion_rad, free.impulse_nms);
        let cycle = cycle_rate_rad_s(&part.jets, torque_nm, of("fill"), deadband, of("rate_limit_deg_s") * DEG);
        let impulse_nms = (2.0 * cycle * part.jets.inertia_kg_m2).max(free.impulse_nms);
        // A torque that changes its sign over the orbit is answered from both sides.
        let one_sided = part.disturbance_nm.mean_nm.abs() > part.jets.least_one_sided_nm(deadband, impulse_nms);
        let held = if one_sided { part.jets.one_sided(torque_nm, impulse_nms) } else { free };
        AxisPrediction {
            free,
            held,
            one_sided,
            steady: part.disturbance_nm.mean_nm.abs() > steady_from_nm.max(0.5 * torque_nm),
            steady_from_nm,
            burst_rate_rad_s: burst_rate_rad_s(subject, settings, axis, free.rate_rad_s),
            capture_s,
        }
    })
}

/// Rate in a burst: the disturbance's ramp through zero in its middle, what the estimate was off by when the rate
/// was placed, and the half pulse that is too short to be fired (evenly spread).
fn burst_rate_rad_s(subject: &Subject, settings: &Settings, axis: usize, half_pulse_rad_s: f64) -> f64 {
    let part = &subject.axes[axis];
    let longest_s = get(settings, "steering.quiet_longest_s").unwrap_or(f64::NAN);
    let stretch_s = subject.burst_s.min(longest_s);
    let ramp = part.disturbance_nm.magnitude_nm / part.jets.inertia_kg_m2 * stretch_s / 12.0_f64.sqrt();
    let rate_time_s = get(settings, "observer.rate_time_s").unwrap_or(f64::NAN);
    let noise = subject.gyro_noise_rad_s() * (subject.law_step_s / (2.0 * rate_time_s)).sqrt();
    (ramp * ramp + noise * noise + half_pulse_rad_s * half_pulse_rad_s / 3.0).sqrt()
}
