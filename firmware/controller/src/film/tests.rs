//! The transport alone, on streams of nonsense.

extern crate std;
use super::{Demand, Fault, FilmSettings, KeptFilm, State, Transport};
use crate::io::FilmSample;
use crate::settings_table::Group;
use proptest::prelude::*;

fn word() -> impl Strategy<Value = u32> {
    prop_oneof![Just(0), Just(u32::MAX), Just(i32::MAX as u32), Just(1 << 31), any::<u32>(), 0_u32..200]
}

fn float() -> impl Strategy<Value = f32> {
    prop_oneof![4 => -0.05_f32..0.05, 1 => Just(f32::NAN), 1 => Just(f32::INFINITY), 1 => any::<f32>()]
}

fn demand() -> impl Strategy<Value = Demand> {
    prop_oneof![
        2 => Just(Demand::Rest),
        2 => Just(Demand::Hold),
        4 => (0.0_f32..0.2).prop_map(|speed_m_s| Demand::Run { speed_m_s }),
        1 => float().prop_map(|speed_m_s| Demand::Run { speed_m_s }),
        3 => Just(Demand::Advance { length_m: 0.12 }),
        1 => float().prop_map(|length_m| Demand::Advance { length_m }),
    ]
}

fn sample() -> impl Strategy<Value = FilmSample> {
    (word(), word(), word(), float(), float(), float(), any::<bool>()).prop_map(
        |(roller_counts, supply_counts, take_up_counts, supply_arm_m, take_up_arm_m, roller_current_a, open)| {
            FilmSample {
                roller_counts,
                supply_counts,
                take_up_counts,
                supply_arm_m,
                take_up_arm_m,
                roller_current_a,
                shutter_open: open,
                sweep_rad: 0.0,
            }
        },
    )
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::default() })]

    /// Any gauges, any demands, any settings inside their table: no panic, no duty outside −1…1.
    /// Run with overflow checks this also proves the integer arithmetic.
    #[test]
    fn no_stream_drives_a_motor_out_of_range(
        shares in prop::collection::vec(prop_oneof![3 => Just(None), 1 => (0.0_f64..=1.0).prop_map(Some)], FilmSettings::FIELDS.len()),
        stream in prop::collection::vec((sample(), demand(), 1_usize..40, 0_u32..300), 1..60),
    ) {
        let mut settings = FilmSettings::default();
        for (index, (field, share)) in FilmSettings::FIELDS.iter().zip(shares).enumerate() {
            if let Some(share) = share {
                let value = field.min + share * (field.max - field.min);
                let _ = settings.set(index, value) || settings.set(index, libm::round(value));
            }
        }
        let mut transport = Transport::new(&settings);
        for (mut sample, demand, ticks, counts) in stream {
            for _ in 0..ticks {
                // Film that goes on between the lies lets the states be reached.
                sample.roller_counts = sample.roller_counts.wrapping_add(counts);
                let drive = transport.step(&sample, demand);
                for duty in [drive.roller_duty, drive.supply_duty, drive.take_up_duty] {
                    prop_assert!((-1.0..=1.0).contains(&duty), "{drive:?}");
                    prop_assert!(!drive.brake || duty == 0.0, "drives against its brakes: {drive:?}");
                }
            }
        }
    }
}

#[test]
fn quiet_steps_change_nothing_and_one_count_ends_them() {
    let mut transport = Transport::new(&FilmSettings::default());
    let mut sample = FilmSample::default();
    for _ in 0..100 {
        transport.step(&sample, Demand::Rest);
    }
    let before = transport.clone();
    transport.step(&sample, Demand::Rest);
    assert_eq!(before, transport);
    sample.roller_counts = 7;
    transport.step(&sample, Demand::Rest);
    assert_eq!(transport.status().metered_counts, 7);
    transport.step(&sample, Demand::Hold);
    assert_eq!(transport.status().state, State::Readying);
}

/// The transport as it wakes with `kept`.
fn woken(kept: KeptFilm) -> Transport {
    Transport::wake(&FilmSettings::default(), &kept)
}

#[test]
fn film_that_a_fault_had_stopped_is_stopped_after_a_reset_until_the_ground_has_looked() {
    let sample = FilmSample::default();
    for fault in [Fault::Broken, Fault::Stuck, Fault::Runaway, Fault::Gauges] {
        let kept = KeptFilm { state: State::Stopped, fault: Some(fault), retries: 1, ..KeptFilm::default() };
        let mut transport = woken(kept);
        assert_eq!(transport.to_keep(), kept);
        for _ in 0..200 {
            assert!(transport.step(&sample, Demand::Run { speed_m_s: 0.03 }).brake);
        }
        assert_eq!((transport.status().state, transport.status().fault), (State::Stopped, Some(fault)));
        transport.acknowledge();
        transport.step(&sample, Demand::Run { speed_m_s: 0.03 });
        assert_eq!((transport.status().state, transport.status().fault), (State::Readying, None));
    }
    // Film that waited for its one new attempt gets that one, not two.
    let waited = KeptFilm { state: State::Resting, fault: Some(Fault::Stuck), ..KeptFilm::default() };
    let mut before = woken(KeptFilm::default());
    before.enter(State::Resting);
    assert_eq!((before.to_keep().state, before.to_keep().retries), (State::Resting, 1));
    assert_eq!(woken(waited).status().state, State::Braked);
    // A loop that ran over is put in order after the reset, whether that had been begun or not.
    for (state, retries) in [(State::Resting, 0), (State::Readying, 1)] {
        let kept = KeptFilm { state, fault: Some(Fault::Overrun), retries, ..KeptFilm::default() };
        let mut transport = woken(kept);
        assert_eq!((transport.status().state, transport.to_keep().retries), (State::Resting, retries));
        let settings = FilmSettings::default();
        let full = FilmSample { supply_arm_m: -settings.arm_travel_m, ..sample };
        let mut rewound = false;
        for _ in 0..settings.retry_wait_ticks + 50 {
            transport.step(&full, Demand::Rest);
            rewound |= transport.status().state == State::Readying;
        }
        assert!(rewound, "{state:?}: {:?}", transport.status());
    }
    // A supply that was seen to be down to its core is so still.
    let mut empty = woken(KeptFilm { supply_empty: true, ..KeptFilm::default() });
    empty.step(&sample, Demand::Run { speed_m_s: 0.03 });
    assert!(empty.status().reserve_reached && empty.status().state == State::Braked);
}

#[test]
fn from_the_cut_on_a_reset_turns_nothing_back() {
    let sample = FilmSample::default();
    for state in [State::Cutting, State::Tailing, State::Sealing, State::Secured] {
        let mut transport = woken(KeptFilm { state, led: true, ..KeptFilm::default() });
        let (mut cut, mut sealed) = (false, false);
        // Whatever is asked.
        for _ in 0..7_000 {
            let drive = transport.step(&sample, Demand::Run { speed_m_s: 0.03 });
            assert!(drive.roller_duty <= 0.0 && drive.supply_duty <= 0.0, "{state:?}: no film goes on");
            (cut, sealed) = (cut | drive.cut, sealed | drive.seal);
        }
        assert_eq!(transport.status().state, State::Secured, "{state:?}");
        assert_eq!(cut, matches!(state, State::Cutting | State::Tailing), "{state:?}");
        assert_eq!(sealed, state != State::Secured, "{state:?}");
    }
    // Film that had been led is cut where it lies, and not led once more.
    let mut transport = woken(KeptFilm { led: true, ..KeptFilm::default() });
    transport.step(&sample, Demand::Secure);
    assert_eq!(transport.status().state, State::Cutting);
}
