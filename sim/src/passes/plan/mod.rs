//! Planning a day's photography: from areas on a map to camera-on and camera-off.
//!
//! In the order of the work:
//!
//! 0. [`area_file`]: areas from GeoJSON, where a scenario's own are not meant;
//! 1. [`cells`]: an area cut into small cells of equal worth;
//! 2. [`sight`]: when, and how far to the side, the camera looks at a place;
//! 3. [`windows`]: every pass over every area, what of it is seen, how high the Sun stands, whether it is any use;
//! 4. [`uncertainty`]: how far off the predicted time may be when the pass comes;
//! 5. [`mod@contacts`]: when stations hear the vehicle, and when a load can be on board;
//! 6. [`bursts`]: camera-on times padded by that, passes too close to each other joined, and what each costs;
//! 7. [`choose`]: which of them are flown, worth most within all limits, with a bound on what any choice could reach;
//! 8. [`ledgers`]: film, gas and energy after each.
//!
//! The camera looks straight down, yawed into the track of the ground; a place is seen when it passes the line across
//! the track through the middle of the format.

pub mod area_file;
pub mod bursts;
pub mod cells;
pub mod choose;
pub mod contacts;
pub mod ledgers;
pub mod sight;
pub mod uncertainty;
pub mod windows;

use crate::{
    passes::{
        contacts::{Pass as Contact, contacts},
        programme::Tools,
    },
    scenario::{
        Scenario,
        parts::{command::Action, run::LoadBy},
    },
    world::ellipsoid::A_M,
};
use bursts::Burst;
use cells::Cells;
use choose::{Choice, ChoiceError, Problem};
use ledgers::Ledger;
use stillframe_controller::programme::load::MAX_ENTRIES;
use uncertainty::Uncertainty;
use windows::Pass;

/// What a plan takes from the vehicle besides the scenario.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Facts {
    /// Time that film runs before and after a camera-on, at full speed, s.
    pub film_over_s: f64,
    /// Film that the flight code keeps back, m.
    pub film_reserve_m: f64,
    /// Longest camera-on that the flight code obeys, s.
    pub longest_on_s: f64,
    /// Most film in one camera-on, m; infinite where the settings are fitted to the programme.
    pub most_film_m: f64,
    /// Firing is held off from this long before the shutter opens, s.
    pub quiet_before_s: f64,
    /// Longest burst for which one placement of the attitude is meant, s.
    pub quiet_longest_s: f64,
    /// Time from the start to fine hold, s.
    pub ready_s: f64,
    /// Gas in fine hold, kg/s.
    pub hold_kg_s: f64,
    /// Gas of capture, kg.
    pub capture_kg: f64,
    /// Gas of placing the attitude once, kg.
    pub placing_kg: f64,
}

/// What is planned for.
#[derive(Clone, Copy, Debug)]
pub struct Subject<'a> {
    /// The scenario: areas to be photographed; commands that stay.
    pub scenario: &'a Scenario,
    /// Predicted orbit, camera, speeds, start.
    pub tools: Tools<'a>,
    /// The vehicle.
    pub facts: Facts,
}

impl Subject<'_> {
    /// Length of the run, s.
    pub fn duration_s(&self) -> f64 {
        self.scenario.run.duration_s
    }
}

/// A plan.
#[derive(Clone, Debug)]
pub struct Plan {
    /// How far off predicted times may be.
    pub uncertainty: Uncertainty,
    /// Cells of each area.
    pub cells: Vec<Cells>,
    /// Every pass over every area, in order of time.
    pub passes: Vec<Pass>,
    /// Contacts, in order of time.
    pub contacts: Vec<Contact>,
    /// Stretches in which the receiver should listen, [from, to] in s.
    pub receiver_s: Vec<[f64; 2]>,
    /// When the load is on board, s; `None` if no contact is long enough for it.
    pub loaded_s: Option<f64>,
    /// Everything that could be flown.
    pub bursts: Vec<Burst>,
    /// Which of them are, and how good that is.
    pub choice: Choice,
    /// What is spent before and with each chosen burst.
    pub ledger: Ledger,
}

impl Plan {
    /// Bursts that are flown, in order of time.
    pub fn flown(&self) -> impl Iterator<Item = &Burst> {
        self.choice.picked.iter().filter_map(|&index| self.bursts.get(index))
    }

    /// Share of an area that the plan covers as it should be covered, 0…1.
    pub fn covered(&self, area: usize) -> f64 {
        self.cells.get(area).map_or(0.0, |cells| {
            let mut seen = vec![0_u32; cells.places_rad.len()];
            let passes = self.flown().flat_map(|burst| &burst.passes).filter_map(|&pass| self.passes.get(pass));
            for pass in passes.filter(|pass| pass.area == area) {
                for &cell in &pass.cells {
                    if let Some(count) = seen.get_mut(cell) {
                        *count += 1;
                    }
                }
            }
            let need = self.passes.iter().find(|pass| pass.area == area).map_or(1, |pass| pass.need);
            seen.iter().filter(|count| **count >= need).count() as f64 / seen.len().max(1) as f64
        })
    }
}

/// Plans.
///
/// # Errors
/// If the solver breaks down.
pub fn plan(subject: &Subject<'_>) -> Result<Plan, ChoiceError> {
    let scenario = subject.scenario;
    let uncertainty = Uncertainty::new(&scenario.planning, subject.tools.prediction);
    let swath_m = 2.0 * sight::half_field(scenario) * (uncertainty.radius_m - A_M);
    let cells: Vec<Cells> = scenario.areas.iter().map(|area| Cells::of(area, swath_m)).collect();
    let contacts = contacts(scenario, subject.tools.prediction, 0.0, subject.duration_s());
    let receiver_s = contacts::receiver_windows(&contacts, &uncertainty, subject.duration_s());
    let loaded_s = match scenario.run.load_by {
        LoadBy::Pad => Some(0.0),
        LoadBy::Radio => contacts::loaded_s(&contacts, &uncertainty),
    };
    let mut passes = windows::passes(subject, &cells);
    bursts::refuse_unfit(subject, &uncertainty, loaded_s, &mut passes);
    let bursts = bursts::bursts(subject, &uncertainty, &passes);
    let choice = choose::choose(&problem(subject, &contacts, &cells, &passes, &bursts))?;
    let flown: Vec<&Burst> = choice.picked.iter().filter_map(|&index| bursts.get(index)).collect();
    let ledger = Ledger::new(subject, &contacts, &flown);
    for index in flown.iter().flat_map(|burst| &burst.passes) {
        if let Some(pass) = passes.get_mut(*index) {
            pass.flown = true;
        }
    }
    Ok(Plan { uncertainty, cells, passes, contacts, receiver_s, loaded_s, bursts, choice, ledger })
}

/// The choice to be made: each cell's worth, who sees it, what each burst costs, what there is.
fn problem(subject: &Subject<'_>, contacts: &[Contact], cells: &[Cells], passes: &[Pass], bursts: &[Burst]) -> Problem {
    let planning = &subject.scenario.planning;
    let mut problem = Problem::new(bursts.len());
    for (area, (wanted, cells)) in subject.scenario.areas.iter().zip(cells).enumerate() {
        let worth = wanted.priority / cells.places_rad.len().max(1) as f64;
        let mut seen_by: Vec<Vec<usize>> = vec![Vec::new(); cells.places_rad.len()];
        let mut need = 1;
        for (number, burst) in bursts.iter().enumerate() {
            let mine = burst.passes.iter().filter_map(|&pass| passes.get(pass)).filter(|pass| pass.area == area);
            for pass in mine {
                need = pass.need;
                for &cell in &pass.cells {
                    if let Some(list) = seen_by.get_mut(cell).filter(|list| list.last() != Some(&number)) {
                        list.push(number);
                    }
                }
            }
        }
        for list in seen_by {
            problem.add_cell(worth, need, list);
        }
    }
    let [film_m, gas_kg, energy_j] = ledgers::to_spend(subject, contacts);
    let kept = subject.scenario.commands.len();
    problem.add_limit(bursts.iter().map(|burst| burst.film_m).collect(), film_m);
    problem.add_limit(bursts.iter().map(|burst| burst.gas_kg).collect(), gas_kg);
    problem.add_limit(bursts.iter().map(|burst| burst.energy_j).collect(), energy_j);
    let room = MAX_ENTRIES.saturating_sub(kept) as f64;
    problem.add_limit(bursts.iter().map(|burst| burst.entries as f64).collect(), room);
    problem.keep_apart(&bursts.iter().map(|burst| [burst.on_s, burst.off_s]).collect::<Vec<_>>(), planning.least_gap_s);
    problem
}

/// When the film is cut, s; never: infinite.
fn cut_s(scenario: &Scenario) -> f64 {
    let cuts = scenario.commands.iter().filter(|command| matches!(command.kind, Action::CutAndSeal(_)));
    cuts.map(|command| command.start_s(scenario.run.start)).fold(f64::INFINITY, f64::min)
}
