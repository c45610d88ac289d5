//! The sequencer alone, on streams of nonsense.

extern crate std;
use super::{ANY_SLIT, CameraSettings, Ending, Input, Outcome, Phase, Sequencer};
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

/// A strip camera with film that is always good, on from tick 0, its shutter open from tick `not_before` on.
fn on<'a>(tick: u32, not_before: u32, shutter_open: bool, film: &'a Status) -> Input<'a> {
    Input {
        tick,
        slit: ANY_SLIT,
        not_before,
        camera_commanded_on: true,
        cycle_ticks: 0,
        speed_step: 340,
        allowed: true,
        shutter_open,
        sweep_rad: 0.0,
        film,
    }
}

fn steady() -> Status {
    Status { state: State::Steady, valid: true, ..Status::default() }
}

/// Steps over the ticks with a shutter that obeys, as the light sensor shows it.
fn obeyed(sequencer: &mut Sequencer, ticks: core::ops::Range<u32>, mut open: [bool; 2]) -> bool {
    let film = steady();
    for tick in ticks {
        let edges = sequencer.step(&on(tick, 0, open[1], &film)).shutter;
        let next = edges.open_us.is_some() || open[0] && edges.close_us.is_none();
        open = [next, open[0]];
    }
    open[0]
}

#[test]
fn a_shutter_shut_from_outside_cuts_the_frame_short_and_opens_again_without_a_fault() {
    let settings = CameraSettings::default();
    let mut sequencer = Sequencer::new(&settings, &FilmSettings::default());
    assert!(obeyed(&mut sequencer, 0..50, [false; 2]));
    assert_eq!(sequencer.status().phase, Phase::Exposing);
    let mark = sequencer.shutter_is_shut(50, 0).expect("a frame was under way");
    assert_eq!((mark.outcome, mark.number, mark.ended_tick), (Outcome::CutShort, 1, 50));
    assert_eq!(sequencer.shutter_is_shut(51, 0), None, "once");
    assert!(obeyed(&mut sequencer, 52..52 + 4 * settings.shutter_ticks, [false; 2]));
    let status = sequencer.status();
    assert_eq!((status.phase, status.frame, status.cut_short), (Phase::Exposing, 2, 1));
    assert!(!status.shutter_fault);
}

#[test]
fn the_limit_of_a_camera_on_counts_from_its_command_and_not_from_the_film_that_runs_ahead() {
    let settings = CameraSettings { on_limit_ticks: 1_000, lead_ticks: 150, ..CameraSettings::default() };
    let film = steady();
    for (not_before, last) in [(150, 1_150), (0, 1_000), (90_000, 1_150)] {
        let mut sequencer = Sequencer::new(&settings, &FilmSettings::default());
        let ended = |sequencer: &Sequencer| sequencer.status().ending == Ending::TooLong;
        let mut open = [false; 2];
        for tick in 0..=last {
            let edges = sequencer.step(&on(tick, not_before, open[1], &film)).shutter;
            open = [edges.open_us.is_some() || open[0] && edges.close_us.is_none(), open[0]];
            assert!(!ended(&sequencer), "{not_before} {tick}");
        }
        sequencer.step(&on(last + 1, not_before, open[1], &film));
        assert!(ended(&sequencer), "{not_before}");
    }
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
                    slit: ANY_SLIT,
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
