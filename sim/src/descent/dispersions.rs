//! What may be off, as numbers of sigmas along independent axes, and what a set of such numbers comes to.

use crate::noise::NoiseSource;
use crate::scenario::parts::descent::{Contributor, Dispersion, LawShape};

/// A quantity that may be off.
#[derive(Clone, Copy, Debug, Eq, PartialEq)]
pub enum Quantity {
    /// Place along the orbit, m.
    OrbitAlong,
    /// Height of the orbit, m.
    OrbitHeight,
    /// Place across the orbit, m.
    OrbitAcross,
    /// Ignition, s.
    RetroTime,
    /// Pointing in the plane, rad; more is further back.
    Pitch,
    /// Pointing out of the plane, rad.
    Yaw,
    /// Impulse, share.
    Impulse,
    /// Offset of thrust, m, in the orbit normal's direction at ignition.
    OffsetX,
    /// Offset of thrust, m, at right angles to that.
    OffsetY,
    /// Spin, share.
    Spin,
    /// Mass, share.
    Mass,
    /// Drag area, share.
    Drag,
    /// Density, multiples of the table's sigma.
    Density,
    /// Wind to the east, multiples of the table's sigma.
    WindEast,
    /// Wind to the north, the same.
    WindNorth,
    /// Canopies' drag area, share.
    Canopy,
    /// Timers, s.
    Timers,
}

/// How many there are.
pub const QUANTITIES: usize = 17;

impl Quantity {
    /// Its name, for people and as the name of its noise.
    pub const fn name(self) -> &'static str {
        match self {
            Self::OrbitAlong => "place along the orbit",
            Self::OrbitHeight => "height of the orbit",
            Self::OrbitAcross => "place across the orbit",
            Self::RetroTime => "time of ignition",
            Self::Pitch => "pointing in the plane",
            Self::Yaw => "pointing out of the plane",
            Self::Impulse => "impulse of the retro",
            Self::OffsetX => "offset of thrust, first axis",
            Self::OffsetY => "offset of thrust, second axis",
            Self::Spin => "spin",
            Self::Mass => "mass",
            Self::Drag => "drag in entry",
            Self::Density => "density of the air",
            Self::WindEast => "wind to the east",
            Self::WindNorth => "wind to the north",
            Self::Canopy => "drag of the canopies",
            Self::Timers => "timers",
        }
    }

    /// Unit of people, and how many of it make one SI unit.
    pub const fn unit(self) -> (&'static str, f64) {
        match self {
            Self::OrbitAlong | Self::OrbitHeight | Self::OrbitAcross => ("km", 1e-3),
            Self::RetroTime | Self::Timers => ("s", 1.0),
            Self::Pitch | Self::Yaw => ("°", 180.0 / std::f64::consts::PI),
            Self::OffsetX | Self::OffsetY => ("mm", 1e3),
            Self::Density | Self::WindEast | Self::WindNorth => ("× table", 1.0),
            _ => ("%", 100.0),
        }
    }
}

/// One independent axis.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Axis {
    /// What.
    pub quantity: Quantity,
    /// One sigma, SI.
    pub sigma: f64,
    /// Even rather than normal.
    pub even: bool,
}

/// How far each quantity is off, SI, by [`Quantity`] as a number.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Off([f64; QUANTITIES]);

impl Default for Off {
    fn default() -> Self {
        Self([0.0; QUANTITIES])
    }
}

impl Off {
    /// How far `quantity` is off.
    pub fn get(&self, quantity: Quantity) -> f64 {
        self.0[quantity as usize]
    }

    /// The same with more of one.
    pub fn with(mut self, quantity: Quantity, more: f64) -> Self {
        self.0[quantity as usize] += more;
        self
    }
}

/// The axes of a scenario's list, or of the program's own where it has none.
pub fn axes(list: &[Dispersion]) -> Vec<Axis> {
    if list.is_empty() {
        return OWN.iter().map(|(quantity, sigma)| Axis { quantity: *quantity, sigma: *sigma, even: false }).collect();
    }
    let each = list.iter().flat_map(|entry| {
        let (first, second, sigma) = taken(&entry.kind);
        let even = entry.shape == LawShape::Even;
        [Some(first), second].into_iter().flatten().map(move |quantity| Axis { quantity, sigma, even })
    });
    each.collect()
}

/// Quantities and sigma of an entry; two quantities where it acts in two directions.
fn taken(entry: &Contributor) -> (Quantity, Option<Quantity>, f64) {
    match entry {
        Contributor::OrbitAlong(s) => (Quantity::OrbitAlong, None, s.sigma),
        Contributor::OrbitHeight(s) => (Quantity::OrbitHeight, None, s.sigma),
        Contributor::OrbitAcross(s) => (Quantity::OrbitAcross, None, s.sigma),
        Contributor::RetroTime(s) => (Quantity::RetroTime, None, s.sigma),
        Contributor::Pitch(s) => (Quantity::Pitch, None, s.sigma),
        Contributor::Yaw(s) => (Quantity::Yaw, None, s.sigma),
        Contributor::RetroImpulse(s) => (Quantity::Impulse, None, s.sigma),
        Contributor::ThrustOffset(s) => (Quantity::OffsetX, Some(Quantity::OffsetY), s.sigma),
        Contributor::Spin(s) => (Quantity::Spin, None, s.sigma),
        Contributor::Mass(s) => (Quantity::Mass, None, s.sigma),
        Contributor::Drag(s) => (Quantity::Drag, None, s.sigma),
        Contributor::Density(s) => (Quantity::Density, None, s.sigma),
        Contributor::WindError(s) => (Quantity::WindEast, Some(Quantity::WindNorth), s.sigma),
        Contributor::CanopyDrag(s) => (Quantity::Canopy, None, s.sigma),
        Contributor::Timers(s) => (Quantity::Timers, None, s.sigma),
    }
}

const DEGREE: f64 = std::f64::consts::PI / 180.0;

/// One sigma of each where the scenario says nothing: invented, of the size common practice expects.
const OWN: [(Quantity, f64); QUANTITIES] = [
    (Quantity::OrbitAlong, 2_000.0),
    (Quantity::OrbitHeight, 170.0),
    (Quantity::OrbitAcross, 300.0),
    (Quantity::RetroTime, 0.05),
    (Quantity::Pitch, 0.67 * DEGREE),
    (Quantity::Yaw, 0.67 * DEGREE),
    (Quantity::Impulse, 0.0033),
    (Quantity::OffsetX, 0.000_7),
    (Quantity::OffsetY, 0.000_7),
    (Quantity::Spin, 0.05),
    (Quantity::Mass, 0.002),
    (Quantity::Drag, 0.017),
    (Quantity::Density, 1.0),
    (Quantity::WindEast, 1.0),
    (Quantity::WindNorth, 1.0),
    (Quantity::Canopy, 0.03),
    (Quantity::Timers, 0.5),
];

/// The draw of run `run`: each axis has its own stream, so that an axis more moves no other draw.
pub fn draw(axes: &[Axis], seed: u64, run: u32) -> Off {
    axes.iter().fold(Off::default(), |off, axis| {
        let source = NoiseSource::new(seed, run, "descent", axis.quantity as u32);
        let sigmas = if axis.even { (2.0 * source.uniform(0) - 1.0) * 3.0_f64.sqrt() } else { source.gaussian(0) };
        off.with(axis.quantity, sigmas * axis.sigma)
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn draws_have_the_sigma_asked_for_and_stand_alone() {
        let all = axes(&[]);
        let spread = |even: bool| {
            let axis = Axis { quantity: Quantity::Pitch, sigma: 2.0, even };
            let draws: Vec<f64> = (0..4_000).map(|run| draw(&[axis], 5, run).get(Quantity::Pitch)).collect();
            let mean = draws.iter().sum::<f64>() / 4_000.0;
            (
                mean,
                (draws.iter().map(|d| (d - mean).powi(2)).sum::<f64>() / 4_000.0).sqrt(),
                draws.iter().fold(0.0_f64, |m, d| m.max(d.abs())),
            )
        };
        // 4,000 draws know a sigma to 1.1 %, a mean to 1.6 % of it; three of those.
        for even in [false, true] {
            let (mean, sigma, _) = spread(even);
            assert!(mean.abs() < 0.1 && (sigma / 2.0 - 1.0).abs() < 0.035, "{mean} {sigma}");
        }
        assert!(spread(true).2 <= 2.0 * 3.0_f64.sqrt() && spread(false).2 > 2.0 * 3.0_f64.sqrt());
        let whole = draw(&all, 1, 7).get(Quantity::Density);
        assert_eq!(whole, draw(&all[12..13], 1, 7).get(Quantity::Density));
    }
}
