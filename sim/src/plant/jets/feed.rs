//! Gas on its way from the tank to the valves: regulator or blowdown, latch valves, lines.
//!
//! Pressures are shares of the pressure at which the jets have their rated thrust; flows are kg/s at that pressure.
//!
//! *Regulator.* It opens as the pressure behind it falls: p = set − slope·flow. Without flow it seats at a higher
//! pressure, lock-up, and passes nothing until the line has fallen to its set point. Its friction makes the set point
//! differ by the hysteresis, lower while the flow grows and higher while it falls. It cannot give more than the tank
//! has. *Blowdown.* The lines stand at the tank's pressure.
//!
//! *Lines.* Each bank has one behind its latch, whose gas is kept at one temperature by its walls. With the latch shut
//! what is trapped goes on feeding the jets: p' = −p·C/m, with C the flow of the open jets and m the gas held. With the
//! latch open and the regulator passing gas, p' = ((set − p)/slope − C·p)/m. Both are exponentials, taken in closed
//! form. A line without volume stands where the regulator puts it.

use stillframe_controller::io::BANKS;

/// Below this share a trapped line counts as empty: 1e-13 kg.
const EMPTY: f64 = 1e-9;
/// Closer than this share to lock-up a line counts as settled. So close, it does not matter where steps are cut.
const SETTLED: f64 = 1e-13;

/// Where the jets' pressure comes from.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Scheme {
    /// Always the rated pressure.
    #[default]
    Constant,
    /// A regulator.
    Regulator,
    /// The tank itself.
    Blowdown,
}

/// The feed as built.
#[derive(Clone, Debug, PartialEq)]
pub struct FeedParameters {
    /// Where the pressure comes from.
    pub scheme: Scheme,
    /// Pressure at which the jets have their rated thrust, Pa.
    pub pressure_pa: f64,
    /// How far above the set point the regulator seats, as a share of it.
    pub lock_up: f64,
    /// Fall of the regulated pressure with flow, as a share for each kg/s.
    pub slope_s_kg: f64,
    /// Width of the band that friction makes, as a share.
    pub hysteresis: f64,
    /// Gas in each bank's line at rated pressure, kg.
    pub line_kg: f64,
    /// From a latch's command to its move, s.
    pub latch_delay_s: f64,
    /// Temperature at which specific impulses are given: the tank's at the start, K.
    pub temperature_k: f64,
}

impl Default for FeedParameters {
    /// Rated pressure at once, no volumes, no delays.
    fn default() -> Self {
        Self {
            scheme: Scheme::Constant,
            pressure_pa: 0.4e6,
            lock_up: 0.0,
            slope_s_kg: 0.0,
            hysteresis: 0.0,
            line_kg: 0.0,
            latch_delay_s: 0.0,
            temperature_k: 293.15,
        }
    }
}

/// One bank's line.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
struct Line {
    share: f64,
    latch_open: bool,
}

/// Regulator, latches and lines.
#[derive(Clone, Debug)]
pub struct Feed {
    parameters: FeedParameters,
    lines: [Line; BANKS],
    /// Pressure of the tank, as a share; endless for a scheme that does not ask.
    supply: f64,
    /// By a fault: the regulator's set point, times this.
    off: f64,
    /// Flow of the open jets at last, kg/s, and whether it fell.
    flow_kg_s: f64,
    falling: bool,
}

/// Pressure in a line for a while: `steady + off·e^(−t·per_s)`, as a share.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Phase {
    /// How long, s; 0: it does not happen.
    pub dt_s: f64,
    /// Where the pressure goes.
    pub steady: f64,
    /// How far it is from there at the start.
    pub off: f64,
    /// How fast it goes, 1/s.
    pub per_s: f64,
}

impl Phase {
    fn flat(share: f64, dt_s: f64) -> Self {
        Self { dt_s, steady: share, off: 0.0, per_s: 1.0 }
    }

    /// Share of `off` that is gone by the end.
    fn gone(&self) -> f64 {
        -(-self.per_s * self.dt_s).exp_m1()
    }

    /// ∫ of the pressure, s.
    pub fn sum_s(&self) -> f64 {
        self.steady * self.dt_s + self.off * self.gone() / self.per_s
    }

    fn end(&self) -> f64 {
        self.steady + self.off * (1.0 - self.gone())
    }
}

/// What the lines gave over a stretch of time.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Given {
    /// Pressure at the valves of each bank: until the regulator opens, and then.
    pub phases: [[Phase; 2]; BANKS],
    /// Gas that came out of the tank, kg.
    pub drawn_kg: f64,
}

impl Feed {
    /// Latches shut, lines empty.
    pub fn new(parameters: FeedParameters) -> Self {
        Self {
            parameters,
            lines: [Line::default(); BANKS],
            supply: f64::INFINITY,
            off: 1.0,
            flow_kg_s: 0.0,
            falling: false,
        }
    }

    /// The feed as built.
    pub fn parameters(&self) -> &FeedParameters {
        &self.parameters
    }

    /// The tank's pressure, Pa.
    pub fn set_supply(&mut self, pressure_pa: f64) {
        let asked = self.parameters.scheme != Scheme::Constant || pressure_pa <= 0.0;
        self.supply = if asked { pressure_pa / self.parameters.pressure_pa } else { f64::INFINITY };
    }

    /// By a fault: the set point, times `off`.
    pub fn set_off(&mut self, off: f64) {
        self.off = off;
    }

    /// Moves a latch.
    pub fn set_latch(&mut self, bank: usize, open: bool) {
        self.lines[bank].latch_open = open;
        if !open && self.parameters.line_kg <= 0.0 {
            self.lines[bank].share = 0.0;
        }
    }

    /// Pressure in a bank's line, as a share.
    pub fn share(&self, bank: usize) -> f64 {
        self.lines[bank].share
    }

    /// Gas in the lines, kg.
    pub fn held_kg(&self) -> f64 {
        self.lines.iter().map(|line| line.share * self.parameters.line_kg).sum()
    }

    /// Takes what the tank could not give out of the lines' account.
    pub fn run_dry(&mut self, missing_kg: f64) {
        let held_kg = self.held_kg();
        if held_kg > 0.0 {
            self.lines.iter_mut().for_each(|line| line.share *= 1.0 - (missing_kg / held_kg).min(1.0));
        }
    }

    /// Set point and lock-up, as shares.
    fn band(&self) -> [f64; 2] {
        let p = &self.parameters;
        let [set, lock] = match p.scheme {
            Scheme::Blowdown => [self.supply * self.off; 2],
            Scheme::Constant => [self.off; 2],
            Scheme::Regulator => {
                let side = if self.falling { 0.5 } else { -0.5 };
                [self.off * (1.0 + side * p.hysteresis), self.off * (1.0 + p.lock_up.max(0.5 * p.hysteresis))]
            }
        };
        [set, lock].map(|share| share.min(self.supply))
    }

    /// Whether nothing moves while no jet is open.
    pub fn settled(&self) -> bool {
        let [_, lock] = self.band();
        self.lines.iter().all(|line| !line.latch_open || line.share >= lock - SETTLED)
    }

    /// Goes on by `dt_s` with jets open that pass `flow_kg_s` in each bank at rated pressure.
    pub fn advance(&mut self, flow_kg_s: [f64; BANKS], dt_s: f64) -> Given {
        let total_kg_s: f64 = flow_kg_s.iter().sum();
        // Less than a thousandth is the gas that warms or cools, not a valve.
        if (total_kg_s - self.flow_kg_s).abs() > 1e-3 * self.flow_kg_s {
            self.falling = total_kg_s < self.flow_kg_s;
            self.flow_kg_s = total_kg_s;
        }
        let [set, lock] = self.band();
        let mut given = Given { phases: [[Phase::default(); 2]; BANKS], drawn_kg: 0.0 };
        for (bank, phases) in given.phases.iter_mut().enumerate() {
            // What the other bank takes, at rated pressure, lowers the pressure here too.
            let set = set - self.parameters.slope_s_kg * (total_kg_s - flow_kg_s[bank]);
            let before = self.lines[bank].share;
            *phases = self.line(bank, [set, lock], flow_kg_s[bank], dt_s);
            if self.lines[bank].latch_open {
                let stored_kg = self.parameters.line_kg * (self.lines[bank].share - before);
                given.drawn_kg += stored_kg + flow_kg_s[bank] * phases.iter().map(Phase::sum_s).sum::<f64>();
            }
        }
        given
    }

    /// One bank's line over `dt_s`.
    fn line(&mut self, bank: usize, [set, lock]: [f64; 2], flow_kg_s: f64, dt_s: f64) -> [Phase; 2] {
        let (held_kg, slope) = (self.parameters.line_kg, self.parameters.slope_s_kg);
        let line = &mut self.lines[bank];
        let flowing = flow_kg_s > 0.0;
        let steady = if flowing { set / (1.0 + slope * flow_kg_s) } else { lock };
        let mut phases = [Phase::default(); 2];
        if held_kg <= 0.0 {
            line.share = if line.latch_open { steady } else { 0.0 };
            phases[1] = Phase::flat(line.share, dt_s);
            return phases;
        }
        let mut left_s = dt_s;
        // Above its set point the regulator is shut; behind a shut latch there is none.
        if flowing && (line.share > set || !line.latch_open) {
            let until_s = held_kg / flow_kg_s * (line.share / set.max(f64::MIN_POSITIVE)).ln();
            let shut_s = if line.latch_open { until_s.min(left_s) } else { left_s };
            phases[0] = Phase { dt_s: shut_s, steady: 0.0, off: line.share, per_s: flow_kg_s / held_kg };
            line.share = phases[0].end();
            left_s -= shut_s;
        }
        if left_s > 0.0 {
            let per_s = 1.0 / (slope * held_kg) + flow_kg_s / held_kg;
            let still = !flowing && (!line.latch_open || line.share >= steady);
            phases[1] = if still || !per_s.is_finite() {
                Phase::flat(if still { line.share } else { steady }, left_s)
            } else {
                Phase { dt_s: left_s, steady, off: line.share - steady, per_s }
            };
            line.share = phases[1].end();
        }
        if line.latch_open && !flowing && (lock - SETTLED..lock).contains(&line.share) {
            line.share = lock;
        }
        if !line.latch_open && line.share < EMPTY {
            line.share = 0.0;
        }
        phases
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// 0.5 N at 68 s.
    const JET_KG_S: f64 = 0.5 / (68.0 * 9.806_65);

    /// 20 cm³ at 0.4 MPa and 20 °C hold 91.95 mg; 4 % droop with one jet, 3 % lock-up, 1 % hysteresis.
    fn built() -> FeedParameters {
        FeedParameters {
            scheme: Scheme::Regulator,
            lock_up: 0.03,
            slope_s_kg: 0.04 / JET_KG_S,
            hysteresis: 0.01,
            line_kg: 91.95e-6,
            ..FeedParameters::default()
        }
    }

    fn opened(parameters: FeedParameters) -> Feed {
        let mut feed = Feed::new(parameters);
        feed.set_supply(20e6);
        feed.set_latch(0, true);
        feed.advance([0.0; 2], 1.0);
        feed
    }

    #[test]
    fn a_line_fills_to_lock_up_and_gives_what_the_regulator_passes() {
        let mut feed = opened(built());
        assert!((feed.share(0) - 1.03).abs() < 1e-12 && feed.settled());
        feed.advance([JET_KG_S, 0.0], 1.0);
        // By hand: set 0.995 under growing flow, over 1.04.
        assert!((feed.share(0) - 0.995 / 1.04).abs() < 1e-9, "{}", feed.share(0));
        feed.advance([2.0 * JET_KG_S, 0.0], 1.0);
        assert!((feed.share(0) - 0.995 / 1.08).abs() < 1e-9);
        feed.advance([JET_KG_S, 0.0], 1.0);
        assert!((feed.share(0) - 1.005 / 1.04).abs() < 1e-9, "the way back lies higher: {}", feed.share(0));
        feed.advance([0.0; 2], 1.0);
        assert!((feed.share(0) - 1.03).abs() < 1e-12);
    }

    /// Mean pressure of a stretch in the first bank.
    fn mean(given: &Given, dt_s: f64) -> f64 {
        given.phases[0].iter().map(Phase::sum_s).sum::<f64>() / dt_s
    }

    /// The two laws above in small steps, by the midpoint rule.
    #[test]
    fn the_closed_form_is_the_differential_equation() {
        let p = built();
        let mut feed = opened(p.clone());
        let (mut share, mut sum, steps) = (1.03, 0.0, 200_000);
        let dt_s = 0.02 / f64::from(steps);
        let slope = |share: f64| {
            let passed = ((0.995 - share) / p.slope_s_kg).max(0.0);
            (passed - JET_KG_S * share) / p.line_kg
        };
        for _ in 0..steps {
            let middle = share + 0.5 * dt_s * slope(share);
            sum += middle * dt_s;
            share += dt_s * slope(middle);
        }
        let given = feed.advance([JET_KG_S, 0.0], 0.02);
        assert!((feed.share(0) - share).abs() < 1e-6, "{} {share}", feed.share(0));
        assert!((mean(&given, 0.02) - sum / 0.02).abs() < 1e-6);
        let out_kg = JET_KG_S * mean(&given, 0.02) * 0.02;
        assert!((given.drawn_kg - (out_kg + p.line_kg * (feed.share(0) - 1.03))).abs() < 1e-18);
    }

    #[test]
    fn trapped_gas_goes_on_until_it_is_gone_and_none_comes_after_it() {
        let mut feed = opened(built());
        feed.set_latch(0, false);
        let (mut out_kg, mut drawn_kg) = (0.0, 0.0);
        for _ in 0..300 {
            let given = feed.advance([JET_KG_S, 0.0], 0.01);
            out_kg += JET_KG_S * mean(&given, 0.01) * 0.01;
            drawn_kg += given.drawn_kg;
        }
        assert!((out_kg / (1.03 * 91.95e-6) - 1.0).abs() < 1e-8, "{out_kg}");
        assert_eq!((drawn_kg, feed.share(0)), (0.0, 0.0));
        let mut dry = opened(FeedParameters { line_kg: 0.0, ..built() });
        dry.set_latch(0, false);
        assert_eq!(mean(&dry.advance([JET_KG_S, 0.0], 0.01), 0.01), 0.0, "no line, no tail");
    }

    #[test]
    fn blowdown_follows_the_tank_and_a_regulator_gives_no_more_than_it_has() {
        let mut feed = opened(FeedParameters { scheme: Scheme::Blowdown, pressure_pa: 20e6, ..Default::default() });
        assert_eq!(mean(&feed.advance([JET_KG_S, 0.0], 0.01), 0.01), 1.0);
        feed.set_supply(10e6);
        assert_eq!(mean(&feed.advance([JET_KG_S, 0.0], 0.01), 0.01), 0.5);
        let mut regulated = opened(built());
        regulated.set_supply(0.2e6);
        regulated.advance([JET_KG_S, 0.0], 5.0);
        assert!((regulated.share(0) - 0.5 / 1.04).abs() < 1e-6, "{}", regulated.share(0));
        let mut constant = opened(FeedParameters::default());
        constant.set_supply(0.2e6);
        assert_eq!(mean(&constant.advance([JET_KG_S, 0.0], 0.01), 0.01), 1.0);
    }
}
