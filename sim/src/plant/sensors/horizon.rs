//! The horizon sensor: roll and pitch from where its two scan cones cross the edge of the Earth.
//!
//! The sensor takes the Earth for round. What its figure, season, weather, cloud, Sun and Moon do to the edges is
//! error to it; the flattening is corrected by the flight code.

use super::{
    intruder::{Glare, Intruder},
    limb::{Limb, LimbParameters},
    scan::{ByEdge, Earth, Scan},
};
use crate::{noise::NoiseSource, world::sun::Sun};
use nalgebra::Vector3;
use stillframe_controller::io::HorizonSample;

/// Horizon sensor.
#[derive(Clone, Debug, PartialEq)]
pub struct HorizonParameters {
    /// Noise of one sample, rad, 1σ.
    pub noise_rad: f64,
    /// Constant error in roll and pitch, rad.
    pub bias_rad: [f64; 2],
    /// Tilt beyond which an edge of the Earth is lost, rad.
    pub range_rad: f64,
    /// Half angle of the scan cones, rad.
    pub scan_half_angle_rad: f64,
    /// Base ticks between samples.
    pub sample_ticks: u64,
    /// Samples for which all edges must be seen before the sensor says so.
    pub acquire_samples: u32,
    /// Whether the Earth's flattening displaces the limb.
    pub oblate: bool,
    /// Height of the horizon.
    pub limb: LimbParameters,
    /// The Sun closer than this to an edge in the scan upsets it, rad; zero for never.
    pub sun_half_angle_rad: f64,
    /// The full Moon likewise; a part of it upsets in proportion.
    pub moon_half_angle_rad: f64,
}

/// What is wrong with the horizon sensor.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct HorizonFaults {
    /// Added to roll and pitch, rad.
    pub bias_rad: [f64; 2],
    /// Repeats its last sample.
    pub stuck: bool,
    /// Finds no Earth.
    pub lost: bool,
    /// Noise times this much more (0: as built).
    pub extra_noise: f64,
    /// Roll and pitch exchanged.
    pub swapped: bool,
    /// Roll and pitch with the wrong sign.
    pub reversed: bool,
}

/// Truth that the horizon sensor looks at.
#[derive(Clone, Copy, Debug)]
pub struct HorizonView {
    /// The vehicle's place against the Earth's centre, body axes, m.
    pub position_body_m: Vector3<f64>,
    /// Direction of the north pole, unit vector, body axes.
    pub pole_body: Vector3<f64>,
}

/// Truth that changes slowly beside what the sensor measures.
#[derive(Clone, Copy, Debug)]
pub struct Surroundings<'a> {
    /// Time since the start, s.
    pub time_s: f64,
    /// Direction of longitude 0 on the equator, unit vector, body axes.
    pub meridian_body: Vector3<f64>,
    /// The Sun.
    pub sun: &'a Sun,
    /// Direction of the Sun, unit vector, body axes.
    pub sun_body: Vector3<f64>,
    /// Direction of the Moon from the vehicle, unit vector, body axes.
    pub moon_body: Vector3<f64>,
    /// Lit part of the Moon's disc, 0…1.
    pub moon_lit: f64,
}

/// Greatest declination of the Sun, rad (obliquity of the ecliptic).
const MIDSUMMER_RAD: f64 = 0.409;

/// The horizon sensor.
#[derive(Clone, Debug)]
pub struct Horizon {
    parameters: HorizonParameters,
    /// Faults in force.
    pub faults: HorizonFaults,
    noise: NoiseSource,
    scan: Scan,
    limb: Limb,
    heights_m: ByEdge,
    glares: [Option<Glare>; 2],
    /// Samples in a row with all edges seen.
    seen: u32,
    intruder: Option<Intruder>,
    last: HorizonSample,
}

impl Horizon {
    /// A sensor that has not sampled yet, in a run of a seed.
    pub fn new(parameters: HorizonParameters, seed: u64, run: u32) -> Self {
        let limb = Limb::new(parameters.limb, seed, run);
        Self {
            faults: HorizonFaults::default(),
            noise: NoiseSource::new(seed, run, "horizon", 0),
            scan: Scan::new(parameters.scan_half_angle_rad),
            heights_m: limb.even_m(),
            limb,
            glares: [None; 2],
            seen: 0,
            intruder: None,
            last: HorizonSample::default(),
            parameters,
        }
    }

    /// Base ticks between samples.
    pub fn sample_ticks(&self) -> u64 {
        self.parameters.sample_ticks
    }

    /// The Sun or the Moon, if the last sample has an edge that it spoils.
    pub fn intruder(&self) -> Option<Intruder> {
        self.intruder
    }

    /// Whether [`Self::look_around`] has anything to do.
    pub fn minds_surroundings(&self) -> bool {
        let p = &self.parameters;
        p.limb.varies() || p.sun_half_angle_rad > 0.0 || p.moon_half_angle_rad > 0.0
    }

    /// Takes in what changes slowly; once a second, in which an edge wanders by 7.5 km and the Sun by 0.07°.
    pub fn look_around(&mut self, view: &HorizonView, around: &Surroundings) {
        let earth = self.earth(view);
        let middle_m = self.limb.parameters().height_m;
        let p = &self.parameters;
        let seen = [
            (Intruder::Sun, &around.sun_body, p.sun_half_angle_rad),
            (Intruder::Moon, &around.moon_body, p.moon_half_angle_rad * around.moon_lit),
        ];
        self.glares =
            seen.map(|(who, towards, half_rad)| Glare::new(who, towards, half_rad, &self.scan, &earth, middle_m));
        if !p.limb.varies() {
            return;
        }
        let Some(edges) = self.scan.edges(&earth, &self.heights_m) else { return };
        let season = around.sun.declination_rad / MIDSUMMER_RAD;
        let east = view.pole_body.cross(&around.meridian_body);
        for (cone, heights_m) in self.heights_m.iter_mut().enumerate() {
            for (edge, height_m) in heights_m.iter_mut().enumerate() {
                let place = earth.closest_m(&self.scan.towards(&edges, cone, edge)).normalize();
                let fixed =
                    Vector3::new(place.dot(&around.meridian_body), place.dot(&east), place.dot(&view.pole_body));
                *height_m = self.limb.height_m(&fixed, season, around.time_s);
            }
        }
    }

    fn earth(&self, view: &HorizonView) -> Earth {
        Earth { position_m: view.position_body_m, pole: view.pole_body, oblate: self.parameters.oblate }
    }

    /// Sample number `sample`.
    pub fn read(&mut self, sample: u64, view: &HorizonView) -> HorizonSample {
        let sequence = self.last.sequence.wrapping_add(1);
        if self.faults.stuck {
            self.last.sequence = sequence;
            return self.last;
        }
        let down = self.apparent_down(view).filter(|down| down.z > self.parameters.range_rad.cos());
        self.seen = if down.is_some() && !self.faults.lost { self.seen.saturating_add(1) } else { 0 };
        let down = down.filter(|_| self.seen > self.parameters.acquire_samples);
        self.last = match down {
            Some(down) => self.sample(sequence, sample, &down),
            None => HorizonSample { sequence, ..HorizonSample::default() },
        };
        self.last
    }

    fn sample(&self, sequence: u8, sample: u64, down: &Vector3<f64>) -> HorizonSample {
        let (roll, pitch) = (down.y.atan2(down.z), (-down.x).clamp(-1.0, 1.0).asin());
        let [a, b, _] = self.noise.gaussian3(sample);
        let noise = self.parameters.noise_rad * (1.0 + self.faults.extra_noise);
        let bias = |axis: usize| self.parameters.bias_rad[axis] + self.faults.bias_rad[axis];
        let mut read = [(roll + bias(0) + noise * a) as f32, (pitch + bias(1) + noise * b) as f32];
        if self.faults.swapped {
            read.swap(0, 1);
        }
        if self.faults.reversed {
            read = read.map(|angle| -angle);
        }
        HorizonSample { sequence, locked: true, roll_rad: read[0], pitch_rad: read[1] }
    }

    /// Direction of the Earth's centre as the four edges tell it, if all are found.
    fn apparent_down(&mut self, view: &HorizonView) -> Option<Vector3<f64>> {
        let earth = self.earth(view);
        let edges = self.scan.edges(&earth, &self.heights_m);
        self.intruder = None;
        let mut edges = edges?;
        for glare in self.glares.iter().flatten() {
            self.intruder = glare.spoil(&mut edges).or(self.intruder);
        }
        Some(self.scan.down(&edges))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn quiet() -> HorizonParameters {
        let limb = LimbParameters { height_m: 40e3, season_m: 0.0, scatter_m: 0.0, cloud_m: 0.0, cloud_cover: 0.0 };
        HorizonParameters {
            noise_rad: 0.0,
            bias_rad: [0.0; 2],
            range_rad: 0.6,
            scan_half_angle_rad: 1.0,
            sample_ticks: 10,
            acquire_samples: 0,
            oblate: false,
            limb,
            sun_half_angle_rad: 0.0,
            moon_half_angle_rad: 0.0,
        }
    }

    fn view(down: Vector3<f64>) -> HorizonView {
        HorizonView { position_body_m: down * -6.6e6, pole_body: Vector3::x() }
    }

    #[test]
    fn turning_about_plus_x_reads_as_positive_roll() {
        let mut horizon = Horizon::new(quiet(), 1, 0);
        // A body turned by +0.1 rad about x sees the Earth's centre displaced toward +y.
        let sample = horizon.read(0, &view(Vector3::new(0.0, 0.1_f64.sin(), 0.1_f64.cos())));
        assert!(sample.locked && (sample.roll_rad - 0.1).abs() < 1e-6 && sample.pitch_rad.abs() < 1e-6);
        let sample = horizon.read(1, &view(Vector3::new(-(0.2_f64.sin()), 0.0, 0.2_f64.cos())));
        assert!((sample.pitch_rad - 0.2).abs() < 1e-6 && sample.sequence == 2);
    }

    #[test]
    fn the_earth_is_lost_beyond_the_range_and_where_a_cone_misses_it() {
        let mut horizon = Horizon::new(quiet(), 1, 0);
        assert!(!horizon.read(0, &view(Vector3::new(0.6, 0.0, 0.8))).locked);
        let mut wide = Horizon::new(HorizonParameters { range_rad: 1.5, ..quiet() }, 1, 0);
        assert!(wide.read(0, &view(Vector3::new(0.6, 0.0, 0.8))).locked);
        assert!(!wide.read(1, &view(Vector3::new(0.0, 0.8, 0.6))).locked);
    }

    #[test]
    fn a_lock_takes_its_time() {
        let mut horizon = Horizon::new(HorizonParameters { acquire_samples: 5, ..quiet() }, 1, 0);
        let mut locks = |lost, from: u64| {
            horizon.faults.lost = lost;
            (from..from + 8)
                .map(|sample| horizon.read(sample, &view(Vector3::z())).locked)
                .filter(|&locked| locked)
                .count()
        };
        assert_eq!([locks(false, 0), locks(false, 8), locks(true, 16), locks(false, 24)], [3, 8, 0, 3]);
    }
}
