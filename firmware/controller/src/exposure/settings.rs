//! Everything an engineer sets about exposures.

use crate::settings_group;

settings_group! {
    /// Exposures: kind of camera, lengths, times, and the limits that end a camera-on.
    CameraSettings = "camera" {
        kind: u32 = 0, 0 ..= 2, "0 strip, 1 framing, 2 sweep", "Kind of camera.";
        frame_length_m: f32 = 0.114, 0.005 ..= 1.0, "m", "Length of film that counts as one frame (strip), or of the picture (framing, sweep).";
        focal_length_m: f32 = 1.0, 0.02 ..= 10.0, "m", "Focal length: image speed over V/h.";
        speed_step_m_s: f32 = 1e-4, 1e-6 ..= 0.01, "m/s", "Speed of one step of the motion-compensation programme: film (strip) or platen (framing).";
        speed_step_min: u32 = 50, 1 ..= 65535, "steps", "Slowest speed obeyed.";
        speed_step_max: u32 = 1500, 1 ..= 65535, "steps", "Fastest speed obeyed.";
        exposure_us: u32 = 4000, 100 ..= 500000, "µs", "Exposure wanted where a load leaves the choice on board: shutter time (framing), or slit over film speed (strip).";
        shutter_0_us: u32 = 1400, 100 ..= 500000, "µs", "Shutter time 0 (framing).";
        shutter_1_us: u32 = 2000, 100 ..= 500000, "µs", "Shutter time 1 (framing).";
        shutter_2_us: u32 = 2800, 100 ..= 500000, "µs", "Shutter time 2 (framing).";
        shutter_3_us: u32 = 4000, 100 ..= 500000, "µs", "Shutter time 3 (framing).";
        slit_0_m: f32 = 9.7e-5, 1e-5 ..= 0.01, "m", "Width of slit 0.";
        slit_1_m: f32 = 1.37e-4, 1e-5 ..= 0.01, "m", "Width of slit 1.";
        slit_2_m: f32 = 1.94e-4, 1e-5 ..= 0.01, "m", "Width of slit 2.";
        slit_3_m: f32 = 2.74e-4, 1e-5 ..= 0.01, "m", "Width of slit 3.";
        run_up_limit_ticks: u32 = 300, 10 ..= 6000, "ticks", "Film not valid this long after it was asked for ends the camera-on.";
        lead_ticks: u32 = 150, 0 ..= 6000, "ticks", "Time before the first picture at which a camera-on should be given: run-up and settling.";
        advance_length_m: f32 = 0.12, 0.005 ..= 1.0, "m", "Film moved between pictures.";
        clamp_ticks: u32 = 5, 0 ..= 500, "ticks", "Time for the clamp to take hold, and to let go.";
        settle_ticks: u32 = 15, 0 ..= 1000, "ticks", "Time for film to come to rest after it is clamped.";
        platen_ticks: u32 = 12, 0 ..= 500, "ticks", "Time for the platen to reach image speed before the shutter opens.";
        cycle_min_ticks: u32 = 180, 10 ..= 60000, "ticks", "Shortest time between pictures that is obeyed.";
        on_limit_ticks: u32 = 60000, 100 ..= 4000000, "ticks", "Longest camera-on: a lost camera-off costs no more film than this.";
        footage_limit_m: f32 = 25.0, 0.1 ..= 2000.0, "m", "Most film in one camera-on.";
        shutter_ticks: u32 = 6, 3 ..= 1000, "ticks", "Time that the light sensor must contradict the shutter's command to be believed.";
        sweep_half_deg: f32 = 15.0, 0.5 ..= 80.0, "°", "Angle to either side over which the shutter is open (sweep).";
        sweep_run_in_deg: f32 = 8.0, 0.5 ..= 45.0, "°", "Angle before and after the picture in which the sweep comes to its rate and to rest.";
        sweep_rate_deg_s: f32 = 60.0, 1.0 ..= 720.0, "°/s", "Rate of the sweep through the picture.";
        sweep_return_deg_s: f32 = 20.0, 1.0 ..= 720.0, "°/s", "Highest rate of the sweep's return.";
        sweep_step_rad_s: f32 = 1e-3, 1e-5 ..= 0.1, "rad/s", "Rate of one step of the sweep's drive.";
        sweep_film_m_s: f32 = 0.42, 1e-3 ..= 50.0, "m/s", "Speed of the slit over the film: focal length × sweep rate; for the on-board choice of a slit.";
        sweep_curvature: f32 = 0.0191, 0.0 ..= 1.0, "1", "(h/2R)·(1 + h/R) for the height h: image speed at an angle is cos − this × sin²/cos of the middle's.";
        sweep_lead_ms: f32 = 25.0, 0.0 ..= 500.0, "ms", "Time by which the platen's speed is asked for ahead of the sweep's angle: its response and half a tick.";
        invalid_ticks: u32 = 50, 1 ..= 1000, "ticks", "Film not valid for so long during exposure ends the camera-on.";
    }
}

/// Slits, or shutter times, that a camera has.
pub const EXPOSURE_SETTINGS: u8 = 4;

impl CameraSettings {
    /// Starting values for the framing camera.
    pub fn framing() -> Self {
        Self { kind: 1, lead_ticks: 200, ..Self::default() }
    }

    /// Starting values for the sweep.
    pub fn sweep() -> Self {
        Self {
            kind: 2,
            slit_0_m: 6.0e-4,
            slit_1_m: 8.5e-4,
            slit_2_m: 1.2e-3,
            slit_3_m: 1.7e-3,
            cycle_min_ticks: 600,
            ..Self::framing()
        }
    }

    /// Width of a slit, m.
    pub fn slit_m(&self, slit: u8) -> f32 {
        match slit {
            0 => self.slit_0_m,
            1 => self.slit_1_m,
            2 => self.slit_2_m,
            _ => self.slit_3_m,
        }
    }

    /// Shutter time of a framing camera's setting, µs; any other number is the exposure set for on-board choice.
    pub fn shutter_us(&self, setting: u8) -> u32 {
        match setting {
            0 => self.shutter_0_us,
            1 => self.shutter_1_us,
            2 => self.shutter_2_us,
            3 => self.shutter_3_us,
            _ => self.exposure_us,
        }
    }

    /// The slit whose exposure at `speed_m_s` comes closest to the one wanted, as a ratio.
    pub fn best_slit(&self, speed_m_s: f32) -> u8 {
        let wanted_m = speed_m_s * self.exposure_us as f32 * 1e-6;
        let mut best = (0_u8, f32::INFINITY);
        for slit in 0..4_u8 {
            let width_m = self.slit_m(slit);
            let ratio = if width_m > wanted_m { width_m / wanted_m } else { wanted_m / width_m };
            if ratio < best.1 {
                best = (slit, ratio);
            }
        }
        best.0
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::settings_table::Group;

    #[test]
    fn all_cameras_lie_inside_the_table() {
        assert_eq!(CameraSettings::default().check(), Ok(()));
        assert_eq!(CameraSettings::framing().check(), Ok(()));
        assert_eq!(CameraSettings::sweep().check(), Ok(()));
    }

    #[test]
    fn a_speed_that_is_no_number_still_gives_a_slit() {
        let settings = CameraSettings::default();
        for speed_m_s in [f32::NAN, 0.0, f32::INFINITY, -1.0] {
            assert!(settings.best_slit(speed_m_s) < 4);
        }
    }
}
