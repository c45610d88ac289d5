//! `[return]`, `[[wind]]` and `[[dispersion]]`: where the capsule is to come down, and what may shift it.

use super::capsule::rising;
use crate::scenario::read::context::Context;
use crate::scenario::read::spec::{number, plain, text};
use crate::scenario::read::tagged::Tagged;
use crate::scenario::read::unit::{DEGREE, HOUR, KM, KPA, METRE_S, MM, NONE, PER_KM2, PERCENT, SECOND, SQUARE_METRE};
use crate::{choice, record, union};

record! {
    /// The return: when, where to, by which sequence. Defaults are Whimbrel's, but for the zone.
    Return checked by check_return {
        /// Where it is to come down.
        zone: Zone = "zone", plain();
        /// Angle of the thrust from the inertial velocity, towards the ground: 180 is straight back.
        retro_angle_rad: f64 = "retro_angle_deg", number(DEGREE, 91.0, 180.0).or(126.0);
        /// Earliest ignition, from the start of the run.
        earliest_s: f64 = "earliest_h", number(HOUR, 0.0, 2_000.0).or(24.0);
        /// Latest ignition, from the start of the run.
        latest_s: f64 = "latest_h", number(HOUR, 0.0, 2_000.0).or(48.0);
        /// Passes whose landing place misses the zone's centre by more than this across the track are not listed.
        most_across_m: f64 = "most_across_km", number(KM, 1.0, 3_000.0).or(1_000.0);
        /// From separation to ignition: spin-up lies between.
        separation_s: f64 = "separation_to_retro_s", number(SECOND, 0.0, 3_600.0).or(40.0);
        /// Deceleration that entry is to stay below, in units of 9.80665 m/s².
        most_g: f64 = "most_g", number(NONE, 1.0, 200.0).or(12.0);
        /// Confidence of the footprint's ellipse.
        confidence: f64 = "confidence_percent", number(PERCENT, 10.0, 99.999).or(99.73);
        /// Drogue.
        drogue: Drogue = "drogue", plain().or_defaults();
        /// Main canopy.
        main: MainCanopy = "main", plain().or_defaults();
        /// Heights of the table of density error, rising.
        density_height_m: Vec<f64> = "density_height_km", number(KM, 0.0, 1_000.0).list(1, 40)
            .or_all(&[0.0, 20.0, 40.0, 60.0, 80.0, 100.0, 120.0]);
        /// One sigma of the density at those heights.
        density_sigma: Vec<f64> = "density_sigma_percent", number(PERCENT, 0.0, 100.0).list(1, 40)
            .or_all(&[1.0, 2.0, 4.0, 6.7, 9.0, 12.0, 15.0]);
        /// File of winds beside the scenario: comma-separated, with columns height_km, east_m_s, north_m_s, sigma_m_s.
        /// Left out: the list `[[wind]]`.
        winds_file: Option<String> = "winds_file", text(255).optional();
        /// Estimate of casualties.
        casualty: Casualty = "casualty", plain().or_defaults();
        /// What is believed before news comes.
        belief: Belief = "belief", plain().or_defaults();
    }
}

record! {
    /// Recovery zone: an ellipse on the ground.
    Zone checked by check_zone {
        /// Name.
        name: String = "name", text(40);
        /// Middle as [latitude, longitude], north and east positive.
        centre_rad: [f64; 2] = "centre_deg", number(DEGREE, -180.0, 180.0);
        /// Half axis along the track.
        half_along_m: f64 = "half_along_km", number(KM, 0.1, 3_000.0);
        /// Half axis across the track.
        half_across_m: f64 = "half_across_km", number(KM, 0.1, 3_000.0);
    }
}

record! {
    /// Drogue. The g-switch starts its timer; a second timer, from separation, fires it if the switch never closes.
    Drogue {
        /// Deceleration at which the g-switch closes, in units of 9.80665 m/s², after the motor has burnt out.
        g_switch: f64 = "g_switch", number(NONE, 0.1, 50.0).or(3.0);
        /// Height at which it is to open in the nominal descent: gives the timer, if that is left out.
        height_m: f64 = "height_km", number(KM, 1.0, 60.0).or(16.0);
        /// Timer from the closing of the g-switch. Left out: fitted to `height_km`.
        after_g_s: Option<f64> = "after_g_s", number(SECOND, 0.0, 3_600.0).optional();
        /// How long after the nominal opening the backup timer, from separation, fires.
        backup_margin_s: f64 = "backup_margin_s", number(SECOND, 0.0, 3_600.0).or(60.0);
        /// Drag coefficient times area.
        drag_area_m2: f64 = "drag_area_m2", number(SQUARE_METRE, 0.01, 1_000.0).or(1.0);
        /// Time to fill.
        fill_s: f64 = "fill_s", number(SECOND, 0.01, 60.0).or(1.0);
        /// Fastest opening that it survives, Mach.
        most_mach: f64 = "most_mach", number(NONE, 0.05, 5.0).or(0.9);
        /// Largest dynamic pressure that it survives at opening.
        most_pressure_pa: f64 = "most_pressure_kpa", number(KPA, 0.01, 100.0).or(4.0);
    }
}

record! {
    /// Main canopy, fired by a timer from the drogue, or by its own backup timer from separation.
    MainCanopy {
        /// Height at which it is to open in the nominal descent: gives the timer, if that is left out.
        height_m: f64 = "height_km", number(KM, 0.2, 15.0).or(4.0);
        /// Timer from the firing of the drogue. Left out: fitted to `height_km`.
        after_drogue_s: Option<f64> = "after_drogue_s", number(SECOND, 0.0, 3_600.0).optional();
        /// How long after the nominal opening the backup timer, from separation, fires.
        backup_margin_s: f64 = "backup_margin_s", number(SECOND, 0.0, 3_600.0).or(60.0);
        /// Drag coefficient times area.
        drag_area_m2: f64 = "drag_area_m2", number(SQUARE_METRE, 0.1, 10_000.0).or(15.0);
        /// Time to fill.
        fill_s: f64 = "fill_s", number(SECOND, 0.01, 60.0).or(3.0);
        /// Fastest opening that it survives, Mach.
        most_mach: f64 = "most_mach", number(NONE, 0.05, 5.0).or(0.5);
        /// Largest dynamic pressure that it survives at opening.
        most_pressure_pa: f64 = "most_pressure_kpa", number(KPA, 0.01, 100.0).or(2.5);
    }
}

record! {
    /// Estimate of casualties. An estimate is no licence.
    Casualty {
        /// People in a square kilometre of the zone on the day: crews of ships.
        zone_per_m2: f64 = "zone_per_km2", number(PER_KM2, 0.0, 50_000.0).or(0.001);
        /// People in a square kilometre around the zone.
        around_per_m2: f64 = "around_per_km2", number(PER_KM2, 0.0, 50_000.0).or(0.01);
        /// People in a square kilometre under the orbit as a whole, for descents that go wrong. 16 is the Earth's mean,
        /// seas included (8.2 thousand million people on 510 million km²).
        under_orbit_per_m2: f64 = "under_orbit_per_km2", number(PER_KM2, 0.0, 50_000.0).or(16.0);
        /// Chance that the descent goes wrong and ends anywhere under the orbit.
        failure: f64 = "failure_percent", number(PERCENT, 0.0, 100.0).or(2.0);
        /// Areas of what reaches the ground: capsule, heat shield, motor.
        areas_m2: Vec<f64> = "areas_m2", number(SQUARE_METRE, 0.0, 1_000.0).list(1, 100).or_all(&[0.5, 0.5, 0.2]);
    }
}

record! {
    /// What is believed of the retro before news comes.
    Belief {
        /// Chance that it burns as it should.
        good: f64 = "good_retro_percent", number(PERCENT, 1.0, 100.0).or(97.0);
        /// Chance that it burns in part. What is left is the chance that it never burns.
        partial: f64 = "partial_retro_percent", number(PERCENT, 0.0, 99.0).or(1.0);
        /// Chance that a burn, whole or in part, is heard.
        heard: f64 = "heard_percent", number(PERCENT, 0.0, 100.0).or(80.0);
    }
}

record! {
    /// Wind at one height; straight between heights, the lowest and highest beyond.
    Wind {
        /// Height above the ellipsoid.
        height_m: f64 = "height_km", number(KM, 0.0, 120.0);
        /// Where it blows to: east.
        east_m_s: f64 = "east_m_s", number(METRE_S, -150.0, 150.0);
        /// Where it blows to: north.
        north_m_s: f64 = "north_m_s", number(METRE_S, -150.0, 150.0);
        /// One sigma of either.
        sigma_m_s: f64 = "sigma_m_s", number(METRE_S, 0.0, 100.0).or(0.0);
    }
}

/// One thing that may be off: what all have, and the thing.
pub type Dispersion = Tagged<Law, Contributor>;

choice! {
    /// How a thing is distributed.
    LawShape {
        /// Normal.
        Normal = "normal",
        /// Even between ±√3 sigma, which has that sigma.
        Even = "even",
    }
}

record! {
    /// How a thing is distributed.
    Law {
        /// Its distribution.
        shape: LawShape = "shape", plain().or_text("normal");
    }
}

record! {
    /// One sigma as a length.
    SigmaKm {
        /// One sigma.
        sigma: f64 = "sigma_km", number(KM, 0.0, 1_000.0);
    }
}

record! {
    /// One sigma as a small length.
    SigmaMm {
        /// One sigma.
        sigma: f64 = "sigma_mm", number(MM, 0.0, 100.0);
    }
}

record! {
    /// One sigma as a time.
    SigmaS {
        /// One sigma.
        sigma: f64 = "sigma_s", number(SECOND, 0.0, 1_000.0);
    }
}

record! {
    /// One sigma as an angle.
    SigmaDeg {
        /// One sigma.
        sigma: f64 = "sigma_deg", number(DEGREE, 0.0, 30.0);
    }
}

record! {
    /// One sigma as a share.
    SigmaPercent {
        /// One sigma.
        sigma: f64 = "sigma_percent", number(PERCENT, 0.0, 50.0);
    }
}

record! {
    /// One sigma as a multiple of a table's.
    SigmaTimes {
        /// Multiple of the table's sigma.
        sigma: f64 = "sigma_times", number(NONE, 0.0, 10.0).or(1.0);
    }
}

union! {
    /// What may be off.
    Contributor by "of" {
        /// Place along the orbit at ignition.
        OrbitAlong(SigmaKm) = "orbit_along",
        /// Height of the orbit: another circle, so that speed goes with it.
        OrbitHeight(SigmaKm) = "orbit_height",
        /// Place across the orbit.
        OrbitAcross(SigmaKm) = "orbit_across",
        /// Time of ignition.
        RetroTime(SigmaS) = "retro_time",
        /// Pointing in the orbit plane.
        Pitch(SigmaDeg) = "pitch",
        /// Pointing out of the orbit plane.
        Yaw(SigmaDeg) = "yaw",
        /// Total impulse.
        RetroImpulse(SigmaPercent) = "retro_impulse",
        /// Line of thrust beside the mass centre, in each of two directions.
        ThrustOffset(SigmaMm) = "thrust_offset",
        /// Spin.
        Spin(SigmaPercent) = "spin",
        /// Mass of the capsule.
        Mass(SigmaPercent) = "mass",
        /// Drag area through entry.
        Drag(SigmaPercent) = "drag",
        /// Density of the air, by `return.density_sigma_percent`, at all heights together.
        Density(SigmaTimes) = "density",
        /// Wind, by the winds' own sigma, in each of two directions, at all heights together.
        WindError(SigmaTimes) = "wind",
        /// Drag area of drogue and main.
        CanopyDrag(SigmaPercent) = "canopy_drag",
        /// Drogue's and main's timers.
        Timers(SigmaS) = "timers",
    }
}

fn check_return(r: &Return, key: &str, cx: &mut Context) {
    if r.latest_s <= r.earliest_s {
        let key = format!("{key}.latest_h");
        cx.refuse(
            &key,
            format!("{key} is not after earliest_h"),
            "must be later than earliest_h",
            "Ignition lies between.",
        );
    }
    rising(&r.density_height_m, &format!("{key}.density_height_km"), cx);
    if r.density_height_m.len() != r.density_sigma.len() {
        let key = format!("{key}.density_sigma_percent");
        let message = format!("{key} has not as many entries as density_height_km");
        cx.refuse(&key, message, "allowed: as many as density_height_km", "Give one for each height.");
    }
    if r.main.height_m >= r.drogue.height_m {
        let key = format!("{key}.main.height_km");
        cx.refuse(
            &key,
            format!("{key} is not below the drogue's"),
            "must be lower than the drogue's",
            "The drogue comes first.",
        );
    }
    if r.belief.good + r.belief.partial > 1.0 {
        let key = format!("{key}.belief.partial_retro_percent");
        let message = format!("{key} and good_retro_percent make more than 100 % together");
        cx.refuse(&key, message, "allowed: at most 100 % together", "What is left is the chance of no burn.");
    }
}

fn check_zone(zone: &Zone, key: &str, cx: &mut Context) {
    if zone.centre_rad[0].abs() > core::f64::consts::FRAC_PI_2 {
        let key = format!("{key}.centre_deg");
        let message = format!("{key} has a latitude of {:.3}°", zone.centre_rad[0].to_degrees());
        cx.refuse(&key, message, "allowed: -90 to 90°", "Latitude comes first, then longitude.");
    }
}
