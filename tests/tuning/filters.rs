//! Observer times proposed, against closed forms of the steady filter.

use stillframe::design::attitude::{filters::Filters, subject::Subject};

use super::rig;

fn demonstration() -> Subject {
    let loaded = rig::demonstration();
    let (settings, _) = stillframe::flight::settings::for_run(&loaded).expect("sound settings");
    let built = stillframe::flight::build::build(&loaded, 1).expect("a sound scenario");
    Subject::new(&loaded, &built, &settings)
}

#[test]
fn the_blending_time_is_the_scalar_filters() {
    // One angle that walks by N√t, seen with σ every T: the continuous Riccati equation gives the gain N/(σ√T) a
    // second, so a blending time of σ√T/N. Yaw, that is not known either, walks
    // into roll by n·T of it within that time, and sampling counts for a per cent.
    for times in [0.5, 1.0, 3.0] {
        let mut subject = demonstration();
        subject.horizon_noise_rad *= times;
        let filters = Filters::of(&subject).expect("a steady filter");
        let scalar_s = subject.horizon_noise_rad * 0.1_f64.sqrt() / subject.gyro_walk_rad_rts;
        let coupled = subject.orbital_rate_rad_s * scalar_s + 0.02;
        assert!((filters.tilt_time_s / scalar_s - 1.0).abs() < coupled, "{} for {scalar_s}", filters.tilt_time_s);
        // Its noise: √(N·σ·√T).
        let sigma = (subject.gyro_walk_rad_rts * subject.horizon_noise_rad * 0.1_f64.sqrt()).sqrt();
        assert!((filters.tilt_sigma_rad() / sigma - 1.0).abs() < coupled, "{}", filters.tilt_sigma_rad());
    }
}

#[test]
fn the_compass_is_as_slow_as_the_orbit() {
    // A yaw error shows as n·ψ against a roll gyro that walks by N: the balance of N²/n² against N² gives 1/n.
    let subject = demonstration();
    let filters = Filters::of(&subject).expect("a steady filter");
    let turn_s = 1.0 / subject.orbital_rate_rad_s;
    assert!((filters.yaw_time_s / turn_s - 1.0).abs() < 0.1, "{} for {turn_s}", filters.yaw_time_s);
}

#[test]
fn sensors_without_noise_have_no_steady_filter() {
    let mut subject = demonstration();
    subject.horizon_noise_rad = 0.0;
    assert!(Filters::of(&subject).is_err());
}
