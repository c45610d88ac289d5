//! The wants file: what the camera must do, what it may be made of, and where to look for it.

use serde_json::{Value, json};

use super::checks;
use crate::scenario::read::spec::{number, plain, text, whole};
use crate::scenario::read::tagged::Tagged;
use crate::scenario::read::unit::{
    DEG_S, DEGREE, HOUR, KELVIN, KG, KG_M3, KG_PER_M, KG_PER_M2, KM, LP_MM, METRE, MICROMETRE, MICRORADIAN, MM, MS,
    NONE, PERCENT, PPM_K, SECOND,
};
use crate::scenario::read::{FromToml, spread_schema};
use crate::{choice, record, union};

/// JSON Schema of the wants file (draft 2020-12), from the same lines that read it.
pub fn schema() -> Value {
    let mut schema = Wants::schema(&plain());
    schema["$schema"] = json!("https://json-schema.org/draft/2020-12/schema");
    schema["title"] = json!("Stillframe camera wants");
    schema["description"] = json!("What a camera must do and may be made of. Units are the endings of the keys.");
    schema["$defs"] = json!({ "spread": spread_schema() });
    schema
}

record! {
    /// What a camera is wanted for and what it may be built from.
    Wants checked by checks::check {
        /// Version of this file format: 1.
        format: u64 = "format", whole(1.0, 1.0);
        /// What the pictures must show, from where.
        mission: Mission = "mission", plain();
        /// Light on the ground and what the ground makes of it.
        light: Light = "light", plain().or_defaults();
        /// Quality of the lens.
        lens: LensWants = "lens", plain();
        /// Errors of focus.
        focus: Focus = "focus", plain().or_defaults();
        /// Films to choose from.
        films: Vec<FilmStock> = "film", plain().list(1, 16);
        /// How the film is exposed.
        exposure: Exposure = "exposure", plain();
        /// Image motion that will be left.
        smear: Smear = "smear", plain().or_defaults();
        /// How mass and length follow from focal length, aperture and film.
        build: Build = "build", plain().or_defaults();
        /// What the vehicle has room for.
        limits: Limits = "limits", plain().or_defaults();
        /// Where to look.
        search: Search = "search", plain().or_defaults();
    }
}

record! {
    /// What the pictures must show, from where.
    Mission {
        /// Name, for the folder of results.
        name: String = "name", text(80);
        /// Ground resolved distance wanted (a full line pair), along and across the track.
        grd_m: f64 = "grd_m", number(METRE, 0.05, 1_000.0);
        /// Other distances whose price is to be told.
        also_grd_m: Vec<f64> = "also_grd_m", number(METRE, 0.05, 1_000.0).list(0, 8).optional();
        /// Width of ground wanted in one picture.
        swath_m: f64 = "swath_km", number(KM, 0.0, 2_000.0).or(0.0);
        /// Lowest height of the orbit: swath and film load are judged there.
        lowest_m: f64 = "lowest_altitude_km", number(KM, 100.0, 2_000.0);
        /// Greatest height of the orbit: resolution is judged there.
        highest_m: f64 = "highest_altitude_km", number(KM, 100.0, 2_000.0);
        /// Contrast of the target as it reaches the lens, bright over dark: 1.6 is the usual low contrast, 2 another.
        target_contrast: f64 = "target_contrast", number(NONE, 1.05, 1_000.0).or(1.6);
        /// Rule by which a camera is judged; the other one is shown beside it.
        judged_by: Rule = "judged_by", plain().or_text("reciprocal-squares");
        /// Time for which the camera runs over the whole mission.
        camera_time_s: f64 = "camera_time_h", number(HOUR, 0.001, 10_000.0);
        /// How often it is started.
        starts: u64 = "starts", whole(0.0, 1e6).or(0.0);
        /// Film time lost at each start and stop.
        waste_s: f64 = "waste_per_start_s", number(SECOND, 0.0, 600.0).or(1.5);
    }
}

choice! {
    /// How lens, film and smear are put together.
    Rule {
        /// 1/R² = Σ 1/R².
        ReciprocalSquares = "reciprocal-squares",
        /// Modulation against what the film needs.
        Modulation = "modulation",
    }
}

record! {
    /// Light on the ground and what the ground makes of it.
    Light {
        /// Elevations of the Sun at which pictures are wanted.
        sun_elevations_rad: Vec<f64> = "sun_elevations_deg", number(DEGREE, 1.0, 90.0).list(1, 12).or_all(&[30.0]);
        /// Light on level ground, as a share of a clear sky's.
        sky_clearness: f64 = "sky_clearness_percent", number(PERCENT, 1.0, 120.0).or(100.0);
        /// Reflectance of the mean ground.
        mean_reflectance: f64 = "mean_reflectance_percent", number(PERCENT, 0.1, 100.0).or(12.65);
        /// Reflectance of the dark detail that must still print.
        dark_reflectance: f64 = "dark_reflectance_percent", number(PERCENT, 0.1, 100.0).or(2.34);
        /// Light of the air between ground and camera, as a reflectance.
        haze: f64 = "haze_percent", number(PERCENT, 0.0, 100.0).or(2.35);
    }
}

record! {
    /// Quality of the lens.
    LensWants checked by checks::lens {
        /// Resolution of the lens alone on low contrast (1.6:1), weighted by area over the format.
        resolution_lp_m: f64 = "resolution_lp_mm", number(LP_MM, 1.0, 2_000.0);
        /// Focal length of the lens with that resolution.
        reference_focal_length_m: f64 = "reference_focal_length_mm", number(MM, 10.0, 10_000.0).or(1_000.0);
        /// Its focal length over aperture.
        reference_f_number: f64 = "reference_f_number", number(NONE, 0.7, 64.0).or(5.0);
        /// Modulation at which an eye at a microscope loses the lens's image.
        threshold: f64 = "threshold_percent", number(PERCENT, 0.5, 20.0).or(5.0);
        /// What lenses of other lengths and apertures keep of that quality.
        correction: Correction = "correction", plain().or_text("renewed");
        /// Middle of the light used.
        wavelength_m: f64 = "wavelength_um", number(MICROMETRE, 0.3, 1.1).or(0.55);
        /// Share of light that the lens lets through.
        transmission: f64 = "transmission", number(NONE, 0.01, 1.0).or(0.8);
        /// Exposure multiplier of the filter.
        filter_factor: f64 = "filter_factor", number(NONE, 1.0, 16.0).or(2.0);
        /// Half-field beyond which that quality is not to be had.
        half_field_rad: f64 = "half_field_deg", number(DEGREE, 0.5, 60.0).or(20.0);
    }
}

choice! {
    /// What lenses of other lengths and apertures keep of the reference lens's correction.
    Correction {
        /// Each is designed afresh to the same blur on film.
        Renewed = "renewed",
        /// One design, made larger or smaller: the blur goes with focal length over the cube of the f-number.
        Scaled = "scaled",
    }
}

record! {
    /// Errors of focus.
    Focus {
        /// Expansion of what holds lens and film apart.
        expansion_per_k: f64 = "expansion_ppm_k", number(PPM_K, -30.0, 40.0).or(1.2);
        /// Change of temperature since focus was set, to either side.
        temperature_change_k: f64 = "temperature_change_k", number(KELVIN, 0.0, 100.0).or(2.0);
        /// Film off its plane, to either side.
        flatness_m: f64 = "film_flatness_um", number(MICROMETRE, 0.0, 500.0).or(8.0);
        /// Focus off as set, to either side: vacuum, gravity and launch included.
        setting_m: f64 = "focus_setting_um", number(MICROMETRE, 0.0, 500.0).or(8.0);
        /// Share of the depth of focus that these may use up.
        share: f64 = "share_of_depth_percent", number(PERCENT, 1.0, 200.0).or(50.0);
    }
}

/// A film: what every film has, and how its resolution is told.
pub type FilmStock = Tagged<FilmSheet, FilmData>;

record! {
    /// A film to choose from.
    FilmSheet checked by checks::film {
        /// Name.
        name: String = "name", text(60);
        /// Width.
        width_m: f64 = "width_mm", number(MM, 8.0, 500.0);
        /// Width of the picture on it.
        usable_m: f64 = "usable_mm", number(MM, 5.0, 500.0);
        /// Thickness.
        thickness_m: f64 = "thickness_mm", number(MM, 0.01, 0.5);
        /// Density.
        density_kg_m3: f64 = "density_kg_m3", number(KG_M3, 500.0, 3_000.0).or(1_390.0);
        /// Effective aerial film speed: 1.5 over the exposure of the speed point in lux seconds.
        speed_eafs: f64 = "speed_eafs", number(NONE, 0.01, 10_000.0);
    }
}

union! {
    /// How a film's resolution is told.
    FilmData by "given_as" {
        /// By its resolving powers at two contrasts.
        ResolvingPower(ResolvingPower) = "resolving-power",
        /// By its transfer function and the modulation that must be left after development.
        Curves(FilmCurves) = "curves",
    }
}

record! {
    /// Resolving powers from a data sheet.
    ResolvingPower {
        /// At 1.6:1.
        low_contrast_lp_m: f64 = "low_contrast_lp_mm", number(LP_MM, 1.0, 5_000.0);
        /// At 1000:1.
        high_contrast_lp_m: f64 = "high_contrast_lp_mm", number(LP_MM, 1.0, 10_000.0);
    }
}

record! {
    /// Measured curves.
    FilmCurves {
        /// Frequencies, rising.
        at_lp_m: Vec<f64> = "at_lp_mm", number(LP_MM, 0.1, 5_000.0).list(2, 40);
        /// Transfer function at each.
        mtf: Vec<f64> = "mtf", number(NONE, 0.001, 2.0).list(2, 40);
        /// Modulation needed on the film at each to tell three bars apart.
        threshold: Vec<f64> = "threshold", number(NONE, 0.0001, 2.0).list(2, 40);
    }
}

/// Exposure: what strip and frame have in common, and the kind.
pub type Exposure = Tagged<ExposureWants, ExposureKind>;

record! {
    /// How the film is exposed.
    ExposureWants {
        /// Error of exposure allowed by choice of slit or shutter time, to either side.
        tolerance_stops: f64 = "tolerance_stops", number(NONE, 0.01, 3.0).or(0.33);
    }
}

union! {
    /// How the film is exposed.
    ExposureKind by "kind" {
        /// Film runs with the image past a slit.
        Strip(StripWants) = "strip",
        /// A whole format at once.
        Frame(FrameWants) = "frame",
    }
}

record! {
    /// Strip exposure.
    StripWants {
        /// Slits to choose from, narrow to wide; left out: as wide as the light asks.
        slit_widths_m: Vec<f64> = "slit_widths_mm", number(MM, 0.005, 50.0).list(0, 16).optional();
    }
}

record! {
    /// Frame exposure.
    FrameWants {
        /// Shutter times to choose from, short to long; left out: as long as the light asks.
        shutter_s: Vec<f64> = "shutter_ms", number(MS, 0.05, 1_000.0).list(0, 16).optional();
        /// Effective over total time of the shutter.
        efficiency: f64 = "shutter_efficiency_percent", number(PERCENT, 10.0, 100.0).or(90.0);
        /// Picture along the film.
        length_m: f64 = "frame_length_mm", number(MM, 5.0, 1_000.0);
        /// Unexposed film between pictures.
        gap_m: f64 = "frame_gap_mm", number(MM, 0.0, 100.0).or(4.0);
        /// Forward overlap.
        overlap: f64 = "overlap_percent", number(PERCENT, 0.0, 90.0).or(10.0);
    }
}

record! {
    /// Image motion that will be left.
    Smear {
        /// Error of the image speed that the film is asked to follow.
        v_over_h: f64 = "v_over_h_error_percent", number(PERCENT, 0.0, 100.0).or(1.0);
        /// Unevenness of the film's own speed.
        film_speed: f64 = "film_speed_error_percent", number(PERCENT, 0.0, 100.0).or(0.5);
        /// Ground above or below the height assumed.
        relief_m: f64 = "relief_m", number(METRE, 0.0, 9_000.0).or(1_500.0);
        /// Pitch rate beyond the orbit's.
        pitch_rate_rad_s: f64 = "pitch_rate_deg_s", number(DEG_S, 0.0, 5.0).or(0.01);
        /// Roll rate.
        roll_rate_rad_s: f64 = "roll_rate_deg_s", number(DEG_S, 0.0, 5.0).or(0.02);
        /// Yaw off the one that lays image motion along the film.
        yaw_rad: f64 = "yaw_error_deg", number(DEGREE, 0.0, 45.0).or(0.7);
        /// Line of sight moved by vibration during an exposure, on each axis.
        vibration_rad: f64 = "vibration_urad", number(MICRORADIAN, 0.0, 1_000.0).or(1.0);
    }
}

record! {
    /// How mass and length follow from focal length, aperture and film.
    Build {
        /// Mass of a lens of the reference aperture.
        optics_kg: f64 = "optics_kg", number(KG, 0.0, 10_000.0).or(30.0);
        /// Its aperture.
        optics_aperture_m: f64 = "optics_aperture_mm", number(MM, 1.0, 5_000.0).or(200.0);
        /// Power of the aperture with which lenses grow: 3 for like shapes.
        optics_power: f64 = "optics_power", number(NONE, 1.0, 4.0).or(3.0);
        /// Tube, mounts and insulation, for its surface.
        tube_kg_m2: f64 = "tube_kg_per_m2", number(KG_PER_M2, 0.0, 500.0).or(18.0);
        /// Width of the tube over the aperture.
        tube_width_ratio: f64 = "tube_width_ratio", number(NONE, 1.0, 5.0).or(1.25);
        /// Length of lens and tube over focal length: below 1 for telephoto or folded optics.
        length_ratio: f64 = "length_ratio", number(NONE, 0.2, 3.0).or(1.0);
        /// Room behind the film.
        back_m: f64 = "back_mm", number(MM, 0.0, 2_000.0).or(100.0);
        /// Film transport without film, for each metre of film width.
        transport_kg_m: f64 = "transport_kg_per_m", number(KG_PER_M, 0.0, 2_000.0).or(110.0);
        /// Radius of the core that film is wound on.
        core_radius_m: f64 = "core_radius_mm", number(MM, 5.0, 500.0).or(40.0);
        /// Shutter, electronics, window.
        fixed_kg: f64 = "fixed_kg", number(KG, 0.0, 1_000.0).or(8.0);
        /// Film loaded beyond the mission's need.
        film_reserve: f64 = "film_reserve_percent", number(PERCENT, 0.0, 100.0).or(5.0);
    }
}

record! {
    /// What the vehicle has room for. What is left out is not limited.
    Limits {
        /// Longest camera, along its optical axis.
        length_m: Option<f64> = "length_mm", number(MM, 10.0, 20_000.0).optional();
        /// Heaviest camera, film included.
        mass_kg: Option<f64> = "mass_kg", number(KG, 0.1, 20_000.0).optional();
        /// Widest aperture.
        aperture_m: Option<f64> = "aperture_mm", number(MM, 1.0, 5_000.0).optional();
    }
}

record! {
    /// Where to look.
    Search checked by checks::search {
        /// Shortest and longest focal length.
        focal_lengths_m: [f64; 2] = "focal_lengths_mm", number(MM, 10.0, 10_000.0).or_all(&[300.0, 2_500.0]);
        /// Step of the focal length.
        focal_length_step_m: f64 = "focal_length_step_mm", number(MM, 0.1, 1_000.0).or(10.0);
        /// Smallest and largest f-number.
        f_numbers: [f64; 2] = "f_numbers", number(NONE, 0.7, 64.0).or_all(&[2.8, 11.0]);
        /// Step of the f-number.
        f_number_step: f64 = "f_number_step", number(NONE, 0.01, 10.0).or(0.1);
    }
}
