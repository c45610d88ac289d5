//! Each camera-on against the world: image speed against V/h by the other road, exposure against the Sun.

use super::{
    finding::{Findings, Rule},
    sequence::Burst,
};
use crate::{
    imaging::{
        camera::{Camera, CameraKind},
        exposure::{Scene, choose_exposure, light},
    },
    passes::{areas, prediction::Prediction, required::HEIGHT_REACH_M, v_over_h},
    scenario::Scenario,
    world::{ellipsoid::Geodetic, frames::Topocentric, sun::Sun, time::Utc, track::ground_point},
};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use stillframe_controller::{exposure::ANY_SLIT, settings::Settings};

/// Places looked at in each camera-on.
const LOOKS: usize = 13;
/// Most that film may differ from the image, of its speed: 1 %, common practice for exposures of milliseconds.
const MOST_RATE_ERROR: f64 = 0.01;
/// Most that the V/h sent may differ from the one worked out here: rounding is below 1e-6 of it, heights of the
/// ground between two looks some 1e-3.
const MOST_EXPECT_ERROR: f64 = 0.004;
/// As the flight code: half a step for rounding, and what two ways of working it out may differ.
const ROUNDED_STEPS: f64 = 0.52;
/// Exposure off by more than this is refused where another slit would be nearer by [`TOLD_STOPS`], stops.
const MOST_STOPS: f64 = 1.0;
/// Exposure off by more than this is told, stops: half a stop, common practice.
const TOLD_STOPS: f64 = 0.5;
/// Lowest Sun that is photographed by, rad: 5° (common practice).
const LOWEST_SUN_RAD: f64 = 5.0 * std::f64::consts::PI / 180.0;

/// What is looked at with.
pub struct Sky<'a> {
    /// Scenario.
    pub scenario: &'a Scenario,
    /// Settings in force.
    pub settings: &'a Settings,
    /// Camera.
    pub camera: &'a Camera,
    /// Predicted orbit.
    pub prediction: &'a Prediction,
    /// Instant of tick 0.
    pub start: Utc,
}

/// One camera-on in numbers.
#[derive(Clone, Debug, Deserialize, JsonSchema, PartialEq, Serialize)]
#[serde(deny_unknown_fields)]
pub struct Picture {
    /// Entry that switches the camera on, counted from 1.
    pub entry: usize,
    /// Camera-on, s since the start.
    pub on_s: f64,
    /// UTC of that.
    pub on_utc: String,
    /// Length, s.
    pub for_s: f64,
    /// Area below at its middle, if one is near.
    pub area: Option<String>,
    /// Geodetic latitude of the point below at its middle, degrees.
    pub latitude_deg: f64,
    /// Longitude of that, east positive, degrees.
    pub longitude_deg: f64,
    /// Elevation of the Sun there, degrees.
    pub sun_deg: f64,
    /// Slowest and fastest image speed of the programme, mm/s.
    pub speed_mm_s: [f64; 2],
    /// Largest difference between the programme's image speed and V/h by the other road, per cent.
    pub rate_error_percent: f64,
    /// Exposure time, ms; none with film at rest behind a slit.
    pub exposure_ms: Option<f64>,
    /// Exposure against the film's speed point, stops; positive is over-exposed. None with the Sun down.
    pub stops_off: Option<f64>,
}

impl Sky<'_> {
    /// Looks at one camera-on and names what is wrong with it.
    pub fn picture(&self, burst: &Burst, findings: &mut Findings<'_>) -> Picture {
        let at_s = burst.middle_s();
        let place = ground_point(&self.prediction.path.position(at_s), &self.prediction.earth, at_s);
        let sun_rad = self.sun_rad(place, at_s);
        let speeds = burst.speeds.iter().map(|speed| self.speed_m_s(speed.step));
        let [low, high] = speeds.fold([f64::INFINITY, 0.0], |[low, high], v| [low.min(v), high.max(v)]);
        let rate_error = self.rate(burst, findings);
        self.expected(burst, findings);
        let (exposure_s, stops_off) = self.exposure(burst, sun_rad, findings);
        let area = areas::nearest(&self.scenario.areas, place.latitude_rad, place.longitude_rad, HEIGHT_REACH_M);
        Picture {
            entry: burst.on + 1,
            on_s: burst.on_s,
            on_utc: self.start.plus_seconds(burst.on_s).to_string(),
            for_s: burst.off_s - burst.on_s,
            area: area.map(|area| area.name.clone()),
            latitude_deg: place.latitude_rad.to_degrees(),
            longitude_deg: place.longitude_rad.to_degrees(),
            sun_deg: sun_rad.to_degrees(),
            speed_mm_s: [low * 1e3, high * 1e3],
            rate_error_percent: rate_error * 100.0,
            exposure_ms: exposure_s.is_finite().then_some(exposure_s * 1e3),
            stops_off: stops_off.is_finite().then_some(stops_off),
        }
    }

    fn speed_m_s(&self, step: u16) -> f64 {
        f64::from(step) * f64::from(self.settings.camera.speed_step_m_s)
    }

    fn focal_m(&self) -> f64 {
        f64::from(self.settings.camera.focal_length_m)
    }

    /// V/h seen below, by position, velocity and closed forms; not the road the speeds came by.
    fn seen_rad_s(&self, at_s: f64) -> f64 {
        v_over_h::seen_rad_s(self.prediction, &self.scenario.areas, HEIGHT_REACH_M, at_s)
    }

    fn sun_rad(&self, place: Geodetic, at_s: f64) -> f64 {
        let sun = Sun::at(self.start.plus_seconds(at_s));
        sun.elevation_rad(&Topocentric::at(place), &self.prediction.earth, at_s)
    }

    /// Image speed through the camera-on against V/h times focal length; the largest error, as a share.
    fn rate(&self, burst: &Burst, findings: &mut Findings<'_>) -> f64 {
        let looks = (0..LOOKS).map(|k| {
            let at_s = burst.on_s + (burst.off_s - burst.on_s) * k as f64 / (LOOKS - 1) as f64;
            let speed = burst.step_at(at_s);
            let wanted_m_s = self.seen_rad_s(at_s) * self.focal_m();
            (self.speed_m_s(speed.step) / wanted_m_s - 1.0, at_s, speed, wanted_m_s)
        });
        let worst = looks.max_by(|a, b| a.0.abs().total_cmp(&b.0.abs()));
        let Some((error, at_s, speed, wanted_m_s)) = worst else { return 0.0 };
        // A coarse drive's own half step is no error of the load.
        let half_step = 0.5 * f64::from(self.settings.camera.speed_step_m_s) / wanted_m_s;
        if error.abs() > MOST_RATE_ERROR.max(half_step) {
            let after_s = at_s - burst.on_s;
            let reason = if speed.step == 0 {
                "the camera comes on with no image speed set".to_owned()
            } else {
                format!(
                    "image speed {:.2} mm/s {after_s:.1} s after camera-on; V/h through the lens makes {:.2} mm/s ({:+.1} %)",
                    self.speed_m_s(speed.step) * 1e3,
                    wanted_m_s * 1e3,
                    error * 100.0
                )
            };
            findings.refuse(
                Rule::Speed,
                speed.entry.or(Some(burst.on)),
                reason,
                "Work the speeds out again for this orbit and this lens.",
            );
        }
        error
    }

    /// The V/h sent beside the speeds: against the speed in force, as the vehicle will, and against the world.
    fn expected(&self, burst: &Burst, findings: &mut Findings<'_>) {
        let Some(expected) = burst.expected else {
            let reason = "no V/h is sent beside its speeds: the vehicle cannot hold them against anything".to_owned();
            findings.caution(Rule::Speed, Some(burst.on), reason, "Add a v_over_h ahead of camera-on.");
            return;
        };
        let sent_rad_s = f64::from(expected.units) * 1e-8;
        let wanted_steps = sent_rad_s * self.focal_m() / f64::from(self.settings.camera.speed_step_m_s);
        if (wanted_steps - f64::from(expected.step)).abs() > ROUNDED_STEPS {
            let reason = format!(
                "it makes {wanted_steps:.1} speed steps through the lens and {} are in force: the vehicle would doubt its speeds",
                expected.step
            );
            findings.refuse(
                Rule::Speed,
                Some(expected.entry),
                reason,
                "Speeds and V/h are of different orbits, lenses or times; work both out again.",
            );
        }
        let seen_rad_s = self.seen_rad_s(burst.on_s);
        if (sent_rad_s / seen_rad_s - 1.0).abs() > MOST_EXPECT_ERROR {
            let reason =
                format!("it says {:.3} mrad/s; at camera-on V/h is {:.3} mrad/s", sent_rad_s * 1e3, seen_rad_s * 1e3);
            findings.refuse(Rule::Speed, Some(expected.entry), reason, "Work V/h out again for this orbit and time.");
        }
    }

    fn exposure(&self, burst: &Burst, sun_rad: f64, findings: &mut Findings<'_>) -> (f64, f64) {
        let speed_m_s = self.speed_m_s(burst.step_at(burst.middle_s()).step);
        let exposure_s = self.exposure_s(burst.slit, speed_m_s);
        let scene = Scene::default();
        let stops_off = light(self.camera, &scene, sun_rad, self.camera.shutter_efficiency * exposure_s).stops_off;
        if sun_rad <= 0.0 {
            let reason =
                format!("the Sun is {:.1}° below the horizon: nothing would be exposed", -sun_rad.to_degrees());
            findings.refuse(Rule::Exposure, Some(burst.on), reason, "Photograph by day; check the time.");
            return (exposure_s, f64::NEG_INFINITY);
        }
        let best = choose_exposure(self.camera, &scene, sun_rad, speed_m_s);
        let better = best.filter(|best| best.stops_off.abs() + TOLD_STOPS < stops_off.abs());
        if let Some(best) = better {
            let reason = format!(
                "slit {} exposes {:+.1} stops off with the Sun {:.0}° high; slit {} would be {:+.1} stops off",
                slit_word(burst.slit),
                stops_off,
                sun_rad.to_degrees(),
                best.index + 1,
                best.stops_off
            );
            let tell = if stops_off.abs() > MOST_STOPS { Findings::refuse } else { Findings::caution };
            tell(findings, Rule::Exposure, Some(burst.on), reason, "Take the slit that suits the Sun.");
        } else if stops_off.abs() > TOLD_STOPS || sun_rad < LOWEST_SUN_RAD {
            let reason = format!("exposed {stops_off:+.1} stops off, with the Sun {:.0}° high", sun_rad.to_degrees());
            findings.caution(
                Rule::Exposure,
                Some(burst.on),
                reason,
                "No slit does much better: know what to expect of these pictures.",
            );
        }
        (exposure_s, stops_off)
    }

    /// Exposure time, s, of a slit or shutter setting at an image speed; what the vehicle would choose where the
    /// load leaves it to the vehicle.
    fn exposure_s(&self, setting: u8, speed_m_s: f64) -> f64 {
        let on_board = &self.settings.camera;
        let slit_m = || {
            let slit = if setting == ANY_SLIT { on_board.best_slit(speed_m_s as f32) } else { setting };
            f64::from(on_board.slit_m(slit))
        };
        match self.camera.kind {
            CameraKind::Strip => slit_m() / speed_m_s,
            CameraKind::Framing => f64::from(on_board.shutter_us(setting)) * 1e-6,
            CameraKind::Sweep => slit_m() / f64::from(on_board.sweep_film_m_s),
        }
    }
}

fn slit_word(slit: u8) -> String {
    if slit == ANY_SLIT { "chosen on board".to_owned() } else { (u16::from(slit) + 1).to_string() }
}
