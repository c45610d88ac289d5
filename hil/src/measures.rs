//! What the flight code needs on the board, to be kept and compared with a later measure.

use crate::{
    board::{Board, BoardError},
    cost::{CostNumbers, Costs, SpreadNumbers},
    image::{Sizes, sizes},
    line::{Address, How},
    lockstep::LockstepError,
};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use std::path::Path;
use stillframe::{
    flight::{FlightError, build::build, closed_loop::ClosedLoop, link::Link},
    plant::faults::FaultSchedule,
    scenario::Loaded,
};
use stillframe_controller::io::TICKS_PER_S;

/// Number of this format; rises when a field changes its meaning or goes.
pub const FORMAT: u32 = 1;

/// A measure.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Measures {
    /// Number of this format: 1.
    pub format: u32,
    /// Base ticks of the short flight.
    pub ticks: u64,
    /// Clock of the processor, Hz.
    pub clock_hz: u32,
    /// Flash and RAM.
    pub sizes: Sizes,
    /// Deepest use of the stack, bytes.
    pub stack_used: u32,
    /// Size of the stack, bytes.
    pub stack_size: u32,
    /// Step cost by rate group.
    pub step_cost: CostNumbers,
}

impl Measures {
    /// Share of a base tick that the dearest step takes, were each instruction one cycle.
    pub fn busiest_share(&self) -> f64 {
        let most = self.groups().into_iter().filter_map(|(_, cost)| cost).map(|cost| cost.most).fold(0.0, f64::max);
        most * f64::from(TICKS_PER_S) / f64::from(self.clock_hz.max(1))
    }

    fn groups(&self) -> [(&'static str, Option<SpreadNumbers>); 3] {
        [
            ("film tick", self.step_cost.film),
            ("attitude tick", self.step_cost.attitude),
            ("1 Hz tick", self.step_cost.second),
        ]
    }

    /// All figures that should not grow, with their names.
    pub fn figures(&self) -> Vec<(String, f64)> {
        let mut figures = Vec::new();
        for (name, cost) in self.groups() {
            if let Some(cost) = cost {
                figures.push((format!("{name}, least"), cost.least));
                figures.push((format!("{name}, median"), cost.median));
                figures.push((format!("{name}, most"), cost.most));
            }
        }
        figures.push(("stack, bytes".into(), f64::from(self.stack_used)));
        figures.push(("flash, bytes".into(), self.sizes.flash_bytes as f64));
        figures.push(("RAM, bytes".into(), self.sizes.ram_bytes as f64));
        figures
    }
}

/// Measures an image in the emulator over so many ticks of `loaded`, as the desk flies it.
///
/// # Errors
/// [`LockstepError`].
pub fn measure(
    image: &Path,
    loaded: &Loaded,
    ticks: u64,
    progress: &mut dyn FnMut(u64),
) -> Result<Measures, LockstepError> {
    let at = |tick| move |error: BoardError| LockstepError::Board { tick, error };
    let sizes = sizes(image).map_err(|error| at(0)(error.into()))?;
    let (mut board, greeting) =
        Board::open(&Address::Emulator(image.into()), How { count: true, fast: false }).map_err(at(0))?;
    let built = build(loaded, loaded.scenario.run.seed)?;
    board.begin(&built.settings, &built.load.encode()).map_err(at(0))?;
    let link = Link::new(&loaded.scenario, loaded.scenario.run.seed, &built.load);
    let mut flight = ClosedLoop::new(built.plant, built.controller, link, FaultSchedule::new(&loaded.scenario));
    let mut costs = Costs::default();
    for tick in 0..ticks {
        let sensors = flight.sense();
        let answer = board.step(&sensors).map_err(at(tick))?;
        costs.add(tick as u32, answer.cost);
        let actuators = flight.controller.step(&sensors);
        flight.act(&sensors, actuators, &[], &mut |_, _| ()).map_err(FlightError::Plant)?;
        progress(tick);
    }
    let stats = board.stats().map_err(at(ticks))?;
    Ok(Measures {
        format: FORMAT,
        ticks,
        clock_hz: greeting.clock_hz,
        sizes,
        stack_used: stats.stack_used,
        stack_size: stats.stack_size,
        step_cost: costs.numbers(board.cost_unit),
    })
}
