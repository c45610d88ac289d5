//! What a number of runs can say, against tables.

use stillframe::descent::confidence::{ellipse_sigmas, quantile, share_below_largest, share_bounds};

use crate::{close, near};

/// 3 of 100 at 95 %: 0.006229971538306 to 0.08517605297428 (scipy 1.17.1 and statsmodels 0.15.0); none of 1000, one
/// side at 95 %: 1 − 0.05^(1/1000) = 0.002991249545.
#[test]
fn bounds_of_a_share() {
    let (low, high) = share_bounds(3, 100, 0.95);
    close(low, 0.006_229_971_538_306, 1e-8);
    close(high, 0.085_176_052_974_28, 1e-8);
    let (low, high) = share_bounds(0, 1000, 0.90);
    assert_eq!(low, 0.0);
    close(high, 0.002_991_249_545_095, 1e-8);
    let (low, high) = share_bounds(1000, 1000, 0.90);
    assert_eq!(high, 1.0);
    close(1.0 - low, 0.002_991_249_545_095, 1e-8);
}

/// The circle that holds 0.9973 of a round two-dimensional normal law: 3.439332349736 sigmas.
#[test]
fn radius_of_a_round_law() {
    close(ellipse_sigmas(0.997_3), 3.439_332_349_736, 1e-12);
}

/// 0.9973 at 90 % takes 852 runs without a failure, at 95 % 1109 (closed form, rounded up).
#[test]
fn the_largest_of_so_many_runs() {
    assert!(share_below_largest(852, 0.90) >= 0.9973 && share_below_largest(851, 0.90) < 0.9973);
    assert!(share_below_largest(1109, 0.95) >= 0.9973 && share_below_largest(1108, 0.95) < 0.9973);
}

/// The median of 101 values, by the binomial law: ranks 41 and 61 bound it at 95 % (common tables; e.g. W. J. Conover,
/// *Practical Nonparametric Statistics*: ½n ± 1.96 √n/2 for large n, 50.5 ± 9.85).
#[test]
fn a_quantile_and_its_bounds() {
    let sorted: Vec<f64> = (1..=101).map(f64::from).collect();
    let median = quantile(&sorted, 0.5, 0.95).expect("values");
    near(median.value, 51.0, 0.0);
    near(median.low.expect("a bound"), 41.0, 1.0);
    near(median.high.expect("a bound"), 61.0, 1.0);
    assert!(quantile(&[], 0.5, 0.95).is_none());
}

/// The largest of 101 values lies above their law's 0.99 quantile with a chance of 1 − 0.99¹⁰¹ = 64 %, the largest of 1000
/// with all but 0.00004: the one is no 95 % bound, the other has a rank for it.
#[test]
fn few_values_bound_no_far_quantile() {
    let of = |n: u32, share: f64| quantile(&(1..=n).map(f64::from).collect::<Vec<_>>(), share, 0.95).expect("values");
    let far = of(101, 0.99);
    assert!(far.high.is_none() && far.low.is_some() && far.value == 100.0, "{far:?}");
    let near_the_start = of(101, 0.01);
    assert!(near_the_start.low.is_none() && near_the_start.high.is_some(), "{near_the_start:?}");
    let many = of(1000, 0.99);
    assert!(many.high.is_some_and(|high| high < 1000.0), "{many:?}");
    // One value says nothing of where half of all lie.
    let one = of(1, 0.5);
    assert_eq!((one.value, one.low, one.high), (1.0, None, None));
}
