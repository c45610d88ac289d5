//! Contacts against a plain look every half second, with station, Earth and elevation written anew.

use crate::demo_plan;
use nalgebra::Vector3;
use stillframe::passes::contacts::contacts;

/// Geodetic to Earth-fixed, and the vertical there, by the WGS-84 figures (a = 6378137 m, f = 1/298.257223563).
fn site(latitude_deg: f64, longitude_deg: f64, height_m: f64) -> (Vector3<f64>, Vector3<f64>) {
    let (lat, lon) = (latitude_deg.to_radians(), longitude_deg.to_radians());
    let f: f64 = 1.0 / 298.257_223_563;
    let e2 = 2.0 * f - f * f;
    let n = 6_378_137.0 / (1.0 - e2 * lat.sin().powi(2)).sqrt();
    let up = Vector3::new(lat.cos() * lon.cos(), lat.cos() * lon.sin(), lat.sin());
    let place = Vector3::new((n + height_m) * up.x, (n + height_m) * up.y, (n * (1.0 - e2) + height_m) * up.z);
    (place, up)
}

/// Greenwich mean sidereal time by the short formula of the *Astronomical Almanac* (Explanatory Supplement, 1992): degrees, of days
/// since J2000 in UT1. 2026-06-10 06:00 is JD 2461201.75.
fn gmst_rad(time_s: f64) -> f64 {
    let days = 2_461_201.75 - 2_451_545.0 + time_s / 86_400.0;
    (280.460_618_37 + 360.985_647_366_29 * days).to_radians()
}

#[test]
fn contacts_are_those_of_a_plain_scan() {
    const STEP_S: f64 = 0.5;
    let study = demo_plan();
    // Stations as the demonstration's file gives them; masks are 5°.
    let stations = [("Alder", 62.0, 20.0, 150.0), ("Birch", -33.0, 140.0, 80.0), ("Cedar", 48.0, -100.0, 420.0)];
    let mut count = 0;
    for (name, latitude, longitude, height) in stations {
        let (place, up) = site(latitude, longitude, height);
        let heard = |t: f64| {
            let r = study.built.prediction.path.position(t);
            let (s, c) = gmst_rad(t).sin_cos();
            let line = Vector3::new(c * r.x + s * r.y, c * r.y - s * r.x, r.z) - place;
            (line.dot(&up) / line.norm()).asin() > 5_f64.to_radians()
        };
        let mut scanned: Vec<[f64; 2]> = Vec::new();
        let mut before = false;
        for k in 0..194_400 {
            let t = f64::from(k) * STEP_S;
            match (heard(t), before) {
                (true, false) => scanned.push([t, t]),
                (true, true) => scanned.last_mut().expect("open")[1] = t,
                _ => {}
            }
            before = heard(t);
        }
        let planned: Vec<_> = study.document.contacts.iter().filter(|contact| contact.station == name).collect();
        assert_eq!(planned.len(), scanned.len(), "{name}");
        for (contact, [rise_s, set_s]) in planned.iter().zip(&scanned) {
            assert!((0.0..=STEP_S + 0.01).contains(&(rise_s - contact.rise_s)), "{name}: {} {rise_s}", contact.rise_s);
            assert!((0.0..=STEP_S + 0.01).contains(&(contact.set_s - set_s)), "{name}: {} {set_s}", contact.set_s);
            // Over a sphere that does not turn, overhead at the highest 250 km of this orbit, above 5°: 2/n·(acos(R·cos
            // 5°/r) − 5°) = 344 s; the Earth's turning lengthens that by less than a tenth.
            assert!(contact.duration_s < 1.1 * 344.0);
            count += 1;
        }
    }
    assert!(count > 10, "{count} contacts");
}

/// Every contact lies inside a stretch in which the receiver listens, with the padding on either side.
#[test]
fn the_receiver_listens_early_and_late_enough() {
    let d = &demo_plan().document;
    for contact in &d.contacts {
        let listens = d.receiver.iter().any(|w| {
            w.from_s <= (contact.rise_s - contact.off_by_s).max(0.0) + 1e-6
                && w.to_s >= (contact.set_s + contact.off_by_s).min(86_400.0) - 1e-6
        });
        assert!(listens, "{contact:?}");
    }
    assert!(d.receiver.windows(2).all(|pair| pair[0].to_s < pair[1].from_s));
}

/// A party that goes out after the day has no contact in it, wherever the vehicle stands when the prediction ends; the
/// other stations keep theirs.
#[test]
fn a_station_that_listens_later_hears_nothing() {
    let study = demo_plan();
    let (mut scenario, end_s) = (study.scenario().clone(), 20_000.0);
    let all = contacts(&scenario, &study.built.prediction, 0.0, end_s);
    for late in 0..scenario.stations.len() {
        // From below the horizon anywhere: a mask of minus a right angle hears always.
        let usual = scenario.stations[late].clone();
        scenario.stations[late].from_s = end_s + 10.0;
        scenario.stations[late].mask_rad = -std::f64::consts::FRAC_PI_2;
        let heard = contacts(&scenario, &study.built.prediction, 0.0, end_s);
        let others: Vec<_> = all.iter().filter(|pass| pass.station != late).copied().collect();
        assert_eq!(heard, others);
        scenario.stations[late] = usual;
    }
}
