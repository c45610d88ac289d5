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
    let heard_s =
        rows.iter().find(|row| row.contact_station >= 0).expect("the station under the track hears it").time_s;
    let tracked = |row: &&Row| row.place_since_tracked_m < row.place_since_start_m;
    let first = rows.iter().find(tracked).expect("and tracks it");
    // A minute of ranging, seen in rows of a minute.
    assert!((60.0..=120.0).contains(&(first.time_s - heard_s)), "{heard_s} {}", first.time_s);
    assert!((first.place_since_tracked_m - 500.0).abs() < 0.5, "{}", first.place_since_tracked_m);
    assert!(rows.iter().all(|row| tracked(&row) == (row.time_s >= first.time_s)));
    // By hand, after 0.6 revolutions: 500 m, 3π·0.6·10 m and 1.5π·0.6²·0.15·126 m together are 504 m.
    let last = rows.last().expect("rows");
    assert!((last.place_since_start_m - 504.0).abs() < 2.0, "{}", last.place_since_start_m);
    assert!(last.observation_age_s > 600.0 && last.place_since_tracked_m > first.place_since_tracked_m);
    // Minutes of air five hundredths thicker than predicted: metres, where the ground reckons with hundreds.
    assert!(last.ahead_m.abs() > 0.1 && last.ahead_m.abs() < last.place_since_start_m, "{}", last.ahead_m);
}

#[test]
fn a_vehicle_that_is_never_heard_is_known_by_the_first_prediction_alone() {
    let rows = rows("[[fault]]\nkind = \"link_lost\"\nat_h = 0.0\n");
    assert!(rows.iter().all(|row| row.place_since_tracked_m == row.place_since_start_m));
    assert!(rows.windows(2).all(|pair| pair[1].place_since_start_m > pair[0].place_since_start_m));
}
