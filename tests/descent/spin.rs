//! Spin averaging: the closed forms against Euler's equations integrated.

use stillframe::descent::retro::{Burn, integrated, mean_thrust, tip_rad};
use stillframe::scenario::parts::capsule::{Capsule, Retro};
use stillframe::world::Vec3;

use crate::{close, demo};

fn capsule(burn_s: f64) -> (Capsule, Burn) {
    let mut capsule = demo().scenario.capsule.expect("a capsule");
    capsule.retro = Retro {
        impulse_n_s: 2_000.0 * burn_s,
        burn_s,
        curve_share: vec![0.0, 1.0],
        curve_thrust: vec![1.0, 1.0],
        ..capsule.retro
    };
    let burn = Burn::new(&capsule.retro, 1.0);
    (capsule, burn)
}

const SPIN: f64 = 2.0 * std::f64::consts::PI;

/// The momentum vector of length I ω is pushed by M round a circle of radius M/ω: the middle lies M/(I ω²) off. For
/// 2 kN at 1 mm, 7 kg·m² and 60 rev/min that is 0.415°. Over 200 turns what the last, broken swing leaves is 1/(2π·200)
/// of the swing, whose size is 2.5 bends.
#[test]
fn the_mean_thrust_is_bent_by_the_momentum_vectors_circle() {
    let (capsule, burn) = capsule(200.0);
    let tip = tip_rad(2.0, 7.0, SPIN);
    close(tip.to_degrees(), 0.414_66, 1e-4);
    let mean = integrated(&capsule, &burn, SPIN, [0.001, 0.0]);
    // Thrust along z at x: the torque is along −y, and what is a quarter turn of spin ahead of that is +x.
    close(mean.x / mean.z, tip, 0.01);
    assert!(mean.y.abs() < 0.01 * tip, "{}", mean.y / tip);
    // Twice the spin, a quarter of the bend.
    let fast = integrated(&capsule, &burn, 2.0 * SPIN, [0.001, 0.0]);
    close(fast.x / mean.x, 0.25, 0.01);
}

/// Ten seconds, ten turns, the swing broken off in the middle of a turn: the closed mean counts it.
#[test]
fn the_closed_mean_is_the_integrated_one() {
    let (capsule, burn) = capsule(10.0);
    for offset_m in [[0.0005, 0.0], [0.0, -0.001], [0.0008, 0.0006]] {
        for spin in [SPIN, 0.6 * SPIN, 1.3 * SPIN] {
            let (closed, whole) =
                (mean_thrust(&capsule, &burn, spin, offset_m), integrated(&capsule, &burn, spin, offset_m));
            let tip = tip_rad(2.0 * 1e3 * offset_m[0].hypot(offset_m[1]), 7.0, spin);
            let miss = (closed - whole).xy().norm();
            println!(
                "{offset_m:?} {spin:.2}: bend {:.4}°, closed misses by {:.5}°",
                tip.to_degrees(),
                miss.to_degrees()
            );
            // Small angles: third order of a swing of up to 0.08 rad.
            assert!(miss < 0.02 * tip, "{closed:?} {whole:?}");
            // The loss is the mean over whole swings; a broken one leaves some of it out.
            assert!((closed.z - whole.z).abs() < 0.3 * (1.0 - whole.z) + 1e-6, "{closed:?} {whole:?}");
        }
    }
}

/// Without spin the same offset turns the capsule over: under a constant M/I the angle grows with the square of time,
/// and the mean thrust is a Fresnel integral. With ½ (M/I) T² = 20 rad the means of cos 20u² and sin 20u² over u from
/// 0 to 1 are 0.1626537545 and 0.1293760268 (power series, and a midpoint sum of 200,000 terms, in Python).
#[test]
fn without_spin_most_of_the_impulse_is_lost() {
    let (capsule, burn) = capsule(10.0);
    // M/I = 0.4 rad/s²: 2 kN at 1 mm on 5 kg·m².
    let mean = integrated(&capsule, &burn, 0.0, [0.001, 0.0]);
    close(mean.z, 0.162_653_754_5, 1e-3);
    close(mean.xy().norm(), 0.129_376_026_8, 1e-3);
    assert!(mean.norm() < 0.25);
    assert_eq!(mean_thrust(&capsule, &burn, 0.0, [0.001, 0.0]), mean, "slow spin is integrated");
    assert_eq!(mean_thrust(&capsule, &burn, 0.0, [0.0, 0.0]), Vec3::z());
}
