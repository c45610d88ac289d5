//! Captures from tip-offs of the study's own sample (any attitude, any rates up to a limit), flown on to fine hold.

use nalgebra::Vector3;
use stillframe::{
    design::attitude::{
        capture::{PATIENCE_S, TipOff, drawn, least_kg, start},
        study::CAPTURE_RAD_S,
        subject::Subject,
        trial::Trial,
    },
    flight::{closed_loop::ClosedLoop, rows::attitude_truth, settings::for_run},
    scenario::{Loaded, demo::Demo},
};
use stillframe_controller::{attitude::mode::Mode, settings::Settings};

/// What came of a tip-off.
#[derive(Clone, Copy, Debug)]
pub struct Capture {
    /// Number in the sample.
    pub number: u64,
    pub tip_off: TipOff,
    /// When fine hold began, s; none if it did not.
    pub fine_s: Option<f64>,
    /// Whether the Earth had to be searched for.
    pub searched: bool,
    /// Gas used until then, kg.
    pub gas_kg: f64,
    /// The same by the mode in which it was used, by the mode's code, kg.
    pub by_mode_kg: [f64; 7],
    /// Least gas: see [`least_kg`].
    pub least_kg: f64,
    /// True errors against the commanded attitude a minute after fine hold began, rad.
    pub error_rad: Vector3<f64>,
}

impl Capture {
    /// Standing on its feet and facing the way it flies.
    pub fn upright(&self) -> bool {
        self.fine_s.is_some() && self.error_rad.abs().max() < 2.0_f64.to_radians()
    }
}

/// A vehicle to be caught.
pub struct Vehicle {
    pub loaded: Loaded,
    pub settings: Settings,
    pub subject: Subject,
}

/// The strip demonstration's vehicle with gyros whose range ends at `range_deg_s`.
pub fn whimbrel(range_deg_s: f64) -> Vehicle {
    let mut loaded = Demo::Strip.load().expect("the demonstration is sound");
    loaded.scenario.gyro.range_rad_s = range_deg_s.to_radians();
    let (mut settings, _) = for_run(&loaded).expect("its settings are sound");
    let believed_deg_s = &mut settings.observer.gyro_range_deg_s;
    *believed_deg_s = believed_deg_s.min(range_deg_s as f32);
    let built = Trial::new(&loaded, &settings, 1).built().expect("the demonstration builds");
    let subject = Subject::new(&loaded, &built, &settings);
    Vehicle { loaded, settings, subject }
}

impl Vehicle {
    /// Flies one tip-off until a minute after fine hold, or until patience ends.
    pub fn capture(&self, seed: u64, number: u64) -> Capture {
        let tip_off = drawn(seed, number, CAPTURE_RAD_S);
        let mut flight = start(&self.loaded, &self.settings, 1 + number, &tip_off).expect("the demonstration builds");
        let (mut fine_s, mut searched, mut by_mode_kg, mut before_kg) = (None, false, [0.0; 7], 0.0);
        while fine_s.is_none() && flight.time_s() < PATIENCE_S - 1.0 {
            flight.tick(&[], &mut |_, _| ()).expect("the orbit holds");
            let (mode, used_kg) = (flight.controller.mode(), flight.plant.tank().used_kg());
            by_mode_kg[usize::from(mode.code())] += used_kg - before_kg;
            before_kg = used_kg;
            searched |= mode == Mode::Search;
            fine_s = (mode == Mode::Fine).then(|| flight.time_s());
        }
        let (gas_kg, brought_nms) = (flight.plant.tank().used_kg(), flight.plant.ledger().disturbance_body_nms);
        let least_kg = least_kg(&self.settings, &self.subject, &tip_off, &brought_nms);
        let error_rad = a_minute_later(&mut flight);
        Capture { number, tip_off, fine_s, searched, gas_kg, by_mode_kg, least_kg, error_rad }
    }

    /// Flies tip-offs `numbers` of the sample on all cores; in order of their numbers.
    pub fn captures(&self, seed: u64, numbers: std::ops::Range<u64>) -> Vec<Capture> {
        let next = std::sync::atomic::AtomicU64::new(numbers.start);
        let done = std::sync::Mutex::new(Vec::new());
        let cores = std::thread::available_parallelism().map_or(1, usize::from);
        std::thread::scope(|scope| {
            for _ in 0..cores {
                scope.spawn(|| {
                    loop {
                        let number = next.fetch_add(1, std::sync::atomic::Ordering::Relaxed);
                        if number >= numbers.end {
                            return;
                        }
                        let flown = self.capture(seed, number);
                        done.lock().expect("no flight panics").push(flown);
                    }
                });
            }
        });
        let mut done = done.into_inner().expect("no flight panics");
        done.sort_by_key(|flown| flown.number);
        done
    }
}

fn a_minute_later(flight: &mut ClosedLoop) -> Vector3<f64> {
    let until_s = flight.time_s() + 60.0;
    while flight.time_s() < until_s {
        flight.tick(&[], &mut |_, _| ()).expect("the orbit holds");
    }
    let steering_rad = f64::from(flight.controller.attitude().steering_rad);
    attitude_truth(&flight.plant.truth(), steering_rad, 0.0).error_rad
}
