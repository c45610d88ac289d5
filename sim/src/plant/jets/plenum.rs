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

use super::feed::Phase;

/// Below this share a shut plenum counts as empty; the rest comes out at once. So little of it, and it does not matter
/// where steps are cut.
const EMPTY: f64 = 1e-13;

/// What a stretch of time brought.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Breath {
    /// ∫c dt, s: impulse over rated thrust.
    pub impulse_s: f64,
    /// ∫c·(end − t) dt, s²: what the impulse has turned by the end, over rated thrust.
    pub lever_s2: f64,
}

impl Breath {
    /// `constant + sum of size·e^(−t·per_s)` over `dt_s`.
    fn of(constant: f64, decays: &[(f64, f64)], dt_s: f64) -> Self {
        let mut breath = Self { impulse_s: constant * dt_s, lever_s2: 0.5 * constant * dt_s * dt_s };
        for &(size, per_s) in decays {
            let (tau_s, gone) = (1.0 / per_s, -(-dt_s * per_s).exp_m1());
            breath.impulse_s += size * tau_s * gone;
            breath.lever_s2 += size * tau_s * late(dt_s, tau_s, gone);
        }
        breath
    }

    /// This, and then `next` of `dt_s`.
    pub fn then(self, next: Self, dt_s: f64) -> Self {
        Self {
            impulse_s: self.impulse_s + next.impulse_s,
            lever_s2: self.lever_s2 + self.impulse_s * dt_s + next.lever_s2,
        }
    }
}

/// Lets a plenum at pressure `share` fill with time constant `tau_s` (0: at once), its valve open to `before`.
pub fn fill(share: &mut f64, before: &Phase, tau_s: f64) -> Breath {
    let Phase { dt_s, steady, off, per_s } = *before;
    if tau_s <= 0.0 {
        return Breath::of(steady, &[(off, per_s)], dt_s);
    }
    // A line as fast as the plenum would divide by nothing; a millionth faster is as good.
    let lag = if (1.0 - per_s * tau_s).abs() > 1e-6 { 1.0 - per_s * tau_s } else { 1e-6 };
    let forced = off / lag;
    let own = *share - steady - forced;
    *share = steady + forced * (-dt_s * per_s).exp() + own * (-dt_s / tau_s).exp();
    Breath::of(steady, &[(forced, per_s), (own, 1.0 / tau_s)], dt_s)
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

    fn steady(share: f64, dt_s: f64) -> Phase {
        Phase { dt_s, steady: share, off: 0.0, per_s: 1.0 }
    }

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
            let rise = fill(&mut share, &steady(0.9, dt_s), TAU_S);
            close(rise, by_sum(|t| 0.9 - 0.6 * (-t / TAU_S).exp(), dt_s));
            let mut share = 0.8;
            let decay = empty(&mut share, TAU_S, dt_s);
            close(decay, by_sum(|t| 0.8 * (-t / TAU_S).exp(), dt_s));
        }
    }

    /// c' = (p − c)/τ behind a line that falls, in small steps by the midpoint rule.
    #[test]
    fn behind_a_falling_line_the_plenum_obeys_its_differential_equation() {
        for per_s in [8.0, 300.0, 1.0 / TAU_S] {
            let (mut share, mut sum, steps) = (0.1, 0.0, 100_000);
            let dt_s = 0.01 / f64::from(steps);
            for k in 0..steps {
                let line = |t: f64| 0.9 + 0.1 * (-per_s * t).exp();
                let t = f64::from(k) * dt_s;
                let middle = share + 0.5 * dt_s * (line(t) - share) / TAU_S;
                sum += middle * dt_s;
                share += dt_s * (line(t + 0.5 * dt_s) - middle) / TAU_S;
            }
            let mut found = 0.1;
            let breath = fill(&mut found, &Phase { dt_s: 0.01, steady: 0.9, off: 0.1, per_s }, TAU_S);
            assert!((found - share).abs() < 1e-7 && (breath.impulse_s - sum).abs() < 1e-9, "{per_s}: {found} {share}");
        }
    }

    #[test]
    fn a_stretch_may_be_cut_anywhere() {
        let line = |dt_s, off| Phase { dt_s, steady: 0.97, off, per_s: 50.0 };
        let (mut whole, mut cut) = (0.2, 0.2);
        let once = fill(&mut whole, &line(7e-3, 0.05), TAU_S);
        let first = fill(&mut cut, &line(2.5e-3, 0.05), TAU_S);
        let second = fill(&mut cut, &line(4.5e-3, 0.05 * (-50.0_f64 * 2.5e-3).exp()), TAU_S);
        assert!((whole - cut).abs() < 1e-15);
        let both = first.then(second, 4.5e-3);
        assert!((once.impulse_s - both.impulse_s).abs() < 1e-17 && (once.lever_s2 - both.lever_s2).abs() < 1e-18);
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
            let rise = fill(&mut share, &steady(1.0, open_s), TAU_S).impulse_s;
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
