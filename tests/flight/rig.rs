//! A closed loop to try things on: the demonstration's text with edits, flown without a recorder.

use nalgebra::Vector3;
use stillframe::{
    flight::{
        build::{Built, build},
        closed_loop::{ClosedLoop, TickOutcome},
        link::Link,
        rows::attitude_truth,
    },
    plant::faults::FaultSchedule,
    scenario::{BuiltIn, Loaded, demo::Demo, read},
};
use stillframe_controller::{
    attitude::mode::Mode,
    health::flags::{Flag, Flags},
    telemetry::Telemetry,
};

/// By now a vehicle that left its carrier at 1 °/s has been in fine hold for minutes (it takes 27).
pub const SETTLED_S: f64 = 2160.0;

/// [`SETTLED_S`] as scenario files say it.
pub const SETTLED: &str = "at_h = 0.6";

/// The strip demonstration without its programme and its fault, flown for `hours`, with `tail` in their place.
pub fn scenario(hours: f64, tail: &str) -> String {
    let text = Demo::Strip.text();
    let (vehicle, rest) = text.split_once("[[fault]]").expect("the demonstration has a fault");
    let (_, ground) = rest.split_once("[[station]]").expect("the demonstration has stations");
    let (ground, _) = ground.split_once("[[command]]").expect("the demonstration has commands");
    let (stations, rest) = ground.split_once("[[uplink]]").expect("the demonstration has an uplink");
    let (_, areas) = rest.split_once("[[area]]").expect("and areas after it");
    let ground = format!("{stations}[[area]]{areas}");
    let vehicle = replace(vehicle, "duration_h = 27.0", &format!("duration_h = {hours}"));
    format!("{vehicle}\n[[station]]{ground}\n{tail}\n")
}

/// The scenario with its jets as drawn: full thrust at once, always the same, one like the other.
pub fn as_drawn(text: &str) -> String {
    let (before, rest) = text.split_once("[jet_spread]").expect("the demonstration tells its jets' spread");
    let (_, after) = rest.split_once("[tank]").expect("the demonstration has a tank");
    format!("{before}[tank]{after}")
}

/// A camera command, hours after the start.
pub fn camera(at_h: f64, for_s: f64) -> String {
    format!("[[command]]\ndo = \"camera\"\nat_h = {at_h}\nfor_s = {for_s}\n")
}

/// A fault that begins when the vehicle has settled; `keys` are its amounts, and `for_s` if it ends.
pub fn fault(kind: &str, keys: &str) -> String {
    format!("[[fault]]\nkind = \"{kind}\"\n{SETTLED}\n{keys}\n")
}

/// `text` with `find` replaced; it must be there.
#[track_caller]
pub fn replace(text: &str, find: &str, by: &str) -> String {
    assert!(text.contains(find), "the scenario does not hold {find:?}");
    text.replacen(find, by, 1)
}

/// Reads a scenario that must be sound.
#[track_caller]
pub fn loaded(text: &str) -> Loaded {
    read("rig.toml", text, &BuiltIn(&[])).unwrap_or_else(|refusal| panic!("{refusal:?}"))
}

/// A closed loop under way.
#[derive(Clone)]
pub struct Rig {
    pub flight: ClosedLoop,
}

impl Rig {
    /// At the start of `text`.
    #[track_caller]
    pub fn new(text: &str) -> Self {
        Self::with(text, 1, |_| {})
    }

    /// At the start of `text`, with the seed and after a change to what was built.
    #[track_caller]
    pub fn with(text: &str, seed: u64, change: impl FnOnce(&mut Built)) -> Self {
        let loaded = loaded(text);
        let mut built = build(&loaded, seed).expect("a sound scenario builds");
        change(&mut built);
        let link = Link::new(&loaded.scenario, seed, &built.load);
        let faults = FaultSchedule::new(&loaded.scenario);
        Self { flight: ClosedLoop::new(built.plant, built.controller, link, faults) }
    }

    /// One tick.
    pub fn tick(&mut self) -> TickOutcome {
        self.flight.tick(&[], &mut |_, _| {}).expect("the orbit holds")
    }

    /// To `until_s` after the start, `watch` looking on after each tick.
    pub fn watch(&mut self, until_s: f64, mut watch: impl FnMut(&mut ClosedLoop, &TickOutcome)) {
        while self.flight.time_s() < until_s - 1e-6 {
            let outcome = self.tick();
            watch(&mut self.flight, &outcome);
        }
    }

    /// To `until_s` after the start.
    pub fn run(&mut self, until_s: f64) -> &mut Self {
        self.watch(until_s, |_, _| {});
        self
    }

    /// To the settled vehicle, which must be in fine hold.
    #[track_caller]
    pub fn settle(&mut self) -> &mut Self {
        self.run(SETTLED_S - 1.0);
        assert_eq!(self.mode(), Mode::Fine, "the vehicle has not settled");
        self
    }

    /// Time from now until `happens` first holds after a tick; none if it does not by `until_s`.
    pub fn time_to(&mut self, until_s: f64, mut happens: impl FnMut(&mut ClosedLoop) -> bool) -> Option<f64> {
        let from_s = self.flight.time_s();
        while self.flight.time_s() < until_s {
            self.tick();
            if happens(&mut self.flight) {
                return Some(self.flight.time_s() - from_s);
            }
        }
        None
    }

    /// Largest true errors against the commanded attitude until `until_s`, looked at once a second, degrees.
    pub fn worst_error_deg(&mut self, until_s: f64) -> Vector3<f64> {
        let mut worst = Vector3::zeros();
        let mut tick = 0_u32;
        self.watch(until_s, |flight, _| {
            tick += 1;
            if tick.is_multiple_of(100) {
                worst = worst.sup(&error_deg(flight).abs());
            }
        });
        worst
    }

    pub fn mode(&self) -> Mode {
        self.flight.controller.mode()
    }

    pub fn telemetry(&self) -> &Telemetry {
        self.flight.controller.telemetry()
    }

    pub fn flags(&self) -> Flags {
        self.telemetry().flags
    }

    #[track_caller]
    pub fn assert_flag(&self, flag: Flag) {
        assert!(self.flags().has(flag), "{flag:?} is not up; up: {:?}", up(self.flags()));
    }

    #[track_caller]
    pub fn assert_no_flag(&self, flag: Flag) {
        assert!(!self.flags().has(flag), "{flag:?} is up");
    }

    /// Gas gone since the start, kg.
    pub fn gas_kg(&self) -> f64 {
        self.flight.plant.tank().used_kg()
    }
}

/// True errors of the attitude against the commanded one, degrees.
pub fn error_deg(flight: &mut ClosedLoop) -> Vector3<f64> {
    let truth = flight.plant.truth();
    let steering_rad = f64::from(flight.controller.attitude().steering_rad);
    attitude_truth(&truth, steering_rad, 0.0).error_rad.map(f64::to_degrees)
}

/// True rates against the local orbital frame, degrees a second.
pub fn rate_deg_s(flight: &mut ClosedLoop) -> Vector3<f64> {
    let truth = flight.plant.truth();
    let steering_rad = f64::from(flight.controller.attitude().steering_rad);
    attitude_truth(&truth, steering_rad, 0.0).rate_error_rad_s.map(f64::to_degrees)
}

/// Flags that are up.
pub fn up(flags: Flags) -> Vec<Flag> {
    Flag::ALL.iter().copied().filter(|flag| flags.has(*flag)).collect()
}
