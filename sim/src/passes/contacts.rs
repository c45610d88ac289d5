//! Contacts of the predicted orbit with the scenario's stations.

use super::prediction::Prediction;
use crate::{
    scenario::Scenario,
    world::{
        ellipsoid::Geodetic,
        track::{Contact, Station},
    },
};

/// A station hears the vehicle.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Pass {
    /// Station, by its place in the scenario.
    pub station: usize,
    /// Rise, set, highest elevation.
    pub contact: Contact,
    /// Elevation is greatest in that azimuth, rad, north 0, east π/2.
    pub azimuth_rad: f64,
}

/// All contacts from `from_s` to `to_s` with all stations, in order of time.
pub fn contacts(scenario: &Scenario, prediction: &Prediction, from_s: f64, to_s: f64) -> Vec<Pass> {
    let fixed_m = |t: f64| prediction.earth.to_fixed(t, &prediction.path.position(t));
    let mut all: Vec<Pass> = Vec::new();
    for (number, station) in scenario.stations.iter().enumerate() {
        let from_s = from_s.max(station.from_s);
        // A station that begins to listen later hears nothing.
        if from_s >= to_s {
            continue;
        }
        let place = Geodetic {
            latitude_rad: station.latitude_rad,
            longitude_rad: station.longitude_rad,
            height_m: station.height_m,
        };
        let site = Station::new(place, station.mask_rad);
        all.extend(site.contacts(fixed_m, from_s, to_s).into_iter().map(|contact| Pass {
            station: number,
            contact,
            azimuth_rad: site.look(&fixed_m(contact.culmination_s)).azimuth_rad,
        }));
    }
    all.sort_by(|a, b| a.contact.aos_s.total_cmp(&b.contact.aos_s).then(a.station.cmp(&b.station)));
    all
}
