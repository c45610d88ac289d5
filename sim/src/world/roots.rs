//! One-dimensional searches on smooth functions of time.

/// A root of `f` in [`a`, `b`], where `f` changes sign, to `tolerance` in the argument.
///
/// Illinois variant of false position with bisection as a fallback, so that it always ends.
pub(crate) fn crossing(mut f: impl FnMut(f64) -> f64, a: f64, b: f64, tolerance: f64) -> f64 {
    let (mut a, mut b) = (a, b);
    let (mut fa, mut fb) = (f(a), f(b));
    for pass in 0..100 {
        if (b - a).abs() <= tolerance || fa == fb {
            break;
        }
        let secant = (a * fb - b * fa) / (fb - fa);
        // Every third pass halves the bracket, which bounds the worst case.
        let m = if pass % 3 == 2 { 0.5 * (a + b) } else { secant };
        let fm = f(m);
        if fm == 0.0 {
            return m;
        }
        if (fm > 0.0) == (fb > 0.0) {
            (b, fb) = (m, fm);
            fa *= 0.5;
        } else {
            (a, fa) = (m, fm);
            fb *= 0.5;
        }
    }
    0.5 * (a + b)
}

/// Where `f` is greatest in [`a`, `b`], assuming one maximum, to `tolerance` in the argument.
pub(crate) fn maximum(mut f: impl FnMut(f64) -> f64, a: f64, b: f64, tolerance: f64) -> f64 {
    const GOLDEN: f64 = 0.618_033_988_749_894_8;
    let (mut a, mut b) = (a, b);
    let (mut x1, mut x2) = (b - GOLDEN * (b - a), a + GOLDEN * (b - a));
    let (mut f1, mut f2) = (f(x1), f(x2));
    while (b - a) > tolerance {
        if f1 < f2 {
            (a, x1, f1) = (x1, x2, f2);
            x2 = a + GOLDEN * (b - a);
            f2 = f(x2);
        } else {
            (b, x2, f2) = (x2, x1, f1);
            x1 = b - GOLDEN * (b - a);
            f1 = f(x1);
        }
    }
    0.5 * (a + b)
}
