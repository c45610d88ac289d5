//! What the ground got wrong in the load: faults that act before the run begins.

use crate::{
    plant::TICK_S,
    scenario::{Scenario, parts::fault::FaultKind},
};
use stillframe_controller::programme::load::{Command, Entry, Load};

/// The load as it is sent, with what the scenario's faults make of the commands inside their times.
///
/// A lost camera-off is put where the vehicle's own check of the load cannot object: as late as the longest
/// camera-on allows, and ahead of whatever switches the camera next.
pub fn spoil(load: &Load, scenario: &Scenario, longest_on_ticks: u32) -> Load {
    let mut spoilt = load.clone();
    for fault in &scenario.faults {
        let (from_s, to_s) = (fault.start_s(scenario.run.start), fault.end_s(scenario.run.start));
        let hit = |tick: u32| (from_s..to_s).contains(&(f64::from(tick) * TICK_S));
        match &fault.kind {
            FaultKind::SpeedStepOff(off) => {
                for entry in spoilt.entries.iter_mut().filter(|entry| hit(entry.tick)) {
                    if let Command::Speed(step) = &mut entry.command {
                        *step = (f64::from(*step) + off.steps).clamp(0.0, f64::from(u16::MAX)) as u16;
                    }
                }
            }
            FaultKind::CameraOffLost(_) => delay_offs(&mut spoilt, hit, longest_on_ticks),
            _ => {}
        }
    }
    spoilt
}

fn delay_offs(load: &mut Load, hit: impl Fn(u32) -> bool, longest_on_ticks: u32) {
    let mut on_tick = 0;
    for index in 0..load.entries.len() {
        let Entry { tick, command } = load.entries[index];
        match command {
            Command::CameraOn { .. } => on_tick = tick,
            Command::CameraOff if hit(tick) => {
                let next_on = load.entries[index..]
                    .iter()
                    .find(|entry| matches!(entry.command, Command::CameraOn { .. }))
                    .map_or(u32::MAX, |entry| entry.tick - 1);
                load.entries[index].tick = (on_tick + longest_on_ticks).min(next_on).max(tick);
            }
            _ => {}
        }
    }
    load.entries.sort_unstable_by_key(|entry| entry.tick);
}
