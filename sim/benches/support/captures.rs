//! Captures from tip-off states drawn at random: any attitude, any rates up to a limit.

use nalgebra::{UnitQuaternion, Vector3};
use stillframe::{
    flight::{build::build, closed_loop::ClosedLoop, link::Link, rows::attitude_truth},
    noise::NoiseSource,
    plant::{faults::FaultSchedule, jets::G0_M_S2},
    scenario::{Loaded, demo::Demo},
};
use stillframe_controller::{Controller, attitude::mode::Mode};

/// Largest tip-off rate about each axis, rad/s.
pub const TIP_OFF_RAD_S: f64 = 3.0 * std::f64::consts::PI / 180.0;
/// Longest capture, s: by then the vehicle must be in fine hold.
pub const PATIENCE_S: f64 = 3.0 * 3600.0;

/// One tip-off.
#[derive(Clone, Copy, Debug)]
pub struct TipOff {
    pub number: u32,
    /// Against the local orbital frame: roll, pitch, yaw, rad.
    pub attitude_rad: [f64; 3],
    /// Against inertial space, body axes, rad/s.
    pub rate_rad_s: [f64; 3],
}

/// What came of it.
#[derive(Clone, Copy, Debug)]
pub struct Capture {
    pub tip_off: TipOff,
    /// When fine hold began, s; none if it did not.
    pub fine_s: Option<f64>,
    /// Whether the Earth had to be searched for.
    pub searched: bool,
    /// Gas used until then, kg.
    pub gas_kg: f64,
    /// The same by the mode in which it was used, in the order of [`Mode`], kg.
    pub by_mode_kg: [f64; 6],
    /// Gas that the momentum at tip-off and the disturbances' impulse until then cost at the least, with one half-turn
    /// at the rate limit, kg.
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

/// Tip-off number `number` of the sample with this seed: uniform over all attitudes, uniform over each rate.
pub fn tip_off(seed: u64, number: u32) -> TipOff {
    let source = NoiseSource::new(seed, number, "tip-off", 0);
    let ([w, i, _], [j, k, _]) = (source.gaussian3(0), source.gaussian3(1));
    let attitude = UnitQuaternion::new_normalize(nalgebra::Quaternion::new(w, i, j, k));
    let (roll, pitch, yaw) = attitude.euler_angles();
    // The normal distribution's own integral would do; folding a wide normal into the range is uniform to 1e-8.
    let rate_rad_s = source.gaussian3(2).map(|draw| TIP_OFF_RAD_S * (2.0 * (draw * 4.0).rem_euclid(1.0) - 1.0));
    TipOff { number, attitude_rad: [roll, pitch, yaw], rate_rad_s }
}

/// The strip demonstration without programme and faults, long enough for a capture.
pub fn scenario() -> Loaded {
    let mut loaded = Demo::Strip.load().expect("the demonstration is sound");
    loaded.scenario.faults.clear();
    loaded.scenario.commands.clear();
    loaded.scenario.shorten(PATIENCE_S);
    loaded
}

/// The same with gyros whose range ends at `range_deg_s`.
pub fn with_range(mut loaded: Loaded, range_deg_s: f64) -> Loaded {
    loaded.scenario.gyro.range_rad_s = range_deg_s.to_radians();
    loaded
}

/// Flies one tip-off until a minute after fine hold, or until patience ends.
pub fn capture(loaded: &Loaded, tip_off: TipOff) -> Capture {
    let mut loaded = loaded.clone();
    loaded.scenario.vehicle.attitude_rad = tip_off.attitude_rad;
    loaded.scenario.vehicle.tip_off_rad_s = tip_off.rate_rad_s;
    let mut built = build(&loaded, 1 + u64::from(tip_off.number)).expect("the demonstration builds");
    let range_deg_s = loaded.scenario.gyro.range_rad_s.to_degrees() as f32;
    if range_deg_s < built.settings.observer.gyro_range_deg_s {
        built.settings.observer.gyro_range_deg_s = range_deg_s;
        built.controller = Controller::new(built.settings.clone()).expect("sound settings");
        built.controller.load(&built.load.encode(), 0).expect("sound load");
    }
    let link = Link::new(&loaded.scenario, 1, &built.load);
    let body = built.settings.body;
    let inertia = Vector3::new(body.inertia_roll_kg_m2, body.inertia_pitch_kg_m2, body.inertia_yaw_kg_m2).cast::<f64>();
    // Levers of the drawing: roll couples 0.6 m, single jets 1.2 m; 68 s.
    let kg_per_nms = Vector3::new(1.0 / 0.6, 1.0 / 1.2, 1.0 / 1.2) / (68.0 * G0_M_S2);
    let tip_nms = inertia.component_mul(&Vector3::from(tip_off.rate_rad_s)).abs();
    let half_turn_nms = 2.0 * inertia.z * f64::from(built.settings.yaw.rate_limit_deg_s).to_radians();
    let mut flight = ClosedLoop::new(built.plant, built.controller, link, FaultSchedule::new(&loaded.scenario));
    let (mut fine_s, mut searched, mut by_mode_kg, mut before_kg) = (None, false, [0.0; 6], 0.0);
    while fine_s.is_none() && flight.time_s() < PATIENCE_S {
        flight.tick(&[], &mut |_, _| ()).expect("the orbit holds");
        let used_kg = flight.plant.tank().used_kg();
        by_mode_kg[usize::from(flight.controller.mode().code())] += used_kg - before_kg;
        before_kg = used_kg;
        searched |= flight.controller.mode() == Mode::Search;
        fine_s = (flight.controller.mode() == Mode::Fine).then(|| flight.time_s());
    }
    let (gas_kg, brought_nms) = (flight.plant.tank().used_kg(), flight.plant.ledger().disturbance_body_nms);
    let until_s = flight.time_s() + 60.0;
    while fine_s.is_some() && flight.time_s() < until_s {
        flight.tick(&[], &mut |_, _| ()).expect("the orbit holds");
    }
    let truth = flight.plant.truth();
    let error_rad = attitude_truth(&truth, f64::from(flight.controller.attitude().steering_rad), 0.0).error_rad;
    let least_kg = (tip_nms + brought_nms).dot(&kg_per_nms) + half_turn_nms * kg_per_nms.z;
    Capture { tip_off, fine_s, searched, gas_kg, by_mode_kg, least_kg, error_rad }
}

/// Flies tip-offs `numbers` of the sample on all cores; in order of their numbers.
pub fn captures(loaded: &Loaded, seed: u64, numbers: std::ops::Range<u32>) -> Vec<Capture> {
    let next = std::sync::atomic::AtomicU32::new(numbers.start);
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
                    let flown = capture(loaded, tip_off(seed, number));
                    done.lock().expect("no flight panics").push(flown);
                }
            });
        }
    });
    let mut done = done.into_inner().expect("no flight panics");
    done.sort_by_key(|flown| flown.tip_off.number);
    done
}
