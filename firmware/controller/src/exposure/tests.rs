//! The sequencer alone, on streams of nonsense.

extern crate std;
use super::{CameraSettings, Input, Sequencer};
use crate::film::Status;
use crate::film::{FilmSettings, State};
use proptest::prelude::*;

fn film() -> impl Strategy<Value = Status> {
    let states = prop_oneof![
        4 => Just(State::Steady), 2 => Just(State::Holding), 1 => Just(State::Braked),
        1 => Just(State::Advancing), 1 => Just(State::RunningUp), 1 => Just(State::Stopped),
    ];
    (states, any::<i32>(), prop::bool::weighted(0.8), any::<bool>(), prop::bool::weighted(0.02)).prop_map(
        |(state, metered_counts, valid, arrived, reserve_reached)| Status {
            state,
            metered_counts,
            valid,
            arrived,
            reserve_reached,
            ..Status::default()
        },
    )
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::default() })]

    /// Any film status, ticks that jump, commands that flicker: the shutter is told to shut as soon as
    /// the camera is off (at the latest when a framing exposure is over), and frame numbers have no
    /// gaps.
    #[test]
    fn the_shutter_never_stays_open(
        kind in 0_u32..3,
        exposure_us in 100_u32..=500_000,
        stream in prop::collection::vec(
            (film(), any::<u32>(), prop::bool::weighted(0.8), prop::bool::weighted(0.95), 0_u16..2000, 1_u32..80),
            1..40,
        ),
    ) {
        let settings = CameraSettings { kind, exposure_us, ..CameraSettings::default() };
        let mut sequencer = Sequencer::new(&settings, &FilmSettings::default());
        let (mut open, mut off_for, mut last_number) = (false, 0_u32, 0);
        for (film, start, on, allowed, speed_step, ticks) in stream {
            for tick in 0..ticks {
                let output = sequencer.step(&Input {
                    tick: start.wrapping_add(tick),
                    slit: crate::exposure::ANY_SLIT,
                    not_before: 0,
                    camera_commanded_on: on,
                    cycle_ticks: start,
                    speed_step,
                    allowed,
                    shutter_open: open,
                    // A sweep as it should be, or one whose sensor talks nonsense.
                    sweep_rad: if start % 2 == 0 { tick as f32 * 0.0105 - 0.5 } else { f32::from_bits(start ^ tick) },
                    film: &film,
                });
                let edges = output.shutter;
                prop_assert!(edges.open_us.is_none_or(|us| us < 10_000));
                prop_assert!(edges.close_us.is_none_or(|us| us < 10_000));
                open = match (edges.open_us, edges.close_us) {
                    (Some(opens), Some(closes)) => opens > closes,
                    (Some(_), None) => true,
                    (None, Some(_)) => false,
                    (None, None) => open,
                };
                off_for = if on && allowed { 0 } else { off_for.saturating_add(1) };
                let grace = if kind == 1 { exposure_us / 10_000 + 1 } else { 1 };
                prop_assert!(off_for < grace || !open);
                if let Some(mark) = output.frame_event {
                    prop_assert_eq!(mark.number, last_number + 1);
                    last_number = mark.number;
                }
            }
        }
    }
}
