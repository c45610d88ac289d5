//! The gas ledger and the guard: no fault may drain the tank.

use crate::{
    attitude::settings::JetSettings,
    io::{MAX_JETS, TankSample},
    math, settings_group,
};

/// Standard gravity, m/s² (ISO 80000-3).
pub const G0: f32 = 9.806_65;
/// Gas constant of nitrogen, J/(kg·K): 8.314462618/0.0280134 (CODATA 2018, IUPAC).
const R_N2: f32 = 296.803;

settings_group! {
    /// Cold gas: what is loaded and how fast it may go.
    GasSettings = "gas" {
        tank_volume_l: f32 = 18.0, 0.1 ..= 1000.0, "l", "Inner volume of the tank.";
        specific_impulse_s: f32 = 68.0, 10.0 ..= 400.0, "s", "Specific impulse delivered.";
        compressibility_per_mpa: f32 = -0.0024, -0.05 ..= 0.05, "1/MPa", "Linear part of the compressibility factor's rise with pressure (nitrogen at 20 °C, 0.5 to 22 MPa: within 0.1 %).";
        compressibility_per_mpa2: f32 = 0.00025, -0.005 ..= 0.005, "1/MPa²", "Quadratic part of the same.";
        reserve_kg: f32 = 0.4, 0.0 ..= 1000.0, "kg", "Below this the camera stays off; the rest is kept for the return.";
        guard_jet_s: f32 = 150.0, 1.0 ..= 100000.0, "s", "Jet-seconds that may be used at a stretch.";
        guard_refill_per_h: f32 = 40.0, 0.1 ..= 100000.0, "s/h", "Jet-seconds that come back to the allowance in an hour.";
        leak_alarm_g_h: f32 = 1.0, 0.01 ..= 10000.0, "g/h", "Gas lost by the gauges beyond what the valves account for that raises the flag, watched over an hour and a half.";
        use_alarm_g_h: f32 = 15.0, 0.1 ..= 100000.0, "g/h", "Gas used by the valves in hold that raises the flag, watched likewise.";
        guard_return_share: f32 = 0.2, 0.01 ..= 1.0, "–", "Share of the allowance that must be back before the jets may fire again.";
    }
}

/// Length of the watch over losses and use, s.
const WATCH_S: u32 = 5_400;
/// Gas the valves have passed is known from their times to this share: thrust and specific impulse are nominal.
const LEDGER_SHARE: f32 = 0.05;

/// Watch over gas that goes too fast: what has gone since the present stretch of time began.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
struct Trend {
    seconds: u32,
    residual_kg: f32,
    used_kg: f32,
    last: bool,
}

impl Trend {
    /// One second. A fast loss is told as soon as it has reached what the whole stretch would be allowed.
    fn second(&mut self, residual_kg: f32, used_kg: f32, holding: bool, settings: &GasSettings) -> bool {
        let hours = WATCH_S as f32 / 3600.0;
        let used = used_kg - self.used_kg;
        let lost = residual_kg - self.residual_kg > 1e-3 * settings.leak_alarm_g_h * hours + LEDGER_SHARE * used;
        let spent = holding && used > 1e-3 * settings.use_alarm_g_h * hours;
        let alarm = lost || spent;
        self.seconds += 1;
        if self.seconds >= WATCH_S || !holding {
            *self = Self { seconds: 0, residual_kg, used_kg, last: alarm };
        }
        alarm || self.last
    }
}

/// What of the ledger is kept through a reset.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct KeptGas {
    allowance_jet_s: f32,
    shut: bool,
    used_kg: f32,
    first_kg: Option<f32>,
    measured_kg: f32,
}

impl KeptGas {
    /// Puts out all that a check sum must cover, piece by piece.
    pub(crate) fn put(&self, put: &mut impl FnMut(&[u8])) {
        put(&[u8::from(self.shut), u8::from(self.first_kg.is_some())]);
        for number in [self.allowance_jet_s, self.used_kg, self.first_kg.unwrap_or(0.0), self.measured_kg] {
            put(&number.to_be_bytes());
        }
    }
}

/// Ledger and guard.
#[derive(Clone, Debug, PartialEq)]
pub struct Gas {
    settings: GasSettings,
    trend: Trend,
    going_fast: bool,
    allowance_jet_s: f32,
    shut: bool,
    used_jet_us: u64,
    /// Nothing has been read since a reset: what was measured before it stands until something is.
    stale: bool,
    /// Used before the last reset, kg: the valves' own counts begin anew.
    before_kg: f32,
    used_kg: f32,
    first_kg: Option<f32>,
    measured_kg: f32,
}

impl Gas {
    /// What is to be kept now.
    pub fn keep(&self) -> KeptGas {
        KeptGas {
            allowance_jet_s: self.allowance_jet_s,
            shut: self.shut,
            used_kg: self.used_kg,
            first_kg: self.first_kg,
            measured_kg: self.measured_kg,
        }
    }

    /// The ledger that was kept. The tank's first reading takes the place of the last one before the reset; without
    /// one, as with gauges that are dead, the last one goes on standing.
    pub fn wake(settings: GasSettings, kept: &KeptGas) -> Self {
        Self {
            allowance_jet_s: math::clamp(kept.allowance_jet_s, 0.0, settings.guard_jet_s),
            shut: kept.shut,
            before_kg: kept.used_kg,
            used_kg: kept.used_kg,
            first_kg: kept.first_kg,
            measured_kg: kept.measured_kg,
            stale: true,
            ..Self::new(settings)
        }
    }

    /// Whether these are the settings it works with.
    pub fn works_with(&self, settings: &GasSettings) -> bool {
        self.settings == *settings
    }

    /// Full allowance, nothing used.
    pub fn new(settings: GasSettings) -> Self {
        Self {
            settings,
            trend: Trend::default(),
            going_fast: false,
            allowance_jet_s: settings.guard_jet_s,
            shut: false,
            used_jet_us: 0,
            stale: false,
            before_kg: 0.0,
            used_kg: 0.0,
            first_kg: None,
            measured_kg: 0.0,
        }
    }

    /// Takes the tank's first reading, before anything has flowed; later calls do nothing.
    pub fn open(&mut self, tank: &TankSample) {
        if self.first_kg.is_none() {
            self.read_tank(tank);
        }
    }

    /// Once a second: charges the on-time of the jets and reads the tank. `holding`: the vehicle is in hold, where gas
    /// goes slowly.
    pub fn second(&mut self, jets: &[JetSettings], used_us: &[u64; MAX_JETS], tank: &TankSample, holding: bool) {
        let s = &self.settings;
        let total_us: u64 = used_us.iter().fold(0, |sum, &us| sum.saturating_add(us));
        let fresh_s = total_us.saturating_sub(self.used_jet_us) as f32 * 1e-6;
        self.used_jet_us = total_us;
        let refilled = self.allowance_jet_s - fresh_s + s.guard_refill_per_h / 3600.0;
        self.allowance_jet_s = math::clamp(refilled, 0.0, s.guard_jet_s);
        if self.allowance_jet_s <= 0.0 {
            self.shut = true;
        } else if self.allowance_jet_s > s.guard_return_share * s.guard_jet_s {
            self.shut = false;
        }
        self.used_kg = jets.iter().zip(used_us).fold(self.before_kg, |sum, (jet, &us)| {
            sum + jet.thrust_n * us as f32 * 1e-6 / (s.specific_impulse_s * G0)
        });
        self.read_tank(tank);
        self.going_fast = self.trend.second(self.residual_kg(), self.used_kg, holding, &self.settings);
    }

    /// Whether gas goes faster than the valves account for, or faster than hold should cost.
    pub fn going_fast(&self) -> bool {
        self.going_fast
    }

    /// Mass from pressure and temperature, p·V/(Z·R·T), smoothed over a minute.
    fn read_tank(&mut self, tank: &TankSample) {
        let readable = tank.temperature_k > 0.0;
        if !readable {
            return;
        }
        let s = &self.settings;
        let mpa = tank.pressure_pa * 1e-6;
        let z = 1.0 + mpa * (s.compressibility_per_mpa + mpa * s.compressibility_per_mpa2);
        let kg = tank.pressure_pa * s.tank_volume_l * 1e-3 / (z * R_N2 * tank.temperature_k);
        match self.first_kg {
            None => {
                self.first_kg = Some(kg);
                self.measured_kg = kg;
            }
            Some(_) if self.stale => self.measured_kg = kg,
            Some(_) => self.measured_kg += (kg - self.measured_kg) / 60.0,
        }
        self.stale = false;
    }

    /// Whether the guard lets jets fire.
    pub fn allowed(&self) -> bool {
        !self.shut
    }

    /// Jet-seconds that the guard has left.
    pub fn allowance_jet_s(&self) -> f32 {
        self.allowance_jet_s
    }

    /// Gas left by the tank's gauges, kg; none before they have told anything.
    pub fn known_left_kg(&self) -> Option<f32> {
        self.first_kg.map(|_| self.measured_kg)
    }

    /// Gas left by the tank's gauges, kg.
    pub fn left_kg(&self) -> f32 {
        self.measured_kg
    }

    /// Gas gone by the tank's gauges since their first reading, kg.
    pub fn gone_kg(&self) -> f32 {
        self.first_kg.map_or(0.0, |first| first - self.measured_kg)
    }

    /// Gas used by the valves' on-time, kg.
    pub fn used_kg(&self) -> f32 {
        self.used_kg
    }

    /// Gas gone by the gauges less gas used by the valves, kg: leaks show here, and gauge errors.
    pub fn residual_kg(&self) -> f32 {
        self.first_kg.map_or(0.0, |first| first - self.measured_kg - self.used_kg)
    }

    /// Whether gas is at its reserve.
    pub fn at_reserve(&self) -> bool {
        self.first_kg.is_some() && self.measured_kg < self.settings.reserve_kg
    }
}

#[cfg(test)]
mod tests {
    extern crate std;
    use super::*;

    #[test]
    fn four_kilograms_at_room_temperature_read_as_four() {
        // N2 at 293.15 K and 20 MPa has Z = 1.0518 (CoolProp 8.0.0): 18 l hold 3.934 kg.
        let mut gas = Gas::new(GasSettings::default());
        gas.second(&[], &[0; MAX_JETS], &TankSample { pressure_pa: 20e6, temperature_k: 293.15 }, true);
        assert!((gas.left_kg() / 3.934 - 1.0).abs() < 2e-3, "{}", gas.left_kg());
    }

    #[test]
    fn after_a_reset_with_dead_gauges_what_was_measured_before_it_stands() {
        let full = TankSample { pressure_pa: 20e6, temperature_k: 293.15 };
        let settings = GasSettings::default();
        let mut before = Gas::new(settings);
        before.second(&[], &[0; MAX_JETS], &full, true);
        let mut woken = Gas::wake(settings, &before.keep());
        woken.second(&[], &[0; MAX_JETS], &TankSample::default(), true);
        assert_eq!((woken.known_left_kg(), woken.gone_kg(), woken.at_reserve()), (Some(before.left_kg()), 0.0, false));
        // The first reading counts in full: what was kept may be hours old.
        woken.second(&[], &[0; MAX_JETS], &TankSample { pressure_pa: 1e6, ..full }, true);
        assert!(woken.at_reserve(), "{}", woken.left_kg());
        // Gauges that have never told anything say neither how much there is nor that it is little.
        let mut blind = Gas::wake(settings, &Gas::new(settings).keep());
        blind.second(&[], &[0; MAX_JETS], &TankSample::default(), true);
        assert_eq!((blind.known_left_kg(), blind.gone_kg(), blind.at_reserve()), (None, 0.0, false));
    }

    #[test]
    fn a_leak_of_a_gram_and_a_half_an_hour_is_told_within_the_watch_and_a_tenth_of_that_is_not() {
        for (g_h, told) in [(1.5, true), (0.15, false)] {
            let mut gas = Gas::new(GasSettings::default());
            let mut heard = false;
            for second in 0..2 * WATCH_S {
                // 18 l at 293.15 K lose pressure by 5 MPa for each kilogram or so.
                let lost_kg = g_h * 1e-3 * second as f32 / 3600.0;
                let tank = TankSample { pressure_pa: 20e6 - 5.1e6 * lost_kg, temperature_k: 293.15 };
                gas.second(&[], &[0; MAX_JETS], &tank, true);
                heard |= gas.going_fast();
            }
            assert_eq!(heard, told, "{g_h}");
        }
    }

    #[test]
    fn a_runaway_jet_meets_the_guard_and_the_allowance_comes_back() {
        let settings = GasSettings { guard_jet_s: 10.0, guard_refill_per_h: 36.0, ..Default::default() };
        let mut gas = Gas::new(settings);
        let jets = [JetSettings::default()];
        let mut used = [0; MAX_JETS];
        let mut open_s = 0;
        while gas.allowed() {
            used[0] += 1_000_000;
            open_s += 1;
            gas.second(&jets, &used, &TankSample::default(), false);
            assert!(open_s < 20);
        }
        assert_eq!(open_s, 11);
        let mut waited_s = 0;
        while !gas.allowed() {
            gas.second(&jets, &used, &TankSample::default(), false);
            waited_s += 1;
        }
        assert!((195..=205).contains(&waited_s), "{waited_s}");
    }
}
