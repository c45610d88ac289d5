//! Settings and loads that are flown.

use heapless::Vec;
use stillframe_controller::{
    attitude::{mode::Hold, orbit::Ephemeris, settings::JetSettings},
    exposure::settings::CameraSettings,
    io::MAX_JETS,
    programme::load::{Command, Entry, Load},
    settings::Settings,
};

/// Kind of camera.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Camera {
    /// Film runs past a slit.
    Strip,
    /// Film stands still for a picture.
    Framing,
}

impl Camera {
    /// Both.
    pub const ALL: [Self; 2] = [Self::Strip, Self::Framing];

    /// Its name in the file of known digests.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Strip => "strip",
            Self::Framing => "framing",
        }
    }
}

/// Place, m, and push of a bank's jets: roll couples, single jets for pitch and yaw.
pub const JETS: [([f32; 3], [f32; 3]); 8] = [
    ([0.0, 0.6, 0.0], [0.0, 0.0, 1.0]),
    ([0.0, -0.6, 0.0], [0.0, 0.0, -1.0]),
    ([0.0, 0.6, 0.0], [0.0, 0.0, -1.0]),
    ([0.0, -0.6, 0.0], [0.0, 0.0, 1.0]),
    ([-1.2, 0.0, 0.0], [0.0, 0.0, 1.0]),
    ([-1.2, 0.0, 0.0], [0.0, 0.0, -1.0]),
    ([-1.2, 0.0, 0.0], [0.0, -1.0, 0.0]),
    ([-1.2, 0.0, 0.0], [0.0, 1.0, 0.0]),
];
/// Thrust of a jet, N.
pub const THRUST_N: f32 = 0.5;

/// Defaults with two banks of jets and short waits: for the heading, for fine hold, before a search.
pub fn settings(camera: Camera) -> Settings {
    let mut settings = Settings::default();
    settings.observer.level_time_s = 1.0;
    settings.observer.level_rate_time_s = 2.0;
    settings.observer.heading_wait_s = 10.0;
    settings.observer.settle_s = 0.0;
    settings.steering.damp_rate_deg_s = 0.5;
    settings.steering.lost_s = 2.0;
    if camera == Camera::Framing {
        settings.camera = CameraSettings::framing();
    }
    for number in 0..MAX_JETS {
        let Some(&([x_m, y_m, z_m], [push_x, push_y, push_z])) = JETS.get(number % JETS.len()) else { continue };
        let bank = u32::from(number >= JETS.len());
        // There is room for as many as are made.
        let _ = settings.jets.push(JetSettings { bank, x_m, y_m, z_m, push_x, push_y, push_z, thrust_n: THRUST_N });
    }
    settings
}

/// A load whose commands follow `from_tick`: two bursts, each hold.
pub fn load(counter: u16, from_tick: u32, camera: Camera) -> Load {
    let interval_ticks = if camera == Camera::Framing { 200 } else { 0 };
    let on = |slit| Command::CameraOn { slit, interval_ticks };
    let commands = [
        (50, Command::Speed(340)),
        (3_600, on(1)),
        (3_750, Command::Speed(352)),
        (4_000, Command::CameraOff),
        (4_020, Command::Hold(Hold::Coarse)),
        (4_050, Command::Hold(Hold::Fine)),
        (4_100, Command::Speed(500)),
        (4_300, on(255)),
        (5_000, Command::CameraOff),
        (5_900, Command::Hold(Hold::Drift)),
    ];
    let entries: Vec<Entry, 320> =
        commands.into_iter().map(|(tick, command)| Entry { tick: from_tick + tick, command }).collect();
    let ephemeris = Ephemeris {
        epoch_tick: 0,
        phase: 0x2000_0000,
        phase_per_tick: 527_000_000,
        half_acceleration_rad_s2: 1e-13,
        inclination_rad: 1.4,
        radius_ratio2: 0.93,
    };
    Load { counter, ephemeris, entries }
}
