//! Scenario files: from TOML to a validated, typed description of a run in SI.
//!
//! [`load`] reads a file, [`read()`] a text that is already in memory. Either gives a [`Loaded`] whose
//! [`Scenario`] has passed every check, or a [`Refusal`] that tells everything found wrong at once. Each
//! table of the file is declared once (`parts/`); that one declaration is the struct, the reader, the
//! errors and the JSON Schema ([`schema`]). Settings of the controller are a file of their own
//! ([`settings`]).
//!
//! Entries of lists are counted from 1 in keys: `jet[1]` is the first jet.

pub mod check;
pub mod demo;
mod load;
pub mod parts;
pub mod read;
mod schema;
pub mod settings;
pub mod winds;

pub use load::{BuiltIn, Folder, Loaded, Neighbours, load, read, read_plain, text_of};
pub use read::problem::{Problem, Refusal};
pub use read::spread::{Shape, Spread};
pub use schema::schema;

use crate::record;
use parts::camera::Camera;
use parts::capsule::Capsule;
use parts::command::Command;
use parts::descent::{Dispersion, Return, Wind};
use parts::fault::Fault;
use parts::feed::{Feed, JetSpread};
use parts::film::Film;
use parts::ground::{Area, Power, Station};
use parts::plan::Planning;
use parts::run::{Orbit, Run, World};
use parts::sensors::{Gyro, Horizon};
use parts::surface::Surface;
use parts::uplink::Uplink;
use parts::vehicle::{Jet, Tank, Vehicle};
use read::spec::{plain, whole};
use stillframe_controller::io::MAX_JETS;

/// The version of the file format that this program reads.
pub const FORMAT: u64 = 1;

record! {
    /// A run of Stillframe: vehicle, orbit, world, programme and faults.
    Scenario {
        /// Version of this file format: 1.
        format: u64 = "format", whole(1.0, 1.0);
        /// What is flown, from when, for how long.
        run: Run = "run", plain();
        /// Where the orbit starts.
        orbit: Orbit = "orbit", plain();
        /// Surroundings.
        world: World = "world", plain().or_defaults();
        /// The body.
        vehicle: Vehicle = "vehicle", plain();
        /// Outside of the vehicle. Left out: the air acts on `drag_area_m2` at `pressure_centre_m`, and sunlight not at all.
        surfaces: Vec<Surface> = "surface", plain().list(0, 64).optional();
        /// Jets, in the order of the controller's jet table.
        jets: Vec<Jet> = "jet", plain().list(1, MAX_JETS);
        /// How far jets as built are from the drawing.
        jet_spread: JetSpread = "jet_spread", plain().or_defaults();
        /// Gas tank.
        tank: Tank = "tank", plain();
        /// Gas between tank and jets.
        feed: Feed = "feed", plain().or_defaults();
        /// Horizon sensor.
        horizon: Horizon = "horizon", plain().or_defaults();
        /// Rate gyros.
        gyro: Gyro = "gyro", plain().or_defaults();
        /// Film and its transport.
        film: Film = "film", plain().or_defaults();
        /// Camera.
        camera: Camera = "camera", plain();
        /// Return capsule. Left out: nothing comes home.
        capsule: Option<Capsule> = "capsule", plain().optional();
        /// The return. Left out: nothing comes home.
        descent: Option<Return> = "return", plain().optional();
        /// Winds aloft, by height. Left out: none.
        winds: Vec<Wind> = "wind", plain().list(0, 200).optional();
        /// What may be off in the return, each quantity once. Left out: the program's own list.
        dispersions: Vec<Dispersion> = "dispersion", plain().list(0, 40).optional();
        /// Power ledger.
        power: Power = "power", plain().or_defaults();
        /// Ground stations.
        stations: Vec<Station> = "station", plain().list(0, 64).optional();
        /// Areas to be photographed.
        areas: Vec<Area> = "area", plain().list(0, 500).optional();
        /// How a day's photography is planned.
        planning: Planning = "planning", plain().or_defaults();
        /// Stored programme, in the order of time.
        commands: Vec<Command> = "command", plain().list(0, 2_000).optional();
        /// What the ground sends by radio.
        uplinks: Vec<Uplink> = "uplink", plain().list(0, 200).optional();
        /// Faults.
        faults: Vec<Fault> = "fault", plain().list(0, 200).optional();
    }
}

impl Scenario {
    /// Place of the jet called `name` in [`Scenario::jets`].
    pub fn jet_index(&self, name: &str) -> Option<usize> {
        self.jets.iter().position(|jet| jet.name == name)
    }

    /// Ends the run after `duration_s` and takes away commands, uplinks and faults that would begin later; camera
    /// commands are cut at the end. Gives back how many entries went.
    pub fn shorten(&mut self, duration_s: f64) -> usize {
        let count = |of: &Self| of.commands.len() + of.faults.len() + of.uplinks.len();
        let (start, before) = (self.run.start, count(self));
        self.run.duration_s = self.run.duration_s.min(duration_s);
        self.commands.retain(|command| command.start_s(start) < duration_s);
        self.faults.retain(|fault| fault.start_s(start) < duration_s);
        self.uplinks.retain(|uplink| uplink.start_s(start) < duration_s);
        for command in &mut self.commands {
            let left = duration_s - command.start_s(start);
            if let parts::command::Action::Camera(camera) = &mut command.kind {
                camera.for_s = camera.for_s.min(left);
            }
        }
        before - count(self)
    }
}
