//! Faults: when each begins and ends, and what it does to sensors, actuators, clock and film.
//!
//! Faults of the radio link are the link's own business (`flight::link`); everything else is here.

use super::{
    Plant,
    film::{FilmFaults, Jam, Side},
    jets::JetFault,
    ordnance::CircuitFaults,
};
use crate::scenario::{
    Scenario,
    parts::{
        fault::{Axis, Fault, FaultKind, FilmSide, JamPlace},
        ground::Power,
    },
};
use stillframe_controller::{io::TICKS_PER_S, ordnance::Side as OrdnanceSide};

/// Torque with which a jammed roller resists, N·m: well beyond its motor's stall torque.
const JAM_NM: f64 = 50.0;

/// One fault with its times.
#[derive(Clone, Debug)]
struct Entry {
    fault: Fault,
    start_s: f64,
    end_s: f64,
    active: bool,
}

/// A fault that began or ended.
#[derive(Clone, Debug, PartialEq)]
pub struct Change {
    /// Name of its kind, as in the scenario.
    pub name: &'static str,
    /// Began (or ended).
    pub began: bool,
}

/// All faults of a run.
#[derive(Clone, Debug)]
pub struct FaultSchedule {
    entries: Vec<Entry>,
    jets: Vec<String>,
    next_s: f64,
    drift_ticks: f64,
    /// A horizon tilt is still growing.
    ramping: bool,
    film: FilmFaults,
    /// What the vehicle draws, for faults of the bus.
    pub power: Power,
}

impl FaultSchedule {
    /// The faults of a scenario.
    pub fn new(scenario: &Scenario) -> Self {
        let start = scenario.run.start;
        let entries: Vec<Entry> = scenario
            .faults
            .iter()
            .map(|fault| Entry {
                start_s: fault.start_s(start),
                end_s: fault.end_s(start),
                fault: fault.clone(),
                active: false,
            })
            .collect();
        let jets = scenario.jets.iter().map(|jet| jet.name.clone()).collect();
        let mut schedule = Self {
            entries,
            jets,
            next_s: 0.0,
            drift_ticks: 0.0,
            ramping: false,
            film: FilmFaults::default(),
            power: scenario.power.clone(),
        };
        schedule.next_s = schedule.next_change_s(f64::NEG_INFINITY);
        schedule
    }

    fn next_change_s(&self, after_s: f64) -> f64 {
        let times = self.entries.iter().flat_map(|entry| [entry.start_s, entry.end_s]);
        times.filter(|&at_s| at_s > after_s).fold(f64::INFINITY, f64::min)
    }

    /// Whether a fault of this kind is among them at all, whenever it acts.
    pub fn mentions(&self, wanted: impl Fn(&FaultKind) -> bool) -> bool {
        self.entries.iter().any(|entry| wanted(&entry.fault.kind))
    }

    /// Whether a fault of this kind's name acts now.
    pub fn acting(&self, wanted: impl Fn(&FaultKind) -> bool) -> bool {
        self.entries.iter().any(|entry| entry.active && wanted(&entry.fault.kind))
    }

    /// The fault that acts now and satisfies `wanted`.
    pub fn find<T>(&self, wanted: impl Fn(&FaultKind) -> Option<T>) -> Option<T> {
        self.entries.iter().filter(|entry| entry.active).find_map(|entry| wanted(&entry.fault.kind))
    }

    /// Brings the plant's faults up to `time_s`; tells what began and ended. Cheap when nothing changes.
    pub fn apply(&mut self, time_s: f64, plant: &mut Plant, changes: &mut Vec<Change>) {
        self.keep_drifting(plant);
        if self.ramping {
            self.tilt_horizon(time_s, plant);
        }
        if time_s < self.next_s {
            return;
        }
        for index in 0..self.entries.len() {
            let Entry { start_s, end_s, active, .. } = self.entries[index];
            let wanted = time_s >= start_s && time_s < end_s;
            if wanted != active {
                self.entries[index].active = wanted;
                let kind = self.entries[index].fault.kind.clone();
                self.switch(&kind, wanted, plant);
                changes.push(Change { name: kind_name(&kind), began: wanted });
            }
        }
        self.next_s = self.next_change_s(time_s);
        plant.ordnance.faults = CircuitFaults::acting(self, OrdnanceSide::Vehicle);
        self.tilt_horizon(time_s, plant);
    }

    /// A drifting clock gains or loses whole ticks as they add up.
    fn keep_drifting(&mut self, plant: &mut Plant) {
        let Some(rate) =
            self.find(|kind| if let FaultKind::ClockDrift(drift) = kind { Some(drift.rate) } else { None })
        else {
            return;
        };
        self.drift_ticks += rate;
        let whole = self.drift_ticks.trunc();
        plant.clock_ahead += whole as i64;
        self.drift_ticks -= whole;
    }

    /// False tilts of the horizon sensor add up; one with a ramp grows until its full size.
    fn tilt_horizon(&mut self, time_s: f64, plant: &mut Plant) {
        let mut sum = [0.0; 2];
        self.ramping = false;
        for entry in self.entries.iter().filter(|entry| entry.active) {
            let (roll_rad, pitch_rad, share) = match &entry.fault.kind {
                FaultKind::HorizonSun(tilt) => (tilt.roll_rad, tilt.pitch_rad, 1.0),
                FaultKind::HorizonBias(bias) if bias.ramp_s > 0.0 => {
                    (bias.roll_rad, bias.pitch_rad, ((time_s - entry.start_s) / bias.ramp_s).min(1.0))
                }
                FaultKind::HorizonBias(bias) => (bias.roll_rad, bias.pitch_rad, 1.0),
                _ => continue,
            };
            sum = [sum[0] + roll_rad * share, sum[1] + pitch_rad * share];
            self.ramping |= share < 1.0;
        }
        plant.horizon_mut().faults.bias_rad = sum;
    }

    fn switch(&mut self, kind: &FaultKind, on: bool, plant: &mut Plant) {
        let sign = if on { 1.0 } else { -1.0 };
        match kind {
            FaultKind::HorizonStuck(_) => plant.horizon_mut().faults.stuck = on,
            FaultKind::HorizonLost(_) => plant.horizon_mut().faults.lost = on,
            FaultKind::HorizonNoise(noise) => {
                plant.horizon_mut().faults.extra_noise = if on { noise.times - 1.0 } else { 0.0 }
            }
            FaultKind::HorizonSwapped(_) => plant.horizon_mut().faults.swapped = on,
            FaultKind::HorizonReversed(_) => plant.horizon_mut().faults.reversed = on,
            FaultKind::GyroBiasStep(step) => {
                plant.gyros_mut().faults.bias_rad_s[axis(step.axis)] += sign * step.step_rad_s
            }
            FaultKind::GyroDead(gyro) => plant.gyros_mut().faults.dead[axis(gyro.axis)] = on,
            FaultKind::GyroScale(scale) => plant.gyros_mut().faults.scale_error[axis(scale.axis)] += sign * scale.error,
            FaultKind::JetStuckOpen(jet) => self.jet(&jet.jet, on.then_some(JetFault::StuckOpen), plant),
            FaultKind::JetStuckClosed(jet) => self.jet(&jet.jet, on.then_some(JetFault::StuckClosed), plant),
            FaultKind::JetWeak(jet) => self.jet(&jet.jet, on.then_some(JetFault::Thrust(jet.thrust)), plant),
            FaultKind::JetSwapped(swapped) => {
                let place = |name: &str| self.jets.iter().position(|known| known == name);
                if let (Some(one), Some(other)) = (place(&swapped.jet), place(&swapped.with)) {
                    plant.jets_mut().cross_wires(one, other);
                }
            }
            FaultKind::ValveSlow(slow) => {
                let late_s = [slow.open_s, slow.close_s].map(|late_s| if on { late_s } else { 0.0 });
                for (number, name) in self.jets.iter().enumerate() {
                    if slow.jet.as_ref().is_none_or(|wanted| wanted == name) {
                        plant.jets_mut().set_late(number, late_s);
                    }
                }
            }
            FaultKind::RegulatorOff(off) => plant.jets_mut().set_pressure_share(if on { off.thrust } else { 1.0 }),
            FaultKind::GasLeak(leak) => {
                let jet = leak.jet.as_ref().and_then(|name| self.jets.iter().position(|known| known == name));
                plant.change_leak(jet, sign * leak.rate_kg_s);
            }
            FaultKind::FilmBreak(part) if on => plant.film_mut().break_film(match part.side {
                FilmSide::Supply => Side::Supply,
                FilmSide::TakeUp => Side::TakeUp,
            }),
            FaultKind::FilmBreak(_) => {}
            FaultKind::FilmJam(held) => {
                let jam = match held.place {
                    JamPlace::Roller => Jam::Roller { holding_nm: JAM_NM },
                    JamPlace::Gate => Jam::Web,
                };
                self.film(plant, |film| film.jam = on.then_some(jam));
            }
            FaultKind::SupplyOverrun(_) => self.film(plant, |film| film.supply_free = on),
            FaultKind::FilmRunaway(bridge) => self.film(plant, |film| film.bridge_stuck = on.then_some(bridge.duty)),
            FaultKind::ReelSenseReversed(_) => plant.film_mut().swap_turning_senses(),
            FaultKind::TakeUpStalled(_) => self.film(plant, |film| film.take_up_stalled = on),
            FaultKind::MeteringSlip(slip) => self.film(plant, |film| film.slip = if on { slip.slip } else { 0.0 }),
            FaultKind::ShutterStuckOpen(_) => plant.shutter_mut().set_stuck(on.then_some(true)),
            FaultKind::ShutterStuckShut(_) => plant.shutter_mut().set_stuck(on.then_some(false)),
            FaultKind::ClockStep(step) => {
                plant.clock_ahead += (sign * step.step_s * f64::from(TICKS_PER_S)).round() as i64
            }
            // The orders themselves come by `flight::stray_orders`.
            FaultKind::OrdnanceOrders(orders) => plant.ordnance.around.battery_on = on && orders.battery,
            // Summed in `tilt_horizon`, counted in `keep_drifting`, the load's (`flight::load_faults`), the
            // computer's (`flight::computer`), or the link's own.
            FaultKind::HorizonSun(_)
            | FaultKind::HorizonBias(_)
            | FaultKind::ClockDrift(_)
            | FaultKind::SpeedStepOff(_)
            | FaultKind::CameraOffLost(_)
            | FaultKind::LinkLost(_)
            | FaultKind::UplinkGarbled(_)
            | FaultKind::ReceiverDead(_)
            | FaultKind::ReceiverNoise(_)
            | FaultKind::FalseLock(_)
            | FaultKind::UplinkRepeated(_)
            | FaultKind::UplinkOutOfOrder(_)
            | FaultKind::RelayWelded(_)
            | FaultKind::CommitWelded(_)
            | FaultKind::LineClosed(_)
            | FaultKind::EventUnshown(_)
            | FaultKind::DudCharge(_)
            | FaultKind::SpinLow(_)
            | FaultKind::GSwitchClosed(_)
            | FaultKind::GSwitchDead(_)
            | FaultKind::BackupTimerDead(_)
            | FaultKind::BatteryWeak(_)
            | FaultKind::ProcessorReset(_)
            | FaultKind::MemoryUpset(_)
            | FaultKind::CycleOverrun(_) => {}
        }
    }

    fn jet(&self, name: &str, fault: Option<JetFault>, plant: &mut Plant) {
        if let Some(jet) = self.jets.iter().position(|known| known == name) {
            plant.set_jet_fault(jet, fault);
        }
    }

    fn film(&mut self, plant: &mut Plant, change: impl FnOnce(&mut FilmFaults)) {
        change(&mut self.film);
        plant.film_mut().set_faults(self.film);
    }
}

fn axis(axis: Axis) -> usize {
    match axis {
        Axis::X => 0,
        Axis::Y => 1,
        Axis::Z => 2,
    }
}

/// The kind's name in the scenario.
pub fn kind_name(kind: &FaultKind) -> &'static str {
    kind.word()
}
