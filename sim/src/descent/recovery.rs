//! Drogue and main canopy: when they fire, whether they survive it, what they pull.
//!
//! As on board: the closing of the g-switch starts the drogue's timer, its firing the main's. Backup timers run from
//! separation, so that a dead switch costs time and not the film. The switch counts only after the motor has burnt
//! out: the retro itself pulls 2 to 3 g.

use super::fall::Moment;
use crate::scenario::parts::descent::Return;

/// A canopy.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Chute {
    /// Drag coefficient times area, full, m².
    pub drag_area_m2: f64,
    /// Time to fill, s; the area grows evenly.
    pub fill_s: f64,
    /// Fastest opening that it survives, Mach.
    pub most_mach: f64,
    /// Largest dynamic pressure that it survives at opening, Pa.
    pub most_pressure_pa: f64,
}

/// How a canopy took its opening.
#[derive(Clone, Copy, Debug, Eq, PartialEq)]
pub enum Opening {
    /// It was never fired.
    Never,
    /// It stands.
    Good,
    /// It was fired too fast or too low for its strength, and is gone.
    Torn,
    /// It was fired and did not come out.
    Failed,
}

impl Opening {
    /// In words.
    pub const fn words(self) -> &'static str {
        match self {
            Self::Never => "never fired",
            Self::Good => "stands",
            Self::Torn => "torn: fired beyond its Mach number or pressure",
            Self::Failed => "failed",
        }
    }
}

impl Chute {
    /// Drag area so long after firing, m².
    pub fn area_m2(&self, since_s: f64) -> f64 {
        self.drag_area_m2 * (since_s / self.fill_s).clamp(0.0, 1.0)
    }

    /// How it takes being fired at this moment.
    pub fn opens(&self, moment: &Moment, dead: bool) -> Opening {
        if dead {
            Opening::Failed
        } else if moment.mach > self.most_mach || moment.pressure_pa > self.most_pressure_pa {
            Opening::Torn
        } else {
            Opening::Good
        }
    }

    /// Steady speed of so many kg under it, m/s: √(2 m g/(ρ C_D A)).
    pub fn steady_m_s(&self, mass_kg: f64, gravity_m_s2: f64, density_kg_m3: f64) -> f64 {
        (2.0 * mass_kg * gravity_m_s2 / (density_kg_m3 * self.drag_area_m2)).sqrt()
    }
}

/// Both canopies and the switch.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Canopies {
    /// Level of the g-switch, in units of 9.80665 m/s².
    pub g_switch: f64,
    /// Drogue.
    pub drogue: Chute,
    /// Main.
    pub main: Chute,
}

impl Canopies {
    /// From the scenario, with `factor` times the drag.
    pub fn new(r: &Return, factor: f64) -> Self {
        let (d, m) = (&r.drogue, &r.main);
        Self {
            g_switch: d.g_switch,
            drogue: Chute {
                drag_area_m2: d.drag_area_m2 * factor,
                fill_s: d.fill_s,
                most_mach: d.most_mach,
                most_pressure_pa: d.most_pressure_pa,
            },
            main: Chute {
                drag_area_m2: m.drag_area_m2 * factor,
                fill_s: m.fill_s,
                most_mach: m.most_mach,
                most_pressure_pa: m.most_pressure_pa,
            },
        }
    }
}

/// What fires the canopies.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Timers {
    /// Time from separation to ignition, s.
    pub separation_s: f64,
    /// Drogue: from the closing of the g-switch, s.
    pub drogue_after_g_s: Option<f64>,
    /// Drogue: from separation, s.
    pub drogue_backup_s: Option<f64>,
    /// Drogue: on passing this height, m. No sensor of height is on board: this is how timers are fitted.
    pub drogue_height_m: Option<f64>,
    /// Main: from the firing of the drogue, s.
    pub main_after_drogue_s: Option<f64>,
    /// Main: from separation, s.
    pub main_backup_s: Option<f64>,
    /// Main: on passing this height, m; for fitting.
    pub main_height_m: Option<f64>,
    /// The g-switch never closes.
    pub g_switch_dead: bool,
    /// The drogue does not come out.
    pub drogue_dead: bool,
    /// The main does not come out.
    pub main_dead: bool,
}

impl Timers {
    /// To find by height when things are to happen.
    pub fn by_height(r: &Return) -> Self {
        Self {
            separation_s: r.separation_s,
            drogue_height_m: Some(r.drogue.height_m),
            main_height_m: Some(r.main.height_m),
            ..Self::default()
        }
    }
}
