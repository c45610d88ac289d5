//! Streams of nonsense through transport, sequencer and plant.

use proptest::prelude::*;
use stillframe::plant::film::shutter::{Shutter, ShutterParameters};
use stillframe::plant::film::{FilmFaults, FilmParameters, FilmPlant};
use stillframe_controller::exposure::{CameraSettings, Input, Sequencer};
use stillframe_controller::film::{FilmSettings, Transport};
use stillframe_controller::io::{Edges, FilmDrive, FilmSample};

#[derive(Clone, Debug)]
struct Tick {
    /// Which gauges lie in this tick (one bit each), and with what.
    lies: u8,
    float: f32,
    word: u32,
    on: bool,
    allowed: bool,
    step: u16,
}

fn tick() -> impl Strategy<Value = Tick> {
    let odd = prop_oneof![Just(f32::NAN), Just(f32::INFINITY), Just(f32::NEG_INFINITY), Just(-0.0), any::<f32>()];
    let lies = prop_oneof![8 => Just(0_u8), 1 => any::<u8>()];
    let step = prop_oneof![6 => Just(341_u16), 1 => any::<u16>()];
    (lies, odd, any::<u32>(), prop::bool::weighted(0.9), prop::bool::weighted(0.99), step)
        .prop_map(|(lies, float, word, on, allowed, step)| Tick { lies, float, word, on, allowed, step })
}

fn lie(sample: &mut FilmSample, tick: &Tick) {
    let told = |bit: u8| tick.lies & (1 << bit) != 0;
    for (bit, counts) in
        [&mut sample.roller_counts, &mut sample.supply_counts, &mut sample.take_up_counts].into_iter().enumerate()
    {
        if told(bit as u8) {
            *counts = tick.word;
        }
    }
    let floats = [&mut sample.supply_arm_m, &mut sample.take_up_arm_m, &mut sample.roller_current_a];
    for (bit, value) in floats.into_iter().enumerate() {
        if told(bit as u8 + 3) {
            *value = tick.float;
        }
    }
    sample.shutter_open ^= told(6);
}

fn in_range(drive: &FilmDrive) -> bool {
    [drive.roller_duty, drive.supply_duty, drive.take_up_duty].iter().all(|duty| (-1.0..=1.0).contains(duty))
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 96, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn duties_stay_in_range_and_the_shutter_shuts(
        kind in 0_u32..2,
        exposure_us in 100_u32..60_000,
        script in prop::collection::vec((tick(), 1_usize..60), 10..60),
    ) {
        let (film, settings) = if kind == 1 {
            (FilmParameters::framing(), FilmSettings::framing())
        } else {
            (FilmParameters::default(), FilmSettings::default())
        };
        let camera = CameraSettings { kind, exposure_us, ..CameraSettings::default() };
        let mut plant = FilmPlant::new(&film);
        let mut transport = Transport::new(&settings);
        let mut sequencer = Sequencer::new(&camera, &settings);
        let mut shutter = Shutter::new(&ShutterParameters::default());
        let (mut drive, mut edges) = (FilmDrive::REST, Edges::CLOSE);
        let mut now = 0_u32;
        let mut off_for = 0_u32;
        // The script, then a long off with honest gauges.
        let off = Tick { lies: 0, float: 0.0, word: 0, on: false, allowed: true, step: 341 };
        let last = [(off, 100)];
        let ticks = script.iter().chain(&last).flat_map(|(tick, n)| std::iter::repeat_n(tick, *n));
        for (index, tick) in ticks.enumerate() {
            let mut sample = plant.sample(shutter.is_open());
            lie(&mut sample, tick);
            let status = *transport.status();
            let output = sequencer.step(&Input {
                tick: now,
                slit: stillframe_controller::exposure::ANY_SLIT,
                not_before: 0,
                camera_commanded_on: tick.on,
                cycle_ticks: tick.word,
                speed_step: tick.step,
                allowed: tick.allowed,
                shutter_open: sample.shutter_open,
                sweep_rad: sample.sweep_rad,
                film: &status,
            });
            let next = transport.step(&sample, output.demand);
            prop_assert!(in_range(&next), "{next:?}");
            // A tick number that jumps must not upset anything either.
            now = if tick.lies & 0x80 != 0 { tick.word } else { now.wrapping_add(1) };
            if index % 97 == 96 {
                transport.acknowledge();
                sequencer.acknowledge();
            }
            let acting = std::mem::replace(&mut edges, output.shutter);
            shutter.advance(&acting);
            plant.advance(0.01, &std::mem::replace(&mut drive, next), 0.0);
            prop_assert!(plant.ledger_residual_m().abs() < 1e-9);
            off_for = if tick.on && tick.allowed { 0 } else { off_for + 1 };
            // A framing exposure may end itself; a strip is shut at the next boundary.
            let grace = if kind == 1 { exposure_us / 10_000 + 2 } else { 2 };
            prop_assert!(off_for < grace || !shutter.is_open(), "open {off_for} ticks after camera-off");
        }
    }

    /// Faults that come and go at random never break the film or its ledger.
    #[test]
    fn random_faults_tear_nothing(
        script in prop::collection::vec((0_u8..32, 20_u32..300, any::<bool>()), 4..14),
        wound_m in 0.0_f64..850.0,
    ) {
        let mut rig = crate::rig::Rig::strip(wound_m);
        for (bits, ticks, run) in script {
            let has = |bit: u8| bits & (1 << bit) != 0;
            rig.plant.set_faults(FilmFaults {
                jam: has(0).then_some(stillframe::plant::film::Jam::Roller { holding_nm: 3.0 }),
                take_up_stalled: has(1),
                slip: if has(2) { 0.05 } else { 0.0 },
                encoder_dead: has(3),
                brake_stuck: has(4).then_some(true),
                ..FilmFaults::default()
            });
            let demand = if run {
                stillframe_controller::film::Demand::Run { speed_m_s: crate::rig::SPEED_M_S }
            } else {
                stillframe_controller::film::Demand::Rest
            };
            for _ in 0..ticks {
                rig.step(demand);
            }
            rig.transport.acknowledge();
            prop_assert!(!rig.plant.broken(), "torn at {} N", rig.tension_n.1);
            prop_assert!(rig.plant.ledger_residual_m().abs() < 1e-9);
        }
    }
}
