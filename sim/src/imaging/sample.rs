//! Truth handed over by the closed loop for each judged exposure.

use nalgebra::{UnitQuaternion, Vector3};

use super::error::ImagingError;

/// Samples of one exposure: five, evenly spread, so that Boole's rule integrates them.
pub const NODES: usize = 5;

/// Boole's weights for a window of length one (Abramowitz & Stegun 25.4.14).
pub const BOOLE: [f64; NODES] = [7.0 / 90.0, 32.0 / 90.0, 12.0 / 90.0, 32.0 / 90.0, 7.0 / 90.0];

/// Integrals from the first node to each node of the quartic through all five, for a window of length
/// one. The last row is [`BOOLE`]; the others follow from the same polynomial.
pub const RUNNING: [[f64; NODES]; NODES] = [
    [0.0; NODES],
    [251.0 / 2880.0, 646.0 / 2880.0, -264.0 / 2880.0, 106.0 / 2880.0, -19.0 / 2880.0],
    [29.0 / 360.0, 124.0 / 360.0, 24.0 / 360.0, 4.0 / 360.0, -1.0 / 360.0],
    [27.0 / 320.0, 102.0 / 320.0, 72.0 / 320.0, 42.0 / 320.0, -3.0 / 320.0],
    BOOLE,
];

/// True state of vehicle and film at one instant.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct TruthSample {
    /// Time since the start of the run, s.
    pub time_s: f64,
    /// Position, inertial (TEME of the start epoch), m.
    pub position_m: Vector3<f64>,
    /// Velocity, inertial, m/s.
    pub velocity_m_s: Vector3<f64>,
    /// Attitude: turns body components into inertial components.
    pub attitude: UnitQuaternion<f64>,
    /// Body rate against inertial space, body axes, rad/s.
    pub rate_rad_s: Vector3<f64>,
    /// Turn of the Earth-fixed axes about +z from the inertial ones (GMST), rad.
    pub earth_angle_rad: f64,
    /// Speed of the film in the image plane, positive forward (towards −x), m/s.
    pub film_speed_m_s: f64,
}

impl TruthSample {
    /// # Errors
    /// [`ImagingError::NotFinite`] if any number is NaN or infinite.
    pub fn check(&self) -> Result<(), ImagingError> {
        let finite = self.time_s.is_finite()
            && self.earth_angle_rad.is_finite()
            && self.film_speed_m_s.is_finite()
            && [&self.position_m, &self.velocity_m_s, &self.rate_rad_s]
                .iter()
                .all(|vector| vector.iter().all(|number| number.is_finite()))
            && self.attitude.coords.iter().all(|number| number.is_finite());
        if finite { Ok(()) } else { Err(ImagingError::NotFinite { time_s: self.time_s }) }
    }
}

/// What bounded the exposure.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Opening {
    /// A slit across the format; each line of film is exposed while it passes beneath.
    Slit {
        /// Width along the film's travel, m.
        width_m: f64,
    },
    /// A shutter that bares the whole format at once.
    Shutter,
    /// A slit along the track that sweeps over the film, across the track.
    SweptSlit {
        /// Width across the track, on the film, m.
        width_m: f64,
    },
}

/// One exposure: of one line of film beneath a slit, or of a whole format behind a shutter.
///
/// Of a sweep, each line that is judged is an exposure of its own, at its own time and angle. Its image plane touches
/// the cylinder of film along that line: x is along the slit, y from the line on towards greater angles.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Exposure {
    /// Truth at five instants, evenly spread from `start_s` to `end_s`.
    pub samples: [TruthSample; NODES],
    /// Start, s.
    pub start_s: f64,
    /// End, s. `end_s − start_s` is the time for which the judged film saw the ground.
    pub end_s: f64,
    /// Slit or shutter.
    pub opening: Opening,
    /// Film speed asked for by the stored programme, if known, m/s. Tells a drive that was not at speed
    /// from a programme that asked for the wrong one.
    pub programme_film_speed_m_s: Option<f64>,
    /// Whether any jet was on inside the window.
    pub jet_fired: bool,
    /// Angle of the line of sight from body +z towards +y, rad: where a sweep stood, zero for all others.
    pub sweep_angle_rad: f64,
}

impl Exposure {
    /// Builds an exposure by asking `truth_at` for the state at each node (time in s).
    pub fn sampled(start_s: f64, end_s: f64, opening: Opening, truth_at: impl FnMut(f64) -> TruthSample) -> Self {
        Self {
            samples: node_times_s(start_s, end_s).map(truth_at),
            start_s,
            end_s,
            opening,
            programme_film_speed_m_s: None,
            jet_fired: false,
            sweep_angle_rad: 0.0,
        }
    }

    /// Length of the exposure, s.
    pub fn duration_s(&self) -> f64 {
        self.end_s - self.start_s
    }

    /// Film speed, mean over the exposure by Boole's rule, m/s.
    pub fn film_speed_m_s(&self) -> f64 {
        BOOLE.iter().zip(&self.samples).map(|(weight, sample)| weight * sample.film_speed_m_s).sum()
    }

    /// Truth at the middle of the exposure.
    pub fn middle(&self) -> &TruthSample {
        &self.samples[NODES / 2]
    }

    /// # Errors
    /// [`ImagingError::BadWindow`] if the window is empty or the nodes are not evenly spread over it (to
    /// 1e-3 of its length), [`ImagingError::NotFinite`] if a number of the truth is not.
    pub fn check(&self) -> Result<(), ImagingError> {
        let slack_s = 1e-3 * self.duration_s();
        let even = node_times_s(self.start_s, self.end_s)
            .iter()
            .zip(&self.samples)
            .all(|(wanted_s, sample)| (sample.time_s - wanted_s).abs() <= slack_s);
        self.samples.iter().try_for_each(TruthSample::check)?;
        if even && self.duration_s() > 0.0 {
            Ok(())
        } else {
            Err(ImagingError::BadWindow { start_s: self.start_s, end_s: self.end_s })
        }
    }
}

/// The five instants at which an exposure is sampled, s.
pub fn node_times_s(start_s: f64, end_s: f64) -> [f64; NODES] {
    [0.0, 0.25, 0.5, 0.75, 1.0].map(|share| start_s + share * (end_s - start_s))
}

/// Time for which a line of film stays beneath a slit, s, cut at `longest_s` for film that hardly moves.
pub fn slit_dwell_s(slit_width_m: f64, film_speed_m_s: f64, longest_s: f64) -> f64 {
    let dwell_s = slit_width_m / film_speed_m_s.abs();
    if dwell_s < longest_s { dwell_s } else { longest_s }
}
