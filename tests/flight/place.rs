//! What the ground knows of the vehicle's place: older and older until it is heard, then as good as at the start.

use crate::{
    link_faults::over_a_station_at,
    rig::{loaded, scenario},
};
use stillframe::{
    flight::{build::build, place::PlaceKnown, rows::RowMaker},
    record::columns::Row,
};

/// Contact of the vehicle with the station beneath it.
const CONTACT_S: f64 = 0.5 * 3600.0;

/// A row every minute of fifty.
fn rows(tail: &str) -> Vec<Row> {
    let mut rig = over_a_station_at(CONTACT_S / 3600.0, 0.9, tail);
    let plain = loaded(&scenario(0.9, tail));
    let built = build(&plain, 1).expect("builds");
    let known = PlaceKnown::new(&plain.scenario.planning, &built.prediction);
    let mut maker = RowMaker::new(plain.scenario.power.clone(), known, 1.0);
    let minutes = (1..=50).map(|minute| maker.row(&mut rig.run(f64::from(minute) * 60.0).flight).0);
    minutes.collect()
}

#[test]
fn a_contact_makes_the_place_known_anew() {
    let rows = rows("");
    let heard = rows.iter().find(|row| row.contact_station >= 0).expect("the station under the track hears it");
    assert!((heard.place_since_heard_m - 500.0).abs() < 5.0, "{}", heard.place_since_heard_m);
    for row in &rows {
        let unheard = row.observation_age_s.is_nan();
        assert_eq!(row.place_since_heard_m == row.place_since_start_m, unheard, "{} s", row.time_s);
    }
    let (before, last) = (rows.iter().rfind(|row| row.time_s < heard.time_s), rows.last().expect("rows"));
    assert!(before.expect("unheard at first").place_since_heard_m > 501.0);
    assert!(last.observation_age_s > 600.0 && last.place_since_heard_m > heard.place_since_heard_m);
    // Minutes of air five hundredths thicker than predicted: metres, where the ground reckons with hundreds.
    assert!(last.ahead_m.abs() > 0.1 && last.ahead_m.abs() < last.place_since_start_m, "{}", last.ahead_m);
}

#[test]
fn a_vehicle_that_is_never_heard_is_known_by_the_first_prediction_alone() {
    let rows = rows("[[fault]]\nkind = \"link_lost\"\nat_h = 0.0\n");
    assert!(rows.iter().all(|row| row.place_since_heard_m == row.place_since_start_m));
    assert!(rows.windows(2).all(|pair| pair[1].place_since_start_m > pair[0].place_since_start_m));
}
