//! `[power]`, `[[station]]` and `[[area]]`.

use super::outline;
use crate::scenario::read::context::Context;
use crate::scenario::read::spec::{number, plain, text};
use crate::scenario::read::unit::{DEGREE, HOUR, KM, METRE, NONE, VOLT, WATT, WATT_HOUR};
use crate::{choice, record};

record! {
    /// Power ledger: what draws how much, and what the battery holds.
    Power {
        /// Drawn all the time.
        base_w: f64 = "base_w", number(WATT, 0.0, 5_000.0).or(45.0);
        /// Gyros and horizon sensor, drawn all the time.
        sensors_w: f64 = "sensors_w", number(WATT, 0.0, 1_000.0).or(25.0);
        /// One open jet valve.
        valve_w: f64 = "valve_w", number(WATT, 0.0, 500.0).or(8.0);
        /// Film drive while film runs.
        film_w: f64 = "film_w", number(WATT, 0.0, 1_000.0).or(60.0);
        /// Transmitter while on.
        transmitter_w: f64 = "transmitter_w", number(WATT, 0.0, 1_000.0).or(25.0);
        /// Voltage of the bus without load.
        bus_v: f64 = "bus_v", number(VOLT, 5.0, 200.0).or(28.0);
        /// Voltage below which the processor is held in reset.
        brown_out_v: f64 = "brown_out_v", number(VOLT, 1.0, 200.0).or(20.0);
        /// Energy in the battery at the start.
        battery_j: f64 = "battery_wh", number(WATT_HOUR, 1.0, 1e6).or(14_400.0);
    }
}

impl Power {
    /// Drawn at a moment, W: so many valves open, `film_w` by the film drive's motors.
    pub fn drawn_w(&self, valves: u32, film_w: f64, transmitting: bool) -> f64 {
        let transmitter_w = if transmitting { self.transmitter_w } else { 0.0 };
        self.base_w + self.sensors_w + self.valve_w * f64::from(valves) + film_w + transmitter_w
    }
}

record! {
    /// Ground station.
    Station {
        /// Name.
        name: String = "name", text(40);
        /// Geodetic latitude, north positive.
        latitude_rad: f64 = "latitude_deg", number(DEGREE, -90.0, 90.0);
        /// Longitude, east positive.
        longitude_rad: f64 = "longitude_deg", number(DEGREE, -180.0, 180.0);
        /// Height above the ellipsoid.
        height_m: f64 = "height_m", number(METRE, -500.0, 9_000.0).or(0.0);
        /// Lowest elevation at which the link works.
        mask_rad: f64 = "mask_deg", number(DEGREE, 0.0, 60.0).or(5.0);
        /// When it begins to listen, from the start of the run: a party that goes out for the return.
        from_s: f64 = "from_h", number(HOUR, 0.0, 2_000.0).or(0.0);
    }
}

record! {
    /// Area to be photographed: a polygon, or a circle.
    Area checked by check_shape {
        /// Name.
        name: String = "name", text(40);
        /// Corners as [latitude, longitude], north and east positive, in order round the area. No side crosses another or
        /// the 180° meridian: an area there is given in two parts.
        polygon_rad: Option<Vec<[f64; 2]>> = "polygon_deg", number(DEGREE, -180.0, 180.0).list(3, 500).optional();
        /// Middle of a circle as [latitude, longitude].
        centre_rad: Option<[f64; 2]> = "centre_deg", number(DEGREE, -180.0, 180.0).optional();
        /// Radius of a circle.
        radius_m: Option<f64> = "radius_km", number(KM, 0.1, 5_000.0).optional();
        /// Height of the ground above the ellipsoid.
        ground_height_m: f64 = "ground_height_m", number(METRE, -500.0, 9_000.0).or(0.0);
        /// What the whole area is worth to a plan, beside other areas.
        priority: f64 = "priority", number(NONE, 0.001, 1_000.0).or(1.0);
        /// Lowest Sun by which it is photographed. Left out: that of `planning`.
        lowest_sun_rad: Option<f64> = "lowest_sun_deg", number(DEGREE, -90.0, 90.0).optional();
        /// Highest Sun by which it is photographed, against glints and missing shadows. Left out: any.
        highest_sun_rad: Option<f64> = "highest_sun_deg", number(DEGREE, 0.0, 90.0).optional();
        /// How often each place has to be seen.
        cover: Cover = "cover", plain().or_text("single");
    }
}

choice! {
    /// How often each place has to be seen.
    Cover {
        /// Once.
        Single = "single",
        /// From two directions, for heights.
        Stereo = "stereo",
    }
}

fn check_shape(area: &Area, key: &str, cx: &mut Context) {
    let circle = (area.centre_rad.is_some(), area.radius_m.is_some());
    if !matches!((area.polygon_rad.is_some(), circle), (true, (false, false)) | (false, (true, true))) {
        let help = "Give either `polygon_deg`, or both `centre_deg` and `radius_km`.";
        cx.refuse(key, format!("{key} has no clear shape"), "allowed: a polygon or a circle", help);
    }
    if let (Some(low), Some(high)) = (area.lowest_sun_rad, area.highest_sun_rad)
        && low >= high
    {
        let key = format!("{key}.lowest_sun_deg");
        let message = format!("{key} is not below highest_sun_deg, {:.1}°", high.to_degrees());
        cx.refuse(&key, message, "allowed: less than highest_sun_deg", "Lower the one or raise the other.");
    }
    if let Some(flaw) = area.polygon_rad.as_deref().and_then(outline::flaw) {
        let key = format!("{key}.polygon_deg");
        cx.refuse(&key, format!("{key}: {}", flaw.words()), "no outline of an area", flaw.help());
    }
    let corners = area.polygon_rad.iter().flatten().zip(1..).map(|(at, n)| (at, format!("{key}.polygon_deg[{n}]")));
    let centre = area.centre_rad.iter().map(|at| (at, format!("{key}.centre_deg")));
    for ([latitude, _], key) in corners.chain(centre) {
        if latitude.abs() > core::f64::consts::FRAC_PI_2 {
            let message = format!("{key} has a latitude of {:.3}°", latitude.to_degrees());
            cx.refuse(&key, message, "allowed: -90 to 90°", "Latitude comes first, then longitude.");
        }
    }
}
