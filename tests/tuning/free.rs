//! The undisturbed limit cycle of the second vehicle, whose gyros are noisy enough to show a disturbance that is not
//! there.

use stillframe::{
    design::attitude::{
        measure::{Goals, measure},
        predict::predict,
        propose::propose,
        subject::Subject,
        trial::Trial,
    },
    flight::settings::for_run,
    scenario::{BuiltIn, Loaded, read},
};
use stillframe_controller::settings::Settings;

/// Measured from five minutes after fine hold on: four hours.
const TIME_S: f64 = 16_000.0;

fn dunlin() -> Loaded {
    let text = include_str!("../../sim/scenarios/dunlin.toml");
    read("dunlin.toml", text, &BuiltIn(&[])).expect("a sound scenario")
}

/// Gas of each axis over the closed form of the least pulse at the drift seen.
fn ratios(loaded: &Loaded, subject: &Subject, settings: &Settings) -> [f64; 3] {
    let trial = Trial::undisturbed(loaded, settings, 1, TIME_S);
    let flown = measure(&trial, &subject.jets(), &Goals::default(), 0.0, TIME_S).expect("it flies");
    let prediction = predict(subject, settings, [0.0; 3]);
    [0, 1, 2].map(|axis| {
        let form_kg_s = prediction[axis].free.gas_at_drift_kg_s(flown.axes[axis].rate_mean_deg_s.to_radians());
        flown.axes[axis].gas_kg / flown.time_s / form_kg_s
    })
}

#[test]
fn pulses_are_the_least_where_nothing_disturbs_and_noise_is_known_for_what_it_is() {
    let loaded = dunlin();
    let (in_hand, _) = for_run(&loaded).expect("its settings are sound");
    let built = Trial::new(&loaded, &in_hand, 1).built().expect("it builds");
    let subject = Subject::new(&loaded, &built, &in_hand);
    let (proposed, _) = propose(&subject, &in_hand).expect("its noise has a filter");
    // One sigma by hand: 0.04 °/√h are 6.7e-4 °/√s; over √(2T) and the learning time.
    let observer = &proposed.observer;
    let by_hand = 3.0 * 0.04 / 60.0 / (2.0 * observer.rate_time_s).sqrt() / observer.disturbance_time_s;
    assert!((observer.disturbance_doubt_deg_s2 / by_hand - 1.0).abs() < 0.02, "{observer:?} {by_hand}");
    let known = ratios(&loaded, &subject, &proposed);
    for ratio in known {
        // A tenth is asked, and the study says where it is missed. Noise of the line (a fiftieth of a degree of a
        // deadband of a tenth or two) brings crossings early, and few pulses in four hours scatter: 1.21, 1.19 and 1.32
        // were seen before free pulses were cut to the least.
        assert!(ratio > 0.8 && ratio < 1.35, "{known:?}");
    }
    // With noise taken for a disturbance, pulses are longer than the least.
    let mut believed = proposed;
    believed.observer.disturbance_doubt_deg_s2 = 0.0;
    let believed = ratios(&loaded, &subject, &believed);
    assert!(believed[1] > known[1], "{believed:?} {known:?}");
}
