//! When the capsule is to leave, and what follows from that for programme and settings.

use crate::{
    descent::{self, DescentError, Options, Planned, model::Model, recovery::Timers},
    plant::Truth,
    scenario::{
        Loaded, Scenario,
        parts::{
            command::{Action, CommandTime, Mode, ModeChange, NoAmount},
            descent::Return,
        },
        read::tagged::Tagged,
    },
    world::Vec3,
};
use stillframe_controller::{
    attitude::settings::TurnSettings, io::TICKS_PER_S, ordnance::OrdnanceSettings, settings::Settings,
};

/// Film is cut and sealed so long before the capsule leaves, s: between two revolutions' pictures, with time to see it
/// done.
const SEAL_BEFORE_S: f64 = 1_800.0;
/// The turn to the retro attitude begins so long before, s: at 0.3 °/s it takes seven minutes, and calm has to come.
const TURN_BEFORE_S: f64 = 720.0;
/// Reserve between burn-out and despin, s.
const DESPIN_RESERVE_S: f64 = 5.0;

/// The plan of one flight's way home.
#[derive(Clone, Debug)]
pub struct HomePlan {
    /// Passes and ignition.
    pub planned: Planned,
    /// Timers fitted to the nominal descent.
    timers: Timers,
}

impl HomePlan {
    /// The plan, if the scenario brings a capsule home within its run.
    ///
    /// # Errors
    /// [`DescentError`] but for a scenario without a return; also if the nominal descent does not come down.
    pub fn of(loaded: &Loaded) -> Result<Option<Self>, DescentError> {
        let scenario = &loaded.scenario;
        let within = |plan: &Return| plan.earliest_s < scenario.run.duration_s;
        if scenario.capsule.is_none() || !scenario.descent.as_ref().is_some_and(within) {
            return Ok(None);
        }
        let planned = descent::planned(loaded, &Options::default())?;
        let at = planned.at();
        if at.time_s >= scenario.run.duration_s {
            return Ok(None);
        }
        let timers = planned.model.timers(&at).ok_or(DescentError::StaysUp)?;
        Ok(Some(Self { planned, timers }))
    }

    /// Capsule and return.
    pub fn model(&self) -> &Model {
        &self.planned.model
    }

    /// What the timer beside the capsule's processor is set to, s from the capsule's leaving: the drogue's nominal time and a
    /// margin.
    pub fn backup_s(&self) -> f64 {
        self.timers.drogue_backup_s.unwrap_or(f64::INFINITY)
    }

    /// When the capsule is to leave, s from the start of the run.
    pub fn separation_s(&self) -> f64 {
        self.planned.separation_s()
    }

    /// The scenario with the commands that the return asks for.
    pub fn with_commands(&self, scenario: &Scenario) -> Scenario {
        let at = |before_s: f64, kind| {
            let when = CommandTime { utc: None, after_start_s: Some(self.separation_s() - before_s) };
            Tagged { common: when, kind }
        };
        let mut scenario = scenario.clone();
        scenario.commands.push(at(SEAL_BEFORE_S, Action::CutAndSeal(NoAmount {})));
        scenario.commands.push(at(TURN_BEFORE_S, Action::Mode(ModeChange { mode: Mode::Turned })));
        scenario
    }

    /// Turn and ordnance settings that fit the plan: attitude, delays and timers.
    pub fn fit(&self, turn: &mut TurnSettings, ordnance: &mut OrdnanceSettings) {
        let model = self.model();
        // Spin keeps the axis in space from the capsule's leaving on, while the velocity turns on towards it.
        let at = self.planned.at();
        let rate_rad_s = at.position_m.cross(&at.velocity_m_s).norm() / at.position_m.norm_squared();
        let angle_rad = model.plan.retro_angle_rad + rate_rad_s * model.plan.separation_s;
        turn.pitch_deg = -angle_rad.to_degrees() as f32;
        (turn.yaw_deg, turn.roll_deg) = (0.0, 0.0);
        let ticks = |s: f64| (s * f64::from(TICKS_PER_S)).round().max(1.0) as u32;
        let spin_s = f64::from(ordnance.spin_delay_ticks) / f64::from(TICKS_PER_S);
        ordnance.retro_delay_ticks = ticks(model.plan.separation_s - spin_s);
        ordnance.despin_delay_ticks = ticks(model.capsule.retro.burn_s + DESPIN_RESERVE_S);
        let backup_s = self.timers.drogue_backup_s.unwrap_or(0.0) - model.plan.separation_s;
        ordnance.drogue_ticks = ticks(backup_s - model.plan.drogue.backup_margin_s);
        ordnance.main_delay_ticks = ticks(self.timers.main_after_drogue_s.unwrap_or(0.0));
    }
}

/// How far a delay may lie from the plan's, ticks: a tenth of a second is 750 m on the ground.
const DELAY_TICKS: u32 = 10;
/// How far an angle of the turn may, degrees: a kilometre or so.
const ANGLE_DEG: f32 = 0.1;

impl HomePlan {
    /// What settings say of the way home that the plan has otherwise, a sentence each.
    pub fn strays(&self, settings: &Settings) -> Vec<String> {
        let (mut turn, mut ordnance) = (settings.turn, settings.ordnance);
        self.fit(&mut turn, &mut ordnance);
        let angles = [
            ("pitch_deg", settings.turn.pitch_deg, turn.pitch_deg),
            ("yaw_deg", settings.turn.yaw_deg, turn.yaw_deg),
            ("roll_deg", settings.turn.roll_deg, turn.roll_deg),
        ];
        let delays = [
            ("retro_delay_ticks", settings.ordnance.retro_delay_ticks, ordnance.retro_delay_ticks),
            ("despin_delay_ticks", settings.ordnance.despin_delay_ticks, ordnance.despin_delay_ticks),
            ("drogue_ticks", settings.ordnance.drogue_ticks, ordnance.drogue_ticks),
            ("main_delay_ticks", settings.ordnance.main_delay_ticks, ordnance.main_delay_ticks),
        ];
        let angles = angles.into_iter().filter(|(_, is, planned)| (is - planned).abs() > ANGLE_DEG);
        let delays = delays.into_iter().filter(|(_, is, planned)| is.abs_diff(*planned) > DELAY_TICKS);
        angles
            .map(|(key, is, planned)| format!("turn.{key} is {is} where the plan of the return has {planned:.2}"))
            .chain(
                delays.map(|(key, is, planned)| {
                    format!("ordnance.{key} is {is} where the plan of the return has {planned}")
                }),
            )
            .collect()
    }
}

/// Direction in which the capsule's motor will push, inertial: the vehicle's +x, for the capsule sits with its motor
/// towards the vehicle's tail.
pub fn thrust_axis(truth: &Truth) -> Vec3 {
    truth.state.rotate_to_inertial(&[1.0, 0.0, 0.0]).into()
}
