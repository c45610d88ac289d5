//! Settings proposed from vehicle, sensors and jets, each with its reason.
//!
//! Rules of thumb are marked as such; where a rule gives a number outside the setting's range the nearest allowed
//! one is taken and the reason says so.

use super::{
    filters::Filters,
    keys::{AXES, field, get, set_near},
    limit_cycle::AxisJets,
    riccati::RiccatiError,
    subject::Subject,
};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use stillframe_controller::settings::Settings;

/// A setting as proposed.
#[derive(Clone, Debug, Deserialize, JsonSchema, PartialEq, Serialize)]
pub struct Choice {
    /// Group and key.
    pub key: String,
    /// Unit.
    pub unit: String,
    /// Value before.
    pub before: f64,
    /// Value proposed.
    pub value: f64,
    /// Why.
    pub reason: String,
}

/// Deviations of the disturbance estimate below which it is taken for noise.
const DOUBT_SIGMAS: f64 = 3.0;
/// Deadband over the filtered noise: five sigma, common practice (three to five).
const NOISE_SIGMAS: f64 = 5.0;
/// Share of the half field by which the picture may wander: a tenth.
const FIELD_SHARE: f64 = 0.1;
/// A valve that will not shut must be noticed within this, s: the rate's smoothing may not be slower.
const NOTICE_S: f64 = 1.0;
/// Weight of rate against angle over the rate's smoothing: costs atan(1/5) = 11° of the lead's phase.
const LEAD_OVER_SMOOTHING: f64 = 5.0;
/// Share of the estimated disturbance that is taken as sure.
const DISTURBANCE_TRUST: f64 = 0.75;
/// Share of the smear budget that rates in exposures may take: a tenth, which in a root sum square costs half a
/// per cent.
const RATE_SHARE: f64 = 0.1;
/// Tip-off rate about every axis that the gas guard must let the jets undo, rad/s.
const CAPTURED_RAD_S: f64 = 3.0 * DEG;
/// Slowest turn that is still worth its time, and fastest worth its gas, rad/s.
const TURNS_RAD_S: (f64, f64) = (0.05_f64 * DEG, 0.3_f64 * DEG);
const DEG: f64 = std::f64::consts::PI / 180.0;

/// Settings under construction.
struct Draft<'a> {
    subject: &'a Subject,
    settings: Settings,
    choices: Vec<Choice>,
}

/// Settings for `subject`, starting from `base` (whose inertia and jets are taken over), and why.
///
/// # Errors
/// If the noise model has no steady filter.
pub fn propose(subject: &Subject, base: &Settings) -> Result<(Settings, Vec<Choice>), RiccatiError> {
    let filters = Filters::of(subject)?;
    let mut draft = Draft { subject, settings: base.clone(), choices: Vec::new() };
    draft.observer(&filters);
    for axis in 0..3 {
        draft.switching(axis, &filters);
    }
    draft.steering();
    draft.guard();
    Ok((draft.settings, draft.choices))
}

impl Draft<'_> {
    fn choose(&mut self, key: &str, value: f64, reason: String) {
        let (Some(before), Some(field)) = (get(&self.settings, key), field(&self.settings, key)) else { return };
        let Some(set) = set_near(&mut self.settings, key, three_figures(value)) else { return };
        let cut = (set - value).abs() > 0.02 * value.abs() && field.unit != "ms" && field.unit != "samples";
        let reason = if cut { format!("{reason} The range allows no nearer value.") } else { reason };
        self.choices.push(Choice { key: key.to_owned(), unit: field.unit.to_owned(), before, value: set, reason });
    }

    fn observer(&mut self, filters: &Filters) {
        let s = self.subject;
        self.choose(
            "observer.tilt_time_s",
            filters.tilt_time_s,
            format!(
                "Steady filter of tilt from horizon noise of {:.3}° at {:.0} Hz and gyros that walk {:.3} °/√h; it leaves {:.4}° of noise.",
                s.horizon_noise_rad / DEG,
                1.0 / s.horizon_sample_s,
                s.gyro_walk_rad_rts / DEG * 60.0,
                filters.tilt_sigma_rad() / DEG
            ),
        );
        let settle_s = 45.0 * 60.0 / 4.5;
        self.choose(
            "observer.yaw_time_s",
            filters.yaw_time_s.min(settle_s),
            format!(
                "Steady filter of roll and yaw coupled by the orbital rate asks for {:.0} s; no more than {settle_s:.0} s, so that a heading off by ten degrees is inside 0.1° after 45 minutes (4.5 time constants).",
                filters.yaw_time_s
            ),
        );
        self.choose(
            "observer.drift_time_s",
            filters.drift_time_s.max(20.0 * filters.tilt_time_s),
            format!(
                "Steady filter of pitch and gyro drift asks for {:.0} s (instability {:.3} °/h over {:.1} h); no less than twenty blending times, so that tilt settles first.",
                filters.drift_time_s,
                s.gyro_instability_rad_s / DEG * 3600.0,
                s.gyro_instability_time_s / 3600.0
            ),
        );
        self.choose(
            "observer.drift_limit_deg_h",
            (10.0 * s.gyro_drift_rad_s / DEG * 3600.0).max(1.0),
            "Ten times the largest drift of the gyros as drawn: a faulty gyro is not believed for ever.".into(),
        );
        let rate_time_s = filters.rate_time_s.iter().copied().fold(f64::INFINITY, f64::min);
        self.choose(
            "observer.rate_time_s",
            rate_time_s.min(NOTICE_S),
            format!(
                "Steady filters of rate ask for {} s (roll, pitch, yaw); no slower than {NOTICE_S} s, so that a valve that will not shut is noticed in time.",
                filters.rate_time_s.map(|time_s| format!("{time_s:.1}")).join(", ")
            ),
        );
        let learn_s = filters.disturbance_time_s.iter().copied().fold(f64::INFINITY, f64::min);
        self.choose(
            "observer.disturbance_time_s",
            learn_s.clamp(30.0, 0.1 / s.orbital_rate_rad_s * std::f64::consts::TAU),
            format!(
                "Steady filters of disturbance ask for {} s; between 30 s and a tenth of an orbit.",
                filters.disturbance_time_s.map(|time_s| format!("{time_s:.0}")).join(", ")
            ),
        );
        self.doubt();
        self.choose(
            "observer.gyro_range_deg_s",
            0.95 * s.gyro_range_rad_s / DEG,
            format!("A twentieth below the gyros' range of {:.1} °/s.", s.gyro_range_rad_s / DEG),
        );
        self.choose(
            "observer.horizon_gate_deg",
            6.0 * s.horizon_noise_rad / DEG,
            "Six times the noise of one horizon sample: chance never reaches it, the Sun or a cold cloud in the scan does.".into(),
        );
        self.choose(
            "observer.horizon_noise_deg",
            4.0 * s.horizon_noise_rad / DEG,
            "Four times the noise of one horizon sample: a sensor that scatters so much has changed.".into(),
        );
        let yaw_time_s = get(&self.settings, "observer.yaw_time_s").unwrap_or(settle_s);
        self.choose(
            "observer.settle_s",
            2.5 * yaw_time_s,
            "Two and a half times of the gyrocompass: a twelfth of the first heading error is left.".into(),
        );
    }

    /// What noise makes the disturbance estimate of an axis on which nothing acts.
    fn doubt(&mut self) {
        let of = |key: &str| get(&self.settings, key).unwrap_or(f64::NAN);
        let (rate_time_s, learn_s) = (of("observer.rate_time_s"), of("observer.disturbance_time_s"));
        // White noise of density N² through s/(s² + s/T + 1/(T·T_d)), times 1/(T·T_d): N²/(2·T·T_d²).
        let density = self.subject.gyro_noise_rad_s().powi(2) * self.subject.law_step_s;
        let sigma = (density / (2.0 * rate_time_s)).sqrt() / learn_s;
        self.choose(
            "observer.disturbance_doubt_deg_s2",
            DOUBT_SIGMAS * sigma / DEG,
            format!(
                "{DOUBT_SIGMAS} sigma of what the gyros' noise makes of no disturbance at all: σ·√(Δt/2T)/T_d. Pulses sized to noise would be longer than the least."
            ),
        );
    }

    fn switching(&mut self, axis: usize, filters: &Filters) {
        let s = self.subject;
        let of = s.axes[axis];
        let name = |key: &str| format!("{}.{key}", AXES[axis]);
        let rate_time_s = get(&self.settings, "observer.rate_time_s").unwrap_or(NOTICE_S);
        let lead_s = LEAD_OVER_SMOOTHING * (rate_time_s + s.delay_s(axis));
        let least_s = (of.least_pulse_s * 1e3).ceil() * 1e-3;
        let noise_rad = self.noise_rad(axis, lead_s, rate_time_s, filters);
        self.choose(
            &name("minimum_pulse_ms"),
            least_s * 1e3,
            format!("Shortest opening that these valves repeat ({:.0} ms).", of.least_pulse_s * 1e3),
        );
        let deadband_rad = self.deadband(axis, noise_rad, least_s);
        self.choose(
            &name("lead_s"),
            lead_s,
            "Five times the smoothing of rates and the delay to thrust: phase enough to turn round before the far side.".into(),
        );
        let fill = (DISTURBANCE_TRUST * (1.0 - NOISE_SIGMAS * noise_rad / deadband_rad)).clamp(0.3, 0.8);
        self.choose(
            &name("fill"),
            fill,
            format!(
                "Five sigma of noise ({:.3}°) are kept clear of the far side, even if the disturbance is a quarter weaker than estimated and carries that much further.",
                NOISE_SIGMAS * noise_rad / DEG
            ),
        );
        let alpha = of.jets.acceleration_rad_s2();
        let limit_rad_s = TURNS_RAD_S.1.min(alpha * lead_s).min(0.3 * s.gyro_range_rad_s).max(TURNS_RAD_S.0);
        self.choose(
            &name("rate_limit_deg_s"),
            limit_rad_s / DEG,
            format!(
                "Jets give {:.3} °/s², so that a turn is stopped within the lead; {} °/s at most, beyond which turns cost gas for little time; below a third of the gyros' range.",
                alpha / DEG,
                three_figures(TURNS_RAD_S.1 / DEG)
            ),
        );
        let cycle_rad_s = cycle_rate_rad_s(&of.jets, of.disturbance_nm.largest_nm, fill, deadband_rad, limit_rad_s);
        let longest_s = (1.5 * 2.0 * cycle_rad_s / alpha).max(0.5 * limit_rad_s / alpha).max(10.0 * least_s);
        self.choose(
            &name("longest_pulse_ms"),
            longest_s * 1e3,
            "Half of what the rate limit takes, and half again what the largest one-sided pulse does.".into(),
        );
        let lockout_s = 3.0 * (s.delay_s(axis) + of.valve_delay_s[1] + s.law_step_s);
        self.choose(
            &name("lockout_ms"),
            (lockout_s * 1e2).ceil() * 10.0,
            "Three times the way from decision to closed valve and back to the law's next look.".into(),
        );
    }

    /// Noise on the switching line, rad: tilt and rate together.
    fn noise_rad(&self, axis: usize, lead_s: f64, rate_time_s: f64, filters: &Filters) -> f64 {
        let angle = if axis == 2 { filters.yaw_sigma_rad() } else { filters.tilt_sigma_rad() };
        // First-order smoothing over T leaves the white noise's density over 2T.
        let density = self.subject.gyro_noise_rad_s().powi(2) * self.subject.law_step_s;
        let rate = (density / (2.0 * rate_time_s)).sqrt();
        angle.hypot(lead_s * rate)
    }

    fn deadband(&mut self, axis: usize, noise_rad: f64, least_s: f64) -> f64 {
        let s = self.subject;
        let jets = s.axes[axis].jets;
        let least_rad = (NOISE_SIGMAS * noise_rad).max(2.0 * jets.acceleration_rad_s2() * least_s * least_s);
        // Roll and pitch move the picture; yaw smears it: v·sin ψ·t, and may take three tenths of the budget.
        let (most_rad, why) = if axis == 2 {
            let travel_m = s.image_speed_m_s * s.exposure_s;
            let most = (0.3 * s.smear_m / travel_m).min(1.0).asin();
            (
                most,
                format!(
                    "yaw smears {:.0} µm of image travel by its sine, and may take 0.3 of the {:.1} µm budget",
                    travel_m * 1e6,
                    s.smear_m * 1e6
                ),
            )
        } else {
            (
                FIELD_SHARE * s.half_field_rad,
                format!("the picture may wander by a tenth of the half field of {:.2}°", s.half_field_rad / DEG),
            )
        };
        let free = jets.free(most_rad.max(least_rad), least_s);
        let reason = format!(
            "As wide as the picture allows, for the fewest pulses: {why}. Five sigma of noise on the line are {:.3}°; undisturbed, pulses come every {:.0} s.",
            NOISE_SIGMAS * noise_rad / DEG,
            free.quiet_s
        );
        let deadband_rad = most_rad.max(least_rad);
        self.choose(&format!("{}.deadband_deg", AXES[axis]), deadband_rad / DEG, reason);
        get(&self.settings, &format!("{}.deadband_deg", AXES[axis])).map_or(deadband_rad, |deg| deg * DEG)
    }

    fn steering(&mut self) {
        let s = self.subject;
        let limits = s.smear_rate_rad_s() * RATE_SHARE;
        let mut longest_s = f64::INFINITY;
        for axis in 0..3 {
            let alpha = s.axes[axis].disturbance_nm.largest_nm / s.axes[axis].jets.inertia_kg_m2;
            let deadband = get(&self.settings, &format!("{}.deadband_deg", AXES[axis])).unwrap_or(0.3) * DEG;
            // Rates reach α·B/2 at either end of a burst, the angle dips by α·B²/8.
            longest_s = longest_s.min(2.0 * limits[axis] / alpha).min((8.0 * deadband / alpha).sqrt());
        }
        self.choose(
            "steering.quiet_longest_s",
            longest_s.clamp(s.burst_s.min(60.0) + 2.0, 600.0),
            format!(
                "The largest disturbances keep rates inside a tenth of the smear budget and the coast inside the deadband for {longest_s:.0} s; never shorter than the programme's bursts of {:.0} s where that can be helped.",
                s.burst_s
            ),
        );
    }
}

impl Draft<'_> {
    /// Allowance of the gas guard.
    fn guard(&mut self) {
        let jet_s = |axis: usize, rate_rad_s: f64| {
            let part = &self.subject.axes[axis];
            rate_rad_s / part.jets.acceleration_rad_s2() * part.jet_count
        };
        let capture_s: f64 = (0..3).map(|axis| jet_s(axis, CAPTURED_RAD_S)).sum();
        let turn_s = (0..3).map(|axis| 2.0 * jet_s(axis, TURNS_RAD_S.1)).fold(0.0, f64::max);
        self.choose(
            "gas.guard_jet_s",
            2.0 * (capture_s + turn_s),
            format!(
                "Twice what it takes to undo 3 °/s about every axis ({capture_s:.0} s of jets) and one half-turn ({turn_s:.0} s): no capture is cut off, no fault gets more."
            ),
        );
    }
}

/// Rate with which the law leaves the edge under a disturbance: √(2α·2·fill·D), at most half the rate limit.
pub fn cycle_rate_rad_s(jets: &AxisJets, disturbance_nm: f64, fill: f64, deadband_rad: f64, limit_rad_s: f64) -> f64 {
    (4.0 * disturbance_nm.abs() / jets.inertia_kg_m2 * fill * deadband_rad).sqrt().min(0.5 * limit_rad_s)
}

/// Three figures: nobody types more, and nothing here is known better.
pub fn three_figures(value: f64) -> f64 {
    if value == 0.0 || !value.is_finite() {
        return value;
    }
    let unit = 10_f64.powi(value.abs().log10().floor() as i32 - 2);
    // Through text, so that the file shows the same three figures.
    format!("{:.3e}", (value / unit).round() * unit).parse().unwrap_or(value)
}
