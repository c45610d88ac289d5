//! Film, gas and energy after each camera-on, and what the load asks beyond what there is.
//!
//! - Film: image speed times the time film runs, which begins `lead_ticks` before camera-on and ends with the
//!   run-down; a framing camera's pictures times its advance. To two per cent of what the flight code lets through.
//! - Gas, at most: what the flight code's own alarms allow (use and leak by the hour), and one full allowance of
//!   its guard for capture. Faster loss raises a flag on board, so that this is a bound and no estimate.
//! - Energy: what the scenario's power table says for what is on; the valves by the gas bound.

use super::{
    finding::{Findings, Rule},
    sequence::{Burst, Sequence},
    state::{Reserves, Stage, State},
};
use crate::scenario::Scenario;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use stillframe_controller::settings::Settings;

/// Standard gravity, m/s² (ISO 80000-3).
const G0: f64 = 9.806_65;
/// Film that runs on after camera-off at image speed, s: half of the run-down.
const RUN_DOWN_S: f64 = 0.25;

/// Stores after one camera-on.
#[derive(Clone, Debug, Deserialize, JsonSchema, PartialEq, Serialize)]
#[serde(deny_unknown_fields)]
pub struct Stores {
    /// Entry that switches the camera on, counted from 1.
    pub entry: usize,
    /// Camera-on, s since the start.
    pub on_s: f64,
    /// Camera-off, s since the start.
    pub off_s: f64,
    /// Film let through in it, m.
    pub film_m: f64,
    /// Film left after it, m.
    pub film_left_m: f64,
    /// Gas left after it, kg, at least.
    pub gas_left_kg: f64,
    /// Energy left after it, Wh.
    pub energy_left_wh: f64,
}

/// The vehicle's appetites.
pub struct Appetite<'a> {
    /// Scenario.
    pub scenario: &'a Scenario,
    /// Settings in force.
    pub settings: &'a Settings,
}

impl Appetite<'_> {
    /// Film let through in a camera-on, m.
    pub fn film_m(&self, burst: &Burst) -> f64 {
        let camera = &self.settings.camera;
        if camera.kind != 0 {
            let interval = u32::from(burst.interval_ticks).max(camera.cycle_min_ticks).max(1);
            // One at the beginning and one after each interval, as the flight code reckons.
            let pictures = ((burst.off_s - burst.on_s) * 100.0 / f64::from(interval)).floor() + 1.0;
            return pictures * f64::from(camera.advance_length_m);
        }
        let step_m_s = f64::from(camera.speed_step_m_s);
        let first_s = burst.on_s - f64::from(camera.lead_ticks) / 100.0;
        let ends = burst.speeds.iter().skip(1).map(|next| next.at_s).chain([burst.off_s + RUN_DOWN_S]);
        let pieces = burst.speeds.iter().zip(ends).enumerate().map(|(k, (speed, end_s))| {
            let from_s = if k == 0 { first_s } else { speed.at_s };
            f64::from(speed.step) * step_m_s * (end_s - from_s).max(0.0)
        });
        pieces.sum()
    }

    /// Most gas that may go from the time of sending until `until_s` without a flag, kg.
    pub fn gas_kg(&self, state: &State, until_s: f64) -> f64 {
        let gas = &self.settings.gas;
        let hours = (until_s - state.now_s()).max(0.0) / 3600.0;
        let hold_kg = 1e-3 * f64::from(gas.use_alarm_g_h + gas.leak_alarm_g_h) * hours;
        hold_kg + if state.stage == Stage::Pad { self.capture_kg() } else { 0.0 }
    }

    /// One full allowance of the guard, kg.
    fn capture_kg(&self) -> f64 {
        let gas = &self.settings.gas;
        let thrust_n = self.settings.jets.iter().map(|jet| f64::from(jet.thrust_n)).fold(0.0, f64::max);
        f64::from(gas.guard_jet_s) * thrust_n / (f64::from(gas.specific_impulse_s) * G0)
    }

    /// Energy drawn from the time of sending until `until_s` with so much gas used and film run so long, J.
    pub fn energy_j(&self, state: &State, until_s: f64, gas_kg: f64, film_s: f64) -> f64 {
        let p = &self.scenario.power;
        let thrust_n = self.settings.jets.iter().map(|jet| f64::from(jet.thrust_n)).fold(0.0, f64::max);
        let flow_kg_s = thrust_n / (f64::from(self.settings.gas.specific_impulse_s) * G0);
        let valves_s = if flow_kg_s > 0.0 { gas_kg / flow_kg_s } else { 0.0 };
        // The transmitter is on all the time.
        let steady_w = p.base_w + p.sensors_w + p.transmitter_w;
        steady_w * (until_s - state.now_s()).max(0.0) + p.valve_w * valves_s + p.film_w * film_s
    }
}

/// Stores after each camera-on; what runs short is named at the camera-on that crosses the reserve.
pub fn keep(appetite: &Appetite<'_>, sequence: &Sequence, state: &State, findings: &mut Findings<'_>) -> Vec<Stores> {
    let reserves = Reserves::of(appetite.scenario, appetite.settings);
    let footage_limit_m = f64::from(appetite.settings.camera.footage_limit_m);
    let (mut film_left_m, mut film_s) = (state.film_m, 0.0);
    let mut short = Short::default();
    let stores = sequence.bursts.iter().map(|burst| {
        let film_m = appetite.film_m(burst);
        film_left_m -= film_m;
        film_s += burst.off_s - burst.on_s;
        let gas_kg = appetite.gas_kg(state, burst.off_s);
        let energy_j = appetite.energy_j(state, burst.off_s, gas_kg, film_s);
        let left = Stores {
            entry: burst.on + 1,
            on_s: burst.on_s,
            off_s: burst.off_s,
            film_m,
            film_left_m,
            gas_left_kg: state.gas_kg - gas_kg,
            energy_left_wh: (state.energy_j - energy_j) / 3600.0,
        };
        short.judge(burst, &left, (&reserves, footage_limit_m), findings);
        left
    });
    stores.collect()
}

/// Which stores have run short already: each is named once.
#[derive(Default)]
struct Short {
    film: bool,
    gas: bool,
    energy: bool,
}

impl Short {
    fn judge(
        &mut self,
        burst: &Burst,
        left: &Stores,
        (reserves, footage_limit_m): (&Reserves, f64),
        findings: &mut Findings<'_>,
    ) {
        let first = |seen: &mut bool, short: bool| short && !std::mem::replace(seen, short || *seen);
        if left.film_m > footage_limit_m {
            let reason = format!(
                "it takes {:.2} m of film; the vehicle ends a camera-on after {footage_limit_m:.2} m",
                left.film_m
            );
            findings.refuse(Rule::Film, Some(burst.on), reason, "Shorten it, or split it in two.");
        }
        if first(&mut self.film, left.film_left_m < reserves.film_m) {
            let reason = format!(
                "it takes {:.2} m of film and leaves {:.2} m; {:.2} m are kept for cutting and sealing",
                left.film_m, left.film_left_m, reserves.film_m
            );
            findings.refuse(Rule::Film, Some(burst.on), reason, "Take this and later camera-ons out, or shorten them.");
        }
        if first(&mut self.gas, left.gas_left_kg < reserves.gas_kg) {
            let reason = format!(
                "gas may be down to {:.3} kg by then; {:.3} kg are kept for the return",
                left.gas_left_kg, reserves.gas_kg
            );
            findings.refuse(
                Rule::Gas,
                Some(burst.on),
                reason,
                "End the programme earlier, or lower the alarms of gas use to what is seen in flight.",
            );
        }
        if first(&mut self.energy, left.energy_left_wh * 3600.0 < reserves.energy_j) {
            let reason = format!(
                "the battery is down to {:.0} Wh by then; {:.0} Wh are kept",
                left.energy_left_wh,
                reserves.energy_j / 3600.0
            );
            findings.refuse(Rule::Energy, Some(burst.on), reason, "End the programme earlier.");
        }
    }
}
