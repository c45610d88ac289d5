//! Limits by simulation. Some four seconds of computing: three flights for each doubt.

use stillframe::design::attitude::{
    stress::{Bench, Doubt, limits},
    subject::Subject,
};

use super::rig;

#[test]
fn every_doubt_has_its_limit() {
    let loaded = rig::demonstration();
    let (settings, _) = stillframe::flight::settings::for_run(&loaded).expect("sound settings");
    let built = stillframe::flight::build::build(&loaded, 1).expect("a sound scenario");
    let subject = Subject::new(&loaded, &built, &settings);
    let jets = [0, 1, 2].map(|axis| subject.axes[axis].jets);
    let bench = Bench { loaded: &loaded, settings: &settings, seed: 1, jets: &jets };
    let found = limits(&bench, 1, &|| {}).expect("flown");
    assert_eq!(found.iter().map(|limit| limit.doubt).collect::<Vec<_>>(), Doubt::ALL);
    for limit in &found {
        // Mass properties are known to 5 % (common practice), so nothing may break there.
        assert!(limit.holds >= if limit.unit == "s" { 0.005 } else { 1.05 }, "{limit:?}");
        assert_eq!(limit.breaks.is_none(), limit.how.is_empty(), "{limit:?}");
        assert!(limit.breaks.is_none_or(|breaks| breaks > limit.holds), "{limit:?}");
    }
    // A horizon sensor 64 times noisier (3.2° a sample) cannot be flown with.
    let noise = found.iter().find(|limit| limit.doubt == Doubt::HorizonNoise).expect("a limit");
    assert!(noise.breaks.is_some(), "{noise:?}");
}
