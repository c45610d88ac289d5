//! The plenum between a jet's valve and its throat: thrust that rises and decays.
//!
//! Filling: the valve's seat is sonic too, so that it passes the same flow whatever stands behind it, and the walls
//! keep the gas at its temperature. Then the pressure c, as a share of what the jet is rated at, follows
//! c' = (p − c)/τ, with p the pressure before the valve and τ the gas held over the flow
//! ([`crate::nitrogen::nozzle::filling_time_s`]).
//!
//! Emptying: the valve is shut and the gas left in the plenum cools as it expands. Without heat from the walls its
//! temperature goes with the mass left to the power γ − 1, so that the whole of it gives only 2/(γ+1) = 83.3 % of the
//! specific impulse: that share is η. The decay is carried as an exponential of time constant η·τ and specific impulse
//! η·Isp: mass and impulse are those of the isentropic emptying, (1 + (γ−1)/2·t/τ)^(−2γ/(γ−1)); the middle of the
//! decay comes 0.17·τ early.
//!
//! A pulse of length t then gives F·(t − (1 − η)·τ·(1 − e^(−t/τ))) and spends F·t/(Isp·g0): the specific impulse of
//! short pulses falls, to η as t falls to nothing.

/// Below this share a shut plenum counts as empty; the rest comes out at once.
const EMPTY: f64 = 1e-6;

/// What a stretch of time brought.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Breath {
    /// ∫c dt, s: impulse over rated thrust.
    pub impulse_s: f64,
    /// ∫c·(end − t) dt, s²: what the impulse has turned by the end, over rated thrust.
    pub lever_s2: f64,
}

/// Lets a plenum at pressure `share` fill from pressure `before` with time constant `tau_s` (0: at once), its valve
/// open for `dt_s`.
pub fn fill(share: &mut f64, before: f64, tau_s: f64, dt_s: f64) -> Breath {
    let steady = Breath { impulse_s: before * dt_s, lever_s2: 0.5 * before * dt_s * dt_s };
    if tau_s <= 0.0 {
        return steady;
    }
    let missing = *share - before;
    let gone = -(-dt_s / tau_s).exp_m1();
    *share = before + missing * (1.0 - gone);
    Breath {
        impulse_s: steady.impulse_s + missing * tau_s * gone,
        lever_s2: steady.lever_s2 + missing * tau_s * late(dt_s, tau_s, gone),
    }
}

/// Lets a plenum at pressure `share` empty with time constant `tau_s` for `dt_s`, its valve shut.
pub fn empty(share: &mut f64, tau_s: f64, dt_s: f64) -> Breath {
    let start = *share;
    let gone = -(-dt_s / tau_s).exp_m1();
    let mut breath = Breath { impulse_s: start * tau_s * gone, lever_s2: start * tau_s * late(dt_s, tau_s, gone) };
    *share = start * (1.0 - gone);
    if *share < EMPTY {
        breath.impulse_s += *share * tau_s;
        *share = 0.0;
    }
    breath
}

/// dt − τ·(1 − e^(−dt/τ)), by its series where the difference would round away.
fn late(dt_s: f64, tau_s: f64, gone: f64) -> f64 {
    let x = dt_s / tau_s;
    if x < 1e-3 { tau_s * x * x * (0.5 - x * (1.0 / 6.0 - x * (1.0 / 24.0))) } else { dt_s - tau_s * gone }
}

/// Impulse over rated thrust of one whole pulse of `open_s` at rated pressure, s, decay included.
pub fn pulse_s(open_s: f64, tau_s: f64, tail_share: f64) -> f64 {
    if tau_s <= 0.0 { open_s } else { open_s + (1.0 - tail_share) * tau_s * (-open_s / tau_s).exp_m1() }
}

#[cfg(test)]
mod tests {
    use super::*;

    const TAU_S: f64 = 2e-3;
    const TAIL: f64 = 2.0 / 2.4;

    /// ∫ and ∫·(end − t) of a function by Simpson's rule on a fine grid.
    fn by_sum(of: impl Fn(f64) -> f64, dt_s: f64) -> Breath {
        let (steps, mut sum) = (20_000, Breath::default());
        for k in 0..=steps {
            let weight = if k == 0 || k == steps { 1.0 } else { [2.0, 4.0][k % 2] };
            let t = dt_s * k as f64 / f64::from(steps as u32);
            let part = weight * of(t) * dt_s / f64::from(steps as u32) / 3.0;
            sum.impulse_s += part;
            sum.lever_s2 += part * (dt_s - t);
        }
        sum
    }

    fn close(a: Breath, b: Breath) {
        assert!((a.impulse_s / b.impulse_s - 1.0).abs() < 1e-9, "{a:?} {b:?}");
        assert!((a.lever_s2 / b.lever_s2 - 1.0).abs() < 1e-9, "{a:?} {b:?}");
    }

    #[test]
    fn impulse_and_centroid_are_those_of_the_exponentials() {
        for dt_s in [1e-7, 3e-4, 5e-3, 0.02] {
            let mut share = 0.3;
            let rise = fill(&mut share, 0.9, TAU_S, dt_s);
            close(rise, by_sum(|t| 0.9 - 0.6 * (-t / TAU_S).exp(), dt_s));
            let mut share = 0.8;
            let decay = empty(&mut share, TAU_S, dt_s);
            close(decay, by_sum(|t| 0.8 * (-t / TAU_S).exp(), dt_s));
        }
    }

    #[test]
    fn a_stretch_may_be_cut_anywhere() {
        let (mut whole, mut cut) = (0.2, 0.2);
        let once = fill(&mut whole, 1.0, TAU_S, 7e-3);
        let first = fill(&mut cut, 1.0, TAU_S, 2.5e-3);
        let second = fill(&mut cut, 1.0, TAU_S, 4.5e-3);
        assert!((whole - cut).abs() < 1e-15);
        assert!((once.impulse_s - first.impulse_s - second.impulse_s).abs() < 1e-17);
        assert!((once.lever_s2 - first.lever_s2 - second.lever_s2 - 4.5e-3 * first.impulse_s).abs() < 1e-18);
    }

    /// The isentropic emptying that the tail stands for, integrated: impulse ∫c dt and mass ∫c/√T dt.
    #[test]
    fn the_tail_carries_the_mass_and_impulse_of_an_isentropic_emptying() {
        let pressure = |t: f64| (1.0 + 0.2 * t / TAU_S).powi(-7);
        let flow = |t: f64| pressure(t) / (pressure(t).powf(0.4 / 1.4)).sqrt();
        let (impulse, mass) = (by_sum(pressure, 0.2).impulse_s, by_sum(flow, 0.2).impulse_s);
        // The grid's 10 µs cost 1e-7; what has not come out in 100 τ is below 1e-6.
        assert!((impulse / (TAIL * TAU_S) - 1.0).abs() < 1e-5, "{impulse}");
        assert!((mass / TAU_S - 1.0).abs() < 1e-5, "{mass}");
        let mut share = 1.0;
        assert!((empty(&mut share, TAIL * TAU_S, 0.1).impulse_s / impulse - 1.0).abs() < 1e-5);
    }

    #[test]
    fn short_pulses_deliver_less_specific_impulse_and_a_jet_without_plenum_loses_nothing() {
        for open_s in [1e-4, 2e-3, 0.01, 0.02, 1.0] {
            let mut share = 0.0;
            let rise = fill(&mut share, 1.0, TAU_S, open_s).impulse_s;
            let whole = rise + empty(&mut share, TAIL * TAU_S, 1.0).impulse_s;
            assert!((pulse_s(open_s, TAU_S, TAIL) / whole - 1.0).abs() < 1e-12);
        }
        let share = |open_s: f64| pulse_s(open_s, TAU_S, TAIL) / open_s;
        // By hand: 1 − (1/6)·(2/20)·(1 − e⁻¹⁰), and at nothing 5/6.
        assert!((share(0.02) - 0.983_334).abs() < 1e-6 && (share(1e-6) - TAIL).abs() < 1e-4);
        assert!(share(0.002) < share(0.01) && share(0.01) < share(0.02));
        assert_eq!(pulse_s(0.02, 0.0, TAIL), 0.02);
        assert!((pulse_s(0.02, TAU_S, 1.0) - 0.02).abs() < 1e-18, "a warm tail loses nothing");
    }
}
