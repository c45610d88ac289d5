#![no_std]
#![forbid(unsafe_code)]
//! A fixed row of inputs for the flight code, and the digest of all that it answers: the same number from a debug
//! build, a release build and a board, or one of them does not do what the others do.
//!
//! Two minutes each with the strip and the framing camera: tip-off, capture, bursts, loads by radio, every kind of
//! sensor fault, a clock that stands still and jumps, and at the end nothing but random bits. Body, film and shutter
//! follow the outputs by a few lines of arithmetic, so that more than fault handling is reached; from the seed on
//! nothing else decides what the sensors say.
//!
//! - [`stream`]: what the sensors say;
//! - [`mod@digest`]: bits of the answers become a number;
//! - [`settings`]: settings and loads that are flown.
//!
//! The crate has no other dependencies than the flight code's own, so that a debug build of it is quick. Its program
//! prints the digests of its own build: `cargo run --release -p stillframe-golden > firmware/golden/digest.txt` after a
//! change of the flight code that is meant.

pub mod digest;
pub mod settings;
pub mod stream;

use digest::Digest;
use settings::Camera;
use stillframe_controller::{
    Controller,
    io::{Actuators, Sensors},
    telemetry::Telemetry,
};
use stream::Stream;

/// Base ticks flown with each camera.
pub const TICKS: u32 = 12_000;

/// A run of the row with one camera, whoever steps the flight code.
#[derive(Clone, Debug)]
pub struct Run {
    stream: Stream,
    digest: Digest,
}

impl Run {
    /// Before the first tick.
    pub fn new(camera: Camera) -> Self {
        Self { stream: Stream::new(camera), digest: Digest::new() }
    }

    /// What goes into the next of the [`TICKS`] steps.
    pub fn sensors(&mut self) -> Sensors {
        self.stream.sensors()
    }

    /// What came out of it: the outputs, and the snapshot if the step made one.
    pub fn answer(&mut self, actuators: &Actuators, telemetry: Option<&Telemetry>) {
        self.digest.actuators(actuators);
        if let Some(telemetry) = telemetry {
            self.digest.telemetry(telemetry);
        }
        self.stream.follow(actuators);
    }

    /// The digest so far.
    pub fn digest(&self) -> u64 {
        self.digest.value()
    }
}

/// Digest of this build with a camera; `None` if the settings or the load are refused, which no sound build does.
pub fn digest(camera: Camera) -> Option<u64> {
    fly(camera, |_, _| {}, |_, _| {})
}

/// Steps the controller of this build through the row. `spoil` may change what goes in, `look` what comes out.
fn fly(
    camera: Camera,
    mut spoil: impl FnMut(u32, &mut Sensors),
    mut look: impl FnMut(&mut Actuators, &Controller),
) -> Option<u64> {
    let mut controller = Controller::new(settings::settings(camera)).ok()?;
    controller.load(&settings::load(1, 0, camera).encode(), 0).ok()?;
    let mut run = Run::new(camera);
    for step in 0..TICKS {
        let mut sensors = run.sensors();
        spoil(step, &mut sensors);
        let mut actuators = controller.step(&sensors);
        look(&mut actuators, &controller);
        let telemetry = controller.telemetry();
        run.answer(&actuators, (telemetry.tick == sensors.tick).then_some(telemetry));
    }
    Some(run.digest())
}

/// The digest that this version of the flight code is known by; `None` if the file beside this crate does not say.
pub fn known(camera: Camera) -> Option<u64> {
    let mut words = include_str!("../digest.txt").split_ascii_whitespace();
    words.find(|word| *word == camera.name())?;
    u64::from_str_radix(words.next()?, 16).ok()
}

#[cfg(test)]
mod tests {
    extern crate std;
    use super::*;
    use std::collections::BTreeMap;
    use stillframe_controller::health::flags::Flag;

    #[test]
    fn this_build_has_the_known_digests() {
        for camera in Camera::ALL {
            let (now, known) = (digest(camera).unwrap(), known(camera));
            assert_eq!(
                known,
                Some(now),
                "{} is {now:016x} now; if that is meant, the program writes the file",
                camera.name()
            );
        }
    }

    /// What the row reaches: a digest of a vehicle that does nothing would tell little.
    #[test]
    fn the_row_reaches_every_mode_and_most_flags() {
        for camera in Camera::ALL {
            let mut modes: BTreeMap<std::string::String, u32> = BTreeMap::new();
            let (mut flags, mut frames, mut opened, mut lost) = (0, 0, [0_u32; 16], [false; 2]);
            fly(
                camera,
                |_, _| {},
                |actuators, controller| {
                    *modes.entry(std::format!("{:?}", controller.mode())).or_default() += 1;
                    flags |= controller.telemetry().flags.0;
                    frames += u32::from(controller.frame().is_some());
                    for (opened, edges) in opened.iter_mut().zip(&actuators.jets) {
                        *opened += u32::from(edges.open_us.is_some());
                    }
                    lost = controller.attitude().bank_lost;
                },
            );
            let missing: std::vec::Vec<_> = Flag::ALL.iter().filter(|flag| flags & flag.bit() == 0).collect();
            let name = camera.name();
            std::println!(
                "{name}: {modes:?}, {frames} frames, openings {opened:?}, lost {lost:?}, without {missing:?}"
            );
            assert_eq!((modes.len(), lost), (6, [true; 2]), "{name}");
            assert!(Flag::ALL.len() - missing.len() >= 14, "{name}");
            assert!(frames >= 3 && opened.iter().filter(|&&times| times > 0).count() >= 12, "{name}");
        }
    }

    #[test]
    fn one_bit_that_changes_changes_the_digest() {
        let as_it_is = digest(Camera::Strip);
        let turn = |number: &mut f32| *number = f32::from_bits(number.to_bits() ^ 1 << 10);
        // A bit of one gyro reading, far from the end.
        let reading = |step, sensors: &mut Sensors| {
            if step == 4_000 {
                turn(&mut sensors.gyro_rad_s[2]);
            }
        };
        assert_ne!(fly(Camera::Strip, reading, |_, _| {}), as_it_is);
        // One bit of one output in one tick.
        let mut ticks = 0;
        let output = |actuators: &mut Actuators, _: &Controller| {
            ticks += 1;
            actuators.slit ^= u8::from(ticks == TICKS);
        };
        assert_ne!(fly(Camera::Strip, |_, _| {}, output), as_it_is);
        assert_eq!(fly(Camera::Strip, |_, _| {}, |_, _| {}), as_it_is);
    }
}
