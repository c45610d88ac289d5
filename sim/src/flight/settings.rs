//! The controller's settings: read from the file that a scenario names, or fitted to the vehicle as drawn.

use super::{
    build::{BuildError, SWEEP_STEP_RAD_S, mass_parameters},
    home::plan::HomePlan,
};
use crate::plant::{
    jets::{G0_M_S2, Jets},
    mass::MassProperties,
};
use crate::scenario::{
    Loaded, Refusal, Scenario,
    parts::{camera::CameraKind, command::Action, vehicle::Bank},
    settings::{GroupVisitor, SettingsList, digest, read_settings},
};
use stillframe_controller::{
    attitude::{jet_table::JetTable, settings::JetSettings},
    exposure::CameraSettings,
    film::FilmSettings,
    io::{BANKS, MAX_JETS},
    settings::{Settings, SettingsError, Visitor},
    settings_table::Group,
};

/// The controller's settings as the file reader sees them.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct SettingsFile(pub Settings);

/// Passes the controller's groups on to the reader's visitor.
struct Pass<'a, V>(&'a mut V);

impl<V: GroupVisitor> Visitor for Pass<'_, V> {
    fn group<G: Group>(&mut self, group: &mut G) {
        self.0.group(group);
    }

    fn jets(&mut self, jets: &mut heapless::Vec<JetSettings, MAX_JETS>) {
        self.0.array::<JetSettings, _>(jets, MAX_JETS);
    }
}

impl SettingsList for SettingsFile {
    fn visit<V: GroupVisitor>(&mut self, visitor: &mut V) {
        self.0.visit(&mut Pass(visitor));
    }

    fn faults(&self) -> Vec<(String, String, String)> {
        match self.0.check() {
            Ok(()) | Err(SettingsError::Range(_)) => Vec::new(),
            Err(error) => vec![explain(error)],
        }
    }
}

/// What a jet is there for: axis (0 roll, 1 pitch, 2 yaw) and direction of the turn that it is chosen for.
///
/// A jet of a couple may give more torque about another axis than about its own, so that its own torque does not
/// tell.
pub fn jet_duties(settings: &Settings) -> Vec<Option<(usize, bool)>> {
    let mut duties = vec![None; settings.jets.len()];
    for bank in 0..BANKS {
        let mine = |(_, jet): &(usize, &JetSettings)| jet.bank as usize == bank;
        let usable = settings.jets.iter().enumerate().filter(mine).fold(0, |mask, (index, _)| mask | 1 << index);
        let table = JetTable::build(&settings.jets, usable);
        for (axis, positive) in (0..3).flat_map(|axis| [(axis, false), (axis, true)]) {
            let jets = table.select(axis, positive).map_or(0, |selection| selection.jets);
            for (index, duty) in duties.iter_mut().enumerate() {
                if jets & (1 << index) != 0 {
                    duty.get_or_insert((axis, positive));
                }
            }
        }
    }
    duties
}

/// Gas gone so far by the axis that each jet is there for, kg: its open time at the flow it was built for.
pub fn gas_by_axis_kg(jets: &Jets, duties: &[Option<(usize, bool)>]) -> [f64; 3] {
    let flows = jets.parameters().iter().map(|built| built.thrust_n / (built.specific_impulse_s * G0_M_S2));
    by_axis(duties, jets.on_times_s().zip(flows).map(|(on_s, flow_kg_s)| on_s * flow_kg_s))
}

/// Impulse delivered so far by the axis that each jet is there for, N·s.
pub fn impulse_by_axis_ns(jets: &Jets, duties: &[Option<(usize, bool)>]) -> [f64; 3] {
    by_axis(duties, jets.impulses_ns().iter().copied())
}

fn by_axis(duties: &[Option<(usize, bool)>], amounts: impl Iterator<Item = f64>) -> [f64; 3] {
    let mut sums = [0.0; 3];
    for (amount, duty) in amounts.zip(duties) {
        if let Some((axis, _)) = duty {
            sums[*axis] += amount;
        }
    }
    sums
}

/// Key, what is wrong, what to do.
fn explain(error: SettingsError) -> (String, String, String) {
    match error {
        SettingsError::NoTorque { bank, axis, positive } => {
            let axis = ["roll", "pitch", "yaw"].get(usize::from(axis)).copied().unwrap_or("?");
            let sign = if positive { "positive" } else { "negative" };
            let bank = if bank == 0 { "A (0)" } else { "B (1)" };
            let message = format!("no jet of bank {bank} gives {sign} {axis} torque");
            ("jet".into(), message, "Each bank must turn the vehicle both ways about all three axes.".into())
        }
        SettingsError::Push { jet } => (
            format!("jet[{}].push_x", jet + 1),
            "push_x, push_y, push_z are not a unit vector".into(),
            "Give the direction of the force on the vehicle with length 1 (within 1 %).".into(),
        ),
        SettingsError::Inertia => (
            "body.inertia_roll_kg_m2".into(),
            "the three moments of inertia cannot belong to one body".into(),
            "The largest may not exceed the sum of the other two.".into(),
        ),
        SettingsError::Order { small, large } => (
            format!("{}.{}", small.0, small.1),
            format!("{}.{} is not below what {}.{} allows", small.0, small.1, large.0, large.1),
            "Lower the one or raise the other.".into(),
        ),
        SettingsError::Range(range) => {
            (format!("{}.{}", range.group, range.field.key), "out of range".into(), range.field.meaning.into())
        }
    }
}

/// Settings of a run without a way home, and their digest.
///
/// # Errors
/// If the settings file is refused.
pub fn for_run(loaded: &Loaded) -> Result<(Settings, u32), Box<Refusal>> {
    let file = match &loaded.settings {
        Some((name, text)) => read_settings::<SettingsFile>(name, text)?,
        None => SettingsFile(fitted(&loaded.scenario)),
    };
    let digest = digest(&file);
    Ok((file.0, digest))
}

/// The same for a flight with this way home: turn and ordnance sequence are fitted to it, if no file says what they are.
///
/// # Errors
/// If the settings file is refused.
pub fn for_flight(loaded: &Loaded, home: Option<&HomePlan>) -> Result<(Settings, u32), BuildError> {
    let (mut settings, as_written) = for_run(loaded).map_err(BuildError::Refused)?;
    let (Some(home), None) = (home, &loaded.settings) else { return Ok((settings, as_written)) };
    home.fit(&mut settings.turn, &mut settings.ordnance);
    let file = SettingsFile(settings);
    let digest = digest(&file);
    Ok((file.0, digest))
}

/// Settings that fit the vehicle as drawn: nominal inertia and jets, the camera's and film's own numbers, and
/// the defaults of everything else. What the drawing does not know (misalignment, noise, faults) is not used.
pub fn fitted(scenario: &Scenario) -> Settings {
    let mass = mass_parameters(scenario);
    let mut settings = Settings::default();
    // Half the film on either reel: the middle of the mission.
    let film_kg = scenario.film.mass_kg(scenario.film.load_m);
    let middle = mass.with(0.5 * film_kg, 0.5 * film_kg, scenario.tank.gas_kg);
    let inertia = middle.inertia_kg_m2;
    settings.body.inertia_roll_kg_m2 = inertia[(0, 0)] as f32;
    settings.body.inertia_pitch_kg_m2 = inertia[(1, 1)] as f32;
    settings.body.inertia_yaw_kg_m2 = inertia[(2, 2)] as f32;
    fit_masses(&mut settings, scenario, &middle);
    for jet in &scenario.jets {
        let [x, y, z] = jet.position_m;
        let [push_x, push_y, push_z] = jet.unit_direction().map(|part| part as f32);
        let fitted = JetSettings {
            bank: u32::from(jet.bank == Bank::B),
            x_m: (x - middle.centre_m.x) as f32,
            y_m: (y - middle.centre_m.y) as f32,
            z_m: (z - middle.centre_m.z) as f32,
            push_x,
            push_y,
            push_z,
            thrust_n: jet.thrust_n as f32,
        };
        // A scenario has been refused already if it has more jets than the controller.
        let _ = settings.jets.push(fitted);
    }
    if let Some(jet) = scenario.jets.first() {
        settings.gas.specific_impulse_s = jet.specific_impulse_s as f32;
    }
    settings.gas.tank_volume_l = (scenario.tank.volume_m3 * 1e3) as f32;
    let (film, camera) = match scenario.camera.kind {
        CameraKind::Strip(_) => (FilmSettings::default(), CameraSettings::default()),
        CameraKind::Frame(_) => (FilmSettings::framing(), CameraSettings::framing()),
        // A longer picture is wound on in a longer cycle.
        CameraKind::Sweep(_) => {
            (FilmSettings { reel_smoothing_s: 4.0, ..FilmSettings::framing() }, CameraSettings::sweep())
        }
    };
    (settings.film, settings.camera) = (film, camera);
    fit_film(&mut settings, scenario);
    fit_camera(&mut settings, scenario);
    settings
}

/// What moves the centre of mass, from where it is with the film half over.
fn fit_masses(settings: &mut Settings, scenario: &Scenario, middle: &MassProperties) {
    let vehicle = &scenario.vehicle;
    let between = |to: [f64; 3], from: [f64; 3]| [0, 1, 2].map(|axis| (to[axis] - from[axis]) as f32);
    let body = &mut settings.body;
    body.mass_kg = middle.mass_kg as f32;
    let travel_m = between(vehicle.take_up_reel_m, vehicle.supply_reel_m);
    [body.film_travel_x_m, body.film_travel_y_m, body.film_travel_z_m] = travel_m;
    [body.tank_x_m, body.tank_y_m, body.tank_z_m] = between(vehicle.tank_m, middle.centre_m.into());
}

fn fit_film(settings: &mut Settings, scenario: &Scenario) {
    let film = &scenario.film;
    let to = &mut settings.film;
    to.load_length_m = film.load_m as f32;
    to.wound_length_m = film.wound_m as f32;
    to.core_radius_m = film.core_radius_m as f32;
    to.film_thickness_m = film.thickness_m as f32;
    to.film_kg_m = film.mass_kg(1.0) as f32;
    to.hub_inertia_kg_m2 = film.hub_inertia_kg_m2 as f32;
    to.roller_radius_m = film.roller_radius_m as f32;
    to.roller_inertia_kg_m2 = film.roller_inertia_kg_m2 as f32;
    to.roller_drag_nm = film.roller_drag_n_m as f32;
    to.roller_counts_per_turn = film.roller_counts as u32;
    to.reel_counts_per_turn = film.reel_counts as u32;
    to.residual_counts = (film.reel_counts * 0.5) as u32;
    to.roller_constant_nm_a = film.roller_motor_n_m_a as f32;
    to.roller_resistance_ohm = film.roller_motor_ohm as f32;
    to.reel_constant_nm_a = film.reel_motor_n_m_a as f32;
    to.reel_resistance_ohm = film.reel_motor_ohm as f32;
    to.reel_drag_nm = film.reel_drag_n_m as f32;
    to.bus_v = film.supply_v as f32;
    (to.tension_n, to.arm_middle_tension_n) = (film.tension_n as f32, film.tension_n as f32);
    if let Some(spring) = film.arm_spring_n_per_m {
        to.arm_stiffness_n_m = (4.0 * spring) as f32;
    }
    if let Some(travel_m) = film.arm_travel_m {
        to.arm_travel_m = travel_m as f32;
    }
}

/// Film that no pass of the programme comes near, and the limit of one camera-on: V/h stays below 60 mrad/s down
/// to 130 km, twice what a survey sees.
fn most_film_in_a_pass_m(scenario: &Scenario) -> f64 {
    let passes = scenario.commands.iter().filter_map(|command| match &command.kind {
        Action::Camera(camera) => Some(camera.for_s),
        _ => None,
    });
    let longest_s = passes.fold(0.0, f64::max);
    let rate_m_s = match &scenario.camera.kind {
        CameraKind::Strip(_) => 0.06 * scenario.camera.focal_length_m,
        CameraKind::Frame(frame) => (scenario.camera.frame_length_m + frame.frame_gap_m) / frame.shortest_cycle_s,
        CameraKind::Sweep(sweep) => (scenario.camera.frame_length_m + sweep.frame_gap_m) / sweep.shortest_cycle_s,
    };
    (longest_s * rate_m_s + 1.0).min(2_000.0)
}

fn fit_camera(settings: &mut Settings, scenario: &Scenario) {
    let to = &mut settings.camera;
    to.frame_length_m = scenario.camera.frame_length_m as f32;
    to.focal_length_m = scenario.camera.focal_length_m as f32;
    to.footage_limit_m = most_film_in_a_pass_m(scenario) as f32;
    match &scenario.camera.kind {
        CameraKind::Strip(strip) => {
            let width = |index: usize| {
                strip.slit_widths_m.get(index).or(strip.slit_widths_m.last()).copied().unwrap_or(1.37e-4) as f32
            };
            (to.slit_0_m, to.slit_1_m, to.slit_2_m, to.slit_3_m) = (width(0), width(1), width(2), width(3));
        }
        CameraKind::Frame(frame) => {
            let time = |index: usize| {
                let times = &frame.shutter_s;
                times.get(index).or(times.last()).map_or(4_000, |s| (s * 1e6).round() as u32)
            };
            (to.shutter_0_us, to.shutter_1_us, to.shutter_2_us, to.shutter_3_us) = (time(0), time(1), time(2), time(3));
            to.advance_length_m = (scenario.camera.frame_length_m + frame.frame_gap_m) as f32;
            to.cycle_min_ticks = (frame.shortest_cycle_s * 100.0) as u32;
            to.speed_step_m_s = frame.platen_step_m_s as f32;
        }
        CameraKind::Sweep(sweep) => {
            let width = |index: usize| {
                sweep.slit_widths_m.get(index).or(sweep.slit_widths_m.last()).copied().unwrap_or(1e-3) as f32
            };
            (to.slit_0_m, to.slit_1_m, to.slit_2_m, to.slit_3_m) = (width(0), width(1), width(2), width(3));
            to.advance_length_m = (scenario.camera.frame_length_m + sweep.frame_gap_m) as f32;
            to.cycle_min_ticks = (sweep.shortest_cycle_s * 100.0) as u32;
            to.speed_step_m_s = sweep.platen_step_m_s as f32;
            to.sweep_half_deg = sweep.half_angle_rad.to_degrees() as f32;
            to.sweep_run_in_deg = sweep.run_in_rad.to_degrees() as f32;
            to.sweep_rate_deg_s = sweep.rate_rad_s.to_degrees() as f32;
            to.sweep_step_rad_s = SWEEP_STEP_RAD_S as f32;
            to.sweep_film_m_s = (scenario.camera.focal_length_m * sweep.rate_rad_s) as f32;
        }
    }
}
