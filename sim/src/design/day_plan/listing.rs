//! The load in words: one line an entry.

use super::study::Study;
use std::fmt::Write;
use stillframe_controller::{
    attitude::mode::Hold,
    programme::load::{Command, Entry},
};

/// The load as a table for reading aloud: number, tick, UTC, what it does.
pub fn listing(study: &Study) -> String {
    let load = &study.load;
    let bytes = load.encode();
    let e = &load.ephemeris;
    let mut text = String::new();
    // Writing to a string cannot fail.
    let _ = writeln!(
        text,
        "Load {} for {}: {} entries, {} bytes, check sum {:02x}{:02x}",
        load.counter,
        study.scenario().run.name,
        load.entries.len(),
        bytes.len(),
        bytes.get(bytes.len().saturating_sub(2)).copied().unwrap_or(0),
        bytes.last().copied().unwrap_or(0),
    );
    let _ = writeln!(
        text,
        "Orbit: epoch tick {}, phase {} of 2^-32 turn, {} of 2^-48 turn a tick, half acceleration {:e} rad/s2, \
         inclination {:.4} deg, (radius ratio)^2 {:.6}\n",
        e.epoch_tick,
        e.phase,
        e.phase_per_tick,
        e.half_acceleration_rad_s2,
        e.inclination_rad.to_degrees(),
        e.radius_ratio2,
    );
    let _ = writeln!(text, "{:>4} {:>9}  {:<24}  does", "no.", "tick", "UTC");
    for (entry, number) in load.entries.iter().zip(1..) {
        let utc = study.built.start.plus_seconds(f64::from(entry.tick) * 0.01);
        let _ = writeln!(text, "{number:>4} {:>9}  {:<24}  {}", entry.tick, utc.to_string(), words(study, entry));
    }
    text
}

fn words(study: &Study, entry: &Entry) -> String {
    let step_mm_s = f64::from(study.built.settings.camera.speed_step_m_s) * 1e3;
    match entry.command {
        Command::CameraOn { slit, interval_ticks: 0 } => format!("camera on, slit {}", slit + 1),
        Command::CameraOn { slit, interval_ticks } => {
            format!("camera on, exposure {}, a frame every {:.2} s", slit + 1, f64::from(interval_ticks) * 0.01)
        }
        Command::CameraOff => "camera off".into(),
        Command::Speed(step) => format!("image speed {step} steps, {:.3} mm/s", f64::from(step) * step_mm_s),
        Command::Hold(Hold::Fine) => "hold fine".into(),
        Command::Hold(Hold::Coarse) => "hold coarse".into(),
        Command::Hold(Hold::Drift) => "hold drift".into(),
        Command::Secure => "film cut and sealed".into(),
        Command::Expect(v_over_h) => format!("V/h expected {:.5} mrad/s", f64::from(v_over_h) * 1e-5),
    }
}
