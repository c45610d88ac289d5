use super::*;

const N: u64 = 1_000_000;

fn moments(draws: impl Iterator<Item = f64>) -> [f64; 4] {
    let sums = draws.fold([0.0; 4], |mut sums, x| {
        let mut power = 1.0;
        for sum in &mut sums {
            power *= x;
            *sum += power;
        }
        sums
    });
    sums.map(|s| s / N as f64)
}

/// Normal moments 0, 1, 0, 3 within five standard errors, √(1, 2, 15, 96)/√N: the fixed seed makes
/// this one trial, which a true normal source fails with a chance of 2e-6.
#[track_caller]
fn assert_normal(draws: impl Iterator<Item = f64>) {
    let [m1, m2, m3, m4] = moments(draws);
    let five = 5.0 / (N as f64).sqrt();
    assert!(m1.abs() < five, "mean {m1}");
    assert!((m2 - 1.0).abs() < five * 2.0_f64.sqrt(), "variance {m2}");
    assert!(m3.abs() < five * 15.0_f64.sqrt(), "third moment {m3}");
    assert!((m4 - 3.0).abs() < five * 96.0_f64.sqrt(), "fourth moment {m4}");
}

#[track_caller]
fn assert_uncorrelated(pairs: impl Iterator<Item = (f64, f64)>) {
    let r = pairs.map(|(a, b)| a * b).sum::<f64>() / N as f64;
    assert!(r.abs() < 5.0 / (N as f64).sqrt(), "correlation {r}");
}

#[test]
fn normal_draws_have_normal_moments() {
    let noise = NoiseSource::new(1, 0, "gyro", 0);
    assert_normal((0..N).map(|k| noise.gaussian(k)));
    for i in 0..3 {
        assert_normal((0..N).map(|k| noise.gaussian3(k)[i]));
    }
}

#[test]
fn tails_are_as_heavy_as_they_should_be() {
    // P(|x| > 3) = 2.6998e-3 (tables of the normal integral); five binomial standard errors.
    let noise = NoiseSource::new(2, 0, "horizon", 1);
    let beyond = (0..N).filter(|&k| noise.gaussian(k).abs() > 3.0).count() as f64;
    let expected = 2.699_8e-3 * N as f64;
    assert!((beyond - expected).abs() < 5.0 * expected.sqrt(), "{beyond} beyond three sigma");
}

#[test]
fn uniform_draws_fill_the_interval_evenly() {
    let noise = NoiseSource::new(3, 0, "lottery", 0);
    assert_even((0..N).map(|k| noise.uniform(k)));
}

#[test]
fn pairs_of_normal_draws_point_evenly_all_round() {
    let noise = NoiseSource::new(4, 0, "gyro", 0);
    assert_even((0..N).map(|k| {
        let [x, y, _] = noise.gaussian3(k);
        0.5 + 0.5 * y.atan2(x) / std::f64::consts::PI
    }));
}

/// Chi-square with 99 degrees of freedom: 177.6 is passed less than once in a hundred thousand.
#[track_caller]
fn assert_even(draws: impl Iterator<Item = f64>) {
    let mut bins = [0_u32; 100];
    for u in draws {
        assert!(u > 0.0 && u < 1.0);
        bins[(u * 100.0) as usize] += 1;
    }
    let expected = N as f64 / 100.0;
    let chi2: f64 = bins.iter().map(|&b| (f64::from(b) - expected).powi(2) / expected).sum();
    assert!(chi2 < 177.6, "chi-square {chi2}");
}

#[test]
fn streams_that_differ_in_anything_are_uncorrelated() {
    let base = NoiseSource::new(1, 0, "gyro", 0);
    let others = [
        NoiseSource::new(2, 0, "gyro", 0),
        NoiseSource::new(1, 1, "gyro", 0),
        NoiseSource::new(1, 0, "horizon", 0),
        NoiseSource::new(1, 0, "gyro", 1),
    ];
    for other in others {
        assert_uncorrelated((0..N).map(|k| (base.gaussian(k), other.gaussian(k))));
    }
    assert_uncorrelated((0..N).map(|k| (base.gaussian(k), base.gaussian(k + 1))));
    for (i, j) in [(0, 1), (0, 2), (1, 2)] {
        assert_uncorrelated((0..N).map(|k| {
            let draws = base.gaussian3(k);
            (draws[i], draws[j])
        }));
    }
}

#[test]
fn a_draw_does_not_depend_on_what_was_drawn_before() {
    let noise = NoiseSource::new(7, 3, "gyro", 2);
    let forward: Vec<_> = (0..100).map(|k| noise.gaussian(k)).collect();
    let fresh = NoiseSource::new(7, 3, "gyro", 2);
    for k in (0..100).rev().filter(|k| k % 3 != 0) {
        assert_eq!(fresh.gaussian(k), forward[k as usize]);
    }
}

#[test]
fn the_words_are_those_of_the_published_generator() {
    // Known answer of Random123, `philox4x32-10` on ctr = key = 0: the hash of the crate's own bits.
    assert_eq!(philox4x32_10([0; 4], [0; 2]), [0x6627_e8d5, 0xe169_c58d, 0xbc57_ac4c, 0x9b00_dbd8]);
}

/// A change here changes the noise of every recorded run.
#[test]
fn golden_draws() {
    let noise = NoiseSource::new(20, 4, "gyro", 0);
    let draws = [0, 1, u64::MAX].map(|k| noise.gaussian3(k));
    let golden = [
        [-0.37396494705819827, -1.128488915268117, -2.343123119309802],
        [-1.0174956834402118, 0.73944031515559, -0.5703031002510399],
        [-0.46352162394264956, 0.7287928820455467, -1.3017931957162023],
    ];
    assert_eq!(draws, golden);
}
